"""Findings that a leader answered with: the cell stays as it is."""

from typing import Any

import pandas as pd

from mapper.load.layer import KEPT
from mapper.load.shown import as_shown

STAYS_OUT = " Kept as written; a value that cannot be stays out of the figures."

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
    at = findings[findings["record"].isin(kept["record"]) & ~of_repairs]
    found = [_key(row) in answers or _key(row, "") in answers for row in at.to_dict("records")]
    return pd.Series(found, index=at.index, dtype=bool).reindex(findings.index, fill_value=False)


def _keys_kept(row: dict[Any, Any]) -> list[Key]:
    heading = row["found"] if row["record"] < 0 else ""
    pairs = row["concerns"] or {("", row["column"])}
    return [(row["file"], row["record"], heading, *pair) for pair in pairs]


def _key(row: dict[Any, Any], rule: str | None = None) -> Key:
    heading = as_shown(str(row["value"])) if row["record"] < 0 else ""
    told = row["rule"] if rule is None else rule
    return row["file"], row["record"], heading, told, row["column"]
