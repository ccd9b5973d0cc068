"""Where in a sheet the record of a decision stands, also after rows were sorted or put in."""

from collections.abc import Sequence

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mapper.load.decisions import Decision
from mapper.load.shown import as_shown, same_text, without_guard

NOWHERE = -1


def find_rows(
    rows: NDArray[np.int64], trees: pd.Series | None, decisions: Sequence[Decision]
) -> dict[Decision, int]:
    """The place of each decision's record in the sheet, NOWHERE if it is gone.

    It is the row that the decision names if the same tree stands there, else the only row of
    that tree.
    """
    by_number = _places_of_rows(rows, {one.row for one in decisions})
    by_tree = {} if trees is None else _lone_places(trees, {one.tree for one in decisions})
    places = {}
    for one in decisions:
        at = by_number.get(one.row, NOWHERE)
        moved = trees is not None and (
            at == NOWHERE or not same_text(as_shown(str(trees.iloc[at])), one.tree)
        )
        places[one] = by_tree.get(one.tree, at) if one.tree and moved else at
    return places


def _places_of_rows(rows: NDArray[np.int64], wanted: set[str]) -> dict[str, int]:
    numbers = [row for row in wanted if row.isdecimal() and len(row) < 10]
    found = pd.Index(rows).get_indexer(pd.Index(list(map(int, numbers)), dtype=np.int64))
    return {row: int(at) for row, at in zip(numbers, found, strict=True) if at != NOWHERE}


def _lone_places(trees: pd.Series, wanted: set[str]) -> dict[str, int]:
    """Where the trees stand that have but one row."""
    texts = trees.str.strip()
    likely = np.flatnonzero(texts.isin({*wanted, *map(without_guard, wanted)}))
    named = pd.Series(likely, [as_shown(str(texts.iloc[at])) for at in likely], dtype=int)
    lone = named[~named.index.duplicated(keep=False)]
    return {str(tree): int(at) for tree, at in lone.items()}
