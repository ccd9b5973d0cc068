"""The height of every record, by the best that was handed in."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mapper import metrics
from mapper.check.height_sets import Flags, complete_sets, named_sets
from mapper.measure.height_formulas import FORMULAS, HeightFormula, amounts, spreads_of
from mapper.measure.inputs import Floats, spreads
from mapper.reference.height_methods import METHODS

Numbers = NDArray[np.intp]


@dataclass(frozen=True)
class _Heights:
    """What every method says, a row a method, and how sure its inputs are."""

    values: Floats
    known: dict[str, Floats]
    total: dict[str, Floats]
    shared: dict[str, Floats]


def measure_heights(values: pd.DataFrame) -> pd.DataFrame:
    """Height of each record by the method of METHODS that is trusted most of those it holds whole.

    Columns: height_m, height_sd_m, height_shared_sd_m (the part that trees measured with one pace,
    one eye height or one stick have in common), height_method, height_formula (a function of
    mapper.metrics), typed_height_m, typed_height_sd_m, stem_length_m and stem_length_sd_m where the
    tree leans, and other_height_m, other_height_sd_m, other_height_method by the next best method.
    """
    complete = complete_sets(values)
    by_method = _by_method(values, complete)
    first, second = _best_two(values, np.isfinite(by_method.values))
    height, sd, shared = _chosen(by_method, first)
    other, other_sd, _ = _chosen(by_method, second)
    names, formulas = _words("name"), _words("formula")
    typed = np.isin(first, np.flatnonzero(formulas == ""))
    told = values["height_method"].astype(str).to_numpy(dtype=object)
    lengths = _stem_lengths(values, height, sd, names[first])
    return pd.DataFrame(
        {
            "height_m": height,
            "height_sd_m": sd,
            "height_shared_sd_m": shared,
            "height_method": np.where(typed & (told != ""), told, names[first]),
            "height_formula": formulas[first],
            "typed_height_m": by_method.known["height_m"],
            "typed_height_sd_m": by_method.total["height_sd"],
            "other_height_m": other,
            "other_height_sd_m": other_sd,
            "other_height_method": names[second],
            "stem_length_m": lengths[0],
            "stem_length_sd_m": lengths[1],
        },
        index=values.index,
    )


def _words(field: str) -> NDArray[np.object_]:
    """A field of METHODS as an array; what stands at -1, at its end, is for no method."""
    return np.array([*(getattr(method, field) for method in METHODS), ""], dtype=object)


def _formula(number: int) -> HeightFormula:
    return FORMULAS[METHODS[number].name, METHODS[number].formula]


def _by_method(values: pd.DataFrame, complete: Flags) -> _Heights:
    known = amounts(values)
    total, shared = spreads_of(values, known)
    heights = np.full(complete.shape, np.nan)
    for number, whole in enumerate(complete):
        rows = np.flatnonzero(whole)
        formula = _formula(number)
        heights[number, rows] = formula.height(*(known[name][rows] for name in formula.inputs))
    return _Heights(heights, known, total, shared)


def _best_two(values: pd.DataFrame, usable: Flags) -> tuple[Numbers, Numbers]:
    """Numbers of the method trusted most and of the next one that is computed; -1 for none."""
    named = named_sets(values)
    typed = np.array([not method.formula for method in METHODS])
    for number, method in enumerate(METHODS):
        if method.without:
            usable[number] &= values[f"{method.without}_deg"].isna().to_numpy() | named[number]
    # A named method comes first, but a typed height never before one that is computed.
    rank = np.arange(len(METHODS), dtype=np.int8)[:, None] - np.where(
        named & ~typed[:, None], np.int8(len(METHODS)), np.int8(0)
    )
    first = _lowest(rank, usable)
    left = usable & ~typed[:, None] & (np.arange(len(METHODS))[:, None] != first)
    return first, _lowest(rank, left)


def _lowest(rank: NDArray[np.int8], usable: Flags) -> Numbers:
    ranked = np.where(usable, rank, np.iinfo(np.int8).max)
    return np.where(usable.any(axis=0), ranked.argmin(axis=0), -1)


def _chosen(by_method: _Heights, chosen: Numbers) -> tuple[Floats, Floats, Floats]:
    """Height, its whole uncertainty and the shared part, of the method chosen for each record."""
    height, total, shared = np.full((3, len(chosen)), np.nan)
    for number in range(len(METHODS)):
        rows = np.flatnonzero(chosen == number)
        if not rows.size:
            continue
        formula = _formula(number)
        height[rows] = by_method.values[number, rows]
        for answer, sds in ((total, by_method.total), (shared, by_method.shared)):
            given = {**by_method.known, **sds}
            answer[rows] = formula.sd(*(given[name][rows] for name in formula.sd_inputs))
    return height, total, shared


def _stem_lengths(
    values: pd.DataFrame, height: Floats, sd: Floats, method: NDArray[np.object_]
) -> tuple[Floats, Floats]:
    """Length along a leaning stem; a stem that lies was taped along it."""
    upright = np.where(method == "fallen taped", np.nan, height)
    offset = values["lean_offset_m"].to_numpy(dtype=float)
    length = metrics.stem_length_from_lean(upright, offset)
    offset_sd = spreads()["lean_offset", ""].sd
    return length, metrics.stem_length_from_lean_sd(upright, offset, sd, offset_sd)
