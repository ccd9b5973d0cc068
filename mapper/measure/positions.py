"""The place of each tree, from all the records that tell one."""

import pandas as pd

from mapper import metrics

PLACE_PART = [
    "lat", "lon", "position_accuracy_m", "place_from", "place_accuracy_m", "place_relative_m",
    "place_root",
]  # fmt: skip
# In the order of trust: tapes, then coordinates of a system, then a device's own, then a photo's.
TRUST = {"two tapes": 0, "bearing and distance": 0, "x and y": 1, "lat and lon": 2, "photo": 3}
TAPED = 0
HALF_TURN, FULL_TURN = 180, 360


def tree_places(records: pd.DataFrame) -> pd.DataFrame:
    """One place a tree, by tree_key: the most trusted kind; of several fixes their average.

    A tree stays where it is, so fixes of all its days count. Of several places by tape the newest
    is taken.
    """
    given = records[records["lat"].notna()].sort_values("date", kind="stable", na_position="first")
    trust = given["place_from"].map(TRUST)
    best = given[trust == trust.groupby(given["tree_key"]).transform("min")]
    newest = best.drop_duplicates("tree_key", keep="last").set_index("tree_key")[PLACE_PART]
    fixes = best[best["place_from"].map(TRUST) != TAPED]
    several = fixes[fixes.duplicated("tree_key", keep=False)]
    return newest if several.empty else _updated(newest, _averaged(several))


def _averaged(fixes: pd.DataFrame) -> pd.DataFrame:
    """Average place and its radius of trees with several fixes."""
    numbers, keys = pd.factorize(fixes["tree_key"])
    days = fixes.groupby(["tree_key", "date"], dropna=False).ngroup().to_numpy()
    radii = fixes["place_accuracy_m"].to_numpy(dtype=float)
    first = fixes.drop_duplicates("tree_key").set_index("tree_key")[["lat", "lon"]]
    ahead = first.reindex(fixes["tree_key"])
    # Counted from the first fix: numbers stay exact, and 180 degrees is no edge.
    north = fixes["lat"].to_numpy() - ahead["lat"].to_numpy()
    turn = fixes["lon"].to_numpy() - ahead["lon"].to_numpy()
    east = (turn + HALF_TURN) % FULL_TURN - HALF_TURN
    lat = first["lat"].to_numpy() + metrics.averaged_place(north, radii, numbers)
    lon = first["lon"].to_numpy() + metrics.averaged_place(east, radii, numbers)
    radius = metrics.averaged_radius(radii, numbers, days)
    return pd.DataFrame(
        {"lat": lat, "lon": (lon + HALF_TURN) % FULL_TURN - HALF_TURN, "place_accuracy_m": radius},
        index=pd.Index(keys, name="tree_key"),
    )


def _updated(places: pd.DataFrame, averaged: pd.DataFrame) -> pd.DataFrame:
    kept = places.copy()
    for name in averaged:
        kept.loc[averaged.index, name] = averaged[name]
    return kept
