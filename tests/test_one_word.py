"""One word, four hits: formula, source, published test and methods anchor share one name."""

import inspect
import re
from pathlib import Path

import pytest

from mapper import metrics
from mapper.line import survey_results
from mapper.reference import sources
from mapper.render import build_site
from mapper.survey import read_survey

ROOT = Path(__file__).parents[1]


@pytest.fixture(scope="module")
def demo(tmp_path_factory: pytest.TempPathFactory) -> tuple[set[str], set[str]]:
    """Anchors of the demo's methods page, and the methods that its workings name."""
    site = tmp_path_factory.mktemp("demo") / "site"
    results = survey_results(read_survey([ROOT / "demo"]))
    build_site(results, site)
    page = (site / "methods.html").read_text("utf-8")
    steps = [step for working in results.workings.values() for step in working]
    return set(re.findall(r'\bid="([a-z_0-9]+)"', page)), {step.method for step in steps}


@pytest.mark.parametrize("name", metrics.__all__)
def test_a_formula_has_source_test_and_anchor(name: str, demo: tuple[set[str], set[str]]) -> None:
    formula = getattr(metrics, name)
    assert formula.__name__ == name
    keys = re.findall(r"Source: ([A-Z]+[0-9]*)", inspect.getdoc(formula) or "")
    assert keys, "the docstring names no source"
    assert set(keys) <= set(sources())
    assert (ROOT / "tests" / "published" / f"{name}.csv").exists()
    assert name in demo[0]


def test_workings_link_to_formulas(demo: tuple[set[str], set[str]]) -> None:
    assert "height_from_angles" in demo[1]
    assert demo[1] - {""} <= set(metrics.__all__)
