"""Which records are of one tree: the same number, and nothing that speaks against it."""

import numpy as np
import pandas as pd

EARTH_RADIUS_M = 6_371_008.8  # mean radius, IUGG; metre precision is all that is asked for here
FAR_ANY_DAY_M = 30.0  # phone positions under trees miss by up to some 12 m (95 %: twice that)
FAR_SAME_DAY_M = 10.0
GIRTH_RATIO_SAME_DAY = 1.2  # two tapes round one stem on one day differ far less
MOST_TREES_OF_ONE_NUMBER = 20


def with_tree_keys(values: pd.DataFrame) -> pd.DataFrame:
    """The records with `tree_key` (unique, shown to the reader) and `use`.

    `use` is 1 for the first tree of a number.

    A number used again counts as another tree when the stands differ, the places are far apart, or
    on one day the species or the girths differ: nothing is merged that may be two trees.
    """
    number = values["tree"].astype(str).str.strip()
    use = _uses(values.assign(number=number.str.casefold()))
    written = number.groupby(number.str.casefold()).transform("first")
    again = written + " (" + use.astype(str) + ")"
    again = again.where(~again.isin(set(number)), written + " (again " + use.astype(str) + ")")
    nameless = values["file"].astype(str) + "-" + values["row"].astype(str)
    key = written.where(use == 1, again).where(number != "", nameless)
    return values.assign(tree_key=key, use=use)


def _uses(values: pd.DataFrame) -> pd.Series:
    """How many trees of the same number came before, plus one."""
    use = pd.Series(1, index=values.index)
    left = values[values["number"] != ""]
    for count in range(1, MOST_TREES_OF_ONE_NUMBER + 1):
        if left.empty:
            return use
        same = _like_the_first(left)
        use[left.index[same]] = count
        left = left[~same]
    use[left.index] = MOST_TREES_OF_ONE_NUMBER + left.groupby("number").cumcount() + 1
    return use


def _like_the_first(values: pd.DataFrame) -> "pd.Series[bool]":
    first = values.groupby("number").transform("first")
    # transform("first") skips empty cells, so each quantity is held against the first one given.
    anchor = values.groupby("number").head(1).set_index("number")["date"]
    day = values["number"].map(anchor)
    same_day = (values["date"] == day) | (values["date"].isna() & day.isna())
    apart_m = distance_m(values, first)
    girth = values["girth_cm"] / first["girth_cm"]
    unlike = _differ(values["species_name"], first["species_name"]) | (
        np.maximum(girth, 1 / girth) > GIRTH_RATIO_SAME_DAY
    )
    other = _differ(values["stand"], first["stand"]) | (apart_m > FAR_ANY_DAY_M)
    head = values.groupby("number").cumcount() == 0
    return head | ~(other | (same_day & (unlike | (apart_m > FAR_SAME_DAY_M))))


def _differ(texts: pd.Series, others: pd.Series) -> "pd.Series[bool]":
    ours, theirs = (part.astype(str).str.strip().str.casefold() for part in (texts, others))
    return (ours != theirs) & (ours != "") & (theirs != "")


def distance_m(here: pd.DataFrame, there: pd.DataFrame) -> pd.Series:
    """Distance over short ways, on a sphere. [m]"""
    north = np.radians(there["lat"] - here["lat"])
    east = np.radians(there["lon"] - here["lon"]) * np.cos(np.radians(here["lat"]))
    return pd.Series(EARTH_RADIUS_M * np.hypot(north, east), index=here.index)
