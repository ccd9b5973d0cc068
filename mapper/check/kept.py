"""Findings that a leader answered with: the cell stays as it is."""

from typing import Any

import pandas as pd

from mapper.load.layer import KEPT
from mapper.load.records import WHOLE_COLUMN
from mapper.load.shown import as_shown

STAYS_OUT = " Kept as written; a value that cannot be stays out of the figures."

# Asked once for a column, though each of its cells is found: its heading can tell.
OF_THE_HEADING = ("ambiguous_date",)

Key = tuple[int, int, str, str, str]  # file, record, heading of a whole column, rule, column


def without_kept(findings: pd.DataFrame, history: pd.DataFrame) -> pd.DataFrame:
    """The findings that still ask for an answer.

    A decision to keep a cell answers the findings it was asked about. An impossible value stays
    out of the figures all the same, so its finding stays, as a note.
    """
    kept = history[history["state"] == KEPT] if len(history) else history
    if kept.empty or findings.empty:
        return findings
    answered = _answered(findings, kept)
    barred = findings["bars"].astype(bool)
    now_note = answered & barred & (findings["severity"] != "note")
    noted = findings.assign(
        severity=findings["severity"].mask(now_note, "note"),
        message=findings["message"].mask(now_note, findings["message"] + STAYS_OUT),
        proposed_value=findings["proposed_value"].mask(now_note, ""),
    )
    return noted[~answered | barred].reset_index(drop=True)


def _answered(findings: pd.DataFrame, kept: pd.DataFrame) -> "pd.Series[bool]":
    """Which findings a decision was about; one that names no rule is about all of its cell."""
    answers = {key for row in kept.to_dict("records") for key in _keys_kept(row)}
    of_repairs = findings["rule"].str.startswith("repair_")
    files = findings["file"].isin(kept["file"])
    at = findings[files & ~of_repairs]
    found = [not answers.isdisjoint(_keys(row)) for row in at.to_dict("records")]
    return pd.Series(found, index=at.index, dtype=bool).reindex(findings.index, fill_value=False)


def _keys_kept(row: dict[Any, Any]) -> list[Key]:
    """A decision on a heading answers what is asked of the whole column, cell by cell or once."""
    file, record = row["file"], row["record"]
    pairs = row["concerns"] or {("", row["column"])}
    if record >= 0:
        return [(file, record, "", *pair) for pair in pairs]
    columns = [(file, WHOLE_COLUMN, "", *pair) for pair in pairs if pair[0] in OF_THE_HEADING]
    return [*columns, *((file, record, row["found"], *pair) for pair in pairs)]


def _keys(row: dict[Any, Any]) -> list[Key]:
    file, record, rule, column = row["file"], row["record"], row["rule"], row["column"]
    if record < 0:
        heading = as_shown(str(row["value"]))
        return [(file, record, heading, rule, column), (file, record, heading, "", column)]
    keys = [(file, record, "", rule, column), (file, record, "", "", column)]
    return [*keys, (file, WHOLE_COLUMN, "", rule, column)]
