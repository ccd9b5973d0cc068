"""Text tables: any delimiter, UTF-8, UTF-16 or cp1252, cells as they stand."""

import csv
import io
import re
from contextlib import suppress
from dataclasses import replace
from itertools import islice
from pathlib import Path

import pandas as pd

from mapper.errors import InputError
from mapper.load.even_rows import even_rows, is_unclosed
from mapper.load.grid import sheet_from_grid
from mapper.load.guards import refuse_unfit
from mapper.load.headings import count_known
from mapper.load.records import Sheet
from mapper.load.text_file import read_utf8

DELIMITERS = (",", ";", "\t", "|")
ROWS_TRIED = 20
LETTERS_TRIED = 100_000


def read_csv(file: Path) -> list[Sheet]:
    """The one table of a text file.

    Raises
    ------
    InputError
        When the text cannot be decoded, or a row has more cells than there are headings.
    """
    refuse_unfit(file)
    text, remarks = read_utf8(file)
    # The first line that some spreadsheet programs write for one another.
    if text[:4].lower() == b"sep=":
        text = text.partition(b"\n")[2]
    if not text[:LETTERS_TRIED].strip() and not text.strip():
        raise InputError(f"{file}: the file is empty. It needs a row of headings and records.")
    sheet = sheet_from_grid(file, "", _grid(file, text))
    _refuse_overlong_rows(sheet)
    return [replace(sheet, remarks=(*sheet.remarks, *remarks))]


def _grid(file: Path, text: bytes) -> pd.DataFrame:
    """All cells as text."""
    begin = text[:LETTERS_TRIED].decode(errors="ignore")
    first = {sign: _rows(begin, sign) for sign in DELIMITERS}
    delimiter = max(DELIMITERS, key=lambda sign: _fitness(first[sign]))
    _refuse_other_delimiter(file, first[delimiter])
    grid = even_rows(text, delimiter, _width(first[delimiter]))
    if grid is None:
        evened, width = _evened(file, text, delimiter)
        grid = even_rows(evened, ",", width)
    if grid is None:
        raise InputError(f"{file}: cannot be read as a table. Save it again as CSV UTF-8.")
    return grid


def _evened(file: Path, written: bytes, delimiter: str) -> tuple[bytes, int]:
    """The same table with as many cells in every row, and how many."""
    text = written.decode()
    width = number = 0
    row: list[str] = []
    try:
        for row in csv.reader(_lines(text), delimiter=delimiter):
            width, number = max(width, len(row)), number + 1
    except csv.Error as error:  # a cell of more than 100,000 letters
        raise InputError(_unclosed(file, number + 1)) from error
    if row and is_unclosed(written, row[-1]):
        raise InputError(_unclosed(file, number))
    whole = _lines("")
    rows = csv.reader(_lines(text), delimiter=delimiter)
    csv.writer(whole).writerows(row + [""] * (width - len(row)) for row in rows)
    return whole.getvalue().encode(), width


def _refuse_other_delimiter(file: Path, rows: list[list[str]]) -> None:
    """One column whose heading is several: spaces or some odd sign between the cells."""
    heading = next((row for row in rows if any(row)), [])
    words = re.split(r"[\s^~:]+", heading[0].strip()) if len(heading) == 1 else []
    if len(words) > 1 and count_known(words) == len(words):
        raise InputError(
            f"{file}: the headings stand in one column ('{heading[0].strip()}'). "
            "Save the table again with commas, semicolons or tabs between its cells."
        )


def _rows(text: str, delimiter: str) -> list[list[str]]:
    """The first rows."""
    rows: list[list[str]] = []
    # A cell of more than 100,000 letters is a quotation mark that is never closed.
    with suppress(csv.Error):
        rows.extend(islice(csv.reader(_lines(text), delimiter=delimiter), ROWS_TRIED))
    return rows


def _lines(text: str) -> io.StringIO:
    return io.StringIO(text, newline="")


def _fitness(rows: list[list[str]]) -> tuple[int, int]:
    """The right delimiter gives the most known headings, then the most cells."""
    return max(map(count_known, rows), default=0), _width(rows)


def _width(rows: list[list[str]]) -> int:
    return max(1, max(map(len, rows), default=1))


def _unclosed(file: Path, row: int) -> str:
    return (
        f"{file}, row {row}: a quotation mark is opened and never closed. "
        "Close it, or take it away."
    )


def _refuse_overlong_rows(sheet: Sheet) -> None:
    """A cell beyond the last heading is a delimiter too many, and shifts what stands before it."""
    named = [number for number, text in enumerate(sheet.headings, start=1) if text.strip()]
    for position in range(named[-1], len(sheet.headings)):
        beyond = (sheet.cells[position].str.strip() != "").to_numpy()
        if beyond.any():
            row = beyond.argmax()
            raise InputError(
                f"{sheet.file}, row {sheet.rows[row]}: more cells than the {named[-1]} headings. "
                f"The first one too many is '{sheet.cells[position][row]}'. "
                "Put a cell that holds a delimiter in quotation marks, or name the extra column."
            )
