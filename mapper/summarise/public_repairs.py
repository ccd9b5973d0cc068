"""What was repaired, for the public: which value of which tree, from what, to what, and why."""

import numpy as np
import pandas as pd

from mapper.language import later, say
from mapper.load.decisions import HEADING_ROW
from mapper.load.headings import read_heading
from mapper.load.layer import CHANGED, KEPT
from mapper.load.names import is_stem, value_name
from mapper.load.survey_records import Observations
from mapper.reference import rows
from mapper.summarise.natural_order import natural
from mapper.summarise.public_findings import MEANINGS
from mapper.survey import Survey

COLUMNS = [
    "tree", "column", "unit", "decision", "before", "after", "before_word", "after_word", "why",
    "file", "row",
]  # fmt: skip
BY_HAND = later("Corrected by whoever keeps the survey.")
# Before a repair a place may have been somebody's home, and an offset leads to a place.
PLACES = (
    "lat", "lon", "x", "y", "crs", "position_accuracy", "plot", "bearing", "bearing_from",
    "distance", "distance_kind", "slope", "distance_to", "distance_2", "edge_double",
)  # fmt: skip
# What a person asked for is nobody's business, nor that it was changed.
NEVER = ("privacy", "photo_consent", "observer_consent")
# So large a number is no measurement: perhaps a telephone's, typed into the wrong cell.
LARGEST_BEFORE = 100_000
KINDS = ("number", "quantity", "choice", "flag")


def public_repairs(observations: Observations, trees: pd.DataFrame, survey: Survey) -> pd.DataFrame:
    """Repairs in the records of `trees`, in the columns that are published.

    Numbers and words of choice are shown as they were read, before and after. Texts, days and
    places are named without what they said: that may be what was wrong with them. A cell that
    was kept is a finding answered, and listed where findings are.
    """
    told = _told(observations, trees, survey)
    if told.empty:
        return pd.DataFrame(columns=COLUMNS).astype({"before": float, "after": float})
    order = sorted(
        range(len(told)), key=lambda n: (natural(told["tree"].iloc[n]), told["column"].iloc[n])
    )
    return told.take(np.array(order, dtype=int))[COLUMNS].reset_index(drop=True)


def _told(observations: Observations, trees: pd.DataFrame, survey: Survey) -> pd.DataFrame:
    states = (CHANGED, KEPT) if survey.publish.findings == "full" else (CHANGED,)
    known = {row["name"]: row for row in rows("columns")}
    if observations.records.history.empty:
        return observations.records.history
    named = _named(observations)
    told = named[
        named["state"].isin(states)
        & (named["tree"].isin(trees["tree_key"]) | (named["tree"] == ""))
        & named["column"].map(lambda name: _is_open(name, known)).astype(bool)
    ]
    if told.empty:
        return told
    exact = told["tree"].map(trees.set_index("tree_key")["privacy"]) == "exact"
    numbered = exact & (survey.publish.positions == "exact") & (survey.publish.findings == "full")
    table = told.assign(
        unit=[known.get(name, known["stem_N"])["unit"] for name in told["column"]],
        why=[_why(concerns) for concerns in told["concerns"]],
        file=told["file"].astype("Int64").where(numbered),
        row=pd.to_numeric(told["row"], errors="coerce").astype("Int64").where(numbered),
    )
    return _with_values(table, observations.values, known)


def _named(observations: Observations) -> pd.DataFrame:
    """The history with the tree of each cell; a heading is named as it is read now."""
    history = observations.records.history
    whole = (history["record"] < 0) & (history["row"] == HEADING_ROW)
    keys = observations.values["tree_key"].reindex(history["record"]).set_axis(history.index)
    read = [read_heading(text).column for text in history["value"][whole]]
    column = history["column"].copy()
    column[whole] = [one.name if one else "" for one in read]
    return history.assign(
        tree=keys.mask(whole, ""),
        column=column,
        decision=history["state"].mask(whole & (history["state"] == CHANGED), "heading changed"),
    )


def _is_open(name: str, known: dict[str, dict[str, str]]) -> bool:
    if is_stem(name):
        return True
    return name in known and known[name]["private"] == "no" and name not in NEVER


def _why(concerns: frozenset[tuple[str, str]]) -> str:
    """Why the cell was asked about, in our own words: a leader's reasons may name people."""
    meanings = [say(MEANINGS[rule]) for rule, _ in sorted(concerns) if rule in MEANINGS]
    return " ".join(dict.fromkeys(meanings)) or say(BY_HAND)


def _with_values(
    told: pd.DataFrame, values: pd.DataFrame, known: dict[str, dict[str, str]]
) -> pd.DataFrame:
    """The repairs with what was read before and after, where that may be told."""
    kinds = pd.Series(
        [known.get(name, known["stem_N"])["kind"] for name in told["column"]], told.index
    )
    shown = kinds.isin(KINDS) & ~told["column"].isin(PLACES) & (told["state"] == CHANGED)
    now = pd.Series(
        [
            values.at[record, value_name(name)] if record >= 0 else None
            for record, name in zip(told["record"], told["column"], strict=True)
        ],
        index=told.index,
        dtype=object,
    )
    after = pd.to_numeric(now, errors="coerce").astype(float)
    word = now.where(after.isna() & now.notna(), "").astype(str)
    believable = told["before"].abs() < LARGEST_BEFORE
    return told.assign(
        before=told["before"].where(shown & believable),
        after=after.where(shown),
        before_word=told["before_word"].where(shown, ""),
        after_word=word.where(shown, ""),
    )
