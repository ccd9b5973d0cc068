"""How exactly a tree's place is published: decimals cut, never jittered."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

# From the least to the most careful.
PRIVACY = ["exact", "0.001 deg", "0.01 deg", "hidden", "withheld"]
DECIMALS = {"0.001 deg": 3, "0.01 deg": 2}
# Chapman & Wieczorek 2020, table of precision at the equator: what cutting decimals leaves open.
CUT_ACCURACY_M = {"0.001 deg": 157.0, "0.01 deg": 1570.0}


def careful_privacy(
    records: pd.DataFrame, trees: "pd.Series[str]", unread: "pd.Series[bool]"
) -> "pd.Series[str]":
    """The most careful privacy that any record of a tree asks for.

    `unread` marks the records whose privacy cell could not be understood: they are withheld.
    """
    rank = records["privacy"].map({name: number for number, name in enumerate(PRIVACY)}).fillna(0)
    rank = rank.where(~unread, PRIVACY.index("withheld"))
    most = rank.groupby(records["tree_key"]).max()
    return trees.map(most).fillna(0).astype(int).map(dict(enumerate(PRIVACY)))


def place_levels(trees: pd.DataFrame, positions: str) -> NDArray[np.object_]:
    """How exactly each place is published: what its record or the survey asks, the more careful."""
    rank = {name: number for number, name in enumerate(PRIVACY)}
    asked = trees["privacy"].map(rank).fillna(0).to_numpy(dtype=int)
    return np.array(PRIVACY, dtype=object)[np.maximum(asked, rank[positions])]


def published_places(trees: pd.DataFrame, positions: str) -> pd.DataFrame:
    """The trees with lat, lon and position_accuracy_m as the survey and each tree allow."""
    names = place_levels(trees, positions)
    accuracy = trees["place_accuracy_m"].to_numpy(dtype=float)
    for name in DECIMALS:
        accuracy = np.where(names == name, np.fmax(accuracy, 0) + CUT_ACCURACY_M[name], accuracy)
    hidden = np.isin(names, ["hidden", "withheld"])
    return trees.assign(
        lat=np.where(hidden, np.nan, _cut(trees["lat"], names)),
        lon=np.where(hidden, np.nan, _cut(trees["lon"], names)),
        position_accuracy_m=np.where(hidden | trees["lat"].isna(), np.nan, accuracy),
    )


def _cut(degrees: pd.Series, names: NDArray[np.object_]) -> pd.Series:
    cut = degrees.to_numpy(dtype=float)
    for name, decimals in DECIMALS.items():
        cut = np.where(names == name, cut_degrees(cut, decimals), cut)
    return pd.Series(cut, index=degrees.index)


def cut_degrees(degrees: NDArray[np.float64], decimals: int) -> NDArray[np.float64]:
    """Degrees without their further decimals: dropped, not rounded."""
    # Rounding first to ten decimals keeps 42.950 from becoming 42.949.
    return np.asarray(np.trunc(np.round(degrees * 10**decimals, 10 - decimals)) / 10**decimals)
