"""Decisions of a leader as a layer over untouched records: applied, kept, outdated."""

import datetime as dt
import re
import shutil
import zipfile
from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from openpyxl import Workbook

from mapper.errors import InputError
from mapper.line import run_checks
from mapper.load.decisions import read_decisions
from mapper.summarise import Line
from mapper.survey import read_survey
from tests.ods_sheets import ods

HEAD = ["file", "sheet", "row", "tree", "column", "found", "now", "proposal", "decision",
        "new value", "reason", "concerns"]  # fmt: skip
TEXTS = st.sampled_from(
    ["", "oaks.csv", "records/oaks.csv", "2", "3", "heading", "girth", "girth_cm", "tree", "lat",
     "1570", "abc", "1", "2", "accept", "keep", "new value", "(empty)", "'=1", "1e999", "nan"]
)  # fmt: skip
CELLS = st.one_of(TEXTS, st.integers(), st.floats(allow_nan=False), st.booleans(), st.dates(),
                  st.text(st.characters(min_codepoint=32, exclude_categories=["Cs"]), max_size=9)
                  .filter(lambda text: not text.startswith("=")))  # fmt: skip
RECORDS = "tree,species,girth_cm,height_m\n1,Quercus robur,1570,18\n2,Acer rubrum,abc,12\n"


def survey(folder: Path, text: str = RECORDS) -> Path:
    (folder / "records").mkdir(parents=True, exist_ok=True)
    (folder / "records" / "oaks.csv").write_text(text, encoding="utf-8")
    return folder


def decide(folder: Path, *answers: dict[str, object], name: str = "a.xlsx", day: int = 1) -> Path:
    """A filled-in workbook; an answer is about tree 1's girth unless it says otherwise."""
    usual = {"file": "records/oaks.csv", "row": 2, "tree": "1", "column": "girth", "found": "1570"}
    book = Workbook()
    book.active.append(HEAD)
    for answer in answers:
        row: dict[str, object] = {**usual, **answer}
        book.active.append([row.get(heading, "") for heading in HEAD])
    path = folder / "repairs" / name
    path.parent.mkdir(exist_ok=True)
    book.save(path)
    stamped(path, dt.datetime(2026, 5, day, 12))
    return path


def stamped(path: Path, when: dt.datetime) -> None:
    """The workbook as if saved then: the library itself always writes the hour it is."""
    with zipfile.ZipFile(path) as archive:
        parts = {name: archive.read(name) for name in archive.namelist()}
    stamp = when.strftime("%Y-%m-%dT%H:%M:%SZ").encode()
    core = re.sub(rb"(<dcterms:modified[^>]*>)[^<]*", rb"\g<1>" + stamp, parts["docProps/core.xml"])
    with zipfile.ZipFile(path, "w") as archive:
        for name, part in {**parts, "docProps/core.xml": core}.items():
            archive.writestr(name, part)


def line(folder: Path) -> Line:
    return run_checks(read_survey([folder]))


def girths(done: Line) -> list[str]:
    return done.observations.records.cells["girth"].tolist()


def rules(done: Line) -> list[str]:
    return done.findings["rule"].tolist()


def test_a_decision_changes_the_value_and_not_the_file(tmp_path: Path) -> None:
    folder = survey(tmp_path)
    before = (folder / "records" / "oaks.csv").read_bytes()
    decide(folder, {"decision": "new value", "new value": "157", "reason": "comma forgotten"})
    done = line(folder)
    assert done.measured.trees.loc["1", "girth_cm"] == 157
    assert (folder / "records" / "oaks.csv").read_bytes() == before
    (change,) = done.observations.records.history.to_dict("records")
    assert change["state"] == "changed"
    assert (change["found"], change["value"], change["before"]) == ("1570", "157", 1570)
    assert change["reason"] == "comma forgotten"


@pytest.mark.parametrize("word", ["accept", " Accept. ", "ACCEPTED", "ok", "übernehmen", "aceptar"])
def test_accepting_takes_the_proposal(tmp_path: Path, word: str) -> None:
    decide(survey(tmp_path), {"proposal": "157 cm", "decision": word})
    assert girths(line(tmp_path))[0] == "157 cm"


def test_a_new_value_without_a_word_is_a_new_value(tmp_path: Path) -> None:
    decide(survey(tmp_path), {"new value": 157.5})
    assert girths(line(tmp_path))[0] == "157.5"


def test_an_undecided_row_is_none(tmp_path: Path) -> None:
    decide(survey(tmp_path), {"proposal": "157", "reason": "?"})
    done = line(tmp_path)
    assert girths(done)[0] == "1570"
    assert done.observations.records.history.empty


@pytest.mark.parametrize(
    ("answer", "part"),
    [
        ({"decision": "accept"}, "no proposal to accept"),
        ({"decision": "acept", "proposal": "157"}, "the decision 'acept' is none of"),
        ({"decision": "accept", "proposal": "157", "new value": "158"}, "Keep one"),
        ({"decision": "keep", "new value": "158"}, "Keep one"),
        ({"decision": "new value"}, "the new value is missing"),
    ],
)
def test_an_unclear_answer_changes_nothing(
    tmp_path: Path, answer: dict[str, object], part: str
) -> None:
    decide(survey(tmp_path), answer)
    done = line(tmp_path)
    assert girths(done)[0] == "1570"
    (found,) = done.findings[done.findings["rule"] == "repair_unclear"].to_dict("records")
    assert part in found["message"]
    assert "a.xlsx, row 2" in found["message"]
    assert found["file"] == 1


@pytest.mark.parametrize(
    ("changes", "part"),
    [
        ({"found": "1571"}, "held '1571' when it was decided, and holds '1570'"),
        ({"tree": "7"}, "was tree 7 when it was decided, and is tree 1"),
        ({"row": 99, "tree": ""}, "no record in row 99"),
        ({"column": "rings"}, "no column 'rings'"),
        ({"file": "records/elms.csv"}, "no record file is 'records/elms.csv'"),
    ],
)
def test_a_repair_of_a_changed_record_is_not_applied(
    tmp_path: Path, changes: dict[str, object], part: str
) -> None:
    decide(survey(tmp_path), {"new value": "157", **changes})
    done = line(tmp_path)
    assert girths(done)[0] == "1570"
    (found,) = done.findings[done.findings["rule"] == "repair_outdated"].to_dict("records")
    assert part in found["message"]
    assert done.observations.records.history["state"].tolist() == ["not applied"]


def test_an_unknown_heading_of_an_outdated_repair_is_not_told(tmp_path: Path) -> None:
    decide(survey(tmp_path), {"new value": "157", "column": "nickname"})
    done = line(tmp_path)
    found = done.findings[done.findings["rule"] == "repair_outdated"]
    assert found["column"].tolist() == [""]


def test_keeping_answers_the_finding_it_was_asked_about(tmp_path: Path) -> None:
    text = "tree,girth_cm,height_m\n1,1100,18\n"
    folder = survey(tmp_path, text)
    before = line(folder)
    assert "rare" in rules(before)
    keep = {"found": "1100", "decision": "keep", "reason": "measured twice"}
    decide(folder, {**keep, "concerns": "impossible girth"})
    assert rules(line(folder)) == rules(before)
    decide(folder, {**keep, "concerns": "impossible girth; rare girth"})
    after = line(folder)
    assert sorted([*rules(after), "rare"]) == sorted(rules(before))
    assert after.observations.records.history["state"].tolist() == ["kept"]
    decide(folder, keep)  # a workbook without that column: every finding of the cell
    assert "rare" not in rules(line(folder))


def test_keeping_lasts_until_the_cell_changes(tmp_path: Path) -> None:
    folder = survey(tmp_path, "tree,girth_cm\n1,1100\n")
    decide(folder, {"found": "1100", "decision": "keep"})
    assert "rare" not in rules(line(folder))
    survey(tmp_path, "tree,girth_cm\n1,1200\n")
    assert {"rare", "repair_outdated"} <= set(rules(line(folder)))


def test_an_impossible_value_stays_out_though_kept(tmp_path: Path) -> None:
    folder = survey(tmp_path, "tree,girth_cm\n1,-5\n2,90\n")
    decide(folder, {"found": "-5", "decision": "keep"})
    done = line(folder)
    (found,) = done.findings[done.findings["rule"] == "impossible"].to_dict("records")
    assert (found["severity"], found["bars"]) == ("note", True)
    assert found["message"].count("Kept as written") == 1
    assert done.measured.trees["girth_cm"].isna().tolist() == [True, False]


def test_of_two_that_contradict_the_later_holds(tmp_path: Path) -> None:
    folder = survey(tmp_path)
    decide(folder, {"new value": "157"}, name="z.xlsx", day=1)
    decide(folder, {"new value": "175"}, name="a.xlsx", day=2)
    done = line(folder)
    assert girths(done)[0] == "175"
    (found,) = done.findings[done.findings["rule"] == "repair_contradicts"].to_dict("records")
    assert "a.xlsx, row 2" in found["message"]
    assert "'157'" in found["message"]
    history = done.observations.records.history
    assert dict(zip(history["value"], history["state"], strict=True)) == {
        "157": "superseded", "175": "changed",
    }  # fmt: skip


def test_two_of_one_mind_do_not_contradict(tmp_path: Path) -> None:
    folder = survey(tmp_path)
    decide(folder, {"new value": "157"}, name="a.xlsx", day=1)
    decide(folder, {"new value": "157"}, name="b.xlsx", day=2)
    assert "repair_contradicts" not in rules(line(folder))


def test_a_decision_on_a_repaired_cell_contradicts_nothing(tmp_path: Path) -> None:
    folder = survey(tmp_path)
    decide(folder, {"new value": "175"}, name="a.xlsx", day=1)
    decide(folder, {"now": "175", "new value": "157"}, name="b.xlsx", day=2)
    done = line(folder)
    assert girths(done)[0] == "157"
    assert "repair_contradicts" not in rules(done)


def test_keeping_the_original_undoes_an_earlier_change(tmp_path: Path) -> None:
    folder = survey(tmp_path)
    decide(folder, {"new value": "157"}, name="a.xlsx", day=1)
    decide(folder, {"decision": "keep"}, name="b.xlsx", day=2)
    done = line(folder)
    assert girths(done)[0] == "1570"
    assert "repair_contradicts" in rules(done)


def test_a_cell_is_cleared_in_words(tmp_path: Path) -> None:
    folder = survey(tmp_path)
    decide(folder, {"new value": "(empty)"}, name="a.xlsx", day=1)
    assert girths(line(folder))[0] == ""
    decide(folder, {"now": "(empty)", "new value": "157"}, name="b.xlsx", day=2)
    done = line(folder)
    assert girths(done)[0] == "157"
    assert "repair_contradicts" not in rules(done)


def test_a_column_that_nobody_had_is_added(tmp_path: Path) -> None:
    answer = {"column": "status", "found": "", "new value": "dead", "row": 3, "tree": "2"}
    decide(survey(tmp_path), answer)
    done = line(tmp_path)
    assert done.measured.trees["status"].tolist() == ["alive", "dead"]


def test_a_heading_is_repaired(tmp_path: Path) -> None:
    folder = survey(tmp_path, "tree,girht\n1,157\n2,90\n")
    assert line(folder).measured.trees["girth_cm"].isna().all()
    answer = {"row": "heading", "tree": "", "column": "", "found": "girht", "new value": "girth_cm"}
    decide(folder, answer)
    done = line(folder)
    assert done.measured.trees["girth_cm"].tolist() == [157, 90]
    assert "unknown_column" not in rules(done)


def test_a_formula_in_a_new_value_is_a_text(tmp_path: Path) -> None:
    decide(survey(tmp_path), {"decision": "new value", "new value": "'=cmd|' /C calc'!A0"})
    assert girths(line(tmp_path))[0] == "=cmd|' /C calc'!A0"
    decide(survey(tmp_path), {"decision": "new value", "new value": "=1+1"})  # never worked out
    assert "repair_unclear" in rules(line(tmp_path))


def test_a_cell_that_looks_like_a_formula_is_found_again(tmp_path: Path) -> None:
    folder = survey(tmp_path, 'tree,girth_cm\n1,"=HYPERLINK(""x"")"\n')
    decide(folder, {"found": '\'=HYPERLINK("x")', "new value": "157"})
    assert girths(line(folder)) == ["157"]


def test_sheets_of_a_workbook_are_told_apart(tmp_path: Path) -> None:
    book = Workbook()
    book.active.title = "A"
    book.active.append(["tree", "girth_cm"])
    book.active.append([1, 1570])
    other = book.create_sheet("B")
    other.append(["tree", "girth_cm"])
    other.append([1, 1570])
    (tmp_path / "records").mkdir()
    book.save(tmp_path / "records" / "oaks.xlsx")
    decide(tmp_path, {"file": "records/oaks.xlsx", "sheet": "B", "new value": "157"})
    assert girths(line(tmp_path)) == ["1570", "157"]
    decide(tmp_path, {"file": "records/oaks.xlsx", "sheet": "C", "new value": "157"})
    assert "repair_outdated" in rules(line(tmp_path))


def test_a_table_alone_takes_the_repairs_beside_it(tmp_path: Path) -> None:
    (tmp_path / "oaks.csv").write_text(RECORDS, encoding="utf-8")
    decide(tmp_path, {"file": "oaks.csv", "new value": "157"})
    done = run_checks(read_survey([tmp_path / "oaks.csv"]))
    assert girths(done)[0] == "157"


@pytest.mark.parametrize(
    ("rows", "part"),
    [
        (
            [["file", "row", "column"], ["records/oaks.csv", 2, "girth"]],
            "no sheet has the headings",
        ),
        ([], "no sheet has the headings"),
    ],
)
def test_a_workbook_of_something_else_is_refused(
    tmp_path: Path, rows: list[list[object]], part: str
) -> None:
    folder = survey(tmp_path)
    (folder / "repairs").mkdir()
    book = Workbook()
    for row in rows:
        book.active.append(row)
    book.save(folder / "repairs" / "a.xlsx")
    with pytest.raises(InputError, match=part):
        line(folder)


def test_a_damaged_workbook_is_refused(tmp_path: Path) -> None:
    folder = survey(tmp_path)
    path = decide(folder, {"new value": "157"})
    path.write_bytes(path.read_bytes()[:900])
    with pytest.raises(InputError, match=r"a\.xlsx: is damaged"):
        line(folder)
    shutil.rmtree(folder / "repairs")
    (folder / "repairs").mkdir()
    (folder / "repairs" / "~$a.xlsx").write_bytes(b"lock")
    assert girths(line(folder))[0] == "1570"


def test_repairs_are_no_records(tmp_path: Path) -> None:
    folder = survey(tmp_path)
    (folder / "survey.toml").write_text('[records]\nfiles = ["**/*.csv", "**/*.xlsx"]\n', "utf-8")
    decide(folder, {"new value": "157"})
    assert len(line(folder).measured.trees) == 2


def test_a_repair_follows_its_tree_when_rows_were_sorted(tmp_path: Path) -> None:
    folder = survey(tmp_path)
    decide(folder, {"new value": "175"}, name="a.xlsx", day=1)
    survey(tmp_path, "tree,species,girth_cm\n9,Acer rubrum,80\n1,Quercus robur,1570\n")
    decide(folder, {"row": 3, "now": "175", "new value": "157"}, name="b.xlsx", day=2)
    done = line(folder)
    assert girths(done) == ["80", "157"]
    assert "repair_contradicts" not in rules(done)


def test_a_repair_does_not_choose_between_two_rows_of_a_tree(tmp_path: Path) -> None:
    folder = survey(tmp_path, "tree,girth_cm\n9,80\n1,1570\n1,1570\n")
    decide(folder, {"new value": "157"})
    done = line(folder)
    assert girths(done) == ["80", "1570", "1570"]
    assert "repair_outdated" in rules(done)


def test_something_else_in_the_folder_is_told(tmp_path: Path) -> None:
    folder = survey(tmp_path)
    decide(folder, {"new value": "157"})
    (folder / "repairs" / "b.csv").write_text("file,row\n", encoding="utf-8")
    done = line(folder)
    (found,) = done.findings[done.findings["rule"] == "repair_unclear"].to_dict("records")
    assert "b.csv: no workbook" in found["message"]
    assert girths(done)[0] == "157"


def test_an_opendocument_workbook_is_read(tmp_path: Path) -> None:
    folder = survey(tmp_path)
    (folder / "repairs").mkdir()
    head = ["file", "row", "column", "found", "new value"]
    ods(folder / "repairs" / "a.ods", decide=[head, ["oaks.csv", 2, "girth", 1570, 157]])
    assert girths(line(folder))[0] == "157"


@settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(st.lists(st.dictionaries(st.sampled_from(HEAD), CELLS), min_size=1, max_size=4))
def test_any_answers_are_applied_or_told(tmp_path: Path, answers: list[dict[str, object]]) -> None:
    """Random cells anywhere: an answer is in the history or a finding, and nothing is raised."""
    folder = survey(tmp_path)
    decide(folder, *answers)
    made = read_decisions(read_survey([folder]).repair_files)
    history = line(folder).observations.records.history
    assert len(history) == len(made.made)
    assert set(history["state"]) <= {"changed", "kept", "superseded", "not applied"}


def test_a_file_that_is_gone_is_told_once(tmp_path: Path) -> None:
    gone = {"file": "records/elms.csv", "new value": "157"}
    decide(survey(tmp_path), gone, {**gone, "row": 3}, {**gone, "row": 4})
    assert rules(line(tmp_path)).count("repair_outdated") == 1


def test_decisions_on_another_table_wait_for_it(tmp_path: Path) -> None:
    for name in ("oaks", "elms"):
        (tmp_path / f"{name}.csv").write_text(RECORDS, encoding="utf-8")
    decide(tmp_path, {"file": "oaks.csv", "new value": "157"}, {"file": "oaks.csv",
           "decision": "?"})  # fmt: skip
    done = run_checks(read_survey([tmp_path / "elms.csv"]))
    assert girths(done)[0] == "1570"
    assert not [rule for rule in rules(done) if rule.startswith("repair_")]
    done = run_checks(read_survey([tmp_path / "oaks.csv"]))
    assert girths(done)[0] == "157"
    assert "repair_unclear" in rules(done)
