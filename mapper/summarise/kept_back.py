"""What privacy keeps out of totals, stands and findings."""

import pandas as pd

from mapper.summarise.stands import counting
from mapper.survey import Survey

# A withheld tree is in no figure that rests on fewer trees than this.
LEAST_IN_A_TOTAL = 5
FROM_PLACES = ("near_an_edge", "outside_every_stand", "in_two_stands", "beyond_the_edge")
ABOUT_PLACES = (
    "lat", "lon", "x", "y", "crs", "position_accuracy", "position_method", "plot", "from_point",
    "bearing", "bearing_from", "distance", "distance_kind", "slope", "distance_to", "from_point_2",
    "distance_2", "side", "edge_double",
)  # fmt: skip


def with_kept_back(trees: pd.DataFrame, positions: str) -> pd.DataFrame:
    """The trees with `secret`: withheld, or in a stand that was found from a place kept back."""
    kept_back = (trees["privacy"] != "exact") | (positions != "exact")
    found = kept_back & (trees["stand_from"] == "outline")
    return trees.assign(secret=found | (trees["privacy"] == "withheld"))


def countable(trees: pd.DataFrame, survey: Survey) -> pd.DataFrame:
    """The trees that a stand's figures may rest on; secret ones only in totals of five."""
    living, dead = counting(trees, survey), trees["status"] == "dead"
    large_living = living & trees["stand"].isin(_large(trees[living]))
    large_dead = dead & trees["stand"].isin(_large(trees[dead]))
    return trees[~trees["secret"] | large_living | large_dead]


def _large(trees: pd.DataFrame) -> "pd.Index[str]":
    """Stands in which every figure that a secret tree would enter rests on five trees or more."""
    told = trees.assign(both=trees["diameter_cm"].where(trees["height_m"].notna()))
    parts = ["tree_key", "diameter_cm", "height_m", "both"]
    sizes = told.groupby("stand")[parts].count()
    secret = told[told["secret"]].groupby("stand")[parts].count()
    entered = secret.reindex(sizes.index, fill_value=0) > 0
    return sizes.index[((sizes >= LEAST_IN_A_TOTAL) | ~entered).all(axis=1)]


def without_found_stands(trees: pd.DataFrame) -> pd.DataFrame:
    """The trees that are shown; those in a secret stand without it."""
    shown = trees[trees["privacy"] != "withheld"]
    return shown.assign(stand=shown["stand"].where(~shown["secret"], ""))


def without_places(
    findings: pd.DataFrame, exact: "pd.Series[bool]", named: set[str]
) -> pd.DataFrame:
    """Findings that say nothing of a place kept back: neither by rule, nor by row, nor by pair.

    `named` are the trees whose place is shown exactly: two trees that stand near each other tell
    the place of both.
    """
    of_place = findings["rule"].isin(FROM_PLACES) | findings["column"].isin(ABOUT_PLACES)
    alone = findings["other_tree"] == ""
    pairs = findings["other_tree"].map({name: name in named for name in findings["other_tree"]})
    pair_shown = exact & pairs.astype(bool)
    open_ = findings[(exact & alone) | pair_shown | (alone & ~of_place)]
    sure = exact.reindex(open_.index)
    row = open_["row"].astype("Int64").where(sure)
    return open_.assign(row=row, file=open_["file"].astype("Int64").where(sure))
