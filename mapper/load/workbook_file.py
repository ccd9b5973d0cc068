"""Workbooks (xlsx, ods): the sheet `records`, else every sheet with a known heading."""

import datetime
import zipfile
from pathlib import Path
from typing import Any

import pandas as pd

from mapper.errors import InputError, NoRecordsError
from mapper.load.grid import has_known_heading, sheet_from_grid
from mapper.load.guards import check_xml, in_short, open_zip, refuse_unfit
from mapper.load.ods_errors import ods_errors
from mapper.load.records import Remark, Sheet, with_remark
from mapper.load.xlsx_errors import xlsx_errors

RECORDS = "records"
NOT_READ = "(not read)"  # what the name of a sheet ends with that is help and no records
AGAIN = "Open it in a spreadsheet program and save it again, without a password."


def read_workbook(file: Path) -> list[Sheet]:
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
    sheets = _filled_in(file, {name: grids[name] for name in wanted})
    skipped = [name for name in grids if name not in wanted]
    return [_with_skipped(sheets[0], skipped), *sheets[1:]]


def _filled_in(file: Path, grids: dict[str, pd.DataFrame]) -> list[Sheet]:
    """The tables that hold records; where others have some, one that has none is a remark."""
    sheets: list[Sheet] = []
    empty: dict[str, NoRecordsError] = {}
    for name, grid in grids.items():
        try:
            sheets.append(sheet_from_grid(file, name, grid))
        except NoRecordsError as error:
            empty[name] = error
    if not sheets:
        raise next(iter(empty.values()))
    for name in empty:
        reason = f"The sheet '{name}' has headings and no record below them."
        sheets[0] = with_remark(sheets[0], Remark("no_record", "note", reason))
    return sheets


def _grids(file: Path) -> dict[str, pd.DataFrame]:
    """The cells of each sheet that has any, as text; the index counts rows from 0."""
    refuse_unfit(file)
    with open_zip(file) as archive:
        _refuse_broken(file, archive)
        ending = ".ods" if "content.xml" in archive.namelist() else ".xlsx"
        if ending != file.suffix.lower():
            raise InputError(f"{file}: cannot be read as a workbook by this name. End it {ending}.")
        failed = ods_errors(file, archive) if ending == ".ods" else xlsx_errors(file, archive)
    grids = {name: _grid(rows) for name, rows in _cells(file).items()}
    whole = {name: _with_errors(grid, failed.get(name, {})) for name, grid in grids.items()}
    return {name: grid for name, grid in whole.items() if len(grid) and not _is_help(name)}


def _is_help(name: str) -> bool:
    return name.strip().casefold().endswith(NOT_READ)


def _refuse_broken(file: Path, archive: zipfile.ZipFile) -> None:
    """Refuse broken XML before the library meets it, which may never come back from it."""
    for name in archive.namelist():
        if name.endswith((".xml", ".rels")):
            try:
                with archive.open(name) as part:
                    check_xml(part)
            except ValueError as error:
                why = f"{name}: {error}"
                raise InputError(
                    f"{file}: cannot be read as a workbook ({why}). {AGAIN}"
                ) from error


def _cells(file: Path) -> dict[str, dict[int, list[object]]]:
    """By sheet, the rows that hold anything: many are formatted far below their last record."""
    from python_calamine import CalamineWorkbook, SheetTypeEnum

    try:
        book = CalamineWorkbook.from_path(file)
        tables = [one.name for one in book.sheets_metadata if one.typ == SheetTypeEnum.WorkSheet]
        return {name: _rows(book.get_sheet_by_name(name)) for name in tables}
    except BaseException as error:  # a damaged file can make the library fail in any way
        if isinstance(error, (KeyboardInterrupt, SystemExit, MemoryError)):
            raise
        advice = AGAIN
        if "Cell limit" in str(error):
            advice = "A cell far from the table holds something: delete what stands there."
        raise InputError(
            f"{file}: cannot be read as a workbook ({in_short(error)}). {advice}"
        ) from error


def _rows(sheet: Any) -> dict[int, list[object]]:
    left = [""] * (sheet.start[1] if sheet.start else 0)
    rows = enumerate(sheet.iter_rows())
    return {number: left + row for number, row in rows if any(cell != "" for cell in row)}


def _grid(rows: dict[int, list[object]]) -> pd.DataFrame:
    columns = enumerate(zip(*rows.values(), strict=True))
    return pd.DataFrame(
        {number: list(map(_text, cells)) for number, cells in columns}, list(rows), dtype=str
    )


def _with_errors(grid: pd.DataFrame, failed: dict[tuple[int, int], str]) -> pd.DataFrame:
    """The grid with what failed formulas show, where the reader of workbooks leaves a gap."""
    if not failed:
        return grid
    rows = sorted({*grid.index, *(row for row, _ in failed)})
    width = max(grid.shape[1], 1 + max(column for _, column in failed))
    whole = grid.reindex(index=rows, columns=range(width), fill_value="")
    for (row, column), text in failed.items():
        whole.loc[row, column] = text
    return whole


def _text(cell: object) -> str:
    """A cell as text that reads back to the same value."""
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
    alone = sheet.name.strip().casefold() == RECORDS
    reason = f"Sheets without a known heading were not read: {listed}."
    if alone:
        reason = f"Only the sheet '{sheet.name}' was read. Not read: {listed}."
    return with_remark(sheet, Remark("sheet_not_read", "warning" if alone else "note", reason))
