"""The open data: every table as CSV, the trees as GeoJSON."""

import json
from dataclasses import dataclass
from pathlib import Path

import pandas as pd

from mapper.reference import rows
from mapper.render.rows import Row, rows_of
from mapper.render.site_files import write_text
from mapper.summarise import Results

# A spreadsheet runs a cell that begins so. Only text is touched: a negative number is a number.
FORMULA_STARTS = ("=", "+", "-", "@", "\t")
DRAWING_COLUMNS = ["symbol"]
TABLES = {
    "trees": "A row a tree: the newest valid value of each measurement.",
    "visits": "A row a tree and visit.",
    "observations": "A row a record, as it was read.",
    "stands": "A row a stand and year: its figures with their uncertainty.",
    "classes": "How many trees lie in each class of diameter, height and size.",
    "species": "The kinds of trees, in all and by stand.",
    "comparison": "Each pair of stands, figure by figure.",
    "increments": "What the basal area of a stand gains in a year, by trees measured twice.",
    "agreement": "How well readings of one tree on one day agree.",
    "findings": "What looked wrong when the records were read.",
    "reasons": "Why a cell is empty.",
}


@dataclass(frozen=True)
class Column:
    """One column of a download."""

    name: str
    unit: str
    meaning: str


@dataclass(frozen=True)
class Download:
    """One file that a reader may take."""

    file: str
    about: str
    rows: int
    columns: tuple[Column, ...]


def write_downloads(results: Results, folder: Path) -> tuple[Download, ...]:
    """Write all data files and say what is in them."""
    done = []
    for name, about in TABLES.items():
        table = published(results.stands_by_year if name == "stands" else getattr(results, name))
        write_text(folder / f"{name}.csv", csv_text(table))
        done.append(Download(f"{name}.csv", about, len(table), _columns(name, table)))
    write_text(folder / "trees.geojson", geojson_text(published(results.trees)))
    about = "The same trees for a map program (WGS 84)."
    return (*done, Download("trees.geojson", about, len(results.trees), ()))


def published(table: pd.DataFrame) -> pd.DataFrame:
    """The table without what only the drawing needs."""
    return table.drop(columns=DRAWING_COLUMNS, errors="ignore")


def csv_text(table: pd.DataFrame) -> str:
    """Numbers read back to the same float; text cannot start a formula."""
    safe = table.assign(**{name: _harmless(table[name]) for name in _text_columns(table)})
    text: str = safe.to_csv(index=False, lineterminator="\n", date_format="%Y-%m-%d")
    return text


def _text_columns(table: pd.DataFrame) -> list[str]:
    types = pd.api.types
    return [
        name
        for name in table.columns
        if not types.is_numeric_dtype(table[name])
        and not types.is_datetime64_any_dtype(table[name])
    ]


def _harmless(cells: pd.Series) -> pd.Series:
    return cells.map(lambda cell: _harmless_text(cell) if isinstance(cell, str) else cell)


def _harmless_text(cell: str) -> str:
    # A lone carriage return would end the row.
    cell = cell.replace("\r\n", "\n").replace("\r", "\n")
    return f"'{cell}" if cell.startswith(FORMULA_STARTS) else cell


def geojson_text(trees: pd.DataFrame) -> str:
    """RFC 7946: longitude first, WGS 84, a tree without a place has no geometry."""
    dates = trees.select_dtypes("datetime").columns
    dated = trees.assign(**{name: trees[name].dt.strftime("%Y-%m-%d") for name in dates})
    records = rows_of(dated.astype(object).where(dated.notna(), None))
    collection = {"type": "FeatureCollection", "features": [_feature(record) for record in records]}
    # A line a tree keeps the file readable and its changes visible.
    body = json.dumps(collection, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    return body.replace('{"type":"Feature",', '\n{"type":"Feature",') + "\n"


def _feature(record: Row) -> dict[str, object]:
    lat, lon = record.get("lat"), record.get("lon")
    placed = lat is not None and lon is not None
    return {
        "type": "Feature",
        "geometry": {"type": "Point", "coordinates": [lon, lat]} if placed else None,
        "properties": {key: value for key, value in record.items() if key not in ("lat", "lon")},
    }


def _columns(table_name: str, table: pd.DataFrame) -> tuple[Column, ...]:
    known = {(row["table"], row["column"]): row for row in rows("published")}
    found = []
    for name in table.columns:
        row = known.get((table_name, name)) or known.get(("trees", name), {})
        found.append(Column(str(name), row.get("unit", ""), row.get("meaning", "")))
    return tuple(found)
