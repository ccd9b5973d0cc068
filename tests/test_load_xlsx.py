"""Workbooks: which sheets, which rows, what numbers, dates and formulas become."""

import datetime
import zipfile
from collections.abc import Sequence
from pathlib import Path

import openpyxl
import pytest

from mapper.errors import InputError
from mapper.load import Records, load_records

Rows = Sequence[Sequence[object]]
HEADINGS = ("tree", "girth_cm", "date")


def book(tmp_path: Path, sheets: dict[str, Rows]) -> Path:
    workbook = openpyxl.Workbook()
    workbook.remove(workbook.active)
    for name, rows in sheets.items():
        sheet = workbook.create_sheet(name)
        for row in rows:
            sheet.append(list(row))
    path = tmp_path / "trees.xlsx"
    workbook.save(path)
    return path


def load(tmp_path: Path, sheets: dict[str, Rows]) -> Records:
    return load_records([book(tmp_path, sheets)])


def test_numbers_and_dates_keep_their_value(tmp_path: Path) -> None:
    day, moment = datetime.date(2024, 5, 3), datetime.datetime(2024, 5, 4, 10, 15)
    rows: Rows = [HEADINGS, (7, 90.25, day), ("b", 2 / 3, moment), (3, "81,5", "2024-05-05")]
    records = load(tmp_path, {"Sheet1": rows})
    assert records.values["girth_cm"].tolist() == [90.25, 2 / 3, 81.5]
    assert records.values["tree"].tolist() == ["7", "b", "3"]
    assert [f"{one:%Y-%m-%d}" for one in records.values["date"]] == [
        "2024-05-03",
        "2024-05-04",
        "2024-05-05",
    ]
    assert records.cells["date"].tolist() == ["2024-05-03", "2024-05-04 10:15:00", "2024-05-05"]
    assert records.problems.empty


def test_the_sheet_of_records_is_the_only_one_read(tmp_path: Path) -> None:
    sheets: dict[str, Rows] = {
        "Old": [HEADINGS, (1, 10, None)],
        "Records": [HEADINGS, (2, 20, None)],
    }
    records = load(tmp_path, sheets)
    assert records.values["tree"].tolist() == ["2"]
    (note,) = records.problems.to_dict("records")
    assert (note["rule"], note["severity"]) == ("sheet_not_read", "warning")
    assert note["reason"] == "Only the sheet 'Records' was read. Not read: 'Old'."


def test_else_every_sheet_with_a_known_heading(tmp_path: Path) -> None:
    sheets: dict[str, Rows] = {
        "Read me": [("How to measure",), ("Hold the tape level",)],
        "North": [HEADINGS, (1, 10, None)],
        "South": [(), ("Our park",), ("girth_cm", "tree"), (), (20, 2)],
        "Empty": [],
    }
    records = load(tmp_path, sheets)
    origin = records.values[["file", "sheet", "row", "tree"]].to_numpy().tolist()
    assert origin == [[1, "North", 2, "1"], [1, "South", 5, "2"]]
    assert records.columns["sheet"].unique().tolist() == ["North", "South"]
    assert set(records.problems["rule"]) == {"sheet_not_read", "above_headings"}


def test_merged_and_empty_cells_are_empty(tmp_path: Path) -> None:
    path = book(tmp_path, {"S": [HEADINGS, ("a", 1, None), (None, 2, None), (), ("c", 3, None)]})
    workbook = openpyxl.load_workbook(path)
    workbook["S"].merge_cells("A2:A3")
    workbook["S"].row_dimensions[40].height = 30
    workbook["S"].cell(row=50, column=1).number_format = "0.0"
    workbook.save(path)
    records = load_records([path])
    assert records.values["row"].tolist() == [2, 3, 5]
    assert records.values["tree"].tolist() == ["a", "", "c"]


def test_a_cell_beyond_the_headings_is_kept_with_a_note(tmp_path: Path) -> None:
    records = load(tmp_path, {"S": [HEADINGS, ("a", 1, None, "why?")]})
    assert records.cells["column 4"].tolist() == ["why?"]
    (note,) = records.problems.to_dict("records")
    assert note["reason"] == "column 4 has cells and no heading. They are kept, but not used."


def test_a_formula_is_read_by_its_stored_value(tmp_path: Path) -> None:
    path = book(tmp_path, {"S": [HEADINGS, ("a", "=80+1", None)]})
    with pytest.raises(
        InputError, match=r"trees.xlsx, sheet 'S', cell B2: the formula has no stored result. Open"
    ):
        load_records([path])
    assert load_records([_worked_out(path, "<v></v>", "<v>81</v>")]).values["girth_cm"][0] == 81


def _worked_out(path: Path, empty: str, value: str) -> Path:
    """What a spreadsheet program does on saving: it puts the result beside the formula."""
    saved = path.with_name("saved.xlsx")
    with zipfile.ZipFile(path) as source, zipfile.ZipFile(saved, "w") as target:
        for name in source.namelist():
            text = source.read(name)
            if name.startswith("xl/worksheets/"):
                shown = text.decode().replace("<v />", empty)
                assert empty in shown
                text = shown.replace(empty, value).encode()
            target.writestr(name, text)
    return saved


def test_yes_and_no_as_truth_values(tmp_path: Path) -> None:
    rows = [("tree", "photo_consent"), (1, True), (2, False), (3, None)]
    records = load(tmp_path, {"S": rows})
    assert records.values["photo_consent"].tolist() == ["yes", "no", ""]


@pytest.mark.parametrize(
    ("content", "message"),
    [
        (b"", "cannot be read as a workbook, because it is empty.*save it again as .xlsx"),
        (b"tree,girth\n1,2\n", ".*because it is a text.*save it again as .xlsx"),
        (b"<!DOCTYPE html><table>", ".*because it is a web page.*save it again as .xlsx"),
        (b"PK\x03\x04 broken", "is damaged .*Save or copy it again"),
    ],
)
def test_an_unreadable_workbook(tmp_path: Path, content: bytes, message: str) -> None:
    path = tmp_path / "trees.xlsx"
    path.write_bytes(content)
    with pytest.raises(InputError, match=rf"trees\.xlsx: {message}"):
        load_records([path])


def test_a_zip_that_is_no_workbook(tmp_path: Path) -> None:
    path = tmp_path / "trees.xlsx"
    with zipfile.ZipFile(path, "w") as archive:
        archive.writestr("hello.txt", "hello")
    with pytest.raises(InputError, match=r"trees.xlsx: cannot be read as a workbook"):
        load_records([path])


@pytest.mark.parametrize(
    ("sheets", "message"),
    [
        ({"S": []}, "trees.xlsx: every sheet is empty"),
        ({"S": [("foo",), (1,)]}, "sheet 'S', row 1: none of the headings 'foo' is known"),
        ({"records": [("foo",), (1,)], "T": [HEADINGS, (1, 2)]}, "sheet 'records', row 1: none"),
        ({"S": [HEADINGS]}, "sheet 'S': there is no record below the headings in row 1"),
    ],
)
def test_a_workbook_without_records(tmp_path: Path, sheets: dict[str, Rows], message: str) -> None:
    with pytest.raises(InputError, match=message):
        load(tmp_path, sheets)
