"""Each formula, broken on purpose as a slip of the pen would: some published case must fail.

A mutant has one operator of the function's body exchanged (+ for -, * for /, ** for *) or one of
tan, sin, cos, sqrt exchanged. It is caught when any row of tests/published/NAME.csv is missed.
"""

import ast
import copy
import csv
import inspect
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest

from mapper import metrics

FOLDER = Path(__file__).parent / "published"
SWAPS: dict[type[ast.operator], type[ast.operator]] = {
    ast.Add: ast.Sub,
    ast.Sub: ast.Add,
    ast.Mult: ast.Div,
    ast.Div: ast.Mult,
    ast.Pow: ast.Mult,
}
NAMES = {"tan": "sin", "sin": "cos", "cos": "sin", "sqrt": "square", "floor": "ceil"}

# Broken so they give the same numbers: how finely a curve is looked at, where a series takes over.
NUMERICAL = {
    "urban_equation_rises": {
        "round((highest_size - lowest_size) / STEP_CM) + 1",
        "highest_size - lowest_size",
    },
    "student_t": {"np.floor", "SERIES_ENDS + 1"},
}


def places(function: ast.FunctionDef) -> Iterator[tuple[int, str]]:
    """Number and line of every node that can be broken, docstring left out."""
    for number, node in enumerate(ast.walk(function)):
        swappable = isinstance(node, ast.BinOp) and type(node.op) in SWAPS
        named = isinstance(node, ast.Attribute) and node.attr in NAMES
        if swappable or named:
            yield number, f"{ast.unparse(node)}"


def mutant(module: ModuleType, name: str, place: int) -> Callable[..., object]:
    """The function with one node broken, everything else of its module as it is."""
    tree = copy.deepcopy(ast.parse(inspect.getsource(module)))
    (function,) = (
        node for node in tree.body if isinstance(node, ast.FunctionDef) and node.name == name
    )
    node = list(ast.walk(function))[place]
    if isinstance(node, ast.BinOp):
        node.op = SWAPS[type(node.op)]()
    elif isinstance(node, ast.Attribute):
        node.attr = NAMES[node.attr]
    space: dict[str, object] = {"__name__": module.__name__}
    exec(compile(ast.fix_missing_locations(tree), "mutant", "exec"), space)
    broken = space[name]
    assert callable(broken)
    return broken


def cell(text: str) -> float | list[float]:
    values = [float(word) for word in text.split()]
    return values if len(values) > 1 else values[0]


def missed(function: Callable[..., object], name: str) -> bool:
    """Whether any published case fails."""
    text = (FOLDER / f"{name}.csv").read_text("utf-8")
    for row in csv.DictReader(text.splitlines()):
        parameters = inspect.signature(getattr(metrics, name)).parameters
        try:
            with np.errstate(all="ignore"):
                result = np.asarray(function(*(cell(row[key]) for key in parameters)), dtype=float)
        except (TypeError, ValueError, ZeroDivisionError, IndexError):
            return True
        expected, tolerance = np.asarray(cell(row["expected"])), float(row["tolerance"])
        near = np.abs(result - expected) <= tolerance * (1 + 1e-9)
        if not np.all(near | (np.isnan(result) & np.isnan(expected))):
            return True
    return False


def mutants() -> Iterator[object]:
    for name in metrics.__all__:
        module = sys.modules[getattr(metrics, name).__module__]
        tree = ast.parse(inspect.getsource(module))
        (function,) = (
            node for node in tree.body if isinstance(node, ast.FunctionDef) and node.name == name
        )
        for place, code in places(function):
            if code not in NUMERICAL.get(name, set()):
                yield pytest.param(name, place, id=f"{name}: {code}")


@pytest.mark.parametrize(("name", "place"), list(mutants()))
def test_a_broken_formula_is_caught(name: str, place: int) -> None:
    module = sys.modules[getattr(metrics, name).__module__]
    assert missed(mutant(module, name, place), name), "no published case notices"


def test_the_formulas_themselves_miss_nothing() -> None:
    assert [name for name in metrics.__all__ if missed(getattr(metrics, name), name)] == []
