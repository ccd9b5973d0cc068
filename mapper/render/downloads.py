"""The open data: every table as CSV with its metadata, the trees for map programs, a read-me."""

from dataclasses import dataclass
from pathlib import Path

import pandas as pd

from mapper.language import later, say
from mapper.reference.licences import licence_of
from mapper.render.archive import write_archive
from mapper.render.columns import Column, columns_of_table
from mapper.render.csvw import metadata_text
from mapper.render.map_files import (
    geojson_text,
    with_outlines,
    with_points,
    write_geopackage,
    write_parquet,
)
from mapper.render.read_me import read_me_text
from mapper.render.site_files import write_text
from mapper.render.tables_text import write_csv
from mapper.summarise import Results

DRAWING_COLUMNS = ["symbol"]
TABLES = {
    "trees": later("A row a tree: the newest valid value of each measurement."),
    "visits": later("A row a tree and visit."),
    "observations": later("A row a record, as it was read."),
    "stands": later("A row a stand and year: its figures with their uncertainty."),
    "classes": later("How many trees lie in each class of diameter, height and size."),
    "classes_by_year": later("The same for each year of a stand with several years."),
    "species": later("The kinds of trees, in all and by stand."),
    "species_classes": later("How many trees of each kind lie in each class of diameter."),
    "height_curves": later("Height by thickness, a curve a stand; no height is filled in by it."),
    "spread": later("How the trees of a stand are spread, distance by distance (Ripley's L)."),
    "comparison": later("Pairs of stands (of the 100 with the most trees), of years, of kinds."),
    "totals": later("The ground, trees and basal area of all stands together."),
    "increments": later("What the basal area of a stand gains in a year, by trees measured twice."),
    "agreement": later("How well readings of one tree on one day agree."),
    "findings": later("What looked wrong when the records were read."),
    "repairs": later("What was changed in the records after they were handed in, and why."),
    "reasons": later("Why a cell is empty."),
}
MAP_FILES = {
    "trees.geojson": later("The trees for a map on a web page (GeoJSON)."),
    "survey.gpkg": later(
        "Trees, visits and stands with their outlines for a map program (GeoPackage)."
    ),
    "trees.parquet": later("The trees for large computations (GeoParquet)."),
}
ARCHIVE = later("The trees for biodiversity databases: occurrences and measurements (Darwin Core).")


@dataclass(frozen=True)
class Download:
    """One file that a reader may take."""

    file: str
    about: str
    rows: int
    columns: tuple[Column, ...]
    metadata: str = ""  # the file that describes it


def write_downloads(results: Results, folder: Path) -> tuple[Download, ...]:
    """Write all data files and say what is in them."""
    done = tuple(_write_table(name, results, folder) for name in TABLES)
    _write_map_files(results, folder)
    trees = len(results.trees)
    done += tuple(Download(file, say(about), trees, ()) for file, about in MAP_FILES.items())
    occurrences = write_archive(results, folder / "darwin-core.zip")
    done += (Download("darwin-core.zip", say(ARCHIVE), occurrences, ()),)
    files = {download.file: download.about for download in done}
    write_text(folder / "README.txt", read_me_text(results, files))
    return done


def table_called(name: str, results: Results) -> pd.DataFrame:
    """A published table, without what only the drawing needs."""
    table = results.stands_by_year if name == "stands" else getattr(results, name)
    return published(table)


def published(table: pd.DataFrame) -> pd.DataFrame:
    """The table without what only the drawing needs."""
    return table.drop(columns=DRAWING_COLUMNS, errors="ignore")


def _write_table(name: str, results: Results, folder: Path) -> Download:
    table, about = table_called(name, results), say(TABLES[name])
    columns = columns_of_table(name, table)
    metadata = f"{name}.csv-metadata.json"
    folder.mkdir(parents=True, exist_ok=True)
    with (folder / f"{name}.csv").open("wb") as file:
        write_csv(table, file)
    write_text(folder / metadata, metadata_text(name, about, columns, table, results.survey))
    return Download(f"{name}.csv", about, len(table), columns, metadata)


def _write_map_files(results: Results, folder: Path) -> None:
    trees = table_called("trees", results)
    licence = licence_of(results.survey.publish.licence)
    title = results.survey.title
    members = {"title": title, "license": licence.iri}
    write_text(folder / "trees.geojson", geojson_text(trees, members))
    layers = {
        "trees": with_points(trees),
        "visits": table_called("visits", results),
        "stands": with_outlines(table_called("stands", results), results.boundaries),
    }
    write_geopackage(layers, folder / "survey.gpkg", f"{title}. Licence: {licence.iri}")
    write_parquet(trees, folder / "trees.parquet")
