"""Files that are not what they say, or would fill the machine: refused before any reader runs."""

import lzma
import zipfile
import zlib
from pathlib import Path
from typing import IO
from xml.parsers import expat

from mapper.errors import InputError

MOST_BYTES = 1_000_000_000  # in the file, and of a packed file once unpacked
MOST_PARTS = 10_000
MOST_DEPTH = 100
MOST_LETTERS = 200
MOST_CELLS = 100_000_000
BROKEN = (zipfile.BadZipFile, zlib.error, lzma.LZMAError, EOFError, NotImplementedError)
ENCRYPTED = 0x1  # of a zip entry's flags (APPNOTE.TXT 4.4.4)

# How files of each kind begin, and what to call them. Source: the formats' own specifications.
KINDS = {
    b"PK\x03\x04": "zip",
    b"PK\x05\x06": "zip",
    b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1": "ole",
    b"SQLite format 3\0": "sqlite",
    b"PAR1": "parquet",
    b"\0\0\x27\x0a": "shape",
    b"%PDF": "pdf",
    b"\xff\xd8\xff": "picture",
    b"\x89PNG": "picture",
    b"GIF8": "picture",
    b"\x1f\x8b": "gzip",
}
NAMES = {
    "zip": "a packed file, such as a workbook or a zip",
    "ole": "an old workbook, or one with a password",
    "sqlite": "a database, such as a GeoPackage",
    "parquet": "a Parquet table",
    "shape": "a shapefile",
    "pdf": "a PDF document",
    "picture": "a picture",
    "gzip": "a gzip archive",
    "page": "a web page",
    "text": "a text",
    "empty": "empty",
}
EXPECTED = {
    ".xlsx": ("zip", "a workbook"),
    ".ods": ("zip", "a workbook"),
    ".zip": ("zip", "a zip archive"),
    ".kmz": ("zip", "a KMZ file"),
    ".gpkg": ("sqlite", "a GeoPackage"),
    ".shp": ("shape", "a shapefile"),
    ".parquet": ("parquet", "a Parquet table"),
    ".geoparquet": ("parquet", "a Parquet table"),
    ".kml": ("text", "a KML file"),
    ".gpx": ("text", "a GPX file"),
    ".csv": ("text", "a table"),
    ".tsv": ("text", "a table"),
    ".txt": ("text", "a table"),
    ".json": ("text", "GeoJSON"),
    ".geojson": ("text", "GeoJSON"),
}
# In the directory of an encrypted workbook ([MS-OFFCRYPTO] 2.3.4.4).
LOCKED = "EncryptedPackage".encode("utf-16-le")


def refuse_unfit(file: Path) -> None:
    """Refuse a file that is too large, or is not of the kind that its ending says.

    Raises
    ------
    InputError
        With what the file is and what to do.
    """
    size = file.stat().st_size
    if size > MOST_BYTES:
        raise InputError(
            f"{file}: is larger than {MOST_BYTES // 10**9} GB. Hand it in as several files."
        )
    wanted, name = EXPECTED[file.suffix.lower()]
    kind = _kind(file)
    if kind == wanted or (kind == "empty" and wanted == "text"):
        return
    raise InputError(f"{file}: cannot be read as {name}, because it is {NAMES[kind]}. {_way(file)}")


def open_zip(file: Path) -> zipfile.ZipFile:
    """A zip archive whose every part unpacks, and to a bearable size.

    Raises
    ------
    InputError
        When it is damaged, has a password, or unpacks to more than memory bears.
    """
    archive = None
    try:
        archive = zipfile.ZipFile(file)
        _refuse_bomb(file, archive)
        # A part may lie about its size: only unpacking it shows that.
        broken = archive.testzip()
    except (*BROKEN, OSError, ValueError) as error:
        _close(archive)
        raise InputError(
            f"{file}: is damaged ({in_short(error)}). Save or copy it again."
        ) from error
    except Exception:
        _close(archive)
        raise
    if broken:
        archive.close()
        raise InputError(f"{file}: is damaged (part {broken}). Save or copy it again.")
    return archive


def refuse_xml_bomb(file: Path, root: str) -> None:
    """Refuse XML that is broken, declares entities of its own, or is of another kind.

    Raises
    ------
    InputError
        With the line where it breaks.
    """
    try:
        with file.open("rb") as opened:
            found = first_element(opened)
    except ValueError as error:
        raise InputError(f"{file}: is damaged ({in_short(error)}). Export it again.") from error
    if found != root:
        raise InputError(f"{file}: holds <{found}> and not <{root}>. {_way(file)}")


def check_xml(opened: IO[bytes], seen: "_Elements | None" = None) -> None:
    """Read XML once to its end: readers of workbooks may run for ever on XML that is not sound.

    Raises
    ------
    ValueError
        Where it breaks, or begins with definitions of its own.
    """
    parser = expat.ParserCreate()
    parser.StartDoctypeDeclHandler = _refuse_definitions
    if seen:
        parser.StartElementHandler, parser.EndElementHandler = seen.begin, seen.end
    try:
        parser.ParseFile(opened)
    except (expat.ExpatError, LookupError) as error:
        raise ValueError(in_short(error)) from error


def first_element(opened: IO[bytes]) -> str:
    """The name of the first element of sound XML that does not lie too deep in itself.

    Raises
    ------
    ValueError
        As check_xml, and where it lies too deep.
    """
    seen = _Elements()
    check_xml(opened, seen)
    return seen.root


def _refuse_definitions(*_: object) -> None:
    raise ValueError("it begins with definitions of its own (a DOCTYPE), which are not read")


class _Elements:
    """The first element, and a limit on how deep they lie in one another."""

    def __init__(self) -> None:
        self.root = ""
        self.depth = 0

    def begin(self, name: str, _: object) -> None:
        self.root = self.root or name.rpartition(":")[2]
        self.depth += 1
        if self.depth > MOST_DEPTH:
            raise ValueError(f"elements lie more than {MOST_DEPTH} deep in one another")

    def end(self, _: str) -> None:
        self.depth -= 1


def in_short(error: BaseException) -> str:
    """What a library says of a damaged file, on one line."""
    return " ".join(str(error).split())[:MOST_LETTERS]


def _kind(file: Path) -> str:
    with file.open("rb") as opened:
        begin = opened.read(1024)
    if not begin:
        return "empty"
    kind = next((kind for magic, kind in KINDS.items() if begin.startswith(magic)), "text")
    page = begin.lstrip(b"\xef\xbb\xbf \t\r\n").lower().startswith((b"<!doctype html", b"<html"))
    return "page" if kind == "text" and page else kind


def _way(file: Path) -> str:
    """What to do about a file of another kind."""
    ending = file.suffix.lower()
    if ending == ".xlsx" and _kind(file) == "ole" and LOCKED in file.read_bytes():
        return "It has a password: open it in a spreadsheet program and save it again without one."
    if ending in (".xlsx", ".ods"):
        return (
            f"Open it in a spreadsheet program and save it again as {ending}, without a password."
        )
    return "Give it the ending of what it is, or export it again."


def _refuse_bomb(file: Path, archive: zipfile.ZipFile) -> None:
    parts = archive.infolist()
    if any(part.flag_bits & ENCRYPTED for part in parts):
        raise InputError(f"{file}: has a password. Save it again without one.")
    if len(parts) > MOST_PARTS or sum(part.file_size for part in parts) > MOST_BYTES:
        raise InputError(
            f"{file}: unpacks to more than {MOST_BYTES // 10**9} GB or {MOST_PARTS} parts. "
            "Hand it in as several files."
        )


def _close(archive: zipfile.ZipFile | None) -> None:
    if archive is not None:
        archive.close()
