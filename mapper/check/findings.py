"""What a finding is, and how rules write them."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

COLUMNS = [
    "rule",
    "severity",
    "record",
    "file",
    "sheet",
    "row",
    "tree",
    "other_tree",
    "column",
    "value",
    "message",
    "cause",
    "suggestion",
    "proposed_column",
    "proposed_value",
    "bars",
]

OF_PLOTS = -1  # in `file`: about a file of plots or strata, or about the ground of a stand


@dataclass(frozen=True)
class Rule:
    """What is the same in all findings of one kind."""

    name: str
    severity: str  # error, warning or note
    column: str
    suggestion: str = ""
    cause: str = ""  # the likely one, where the rule has but one
    bars: bool = False  # the value leaves the figures


def findings(rule: Rule, at: pd.DataFrame, message: pd.Series | str) -> pd.DataFrame:
    """A finding for each record of `at`: rows of the observations, with `cell` if one is shown.

    A rule that knows what was meant also gives `at` the columns `cause` (one sentence),
    `proposed_value` (the text to be written, "" for none) and, where another cell than the rule's
    is to be changed, `proposed_column`.
    """
    proposed = _texts(at, "proposed_value", "")
    return pd.DataFrame(
        {
            "rule": rule.name,
            "severity": rule.severity,
            "record": at.index,
            "file": at["file"].to_numpy(),
            "sheet": at["sheet"].to_numpy() if "sheet" in at else "",
            "row": at["row"].to_numpy(),
            "tree": at["tree"].to_numpy(),
            "other_tree": "",
            "column": rule.column,
            "value": at["cell"].to_numpy() if "cell" in at else "",
            "message": message if isinstance(message, str) else message.to_numpy(),
            "cause": _texts(at, "cause", rule.cause),
            "suggestion": rule.suggestion,
            "proposed_column": np.where(
                proposed == "", "", _texts(at, "proposed_column", rule.column)
            ),
            "proposed_value": proposed,
            "bars": rule.bars,
        },
        columns=COLUMNS,
    )


def about_plots(rule: Rule, messages: Sequence[str]) -> pd.DataFrame:
    """A finding for each message, about plots and not about a record."""
    count = len(messages)
    at = pd.DataFrame({"file": [OF_PLOTS] * count, "row": pd.NA, "tree": ""}, index=[-1] * count)
    return findings(rule, at, pd.Series(messages, at.index, dtype=str))


def _texts(at: pd.DataFrame, name: str, otherwise: str) -> NDArray[np.object_]:
    """A column of texts, or the same text for each record."""
    if name not in at:
        return np.full(len(at), otherwise, dtype=object)
    return at[name].fillna("").to_numpy(dtype=object)


def worded(template: str, *values: pd.Series) -> pd.Series:
    """One sentence a record: the template with that record's values put in."""
    index = values[0].index
    texts = [template.format(*row) for row in zip(*values, strict=True)]
    return pd.Series(texts, index=index, dtype=str)


def joined(tables: Sequence[pd.DataFrame]) -> pd.DataFrame:
    """One table of findings, errors first, then in the order of the files."""
    filled = [table for table in tables if len(table)]
    if not filled:
        return pd.DataFrame(columns=COLUMNS).astype({"bars": bool, "record": int})
    order = {"error": 0, "warning": 1, "note": 2}
    whole = pd.concat([table.astype({"row": "Int64"}) for table in filled], ignore_index=True)
    rank = whole["severity"].map(order)
    keys = whole.assign(rank=rank)[["rank", "file", "sheet", "row", "rule", "column"]]
    return whole.loc[keys.sort_values(list(keys.columns), kind="stable").index].reset_index(
        drop=True
    )
