"""`groveplat new`: what it writes, and that it reads back without a finding."""

import os
import subprocess
import sys
import tomllib
from pathlib import Path

import openpyxl
import pandas as pd
import pytest
from hypothesis import given
from hypothesis import strategies as st
from openpyxl.worksheet.worksheet import Worksheet

from mapper.errors import InputError
from mapper.line import run_checks
from mapper.load.columns import known_columns
from mapper.load.headings import read_heading
from mapper.load.species import name_species
from mapper.record_book import HEADINGS, example_rows, listed_names, record_headings
from mapper.settings import Publish
from mapper.starter import settings_text, start_survey
from mapper.summarise import Line
from mapper.survey import read_survey
from tests.ods_sheets import ods

ROOT = Path(__file__).parents[1]
UNITS = pytest.mark.parametrize("units", ["metric", "us"])


def checked(folder: Path) -> Line:
    return run_checks(read_survey([folder]))


def filled_in(folder: Path, units: str) -> openpyxl.Workbook:
    """The workbook of a new survey, with the trees of its examples on the record sheet."""
    book = openpyxl.load_workbook(start_survey(folder, units=units))
    for row in example_rows(units):
        book["records"].append(row)
    return book


@UNITS
def test_a_filled_workbook_reads_back_without_a_finding(tmp_path: Path, units: str) -> None:
    book = filled_in(tmp_path / "s", units)
    book.save(tmp_path / "s" / "records" / "records.xlsx")
    line = checked(tmp_path / "s")
    assert line.findings.to_dict("records") == []
    values = line.observations.values
    girths = [157.48, 80, 230] if units == "us" else [157, 80, 230]
    assert values["girth_cm"].tolist() == pytest.approx(girths)
    assert values["height_m"].tolist()[1] == 14.5
    assert values["eye_height_m"].tolist()[2] == 1.55
    assert [f"{day:%Y-%m-%d}" for day in values["date"]] == ["2024-05-03"] * 2 + ["2024-05-04"]
    assert line.measured.trees["height_method"].tolist() == ["two angles", "reported", "one angle"]
    assert values["position_accuracy_m"].tolist() == pytest.approx(
        [16 * 0.3048 if units == "us" else 5] * 3
    )
    assert line.survey.measure.breast_height == pytest.approx(1.3716 if units == "us" else 1.3)


@UNITS
def test_the_example_sheet_holds_those_trees(tmp_path: Path, units: str) -> None:
    book = openpyxl.load_workbook(start_survey(tmp_path / "s", units=units))
    shown = [list(row) for row in book["examples (not read)"].values]
    assert shown[0] == record_headings(units)
    again = [["" if cell is None else str(cell)[:10] for cell in row] for row in shown[1:]]
    assert again == [
        ["" if cell is None else str(cell)[:10] for cell in row] for row in example_rows(units)
    ]


def test_saved_in_another_format_it_still_reads_back(tmp_path: Path) -> None:
    """Saved twice, and as an OpenDocument sheet: the rules are gone, the words are the same."""
    book = filled_in(tmp_path / "s", "metric")
    path = tmp_path / "s" / "records" / "records.xlsx"
    book.save(path)
    openpyxl.load_workbook(path).save(path)
    assert checked(tmp_path / "s").findings.empty
    sheets = {sheet.title: [list(row) for row in sheet.values] for sheet in book.worksheets}
    path.unlink()
    ods(path.with_suffix(".ods"), **sheets)
    assert checked(tmp_path / "s").findings.empty


def test_trees_of_an_empty_cell_each(tmp_path: Path) -> None:
    """A row of three cells is a record like any other."""
    path = start_survey(tmp_path / "s")
    book = openpyxl.load_workbook(path)
    book["records"].append(["7", None, "English oak", None, None, None, 81])
    book.save(path)
    values = checked(tmp_path / "s").observations.values
    assert values[["tree", "species", "girth_cm"]].to_numpy().tolist() == [["7", "English oak", 81]]


@UNITS
def test_headings_are_known_and_say_their_unit(units: str) -> None:
    for text, name in zip(record_headings(units), HEADINGS, strict=True):
        heading = read_heading(text)
        assert heading.column is not None
        assert heading.column.name == name
        wanted = heading.column.unit if units == "metric" else heading.column.us_unit
        assert heading.unit == ("" if name in ("lat", "lon") else wanted)


def records_of(path: Path) -> Worksheet:
    sheet = openpyxl.load_workbook(path)["records"]
    assert isinstance(sheet, Worksheet)
    return sheet


def test_every_choice_has_its_drop_down(tmp_path: Path) -> None:
    path = start_survey(tmp_path / "s")
    sheet = records_of(path)
    rules = {
        str(rule.sqref).split(":")[0][:-1]: rule for rule in sheet.data_validations.dataValidation
    }
    assert len(rules) == len(HEADINGS)
    for cell, name in zip(sheet[1], HEADINGS, strict=False):
        column, rule = known_columns()[name], rules[cell.column_letter]
        assert rule.showInputMessage
        assert 10 < len(rule.prompt) <= 255
        if column.kind in ("choice", "flag"):
            assert rule.type == "list"
            assert rule.formula1 == f'"{",".join(column.choices or ("yes", "no"))}"'
            assert len(rule.formula1) <= 255
    species = rules["C"].formula1
    names = [row[0] for row in openpyxl.load_workbook(path)["lists (not read)"].values]
    assert species == f"'lists (not read)'!$A$1:$A${len(names)}"
    assert names == listed_names()


def test_only_the_headings_are_locked(tmp_path: Path) -> None:
    sheet = records_of(start_survey(tmp_path / "s"))
    assert sheet.protection.sheet
    assert not sheet.protection.password
    assert sheet.freeze_panes == "B2"
    for cell in sheet[1][: len(HEADINGS)]:
        assert cell.protection.locked
        # A cell that is not in the file has the style of its column.
        assert not sheet.column_dimensions[cell.column_letter].protection.locked
    assert not sheet.cell(row=1, column=len(HEADINGS) + 1).protection.locked
    assert sheet.column_dimensions["A"].number_format == "@"
    assert sheet.column_dimensions["D"].number_format == "yyyy-mm-dd"


def test_every_name_on_offer_is_read_without_a_remark() -> None:
    names = listed_names()
    assert len(names) == len(set(names)) > 4000
    values = pd.DataFrame({"species": names, "file": 1})
    assert name_species(values).problems.empty


def test_own_tables_beside_the_unfilled_workbook(tmp_path: Path) -> None:
    start_survey(tmp_path / "s")
    with pytest.raises(InputError, match="sheet 'records': there is no record below the headings"):
        checked(tmp_path / "s")
    text = "tree,species,girth_cm,lat,lon\n1,English oak,80,45.3,-71.4\n"
    (tmp_path / "s" / "records" / "ours.csv").write_text(text)
    line = checked(tmp_path / "s")
    assert line.findings[["rule", "severity"]].to_numpy().tolist() == [["no_record", "note"]]
    assert len(line.observations.values) == 1


def test_sheets_that_say_so_are_not_read(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    book.worksheets[0].title = "North"
    for row in (["tree", "girth_cm", "species", "lat"], ["1", 80, "English oak"]):
        book.worksheets[0].append(row[:3])
    book.create_sheet("South").append(["tree", "girth_cm"])
    helping = book.create_sheet("Our own help (not read)")
    for row in (["tree", "girth_cm"], ["example", 5]):
        helping.append(row)
    book.save(tmp_path / "trees.xlsx")
    line = run_checks(read_survey([tmp_path / "trees.xlsx"]))
    assert line.observations.values["tree"].tolist() == ["1"]
    assert line.findings["message"].tolist() == [
        "The sheet 'South' has headings and no record below them."
    ]


@given(st.text(max_size=30), st.text(max_size=30))
def test_any_title_is_written_as_it_is(title: str, place: str) -> None:
    read = tomllib.loads(settings_text(title, place, "metric"))
    assert read["title"] == title.replace("\x7f", " ")
    assert read["place"] == place.replace("\x7f", " ")


@UNITS
def test_the_settings_say_what_holds_without_them(tmp_path: Path, units: str) -> None:
    filled_in(tmp_path / "s", units).save(tmp_path / "s" / "records" / "records.xlsx")
    survey = read_survey([tmp_path / "s"])
    assert (survey.title, survey.units) == ("s", units)
    assert survey.publish == Publish()
    assert [path.name for path in survey.record_files] == ["records.xlsx"]


def started(folder: Path, *options: str, **more: object) -> subprocess.CompletedProcess[str]:
    command = [sys.executable, "-m", "mapper", "new", "mine", *options]
    environment = {**os.environ, "PYTHONPATH": str(ROOT), "PYTHONIOENCODING": "utf-8"}
    return subprocess.run(  # type: ignore[call-overload,no-any-return]
        command, cwd=folder, encoding="utf-8", env=environment, check=False, **more
    )


def test_a_script_is_asked_nothing(tmp_path: Path) -> None:
    reader, writer = os.pipe()  # nothing is ever written: to wait for an answer is to hang
    done = started(tmp_path, "--units", "us", stdin=reader, capture_output=True, timeout=60)
    os.close(reader)
    os.close(writer)
    assert done.returncode == 0, done.stderr
    assert "?" not in done.stdout
    read = tomllib.loads((tmp_path / "mine" / "survey.toml").read_text("utf-8"))
    assert (read["title"], read["units"]) == ("mine", "us")
    refused = started(tmp_path, "--units", "hands", stdin=subprocess.DEVNULL, capture_output=True)
    assert refused.returncode == 2


@pytest.mark.skipif(sys.platform == "win32", reason="no pseudo-terminals there")
def test_a_person_is_asked_three_things(tmp_path: Path) -> None:
    import pty

    leader, follower = pty.openpty()
    os.write(leader, b'Trees of our "park"\nOtterbank\nus\n')
    done = started(tmp_path, stdin=follower, stdout=follower, stderr=follower, timeout=60)
    os.close(follower)
    shown = os.read(leader, 10_000).decode("utf-8")
    os.close(leader)
    assert done.returncode == 0
    assert "Title of the survey [mine]" in shown
    read = tomllib.loads((tmp_path / "mine" / "survey.toml").read_text("utf-8"))
    assert (read["title"], read["place"], read["units"]) == (
        'Trees of our "park"',
        "Otterbank",
        "us",
    )
