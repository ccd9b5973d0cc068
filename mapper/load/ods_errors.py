"""What the quick reader of OpenDocument sheets passes over: formulas that failed or never ran."""

import re
import zipfile
from pathlib import Path
from xml.etree.ElementTree import Element, iterparse

from mapper.errors import InputError
from mapper.load.xlsx_errors import unworked

TABLE = "{urn:oasis:names:tc:opendocument:xmlns:table:1.0}"
OFFICE = "{urn:oasis:names:tc:opendocument:xmlns:office:1.0}"
CELLS = (f"{TABLE}table-cell", f"{TABLE}covered-table-cell")
Failed = dict[tuple[int, int], str]  # by row and column, both from 0, what the cell shows

# What a failed formula shows, in any language: #DIV/0!, #BEZUG!, Err:502.
FAILED = re.compile(r"#.*|Err:\d+")


def ods_errors(file: Path, archive: zipfile.ZipFile) -> dict[str, Failed]:
    """By sheet, the cells whose formula failed and what they show, as row and column from 0.

    Its XML was found to be sound.

    Raises
    ------
    InputError
        When the file is locked, or a formula has no stored result.
    """
    if b"encryption-data" in _part(archive, "META-INF/manifest.xml"):
        raise InputError(f"{file}: has a password. Save it again without one.")
    if b"table:formula" not in _part(archive, "content.xml"):
        return {}
    return _failed(file, archive)


def _part(archive: zipfile.ZipFile, name: str) -> bytes:
    return archive.read(name) if name in archive.namelist() else b""


def _failed(file: Path, archive: zipfile.ZipFile) -> dict[str, Failed]:
    found: dict[str, Failed] = {}
    sheet, row = "", 0
    with archive.open("content.xml") as content:
        for event, element in iterparse(content, events=("start", "end")):
            if event == "start" and element.tag == f"{TABLE}table":
                sheet, row = element.get(f"{TABLE}name", ""), 0
            elif event == "end" and element.tag == f"{TABLE}table-row":
                _look(file, sheet, row, element, found.setdefault(sheet, {}))
                row += _count(element, "rows")
                element.clear()
    return found


def _look(
    file: Path, sheet: str, row: int, cells: Element, found: dict[tuple[int, int], str]
) -> None:
    """Note the failed cells of one row."""
    column = 0
    for cell in cells.iter():
        if cell.tag not in CELLS:
            continue
        if cell.get(f"{TABLE}formula"):
            text = "".join(cell.itertext()).strip()
            if not cell.get(f"{OFFICE}value-type"):
                raise InputError(unworked(file, sheet, row, column))
            if FAILED.fullmatch(text):
                found[row, column] = text
        column += _count(cell, "columns")


def _count(element: Element, what: str) -> int:
    return int(element.get(f"{TABLE}number-{what}-repeated", 1))
