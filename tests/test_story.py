"""The first sentences: how big the trees are and what changed, never surer than the measuring."""

import math
from collections.abc import Callable

import pandas as pd
import pytest

from mapper.render.index_page import index_page, tree_notes
from mapper.render.quantities import METRIC, scales
from mapper.render.sheets import site_of
from mapper.render.story import how_big, what_changed
from mapper.summarise import Results


def visits(*rows: tuple[str, str, str, float, float]) -> pd.DataFrame:
    names = ["tree", "date", "status", "diameter_cm", "diameter_sd_cm"]
    return pd.DataFrame(rows, columns=names)


def test_the_middle_half_is_that_of_the_living():
    table = pd.DataFrame(
        {"status": ["alive"] * 9 + ["dead"], "girth_cm": [*range(10, 100, 10), 999]}
    )
    assert how_big(table, METRIC) == "Half of them are between 30\u00a0cm and 70\u00a0cm round."
    assert how_big(table.head(7), METRIC) == ""
    assert "in round" in how_big(table, scales("us"))


def test_growth_is_a_mean_of_years_with_its_error():
    """4 cm of diameter in 2 years: 2π cm of girth a year; ± 2π √2 sd / 2 years."""
    told = what_changed(
        visits(("a", "2024-05-01", "", 30, 0.1), ("a", "2026-05-01", "", 34, 0.1)), METRIC
    )
    span = 730 / 365.25
    growth, half = math.pi * 4 / span, 2 * math.pi * 0.1 * math.sqrt(2) / span
    grown = f"{growth:.2f}\u00a0±\u00a0{half:.2f}\u00a0cm"
    assert told == f"We measured 1 tree again: on average they grew {grown} a year round."


def test_less_than_the_error_is_not_called_growth():
    told = what_changed(
        visits(("a", "2024-05-01", "", 30, 0.5), ("a", "2026-05-01", "", 30.3, 0.5)), METRIC
    )
    assert "cannot tell" in told
    assert "cm" not in told


@pytest.mark.parametrize("dates", [("2026-05-01", "2026-05-02"), ("", "2026"), ("", "")])
def test_one_year_alone_shows_no_change(dates: tuple[str, str]):
    rows = visits(("a", dates[0], "", 30, 0.1), ("a", dates[1], "", 31, 0.1))
    assert what_changed(rows, METRIC) == ""


def test_who_died_is_counted_once_and_does_not_grow():
    told = what_changed(
        visits(("a", "2024", "alive", 30, 0.1), ("a", "2026", "dead", 40, 0.1)), METRIC
    )
    assert told == "1 that lived last time is dead or gone."


def test_a_single_tree_is_not_called_the_stoutest(results_of: Callable[..., Results]):
    results = results_of({"records/trees.csv": "tree,species,girth_cm\n1,oak,212\n"})
    (note,) = tree_notes(results.trees, METRIC)
    assert note.lead == "The tree we measured"


def test_places_that_trees_keep_to_themselves_are_not_asked_for(results_of: Callable[..., Results]):
    table = "tree,species,girth_cm,lat,lon,privacy\n1,oak,212,45.1,7.1,hidden\n"
    results = results_of({"records/trees.csv": table})
    assert "keeps the places" in index_page(results, site_of(results)).no_map
