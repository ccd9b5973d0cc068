"""Two trees that may be one: the same place, the same size, two names; or stems that overlap."""

import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray

from mapper import metrics
from mapper.check.findings import Rule, findings, joined, worded
from mapper.load.identity import EARTH_RADIUS_M, MOST_GROWTH_CM_PER_YEAR

Floats = NDArray[np.float64]
Numbers = NDArray[np.intp]
RECORDS_AT_ONCE, MOST_AT_ONE_PLACE = 20_000, 100
# A device's own figure holds the true place about half the time; in one direction its standard
# deviation is that radius over 1.18. Where nobody says: 5 m, as a phone (common practice, no
# source).
RADIUS_TO_SD, UNKNOWN_M, LEAST_M = 1 / 1.1774, 5.0, 0.3
# The radius that holds a place half the time, in parts of that which holds it 95 times in 100.
HALF_OF_95 = 1.1774 / 2.4477
FARTHEST_M = 15.0  # no pair is looked for beyond this
AROUND_M = 30.0  # the neighbourhood in which trees of the kind are counted
DAYS_PER_YEAR = 365.25
ALONE_PER_M2 = 0.5 / (np.pi * AROUND_M**2)  # half a tree, where none was counted
# One tree in a hundred measured twice under two names; four to one is worth a question.
PRIOR, ASKED = 1 / 100, 4.0
SHARED_PLACES = 0.10  # beyond this share one place for several trees is a way of recording
HEIGHT_SPREAD_M, LEAST_GIRTH_SPREAD_CM, LEAST_HEIGHT_SD_M = 2.5, 10.0, 1.0

NEEDED = [
    "file", "sheet", "row", "tree", "tree_key", "date", "species_name", "lat", "lon",
    "position_accuracy_m", "diameter_cm", "diameter_sd_cm", "height_m", "height_sd_m",
    "place_root", "place_relative_m",
]  # fmt: skip


def twins(records: pd.DataFrame) -> pd.DataFrame:
    """Pairs of trees that are too near each other, or too alike, to be two.

    `records` are measured. Every visit with a place of its own is held against those of others.
    """
    placed = records.loc[records["lat"].notna() & records["lon"].notna(), NEEDED]
    if placed["tree_key"].nunique() < 2:
        return joined([])
    apart = _told_apart(placed)
    pairs = _pairs(apart)
    alike = _one_tree(pairs, apart)
    overlapping = pairs[_overlap(pairs) & ~_named(pairs).isin(_named(alike))]
    overlapping = overlapping.drop_duplicates(["tree_key", "tree_key_2"], keep="last")
    return joined([_twice(alike), _too_close(overlapping), _same_place(placed, alike)])


def _named(pairs: pd.DataFrame) -> "pd.Series[str]":
    return pairs["tree_key"].astype(str) + "|" + pairs["tree_key_2"].astype(str)


def _told_apart(trees: pd.DataFrame) -> pd.DataFrame:
    """Without the places that a hundred trees share: there a place says nothing of a tree."""
    shared = trees[trees.duplicated(["lat", "lon"], keep=False)]
    count = shared.groupby(["lat", "lon"])["tree_key"].transform("nunique")
    return trees.drop(index=count.index[count > MOST_AT_ONE_PLACE])


def _pairs(trees: pd.DataFrame) -> pd.DataFrame:
    """Every two records of two trees that may be one, or overlap, in their order.

    Looked for some thousand records at a time: neighbours of a whole city fill the memory.
    """
    points = _points(trees)
    tree = shapely.STRtree(points)
    radius = trees["position_accuracy_m"].fillna(UNKNOWN_M).clip(lower=LEAST_M)
    reach = np.minimum(5.0 * radius.to_numpy(dtype=float) + 1.0, FARTHEST_M)
    told, spreads = _Told(trees), _girth_spreads(trees)
    found = []
    for start in range(0, max(len(trees), 1), RECORDS_AT_ONCE):
        some = slice(start, start + RECORDS_AT_ONCE)
        first, second = tree.query(points[some], "dwithin", reach[some])
        first = first + start
        once = (first < second) & told.two_trees(first, second)
        first, second = first[once], second[once]
        near = shapely.distance(points[first], points[second])
        may = told.may_be_one(first, second) | (near < told.room_m(first, second))
        both = _both(trees, first[may], second[may], near[may])
        found.append(both[_likely(both, spreads) | _overlap(both)])
    return pd.concat(found, ignore_index=True)


class _Told:
    """What speaks for or against a pair at the first glance, as numbers."""

    def __init__(self, trees: pd.DataFrame) -> None:
        self._name, self._kind = (pd.factorize(trees[n])[0] for n in ("tree_key", "species_name"))
        self._diameter_m = trees["diameter_cm"].to_numpy(dtype=float) / 100
        self._kind[(trees["species_name"] == "").to_numpy(dtype=bool)] = -1
        self._kind[np.isnan(self._diameter_m)] = -1

    def two_trees(self, first: Numbers, second: Numbers) -> NDArray[np.bool_]:
        return np.asarray(self._name[first] != self._name[second])

    def may_be_one(self, first: Numbers, second: Numbers) -> NDArray[np.bool_]:
        kind = self._kind[first]
        return np.asarray((kind == self._kind[second]) & (kind >= 0))

    def room_m(self, first: Numbers, second: Numbers) -> Floats:
        return np.asarray((self._diameter_m[first] + self._diameter_m[second]) / 2)


def _both(trees: pd.DataFrame, first: Numbers, second: Numbers, near: Floats) -> pd.DataFrame:
    """The two records of each pair side by side, the second one's columns with _2 behind."""
    sides = [
        trees.iloc[side].reset_index(names="record").add_suffix(suffix)
        for side, suffix in ((first, ""), (second, "_2"))
    ]
    both: pd.DataFrame = pd.concat(sides, axis=1)
    return _as_taped(both.assign(apart_m=near, first=first, second=second))


def _likely(pairs: pd.DataFrame, spreads: "pd.Series[float]") -> NDArray[np.bool_]:
    """Pairs alike enough to be one even if no other tree of the kind stood around: few are."""
    kinds = (pairs["species_name"] == pairs["species_name_2"]) & (pairs["species_name"] != "")
    sized = pairs["diameter_cm"].notna() & pairs["diameter_cm_2"].notna()
    return np.asarray(kinds & sized & (_odds(pairs, spreads) / ALONE_PER_M2 >= ASKED), dtype=bool)


def _odds(pairs: pd.DataFrame, spreads: "pd.Series[float]") -> Floats:
    """How much more readily the pair is one tree, but for how many stand around."""
    return np.asarray(
        PRIOR * _same_spot(pairs) * _by_girth(pairs, spreads) * _by_height(pairs), dtype=float
    )


def _as_taped(pairs: pd.DataFrame) -> pd.DataFrame:
    """Two trees taped from one point: how well that point is known does not move them apart."""
    root = pairs["place_root"]
    together = (root == pairs["place_root_2"]) & (root >= 0)
    return pairs.assign(
        **{
            f"position_accuracy_m{side}": pairs[f"position_accuracy_m{side}"].mask(
                together, HALF_OF_95 * pairs[f"place_relative_m{side}"]
            )
            for side in ("", "_2")
        }
    )


def _points(trees: pd.DataFrame) -> NDArray[np.object_]:
    """Points in metres about the middle of the survey: near pairs need no more."""
    lat, lon = (np.radians(trees[name].to_numpy(dtype=float)) for name in ("lat", "lon"))
    if len(lat) == 0:
        return np.empty(0, dtype=object)
    east = EARTH_RADIUS_M * (lon - np.median(lon)) * np.cos(lat)
    return np.asarray(shapely.points(east, EARTH_RADIUS_M * (lat - np.median(lat))))


def _one_tree(pairs: pd.DataFrame, trees: pd.DataFrame) -> pd.DataFrame:
    """Pairs that are far likelier one tree than two neighbours."""
    spreads = _girth_spreads(trees)
    alike = pairs[_likely(pairs, spreads)]
    if alike.empty:
        return alike
    odds = _odds(alike, spreads) / _density(alike, trees)
    likely = alike.assign(odds=odds)[odds >= ASKED].sort_values("odds", kind="stable")
    return likely.drop_duplicates(["tree_key", "tree_key_2"], keep="last").sort_index()


def _same_spot(pairs: pd.DataFrame) -> Floats:
    """How likely so great a distance is, per square metre, if both places are of one tree."""
    radius = [
        pairs[f"position_accuracy_m{side}"].fillna(UNKNOWN_M).clip(lower=LEAST_M)
        for side in ("", "_2")
    ]
    variance = (radius[0] ** 2 + radius[1] ** 2) * RADIUS_TO_SD**2
    same = np.exp(-(pairs["apart_m"] ** 2) / (2 * variance)) / (2 * np.pi * variance)
    return np.asarray(same, dtype=float)


def _density(pairs: pd.DataFrame, trees: pd.DataFrame) -> Floats:
    """Trees of the kind per square metre around the first of each pair, the second left out."""
    points = _points(trees)
    at, near = shapely.STRtree(points).query(points[pairs["first"]].tolist(), "dwithin", AROUND_M)
    names = trees["species_name"].to_numpy()
    kind = names[near] == pairs["species_name"].to_numpy()[at]
    day = trees["date"].to_numpy()[near] == pairs["date"].to_numpy()[at]  # each tree once
    count = np.bincount(at[kind & day], minlength=len(pairs)) - 2  # the two themselves
    return np.asarray(np.maximum(count / (np.pi * AROUND_M**2), ALONE_PER_M2))


def _girth_spreads(trees: pd.DataFrame) -> "pd.Series[float]":
    """Standard deviation of the girths of each kind. [cm]"""
    girths = metrics.girth_from_diameter(trees["diameter_cm"])
    return pd.Series(girths, trees.index).groupby(trees["species_name"]).std()


def _by_girth(pairs: pd.DataFrame, spreads: "pd.Series[float]") -> Floats:
    spread = pairs["species_name"].map(spreads).astype(float).fillna(LEAST_GIRTH_SPREAD_CM)
    spread = spread.clip(lower=LEAST_GIRTH_SPREAD_CM)
    here, there = (metrics.girth_from_diameter(pairs[f"diameter_cm{s}"]) for s in ("", "_2"))
    years = (pairs["date"] - pairs["date_2"]).dt.days.abs().fillna(0) / DAYS_PER_YEAR
    reading = np.pi * metrics.combined_sd(
        pairs["diameter_sd_cm"].fillna(1.0), pairs["diameter_sd_cm_2"].fillna(1.0)
    )
    sd = np.hypot(reading, MOST_GROWTH_CM_PER_YEAR / 4 * years)
    return _ratio(here - there, sd, np.hypot(sd, np.sqrt(2) * spread))


def _by_height(pairs: pd.DataFrame) -> Floats:
    """Heights of trees of one girth differ by some metres; two readings of one by less."""
    apart = (pairs["height_m"] - pairs["height_m_2"]).to_numpy(dtype=float)
    sds = (pairs[f"height_sd_m{side}"].fillna(LEAST_HEIGHT_SD_M) for side in ("", "_2"))
    sd = np.maximum(metrics.combined_sd(*sds), LEAST_HEIGHT_SD_M)
    ratio = _ratio(apart, sd, np.hypot(sd, np.sqrt(2) * HEIGHT_SPREAD_M))
    return np.where(np.isnan(ratio), 1.0, ratio)


def _ratio(apart: Floats, if_one: Floats, if_two: Floats) -> Floats:
    """Likelihood of a difference with one spread over that with another."""
    narrow, wide = np.square(apart / if_one), np.square(apart / if_two)
    return np.asarray(np.exp((wide - narrow) / 2) * if_two / if_one)


def _twice(pairs: pd.DataFrame) -> pd.DataFrame:
    template = "{:.1f} m from tree {}, the same species, girth {:.0f} cm and {:.0f} cm."
    girth, other = (metrics.girth_from_diameter(pairs[f"diameter_cm{s}"]) for s in ("_2", ""))
    message = worded(
        template, pairs["apart_m"], pairs["tree_key"],
        pd.Series(girth, pairs.index), pd.Series(other, pairs.index),
    )  # fmt: skip
    rule = Rule(
        "same_tree_twice", "warning", "tree", "If it is one tree, give both records one number.",
        "One tree may have been measured twice under two names.",
    )  # fmt: skip
    at = _second(pairs).assign(proposed_value=pairs["tree"].to_numpy())
    return findings(rule, at, message.set_axis(at.index)).assign(
        other_tree=pairs["tree_key"].to_numpy()
    )


def _second(pairs: pd.DataFrame) -> pd.DataFrame:
    """The later record of each pair, as rows of the observations."""
    names = {"file_2": "file", "sheet_2": "sheet", "row_2": "row", "tree_2": "tree"}
    at = pairs[[*names]].rename(columns=names).set_index(pairs["record_2"])
    return at.assign(cell=at["tree"])


def _overlap(pairs: pd.DataFrame) -> "pd.Series[bool]":
    """Nearer than half their diameters together, by more than the places may be off."""
    radius = [pairs[f"position_accuracy_m{side}"] for side in ("", "_2")]
    off = 2 * np.hypot(radius[0], radius[1])  # without an accuracy nothing is claimed
    room = (pairs["diameter_cm"] + pairs["diameter_cm_2"]) / 200
    return pd.Series(pairs["apart_m"] + off < room, index=pairs.index)


def _too_close(pairs: pd.DataFrame) -> pd.DataFrame:
    template = "{:.2f} m from tree {}: stems of {:.0f} cm and {:.0f} cm have no room so near."
    message = worded(
        template, pairs["apart_m"], pairs["tree_key"], pairs["diameter_cm_2"], pairs["diameter_cm"]
    )
    rule = Rule(
        "too_close", "warning", "lat", "Check both places.",
        "One of the places is wrong, or both are stems of one tree.",
    )  # fmt: skip
    at = _second(pairs).assign(cell="")
    return findings(rule, at, message.set_axis(at.index)).assign(
        other_tree=pairs["tree_key"].to_numpy()
    )


def _same_place(records: pd.DataFrame, alike: pd.DataFrame) -> pd.DataFrame:
    """Two trees in one spot to the last of five decimals: a cell copied, or a spot for a group."""
    trees = records.drop_duplicates(["tree_key", "lat", "lon"])
    fine = trees[(trees["lat"] * 1e4 % 1 > 1e-6) | (trees["lon"] * 1e4 % 1 > 1e-6)]
    shared = fine[fine.duplicated(["lat", "lon"], keep=False)]
    again = shared[shared.duplicated(["lat", "lon"])]
    first = shared.groupby(["lat", "lon"])["tree_key"].transform("first")
    if len(shared) > SHARED_PLACES * len(trees):
        again = again.head(1)
        words = "{} trees of this survey share their place with another one, as tree {} does."
        message = worded(words, pd.Series(len(shared), again.index), first[again.index])
        return findings(Rule("same_place", "note", "lat"), again, message)
    told = first[again.index] + "|" + again["tree_key"]
    again = again[~told.isin(_named(alike))]
    message = worded("The very place of tree {}.", first[again.index])
    rule = Rule("same_place", "warning", "lat", "Check the places.", "A place copied down?")
    return findings(rule, again, message).assign(other_tree=first[again.index].to_numpy())
