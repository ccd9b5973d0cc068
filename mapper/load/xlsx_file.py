"""Workbooks: the sheet `records`, else every sheet with a known heading."""

import datetime
import warnings
import zipfile
from collections.abc import Iterable
from dataclasses import replace
from itertools import zip_longest
from pathlib import Path

import openpyxl
import pandas as pd
from openpyxl.utils import get_column_letter

from mapper.errors import InputError
from mapper.load.grid import has_known_heading, sheet_from_grid
from mapper.load.records import Remark, Sheet

Grid = list[tuple[object, ...]]

RECORDS = "records"


def read_xlsx(file: Path) -> list[Sheet]:
    """The tables of a workbook, in the order of its sheets.

    Raises
    ------
    InputError
        When the workbook cannot be opened, no sheet has a known heading, or a formula was never
        worked out.
    """
    grids = _grids(file)
    if not grids:
        raise InputError(f"{file}: every sheet is empty. It needs a row of headings and records.")
    named = [name for name in grids if name.strip().casefold() == RECORDS]
    known = named or [name for name, grid in grids.items() if has_known_heading(grid)]
    # With no known heading anywhere, the first sheet's own message says what is missing.
    wanted = known or list(grids)[:1]
    sheets = [sheet_from_grid(file, name, grids[name]) for name in wanted]
    skipped = [name for name in grids if name not in wanted]
    return [_with_skipped(sheets[0], skipped), *sheets[1:]]


def _grids(file: Path) -> dict[str, pd.DataFrame]:
    """The cells of each sheet that has any, as text."""
    values = _cells(file, data_only=True)
    formulas = _cells(file, data_only=False) if _has_formula(file) else {}
    for name, rows in formulas.items():
        _refuse_unworked(file, name, values[name], rows)
    texts = {name: [[_text(cell) for cell in row] for row in rows] for name, rows in values.items()}
    return {name: _grid(rows) for name, rows in texts.items() if rows}


def _grid(rows: list[list[str]]) -> pd.DataFrame:
    """Rows of any length as one table: what a row leaves out is empty."""
    return pd.DataFrame(list(zip(*zip_longest(*rows, fillvalue=""), strict=True)), dtype=str)


def _cells(file: Path, data_only: bool) -> dict[str, Grid]:
    try:
        # The library warns of styles and menus it leaves out; none of them holds a value.
        with warnings.catch_warnings(action="ignore"):
            book = openpyxl.load_workbook(file, read_only=True, data_only=data_only)
            for sheet in book.worksheets:
                sheet.reset_dimensions()  # what a file says of its size is often wrong
            cells = {sheet.title: _filled_part(sheet.values) for sheet in book.worksheets}
            book.close()
    except Exception as error:  # a damaged file can make the library fail in any way
        raise InputError(
            f"{file}: cannot be read as a workbook ({error}). "
            "Open it in a spreadsheet program and save it again as .xlsx, without a password."
        ) from error
    return cells


def _filled_part(rows: Iterable[tuple[object, ...]]) -> Grid:
    """Rows from the first to the last that is not empty: sheets are often formatted far below."""
    kept = list(rows)
    while kept and not any(cell not in (None, "") for cell in kept[-1]):
        kept.pop()
    return kept


def _has_formula(file: Path) -> bool:
    """A quick look, so that a workbook of plain values is not read twice."""
    with zipfile.ZipFile(file) as archive:
        parts = [name for name in archive.namelist() if name.startswith("xl/worksheets/")]
        return any(b"<f>" in (text := archive.read(part)) or b"<f " in text for part in parts)


def _refuse_unworked(file: Path, sheet: str, values: Grid, formulas: Grid) -> None:
    for row, (known, written) in enumerate(zip_longest(values, formulas, fillvalue=()), start=1):
        for column, (value, formula) in enumerate(zip_longest(known, written), start=1):
            if value is None and isinstance(formula, str) and formula.startswith("="):
                raise InputError(
                    f"{file}, sheet '{sheet}', cell {get_column_letter(column)}{row}: the formula "
                    "has no stored result. Open the workbook in a spreadsheet program and save it "
                    "again."
                )


def _text(cell: object) -> str:
    """A cell as text that reads back to the same value."""
    if cell is None:
        return ""
    if isinstance(cell, datetime.datetime):
        midnight = cell.time() == datetime.time()
        return cell.date().isoformat() if midnight else cell.isoformat(sep=" ")
    if isinstance(cell, float) and cell.is_integer():
        return str(int(cell))
    return str(cell)


def _with_skipped(sheet: Sheet, names: list[str]) -> Sheet:
    if not names:
        return sheet
    listed = ", ".join(f"'{name}'" for name in names)
    reason = f"Only the sheet '{sheet.name}' was read. Not read: {listed}."
    if sheet.name.strip().casefold() != RECORDS:
        reason = f"Sheets without a known heading were not read: {listed}."
    severity = "warning" if sheet.name.strip().casefold() == RECORDS else "note"
    remark = Remark("sheet_not_read", severity, reason)
    return replace(sheet, remarks=(*sheet.remarks, remark))
