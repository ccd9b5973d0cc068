"""Groups of trees laid out as rectangles, so that a formula takes thousands of stands at once."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

Floats = NDArray[np.float64]
Numbers = NDArray[np.intp]


@dataclass(frozen=True)
class Rectangle:
    """Some of the groups, a row each; their trees run along the row, NaN fills the rest of it."""

    groups: Numbers  # numbers of the groups, one a row
    columns: Mapping[str, Floats]

    def __getitem__(self, name: str) -> Floats:
        return self.columns[name]


def rectangles(trees: pd.DataFrame, group: Numbers, groups: int) -> Iterator[Rectangle]:
    """All the groups, those of about one size together: no row is more than half empty.

    Parameters
    ----------
    trees
        Numbers, a row a tree.
    group
        The group of each tree, from 0.
    groups
        How many groups there are; one without any tree is a row of NaN.
    """
    order = np.argsort(group, kind="stable")
    columns = {str(name): trees[name].to_numpy(dtype=float)[order] for name in trees}
    sizes = np.bincount(group, minlength=groups)
    starts = np.cumsum(sizes) - sizes
    doublings = np.ceil(np.log2(np.maximum(sizes, 1)))
    for doubling in np.unique(doublings):
        alike = np.flatnonzero(doublings == doubling)
        places = np.arange(max(int(sizes[alike].max()), 1))
        filled = places < sizes[alike, None]
        at = np.where(filled, starts[alike, None] + places, -1)
        yield Rectangle(
            alike,
            {name: np.where(filled, _taken(cells, at), np.nan) for name, cells in columns.items()},
        )


def _taken(cells: Floats, at: Numbers) -> Floats:
    return cells[at] if cells.size else np.full(at.shape, np.nan)
