"""Which records are of one tree: the same number, and nothing that speaks against it."""

import numpy as np
import pandas as pd

from mapper.load.membership import among
from mapper.load.text import MISSING_WORDS

EARTH_RADIUS_M = 6_371_008.8  # mean radius, IUGG; metre precision is all that is asked for here
HALF_TURN, FULL_TURN = 180, 360  # degrees
FAR_ANY_DAY_M = 30.0  # phone positions under trees miss by up to some 12 m (95 %: twice that)
FAR_SAME_DAY_M = 10.0
GIRTH_RATIO_SAME_DAY = 1.2  # two tapes round one stem on one day differ far less
DAYS_PER_YEAR = 365.25
# Of 1000 town trees one grew faster over its life: reference results on the urban tree database.
MOST_GROWTH_CM_PER_YEAR = 19.0
MOST_GIRTH_CM = 4500.0
NO_NUMBER = MISSING_WORDS | {"?", "??", "unknown", "no number", "x"}
MOST_TREES_OF_ONE_NUMBER = 20


def with_tree_keys(values: pd.DataFrame) -> pd.DataFrame:
    """The records with `tree_key` (unique, shown to the reader) and `use`.

    `use` is 1 for the first tree of a number. A number used again counts as another tree when the
    stands differ, the places are far apart, or species or girths do not fit one tree: nothing is
    merged that may be two trees.
    """
    written = values["tree"].astype(str).str.strip()
    number = _with_plots(written.where(~written.str.casefold().isin(NO_NUMBER), ""), values["plot"])
    same = number.str.casefold()
    use = pd.Series(1, index=values.index)
    repeated = (same != "") & same.duplicated(keep=False)
    use[repeated] = _uses(_without_lone_slips(values[repeated].assign(number=same[repeated])))
    first = number.groupby(same).transform("first")
    again = first + " (" + use.astype(str) + ")"
    taken = among(again, number)
    again = again.where(~taken, first + " (again " + use.astype(str) + ")")
    key = first.where(use == 1, again)
    if (number == "").any():
        key = key.where(number != "", _nameless(values, number))
    return values.assign(tree_key=key, use=use, numbered=number != "")


def _with_plots(number: pd.Series, plot_cells: pd.Series) -> pd.Series:
    """Numbers begin anew on every plot: tree 1 of plots A and B are A-1 and B-1."""
    plot = plot_cells.astype(str).str.strip()
    used = (number != "") & (plot != "")
    several = (
        plot.str.casefold()[used].groupby(number[used].str.casefold()).transform("nunique") > 1
    )
    apart = several.reindex(number.index, fill_value=False)
    return number.where(~apart, plot + "-" + number)


def _without_lone_slips(values: pd.DataFrame) -> pd.DataFrame:
    """The one girth of three or more of a number and day that fits none of the others is a slip.

    It says nothing about which tree it is. Without a day three rows may well be three trees.
    """
    girths = _girths(values)
    groups = [values["number"], values["date"]]
    days = girths.groupby(groups)
    ratio = girths / days.transform("median")
    odd = (ratio > GIRTH_RATIO_SAME_DAY) | (ratio < 1 / GIRTH_RATIO_SAME_DAY)
    alone = odd.groupby(groups).transform("sum") == 1
    lone = odd & alone & (days.transform("count") > 2)
    return values.assign(
        girth_cm=values["girth_cm"].mask(lone), diameter_cm=values["diameter_cm"].mask(lone)
    )


def without_rows_in_keys(values: pd.DataFrame) -> pd.DataFrame:
    """Trees without a number named by size: rows would tell the order of the walk."""
    nameless = values[~values["numbered"]]
    order = nameless.sort_values(["species_name", "girth_cm", "height_m"], kind="stable").index
    names = pd.Series([f"unnumbered {n}" for n in range(1, len(order) + 1)], index=order, dtype=str)
    taken = set(values["tree_key"])
    names = names.where(~names.isin(taken), "tree " + names)
    return values.assign(tree_key=names.reindex(values.index).fillna(values["tree_key"]))


def _nameless(values: pd.DataFrame, taken: pd.Series) -> pd.Series:
    """What a tree without a number is called: file and row."""
    name = values["file"].astype(str) + "-" + values["row"].astype(str)
    # Two sheets of one workbook both have a row 2.
    sheet = name.groupby(name).cumcount()
    name = name.where(sheet == 0, name + "-" + (sheet + 1).astype(str))
    return name.where(~among(name, taken), "row " + name)


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
    apart_m = _apart_m(values, first)
    ratio = _girths(values) / _girths(first)
    unlike = _other_kind(values["species_name"], first["species_name"]) | (
        np.maximum(ratio, 1 / ratio) > GIRTH_RATIO_SAME_DAY
    )
    years = (values["date"] - day).dt.days / DAYS_PER_YEAR
    grown = _other_genus(values, first) | (apart_m.isna() & _leap(values, first, years))
    # Two fixes of one tree near an edge may lie on either side of it.
    by_outline = (values["stand_from"] == "outline") & (first["stand_from"] == "outline")
    elsewhere = _differ(values["stand"], first["stand"]) & ~(by_outline & apart_m.notna())
    other = elsewhere | (apart_m > FAR_ANY_DAY_M) | grown
    head = values.groupby("number").cumcount() == 0
    return head | ~(other | (same_day & (unlike | (apart_m > FAR_SAME_DAY_M))))


def _other_kind(names: pd.Series, others: pd.Series) -> "pd.Series[bool]":
    """Two kinds; a genus alone is no other kind than a species of it."""
    bare = ~names.str.contains(" ") | ~others.str.contains(" ")
    return _differ(names, others) & ~(bare & ~_differ(_genus(names), _genus(others)))


def _other_genus(values: pd.DataFrame, others: pd.DataFrame) -> "pd.Series[bool]":
    """Two genera, both known: a name may be made more exact over the years, not another kind."""
    known = (values["leaf_kind"] != "") & (others["leaf_kind"] != "")
    ours, theirs = (_genus(part["species_name"]) for part in (values, others))
    return known & _differ(ours, theirs)


def _genus(names: pd.Series) -> pd.Series:
    return names.astype(str).str.partition(" ")[0]


def _leap(values: pd.DataFrame, others: pd.DataFrame, years: pd.Series) -> "pd.Series[bool]":
    """A girth that shrank or grew as no tree does between the two days."""
    later = years >= 0
    here, there = _girths(values), _girths(others)
    older, younger = here.where(later, there), there.where(later, here)
    most = younger * GIRTH_RATIO_SAME_DAY + MOST_GROWTH_CM_PER_YEAR * years.abs()
    return (older < younger / GIRTH_RATIO_SAME_DAY) | (older > most)


def _girths(values: pd.DataFrame) -> pd.Series:
    """Girths that a tree can have: a slip of the pen does not make it another tree."""
    girths = values["girth_cm"].fillna(np.pi * values["diameter_cm"])
    return girths.where(girths.between(1, MOST_GIRTH_CM))


def _differ(texts: pd.Series, others: pd.Series) -> "pd.Series[bool]":
    ours, theirs = (part.astype(str).str.strip().str.casefold() for part in (texts, others))
    return (ours != theirs) & (ours != "") & (theirs != "")


def _apart_m(values: pd.DataFrame, first: pd.DataFrame) -> pd.Series:
    """Distance to the first record of the number; a misread place does not make another tree.

    Coordinates that are the first ones swapped or with another sign are taken as those, and 0, 0 is
    the place of no tree.
    """
    zeros = [(table["lat"] == 0) & (table["lon"] == 0) for table in (values, first)]
    apart_m = distance_m(values, first).mask(zeros[0] | zeros[1])
    far = apart_m.index[apart_m > FAR_ANY_DAY_M]
    for lat, lon in (("lon", "lat"), ("lat", "lon")):
        for north, east in ((1, 1), (-1, 1), (1, -1), (-1, -1)):
            written = values.loc[far]
            read = pd.DataFrame({"lat": north * written[lat], "lon": east * written[lon]})
            near_m = distance_m(read, first.loc[far])
            apart_m[far] = apart_m[far].where(near_m > FAR_ANY_DAY_M, near_m)
    return apart_m


def distance_m(here: pd.DataFrame, there: pd.DataFrame) -> pd.Series:
    """Distance over short ways, on a sphere. [m]"""
    north = np.radians(there["lat"] - here["lat"])
    turn = (there["lon"] - here["lon"] + HALF_TURN) % FULL_TURN - HALF_TURN
    east = np.radians(turn) * np.cos(np.radians(here["lat"]))
    return pd.Series(EARTH_RADIUS_M * np.hypot(north, east), index=here.index)
