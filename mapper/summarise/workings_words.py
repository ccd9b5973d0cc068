"""How numbers are written in a working."""

import math
from typing import Any

import pandas as pd

Tree = dict[Any, Any]


def sure(value: float, sd: float, unit: str) -> str:
    """The result with two standard uncertainties, or alone where none is known."""
    if pd.isna(sd):
        return f"{value:.1f} {unit}"
    return f"{value:.1f} ± {2 * sd:.1f} {unit}"


def reading(tree: Tree, name: str, unit: str) -> str:
    """The result of one reading; of several, the day's value says how sure."""
    sd = tree[f"{name}_sd_{unit}"] if tree[f"{name}_readings"] == 1 else math.nan
    return sure(tree[f"{name}_reading"], sd, unit)


def angle(degrees: float) -> str:
    """An angle inside a formula."""
    return f"{degrees:.4g}°" if degrees >= 0 else f"({minus(degrees)}°)"


def minus(number: float) -> str:
    """A number with a true minus sign."""
    return f"{number:.4g}".replace("-", "−")
