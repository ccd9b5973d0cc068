"""Files that are not what they say, or would fill the machine: refused before any reader runs."""

import zipfile
from pathlib import Path
from xml.sax.handler import ContentHandler

from mapper.errors import InputError

MOST_BYTES = 1_000_000_000  # in the file, and of a packed file once unpacked
MOST_PARTS = 10_000
MOST_DEPTH = 100
MOST_CELLS = 100_000_000
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
    except (zipfile.BadZipFile, EOFError, OSError, ValueError, NotImplementedError) as error:
        _close(archive)
        raise InputError(f"{file}: is damaged ({error}). Save or copy it again.") from error
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
    from xml.sax import SAXException

    from defusedxml import DefusedXmlException
    from defusedxml.sax import parse

    seen = _Elements()
    try:
        parse(str(file), seen, forbid_dtd=True)
    except DefusedXmlException as error:
        raise InputError(
            f"{file}: holds definitions of its own (a DOCTYPE), which are not read. "
            "Export it again without them."
        ) from error
    except (SAXException, LookupError, ValueError) as error:
        raise InputError(f"{file}: is damaged ({error}). Export it again.") from error
    if seen.root != root:
        raise InputError(f"{file}: holds <{seen.root}> and not <{root}>. {_way(file)}")


class _Elements(ContentHandler):
    """The first element, and a limit on how deep they lie in one another."""

    def __init__(self) -> None:
        super().__init__()
        self.root = ""
        self.depth = 0

    def startElement(self, name: str, attrs: object) -> None:  # noqa: N802 (the library's name)
        self.root = self.root or name.rpartition(":")[2]
        self.depth += 1
        if self.depth > MOST_DEPTH:
            raise ValueError(f"elements lie more than {MOST_DEPTH} deep in one another")

    def endElement(self, name: str) -> None:  # noqa: N802 (the library's name)
        self.depth -= 1


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
