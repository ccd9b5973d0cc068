"""One filled-in repair workbook → its rows, as a person left them."""

import datetime
import re
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import chain
from pathlib import Path
from typing import Any

from mapper.errors import InputError
from mapper.load.guards import open_zip, refuse_unfit

ENDINGS = (".xlsx", ".ods")
# Without these nobody could say which cell is meant, or whether it changed since.
NEEDED = ("file", "row", "column", "found")
ANSWERS = ("decision", "new value")
OTHERS = ("sheet", "tree", "now", "proposal", "reason", "concerns")
ROWS_SEARCHED = 20
# Where each format says when it was saved last (ISO/IEC 29500-2, OpenDocument 1.3 part 3).
SAVED = {
    "docProps/core.xml": re.compile(rb"<dcterms:modified[^>]*>\s*([^<\s]{10,19})"),
    "meta.xml": re.compile(rb"<dc:date>\s*([^<\s]{10,19})"),
}

Cells = list[Any]
NOT_FILLED_IN = ("overview", "findings", "history")  # the other sheets of our own workbook


@dataclass(frozen=True)
class Row:
    """A row in which something was decided; "" where a cell is empty or its column missing."""

    line: int
    file: str
    row: str
    column: str
    found: str
    decision: str
    new_value: str
    sheet: str
    tree: str
    now: str
    proposal: str
    reason: str
    concerns: str


@dataclass(frozen=True)
class Book:
    """The decided rows of a workbook, and when it was saved as it says itself."""

    file: Path
    saved: str  # "" where it does not say: it counts as the oldest
    rows: tuple[Row, ...]


def read_book(file: Path) -> Book:
    """The rows of a repair workbook with a decision or a new value.

    Raises
    ------
    InputError
        When it cannot be opened, or has no sheet with the headings of a repair workbook.
    """
    refuse_unfit(file)
    with open_zip(file) as archive:
        parts = [name for name in SAVED if name in archive.namelist()]
        dates = [SAVED[name].search(archive.read(name)) for name in parts]
    found = [_decided(rows) for rows in _sheets(file)]
    if all(rows is None for rows in found):
        raise InputError(
            f"{file}: no sheet has the headings {', '.join(NEEDED)} and {' or '.join(ANSWERS)}. "
            "Use the workbook that `groveplat check` writes, or take this file away."
        )
    saved = next((date[1].decode("ascii", "replace") for date in dates if date), "")
    return Book(file, saved, tuple(chain.from_iterable(rows or [] for rows in found)))


def _sheets(file: Path) -> list[list[list[Any]]]:
    """The cells of each sheet to be filled in; formulas as the values last worked out."""
    from python_calamine import CalamineWorkbook, SheetTypeEnum

    try:
        book = CalamineWorkbook.from_path(file)
        tables = [one.name for one in book.sheets_metadata if one.typ == SheetTypeEnum.WorkSheet]
        names = [name for name in tables if name.casefold() not in NOT_FILLED_IN]
        sheets = map(book.get_sheet_by_name, names)
        return [sheet.to_python(skip_empty_area=False) for sheet in sheets]
    except BaseException as error:  # a damaged file can make the library fail in any way
        if isinstance(error, (KeyboardInterrupt, SystemExit, MemoryError)):
            raise
        raise InputError(
            f"{file}: cannot be read as a repair workbook ({error}). "
            "Open it in a spreadsheet program and save it again as .xlsx, or take it away."
        ) from error


def _decided(rows: Iterable[Cells]) -> list[Row] | None:
    """The rows with an answer below the headings; None where a sheet has no such headings."""
    numbered = enumerate(rows, start=1)
    for number, cells in numbered:
        names = {cell_text(cell).casefold(): at for at, cell in reversed(list(enumerate(cells)))}
        if all(name in names for name in NEEDED) and any(name in names for name in ANSWERS):
            return [row for row in _below(numbered, names) if row.decision or row.new_value]
        if number == ROWS_SEARCHED:
            break
    return None


def _below(numbered: Iterator[tuple[int, Cells]], names: Mapping[str, int]) -> Iterator[Row]:
    wanted = (*NEEDED, *ANSWERS, *OTHERS)
    places = {name.replace(" ", "_"): names[name] for name in wanted if name in names}
    nothing = dict.fromkeys((name.replace(" ", "_") for name in wanted), "")
    for number, cells in numbered:
        told = {name: cell_text(cells[at]) for name, at in places.items()}
        yield Row(line=number, **(nothing | told))


def cell_text(cell: object) -> str:
    """A cell as the text a person would have typed into a record."""
    if isinstance(cell, datetime.datetime):
        midnight = cell.time() == datetime.time()
        return cell.date().isoformat() if midnight else cell.isoformat(sep=" ")
    if isinstance(cell, float) and cell.is_integer():
        return str(int(cell))
    return str(cell).strip()
