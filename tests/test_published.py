"""Every formula against numbers that its source prints, or that were worked by hand from it.

One file of ``published/`` a formula, of the same name. The tolerance is half the last printed
digit, or stands with its reason in the column ``where``. The id of a failing test is the citation.
"""

import csv
import re
from inspect import getdoc, signature
from pathlib import Path

import pytest

from mapper import metrics
from mapper.reference import sources

FOLDER = Path(__file__).parent / "published"


def numbers(cell: str) -> float | list[float]:
    """One number, or a list where the cell holds several with spaces between them."""
    values = [float(word) for word in cell.split()]
    return values if len(values) > 1 else values[0]


def cases() -> list[dict[str, str]]:
    return [
        {"formula": path.stem, **row}
        for path in sorted(FOLDER.glob("*.csv"))
        for row in csv.DictReader(path.read_text(encoding="utf-8").splitlines())
    ]


CASES = [
    pytest.param(row, id=f"{row['formula']}: {row['source']}, {row['where']}") for row in cases()
]


@pytest.mark.parametrize("row", CASES)
def test_formula_matches_its_source(row):
    formula = getattr(metrics, row["formula"])

    result = formula(*(numbers(row[name]) for name in signature(formula).parameters))

    expected, tolerance = numbers(row["expected"]), float(row["tolerance"])
    assert result == pytest.approx(expected, rel=0, abs=tolerance, nan_ok=True)


@pytest.mark.parametrize("row", CASES)
def test_case_names_a_known_source_and_a_place(row):
    assert row["source"] in sources()
    assert row["where"].strip()


@pytest.mark.parametrize("name", metrics.__all__)
def test_every_formula_has_published_cases(name):
    assert [row for row in cases() if row["formula"] == name]


def test_every_file_of_cases_belongs_to_a_formula():
    assert {path.stem for path in FOLDER.glob("*.csv")} <= set(metrics.__all__)


def test_every_formula_of_every_module_is_public():
    written = {
        name
        for path in Path(metrics.__file__).parent.glob("*.py")
        for name in re.findall(r"^def ([a-z]\w*)\(", path.read_text(encoding="utf-8"), re.M)
    }
    assert written == set(metrics.__all__)


@pytest.mark.parametrize("name", metrics.__all__)
def test_docstring_cites_a_known_source_and_the_place_in_it(name):
    cited = re.findall(r"^Source: (\w+), \S", getdoc(getattr(metrics, name)), re.M)

    assert len(cited) == 1
    assert cited[0] in sources()


@pytest.mark.parametrize("name", metrics.__all__)
def test_docstring_has_the_parts_that_the_page_of_methods_shows(name):
    formula = getattr(metrics, name)
    summary, equation, *rest = getdoc(formula).split("\n\n")

    assert summary.endswith(".")
    assert "\n" not in summary
    assert " = " in equation
    assert [part.split("\n")[0] for part in rest[:1]] == ["Parameters"]
    for heading in ("Returns\n-------", "Notes\n-----", "Examples\n--------"):
        assert heading in getdoc(formula)
    for parameter in signature(formula).parameters:
        assert re.search(rf"^(\w+, )*{parameter}(, \w+)*$", getdoc(formula), re.M)
