"""trees → one row a stand, with what its measurements leave open."""

import re
from statistics import NormalDist

import geopandas as gpd
import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mapper import metrics
from mapper.summarise.estimates import ESTIMATES, measurement_errors, missing_errors, values
from mapper.summarise.side_by_side import rectangles
from mapper.summarise.spacing import SPACING, spacing_figures
from mapper.survey import Survey

Floats = NDArray[np.float64]

# 95 % of a normal distribution lies within this many standard uncertainties.
Z95 = NormalDist().inv_cdf(0.975)
DIVERSITY = ["shannon", "evenness", "simpson"]
PARTS = ("low", "high", "se_sampling", "se_measurement")
SIZES = [
    "diameter_cm", "diameter_sd_cm", "height_m", "height_sd_m", "height_shared_sd_m",
    "basal_area_m2",
]  # fmt: skip


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
    stands = _declared(names, boundaries, survey)
    inside = trees[trees["stand"] != ""]
    row = pd.Index(names).get_indexer(inside["stand"])
    table = stands.join(_counts(inside, row, names, survey))
    living = counting(inside, survey).to_numpy(dtype=bool)
    figures = _estimates(inside[living], row[living], stands)
    outlines = dict(zip(boundaries["stand"], boundaries.geometry, strict=True))
    exact = survey.publish.positions == "exact"
    spacing = spacing_figures(inside[living], stands, outlines, exact)
    return table.join(figures).join(spacing)[_columns()].reset_index(drop=True)


def natural(name: str) -> tuple[tuple[int, int, str], ...]:
    """Sort key that puts tree 9 before tree 10."""

    parts = re.findall(r"[0-9]{1,15}|[^0-9]+", name)
    return tuple((0, int(part), "") if part[0] in "0123456789" else (1, 0, part) for part in parts)


def _columns() -> list[str]:
    counts = ["trees", "trees_with_diameter", "trees_with_height", "dead_trees"]
    head = ["stand", "period", "design", "selection", "area_ha", *counts, "stems_per_ha"]
    return [*head, *_spread(), "species_count", *DIVERSITY, *SPACING, "spacing_reason"]


def _spread() -> list[str]:
    """Every estimate with its interval and the two parts of its standard error."""
    return [
        name
        for estimate in ESTIMATES
        for name in (estimate, *(f"{estimate}_{part}" for part in PARTS))
    ]


def _declared(names: list[str], boundaries: gpd.GeoDataFrame, survey: Survey) -> pd.DataFrame:
    """What the survey says of each stand; figures per hectare rest on `base_ha`."""
    outlines = dict(zip(boundaries["stand"], boundaries["area_ha"], strict=True))
    rows = []
    for name in names:
        stand = survey.stand_called(name)
        complete = stand.design == "complete count"
        area = stand.area if stand.area is not None else outlines.get(name, np.nan)
        selection = "" if complete else stand.selection
        base = area if complete else np.nan
        rows.append((stand.name, stand.design, selection, area, base))
    columns = ["stand", "design", "selection", "area_ha", "base_ha"]
    table = pd.DataFrame(rows, columns=columns)
    return table.astype({"area_ha": float, "base_ha": float})


def _counts(
    trees: pd.DataFrame, row: NDArray[np.intp], names: list[str], survey: Survey
) -> pd.DataFrame:
    """How many trees of each kind every stand has."""
    living = counting(trees, survey)
    tally = trees["tally"].round()

    def counted(which: "pd.Series[bool]") -> NDArray[np.int64]:
        total = np.bincount(row, tally.where(which, 0).fillna(0), minlength=len(names))
        return total.astype(np.int64)

    stems = counted(living)
    return pd.DataFrame(
        {
            "period": _periods(trees["date"], row, len(names)),
            "trees": stems,
            "trees_with_diameter": counted(living & trees["diameter_cm"].notna()),
            "trees_with_height": counted(living & trees["height_m"].notna()),
            "dead_trees": counted(trees["status"] == "dead"),
        }
    ).join(_diversity(trees[living], row[living], len(names)))


def _diversity(living: pd.DataFrame, row: NDArray[np.intp], stands: int) -> pd.DataFrame:
    """Kinds named, and how evenly the stems are spread over them.

    Those of withheld trees alone are left out: a total of one would tell on them.
    """
    told = ((living["species_name"] != "") & ~living["secret"]).to_numpy(dtype=bool)
    kinds = living[told].assign(row=row[told]).groupby(["row", "species_name"])["tally"]
    stems = kinds.sum().rename("stems").reset_index()
    table = pd.DataFrame(np.nan, index=range(stands), columns=["species_count", *DIVERSITY])
    for kind in rectangles(stems[["stems"]], stems["row"].to_numpy(), stands):
        counts = kind["stems"]
        indices = [metrics.shannon(counts), metrics.evenness(counts), metrics.simpson(counts)]
        table.loc[kind.groups] = np.column_stack([(counts > 0).sum(axis=-1), *indices])
    return table.astype({"species_count": int})


def _estimates(living: pd.DataFrame, row: NDArray[np.intp], stands: pd.DataFrame) -> pd.DataFrame:
    """Each figure with its 95 % interval, which only a complete count has."""
    sizes = living[SIZES].assign(weight=living["tally"].round())
    table = pd.DataFrame(np.nan, index=stands.index, columns=_spread())
    complete = (stands["design"] == "complete count").to_numpy()
    for trees in rectangles(sizes, row, len(stands)):
        base = stands["base_ha"].to_numpy()[trees.groups]
        counted = np.where(complete[trees.groups], 1.0, np.nan)
        figures = values(trees, base)
        errors = measurement_errors(trees, base, figures)
        missing = missing_errors(trees, figures)
        for name in ESTIMATES:
            parts = _interval(figures[name], missing[name] * counted, errors[name] * counted)
            table.loc[trees.groups, [name, *(f"{name}_{part}" for part in PARTS)]] = parts
    count = np.bincount(row, sizes["weight"].fillna(0), minlength=len(stands))
    return table.assign(stems_per_ha=metrics.stems_per_ha(count, stands["base_ha"]))


def _interval(value: Floats, sampling: Floats, measurement: Floats) -> Floats:
    """Value, low, high and the two standard errors, a row a stand."""
    half = Z95 * metrics.combined_sd(sampling, measurement)
    return np.column_stack([value, value - half, value + half, sampling, measurement])


def _periods(dates: pd.Series, row: NDArray[np.intp], stands: int) -> list[str]:
    years = dates.dt.year.groupby(row).agg(["min", "max"]).reindex(range(stands))
    return [
        "" if np.isnan(first) else f"{first:.0f}" if first == last else f"{first:.0f}-{last:.0f}"
        for first, last in zip(years["min"], years["max"], strict=True)
    ]
