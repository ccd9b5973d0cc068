"""The order of names as people count: tree 9 before tree 10."""

import re
from collections.abc import Sequence

import numpy as np
import pandas as pd
import pyarrow as pa
import pyarrow.compute as pc
from numpy.typing import NDArray

Key = tuple[tuple[int, int, str], ...]
# Names of at most two numbers, which is nearly all of them, are split without a loop.
TWO_NUMBERS = "^(?P<a>[^0-9]*)(?P<m>[0-9]{0,15})(?P<b>[^0-9]*)(?P<n>[0-9]{0,15})$"


def natural(name: str) -> Key:
    """Sort key that puts tree 9 before tree 10."""
    parts = re.findall(r"[0-9]{1,15}|[^0-9]+", name)
    return tuple((0, int(part), "") if part[0] in "0123456789" else (1, 0, part) for part in parts)


def natural_ranks(names: "pd.Series[str]") -> NDArray[np.int64]:
    """The place of each name among all; names with equal keys share one.

    Examples
    --------
    >>> natural_ranks(pd.Series(["tree 10", "tree 9", "7", "07"])).tolist()
    [2, 1, 0, 0]
    """
    split = pc.extract_regex(pa.array(names.astype(str), type=pa.string()), TWO_NUMBERS)
    if split.null_count:
        keys = [natural(name) for name in names.astype(str)]
        places = {key: place for place, key in enumerate(sorted(set(keys)))}
        return np.array([places[key] for key in keys], dtype=np.int64)
    return _ranks([_numbers(split.field(part)) if part in "mn" else _texts(split.field(part))
                   for part in "ambn"])  # fmt: skip


def _numbers(digits: pa.Array) -> NDArray[np.int64]:
    """No number comes before any number."""
    filled = pc.if_else(pc.equal(digits, ""), "-1", digits)
    return np.asarray(pc.cast(filled, pa.int64()).to_numpy(zero_copy_only=False))


def _texts(texts: pa.Array) -> NDArray[np.int64]:
    """Places in the order of code points, as Python compares texts."""
    found = texts.dictionary_encode()
    _, places = np.unique(found.dictionary.to_numpy(zero_copy_only=False), return_inverse=True)
    return np.asarray(places[found.indices.to_numpy()], dtype=np.int64)


def _ranks(columns: Sequence[NDArray[np.int64]]) -> NDArray[np.int64]:
    """Ranks by the first column, where it is equal by the second, and so on."""
    order = np.lexsort(tuple(reversed(columns)))
    steps = np.zeros(len(order), dtype=bool)
    for column in columns:
        steps[1:] |= np.diff(column[order]) != 0
    ranks = np.empty(len(order), dtype=np.int64)
    ranks[order] = np.cumsum(steps)
    return ranks
