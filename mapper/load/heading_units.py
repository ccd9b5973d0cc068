"""What the heading above each cell says about its unit."""

import pandas as pd

BARE = r"[\s\d.,+\-−–]*"  # a number alone: a cell that names its own unit was read by it


def unit_above(
    name: str, values: pd.DataFrame, columns: pd.DataFrame, said_by: str = "heading"
) -> "pd.Series[str]":
    """The unit of a column for each record's sheet, "" where something else decided it.

    `said_by` is heading, or survey for a heading without a unit.
    """
    told = columns[(columns["name"] == name) & (columns["unit_from"] == said_by)]
    units = told.set_index(["file", "sheet"])["unit"]
    sheets = pd.MultiIndex.from_frame(values[["file", "sheet"]])
    return pd.Series(units.reindex(sheets).fillna("").to_numpy(), values.index, dtype=str)
