"""How numbers are written in a working."""

import math
import re
from dataclasses import replace
from typing import Any

import pandas as pd

from mapper.language import later, running, say
from mapper.reference import rows
from mapper.summarise.results import Step

Tree = dict[Any, Any]
US = "us"  # a tree of a survey in US units carries this as true


# Words of the records that a working repeats; `say` finds them by themselves.
CODES = (
    later("tape"), later("string"), later("diameter tape"), later("calipers"), later("by eye"),
    later("reported"), later("taped"), later("paced"), later("ranged"),
    later("woodland"), later("open-grown"),
    later("cedar/larch"), later("Douglas-fir"), later("true fir/hemlock"), later("pine"),
    later("spruce"), later("aspen/alder/cottonwood/willow"), later("soft maple/birch"),
    later("mixed hardwood"), later("hard maple/oak/hickory/beech"),
)  # fmt: skip
# A point between two digits: in a formula, and in what was read.
POINT = re.compile(r"(?<=\d)\.(?=\d)")


def with_local_numbers(step: Step) -> Step:
    """The step with its numbers as the running language writes them."""
    sign = running().number(".")
    if sign == ".":
        return step

    def written(text: str) -> str:
        return POINT.sub(sign, text)

    return replace(
        step,
        inputs=written(step.inputs),
        formula=written(step.formula),
        result=written(step.result),
        note=written(step.note),
    )


def span(low: str, high: str) -> str:
    """`12 to 15`, of numbers or of formulas."""
    return say("{low} to {high}").format(low=low, high=high)


def records(trees: pd.DataFrame) -> list[Tree]:
    """The rows as dictionaries, read column by column: pandas' own way is several times slower."""
    names = list(trees.columns)
    columns = (trees.iloc[:, number].tolist() for number in range(len(names)))
    return [dict(zip(names, cells, strict=True)) for cells in zip(*columns, strict=True)]


def sure(tree: Tree, value: float, sd: float, unit: str) -> str:
    """The result with two standard uncertainties, or alone where none is known.

    In a survey in US units both units, each rounded from the value itself.
    """
    shown = _sure(value, sd, unit)
    if not tree.get(US, False):
        return shown
    in_us, factor = us_unit(unit)
    return f"{shown} ({_sure(value * factor, sd * factor, in_us)})"


def _sure(value: float, sd: float, unit: str) -> str:
    if pd.isna(sd):
        return f"{value:.1f} {unit}"
    return f"{value:.1f} ± {2 * sd:.1f} {unit}"


def us_unit(unit: str) -> tuple[str, float]:
    """The sign of the US unit that goes with a metric one, and how many of it make one."""
    sizes = {row["unit"]: float(row["factor"]) for row in rows("units")}
    return {
        "cm": ("in", sizes["cm"] / sizes["in"]),
        "m": ("ft", 1 / sizes["ft"]),
        "m²": ("ft²", 1 / sizes["ft"] ** 2),
    }[unit]


def reading(tree: Tree, name: str, unit: str) -> str:
    """The result of one reading; of several, the day's value says how sure."""
    sd = tree[f"{name}_sd_{unit}"] if tree[f"{name}_readings"] == 1 else math.nan
    return sure(tree, tree[f"{name}_reading"], sd, unit)


def angle(degrees: float) -> str:
    """An angle inside a formula."""
    return f"{degrees:.4g}°" if degrees >= 0 else f"({minus(degrees)}°)"


def minus(number: float) -> str:
    """A number with a true minus sign."""
    return f"{number:.4g}".replace("-", "−")
