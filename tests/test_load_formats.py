"""The same three trees in every format: the same values, whoever wrote the file."""

import datetime
import shutil
import zipfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import geopandas as gpd
import openpyxl
import pandas as pd
import pytest
from shapely import LineString, MultiPoint, Point, Polygon

from mapper.errors import InputError
from mapper.line import run_checks
from mapper.load import Records, load_records
from mapper.load.reader import PACKED, READERS
from mapper.settings import RECORD_FILES
from mapper.survey import PHOTO_ENDINGS, RECORD_ENDINGS, read_survey
from tests.ods_sheets import ods, text_cell

PLACES = [(16.1, 48.2), (16.100001, 48.2), (16.1, 48.200001)]
TREES: dict[str, list[Any]] = {
    "tree": ["1", "007", "Ü 3"],
    "species": ["Quercus robur", None, "Fagus sylvatica"],
    "girth_cm": [90.5, 120.0, None],
    "stems": [1, 2, 3],
    "date": [datetime.date(2024, 5, 3), None, datetime.date(2024, 5, 4)],
    "note": ["by the gate", "=1+1", "<b>"],
}


def layer(crs: str | None = "EPSG:4326") -> gpd.GeoDataFrame:
    shapes = gpd.GeoSeries([Point(place) for place in PLACES], crs="EPSG:4326")
    moved = shapes.to_crs(crs) if crs else shapes.set_crs(None, allow_override=True)
    return gpd.GeoDataFrame(TREES, geometry=list(moved), crs=crs)


def rows() -> list[list[Any]]:
    places = [list(place) for place in PLACES]
    cells = [list(row) for row in zip(*TREES.values(), strict=True)]
    return [[*TREES, "lon", "lat"], *[a + b for a, b in zip(cells, places, strict=True)]]


def write_csv(folder: Path) -> Path:
    pd.DataFrame(rows()[1:], columns=rows()[0]).to_csv(folder / "t.csv", index=False)
    return folder / "t.csv"


def write_xlsx(folder: Path) -> Path:
    book = openpyxl.Workbook()
    for row in rows():
        book.active.append(row)
    for cell in book.active["F"]:
        cell.data_type = "s"  # a text that begins with = and is no formula
    book.save(folder / "t.xlsx")
    return folder / "t.xlsx"


def write_ods(folder: Path) -> Path:
    return ods(folder / "t.ods", S=[[text_cell(c) if c == "<b>" else c for c in r] for r in rows()])


def write_gpkg(folder: Path, crs: str = "EPSG:4326") -> Path:
    layer(crs).to_file(folder / "t.gpkg", layer="trees")
    return folder / "t.gpkg"


def write_utm(folder: Path) -> Path:
    return write_gpkg(folder, "EPSG:32633")


def write_shp(folder: Path, crs: str | None = "EPSG:25833") -> Path:
    layer(crs).to_file(folder / "t.shp", encoding="utf-8")
    return folder / "t.shp"


def write_zip(folder: Path) -> Path:
    (folder / "in").mkdir()
    write_shp(folder / "in")
    return Path(shutil.make_archive(str(folder / "t"), "zip", folder / "in"))


def write_kml(folder: Path) -> Path:
    marks = layer().rename(columns={"tree": "Name", "note": "description"})
    marks.to_file(folder / "t.kml", driver="LIBKML")
    return folder / "t.kml"


def write_kmz(folder: Path) -> Path:
    with zipfile.ZipFile(folder / "t.kmz", "w") as archive:
        archive.write(write_kml(folder), "doc.kml")
        archive.writestr("files/oak.png", b"\x89PNG")
    return folder / "t.kmz"


def write_parquet(folder: Path) -> Path:
    layer("EPSG:3035").to_parquet(folder / "t.parquet")
    return folder / "t.parquet"


def write_geojson(folder: Path) -> Path:
    layer().to_file(folder / "t.geojson", driver="GeoJSON")
    return folder / "t.geojson"


WRITERS = [
    write_csv, write_xlsx, write_ods, write_geojson, write_gpkg, write_utm, write_shp, write_zip,
    write_kml, write_kmz, write_parquet,
]  # fmt: skip


@pytest.mark.parametrize("write", WRITERS, ids=lambda write: write.__name__)
def test_the_same_trees_in_every_format(tmp_path: Path, write: Callable[[Path], Path]) -> None:
    records = load_records([write(tmp_path)])
    values = records.values
    assert values["tree"].tolist() == TREES["tree"]
    assert values["species"].tolist() == ["Quercus robur", "", "Fagus sylvatica"]
    assert values["girth_cm"].fillna(0).tolist() == [90.5, 120, 0]
    assert values["date"].dt.strftime("%d.%m.%y").fillna("").tolist() == [
        "03.05.24",
        "",
        "04.05.24",
    ]
    assert values["note"].tolist() == TREES["note"]
    assert records.cells["stems"].tolist() == ["1", "2", "3"]
    # Half a millimetre: what a survey's own coordinate system and back costs at most.
    exact = write in (write_csv, write_xlsx, write_ods, write_geojson, write_gpkg)
    near = 0 if exact else 5e-9
    assert values["lon"].tolist() == pytest.approx([x for x, _ in PLACES], abs=near, rel=0)
    assert values["lat"].tolist() == pytest.approx([y for _, y in PLACES], abs=near, rel=0)
    first = 2 if write in (write_csv, write_xlsx, write_ods) else 1
    assert values["row"].tolist() == [first, first + 1, first + 2]
    assert set(records.problems["severity"]) <= {"note"}


def test_every_reader_has_its_endings() -> None:
    """Settings cannot ask the readers, which come after them: so the lists are held together."""
    assert set(RECORD_ENDINGS) == {*READERS, *PACKED, *PHOTO_ENDINGS}
    usual = {f".{pattern.rpartition('.')[2].lower()}" for pattern in RECORD_FILES}
    assert usual == set(RECORD_ENDINGS) - {".txt", ".json", ".png", ".heif"}


def test_a_survey_folder_takes_what_is_dropped_into_it(tmp_path: Path) -> None:
    folder = tmp_path / "records"
    folder.mkdir()
    for write in (write_csv, write_gpkg, write_shp, write_parquet):
        write(folder)
    (folder / "t.csv").rename(folder / "ROOM.CSV")
    names = [file.name for file in read_survey([tmp_path]).record_files]
    assert names == ["ROOM.CSV", "t.gpkg", "t.shp", "t.parquet"]


def test_outlines_among_the_records_are_no_trees(tmp_path: Path) -> None:
    (tmp_path / "records").mkdir()
    write_csv(tmp_path / "records")
    write_geojson(tmp_path / "records")
    toml = '[site]\nboundaries = "records/t.geojson"\n'
    (tmp_path / "survey.toml").write_text(toml, encoding="utf-8")
    assert [file.name for file in read_survey([tmp_path]).record_files] == ["t.csv"]


def gpx(tmp_path: Path, body: str) -> Path:
    path = tmp_path / "t.gpx"
    head = '<?xml version="1.0"?><gpx version="1.1" xmlns="http://www.topografix.com/GPX/1/1">'
    path.write_text(f"{head}{body}</gpx>", encoding="utf-8")
    return path


TRACK = '<trk><trkseg><trkpt lat="48" lon="16"/><trkpt lat="48.1" lon="16"/></trkseg></trk>'


def test_waypoints_are_trees_and_tracks_are_none(tmp_path: Path) -> None:
    mark = (
        '<wpt lat="48.2" lon="16.1"><ele>210</ele><time>2024-05-03T10:15:00Z</time>'
        "<name>Oak 1</name><desc>by the gate</desc></wpt>"
    )
    records = load_records([gpx(tmp_path, mark + TRACK)])
    (tree,) = records.values.to_dict("records")
    assert (tree["tree"], tree["lat"], tree["lon"]) == ("Oak 1", 48.2, 16.1)
    assert f"{tree['date']:%Y-%m-%d}" == "2024-05-03"
    assert tree["note"] == "by the gate"
    assert records.cells["ele"].tolist() == ["210"]
    (said,) = records.problems.query("rule == 'sheet_not_read'")["reason"]
    assert said == "Layers without points were not read: 'tracks', 'track_points'."


def test_a_track_alone_is_no_tree(tmp_path: Path) -> None:
    with pytest.raises(InputError, match=r"t\.gpx: holds tracks and no waypoint"):
        load_records([gpx(tmp_path, TRACK)])


def test_several_layers_of_one_file(tmp_path: Path) -> None:
    path = write_gpkg(tmp_path)
    layer("EPSG:32633").head(1).to_file(path, layer="more")
    outline = Polygon([(16, 48), (16.1, 48), (16.1, 48.1)])
    gpd.GeoDataFrame({"stand": ["A"]}, geometry=[outline], crs=4326).to_file(path, layer="stands")
    before = {file: file.read_bytes() for file in tmp_path.iterdir()}
    records = load_records([path])
    assert records.values["sheet"].tolist() == ["trees"] * 3 + ["more"]
    (note,) = records.problems.query("rule == 'sheet_not_read'").to_dict("records")
    assert note["reason"] == "Layers without points were not read: 'stands'."
    assert {file: file.read_bytes() for file in tmp_path.iterdir()} == before


SHAPES = {
    "line": LineString([(16, 48), (16.1, 48.1)]),
    "two": MultiPoint([(16, 48), (16.1, 48.1)]),
    "outline": Polygon([(16, 48), (16.1, 48), (16.1, 48.1)]),
}


@pytest.mark.parametrize("name", SHAPES)
def test_what_is_no_point_is_named(tmp_path: Path, name: str) -> None:
    kind = SHAPES[name].geom_type
    mixed = gpd.GeoDataFrame(
        {"tree": ["1", "2", "3"]}, geometry=[Point(16, 48), SHAPES[name], MultiPoint([(16, 48)])]
    ).set_crs(4326)
    mixed.to_file(tmp_path / "m.gpkg")
    records = load_records([tmp_path / "m.gpkg"])
    assert records.values["tree"].tolist() == ["1", "3"]
    assert records.values["row"].tolist() == [1, 3]
    (said,) = records.problems.query("rule == 'not_a_point'").to_dict("records")
    assert said["severity"] == "warning"
    assert said["reason"].endswith(f"because they are no points: features 2 ({kind}).")
    mixed.iloc[[1]].to_file(tmp_path / "none.gpkg")
    with pytest.raises(InputError, match=rf"none\.gpkg.*holds no points, only {kind}"):
        load_records([tmp_path / "none.gpkg"])


def test_features_without_a_place_keep_their_record(tmp_path: Path) -> None:
    trees = layer()
    trees.loc[1, "geometry"] = None
    trees.to_file(tmp_path / "t.gpkg")
    values = load_records([tmp_path / "t.gpkg"]).values
    assert values["tree"].tolist() == TREES["tree"]
    assert values["lat"].isna().tolist() == [False, True, False]


def without_crs(tmp_path: Path, crs: str | None) -> Records:
    write_shp(tmp_path, crs)
    (tmp_path / "t.prj").unlink(missing_ok=True)
    return load_records([tmp_path / "t.shp"])


def test_degrees_without_a_system_are_said_to_be_assumed(tmp_path: Path) -> None:
    records = without_crs(tmp_path, "EPSG:4326")
    assert records.values["lon"].tolist() == [x for x, _ in PLACES]
    assert records.problems.query("rule == 'crs_assumed'")["severity"].tolist() == ["warning"]


def test_metres_without_a_system_have_no_place(tmp_path: Path) -> None:
    records = without_crs(tmp_path, "EPSG:32633")
    assert records.values["lat"].isna().all()
    assert records.values["x"].notna().all()
    assert records.problems.query("rule == 'no_crs'")["severity"].tolist() == ["warning"]
    placed = load_records([tmp_path / "t.shp"], crs="EPSG:32633")
    assert placed.values["lat"].tolist() == pytest.approx([y for _, y in PLACES], abs=5e-9)


def test_the_shapes_win_over_coordinates_beside_them(tmp_path: Path) -> None:
    layer().assign(latitude=1.0, lon=2.0).to_file(tmp_path / "t.gpkg")
    records = load_records([tmp_path / "t.gpkg"])
    assert records.values["lat"].tolist() == [y for _, y in PLACES]
    assert records.cells["latitude"].tolist() == ["1", "1", "1"]


@pytest.mark.parametrize("ending", [".dbf", ".shx"])
def test_a_shapefile_without_its_companions(tmp_path: Path, ending: str) -> None:
    write_shp(tmp_path).with_suffix(ending).unlink()
    with pytest.raises(InputError, match=rf"t\.shp: t\{ending} is missing beside it"):
        load_records([tmp_path / "t.shp"])


def test_numbers_keep_their_last_digit(tmp_path: Path) -> None:
    numbers = [0.1 + 0.2, 123456789012345.0, 1e-7, 1e22]
    trees = gpd.GeoDataFrame({"tree": list("abcd"), "girth_cm": numbers}).set_geometry(
        [Point(1 / 3, 2 / 3)] * 4, crs=4326
    )
    trees.to_parquet(tmp_path / "t.parquet")
    records = load_records([tmp_path / "t.parquet"])
    assert records.values["girth_cm"].tolist() == numbers
    assert records.cells["girth"][1] == "123456789012345"
    assert set(records.values["lon"]) == {1 / 3}


def test_lists_and_choices_of_a_parquet_table(tmp_path: Path) -> None:
    table = pd.DataFrame({"tree": ["1", "2"], "seen": [["jay", "owl"], None], "ok": [True, False]})
    table["status"] = pd.Categorical(["alive", "dead"])
    table.to_parquet(tmp_path / "t.parquet")
    records = load_records([tmp_path / "t.parquet"])
    assert records.cells["seen"].tolist() == ['["jay", "owl"]', ""]
    assert records.cells["ok"].tolist() == ["true", "false"]
    assert records.values["status"].tolist() == ["alive", "dead"]


def test_a_read_me_in_an_archive_does_not_stop_it(tmp_path: Path) -> None:
    with zipfile.ZipFile(tmp_path / "t.zip", "w") as archive:
        archive.write(write_csv(tmp_path), "class 4/trees.csv")
        archive.writestr("readme.txt", "what this is\n")
        archive.writestr("__MACOSX/._trees.csv", "x")
        archive.writestr("page.html", "x")
    records = load_records([tmp_path / "t.zip"])
    assert records.values["sheet"].tolist() == ["class 4/trees.csv"] * 3
    said = records.problems.query("rule == 'sheet_not_read'")["reason"].tolist()
    assert said[0].startswith(f"Not read: {tmp_path / 't.zip'}/readme.txt, row 1: none of the")
    assert said[1] == "Not read in the archive: 'page.html'."


def folder_of(tmp_path: Path, *writers: Callable[[Path], Path]) -> Path:
    folder = tmp_path / "records"
    folder.mkdir()
    for write in writers:
        write(folder)
    return folder


def test_what_no_reader_knows_is_named(tmp_path: Path) -> None:
    folder = folder_of(tmp_path, write_csv, write_shp)
    for name in ("old.xls", "notes.txt", "sheet.pdf", "README.md", ".hidden", "~$t.xlsx"):
        (folder / name).write_text("x", encoding="utf-8")
    found = run_checks(read_survey([tmp_path])).findings
    (said,) = found.query("rule == 'file_not_read'").to_dict("records")
    assert said["message"] == "Among the records and not read: notes.txt, old.xls."
    assert said["severity"] == "warning"
    toml = '[records]\nfiles = ["records/*.csv"]\n'  # whoever names files knows which
    (tmp_path / "survey.toml").write_text(toml, encoding="utf-8")
    assert run_checks(read_survey([tmp_path])).findings.query("rule == 'file_not_read'").empty


def test_places_from_a_phone_and_sizes_from_a_sheet(tmp_path: Path) -> None:
    folder = folder_of(tmp_path)
    (folder / "class.csv").write_text("tree,species,girth_cm\n1,oak,90\n2,,80\n", encoding="utf-8")
    marks = "".join(f'<wpt lat="48.{n}" lon="16"><name>{n}</name></wpt>' for n in (1, 2, 3))
    gpx(folder, marks)
    done = run_checks(read_survey([tmp_path]))
    assert done.measured.trees["lat"].tolist() == [48.1, 48.2, 48.3]
    assert done.measured.trees["girth_cm"].fillna(0).tolist() == [90, 80, 0]
    missing = done.findings.query("rule == 'missing'")
    # Tree 1 lacks nothing; of 2 nobody knows the kind, and of 3 nothing but its place.
    assert set(zip(missing["tree"], missing["column"], strict=True)) == {
        ("2", "species"),
        ("3", "species"),
    }
    assert (done.findings["rule"] == "no_size").sum() == 1


def test_headings_that_a_shapefile_has_cut(tmp_path: Path) -> None:
    cut = {"height": 12.0, "height_met": "by eye", "photo_cons": "yes", "bark_rough": 3}
    cells = {name: [value] for name, value in cut.items()}
    gpd.GeoDataFrame(cells, geometry=[Point(7, 45)], crs=4326).to_file(tmp_path / "t.shp")
    records = load_records([tmp_path / "t.shp"])
    assert records.values["height_method"].tolist() == ["by eye"]
    assert records.values["photo_consent"].tolist() == ["yes"]
    assert records.cells["bark_rough"].tolist() == ["3"]
    notes = records.problems.query("rule == 'read_beside_others'")["reason"].tolist()
    said = "'height_met' is read as height_method: a shapefile cuts headings to 10 letters."
    assert said in notes


def test_texts_in_another_encoding_than_the_file_says(tmp_path: Path) -> None:
    layer().to_file(tmp_path / "t.shp", encoding="cp1252")
    (tmp_path / "t.cpg").write_text("UTF-8", encoding="ascii")
    records = load_records([tmp_path / "t.shp"])
    assert records.values["tree"].tolist() == TREES["tree"]
    (said,) = records.problems.query("rule == 'mixed_encodings'").to_dict("records")
    assert "were read as cp1252" in said["reason"]
