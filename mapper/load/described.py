"""How each column of a table was understood, for the leader to look over."""

import pandas as pd

from mapper.load.columns import Column
from mapper.load.convert import Converted
from mapper.load.heading import Heading
from mapper.load.records import Sheet

LETTERS_SHOWN = 40


def described(
    sheet: Sheet, file: int, headings: list[Heading], read: dict[int, Converted]
) -> pd.DataFrame:
    """A row a column: file, sheet, heading, name, unit, unit_from, cells (how many are filled),
    read (how many gave a value), and for instance one cell (example) and what it became (became).
    """
    rows = [
        {
            "file": file,
            "sheet": sheet.name,
            "heading": heading.text,
            "name": heading.column.name if heading.column else "",
            "unit": read[number].unit if number in read else "",
            "unit_from": read[number].unit_from if number in read else "",
            "cells": int((sheet.cells[number] != "").sum()),
            **_instance(sheet.cells[number], heading.column, read.get(number)),
        }
        for number, heading in enumerate(headings)
    ]
    return pd.DataFrame(rows)


def _instance(cells: pd.Series, column: Column | None, read: Converted | None) -> dict[str, object]:
    """How many cells gave a value, and the first of those with its value."""
    if column is None or read is None:
        return {"read": 0, "example": "", "became": ""}
    number = column.kind in ("number", "quantity", "date")
    given = (read.values.notna() if number else read.values != "").to_numpy()
    if not given.any():
        return {"read": 0, "example": "", "became": ""}
    first = int(given.argmax())
    example = str(cells.iloc[first])[:LETTERS_SHOWN]
    became = _shown(read.values.iloc[first], column)
    return {"read": int(given.sum()), "example": example, "became": became}


def _shown(value: object, column: Column) -> str:
    """A value with its unit, as a person writes it."""
    if isinstance(value, pd.Timestamp):
        return f"{value:%Y-%m-%d}"
    if isinstance(value, float):
        return f"{value:.10g} {column.unit}".strip()
    return str(value)[:LETTERS_SHOWN]
