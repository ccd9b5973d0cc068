"""The workbook of a check: what it asks, how it looks, and the way back into the survey."""

import os
import shutil
import subprocess
import sys
from pathlib import Path
from typing import Any

import openpyxl
import pytest
from openpyxl import Workbook

from mapper.line import run_checks
from mapper.load.shown import as_shown, same_text, without_guard
from mapper.repair import write_findings
from mapper.summarise import Line, publish
from mapper.survey import read_survey

ROOT = Path(__file__).parents[1]
RECORDS = (
    "tree,species,status,girth_cm,angle_top,angle_base,baseline_m,note,bark\n"
    "1,Quercus robur,alive,15700,40,-3,20,=1+1,rough\n"
    "2,Acer rubrum,gone,abc,-3,40,20,,\n"
    "3,Acer rubrum,alive,90,40,-3,20,fine,\n"
)


def line(folder: Path) -> Line:
    return run_checks(read_survey([folder]))


def survey(folder: Path, text: str = RECORDS) -> Path:
    (folder / "records").mkdir(parents=True, exist_ok=True)
    (folder / "records" / "oaks.csv").write_text(text, encoding="utf-8")
    return folder


def asked(path: Path) -> list[dict[str, Any]]:
    """The rows of the sheet to be filled in, with their row number, open lines left out."""
    head, *rows = openpyxl.load_workbook(path)["decide"].iter_rows(values_only=True)
    named = [dict(zip(map(str, head), row, strict=True)) for row in rows]
    return [{**row, "line": n} for n, row in enumerate(named, start=2) if row["file"]]


def fill(path: Path, to: Path, answers: dict[tuple[str, str], dict[str, str]]) -> None:
    """Fill in as a person would: tree and column → the answers; save under another name."""
    book = openpyxl.load_workbook(path)
    sheet = book["decide"]
    at = {cell.value: cell.column for cell in sheet[1]}
    for row in asked(path):
        for name, text in answers.get((str(row["tree"]), row["column"]), {}).items():
            sheet.cell(row["line"], at[name]).value = text
    to.parent.mkdir(exist_ok=True)
    book.save(to)


def test_only_what_needs_a_decision_is_asked(tmp_path: Path) -> None:
    folder = survey(tmp_path)
    done = line(folder)
    written = write_findings(done)
    rows = asked(written.path)
    assert written.to_decide == len(rows)
    cells = {(row["tree"], row["column"]): row for row in rows}
    assert set(cells) == {
        ("1", "girth"), ("2", "girth"), ("2", "status"), ("2", "angle_top"), ("2", "angle_base"),
    }  # fmt: skip
    girth = cells["1", "girth"]
    assert (girth["file"], girth["row"], girth["found"]) == ("records/oaks.csv", 2, "15700")
    assert "45 m round" in girth["what is doubtful"]
    assert "species Quercus robur" in girth["the same record"]
    assert "impossible girth" in girth["concerns"]
    notes = done.findings[done.findings["severity"] == "note"]
    assert len(notes)
    assert len(openpyxl.load_workbook(written.path)["findings"]["A"]) == len(done.findings) + 1


def test_doubtful_cells_are_coloured_commented_and_offer_words(tmp_path: Path) -> None:
    path = write_findings(line(survey(tmp_path))).path
    sheet = openpyxl.load_workbook(path)["decide"]
    at = {cell.value: cell.column_letter for cell in sheet[1]}
    for row in asked(path):
        found = sheet[f"{at['found']}{row['line']}"]
        assert found.fill.fgColor.rgb[2:] in ("F9D5CC", "FCEBC2", "DCE8F2")
        assert row["what is doubtful"] in found.comment.text
        for name, locked in (("decision", False), ("new value", False), ("found", True)):
            assert sheet[f"{at[name]}{row['line']}"].protection.locked is locked
        assert sheet[f"{at['new value']}{row['line']}"].number_format == "@"
    menus = {str(cells): menu.formula1 for menu in sheet.data_validations.dataValidation
             for cells in menu.sqref.ranges}  # fmt: skip
    proposed = {f"{at['decision']}{row['line']}": bool(row["proposal"]) for row in asked(path)}
    assert {True, False} == set(proposed.values())
    single = {name: words for group, words in menus.items() for name in _cells(group)}
    for name, has in proposed.items():
        assert single[name] == ('"accept,keep,new value"' if has else '"keep,new value"')
    status = next(row["line"] for row in asked(path) if row["column"] == "status")
    assert single[f"{at['new value']}{status}"].startswith('"alive,dead,fallen,stump')


def _cells(group: str) -> list[str]:
    first, _, last = group.partition(":")
    letter = first.rstrip("0123456789")
    low, high = int(first[len(letter) :]), int((last or first)[len(letter) :])
    return [f"{letter}{number}" for number in range(low, high + 1)]


def test_a_question_of_yes_or_no_offers_both(tmp_path: Path) -> None:
    text = "tree,girth_cm,photo_consent\n1,90,perhaps\n"
    sheet = openpyxl.load_workbook(write_findings(line(survey(tmp_path, text))).path)["decide"]
    assert '"yes,no,(empty)"' in [one.formula1 for one in sheet.data_validations.dataValidation]


def test_the_way_back(tmp_path: Path) -> None:
    folder = survey(tmp_path)
    before = (folder / "records" / "oaks.csv").read_bytes()
    first = line(folder)
    path = write_findings(first).path
    proposal = next(row["proposal"] for row in asked(path) if row["column"] == "girth")
    assert proposal
    fill(path, folder / "repairs" / "first.xlsx", {
        ("1", "girth"): {"decision": "accept", "reason": "sheet 4 says so"},
        ("2", "girth"): {"new value": "88 cm"},
        ("2", "angle_top"): {"decision": "new value", "new value": "40"},
        ("2", "angle_base"): {"decision": "new value", "new value": "-3"},
        ("2", "status"): {"decision": "keep"},
    })  # fmt: skip
    done = line(folder)
    assert (folder / "records" / "oaks.csv").read_bytes() == before
    assert done.measured.trees.loc["2", "girth_cm"] == 88
    assert done.measured.trees.loc["2", "height_m"] == done.measured.trees.loc["3", "height_m"]
    assert done.observations.records.cells["girth"].tolist()[0] == proposal
    states = done.observations.records.history["state"].value_counts().to_dict()
    assert states == {"changed": 4, "kept": 1}
    again = write_findings(done)
    assert again.path == path
    assert [row["tree"] for row in asked(path)] == []
    history = list(openpyxl.load_workbook(path)["history"].iter_rows(values_only=True))
    assert len(history) == 6
    assert any("sheet 4 says so" in row and "15700" in row for row in history)


def test_what_is_still_doubtful_is_asked_with_what_it_says_now(tmp_path: Path) -> None:
    folder = survey(tmp_path, "tree,girth_cm\n1,abc\n")
    path = write_findings(line(folder)).path
    fill(path, folder / "repairs" / "a.xlsx", {("1", "girth"): {"new value": "-7"}})
    write_findings(line(folder))
    (row,) = asked(path)
    assert (row["found"], row["now"]) == ("abc", "-7")
    fill(path, folder / "repairs" / "b.xlsx", {("1", "girth"): {"new value": "70"}})
    done = line(folder)
    assert done.measured.trees["girth_cm"].tolist() == [70]
    assert "repair_contradicts" not in set(done.findings["rule"])


def test_a_workbook_filled_in_where_it_lies_counts_and_is_not_overwritten(tmp_path: Path) -> None:
    folder = survey(tmp_path)
    (folder / "survey.toml").write_text('[records]\nfiles = ["**/*.csv", "*.xlsx"]\n', "utf-8")
    path = write_findings(line(folder)).path
    fill(path, path, {("1", "girth"): {"decision": "new value", "new value": "157"}})
    filled = path.read_bytes()
    done = line(folder)
    assert done.measured.trees.loc["1", "girth_cm"] == 157
    assert len(done.measured.trees) == 3
    assert write_findings(done).path.name == "findings-2.xlsx"
    assert path.read_bytes() == filled
    assert line(folder).measured.trees.loc["1", "girth_cm"] == 157


def test_the_mark_survives_another_program(tmp_path: Path) -> None:
    """Some programs write a creator of their own; the named range stays."""
    folder = survey(tmp_path)
    path = write_findings(line(folder)).path
    book = openpyxl.load_workbook(path)
    book.properties.creator = "Somebody"
    book.save(path)
    assert write_findings(line(folder)).path == path


def test_any_other_cell_goes_into_an_open_line(tmp_path: Path) -> None:
    folder = survey(tmp_path)
    path = write_findings(line(folder)).path
    book = openpyxl.load_workbook(path)
    sheet = book["decide"]
    number = asked(path)[-1]["line"] + 1
    at = {cell.value: cell.column for cell in sheet[1]}
    told = {"file": "oaks.csv", "row": "4", "column": "girth", "found": "90", "new value": "95"}
    for name, text in told.items():
        assert not sheet.cell(number, at[name]).protection.locked
        sheet.cell(number, at[name]).value = text
    (folder / "repairs").mkdir()
    book.save(folder / "repairs" / "a.xlsx")
    assert line(folder).measured.trees.loc["3", "girth_cm"] == 95


def test_nothing_in_the_workbook_runs(tmp_path: Path) -> None:
    text = 'tree,girth_cm,note\n"=cmd|x","=HYPERLINK(""http://x"")","@SUM(1)"\n'
    path = write_findings(line(survey(tmp_path, text))).path
    for sheet in openpyxl.load_workbook(path):
        for row in sheet.iter_rows():
            assert not [cell.value for cell in row if cell.data_type == "f"], sheet.title


def test_texts_compare_as_a_workbook_shows_them() -> None:
    assert as_shown("=1+1") == "'=1+1"
    assert as_shown("-71.4") == "-71.4"
    assert as_shown("a\x01b\r\nc ") == "a\ufffdb\nc"
    assert without_guard("'=1+1") == "=1+1"
    assert without_guard("'quoted'") == "'quoted'"
    assert same_text("157.0", "157")
    assert not same_text("nan", "0")
    assert not same_text("157", "1570")


def test_the_command_tells_what_to_do(tmp_path: Path) -> None:
    folder = survey(tmp_path / "s")

    def check() -> subprocess.CompletedProcess[str]:
        return subprocess.run(
            [sys.executable, "-m", "mapper", "check", "s"], cwd=tmp_path, capture_output=True,
            encoding="utf-8", check=False,
            env={**os.environ, "PYTHONPATH": str(ROOT), "PYTHONIOENCODING": "utf-8"},
        )  # fmt: skip

    done = check()
    assert done.returncode == 1
    assert "To decide: 5 cells" in done.stdout
    path = folder / "findings.xlsx"
    fill(path, folder / "repairs" / "a.xlsx", {
        ("1", "girth"): {"decision": "accept"}, ("2", "girth"): {"decision": "keep"},
    })  # fmt: skip
    again = check()
    assert "Repairs: 1 changed, 1 kept." in again.stdout
    assert "To decide: 3 cells" in again.stdout


def test_a_workbook_of_findings_only_is_no_repair(tmp_path: Path) -> None:
    """What an earlier version wrote has no sheet to fill in."""
    folder = survey(tmp_path)
    book = Workbook()
    book.active.append(["severity", "rule"])
    book.properties.creator = "groveplat check"
    book.save(folder / "findings.xlsx")
    assert write_findings(line(folder)).path.name == "findings.xlsx"


def test_the_loop_on_the_demo(tmp_path: Path) -> None:
    """Accept every proposal: each of these findings is gone, no record file was touched."""
    folder = tmp_path / "demo"
    shutil.copytree(ROOT / "demo", folder)
    before = {path: path.read_bytes() for path in (folder / "records").iterdir()}
    first = line(folder)
    path = write_findings(first).path
    rows = asked(path)
    proposals = {(str(row["tree"]), row["column"]): row for row in rows if row["proposal"]}
    assert ("S37", "girth") in proposals
    fill(path, folder / "repairs" / "all.xlsx", {
        cell: {"decision": "accept"} for cell in proposals
    })  # fmt: skip
    done = line(folder)
    assert {path: path.read_bytes() for path in (folder / "records").iterdir()} == before
    history = done.observations.records.history
    assert history["state"].eq("changed").sum() == len(proposals)
    slip = first.findings[(first.findings["tree"] == "S37") & first.findings["bars"]]
    assert len(slip)
    assert not ((done.findings["tree"] == "S37") & done.findings["bars"]).any()
    results = publish(done)
    told = results.repairs[results.repairs["tree"] == "S37"].to_dict("records")
    assert [row["before"] for row in told] == [pytest.approx(2413 * 2.54)]
    assert [row["after"] for row in told] == [done.measured.trees.loc["S37", "girth_cm"]]
    assert len(asked(write_findings(done).path)) < len(rows)


def test_many_doubtful_cells_are_asked_in_parts(tmp_path: Path) -> None:
    rows = "".join(f"{number},-1\n" for number in range(1, 2101))
    done = line(survey(tmp_path, "tree,girth_cm\n" + rows))
    written = write_findings(done)
    assert written.to_decide == 2100
    assert len(asked(written.path)) == 2000
    overview = openpyxl.load_workbook(written.path)["overview"]
    assert any("The first 2,000 are listed" in str(cell.value) for cell in overview["A"])


HEADINGS = "tree,girht (cm),height,date,girth 2\n1,100,12,03/04/2026,5\n2,90,11,05/06/2026,5\n"


def test_what_a_heading_can_answer_is_asked_once(tmp_path: Path) -> None:
    folder = survey(tmp_path, HEADINGS)
    path = write_findings(line(folder)).path
    rows = {row["found"]: row for row in asked(path)}
    assert set(rows) == {"girht (cm)", "height", "date", "girth 2"}
    assert {row["row"] for row in rows.values()} == {"heading"}
    assert rows["girht (cm)"]["proposal"] == "girth (cm)"
    assert rows["height"]["proposal"] == "height (m)"
    assert rows["date"]["what is doubtful"].endswith("And 1 more like it.")
    sheet = openpyxl.load_workbook(path)["decide"]
    menus = [menu.formula1 for menu in sheet.data_validations.dataValidation]
    assert '"date (dd/mm/yyyy),date (mm/dd/yyyy)"' in menus


def decide_headings(path: Path, to: Path, answers: dict[str, dict[str, str]]) -> None:
    book = openpyxl.load_workbook(path)
    at = {cell.value: cell.column for cell in book["decide"][1]}
    for row in asked(path):
        for name, text in answers.get(row["found"], {}).items():
            book["decide"].cell(row["line"], at[name]).value = text
    to.parent.mkdir(exist_ok=True)
    book.save(to)


def test_headings_go_the_way_back(tmp_path: Path) -> None:
    folder = survey(tmp_path, HEADINGS)
    path = write_findings(line(folder)).path
    decide_headings(path, folder / "repairs" / "a.xlsx", {
        "girht (cm)": {"decision": "accept"}, "height": {"decision": "keep"},
        "date": {"new value": "date (dd/mm/yyyy)"}, "girth 2": {"decision": "keep"},
    })  # fmt: skip
    done = line(folder)
    assert done.measured.trees["girth_cm"].tolist() == [100, 90]
    assert done.measured.trees["date"].dt.strftime("%Y-%m-%d").tolist() == [
        "2026-04-03", "2026-06-05",
    ]  # fmt: skip
    rules = set(done.findings["rule"])
    assert not rules & {"unknown_column", "unit_assumed", "ambiguous_date", "repair_outdated"}
    assert asked(write_findings(done).path) == []


def test_a_column_of_doubtful_days_is_kept_as_one(tmp_path: Path) -> None:
    folder = survey(tmp_path, HEADINGS)
    path = write_findings(line(folder)).path
    decide_headings(path, folder / "repairs" / "a.xlsx", {"date": {"decision": "keep"}})
    done = line(folder)
    days = done.findings[done.findings["rule"] == "ambiguous_date"]
    assert days["severity"].tolist() == ["note", "note"]
    assert "date" not in {row["found"] for row in asked(write_findings(done).path)}


def test_two_headings_never_come_to_mean_the_same(tmp_path: Path) -> None:
    folder = survey(tmp_path, HEADINGS)
    path = write_findings(line(folder)).path
    decide_headings(path, folder / "repairs" / "a.xlsx", {
        "girht (cm)": {"decision": "accept"}, "girth 2": {"decision": "accept"},
    })  # fmt: skip
    done = line(folder)
    assert done.measured.trees["girth_cm"].tolist() == [100, 90]
    (found,) = done.findings[done.findings["rule"] == "repair_outdated"].to_dict("records")
    assert "two columns would mean the same" in found["message"]


def test_a_heading_of_one_of_several_sheets(tmp_path: Path) -> None:
    book = Workbook()
    for name, heading in (("A", "girth_cm"), ("B", "girht_cm")):
        sheet = book.create_sheet(name)
        sheet.append(["tree", heading])
        sheet.append([f"{name}1", 90])
    del book["Sheet"]
    (tmp_path / "records").mkdir()
    book.save(tmp_path / "records" / "oaks.xlsx")
    path = write_findings(line(tmp_path)).path
    (row,) = [row for row in asked(path) if row["found"] == "girht_cm"]
    assert row["sheet"] == "B"
    decide_headings(path, tmp_path / "repairs" / "a.xlsx", {"girht_cm": {"decision": "accept"}})
    assert line(tmp_path).measured.trees["girth_cm"].tolist() == [90, 90]
