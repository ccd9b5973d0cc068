"""One filled-in repair workbook → its rows, as a person left them."""

import datetime
import warnings
import zipfile
from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import chain
from pathlib import Path

import openpyxl

from mapper.errors import InputError

# Without these nobody could say which cell is meant, or whether it changed since.
NEEDED = ("file", "row", "column", "found")
ANSWERS = ("decision", "new value")
OTHERS = ("sheet", "tree", "now", "proposal", "reason", "concerns")
ROWS_SEARCHED = 20

Cells = tuple[object, ...]


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
    saved: str
    rows: tuple[Row, ...]


def read_book(file: Path) -> Book:
    """The rows of a repair workbook with a decision or a new value.

    Raises
    ------
    InputError
        When it cannot be opened, or has no sheet with the headings of a repair workbook.
    """
    try:
        # The library warns of styles and menus it leaves out; none of them holds a value.
        with warnings.catch_warnings(action="ignore"):
            return _read(file)
    except InputError:
        raise
    except Exception as error:  # a damaged file can make the library fail in any way
        raise InputError(
            f"{file}: cannot be read as a repair workbook ({error}). "
            "Open it in a spreadsheet program and save it again as .xlsx, or take it away."
        ) from error


def _read(file: Path) -> Book:
    book = openpyxl.load_workbook(file, read_only=True, data_only=True)
    try:
        for sheet in book.worksheets:
            sheet.reset_dimensions()  # what a file says of its size is often wrong
        found = [_decided(sheet.iter_rows(values_only=True)) for sheet in book.worksheets]
        saved = str(book.properties.modified) if _says_when(file) else ""
    finally:
        book.close()
    if all(rows is None for rows in found):
        raise InputError(
            f"{file}: no sheet has the headings {', '.join(NEEDED)} and {' or '.join(ANSWERS)}. "
            "Use the workbook that `groveplat check` writes, or take this file away."
        )
    return Book(file, saved, tuple(chain.from_iterable(rows or [] for rows in found)))


def _says_when(file: Path) -> bool:
    """Whether the file holds the date of its last change: the library makes one up if not."""
    with zipfile.ZipFile(file) as archive:
        return "docProps/core.xml" in archive.namelist()


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
    places = {name.replace(" ", "_"): names.get(name) for name in wanted}
    for number, cells in numbered:
        told = {
            name: cell_text(cells[at]) if at is not None and at < len(cells) else ""
            for name, at in places.items()
        }
        yield Row(line=number, **told)


def cell_text(cell: object) -> str:
    """A cell as the text a person would have typed into a record."""
    if cell is None:
        return ""
    if isinstance(cell, datetime.datetime):
        midnight = cell.time() == datetime.time()
        return cell.date().isoformat() if midnight else cell.isoformat(sep=" ")
    if isinstance(cell, float) and cell.is_integer():
        return str(int(cell))
    return str(cell).strip()
