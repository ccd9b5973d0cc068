"""stands → every pair of them: differences, intervals, and a sentence that claims no more."""

from itertools import combinations
from typing import Any

import numpy as np
import pandas as pd

from mapper.language import Phrase, later, say, say_count
from mapper.load.plot_sizes import SAMPLED

Stand = dict[Any, Any]

SLIGHTLY = 1.1  # times
MOST_STANDS = 100  # with the most trees: pairs grow with the square
COLUMNS = [
    "kind", "stand", "other_stand", "period", "other_period", "species", "other_species",
    "quantity", "value", "other_value", "difference", "low", "high", "sentence",
]  # fmt: skip
WORDS = {
    "stems_per_ha": later("number of trees on the same ground"),
    "basal_area_m2_per_ha": later("stem cross-section on the same ground"),
    "mean_diameter_cm": later("average thickness"),
    "quadratic_mean_diameter_cm": later("thickness of the average stem"),
    "mean_height_m": later("average height"),
    "lorey_height_m": later("height by stem size"),
    "top_height_m": later("height of the thickest trees"),
    "stand_density_index": later("crowding"),
    "gini_basal_area": later("unevenness of the stem sizes"),
}
# Put beside each other without an interval, so nothing is claimed in words.
SILENT = ("shannon", "simpson")
# A ratio whose likely ends are farther apart than this is told by its ends.
WIDE = 1.4


def compare_stands(stands: pd.DataFrame) -> pd.DataFrame:
    """Every pair of the largest stands, every figure both have: difference with its 95 % interval.

    Taking the two uncertainties as independent is the careful side: what both stands share (one
    tape, one pace) would partly cancel. Stems of two complete counts differ exactly.
    """
    largest = stands.loc[stands["trees"].nlargest(MOST_STANDS).index.sort_values()]
    rows = [
        difference_of(one, other, quantity) | {"kind": "stands"}
        for one, other in combinations(largest.to_dict("records"), 2)
        for quantity in (*WORDS, *SILENT)
        if not np.isnan([one[quantity], other[quantity]]).any()
    ]
    return table_of(rows)


def table_of(rows: list[dict[str, object]]) -> pd.DataFrame:
    """Differences as the published table; what a row does not say is empty."""
    empty = dict.fromkeys([*COLUMNS[:8], "sentence"], "")
    numbers = dict.fromkeys(COLUMNS[8:13], float)
    return pd.DataFrame([empty | row for row in rows], columns=COLUMNS).astype(numbers)


def difference_of(
    one: Stand, other: Stand, quantity: str, among: bool = False
) -> dict[str, object]:
    """One figure of two rows of the stands table: difference, 95 % interval, sentence.

    `among` says in the sentence that it is about the trees measured.
    """
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
        "sentence": _sentence(one, other, quantity, (low, high), among),
    }


def _reach(one: Stand, other: Stand, quantity: str) -> float:
    """How far below the difference (other less one) its interval reaches.

    The upper end of the one and the lower end of the other, taken together as independent: an
    interval may be wider above than below (Zou and Donner 2008, from memory).
    """
    above = one.get(f"{quantity}_high", np.nan) - one[quantity]
    below = other[quantity] - other.get(f"{quantity}_low", np.nan)
    return float(np.hypot(above, below))


def _sentence(
    one: Stand, other: Stand, quantity: str, interval: tuple[float, float], among: bool
) -> str:
    """What the two figures say in plain words, and no more than their interval allows."""
    if quantity in SILENT:
        return ""
    if not (_is_of_the_stand(one) and _is_of_the_stand(other)):
        return say(
            "The {what} is of the trees measured; it says nothing of those that were not."
        ).format(what=say(WORDS[quantity]))
    if quantity == "basal_area_m2_per_ha" and _unsized(one) + _unsized(other):
        return _least_sentence(one, other, _of_plots(one, other, quantity))
    low, high = interval
    among = among or bool(np.isnan(low + high))
    if low <= 0 <= high and other[quantity] != one[quantity]:
        by_plots = _is_sampled(one) or _is_sampled(other)
        said = NO_DIFFERENCE["plots" if by_plots else "measurements"][among]
        return say(said).format(what=say(WORDS[quantity]))
    return _difference_sentence(one, other, quantity, among)


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


# Each twice: of the stands, and of the trees measured.
NO_DIFFERENCE = {
    "plots": (
        later("In {what} these plots show no difference."),
        later("Among the trees measured, in {what} these plots show no difference."),
    ),
    "measurements": (
        later("In {what} these measurements show no difference."),
        later("Among the trees measured, in {what} these measurements show no difference."),
    ),
}
SAME = (
    later("{one} and {other} have the same {what}."),
    later("Among the trees measured, {one} and {other} have the same {what}."),
)
NONE_COUNTS = (
    later("{more} has trees, {less} has none that counts."),
    later("Among the trees measured, {more} has trees, {less} has none that counts."),
)
SLIGHTLY_MORE_TREES = (
    later("{more} has slightly more trees on the same ground than {less}."),
    later(
        "Among the trees measured, {more} has slightly more trees on the same ground than {less}."
    ),
)
TIMES_AS_MANY_TREES = (
    later("{more} has {times} as many trees on the same ground as {less}."),
    later(
        "Among the trees measured, {more} has {times} as many trees on the same ground as {less}."
    ),
)
SLIGHTLY_GREATER = (
    later("The {what} of {more} is slightly greater than that of {less}."),
    later(
        "Among the trees measured, the {what} of {more} is slightly greater than that of {less}."
    ),
)
TIMES_AS_GREAT = (
    later("The {what} of {more} is {times} that of {less}."),
    later("Among the trees measured, the {what} of {more} is {times} that of {less}."),
)


def _difference_sentence(one: Stand, other: Stand, quantity: str, among: bool = False) -> str:
    what = say(WORDS[quantity])
    if other[quantity] == one[quantity]:
        return say(SAME[among]).format(one=one["stand"], other=other["stand"], what=what)
    more, less = (other, one) if other[quantity] > one[quantity] else (one, other)
    names = {"more": more["stand"], "less": less["stand"]}
    if less[quantity] == 0:
        return say(NONE_COUNTS[among]).format(**names)
    ratio = more[quantity] / less[quantity]
    if quantity == "stems_per_ha":
        said = SLIGHTLY_MORE_TREES if ratio < SLIGHTLY else TIMES_AS_MANY_TREES
    else:
        said = SLIGHTLY_GREATER if ratio < SLIGHTLY else TIMES_AS_GREAT
    times = _times(ratio, *_ratio_ends(more, less, quantity))
    return say(said[among]).format(what=what, times=times, **names)


def _ratio_ends(more: Stand, less: Stand, quantity: str) -> tuple[float, float]:
    """95 % ends of a ratio of two independent figures; NaN where one of them has no interval.

    As for differences, on the scale of logarithms (Zou and Donner 2008, from memory).
    """
    ends = {
        (side, end): stand[f"{quantity}_{end}"] / stand[quantity]
        for side, stand in (("more", more), ("less", less))
        for end in ("low", "high")
    }
    with np.errstate(invalid="ignore", divide="ignore"):
        reach = {key: np.abs(np.log(max(value, 0.0))) for key, value in ends.items()}
    ratio = more[quantity] / less[quantity]
    down = np.hypot(reach["more", "low"], reach["less", "high"])
    up = np.hypot(reach["more", "high"], reach["less", "low"])
    return float(ratio * np.exp(-down)), float(ratio * np.exp(up))


def _times(ratio: float, low: float, high: float) -> str:
    """`about twice`; where that would say more than is known, the ends: `1.3 to 2.9 times`."""
    if high > WIDE * low:
        # What differs by chance alone was told before: here the lower end lies at 1 or above.
        return say("{low:.1f} to {high:.1f} times").format(low=max(low, 1.0), high=high)
    if abs(ratio - round(ratio)) <= 0.1 * ratio and round(ratio) >= 2:
        if round(ratio) == 2:
            return say("about twice")
        return say("about {n} times").format(n=round(ratio))
    return say("about {n:.1f} times").format(n=ratio)


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
    # Written so that NaN is not enough either.
    if not abs(other[quantity] - one[quantity]) > room + of_plots:
        return _cannot_tell(count, bool(of_plots)).format(n=count, what=say(WORDS[quantity]))
    unsized = say_count("But {n} tree has no size.", "But {n} trees have no size.", count)
    return f"{_difference_sentence(one, other, quantity)} {unsized.format(n=count)}"


def _cannot_tell(count: int, on_plots: bool) -> Phrase:
    if on_plots:
        return say_count(
            "Which has the greater {what} we cannot tell: {n} tree has no size, and plots are a "
            "part of the whole.",
            "Which has the greater {what} we cannot tell: {n} trees have no size, and plots are a "
            "part of the whole.",
            count,
        )
    return say_count(
        "Which has the greater {what} we cannot tell: {n} tree has no size.",
        "Which has the greater {what} we cannot tell: {n} trees have no size.",
        count,
    )
