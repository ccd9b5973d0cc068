"""After the outing: agreement of teams by hand, what to measure again, and who may see what."""

import math
from pathlib import Path

import pandas as pd
import pytest

from mapper.fieldwork import write_report
from mapper.fieldwork.after import kind_words, overall, team_agreement, trees_again
from mapper.line import published, run_checks
from mapper.survey import read_survey

HEADINGS = "tree,species,date,observer,girth_cm,height_m,lat,lon\n"


def survey_of(folder: Path, rows: str) -> Path:
    table = folder / "trees.csv"
    table.write_text(HEADINGS + rows, encoding="utf-8")
    return table


def records(*rows: tuple[str, str, float, float]) -> pd.DataFrame:
    table = pd.DataFrame(rows, columns=["tree_key", "observer", "girth_cm", "height_m"])
    day = pd.Timestamp("2026-05-01")
    return table.assign(diameter_cm=table["girth_cm"] / math.pi, date=day)


def test_agreement_by_hand() -> None:
    """Wren 100 and 200 beside 102 and 205: 2 and 5 cm, middle 3.5; the lonely tree says nothing."""
    table = team_agreement(
        records(
            ("a", "Wren", 100, 10), ("a", "Finch", 102, 11),
            ("b", "Wren", 200, 20), ("b", "Finch", 205, 20),
            ("c", "Wren", 300, 30),
        )
    ).set_index("team")  # fmt: skip
    assert table["trees"].to_dict() == {"Finch": 2, "Wren": 2}
    assert table.loc["Wren", "girth_cm"] == pytest.approx(3.5)
    assert table.loc["Wren", "height_share"] == pytest.approx(math.log(11 / 10) / 2)


def test_the_middle_of_three_tells_who_was_off() -> None:
    table = team_agreement(
        records(("a", "A", 100, 10), ("a", "B", 101, 10), ("a", "C", 130, 10))
    ).set_index("team")
    assert table["girth_cm"].round(6).to_dict() == {"A": 15.5, "B": 14.0, "C": 29.5}


def test_two_readings_of_one_team_are_no_agreement() -> None:
    assert team_agreement(records(("a", "A", 100, 10), ("a", "A", 105, 10))).empty
    assert team_agreement(records(("a", "", 100, 10), ("a", "", 105, 10))).empty


def test_words_are_kind_and_follow_the_numbers() -> None:
    assert "Too few" in kind_words(2, 9.0, 0.5)
    assert "fit those of the others well" in kind_words(5, 1.0, 0.05)
    assert "heights fit well" in kind_words(5, 3.0, 0.05)
    assert "tape work fits well" in kind_words(5, 1.0, 0.2)
    assert "fit those" in kind_words(5, 1.0, math.nan)
    assert "No tree was measured by two teams" in overall(team_agreement(records()), "metric")


def test_far_apart_comes_before_gaps(tmp_path: Path) -> None:
    rows = (
        "1,oak,2026-05-01,Wren,100,10,48.1,11.2\n1,oak,2026-05-01,Finch,100,10,48.1,11.2\n"
        "1,oak,2026-05-01,Owl,254,10,48.1,11.2\n2,oak,2026-05-01,Wren,90,,48.2,11.2\n"
    )
    line = run_checks(read_survey([survey_of(tmp_path, rows)]))
    again = [(one.tree, one.why) for one in trees_again(line)]
    assert again[0] == ("1", "two readings were far apart")
    assert again[-1] == ("2", "no height yet")


def test_the_page_for_all_names_no_team(tmp_path: Path) -> None:
    rows = "".join(
        f"{n},Quercus robur,2026-05-01,{team},{100 + n + 3 * (team == 'Finch')},10,48.{n},11.2\n"
        for n in range(1, 5)
        for team in ("Wrenteam", "Finch")
    )
    line = run_checks(read_survey([survey_of(tmp_path, rows)]))
    page, again = write_report(line, published(line), tmp_path / "report")
    assert "Wrenteam" not in page.read_text("utf-8")
    assert "Wrenteam" in again.read_text("utf-8")
    assert "girths lay about 3.0 cm apart" in page.read_text("utf-8")
    assert "Look at the tape together" in again.read_text("utf-8")
