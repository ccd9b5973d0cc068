"""OpenDocument sheets written by hand, as ISO/IEC 26300 describes them."""

import zipfile
from collections.abc import Sequence
from pathlib import Path
from xml.sax.saxutils import escape, quoteattr

KIND = "application/vnd.oasis.opendocument.spreadsheet"
SPACES = " ".join(
    f'xmlns:{name}="urn:oasis:names:tc:opendocument:xmlns:{name}:1.0"'
    for name in ("office", "table", "text", "manifest")
)
DECLARED = '<?xml version="1.0" encoding="UTF-8"?>'
HEAD = f"<office:document-content {SPACES}><office:body><office:spreadsheet>"
TAIL = "</office:spreadsheet></office:body></office:document-content>"
MANIFEST = (
    f"{DECLARED}<manifest:manifest {SPACES}>"
    f'<manifest:file-entry manifest:full-path="/" manifest:media-type="{KIND}"/>{{}}'
    "</manifest:manifest>"
)


def text_cell(text: str) -> str:
    shown = f"<text:p>{escape(text)}</text:p>"
    return f'<table:table-cell office:value-type="string">{shown}</table:table-cell>'


def cell(value: object) -> str:
    """A cell of a text, a number, a date or nothing; text that begins with < is XML already."""
    text = str(value)
    if text.startswith("<"):
        return text
    if value is None:
        return "<table:table-cell/>"
    if isinstance(value, (int, float)):
        return f'<table:table-cell office:value-type="float" office:value="{value}"/>'
    if hasattr(value, "isoformat"):
        return f'<table:table-cell office:value-type="date" office:date-value="{text}"/>'
    return text_cell(text)


def row(cells: Sequence[object]) -> str:
    return f"<table:table-row>{''.join(map(cell, cells))}</table:table-row>"


def ods(path: Path, before: str = DECLARED, manifest: str = "", **sheets: Sequence[object]) -> Path:
    """Write a workbook; a row that is a text is XML already."""
    tables = [
        f"<table:table table:name={quoteattr(name)}>"
        + "".join(one if isinstance(one, str) else row(one) for one in rows)  # type: ignore[arg-type]
        + "</table:table>"
        for name, rows in sheets.items()
    ]
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("mimetype", KIND)
        archive.writestr("META-INF/manifest.xml", MANIFEST.format(manifest))
        archive.writestr("content.xml", before + HEAD + "".join(tables) + TAIL)
    return path
