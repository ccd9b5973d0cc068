"""The open data as others take it: metadata beside each table, map files, licence, read-me."""

import csv
import json
import math
import re
import sqlite3
import zipfile
from collections.abc import Callable
from pathlib import Path

import geopandas as gpd
import pandas as pd
import pyarrow.parquet as pq
import pytest

from mapper.errors import InputError
from mapper.line import survey_results
from mapper.reference import rows
from mapper.render import build_site
from mapper.render.downloads import TABLES
from mapper.summarise import Results
from mapper.survey import read_survey

ROOT = Path(__file__).parents[1]
# W3C Tabular Data, section 6.4: what a cell of each datatype may hold.
CELLS = {
    "string": r"(?s).*",
    "number": r"[+-]?(\d+(\.\d*)?|\.\d+)([eE][+-]?\d+)?|INF|-INF|NaN",
    "integer": r"[+-]?\d+",
    "boolean": r"true|false|1|0",
    "date": r"\d{4}-\d\d-\d\d",
    "gYearMonth": r"\d{4}-\d\d",
    "gYear": r"\d{4}",
}
SMALL = "tree,date,lat,lon,girth_cm,Bark (own)\n1,2026-05-03,45.3,-71.4,80,rough\n2,,,,95.5,\n"


@pytest.fixture(scope="module")
def data(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The data folder of the demo."""
    site = tmp_path_factory.mktemp("demo") / "site"
    build_site(survey_results(read_survey([ROOT / "demo"])), site)
    return site / "data"


def built(results: Results, folder: Path) -> Path:
    build_site(results, folder / "site")
    return folder / "site" / "data"


def against_metadata(folder: Path, name: str) -> list[str]:
    """What a table and its metadata disagree in."""
    told = json.loads((folder / f"{name}-metadata.json").read_text("utf-8"))
    with (folder / told["url"]).open(encoding="utf-8", newline="") as file:
        heading, *body = list(csv.reader(file))
    columns = told["tableSchema"]["columns"]
    wrong = [] if len(columns) == len(heading) else ["another number of columns"]
    for index, (cell, column) in enumerate(zip(heading, columns, strict=False)):
        wrong += [] if cell in column["titles"] else [f"{cell}: another title"]
        # Letters, digits and _ may stand in the address of a column as they are (RFC 6570).
        wrong += [] if re.fullmatch(r"[A-Za-z0-9]\w*", column["name"], re.A) else [column["name"]]
        shape = re.compile(CELLS[column["datatype"]])
        wrong += [f"{cell}: {row[index]}" for row in body if row[index] and
                  not shape.fullmatch(row[index])]  # fmt: skip
    key = told["tableSchema"].get("primaryKey")
    if key:
        keys = [row[heading.index(key)] for row in body]
        wrong += [] if len(set(keys)) == len(keys) and all(keys) else [f"{key}: no key"]
    names = [column["name"] for column in columns]
    return wrong + ([] if len(set(names)) == len(names) else ["a name twice"])


def test_each_table_has_its_metadata_and_keeps_to_it(data: Path) -> None:
    tables = sorted(path.name for path in data.glob("*.csv"))
    assert tables == sorted(f"{name}.csv" for name in TABLES)
    for name in tables:
        assert against_metadata(data, name) == [], name


def test_a_table_that_breaks_its_metadata_is_seen(data: Path, tmp_path: Path) -> None:
    for name in ("trees.csv", "trees.csv-metadata.json"):
        (tmp_path / name).write_text((data / name).read_text("utf-8"), "utf-8")
    table = (tmp_path / "trees.csv").read_text("utf-8")
    (tmp_path / "trees.csv").write_text(table.replace("-71.4", "seventy"), "utf-8")
    assert against_metadata(tmp_path, "trees.csv")[0].startswith("lon: seventy")


@pytest.mark.parametrize(
    ("dates", "datatype"), [("day", "date"), ("month", "gYearMonth"), ("year", "gYear")]
)
def test_a_date_is_typed_as_it_is_cut(
    results_of: Callable[..., Results], tmp_path: Path, dates: str, datatype: str
) -> None:
    toml = f'[records]\nfiles = ["*.csv"]\n[publish]\ndates = "{dates}"\ncolumns = ["Bark (own)"]\n'
    folder = built(results_of({"survey.toml": toml, "a.csv": SMALL}), tmp_path)
    told = json.loads((folder / "observations.csv-metadata.json").read_text("utf-8"))
    by_title = {column["titles"][0]: column for column in told["tableSchema"]["columns"]}
    assert by_title["date"]["datatype"] == datatype
    assert by_title["Bark (own)"]["name"].isidentifier()
    assert against_metadata(folder, "observations.csv") == []
    assert against_metadata(folder, "trees.csv") == []


def test_every_column_has_its_meaning(data: Path) -> None:
    for path in data.glob("*-metadata.json"):
        for column in json.loads(path.read_text("utf-8"))["tableSchema"]["columns"]:
            assert column.get("dc:description"), (path.name, column)
            assert "survey's own" not in column["dc:description"], (path.name, column)


def test_map_files_read_back_to_the_same_numbers(data: Path) -> None:
    with (data / "trees.csv").open(encoding="utf-8", newline="") as file:
        table = list(csv.DictReader(file))
    packed = gpd.read_file(data / "survey.gpkg", layer="trees")
    parquet = gpd.read_parquet(data / "trees.parquet")
    for column in ("lat", "lon", "diameter_cm", "height_sd_m", "basal_area_m2"):
        wanted = [float(row[column]) if row[column] else math.nan for row in table]
        for frame in (packed, parquet):
            assert frame[column].astype(float).equals(pd.Series(wanted, name=column))
    for frame in (packed, parquet):
        assert frame["tree"].tolist() == [row["tree"] for row in table]
        placed = frame[frame["lat"].notna()]
        assert placed.geometry.x.tolist() == placed["lon"].tolist()
        assert placed.geometry.y.tolist() == placed["lat"].tolist()
        assert frame.geometry[frame["lat"].isna()].isna().all()
        assert frame.crs.to_epsg() == 4326
        assert "symbol" not in frame


def test_the_geopackage_holds_the_outlines_with_their_figures(data: Path) -> None:
    stands = gpd.read_file(data / "survey.gpkg", layer="stands").set_index("stand")
    assert stands.index[stands.geometry.notna()].tolist() == [
        "Brook Wood", "Old Grove", "Pine Rows",
    ]  # fmt: skip
    assert stands.loc["Old Grove", "stems_per_ha"] > 0
    assert len(gpd.read_file(data / "survey.gpkg", layer="visits")) == 396
    with sqlite3.connect(data / "survey.gpkg") as database:
        (number,) = database.execute("pragma application_id").fetchone()
        (about,) = database.execute("select distinct description from gpkg_contents").fetchone()
    assert number == 0x47504B47  # GeoPackage 1.2 and later, requirement 2
    assert about.endswith("https://creativecommons.org/licenses/by/4.0/")


def test_the_geoparquet_says_what_it_is(data: Path) -> None:
    geo = json.loads(pq.read_metadata(data / "trees.parquet").metadata[b"geo"])
    column = geo["columns"][geo["primary_column"]]
    assert geo["version"] == "1.1.0"
    assert (column["encoding"], column["geometry_types"]) == ("WKB", ["Point"])


def test_a_survey_without_places_has_all_files(
    results_of: Callable[..., Results], tmp_path: Path
) -> None:
    folder = built(results_of({"records/a.csv": "tree,girth_cm\n1,80\n"}), tmp_path)
    for frame in (
        gpd.read_file(folder / "survey.gpkg", layer="trees"),
        gpd.read_parquet(folder / "trees.parquet"),
    ):
        assert frame["tree"].tolist() == ["1"]
        assert frame.geometry.isna().all()


def test_two_builds_are_the_same_bytes(data: Path, tmp_path: Path) -> None:
    build_site(survey_results(read_survey([ROOT / "demo"])), tmp_path / "site")
    again = tmp_path / "site" / "data"
    names = sorted(path.name for path in data.iterdir())
    assert names == sorted(path.name for path in again.iterdir())
    for name in names:
        assert (data / name).read_bytes() == (again / name).read_bytes(), name


def test_no_file_tells_when_it_was_written(data: Path) -> None:
    """Two quick builds could agree by luck: here the clock itself is looked for."""
    with zipfile.ZipFile(data / "darwin-core.zip") as archive:
        assert {member.date_time for member in archive.infolist()} == {(1980, 1, 1, 0, 0, 0)}
    with sqlite3.connect(data / "survey.gpkg") as database:
        changed = database.execute("select distinct last_change from gpkg_contents").fetchall()
    assert changed == [("1970-01-01T00:00:00.000Z",)]


@pytest.mark.parametrize("text", ["CC-BY-4.0", "cc by 4.0", "CC BY 4.0"])
def test_a_licence_is_known_however_it_is_spelt(
    results_of: Callable[..., Results], tmp_path: Path, text: str
) -> None:
    toml = f'[records]\nfiles = ["*.csv"]\n[publish]\nlicence = "{text}"\n'
    folder = built(results_of({"survey.toml": toml, "a.csv": SMALL}), tmp_path)
    link = "https://creativecommons.org/licenses/by/4.0/"
    page = (folder.parent / "data.html").read_text("utf-8")
    assert f'<a rel="license" href="{link}">CC-BY-4.0</a>' in page
    read_me = (folder / "README.txt").read_text("utf-8")
    assert "Licence of every file here: CC-BY-4.0" in read_me
    assert link in read_me
    assert json.loads((folder / "trees.geojson").read_text("utf-8"))["license"] == link
    for path in folder.glob("*-metadata.json"):
        assert json.loads(path.read_text("utf-8"))["dc:license"] == {"@id": link}


def test_a_licence_in_free_words_is_printed_as_it_is(
    results_of: Callable[..., Results], tmp_path: Path
) -> None:
    toml = '[records]\nfiles = ["*.csv"]\n[publish]\nlicence = "Ask the school <first>"\n'
    folder = built(results_of({"survey.toml": toml, "a.csv": SMALL}), tmp_path)
    assert "Ask the school <first>" in (folder / "README.txt").read_text("utf-8")
    assert "Ask the school &lt;first&gt;" in (folder.parent / "data.html").read_text("utf-8")


@pytest.mark.parametrize(
    ("text", "reason"), [("CC BY", "CC-BY-4.0"), ("odbl", "ODbL-1.0"), (" ", "name a licence")]
)
def test_half_a_licence_is_refused(tmp_path: Path, text: str, reason: str) -> None:
    (tmp_path / "survey.toml").write_text(f'[publish]\nlicence = "{text}"\n', "utf-8")
    with pytest.raises(InputError, match=rf"line 2: publish.licence = .*{reason}"):
        read_survey([tmp_path])


def test_licences_have_their_code_in_their_name_and_link() -> None:
    """The parts of a Creative Commons code are the words of its name, and of its address."""
    words = {"BY": "Attribution", "NC": "Non Commercial", "SA": "Share Alike", "ND": "No Deriv"}
    for row in rows("licences"):
        parts = row["code"].split("-")
        if parts[0] == "CC":
            assert [words[part] in row["name"] for part in parts[1:-1]] == [True] * len(parts[1:-1])
            middle = "-".join(parts[1:-1]).lower()
            assert row["link"].endswith(f"/{middle}/{parts[-1]}/")


def test_the_read_me_names_every_file(data: Path) -> None:
    read_me = (data / "README.txt").read_text("utf-8")
    described = {f"{path.name}-metadata.json" for path in data.glob("*.csv")}
    for path in data.iterdir():
        if path.suffix != ".js" and path.name not in described | {"README.txt"}:
            assert re.search(rf"^{re.escape(path.name)} +\S", read_me, re.M), path.name
    assert "trees@larkwater.example" in read_me
    assert "A size record is not a safety assessment." in read_me
