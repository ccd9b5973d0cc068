"""Files that are locked, cut short, mislabelled, overgrown or hostile: one message each."""

import contextlib
import shutil
import sqlite3
import zipfile
from collections.abc import Callable, Sequence
from pathlib import Path

import openpyxl
import pyarrow as pa
import pyarrow.parquet as pq
import pytest

from mapper.errors import InputError
from mapper.load import guards, load_records
from mapper.load.reader import PACKED, READERS
from tests.ods_sheets import DECLARED, ods, text_cell
from tests.test_load_formats import (
    write_csv,
    write_geojson,
    write_gpkg,
    write_kml,
    write_ods,
    write_parquet,
    write_shp,
    write_xlsx,
    write_zip,
)

DEFINES = r"cannot be read as a workbook \(.*: it begins with definitions of its own"
HEAD = ("tree", "girth_cm", "height_m")
LAUGH = (
    '<!DOCTYPE x [<!ENTITY a "ha">'
    + "".join(
        f'<!ENTITY {b} "{f"&{a};" * 10}">' for a, b in zip("abcdefgh", "bcdefghi", strict=True)
    )
    + "]>"
)


def refused(path: Path, message: str) -> None:
    with pytest.raises(InputError, match=message) as caught:
        load_records([path])
    assert str(caught.value).startswith(str(path))
    assert "\n" not in str(caught.value)


def zipped(path: Path, parts: dict[str, str | bytes]) -> Path:
    with zipfile.ZipFile(path, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, content in parts.items():
            archive.writestr(name, content)
    return path


def book(path: Path, rows: Sequence[Sequence[object]]) -> Path:
    workbook = openpyxl.Workbook()
    for row in rows:
        workbook.active.append(list(row))
    workbook.save(path)
    return path


def with_part(path: Path, name: str, change: Callable[[bytes], bytes]) -> Path:
    """The packed file with one part changed."""
    with zipfile.ZipFile(path) as archive:
        parts = {one: archive.read(one) for one in archive.namelist()}
    return zipped(path, {**parts, name: change(parts[name])})


# ---- locked


def test_a_workbook_with_a_password(tmp_path: Path) -> None:
    path = tmp_path / "t.xlsx"
    path.write_bytes(b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 600 + guards.LOCKED)
    refused(path, r"t\.xlsx: cannot be read as a workbook.*It has a password")
    path.write_bytes(b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1" + b"\0" * 600)
    refused(path, r"an old workbook, or one with a password.*save it again as \.xlsx")


def test_an_open_document_with_a_password(tmp_path: Path) -> None:
    lock = '<manifest:file-entry manifest:full-path="content.xml"><manifest:encryption-data/>'
    path = ods(tmp_path / "t.ods", manifest=f"{lock}</manifest:file-entry>", S=[HEAD, (1, 90, 9)])
    refused(path, r"t\.ods: has a password\. Save it again without one")


def test_an_archive_with_a_password(tmp_path: Path) -> None:
    path = zipped(tmp_path / "t.zip", {"t.csv": "tree,girth_cm\n1,90\n"})
    content = bytearray(path.read_bytes())
    content[6] |= guards.ENCRYPTED  # flags of the part itself, and of its entry in the directory
    content[content.index(b"PK\x01\x02") + 8] |= guards.ENCRYPTED
    path.write_bytes(content)
    refused(path, r"t\.zip: has a password\. Save it again without one")


# ---- not what they say

KINDS: dict[str, Callable[[Path], Path]] = {
    ".csv": write_csv,
    ".xlsx": write_xlsx,
    ".ods": write_ods,
    ".geojson": write_geojson,
    ".gpkg": write_gpkg,
    ".shp": write_shp,
    ".kml": write_kml,
    ".parquet": write_parquet,
    ".zip": write_zip,
}
ALIKE = [{".csv", ".tsv", ".txt"}, {".geojson", ".json"}, {".parquet", ".geoparquet"}, set(PACKED)]


@pytest.mark.parametrize("ending", sorted({*READERS, *PACKED}))
@pytest.mark.parametrize("kind", KINDS)
def test_a_file_under_another_ending(tmp_path: Path, kind: str, ending: str) -> None:
    if kind == ending or any({kind, ending} <= group for group in ALIKE):
        return
    (tmp_path / "out").mkdir()
    path = tmp_path / "out" / f"t{ending}"
    shutil.copy(KINDS[kind](tmp_path), path)
    refused(path, r": (cannot be read|holds|is damaged|row 1|not readable|t\.dbf is missing)?")


@pytest.mark.parametrize("ending", [".shp", ".gpkg", ".kml", ".gpx", ".csv", ".parquet"])
def test_a_file_that_points_at_another_is_not_followed(tmp_path: Path, ending: str) -> None:
    """Map libraries know files that only name others, on this machine or any."""
    secret = write_geojson(tmp_path)
    path = tmp_path / f"way{ending}"
    path.write_text(
        f'<OGRVRTDataSource><OGRVRTLayer name="t"><SrcDataSource>{secret}</SrcDataSource>'
        "</OGRVRTLayer></OGRVRTDataSource>",
        encoding="utf-8",
    )
    for beside in (".dbf", ".shx"):
        path.with_suffix(beside).write_bytes(b"")
    refused(path, r"way\.")


def test_a_link_in_a_kml_file_is_not_followed(tmp_path: Path) -> None:
    other = write_kml(tmp_path)
    path = tmp_path / "way.kml"
    path.write_text(
        '<kml xmlns="http://www.opengis.net/kml/2.2"><Document><NetworkLink><Link>'
        f"<href>{other.as_uri()}</href></Link></NetworkLink></Document></kml>",
        encoding="utf-8",
    )
    refused(path, r"way\.kml")


# ---- too much of it


def test_a_zip_bomb(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(guards, "MOST_BYTES", 10**6)
    for name in ("t.zip", "t.kmz", "t.xlsx", "t.ods"):
        path = zipped(tmp_path / name, {"t.csv": b"0" * 10**6, "content.xml": b"0" * 10})
        assert path.stat().st_size < 10_000
        refused(path, "unpacks to more than")


@pytest.mark.parametrize("name", ["t.zip", "t.xlsx", "t.ods"])
def test_a_part_that_lies_about_its_size(tmp_path: Path, name: str) -> None:
    parts: dict[str, str | bytes] = {"content.xml": b"0" * 10**6, "t.csv": b"0" * 10**6}
    content = zipped(tmp_path / name, parts).read_bytes()
    (tmp_path / name).write_bytes(content.replace((10**6).to_bytes(4, "little"), b"\x0a\0\0\0"))
    refused(tmp_path / name, "is damaged")


def test_too_many_parts(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(guards, "MOST_PARTS", 3)
    path = zipped(tmp_path / "t.zip", {f"{n}.csv": "tree\n1\n" for n in range(4)})
    refused(path, "unpacks to more than .* 3 parts")


def test_a_file_too_large(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    path = write_csv(tmp_path)
    monkeypatch.setattr(guards, "MOST_BYTES", 10)
    refused(path, "is larger than .*Hand it in as several files")


def test_a_parquet_bomb(tmp_path: Path) -> None:
    path = tmp_path / "t.parquet"
    same = pa.DictionaryArray.from_arrays(pa.array([0] * 2_000_000, pa.int8()), ["oak"])
    pq.write_table(pa.table({f"c{n}": same for n in range(60)}), path)
    assert path.stat().st_size < 500_000
    refused(path, "unpacks to 2000000 rows of 60 columns, more than is read at once")


@pytest.mark.parametrize("ending", [".kml", ".gpx"])
@pytest.mark.parametrize("before", [LAUGH, '<!DOCTYPE x SYSTEM "file:///etc/hostname">'])
def test_xml_with_definitions_of_its_own(tmp_path: Path, ending: str, before: str) -> None:
    path = tmp_path / f"t{ending}"
    path.write_text(f"{DECLARED}{before}<{ending[1:]}><a>&i;</a></{ending[1:]}>", encoding="utf-8")
    refused(path, r"is damaged \(it begins with definitions of its own")


def test_xml_with_definitions_of_its_own_in_workbooks(tmp_path: Path) -> None:
    formula = '<table:table-cell table:formula="1" office:value-type="float" office:value="1"/>'
    refused(ods(tmp_path / "t.ods", DECLARED + LAUGH, S=[HEAD, (formula,)]), DEFINES)
    path = book(tmp_path / "t.xlsx", [HEAD, ("=1+1",)])
    part = "xl/worksheets/sheet1.xml"
    with_part(path, part, lambda xml: LAUGH.encode() + xml.replace(b"1+1", b"&i;"))
    refused(path, DEFINES)


def test_xml_far_too_deep(tmp_path: Path) -> None:
    path = tmp_path / "t.kml"
    path.write_text("<kml>" + "<Folder>" * 50_000, encoding="utf-8")
    refused(path, "more than 100 deep")


def test_a_cell_far_away(tmp_path: Path) -> None:
    path = book(tmp_path / "t.xlsx", [HEAD, (1, 90, 9)])
    far = b'<row r="1048576"><c r="XFD1048576"><v>1</v></c></row></sheetData>'
    with_part(path, "xl/worksheets/sheet1.xml", lambda xml: xml.replace(b"</sheetData>", far))
    refused(path, "A cell far from the table holds something: delete what stands there")
    empties = '<table:table-row table:number-rows-repeated="1048000"><table:table-cell/>'
    beside = f'<table:table-cell table:number-columns-repeated="900"/>{text_cell("x")}'
    rows = [
        HEAD,
        (1, 90, 9),
        f"{empties}</table:table-row>",
        f"<table:table-row>{beside}</table:table-row>",
    ]
    refused(ods(tmp_path / "t.ods", S=rows), "A cell far from the table holds something")


def test_a_million_empty_rows(tmp_path: Path) -> None:
    path = book(tmp_path / "t.xlsx", [HEAD, (1, 90, 9)])
    rows = "".join(f'<row r="{n}"><c r="A{n}" s="0"/></row>' for n in range(3, 1_000_000))
    last = '<row r="1000000"><c r="A1000000"><v>2</v></c></row></sheetData>'
    with_part(
        path,
        "xl/worksheets/sheet1.xml",
        lambda xml: xml.replace(b"</sheetData>", (rows + last).encode()),
    )
    assert load_records([path]).values["row"].tolist() == [2, 1_000_000]
    table = tmp_path / "t.csv"
    table.write_text("tree,girth_cm\n1,90\n" + ",\n" * 1_000_000 + "2,80\n", encoding="utf-8")
    assert load_records([table]).values["row"].tolist() == [2, 1_000_003]
    empties = '<table:table-row table:number-rows-repeated="1000000"><table:table-cell/>'
    rows_ods = [HEAD, (1, 90, 9), f"{empties}</table:table-row>", (2, 80, 8)]
    sheet = ods(tmp_path / "t.ods", S=rows_ods)
    assert load_records([sheet]).values["row"].tolist() == [2, 1_000_003]


def test_300_columns(tmp_path: Path) -> None:
    head = [*HEAD, *(f"extra {n}" for n in range(297))]
    path = book(tmp_path / "t.xlsx", [head, range(300), range(300)])
    records = load_records([path])
    assert records.cells.shape == (2, 300)
    assert records.cells["extra 296"].tolist() == ["299", "299"]


# ---- cells that hold no value

ERROR = (
    '<table:table-cell table:formula="of:=1/0" office:value-type="{}" {}>'
    "<text:p>{}</text:p></table:table-cell>"
)
OLD_ERROR = ERROR.format("float", 'office:value="0"', "Err:502")
NEW_ERROR = ERROR.format("string", 'office:string-value=""', "#DIV/0!")


def failed_xlsx(tmp_path: Path) -> Path:
    path = book(tmp_path / "t.xlsx", [HEAD, (1, 90, "#DIV/0!"), (2, "#NAME?", 9), (3, 80, 8)])
    assert b't="e"' in zipfile.ZipFile(path).read("xl/worksheets/sheet1.xml")
    return path


def failed_ods(tmp_path: Path) -> Path:
    return ods(tmp_path / "t.ods", S=[HEAD, (1, 90, NEW_ERROR), (2, OLD_ERROR, 9), (3, 80, 8)])


@pytest.mark.parametrize("write", [failed_xlsx, failed_ods])
def test_a_failed_formula_is_a_finding(tmp_path: Path, write: Callable[[Path], Path]) -> None:
    records = load_records([write(tmp_path)])
    assert records.values["girth_cm"].fillna(0).tolist() == [90, 0, 80]
    assert records.values["height_m"].fillna(0).tolist() == [0, 9, 8]
    found = records.problems.query("rule == 'formula_error'")
    assert found["severity"].tolist() == ["error", "error"]
    assert dict(zip(found["column"], found["record"], strict=True)) == {"girth": 1, "height": 0}
    assert "is what a spreadsheet writes where a formula fails" in found["reason"].iloc[0]


def test_a_failed_formula_after_repeated_cells_and_rows(tmp_path: Path) -> None:
    gap = '<table:table-cell table:number-columns-repeated="2"/>'
    rows = '<table:table-row table:number-rows-repeated="5"><table:table-cell/></table:table-row>'
    path = ods(tmp_path / "t.ods", S=[HEAD, (1, 90, 9), rows, (gap, NEW_ERROR)])
    records = load_records([path])
    assert records.cells["height"].tolist() == ["9", "#DIV/0!"]
    assert records.values["row"].tolist() == [2, 8]


@pytest.mark.parametrize("column", ["tree", "species", "date", "status", "lat", "tally", "girth"])
def test_failed_cells_in_any_column(tmp_path: Path, column: str) -> None:
    path = tmp_path / "t.csv"
    words = ["#DIV/0!", "#N/A", "#WERT!", "#¡DIV/0!", "Err:508", "########", "#1", "#"]
    rows = "".join(f"{word},x\n" for word in words)
    path.write_text(f"{column},note\n{rows}", encoding="utf-8")
    problems = load_records([path]).problems
    assert problems.query("rule == 'formula_error'")["value"].tolist() == words[:6]


def test_a_formula_that_never_ran(tmp_path: Path) -> None:
    never = '<table:table-cell table:formula="of:=80+1"/>'
    refused(
        ods(tmp_path / "t.ods", S=[HEAD, (1, never, 9)]),
        r"t\.ods, sheet 'S', cell B2: the formula has no stored result",
    )


# ---- names that lead elsewhere


@pytest.mark.parametrize(
    "name", ["../t.csv", "a/../../t.csv", "/tmp/t.csv", "C:\\t.csv", "..\\t.csv"]
)
def test_a_name_that_climbs_out_of_its_archive(tmp_path: Path, name: str) -> None:
    folder = tmp_path / "in"
    folder.mkdir()
    path = zipped(folder / "t.zip", {name: "tree,girth_cm\n1,90\n"})
    refused(path, r"t\.zip: the name .* in it leads out of the archive")
    assert [file.name for file in tmp_path.rglob("*")] == ["in", "t.zip"]


def test_a_geopackage_in_use_is_left_as_it_was(tmp_path: Path) -> None:
    path = write_gpkg(tmp_path)
    with contextlib.closing(sqlite3.connect(path)) as database:
        database.execute("PRAGMA journal_mode = WAL")
    before = {file.name: file.read_bytes() for file in tmp_path.iterdir()}
    assert len(load_records([path]).values) == 3
    assert {file.name: file.read_bytes() for file in tmp_path.iterdir()} == before


def test_reading_leaves_the_folder_as_it_was(tmp_path: Path) -> None:
    for write in KINDS.values():
        write(tmp_path)
    before = {path: path.stat().st_mtime_ns for path in tmp_path.rglob("*")}
    for ending in KINDS:
        load_records([tmp_path / f"t{ending}"])
    assert {path: path.stat().st_mtime_ns for path in tmp_path.rglob("*")} == before
