"""Diameter, height and size classes: lower limit inclusive, upper exclusive, always printed."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mapper import metrics
from mapper.errors import InputError
from mapper.language import later, say
from mapper.reference import rows
from mapper.survey import Survey

HEIGHT_CLASS_M = 5.0
CM_PER_INCH = 2.54
# What a survey in US units has instead, unless it sets a width: 2 in and 10 ft.
US_DIAMETER_CLASS_CM = 2 * CM_PER_INCH
US_HEIGHT_CLASS_M = 10 * 0.3048
# What foresters call the wood of a conifer and of a broadleaf; "" is for every tree.
GROUPS = {"conifer": "softwood", "broadleaf": "hardwood"}
TOO_THIN = later("thinner than the thinnest class of the scheme")
NO_KIND = later("its kind is not known, and the scheme differs for softwoods and hardwoods")


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
    asked = "diameter_class" in survey.measure.model_fields_set
    ours = US_DIAMETER_CLASS_CM if survey.units == "us" else survey.measure.diameter_class_cm
    width = survey.measure.diameter_class_cm if asked else ours
    inches = width / CM_PER_INCH
    whole_inches = abs(inches - round(inches)) < 1e-6
    return even_limits(diameters_cm, width, start=width / 2 if whole_inches else 0.0)


def height_limits(heights_m: NDArray[np.float64], survey: Survey) -> Limits:
    """Classes of 5 m, or of 10 ft."""
    return even_limits(heights_m, US_HEIGHT_CLASS_M if survey.units == "us" else HEIGHT_CLASS_M)


def size_limits(survey: Survey) -> dict[str, Limits]:
    """The survey's published scheme, or the one this package starts with.

    One set of limits for all trees, called "", or one for softwoods and one for hardwoods.
    """
    schemes = list(dict.fromkeys(row["scheme"] for row in rows("size_classes")))
    scheme = survey.measure.size_classes or schemes[0]
    chosen = [row for row in rows("size_classes") if row["scheme"] == scheme]
    if not chosen:
        raise InputError(
            f"survey.toml: measure.size_classes = '{scheme}' is not a known scheme. "
            f"Known: {', '.join(sorted(schemes))}."
        )
    groups = dict.fromkeys(row["group"] for row in chosen)
    return {
        group: _scheme_limits([row for row in chosen if row["group"] == group]) for group in groups
    }


def _scheme_limits(classes: list[dict[str, str]]) -> Limits:
    lower = np.array([float(row["lower_cm"]) for row in classes])
    upper = np.array([float(row["upper_cm"] or "inf") for row in classes])
    return Limits(lower, upper, tuple(row["name"] for row in classes))


def in_group(trees: pd.DataFrame, group: str) -> NDArray[np.bool_]:
    """Which trees a set of limits is for; a tree of no known kind is in neither group."""
    everyone = np.full(len(trees), group == "")
    return everyone | (trees["leaf_kind"].map(GROUPS) == group).to_numpy()


def size_classes(trees: pd.DataFrame, survey: Survey) -> NDArray[np.object_]:
    """The size class of each tree by its classed_diameter_cm and its kind."""
    names = np.full(len(trees), "", dtype=object)
    diameter = trees["classed_diameter_cm"].to_numpy(dtype=float)
    for group, limits in size_limits(survey).items():
        names = np.where(in_group(trees, group), class_names(diameter, limits), names)
    return names


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
    """The trees with diameter and height as recorded, rounded half up, and their classes' names.

    size_reason says why a tree with a diameter is in no size class.
    """
    diameter = np.asarray(metrics.rounded_half_up(trees["diameter_cm"].to_numpy(dtype=float), 2))
    # To 0.01 m a tree of 40 ft (12.192 m) would fall below the class that starts with 40 ft.
    decimals = 3 if survey.units == "us" else 2
    height = np.asarray(metrics.rounded_half_up(trees["height_m"].to_numpy(dtype=float), decimals))
    classed = trees.assign(
        classed_diameter_cm=diameter,
        classed_height_m=height,
        diameter_class=class_names(diameter, diameter_limits(diameter, survey)),
        height_class=class_names(height, height_limits(height, survey)),
    )
    named = classed.assign(size_class=size_classes(classed, survey))
    return named.assign(size_reason=_why_unsized(named, survey))


def _why_unsized(trees: pd.DataFrame, survey: Survey) -> NDArray[np.object_]:
    """Why a tree with a diameter is in no size class, "" where it is in one or has no diameter."""
    unsized = (trees["size_class"] == "") & trees["classed_diameter_cm"].notna()
    ours = np.any([in_group(trees, group) for group in size_limits(survey)], axis=0)
    reasons = np.where(ours, say(TOO_THIN), say(NO_KIND)).astype(object)
    return np.where(unsized, reasons, "").astype(object)


def _interval_names(lower: NDArray[np.float64], upper: NDArray[np.float64]) -> tuple[str, ...]:
    return tuple(f"{low:g}-{high:g}" for low, high in zip(lower, upper, strict=True))
