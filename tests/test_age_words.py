"""Ages and growth where a reader looks: panel, table, notes; never a number without its range."""

import json
from collections.abc import Callable
from pathlib import Path

import pytest

from mapper.render import build_site
from mapper.render.age_words import age_span, age_text, growth_in_girth, oldest
from mapper.render.index_page import tree_notes
from mapper.render.quantities import scales
from mapper.summarise import Results

HEAD = "tree,species,date,girth_cm,planted,lat,lon\n"
# One planted in 1990 and two known by a rule of thumb: white oak, 5 years an inch (MDCAGE).
TABLE = HEAD + (
    "P1,Acer rubrum,2026-07-01,90,1990,45.1,7.1\n"
    "W1,Quercus alba,2024-07-01,150,,45.1001,7.1\n"
    "W1,Quercus alba,2026-07-01,153,,45.1001,7.1\n"
    "W2,Quercus alba,2026-07-01,90,,45.1002,7.1\n"
    "U1,,2026-07-01,40,,45.1003,7.1\n"
)
PLANTED = {"age_low_years": 35.5, "age_high_years": 36.5, "age_method": "planted",
           "age_since": "planting"}  # fmt: skip
THUMB = {"age_low_years": 61.3, "age_high_years": 245.3, "age_method": "growth factor",
         "age_since": "germination"}  # fmt: skip


def test_an_age_is_a_range_that_says_what_it_is_worth() -> None:
    assert age_text(PLANTED) == "35–37 years since planting"
    assert age_text(THUMB) == "about 61–246 years, by a rule of thumb"
    assert (age_span(PLANTED), age_span(THUMB)) == ("35–37", "about 61–246")
    assert age_text({}) == age_span({}) == ""


def test_growth_is_shown_in_the_units_of_the_survey() -> None:
    row = {"growth_girth_cm_per_year": 1.524}
    shown = [growth_in_girth(row, scales(units)["cm"]) for units in ("metric", "us")]
    assert [one.text.replace("\u00a0", " ") for one in shown if one] == ["1.52 cm", "0.60 in"]
    assert growth_in_girth({}, scales("us")["cm"]) is None


@pytest.fixture
def aged(results_of: Callable[..., Results]) -> Results:
    return results_of({"records/a.csv": TABLE})


def test_the_notes_name_the_oldest_range(aged: Results) -> None:
    tree = oldest(aged.trees)
    assert tree is not None
    assert tree["tree"] == "W1"
    (note,) = tree_notes(aged.trees, scales("metric"))  # it is the stoutest as well: one letter
    assert note.lead == "Stoutest, and oldest range of age"
    assert note.values[-1][0].text.startswith("about 4")
    assert note.values[-1][1] == "by a rule of thumb"


def test_the_oldest_range_is_a_living_trees(results_of: Callable[..., Results]) -> None:
    head, *rows = TABLE.splitlines()
    table = "\n".join([head + ",status", *(f"{row},dead" for row in rows[1:3]), rows[0], rows[3]])
    tree = oldest(results_of({"records/a.csv": table}).trees)
    assert tree is not None
    assert tree["tree"] == "P1"


def test_panel_and_table_show_ages_and_growth(aged: Results, tmp_path: Path) -> None:
    build_site(aged, tmp_path / "site")
    script = (tmp_path / "site" / "data" / "map.js").read_text("utf-8")
    data = script.partition("parse('")[2].rpartition("')")[0].replace("\\\\", "\\")
    columns = json.loads(data)["trees"]
    by_tree = {name: index for index, name in enumerate(columns["id"])}
    assert columns["age"][by_tree["P1"]] == "35–37 years since planting"
    assert columns["age_ends"][by_tree["P1"]] == [35, 37]
    assert columns["age_start"] == [0 if name == "P1" else -1 for name in columns["id"]]
    assert columns["age"][by_tree["U1"]] == ""
    assert columns["growth"][by_tree["W1"]].replace("\u00a0", " ") == "1.50 cm a year"
    table = (tmp_path / "site" / "trees.html").read_text("utf-8")
    assert "Age, years" in table
    assert "Grew a year, cm" in table
    assert "35–37" in table
    assert "rule of thumb" in table


def test_the_panel_rounds_a_number_once(results_of: Callable[..., Results], tmp_path: Path) -> None:
    # 150 / π = 47.746: 47.7 in the working, and not 47.75 and then 47.8 above it.
    results = results_of({"records/a.csv": "tree,girth_cm,lat,lon\n1,150,45.1,7.1\n"})
    build_site(results, tmp_path / "site")

    assert '"diameter_cm":[47.7465]' in (tmp_path / "site" / "data" / "map.js").read_text("utf-8")
    assert results.workings["1"][0].result.startswith("47.7 ")


def test_a_survey_without_ages_has_no_empty_columns(
    results_of: Callable[..., Results], tmp_path: Path
) -> None:
    results = results_of({"records/a.csv": "tree,girth_cm,lat,lon\n1,90,45.1,7.1\n"})
    build_site(results, tmp_path / "site")
    table = (tmp_path / "site" / "trees.html").read_text("utf-8")
    assert "Age, years" not in table
    assert "Grew" not in table
    assert len(tree_notes(results.trees, scales("metric"))) == 1
