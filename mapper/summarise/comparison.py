"""stands → every pair of them: differences, intervals, and a sentence that claims no more."""

from itertools import combinations
from typing import Any

import numpy as np
import pandas as pd

Stand = dict[Any, Any]

SLIGHTLY = 1.1  # times
COLUMNS = ["stand", "other_stand", "quantity", "value", "other_value", "difference", "low", "high"]
WORDS = {
    "stems_per_ha": "number of trees on the same ground",
    "basal_area_m2_per_ha": "stem cross-section on the same ground",
    "mean_diameter_cm": "average thickness",
    "quadratic_mean_diameter_cm": "thickness of the average stem",
    "mean_height_m": "average height",
    "lorey_height_m": "height by stem size",
}


def compare_stands(stands: pd.DataFrame) -> pd.DataFrame:
    """Every pair of stands, every figure both have: difference with its 95 % interval.

    Taking the two uncertainties as independent is the careful side: what both stands share (one
    tape, one pace) would partly cancel. Stems of two complete counts differ exactly.
    """
    rows = [
        _difference(one, other, quantity)
        for one, other in combinations(stands.to_dict("records"), 2)
        for quantity in WORDS
        if not np.isnan([one[quantity], other[quantity]]).any()
    ]
    return pd.DataFrame(rows, columns=[*COLUMNS, "sentence"])


def _difference(one: Stand, other: Stand, quantity: str) -> dict[str, object]:
    value, other_value = one[quantity], other[quantity]
    difference = other_value - value
    half = float(np.hypot(_half(one, quantity), _half(other, quantity)))
    return {
        "stand": one["stand"],
        "other_stand": other["stand"],
        "quantity": quantity,
        "value": value,
        "other_value": other_value,
        "difference": difference,
        "low": difference - half,
        "high": difference + half,
        "sentence": _sentence(one, other, quantity, half),
    }


def _half(stand: Stand, quantity: str) -> float:
    """Half the 95 % interval; 0 for a count, NaN where there is none."""
    if quantity == "stems_per_ha":
        return 0.0 if stand["design"] == "complete count" else np.nan
    return float(stand[f"{quantity}_high"] - stand[f"{quantity}_low"]) / 2


def _sentence(one: Stand, other: Stand, quantity: str, half: float) -> str:
    """What the two figures say in plain words, and no more than their interval allows."""
    what = WORDS[quantity]
    if not one["design"] == other["design"] == "complete count":
        return f"The {what} is of the trees measured; it says nothing of those that were not."
    if quantity == "basal_area_m2_per_ha" and _unsized(one) + _unsized(other):
        return _least_sentence(one, other)
    if np.isnan(half):
        said = _difference_sentence(one, other, quantity)
        return "Among the trees measured, " + said.replace("The ", "the ", 1)
    if abs(other[quantity] - one[quantity]) <= half:
        return f"In {what} these measurements show no difference."
    return _difference_sentence(one, other, quantity)


def _difference_sentence(one: Stand, other: Stand, quantity: str) -> str:
    if other[quantity] == one[quantity]:
        return f"{one['stand']} and {other['stand']} have the same {WORDS[quantity]}."
    more, less = (other, one) if other[quantity] > one[quantity] else (one, other)
    if less[quantity] == 0:
        return f"{more['stand']} has trees, {less['stand']} has none that counts."
    ratio = more[quantity] / less[quantity]
    if quantity == "stems_per_ha":
        many = "slightly more" if ratio < SLIGHTLY else f"{_times(ratio)} as many"
        link = "than" if ratio < SLIGHTLY else "as"
        return f"{more['stand']} has {many} trees on the same ground {link} {less['stand']}."
    greater = "slightly greater than" if ratio < SLIGHTLY else _times(ratio)
    return f"The {WORDS[quantity]} of {more['stand']} is {greater} that of {less['stand']}."


def _times(ratio: float) -> str:
    if abs(ratio - round(ratio)) <= 0.1 * ratio and round(ratio) >= 2:
        return "about twice" if round(ratio) == 2 else f"about {round(ratio)} times"
    return f"about {ratio:.1f} times"


def _unsized(stand: Stand) -> int:
    return int(stand["trees"] - stand["trees_with_diameter"])


def _least_sentence(one: Stand, other: Stand) -> str:
    """Basal area while trees lack a size: each figure is at least that much, no more is known."""
    quantity = "basal_area_m2_per_ha"
    # Twice an average tree for each one missing: stout enough for most, and said to be a guess.
    room = sum(
        2 * _unsized(stand) * stand[quantity] / stand["trees_with_diameter"]
        for stand in (one, other)
    )
    count = _unsized(one) + _unsized(other)
    trees = "1 tree has" if count == 1 else f"{count} trees have"
    if abs(other[quantity] - one[quantity]) <= room:
        return f"Which has the greater {WORDS[quantity]} we cannot tell: {trees} no size."
    return _difference_sentence(one, other, quantity)[:-1] + f", though {trees} no size."
