"""trees → one row a stand, with what its measurements leave open."""

import re
from dataclasses import dataclass
from statistics import NormalDist

import geopandas as gpd
import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mapper import metrics
from mapper.settings import Stand
from mapper.survey import Survey

Floats = NDArray[np.float64]

# 95 % of a normal distribution lies within this many standard uncertainties.
Z95 = NormalDist().inv_cdf(0.975)
ESTIMATES = [
    "basal_area_m2_per_ha",
    "mean_diameter_cm",
    "quadratic_mean_diameter_cm",
    "mean_height_m",
    "lorey_height_m",
]
PARTS = ("low", "high", "se_sampling", "se_measurement")


@dataclass(frozen=True)
class Counted:
    """The living trees of a stand that count, each as often as its tally says."""

    diameters_cm: Floats
    diameter_sds_cm: Floats
    heights_m: Floats
    height_sds_m: Floats  # each tree's own part
    height_shared_sds_m: Floats
    basal_areas_m2: Floats


def counting(trees: pd.DataFrame, survey: Survey) -> "pd.Series[bool]":
    """Living trees at or above the survey's smallest diameter; unmeasured ones if there is none."""
    smallest = survey.measure.smallest_diameter_cm
    diameter = trees["classed_diameter_cm"]
    thick = (diameter >= smallest) | (diameter.isna() & (smallest == 0))
    return (trees["status"] == "alive") & thick


def summarise_stands(
    trees: pd.DataFrame, boundaries: gpd.GeoDataFrame, survey: Survey
) -> pd.DataFrame:
    """One row a stand, in the order of their names; trees without a stand are in none.

    `trees` are the measured trees with their classes.
    """
    names = sorted({*trees["stand"], *boundaries["stand"]} - {""}, key=natural)
    areas = dict(zip(boundaries["stand"], boundaries["area_ha"], strict=True))
    rows = [
        _stand_row(
            trees[trees["stand"] == name], survey.stand_called(name), areas.get(name), survey
        )
        for name in names
    ]
    return pd.DataFrame(rows, columns=_columns())


def natural(name: str) -> tuple[tuple[int, int, str], ...]:
    """Sort key that puts tree 9 before tree 10."""

    parts = re.findall(r"[0-9]{1,15}|[^0-9]+", name)
    return tuple((0, int(part), "") if part[0] in "0123456789" else (1, 0, part) for part in parts)


def _columns() -> list[str]:
    counts = ["trees", "trees_with_diameter", "trees_with_height", "dead_trees"]
    spread = [
        name
        for estimate in ESTIMATES
        for name in (estimate, *(f"{estimate}_{part}" for part in PARTS))
    ]
    head = ["stand", "period", "design", "selection", "area_ha", *counts, "stems_per_ha"]
    return [*head, *spread, "species_count"]


def _stand_row(
    trees: pd.DataFrame, stand: Stand, outline_ha: float | None, survey: Survey
) -> dict[str, object]:
    living = trees[counting(trees, survey)]
    counted = _counted(living)
    complete = stand.design == "complete count"
    area_ha = stand.area if stand.area is not None else outline_ha
    base = area_ha if complete and area_ha is not None else np.nan
    return {
        "stand": stand.name,
        "period": _period(trees["date"]),
        "design": stand.design,
        "selection": "" if complete else stand.selection,
        "area_ha": np.nan if area_ha is None else area_ha,
        "trees": len(counted.diameters_cm),
        "trees_with_diameter": int((~np.isnan(counted.diameters_cm)).sum()),
        "trees_with_height": int((~np.isnan(counted.heights_m)).sum()),
        "dead_trees": int(trees["tally"][trees["status"] == "dead"].sum()),
        "stems_per_ha": float(metrics.stems_per_ha(len(counted.diameters_cm), base)),
        **_estimates(counted, base, complete),
        "species_count": _species_count(living),
    }


def _species_count(living: pd.DataFrame) -> int:
    """Kinds named, those of withheld trees alone left out: a total of one would tell on them."""
    told = living[(living["species_name"] != "") & ~living["secret"]]
    return int(told["species_name"].nunique())


def _counted(living: pd.DataFrame) -> Counted:
    tally = living["tally"].to_numpy(dtype=float)
    times = np.round(tally).astype(int)

    def repeated(name: str, factor: Floats | float = 1.0) -> Floats:
        return np.repeat(living[name].to_numpy(dtype=float) * factor, times)

    # Trees of one tally share one reading: its error counts k times; sqrt(k) on each does that.
    alike = np.sqrt(np.maximum(tally, 1))
    total, shared = repeated("height_sd_m"), repeated("height_shared_sd_m")
    return Counted(
        diameters_cm=repeated("diameter_cm"),
        diameter_sds_cm=repeated("diameter_sd_cm", alike),
        heights_m=repeated("height_m"),
        height_sds_m=np.sqrt(np.maximum(total**2 - shared**2, 0)) * np.repeat(alike, times),
        height_shared_sds_m=shared,
        basal_areas_m2=repeated("basal_area_m2"),
    )


def _estimates(counted: Counted, base_ha: float, complete: bool) -> dict[str, float]:
    """Each figure with its 95 % interval, which only a complete count has."""
    values = _values(counted, base_ha)
    nothing = dict.fromkeys(ESTIMATES, np.nan)
    errors = _errors(counted, base_ha) if complete else nothing
    missing = _missing_errors(counted) if complete else nothing
    row: dict[str, float] = {}
    for name in ESTIMATES:
        half = Z95 * float(metrics.combined_sd(errors[name], missing[name]))
        row |= {
            name: values[name],
            f"{name}_low": values[name] - half,
            f"{name}_high": values[name] + half,
            f"{name}_se_sampling": missing[name],
            f"{name}_se_measurement": errors[name],
        }
    return row


def _missing_errors(counted: Counted) -> dict[str, float]:
    """What trees without a value leave open; NaN where that cannot be said.

    Diameters are lost by accident (a cell that cannot be read), so the rest stand for them.
    Heights are measured on trees that somebody chose. Basal area is a sum: what is missing makes
    it too low.
    """
    diameters, total = counted.diameters_cm, len(counted.diameters_cm)
    whole = 0.0 if not np.isnan(diameters).any() else np.nan
    tall = 0.0 if not np.isnan(counted.heights_m).any() else np.nan
    return {
        "basal_area_m2_per_ha": whole,
        "mean_diameter_cm": float(metrics.mean_sampling_sd(diameters, total)),
        "quadratic_mean_diameter_cm": float(
            metrics.quadratic_mean_diameter_sampling_sd(diameters, total)
        ),
        "mean_height_m": tall,
        "lorey_height_m": whole + tall,
    }


def _values(counted: Counted, base_ha: float) -> dict[str, float]:
    areas, heights = counted.basal_areas_m2, counted.heights_m
    figures = [
        metrics.basal_area_per_ha(areas, base_ha),
        metrics.mean_diameter(counted.diameters_cm),
        metrics.quadratic_mean_diameter(counted.diameters_cm),
        metrics.mean_height(heights),
        metrics.lorey_height(areas, heights),
    ]
    return {name: float(figure) for name, figure in zip(ESTIMATES, figures, strict=True)}


def _errors(counted: Counted, base_ha: float) -> dict[str, float]:
    """Measurement uncertainty; NaN as soon as one tree's own is not known."""
    diameters, sds = counted.diameters_cm, counted.diameter_sds_cm
    heights, own, shared = counted.heights_m, counted.height_sds_m, counted.height_shared_sds_m
    thick, tall = ~np.isnan(diameters), ~np.isnan(heights)
    mean_d = (
        metrics.mean_sd(sds[thick], np.zeros(thick.sum()))
        if not np.isnan(sds[thick]).any()
        else np.nan
    )
    mean_h = metrics.mean_sd(own[tall], shared[tall]) if not np.isnan(own[tall]).any() else np.nan
    figures = [
        metrics.basal_area_total_sd(diameters, sds) / base_ha,
        mean_d,
        metrics.quadratic_mean_diameter_sd(diameters, sds),
        mean_h,
        metrics.lorey_height_sd(diameters, sds, heights, own, shared),
    ]
    return {name: float(figure) for name, figure in zip(ESTIMATES, figures, strict=True)}


def _period(dates: pd.Series) -> str:
    years = dates.dropna().dt.year
    if years.empty:
        return ""
    first, last = int(years.min()), int(years.max())
    return str(first) if first == last else f"{first}-{last}"
