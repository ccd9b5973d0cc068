"""What a finding is, and how rules write them."""

from collections.abc import Sequence

import pandas as pd

COLUMNS = [
    "rule",
    "severity",
    "record",
    "file",
    "row",
    "tree",
    "other_tree",
    "column",
    "value",
    "message",
    "suggestion",
    "bars",
]


def findings(
    rule: str,
    severity: str,
    at: pd.DataFrame,
    column: str,
    message: pd.Series | str,
    suggestion: str,
    bars: bool = False,
) -> pd.DataFrame:
    """A finding for each record of `at` (rows of the observations with a `cell` column if one is shown).

    `bars` says that the value leaves the figures.
    """
    return pd.DataFrame(
        {
            "rule": rule,
            "severity": severity,
            "record": at.index,
            "file": at["file"].to_numpy(),
            "row": at["row"].to_numpy(),
            "tree": at["tree"].to_numpy(),
            "other_tree": "",
            "column": column,
            "value": at["cell"].to_numpy() if "cell" in at else "",
            "message": message if isinstance(message, str) else message.to_numpy(),
            "suggestion": suggestion,
            "bars": bars,
        },
        columns=COLUMNS,
    )


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
    whole = pd.concat(filled, ignore_index=True)
    rank = whole["severity"].map(order)
    keys = whole.assign(rank=rank)[["rank", "file", "row", "rule", "column"]]
    return whole.loc[keys.sort_values(list(keys.columns), kind="stable").index].reset_index(drop=True)
