"""The age of every tree, by the most trusted way that is open to it, or why there is none."""

import math
from dataclasses import replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mapper import metrics
from mapper.errors import InputError
from mapper.language import say
from mapper.measure.age_calibration import by_calibration
from mapper.measure.age_evidence import age_evidence
from mapper.measure.age_methods import Way, Words, by_growth_factor, by_planting, by_rings
from mapper.measure.age_urban import by_urban_equation
from mapper.survey import Survey

# Ways whose ranges hold 19 times in 20; the others are rules of thumb, without a percentage.
MEASURED_RANGES = ("planted", "own calibration", "urban equation")
SURE = 0.95
EVEN = 0.6
# What the working of an age shows besides the age.
SHOWN = [
    "planted", "rings", "ring_height_m", "ring_years_missing", "setting", "setting_given",
    "region",
    "years_since_rings", "years_since_size", "measured_from", "measured_to",
]  # fmt: skip


def tree_ages(trees: pd.DataFrame, records: pd.DataFrame, survey: Survey) -> pd.DataFrame:
    """An age for each of the trees, at its newest visit: always a range.

    `trees` and `records` are those of `Measured`. Columns: age_years, age_low_years,
    age_high_years, age_method, age_since, age_reason (why there is none), and with the prefix
    age_ what the working shows.
    """
    known = age_evidence(trees, records, survey)
    planted, rings = by_planting(known), by_rings(known)
    certain = pd.DataFrame(
        {
            "age": np.where(np.isnan(planted.age), rings.age, planted.age),
            "since": np.where(np.isnan(planted.age), rings.since, planted.since),
        },
        index=known.index,
    )
    # A year of planting that cannot be used leaves no room for a rougher guess.
    free = planted.reason == ""
    ways = (
        planted,
        rings,
        _only(by_calibration(known, certain), free),
        _only(by_urban_equation(known, survey.measure.growth_region), free),
        _only(by_growth_factor(known), free),
    )
    shown = known[SHOWN].assign(
        **{name: column for way in ways for name, column in way.shown.items()}
    )
    shown = shown.add_prefix("age_")
    return _first_open(ways, known.index).assign(age_reason=_reasons(known, ways)).join(shown)


def _only(way: Way, allowed: NDArray[np.bool_]) -> Way:
    age = np.where(allowed, way.age, np.nan)
    return replace(way, age=age)


def _first_open(ways: tuple[Way, ...], index: pd.Index) -> pd.DataFrame:
    """The first way that gives an age, for each tree."""
    given = [~np.isnan(way.age) for way in ways]
    return pd.DataFrame(
        {
            "age_years": np.select(given, [way.age for way in ways], np.nan),
            "age_low_years": np.select(given, [way.low for way in ways], np.nan),
            "age_high_years": np.select(given, [way.high for way in ways], np.nan),
            "age_method": np.select(given, [way.name for way in ways], ""),
            "age_since": np.select(given, [way.since for way in ways], ""),
        },
        index=index,
    )


def _reasons(known: pd.DataFrame, ways: tuple[Way, ...]) -> Words:
    """Why a tree has no age; empty where it has one."""
    planted, _, calibration, urban, factor = ways
    given = np.any([~np.isnan(way.age) for way in ways], axis=0)
    open_grown = (known["setting"] == "open-grown").to_numpy()
    rough = np.where(open_grown, urban.reason, factor.reason)
    refused = np.where(open_grown, "; " + factor.reason, "")
    own = np.where(calibration.reason == "", "", calibration.reason + "; ")
    cases = [
        (given, ""),
        (planted.reason != "", planted.reason),
        (known["gone"].to_numpy(), say("the age of a tree that is dead is told by its rings only")),
        ((known["species_name"] == "").to_numpy(), say("no species was named")),
        (known["diameter_cm"].isna().to_numpy(), say("no girth or diameter that can be used")),
    ]
    conditions, words = zip(*cases, strict=True)
    told = [np.broadcast_to(np.asarray(word, dtype=object), given.shape) for word in words]
    reason: Words = np.select(list(conditions), told, own + rough + refused).astype(object)
    return reason


def which_is_older(ages: pd.DataFrame, one: str, other: str) -> str:
    """A sentence about two trees of `tree_ages`: which is the older, or that we cannot tell.

    Raises
    ------
    InputError
        When there is no such tree.
    """
    for name in (one, other):
        if name not in ages.index:
            raise InputError(f"there is no tree '{name}'. Check its name in the records.")
    first, second = ages.loc[[one, other]].to_dict("records")
    for name, age in ((one, first), (other, second)):
        if pd.isna(age["age_years"]):
            return f"We cannot tell: tree {name} has no age, since {age['age_reason']}."
    ends = [float(age[f"age_{end}_years"]) for age in (first, second) for end in ("low", "high")]
    ranges = f"tree {one} {_range(ends[:2])}, tree {other} {_range(ends[2:])}"
    measured = {first["age_method"], second["age_method"]} <= set(MEASURED_RANGES)
    if measured and first["age_since"] == second["age_since"]:
        return _by_chance(one, other, float(metrics.probability_older(*ends)), ranges)
    why = "they count from different starts" if measured else "one of them is a rule of thumb"
    order = float(metrics.order_of_ranges(*ends))
    if order == 0:
        return f"We cannot tell: the ranges overlap ({ranges}), and {why}."
    older, younger = (one, other) if order > 0 else (other, one)
    return f"Tree {older} is older than tree {younger} as far as we can tell: {ranges}; {why}."


def _by_chance(one: str, other: str, chance: float, ranges: str) -> str:
    older, younger = (one, other) if chance >= 0.5 else (other, one)
    likely = max(chance, 1 - chance)
    in_100 = "more than 99" if likely > 0.99 else f"{likely * 100:.0f}"
    odds = f"{in_100} chances in 100 ({ranges})"
    if likely < EVEN:
        return f"We cannot tell: tree {older} is the older with {odds}."
    sure = "" if likely >= SURE else "probably "
    return f"Tree {older} is {sure}older than tree {younger}: {odds}."


def _range(ends: list[float]) -> str:
    low, high = (round(end, 6) for end in ends)
    return f"{math.floor(low)} to {math.ceil(high)} years"
