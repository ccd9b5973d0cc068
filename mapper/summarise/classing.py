"""Diameter, height and size classes: lower limit inclusive, upper exclusive, always printed."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mapper import metrics
from mapper.errors import InputError
from mapper.reference import rows
from mapper.survey import Survey

HEIGHT_CLASS_M = 5.0


@dataclass(frozen=True)
class Limits:
    """Classes of one quantity, ascending: [lower, upper) and the name of each."""

    lower: NDArray[np.float64]
    upper: NDArray[np.float64]
    names: tuple[str, ...]


def even_limits(values: NDArray[np.float64], width: float, start: float = 0.0) -> Limits:
    """Classes of one width from the lowest to the highest value, empty ones included."""
    known = values[~np.isnan(values)]
    if not known.size:
        return Limits(np.array([]), np.array([]), ())
    lowest, highest = (_class_lower(edge - start, width) for edge in (known.min(), known.max()))
    count = round((highest - lowest) / width) + 1
    # round: 3 x 5.08 must not print as 15.239999999999998
    lower = np.round(start + lowest + width * np.arange(count), 6)
    upper = np.round(lower + width, 6)
    # Below the first whole inch class there is a short one from 0.
    return Limits(np.maximum(lower, 0.0), upper, _interval_names(np.maximum(lower, 0.0), upper))


def _class_lower(value: float, width: float) -> float:
    """Lower limit of the class; below the start of the first class there is one more."""
    return float(metrics.width_class_lower(value, width)) if value >= 0 else -width


def diameter_limits(diameters_cm: NDArray[np.float64], survey: Survey) -> Limits:
    """Classes of the survey's width; an inch class carries its middle: 6 is 5 to under 7 in."""
    width = survey.measure.diameter_class_cm
    start = width / 2 if survey.measure.classes_in_inches else 0.0
    return even_limits(diameters_cm, width, start=start)


def height_limits(heights_m: NDArray[np.float64]) -> Limits:
    """Classes of 5 m."""
    return even_limits(heights_m, HEIGHT_CLASS_M)


def size_limits(survey: Survey) -> Limits:
    """The survey's published scheme, or the one this package starts with."""
    schemes = sorted({row["scheme"] for row in rows("size_classes")})
    scheme = survey.measure.size_classes or schemes[0]
    chosen = [row for row in rows("size_classes") if row["scheme"] == scheme]
    if not chosen:
        raise InputError(
            f"survey.toml: measure.size_classes = '{scheme}' is not a known scheme. "
            f"Known: {', '.join(schemes)}."
        )
    lower = np.array([float(row["lower_cm"]) for row in chosen])
    upper = np.array([float(row["upper_cm"] or "inf") for row in chosen])
    return Limits(lower, upper, tuple(row["name"] for row in chosen))


def class_names(values: NDArray[np.float64], limits: Limits) -> NDArray[np.object_]:
    """The class of each value, "" where there is none."""
    index = class_index(values, limits)
    names = np.array([*limits.names, ""], dtype=object)
    return names[index]


def class_index(values: NDArray[np.float64], limits: Limits) -> NDArray[np.int64]:
    """Position of the class of each value; the number of classes where there is none."""
    none = len(limits.lower)
    if not none:
        return np.zeros(len(values), dtype=np.int64)
    index = np.nan_to_num(metrics.interval_index(values, limits.lower), nan=none).astype(np.int64)
    return np.where(values < np.append(limits.upper, np.inf)[index], index, none)


def with_classes(trees: pd.DataFrame, survey: Survey) -> pd.DataFrame:
    """The trees with diameter and height as recorded (rounded half up) and their classes' names."""
    diameter = np.asarray(metrics.rounded_half_up(trees["diameter_cm"].to_numpy(dtype=float), 2))
    height = np.asarray(metrics.rounded_half_up(trees["height_m"].to_numpy(dtype=float), 2))
    return trees.assign(
        classed_diameter_cm=diameter,
        classed_height_m=height,
        diameter_class=class_names(diameter, diameter_limits(diameter, survey)),
        height_class=class_names(height, height_limits(height)),
        size_class=class_names(diameter, size_limits(survey)),
    )


def _interval_names(lower: NDArray[np.float64], upper: NDArray[np.float64]) -> tuple[str, ...]:
    return tuple(f"{low:g}-{high:g}" for low, high in zip(lower, upper, strict=True))
