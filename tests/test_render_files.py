"""The open data and the swap: numbers read back, nothing foreign is destroyed, no half a site."""

import csv
import io
import json
from collections.abc import Callable
from pathlib import Path

import pandas as pd
import pytest

from mapper.errors import InputError
from mapper.render import build_site
from mapper.render.downloads import TABLES
from mapper.render.map_files import geojson_text
from mapper.render.swap import MARKER, replaced_site
from mapper.render.tables_text import csv_text
from mapper.summarise import Results

TABLE = "tree,lat,lon,girth_cm\n1,45.3,-71.4,80\n2,45.3001,-71.4001,95\n"


def read_back(text: str) -> list[dict[str, str]]:
    return list(csv.DictReader(io.StringIO(text, newline="")))


def test_floats_read_back_equal() -> None:
    numbers = [0.1 + 0.2, 1 / 3, 2.5e-17, 123456789.123456789, -5.0]
    text = csv_text(pd.DataFrame({"value": numbers}))
    assert [float(row["value"]) for row in read_back(text)] == numbers
    assert "\r" not in text


@pytest.mark.parametrize("cell", ["=1+1", "+31", "-2", "@SUM(A1)", "\tx"])
def test_text_cannot_start_a_formula(cell: str) -> None:
    text = csv_text(pd.DataFrame({"name": [cell, "oak"], "change": [-2.5, 1.0]}))
    table = read_back(text)
    assert [row["name"] for row in table] == ["'" + cell, "oak"]
    assert [row["change"] for row in table] == ["-2.5", "1.0"]


def test_a_line_break_in_a_text_does_not_break_the_row() -> None:
    text = csv_text(pd.DataFrame({"name": ["a\rb", "c\r\nd"], "n": [1, 2]}))
    assert [row["name"] for row in read_back(text)] == ["a\nb", "c\nd"]


def test_an_endless_class_is_written_as_the_w3c_writes_it() -> None:
    text = csv_text(pd.DataFrame({"lower": [0.0, 60.0], "upper": [60.0, float("inf")]}))
    assert text == "lower,upper\n0.0,60.0\n60.0,INF\n"
    assert [float(row["upper"]) for row in read_back(text)] == [60.0, float("inf")]


def test_missing_cells_are_empty() -> None:
    table = pd.DataFrame({"height_m": [1.5, float("nan")], "species": ["a", None]})
    assert csv_text(table) == "height_m,species\n1.5,a\n,\n"


def test_geojson_puts_longitude_first_and_keeps_trees_without_a_place() -> None:
    trees = pd.DataFrame(
        {"tree": ["1", "2"], "lat": [45.3, float("nan")], "lon": [-71.4, float("nan")]}
    )
    features = json.loads(geojson_text(trees))["features"]
    assert features[0]["geometry"] == {"type": "Point", "coordinates": [-71.4, 45.3]}
    assert features[1]["geometry"] is None
    assert [feature["properties"] for feature in features] == [{"tree": "1"}, {"tree": "2"}]


def test_the_site_holds_every_table_without_drawing_columns(
    results_of: Callable[..., Results], tmp_path: Path
) -> None:
    results = results_of({"records/trees.csv": TABLE})
    build_site(results, tmp_path / "site")
    trees = read_back((tmp_path / "site" / "data" / "trees.csv").read_text("utf-8"))
    assert "symbol" in results.trees
    assert list(trees[0]) == [name for name in results.trees if name != "symbol"]
    assert [float(row["girth_cm"]) for row in trees] == results.trees["girth_cm"].tolist()
    page = (tmp_path / "site" / "data.html").read_text("utf-8")
    files = {path.name for path in (tmp_path / "site" / "data").iterdir()}
    published = {name for name in files if not name.endswith(".js")}
    assert {f"{name}.csv" for name in TABLES} == {
        name for name in published if name.endswith(".csv")
    }
    assert {"README.txt", "survey.gpkg", "trees.geojson", "trees.parquet"} <= published
    assert all(f'href="data/{name}"' in page for name in published)


def test_a_foreign_folder_is_refused(results_of: Callable[..., Results], tmp_path: Path) -> None:
    out = tmp_path / "homework"
    out.mkdir()
    (out / "essay.txt").write_text("mine")
    with pytest.raises(InputError, match=r"homework: holds 'essay.txt'.*empty folder"):
        build_site(results_of({"records/trees.csv": TABLE}), out)
    assert [path.name for path in out.iterdir()] == ["essay.txt"]


def test_a_file_in_the_way_is_refused(tmp_path: Path) -> None:
    out = tmp_path / "site"
    out.write_text("a file")
    with pytest.raises(InputError, match="this is a file"), replaced_site(out):
        pytest.fail("nothing may be written")
    assert out.read_text() == "a file"


def test_a_file_added_to_the_site_is_not_destroyed(tmp_path: Path) -> None:
    out = tmp_path / "site"
    with replaced_site(out) as folder:
        (folder / "index.html").write_text("old")
    (out / "notes.txt").write_text("mine")
    with pytest.raises(InputError, match=r"notes\.txt"), replaced_site(out):
        pytest.fail("nothing may be written")
    assert (out / "notes.txt").read_text() == "mine"


def test_an_older_site_is_replaced_whole(tmp_path: Path) -> None:
    out = tmp_path / "site"
    for name in ("old.html", "new.html"):
        with replaced_site(out) as folder:
            (folder / name).write_text(name)
    assert {path.name for path in out.iterdir()} == {"new.html", MARKER}
    assert [path.name for path in tmp_path.iterdir()] == ["site"]


def test_a_failure_leaves_the_old_site_alone(
    results_of: Callable[..., Results], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    results = results_of({"records/trees.csv": TABLE})
    out = tmp_path / "site"
    build_site(results, out)
    before = {path: path.read_bytes() for path in out.rglob("*.*")}

    def fail(*_: object) -> None:
        raise OSError("disk full")

    monkeypatch.setattr("mapper.render.copy_assets", fail)
    with pytest.raises(OSError, match="disk full"):
        build_site(results, out)
    assert {path: path.read_bytes() for path in out.rglob("*.*")} == before
    assert {path.name for path in tmp_path.iterdir()} == {"site", "survey"}


def test_a_missing_bundle_names_the_command(
    results_of: Callable[..., Results], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("mapper.render.site_files.shipped", lambda name: tmp_path / name)
    with pytest.raises(InputError, match=r"not built yet.*build_hook\.py"):
        build_site(results_of({"records/trees.csv": TABLE}), tmp_path / "site")
    assert not (tmp_path / "site").exists()
