"""What the quick reader of workbooks passes over: failed formulas, formulas never worked out."""

import re
import warnings
import zipfile
from itertools import zip_longest
from pathlib import Path
from typing import Any

from openpyxl.utils import column_index_from_string, get_column_letter

from mapper.errors import InputError
from mapper.load.guards import MOST_CELLS, in_short

# A formula, or a cell of the kind "error".
PLACE = re.compile(rb"\br=[\"']([A-Z]{1,3})(\d{1,7})[\"']")
SEEN = re.compile(rb"<(?:\w+:)?f[\s>/]|\bt=[\"']e[\"']")


def xlsx_errors(file: Path, archive: zipfile.ZipFile) -> dict[str, dict[tuple[int, int], str]]:
    """By sheet, the cells that show an error such as #DIV/0!, as row and column from 0.

    Raises
    ------
    InputError
        When a formula has no stored result, or a cell lies too far from the others.
    """
    parts = [name for name in archive.namelist() if name.endswith(".xml")]
    if not any([_look(file, archive.read(name)) for name in parts if "sharedStr" not in name]):
        return {}
    values = _rows(file, data_only=True)
    for name, written in _rows(file, data_only=False).items():
        _refuse_unworked(file, name, values[name], written)
    return {name: _errors(rows) for name, rows in values.items()}


def _look(file: Path, part: bytes) -> bool:
    """Whether a part holds a formula or an error: one of plain values is not read again.

    The quick reader makes room for every cell up to the last one, so that is looked at first.
    """
    columns, last = set(), 0
    for found in PLACE.finditer(part):
        columns.add(found[1])
        last = max(last, int(found[2]))
    width = max((column_index_from_string(name.decode()) for name in columns), default=0)
    if width * last > MOST_CELLS:
        raise InputError(
            f"{file}: its cells reach to column {width} and row {last}. A cell far from the table "
            "holds something: delete what stands there."
        )
    return SEEN.search(part) is not None


def _rows(file: Path, data_only: bool) -> dict[str, list[tuple[Any, ...]]]:
    import openpyxl

    try:
        # The library warns of styles and menus it leaves out; none of them holds a value.
        with warnings.catch_warnings(action="ignore"), file.open("rb") as opened:
            book = openpyxl.load_workbook(opened, read_only=True, data_only=data_only)
            for sheet in book.worksheets:
                sheet.reset_dimensions()  # what a file says of its size is often wrong
            rows = {sheet.title: list(sheet.iter_rows()) for sheet in book.worksheets}
            book.close()
    except Exception as error:  # a damaged file can make the library fail in any way
        raise InputError(
            f"{file}: cannot be read as a workbook ({in_short(error)}). "
            "Open it in a spreadsheet program and save it again, without a password."
        ) from error
    return rows


def _errors(rows: list[tuple[Any, ...]]) -> dict[tuple[int, int], str]:
    return {
        (row, column): str(cell.value)
        for row, cells in enumerate(rows)
        for column, cell in enumerate(cells)
        if cell.value is not None and cell.data_type == "e"
    }


def _refuse_unworked(
    file: Path, sheet: str, values: list[tuple[Any, ...]], formulas: list[tuple[Any, ...]]
) -> None:
    for row, (known, written) in enumerate(zip_longest(values, formulas, fillvalue=())):
        for column, (value, formula) in enumerate(zip_longest(known, written)):
            if formula is not None and formula.data_type == "f" and value.value is None:
                raise InputError(unworked(file, sheet, row, column))


def unworked(file: Path, sheet: str, row: int, column: int) -> str:
    """The sentence for a formula that some program wrote without working it out."""
    cell = f"{get_column_letter(column + 1)}{row + 1}"
    return (
        f"{file}, sheet '{sheet}', cell {cell}: the formula has no stored result. "
        "Open the workbook in a spreadsheet program and save it again."
    )
