"""Ages and growth as pages say them: always a range, and what it is worth."""

import math

import numpy as np
import pandas as pd

from mapper.language import later, say
from mapper.measure.ages import MEASURED_RANGES
from mapper.render.quantities import Measured, Scale, measured
from mapper.render.rows import Row, number, rows_of, text

SINCE = {
    "planting": later("{years} years since planting"),
    "germination": later("{years} years"),
    "ring height": later("{years} years since it was as high as the rings were counted"),
}
BY_THUMB = {
    "planting": later("{years} years since planting, by a rule of thumb"),
    "germination": later("{years} years, by a rule of thumb"),
    "ring height": later(
        "{years} years since it was as high as the rings were counted, by a rule of thumb"
    ),
}
# An age by a rule of thumb counts from nothing that another age could be held against.
NO_START = -1


def age_ends(row: Row) -> tuple[int, int] | None:
    """Whole years from and to, rounded outwards; None where there is no age."""
    ends = [number(row, f"age_{end}_years") for end in ("low", "high")]
    if not all(map(math.isfinite, ends)):
        return None
    low, high = (round(end, 6) for end in ends)
    return math.floor(low), math.ceil(high)


def is_thumb(row: Row) -> bool:
    """Whether the range has no measured width."""
    return text(row, "age_method") not in MEASURED_RANGES


def age_span(row: Row) -> str:
    """`36–37`, or `about 80–140` by a rule of thumb."""
    ends = age_ends(row)
    if ends is None:
        return ""
    span = f"{ends[0]}–{ends[1]}"
    return say("about {years}").format(years=span) if is_thumb(row) else span


def age_text(row: Row) -> str:
    """The age in words, with what it counts from and what it is worth."""
    span = age_span(row)
    if not span:
        return ""
    told = BY_THUMB if is_thumb(row) else SINCE
    return say(told.get(text(row, "age_since"), told["germination"])).format(years=span)


def growth_in_girth(row: Row, scale: Scale) -> Measured | None:
    """Growth of the girth in a year: one decimal more than a girth has."""
    fine = Scale(scale.factor, scale.unit, scale.decimals + 1)
    return measured(number(row, "growth_girth_cm_per_year"), math.nan, fine)


def age_columns(trees: pd.DataFrame, scale: Scale) -> dict[str, list[object]]:
    """What the panel says of each tree: age and growth in words, the ends, and their start."""
    starts = list(SINCE)
    columns: dict[str, list[object]] = {"age": [], "age_ends": [], "age_start": [], "growth": []}
    for row in rows_of(trees):
        since = text(row, "age_since")
        grown = growth_in_girth(row, scale)
        counted = since in starts and not is_thumb(row)
        columns["age"].append(age_text(row))
        columns["age_ends"].append(age_ends(row))
        columns["age_start"].append(starts.index(since) if counted else NO_START)
        columns["growth"].append(say("{growth} a year").format(growth=grown.text) if grown else "")
    return columns


def oldest(trees: pd.DataFrame) -> Row | None:
    """The living tree whose range begins highest; among equals the one whose range ends higher."""
    aged = ((trees["status"] == "alive") & trees["age_low_years"].notna()).to_numpy(dtype=bool)
    at = np.flatnonzero(aged)
    ends = trees[["age_high_years", "age_low_years"]].to_numpy(dtype=float)[at]
    order = at[np.lexsort(-ends.T)]
    return next(iter(rows_of(trees.iloc[order[:1]])), None)
