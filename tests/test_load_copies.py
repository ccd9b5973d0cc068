"""Records handed in twice count once, and nothing that may be two trees is lost."""

from collections.abc import Callable
from pathlib import Path

import openpyxl
import pytest

from mapper.line import run_checks
from mapper.summarise import Line, Results
from mapper.survey import read_survey

HEAD = "tree,species,girth_cm,date,lat,lon\n"
OAKS = "".join(f"{n},oak,{90 + n}.5,2024-05-0{n},45.000{n},7.0\n" for n in range(1, 6))
NAMELESS = "species,girth_cm,height_m\n" + "".join(f"oak,{90 + n},{10 + n}\n" for n in range(5))


def line(folder: Path, *tables: str) -> Line:
    (folder / "records").mkdir()
    for number, text in enumerate(tables):
        (folder / "records" / f"{number}.csv").write_text(text, encoding="utf-8")
    return run_checks(read_survey([folder], complete_count=True))


def twice(done: Line) -> list[str]:
    return done.findings.query("rule == 'handed_in_twice'")["message"].tolist()


def test_a_table_under_two_names_counts_once(tmp_path: Path) -> None:
    done = line(tmp_path, HEAD + OAKS, HEAD + OAKS)
    assert len(done.measured.trees) == 5
    assert done.measured.trees["visits"].tolist() == [1] * 5
    assert len(done.measured.records) == 5  # so a copy is no second reading of the same day
    assert len(done.observations.values) == 10
    assert twice(done) == ["5 records (rows 2 to 6) are in file 1 too. Counted once."]
    assert set(done.findings["rule"]) == {"handed_in_twice"}


def test_trees_without_a_number_count_once_too(tmp_path: Path) -> None:
    done = line(tmp_path, NAMELESS, NAMELESS)
    assert len(done.measured.trees) == 5
    assert twice(done) == ["5 records (rows 2 to 6) are in file 1 too. Counted once."]


def test_in_any_format_and_order(tmp_path: Path) -> None:
    book = openpyxl.Workbook()
    rows = [row.split(",") for row in (HEAD + OAKS).split()]
    for row in [rows[0], *reversed(rows[1:])]:
        book.active.append([*row[:2], float(row[2]), *row[3:]] if row[0] != "tree" else row)
    (tmp_path / "records").mkdir()
    book.save(tmp_path / "records" / "copy.xlsx")
    (tmp_path / "records" / "a.csv").write_text(HEAD + OAKS, encoding="utf-8")
    done = run_checks(read_survey([tmp_path]))
    assert len(done.measured.records) == 5
    assert twice(done) == ["5 records (rows 2 to 6) are in file 1 too. Counted once."]


def test_one_record_that_came_along(tmp_path: Path) -> None:
    other = "9,oak,200,2024-05-09,45.0009,7.0\n"
    done = line(tmp_path, HEAD + OAKS, HEAD + other + OAKS.splitlines()[2])
    assert len(done.measured.trees) == 6
    assert twice(done) == ["The same as row 4 of file 1. Counted once."]


@pytest.mark.parametrize(
    ("first", "second", "trees"),
    [
        # Two classes that number from 1: nothing but a kind in common.
        ("tree,species\n1,oak\n2,oak\n3,oak\n", "tree,species\n1,oak\n2,oak\n3,oak\n", 3),
        # A tree of that girth twice in a wood is no wonder.
        (NAMELESS, "species,girth_cm,height_m\noak,90,10\noak,91,11\noak,300,30\n", 8),
        ("tree,girth_cm\n1,90\n", "tree,girth_cm\n1,90\n", 1),
        # Nobody says which tree, so the day alone does not make it one.
        (
            "species,girth_cm,date\noak,90,2024-05-03\n",
            "species,girth_cm,date\noak,90,2024-05-03\noak,91,2024-05-03\n",
            3,
        ),
    ],
)
def test_chance_is_no_copy(tmp_path: Path, first: str, second: str, trees: int) -> None:
    done = line(tmp_path, first, second)
    assert not twice(done)
    assert len(done.measured.trees) == trees


def test_readings_taken_twice_stay_readings(tmp_path: Path) -> None:
    done = line(tmp_path, HEAD + OAKS + OAKS)
    assert not twice(done)
    assert len(done.measured.records) == 10
    assert (done.findings["rule"] == "duplicate_row").sum() == 5


def test_a_repeat_in_the_second_table_stays_a_reading(tmp_path: Path) -> None:
    done = line(tmp_path, HEAD + OAKS, HEAD + OAKS + OAKS.splitlines()[0])
    assert twice(done) == ["5 records (rows 2 to 6) are in file 1 too. Counted once."]
    assert len(done.measured.records) == 6


def test_a_copy_with_another_value_is_another_reading(tmp_path: Path) -> None:
    done = line(tmp_path, HEAD + OAKS, HEAD + OAKS.replace("91.5", "92.5"))
    assert twice(done) == ["4 records (rows 3 to 6) are in file 1 too. Counted once."]
    assert done.measured.trees.loc["1", "girth_cm"] == 92  # the median of 91.5 and 92.5


def test_what_is_wrong_with_a_copy_is_said_once(tmp_path: Path) -> None:
    wrong = HEAD + OAKS.replace("91.5", "9150").replace("92.5", "a lot")
    done = line(tmp_path, wrong, wrong)
    assert (done.findings["rule"] == "impossible").sum() == 1
    assert (done.findings["rule"] == "not_a_number").sum() == 1


def test_copies_are_published_as_records(results_of: Callable[..., Results]) -> None:
    results = results_of({"records/a.csv": HEAD + OAKS, "records/b.csv": HEAD + OAKS})
    assert len(results.observations) == 10
    assert len(results.trees) == 5
    row = results.findings.query("rule == 'handed_in_twice'").iloc[0]
    assert row["message"] == "A record handed in a second time: it counts once."


def test_copies_where_places_are_kept_back(results_of: Callable[..., Results]) -> None:
    toml = '[publish]\npositions = "hidden"\n'
    files = {"survey.toml": toml, "records/a.csv": NAMELESS, "records/b.csv": NAMELESS}
    results = results_of(files)
    assert results.trees["tree"].tolist() == [f"unnumbered {n}" for n in range(1, 6)]
