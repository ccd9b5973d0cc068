"""The published history of repairs: what changed, from what, why; and what stays at home."""

import json
from collections.abc import Callable
from pathlib import Path

import pandas as pd
import pytest
from openpyxl import Workbook

from mapper.line import run_checks, survey_results
from mapper.render import build_site
from mapper.repair import write_findings
from mapper.summarise import Results
from mapper.summarise.public_findings import MEANINGS
from mapper.survey import read_survey

SECRET = "Zanzibar"
PHONE = "06641234567"
HEAD = "tree,stand,species,status,girth_cm,date,lat,lon,privacy,note,observer,nickname\n"
ROWS = (
    "1,A,Quercus robur,alive,1570,2026-05-01,45.1,7.1,,,,\n"
    f"2,A,{SECRET},{SECRET},{PHONE},2015-04-03,48.765432,9.1,,{SECRET},{SECRET},{SECRET}\n"
    f"3,A,Quercus robur,alive,90,2026-05-01,45.1,7.1,withheld,,,\n"
    f"{SECRET},A,Quercus robur,fallen,90,2026-05-01,45.1,7.1,hidden,,,\n"
)
FULL = '[publish]\nfindings = "full"\n'


def survey(folder: Path, answers: list[list[object]], settings: str = "") -> Path:
    """A survey and a workbook of answers: row, column, found, new value, concerns."""
    (folder / "records").mkdir(parents=True)
    (folder / "records" / f"{SECRET}.csv").write_text(HEAD + ROWS, encoding="utf-8")
    (folder / "survey.toml").write_text('title = "T"\n' + settings, encoding="utf-8")
    book = Workbook()
    book.active.append(["file", "row", "column", "found", "decision", "new value", "reason",
                        "concerns"])  # fmt: skip
    for row, column, found, new, concerns in answers:
        word = "keep" if new is None else "new value"
        book.active.append([f"{SECRET}.csv", row, column, found, word, new, SECRET, concerns])
    (folder / "repairs").mkdir()
    book.save(folder / "repairs" / f"{SECRET}.xlsx")
    return folder


def published(folder: Path) -> pd.DataFrame:
    return survey_results(read_survey([folder])).repairs


def test_a_change_tells_from_what_to_what_and_why(tmp_path: Path) -> None:
    answers: list[list[object]] = [[2, "girth", "1570", "157", "impossible girth; rare girth"]]
    (row,) = published(survey(tmp_path, answers)).to_dict("records")
    assert (row["tree"], row["column"], row["unit"]) == ("1", "girth", "cm")
    assert (row["before"], row["after"], row["decision"]) == (1570, 157, "changed")
    assert row["why"] == f"{MEANINGS['impossible']} {MEANINGS['rare']}"
    assert pd.isna(row["row"])


def test_units_and_words_are_told_as_read(tmp_path: Path) -> None:
    answers: list[list[object]] = [
        [2, "girth", "1570", "62 in", ""], [2, "status", "alive", "dead", ""],
    ]  # fmt: skip
    girth, status = published(survey(tmp_path, answers, FULL)).to_dict("records")
    assert girth["after"] == pytest.approx(157.48)
    assert (status["before_word"], status["after_word"]) == ("alive", "dead")
    assert pd.isna(status["before"])
    assert (girth["file"], girth["row"]) == (1, 2)
    assert girth["why"].startswith("Corrected by")


def test_a_kept_cell_is_told_where_findings_are(tmp_path: Path) -> None:
    answers: list[list[object]] = [[2, "girth", "1570", None, ""]]
    assert published(survey(tmp_path / "a", answers)).empty
    (row,) = published(survey(tmp_path / "b", answers, FULL)).to_dict("records")
    assert (row["decision"], pd.isna(row["before"])) == ("kept", True)


@pytest.mark.parametrize("settings", ["", FULL])
def test_nothing_private_is_told(tmp_path: Path, settings: str) -> None:
    answers: list[list[object]] = [
        [3, "species", SECRET, "Quercus robur", SECRET],
        [3, "status", SECRET, "dead", "unknown_choice status"],
        [3, "girth", PHONE, "157", f"{SECRET} {SECRET}"],
        [3, "date", "2015-04-03", "2026-05-01", ""],
        [3, "lat", "48.765432", "45.1", ""],
        [3, "note", SECRET, "x", ""],
        [3, "observer", SECRET, None, ""],
        [3, "nickname", SECRET, "x", ""],
        [4, "girth", "90", "91", ""],
        [5, "tree", SECRET, "4", ""],
        [5, "lon", "7.1", "7.2", ""],
        [5, "privacy", "hidden", "0.01 deg", ""],
        [99, "girth", SECRET, "5", ""],
        [2, SECRET, SECRET, "5", ""],
        ["heading", "", "nickname", f"{SECRET} 2", ""],
    ]  # fmt: skip
    folder = survey(tmp_path / "home", answers, settings)
    results = survey_results(read_survey([folder]))
    told = set(zip(results.repairs["tree"], results.repairs["column"], strict=True))
    assert told == {
        ("2", "species"), ("2", "status"), ("2", "girth"), ("2", "date"), ("2", "lat"),
        ("4", "tree"), ("4", "lon"),
    }  # fmt: skip
    build_site(results, tmp_path / "site")
    for path in (tmp_path / "site").rglob("*"):
        if path.is_file():
            raw = path.read_bytes().lower()
            for secret in (SECRET.lower(), PHONE[1:], "48.7654", "2015-04", "nickname"):
                assert secret.encode() not in raw, (path.name, secret)
    assert not list((tmp_path / "site").rglob(f"*{SECRET}*"))
    private = write_findings(run_checks(read_survey([folder]))).path
    assert private.parent == folder


def test_a_heading_read_anew_is_told(tmp_path: Path) -> None:
    answers: list[list[object]] = [["heading", "", "girth_cm", "girth_mm", ""]]
    results = survey_results(read_survey([survey(tmp_path / "home", answers)]))
    (row,) = results.repairs.to_dict("records")
    assert (row["tree"], row["column"], row["decision"]) == ("", "girth", "heading changed")
    assert results.trees.set_index("tree").loc["1", "girth_cm"] == 157
    build_site(results, tmp_path / "site")
    assert "1 entry was corrected" in (tmp_path / "site" / "data.html").read_text("utf-8")
    metadata = (tmp_path / "site" / "data" / "repairs.csv-metadata.json").read_text("utf-8")
    assert "before" in json.dumps(json.loads(metadata))


def test_without_repairs_the_table_is_empty(results_of: Callable[..., Results]) -> None:
    results = results_of({"records/a.csv": "tree,girth_cm\n1,90\n"})
    assert results.repairs.empty
    assert list(results.repairs.columns)[:2] == ["tree", "column"]
