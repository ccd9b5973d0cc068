"""What a tree may be measured from: another tree, a plot's centre, any record with a place."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

NO_POINT, UNKNOWN, UNCLEAR = -1, -2, -3
CENTRE_WORDS = ("plot centre", "plot center", "centre", "center", "plot")

Numbers = NDArray[np.int64]


@dataclass(frozen=True)
class Points:
    """Points by number: first the trees, by name within plot and stand, then the plots."""

    of_record: Numbers  # the point that a record's own tree is, NO_POINT without a name
    in_plot: pd.Series  # by (name, plot, stand)
    alone: pd.Series  # by name; UNCLEAR where several trees have it
    plots: pd.Series  # by name
    count: int


def point_key(texts: pd.Series) -> pd.Series:
    """Names without case and needless spaces; "tree 3" stays that."""
    codes, names = pd.factorize(texts)
    keys = [" ".join(str(name).split()).casefold() for name in names]
    return pd.Series(np.array([*keys, ""], dtype=object)[codes], index=texts.index, dtype=str)


def number_points(values: pd.DataFrame, plots: pd.DataFrame) -> Points:
    """Every named tree of the records, and every plot of `plots` (plot, lat, lon …)."""
    names = _scoped(values, "tree")
    named = names["key"] != ""
    of_record = np.full(len(values), NO_POINT, dtype=np.int64)
    of_record[named] = names[named].groupby(list(names), sort=False).ngroup()
    trees = names[named].assign(point=of_record[named]).drop_duplicates("point")
    alone = trees.groupby("key")["point"].agg(["first", "size"])
    centres = point_key(plots["plot"].astype(str))
    return Points(
        of_record=of_record,
        in_plot=trees.set_index(["key", "plot", "stand"])["point"],
        alone=alone["first"].where(alone["size"] == 1, UNCLEAR),
        plots=pd.Series(np.arange(len(plots)) + len(trees), index=centres),
        count=len(trees) + len(plots),
    )


def find_points(values: pd.DataFrame, column: str, points: Points) -> Numbers:
    """The number of the point that each cell of a column names, or NO_POINT, UNKNOWN, UNCLEAR.

    A tree of the same plot and stand is meant before one elsewhere. What may be a tree or a plot
    is unclear until the cell says "tree 3" or "plot 3".
    """
    asked = _scoped(values, column)
    one_each = asked.drop_duplicates().reset_index(drop=True)
    found = one_each.assign(point=_found(one_each, points))
    return np.asarray(asked.merge(found, how="left")["point"], dtype=np.int64)


def _found(asked: pd.DataFrame, points: Points) -> Numbers:
    trees, plots = _trees(asked["key"], asked, points), _plots(asked["key"], points)
    bare = asked["key"].str.removeprefix("tree ")
    told_trees = _trees(bare.where(asked["key"].str.startswith("tree "), ""), asked, points)
    centres = _plots(asked["plot"].where(asked["key"].isin(CENTRE_WORDS), ""), points)
    bare = asked["key"].str.removeprefix("plot ")
    told_plots = _plots(bare.where(asked["key"].str.startswith("plot "), ""), points)
    both = (trees != UNKNOWN) & (plots != UNKNOWN)
    return np.select(
        [asked["key"] == "", both, trees != UNKNOWN, plots != UNKNOWN, told_trees != UNKNOWN],
        [NO_POINT, UNCLEAR, trees, plots, told_trees],
        np.where(told_plots != UNKNOWN, told_plots, centres),
    )


def _trees(keys: pd.Series, asked: pd.DataFrame, points: Points) -> Numbers:
    scope = pd.MultiIndex.from_arrays([keys, asked["plot"], asked["stand"]])
    near = points.in_plot.reindex(scope).to_numpy(dtype=float)
    anywhere = points.alone.reindex(keys).to_numpy(dtype=float)
    return _numbers(np.where(np.isnan(near), anywhere, near))


def _plots(keys: pd.Series, points: Points) -> Numbers:
    return _numbers(points.plots.reindex(keys).to_numpy(dtype=float))


def _numbers(found: NDArray[np.float64]) -> Numbers:
    return np.where(np.isnan(found), UNKNOWN, found).astype(np.int64)


def _scoped(values: pd.DataFrame, column: str) -> pd.DataFrame:
    return pd.DataFrame(
        {
            "key": point_key(values[column].astype(str)),
            "plot": point_key(values["plot"].astype(str)),
            "stand": point_key(values["stand"].astype(str)),
        }
    ).reset_index(drop=True)
