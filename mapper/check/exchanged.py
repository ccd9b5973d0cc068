"""One tree's visits that look like two trees: numbers exchanged or misread, names that changed."""

import numpy as np
import pandas as pd

from mapper.check.findings import Rule, findings, joined, worded
from mapper.load.identity import DAYS_PER_YEAR, MOST_GROWTH_CM_PER_YEAR

# What two tapes round one stem may differ by, one of them slack.
LEAST_SHARE, MOST_SHARE = 0.95, 1.05
MOST_A_DAY = 200  # doubtful records of one day that are held against each other
ADVICE = "Look at the record sheet and at the label on the tree."


def exchanged(records: pd.DataFrame, found: pd.DataFrame) -> pd.DataFrame:
    """Doubtful visits that fit another number's tree, whose own visit is doubtful or missing.

    `records` are measured; `found` are the findings that name doubtful visits.
    """
    doubtful = found["record"][found["rule"].isin(["shrunk", "leapt", "duplicate_id", "unit_slip"])]
    told = _with_history(records)
    return joined([_swapped(told, told[told.index.isin(doubtful)]), _renamed(records)])


def _with_history(records: pd.DataFrame) -> pd.DataFrame:
    """Numbered, dated records with girth and species of the number's visit before."""
    number = records["tree"].astype(str).str.strip().str.casefold()
    girth = np.pi * records["diameter_cm"]
    told = records.assign(number=number, girth=girth)
    told = told[(number != "") & told["date"].notna()].sort_values("date", kind="stable")
    before = told.groupby(["stand", "number"])[["girth", "date", "species_name"]].shift()
    return told.assign(
        girth_before=before["girth"],
        species_before=before["species_name"].fillna(""),
        years=(told["date"] - before["date"]).dt.days / DAYS_PER_YEAR,
    )


def _swapped(told: pd.DataFrame, doubtful: pd.DataFrame) -> pd.DataFrame:
    """Two doubtful visits of one day, each of which fits the other's tree."""
    known = doubtful[doubtful["girth_before"].notna() & doubtful["girth"].notna()]
    known = known[known.groupby("date")["girth"].transform("size") <= MOST_A_DAY]
    pairs = known.reset_index(names="record").merge(
        known.reset_index(names="record"), on="date", suffixes=("", "_2")
    )
    pairs = pairs[pairs["record"] != pairs["record_2"]]
    fits = (
        _fits(pairs, "", "_2")
        & _fits(pairs, "_2", "")
        & ~(_fits(pairs, "", "") & _fits(pairs, "_2", "_2"))
    )
    pairs = pairs[fits & (pairs["stand"] == pairs["stand_2"])]
    # Several partners: nobody can say which, so none is named.
    alone = ~pairs["record"].duplicated(keep=False) & ~pairs["record_2"].duplicated(keep=False)
    return _said(pairs[alone])


def _fits(pairs: pd.DataFrame, here: str, there: str) -> "pd.Series[bool]":
    """The girth and species of one visit go with the history of a number."""
    girth, before = pairs[f"girth{here}"], pairs[f"girth_before{there}"]
    most = MOST_SHARE * before + MOST_GROWTH_CM_PER_YEAR * pairs[f"years{there}"]
    name, named = pairs[f"species_name{here}"], pairs[f"species_before{there}"]
    same = (name == named) | (name == "") | (named == "")
    return same & (girth >= LEAST_SHARE * before) & (girth <= most)


def _said(pairs: pd.DataFrame) -> pd.DataFrame:
    at = pairs.set_index("record")
    template = (
        "Girth {:.0f} cm does not follow on the {:.0f} cm of the visit before, and does on the "
        "{:.0f} cm of tree {}; that tree's visit of this day fits here."
    )
    message = worded(template, at["girth"], at["girth_before"], at["girth_before_2"], at["tree_2"])
    rule = Rule(
        "numbers_exchanged", "warning", "tree", ADVICE,
        "The numbers of two trees were probably exchanged on this day.",
    )  # fmt: skip
    shown = at.assign(cell=at["tree"], proposed_value=at["tree_2"])
    return findings(rule, shown, message).assign(other_tree=at["tree_2"].to_numpy())


def _renamed(records: pd.DataFrame) -> pd.DataFrame:
    """A tree that has another species than at the visit before."""
    named = records[(records["species_name"] != "") & records["date"].notna()]
    named = named[named.duplicated("tree_key", keep=False)].sort_values("date", kind="stable")
    before = named.groupby("tree_key")["species_name"].shift()
    at = named[before.notna() & (before != named["species_name"])].sort_index()
    message = worded("{} here, and {} at the record before.", at["species_name"], before[at.index])
    rule = Rule(
        "species_changed", "note", "species", ADVICE,
        "The tree was named better, or it is another tree.",
    )  # fmt: skip
    return findings(rule, at.assign(cell=at["species"]), message)
