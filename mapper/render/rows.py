"""Rows of the published tables, read one by one while a page is filled."""

import math

import pandas as pd

Row = dict[str, object]


def rows_of(table: pd.DataFrame) -> list[Row]:
    """The rows as dictionaries."""
    names = [str(name) for name in table.columns]
    # Column by column: pandas' own way costs milliseconds before the first row.
    columns = (table.iloc[:, number].tolist() for number in range(len(names)))
    return [dict(zip(names, cells, strict=True)) for cells in zip(*columns, strict=True)]


def number(row: Row, column: str) -> float:
    """A number of a row, NaN where it is missing."""
    value = row.get(column)
    return float(value) if isinstance(value, int | float) else math.nan


def text(row: Row, column: str) -> str:
    """A text of a row, empty where it is missing."""
    value = row.get(column)
    return value if isinstance(value, str) else ""
