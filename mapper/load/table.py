"""One sheet → the cells and values of its records, and how its columns were understood."""

from concurrent.futures import ThreadPoolExecutor
from dataclasses import dataclass

import numpy as np
import pandas as pd

from mapper.load.columns import Column, known_columns, stem_number, units_of
from mapper.load.convert import DAY, Converted, convert
from mapper.load.described import described
from mapper.load.heading import Heading
from mapper.load.headings import understand
from mapper.load.pairs import with_pairs_apart
from mapper.load.records import Sheet, cell_problems, remark_problems
from mapper.load.units_row import with_units_row

NUMBERS = ("number", "quantity")
LARGE = 50_000  # rows from which on threads are worth their trouble
ORIGIN = ("file", "row", "sheet")


@dataclass(frozen=True)
class Table:
    """A sheet as understood; cells, values and unit_m are indexed by record number."""

    cells: pd.DataFrame
    values: pd.DataFrame
    unit_m: pd.Series  # size of the unit in the heading of x or y, else NaN
    columns: pd.DataFrame
    problems: pd.DataFrame


def read_sheet(sheet: Sheet, file: int, first: int, system: str) -> Table:
    """Understand one sheet. `file` is its file's number, `first` its first record's."""
    sheet = with_pairs_apart(sheet)
    sheet, headings = with_units_row(sheet, understand(sheet))
    cells = sheet.cells.set_axis(range(first, first + len(sheet.cells)), axis=0)
    known = {number: heading.column for number, heading in enumerate(headings) if heading.column}
    read = _converted(cells, known, headings, system)
    origin = {"file": file, "row": sheet.rows, "sheet": sheet.name}
    values = {column.value_name: read[number].values for number, column in known.items()}
    found = [cell_problems(read[number].problems, file, known[number].name) for number in known]
    return Table(
        cells=cells.set_axis([heading.name for heading in headings], axis=1),
        values=pd.DataFrame({**origin, **values}, index=cells.index),
        unit_m=pd.Series(_unit_m(headings), index=cells.index),
        columns=described(sheet, file, headings, read),
        problems=pd.concat([_remarks(sheet, file, headings, read), *found], ignore_index=True),
    )


def _converted(
    cells: pd.DataFrame, known: dict[int, Column], headings: list[Heading], system: str
) -> dict[int, Converted]:
    """Each column by itself; those of a large table side by side."""

    def read(number: int) -> Converted:
        return convert(cells[number], known[number], headings[number], system)

    if len(cells) < LARGE:
        return {number: read(number) for number in known}
    with ThreadPoolExecutor() as pool:
        return dict(zip(known, pool.map(read, known), strict=True))


def completed(values: pd.DataFrame) -> pd.DataFrame:
    """Every known column in the order of the contract; what was not handed in is empty."""
    whole = {name: values[name] for name in ORIGIN}
    empty = _empty_columns(values.index)
    for column in known_columns().values():
        for one in _numbered(column, values):
            given = values.get(one.value_name, empty[one.kind])
            is_number = one.kind in (*NUMBERS, "date")
            whole[one.value_name] = given if is_number else given.fillna("")
    # Most columns of most surveys are empty: without copies they share one array.
    return pd.DataFrame(whole, copy=False)


def _numbered(column: Column, values: pd.DataFrame) -> list[Column]:
    """The column itself; in place of stem_N the stems that were handed in."""
    if "N" not in column.name:
        return [column]
    numbers = sorted(filter(None, map(stem_number, values.columns)))
    return [column.numbered(number) for number in numbers]


def _empty_columns(index: pd.Index) -> dict[str, pd.Series]:
    """A column without any value for each kind."""
    numbers = dict.fromkeys(NUMBERS, pd.Series(np.nan, index=index))
    texts = dict.fromkeys(("text", "choice", "flag"), pd.Series("", index=index, dtype=str))
    return {**numbers, **texts, "date": pd.Series(pd.NaT, index=index, dtype=DAY)}


def _unit_m(headings: list[Heading]) -> float:
    units = [
        heading.unit
        for heading in headings
        if heading.column and heading.column.name in ("x", "y") and heading.unit
    ]
    return float(units_of("length")[units[0]].factor) if units else np.nan


def _remarks(
    sheet: Sheet, file: int, headings: list[Heading], read: dict[int, Converted]
) -> pd.DataFrame:
    unknown = [heading.remark for heading in headings if heading.remark]
    of_columns = [remark for one in read.values() for remark in one.remarks]
    return remark_problems([*sheet.remarks, *unknown, *of_columns], file)
