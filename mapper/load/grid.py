"""From a grid of text to a table: where the headings are, which rows hold records."""

from pathlib import Path

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mapper.errors import InputError, NoRecordsError
from mapper.load.headings import count_known
from mapper.load.records import Remark, Sheet
from mapper.load.text import BLANK

# A title, a place and a date often stand above the headings.
ROWS_SEARCHED = 20


def sheet_from_grid(file: Path, name: str, grid: pd.DataFrame) -> Sheet:
    """The table in a grid of cells. The index counts rows from 0, columns are counted from 0.

    Raises
    ------
    InputError
        When the grid is empty, has no known heading, or no record below the headings.
    """
    place = f"{file}, sheet '{name}'" if name else str(file)
    rows = np.flatnonzero(_filled_rows(grid))
    if not rows.size:
        raise InputError(f"{place}: the table is empty. It needs a row of headings and records.")
    numbers = grid.index.to_numpy() + 1  # as a spreadsheet shows them
    top = _heading_row(place, grid, rows)
    records = rows[rows > top]
    if not records.size:
        raise NoRecordsError(
            f"{place}: there is no record below the headings in row {numbers[top]}."
        )
    columns = [n for n in range(grid.shape[1]) if _is_used(grid.iloc[:, n], top)]
    headings = tuple(grid.iloc[top, columns])
    # Rows without a gap are a slice: nothing is copied.
    whole = records[-1] - records[0] + 1 == records.size
    below = grid.iloc[records[0] : records[-1] + 1] if whole else grid.iloc[records]
    cells = below.iloc[:, columns].reset_index(drop=True)
    return Sheet(
        file=file,
        name=name,
        headings=headings,
        cells=cells.set_axis(range(len(columns)), axis=1),
        rows=numbers[records],
        remarks=_above(name, numbers[rows[rows < top]]),
    )


def has_known_heading(grid: pd.DataFrame) -> bool:
    """Whether any of the first rows looks like headings."""
    return any(count_known(list(row)) for row in grid.head(ROWS_SEARCHED).to_numpy())


def _filled_rows(grid: pd.DataFrame) -> NDArray[np.bool_]:
    """Which rows hold more than white space. Each column looks where the ones before found none."""
    filled = np.zeros(len(grid), dtype=bool)
    for number in range(grid.shape[1]):
        filled[~filled] = _filled(grid.iloc[:, number][~filled])
    return filled


def _is_used(column: pd.Series, top: int) -> bool:
    """Whether a column has a heading or, without one, cells."""
    return bool(column.iloc[top].strip(BLANK)) or bool(_filled(column)[top:].any())


def _filled(cells: pd.Series) -> NDArray[np.bool_]:
    return (cells.str.strip(BLANK) != "").to_numpy(dtype=bool)


def _heading_row(place: str, grid: pd.DataFrame, rows: NDArray[np.int64]) -> int:
    """The first of the rows with most known headings."""
    first = rows[:ROWS_SEARCHED]
    known = [count_known(list(grid.iloc[row])) for row in first]
    if max(known) == 0:
        found = ", ".join(f"'{text}'" for text in grid.iloc[first[0]] if text)
        raise InputError(
            f"{place}, row {grid.index[first[0]] + 1}: none of the headings {found} is known here. "
            "Give each column one of the headings listed in the README, "
            "such as tree, species, lat, lon, girth, diameter, height."
        )
    return int(first[int(np.argmax(known))])


def _above(sheet: str, rows: NDArray[np.int64]) -> tuple[Remark, ...]:
    if not rows.size:
        return ()
    numbers = ", ".join(map(str, rows))
    where = f" in sheet '{sheet}'" if sheet else ""
    reason = f"Above the headings{where} and not read as records: row {numbers}."
    return (Remark("above_headings", "note", reason),)
