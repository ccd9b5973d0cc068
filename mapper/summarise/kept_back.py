"""What privacy keeps out of totals, stands and findings."""

import pandas as pd

from mapper.summarise.stands import counting
from mapper.survey import Survey

# A withheld tree is in no figure that rests on fewer trees than this.
LEAST_IN_A_TOTAL = 5
FROM_PLACES = ("near_an_edge", "outside_every_stand", "in_two_stands")


def countable(trees: pd.DataFrame, survey: Survey) -> pd.DataFrame:
    """The trees that a stand's figures may rest on; withheld ones only in totals of five."""
    withheld = trees["privacy"] == "withheld"
    living, dead = counting(trees, survey), trees["status"] == "dead"
    large_living = withheld & living & trees["stand"].isin(_large(trees[living]))
    large_dead = withheld & dead & trees["stand"].isin(_large(trees[dead]))
    return trees[~withheld | large_living | large_dead]


def _large(trees: pd.DataFrame) -> "pd.Index[str]":
    """Stands in which every figure that a withheld tree would enter rests on five trees or more."""
    told = trees.assign(both=trees["diameter_cm"].where(trees["height_m"].notna()))
    parts = ["tree_key", "diameter_cm", "height_m", "both"]
    sizes = told.groupby("stand")[parts].count()
    secret = told[told["privacy"] == "withheld"].groupby("stand")[parts].count()
    entered = secret.reindex(sizes.index, fill_value=0) > 0
    return sizes.index[((sizes >= LEAST_IN_A_TOTAL) | ~entered).all(axis=1)]


def without_found_stands(trees: pd.DataFrame, positions: str) -> pd.DataFrame:
    """Trees whose place is kept back lose a stand that was found from the place."""
    kept_back = (trees["privacy"] != "exact") | (positions != "exact")
    found = kept_back & (trees["stand_from"] == "outline")
    return trees.assign(stand=trees["stand"].where(~found, ""))


def without_places(findings: pd.DataFrame, exact: "pd.Series[bool]") -> pd.DataFrame:
    """Findings that say nothing of a place kept back: neither by their rule nor by their row."""
    open_ = findings[exact | ~findings["rule"].isin(FROM_PLACES)]
    sure = exact.reindex(open_.index)
    row = open_["row"].astype("Int64").where(sure)
    return open_.assign(row=row, file=open_["file"].astype("Int64").where(sure))
