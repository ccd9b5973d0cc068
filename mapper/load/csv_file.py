"""Text tables: any delimiter, UTF-8, UTF-16 or cp1252, cells as they stand."""

import codecs
import csv
import io
import re
from itertools import islice
from pathlib import Path

import pandas as pd

from mapper.errors import InputError
from mapper.load.grid import sheet_from_grid
from mapper.load.headings import count_known
from mapper.load.records import Sheet

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
    text = decoded(file)
    # The first line that some spreadsheet programs write for one another.
    if text[:4].lower() == "sep=":
        text = text.partition("\n")[2]
    if not text.strip():
        raise InputError(f"{file}: the file is empty. It needs a row of headings and records.")
    sheet = sheet_from_grid(file, "", _grid(file, text))
    _refuse_overlong_rows(sheet)
    return [sheet]


def decoded(file: Path) -> str:
    """The text of a file, whichever of the usual encodings it has."""
    raw = file.read_bytes()
    marked = raw.startswith((codecs.BOM_UTF16_LE, codecs.BOM_UTF16_BE))
    for encoding in ("utf-16",) if marked else ("utf-8-sig", "cp1252"):
        try:
            text = raw.decode(encoding)
        except UnicodeDecodeError:
            continue
        if "\0" not in text:
            return text
    raise InputError(
        f"{file}: cannot be read as text in UTF-8, UTF-16 or cp1252. Save it again as CSV UTF-8."
    )


def _grid(file: Path, text: str) -> pd.DataFrame:
    """All cells as text. The fast reader needs to know the width of the widest row."""
    first = {sign: _rows(text[:LETTERS_TRIED], sign, ROWS_TRIED) for sign in DELIMITERS}
    delimiter = max(DELIMITERS, key=lambda sign: _fitness(first[sign]))
    _refuse_other_delimiter(file, first[delimiter])
    try:
        return _parsed(text, delimiter, _width(first[delimiter]))
    except pd.errors.ParserError as error:
        # A wide row far down: every row is read the slow way once, to know the width.
        rows = _rows(text, delimiter, None)
        if "EOF inside string" in str(error):
            raise InputError(_unclosed(file, len(rows))) from error
        return _parsed(text, delimiter, _width(rows))


def _refuse_other_delimiter(file: Path, rows: list[list[str]]) -> None:
    """One column whose heading is several: spaces or some odd sign between the cells."""
    heading = next((row for row in rows if any(row)), [])
    words = re.split(r"[\s^~:]+", heading[0].strip()) if len(heading) == 1 else []
    if len(words) > 1 and count_known(words) == len(words):
        raise InputError(
            f"{file}: the headings stand in one column ('{heading[0].strip()}'). "
            "Save the table again with commas, semicolons or tabs between its cells."
        )


def _rows(text: str, delimiter: str, most: int | None) -> list[list[str]]:
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=delimiter)
    rows: list[list[str]] = []
    try:
        rows.extend(islice(reader, most))
    except csv.Error:
        # A cell of more than 100,000 letters: a quotation mark that is never closed.
        rows.append([])
    return rows


def _fitness(rows: list[list[str]]) -> tuple[int, int]:
    """The right delimiter gives the most known headings, then the most cells."""
    return max(map(count_known, rows), default=0), _width(rows)


def _width(rows: list[list[str]]) -> int:
    return max(1, max(map(len, rows), default=1))


def _parsed(text: str, delimiter: str, width: int) -> pd.DataFrame:
    return pd.read_csv(
        io.StringIO(text, newline=""),
        sep=delimiter,
        header=None,
        names=range(width),
        dtype=str,
        na_filter=False,
        skip_blank_lines=False,
    )


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
