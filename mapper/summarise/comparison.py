"""stands → every pair of them: differences, intervals, and a sentence that claims no more."""

from itertools import combinations
from typing import Any

import numpy as np
import pandas as pd

from mapper.load.plot_sizes import SAMPLED

Stand = dict[Any, Any]

SLIGHTLY = 1.1  # times
MOST_STANDS = 100  # with the most trees: pairs grow with the square
COLUMNS = [
    "kind", "stand", "other_stand", "period", "other_period", "species", "other_species",
    "quantity", "value", "other_value", "difference", "low", "high", "sentence",
]  # fmt: skip
WORDS = {
    "stems_per_ha": "number of trees on the same ground",
    "basal_area_m2_per_ha": "stem cross-section on the same ground",
    "mean_diameter_cm": "average thickness",
    "quadratic_mean_diameter_cm": "thickness of the average stem",
    "mean_height_m": "average height",
    "lorey_height_m": "height by stem size",
}


def compare_stands(stands: pd.DataFrame) -> pd.DataFrame:
    """Every pair of the largest stands, every figure both have: difference with its 95 % interval.

    Taking the two uncertainties as independent is the careful side: what both stands share (one
    tape, one pace) would partly cancel. Stems of two complete counts differ exactly.
    """
    largest = stands.loc[stands["trees"].nlargest(MOST_STANDS).index.sort_values()]
    rows = [
        difference_of(one, other, quantity) | {"kind": "stands"}
        for one, other in combinations(largest.to_dict("records"), 2)
        for quantity in WORDS
        if not np.isnan([one[quantity], other[quantity]]).any()
    ]
    return table_of(rows)


def table_of(rows: list[dict[str, object]]) -> pd.DataFrame:
    """Differences as the published table; what a row does not say is empty."""
    empty = dict.fromkeys([*COLUMNS[:8], "sentence"], "")
    numbers = dict.fromkeys(COLUMNS[8:13], float)
    return pd.DataFrame([empty | row for row in rows], columns=COLUMNS).astype(numbers)


def difference_of(one: Stand, other: Stand, quantity: str) -> dict[str, object]:
    """One figure of two rows of the stands table: difference, 95 % interval, sentence."""
    value, other_value = one[quantity], other[quantity]
    difference = other_value - value
    down, up = _reach(one, other, quantity), _reach(other, one, quantity)
    low, high = difference - down, difference + up
    return {
        "stand": one["stand"],
        "other_stand": other["stand"],
        "period": one["period"],
        "other_period": other["period"],
        "quantity": quantity,
        "value": value,
        "other_value": other_value,
        "difference": difference,
        "low": low,
        "high": high,
        "sentence": _sentence(one, other, quantity, (low, high)),
    }


def _reach(one: Stand, other: Stand, quantity: str) -> float:
    """How far below the difference (other less one) its interval reaches.

    The upper end of the one and the lower end of the other, taken together as independent: an
    interval may be wider above than below (Zou and Donner 2008, from memory).
    """
    above = one[f"{quantity}_high"] - one[quantity]
    below = other[quantity] - other[f"{quantity}_low"]
    return float(np.hypot(above, below))


def _sentence(one: Stand, other: Stand, quantity: str, interval: tuple[float, float]) -> str:
    """What the two figures say in plain words, and no more than their interval allows."""
    what = WORDS[quantity]
    if not (_is_of_the_stand(one) and _is_of_the_stand(other)):
        return f"The {what} is of the trees measured; it says nothing of those that were not."
    if quantity == "basal_area_m2_per_ha" and _unsized(one) + _unsized(other):
        return _least_sentence(one, other, _of_plots(one, other, quantity))
    low, high = interval
    if np.isnan(low + high):
        said = _difference_sentence(one, other, quantity)
        return "Among the trees measured, " + said.replace("The ", "the ", 1)
    if low <= 0 <= high and other[quantity] != one[quantity]:
        means = "plots" if _is_sampled(one) or _is_sampled(other) else "measurements"
        return f"In {what} these {means} show no difference."
    return _difference_sentence(one, other, quantity)


def _of_plots(one: Stand, other: Stand, quantity: str) -> float:
    """How far chance among the plots of either may move the difference."""
    reaches = [
        max(stand[f"{quantity}_high"] - stand[quantity], stand[quantity] - stand[f"{quantity}_low"])
        for stand in (one, other)
        if _is_sampled(stand)
    ]
    return float(np.hypot.reduce(np.array([0.0, *reaches])))


def _is_of_the_stand(stand: Stand) -> bool:
    """Whether the figures are of the stand, and not of the trees that somebody picked."""
    return stand["design"] == "complete count" or _is_sampled(stand)


def _is_sampled(stand: Stand) -> bool:
    return stand["design"] in SAMPLED and stand["selection"] != "by hand"


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
    """Trees without a size, where basal area needs one: at an angle count it does not."""
    if stand["design"] == "angle count":
        return 0
    return int(stand["trees"] - stand["trees_with_diameter"])


def _least_sentence(one: Stand, other: Stand, of_plots: float) -> str:
    """Basal area while trees lack a size: each figure is at least that much, no more is known.

    A sampled stand that lacks some has no interval at all: NaN, and nothing can be told.
    """
    quantity = "basal_area_m2_per_ha"
    # Twice an average tree for each one missing: stout enough for most, and said to be a guess.
    room = sum(
        2 * _unsized(stand) * stand[quantity] / stand["trees_with_diameter"]
        for stand in (one, other)
    )
    count = _unsized(one) + _unsized(other)
    trees = "1 tree has" if count == 1 else f"{count} trees have"
    # Written so that NaN is not enough either.
    if not abs(other[quantity] - one[quantity]) > room + of_plots:
        why = f"{trees} no size" + (", and plots are a part of the whole" if of_plots else "")
        return f"Which has the greater {WORDS[quantity]} we cannot tell: {why}."
    return _difference_sentence(one, other, quantity)[:-1] + f", though {trees} no size."
