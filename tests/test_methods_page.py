"""The sheet of methods: one entry a formula, its uncertainty folded in, what comes out first."""

import inspect
import re

import pytest

from mapper import metrics
from mapper.render.methods import method_from, methods_page
from mapper.render.sheets import site_of
from mapper.summarise import Results


def test_an_uncertainty_lies_with_its_formula(longleaf: Results) -> None:
    page = methods_page(site_of(longleaf))
    methods = [method for chapter in page.chapters for method in chapter.methods]
    folded = {method.how_sure.name: method.name for method in methods if method.how_sure}

    assert folded["height_from_angles_sd"] == "height_from_angles"
    assert sorted([*folded, *(method.name for method in methods)]) == sorted(metrics.__all__)


@pytest.mark.parametrize("name", metrics.__all__)
def test_a_result_says_first_what_comes_out(name: str) -> None:
    method = method_from(name, inspect.getdoc(getattr(metrics, name)) or "")

    assert method.results
    for result in method.results:
        assert not re.match("No number|False|0 where", result.meaning), "say what comes out"
        assert ". no number" not in result.meaning
        assert not re.search(r"\b(per|kg)$", result.name)


def test_signs_are_set_as_in_print() -> None:
    height = method_from("a", "Sum.\n\nh = sqrt(a * b) - pi *\n(c * d)\n")

    assert height.equation == ("h = √(a × b) − π ×", "(c × d)")
