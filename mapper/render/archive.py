"""The Darwin Core archive: tables, a description of them, and of the survey, in one file."""

import zipfile
from pathlib import Path
from xml.etree import ElementTree

import pandas as pd

from mapper.render.darwin_core import DARWIN_CORE, measurements, occurrences, terms
from mapper.render.eml import eml_text
from mapper.render.tables_text import csv_text
from mapper.render.xml_text import xml_text
from mapper.summarise import Results

TEXT_GUIDE = "http://rs.tdwg.org/dwc/text/"
# A zip notes when its members were written; the same survey must give the same bytes.
NO_TIME = (1980, 1, 1, 0, 0, 0)
FORMAT = {
    "encoding": "UTF-8",
    "fieldsTerminatedBy": ",",
    "linesTerminatedBy": "\\n",
    "fieldsEnclosedBy": '"',
    "ignoreHeaderLines": "1",
}


def write_archive(results: Results, path: Path) -> int:
    """Write the archive and say how many occurrences it holds."""
    core, measured = occurrences(results), measurements(results)
    members = {
        "meta.xml": _meta_text(core, measured),
        "eml.xml": eml_text(results, len(core)),
        "occurrence.csv": csv_text(core),
        "measurementorfact.csv": csv_text(measured),
    }
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, text in members.items():
            member = zipfile.ZipInfo(name, NO_TIME)
            member.create_system = 3  # the same on every machine
            member.compress_type = zipfile.ZIP_DEFLATED
            archive.writestr(member, text.encode("utf-8"))
    return len(core)


def _meta_text(core: pd.DataFrame, measured: pd.DataFrame) -> str:
    """Which file holds what, and what each of its columns is called."""
    root = ElementTree.Element("archive", {"xmlns": TEXT_GUIDE, "metadata": "eml.xml"})
    _described(root, ("core", "Occurrence", "id"), "occurrence.csv", core)
    names = ("extension", "MeasurementOrFact", "coreid")
    _described(root, names, "measurementorfact.csv", measured)
    return xml_text(root)


def _described(
    root: ElementTree.Element, names: tuple[str, str, str], file: str, table: pd.DataFrame
) -> None:
    part, kind, identifier = names
    element = ElementTree.SubElement(root, part, {"rowType": DARWIN_CORE + kind, **FORMAT})
    files = ElementTree.SubElement(element, "files")
    ElementTree.SubElement(files, "location").text = file
    ElementTree.SubElement(element, identifier, {"index": "0"})
    for index, term in terms(table):
        if part == "extension" and index == 0:
            continue  # it names the occurrence it belongs to
        ElementTree.SubElement(element, "field", {"index": str(index), "term": term})
