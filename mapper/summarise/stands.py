"""trees → one row a stand, with what its measurements leave open."""

from statistics import NormalDist

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mapper import metrics
from mapper.load.plot_sizes import SAMPLED
from mapper.summarise.estimates import ESTIMATES, measurement_errors, missing_errors, values
from mapper.summarise.ground import Ground
from mapper.summarise.natural_order import natural
from mapper.summarise.sampling_errors import sampling_errors
from mapper.summarise.side_by_side import rectangles
from mapper.summarise.spacing import SPACING, spacing_figures
from mapper.summarise.weighing import Weighed, weigh
from mapper.survey import Survey

Floats = NDArray[np.float64]

# 95 % of a normal distribution lies within this many standard uncertainties.
Z95 = NormalDist().inv_cdf(0.975)
PER_HECTARE = (
    "stems_per_ha", "basal_area_m2_per_ha", "stand_density_index", "stand_density_index_summed",
)  # fmt: skip
BETWEEN_0_AND_1 = ("gini_basal_area",)
NO_HULL = dict.fromkeys(("area_ha", "narrow_ha", "wide_ha"), np.nan)
# These rest on the area of the stand.
BY_AREA = (*PER_HECTARE, "top_height_m", "relative_spacing")
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


def summarise_stands(trees: pd.DataFrame, ground: Ground, survey: Survey) -> pd.DataFrame:
    """One row a stand, in the order of their names; trees without a stand are in none.

    `trees` are the measured trees with their classes.
    """
    names = sorted({*trees["stand"], *ground.stands} - {""}, key=natural)
    boundaries = ground.outlines
    stands = _declared(names, ground, survey)
    inside = trees[trees["stand"] != ""]
    row = pd.Index(names).get_indexer(inside["stand"])
    table = stands.join(_counts(inside, row, names, survey))
    living = counting(inside, survey).to_numpy(dtype=bool)
    weighed = weigh(inside[living], stands, ground.plots)
    figures = _estimates(weighed, row[living], stands)
    outlines = dict(zip(boundaries["stand"], boundaries.geometry, strict=True))
    exact = survey.publish.positions == "exact"
    spacing = spacing_figures(inside[living], stands, outlines, exact)
    plots = weighed.plots["stand"].value_counts().reindex(stands["stand"]).to_numpy()
    mixed = _diversity(weighed.trees, row[living], len(names))
    whole = table.join(mixed).join(figures).join(spacing).assign(plots=plots)
    return whole[_columns()].astype({"plots": "Int64"}).reset_index(drop=True)


def _columns() -> list[str]:
    counts = ["trees", "trees_with_diameter", "trees_with_height", "dead_trees"]
    ground = ["area_ha", "area_from", "area_without_margin_ha", "area_with_twice_margin_ha"]
    head = ["stand", "period", "design", "selection", *ground, "plots", *counts]
    return [*head, *_spread(), "species_count", *DIVERSITY, *SPACING, "spacing_reason"]


def _spread() -> list[str]:
    """Every estimate with its interval and the two parts of its standard error."""
    return [
        name
        for estimate in ("stems_per_ha", *ESTIMATES)
        for name in (estimate, *(f"{estimate}_{part}" for part in PARTS))
    ]


def _declared(names: list[str], ground: Ground, survey: Survey) -> pd.DataFrame:
    """What the survey says of each stand; figures per hectare rest on `base_ha`."""
    outlines = dict(zip(ground.outlines["stand"], ground.outlines["area_ha"], strict=True))
    guessed = ground.guessed.set_index("stand")
    rows = []
    for name in names:
        stand = survey.stand_called(name)
        complete = stand.design == "complete count"
        hull = guessed.loc[name] if complete and name in guessed.index else NO_HULL
        area, area_from = hull["area_ha"], "trees" if hull["area_ha"] > 0 else ""
        if name in outlines:
            area, area_from = outlines[name], "outline"
        if stand.area is not None:
            area, area_from = stand.area, "survey"
        selection = "" if complete else stand.selection
        base = area if complete else 1.0 if stand.design in SAMPLED else np.nan
        sides = (hull["narrow_ha"], hull["wide_ha"]) if area_from == "trees" else (np.nan, np.nan)
        rows.append((stand.name, stand.design, selection, area, area_from, *sides, base))
    numbers = ["area_ha", "area_without_margin_ha", "area_with_twice_margin_ha", "base_ha"]
    columns = ["stand", "design", "selection", "area_ha", "area_from", *numbers[1:]]
    return pd.DataFrame(rows, columns=columns).astype(dict.fromkeys(numbers, float))


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
    )


def _diversity(living: pd.DataFrame, row: NDArray[np.intp], stands: int) -> pd.DataFrame:
    """Kinds named, and how evenly the stems are spread over them.

    Those of withheld trees alone are left out: a total of one would tell on them.
    """
    told = ((living["species_name"] != "") & ~living["secret"]).to_numpy(dtype=bool)
    kinds = living[told].assign(row=row[told]).groupby(["row", "species_name"])["weight"]
    stems = kinds.sum().rename("stems").reset_index()
    table = pd.DataFrame(np.nan, index=range(stands), columns=["species_count", *DIVERSITY])
    for kind in rectangles(stems[["stems"]], stems["row"].to_numpy(), stands):
        counts = kind["stems"]
        indices = [metrics.shannon(counts), metrics.evenness(counts), metrics.simpson(counts)]
        table.loc[kind.groups] = np.column_stack([(counts > 0).sum(axis=-1), *indices])
    return table.astype({"species_count": int})


def _estimates(weighed: Weighed, row: NDArray[np.intp], stands: pd.DataFrame) -> pd.DataFrame:
    """Each figure with its 95 % interval, unless the trees or plots were chosen by hand."""
    trees = weighed.trees
    figures, errors, missing = _figures(trees[[*SIZES, "weight", "basal_per_ha"]], row, stands)
    stems = metrics.stems_per_ha(_weights(trees, row, stands), stands["base_ha"])
    known = {"stems_per_ha": stems, **{name: figures[name].to_numpy() for name in ESTIMATES}}
    by_plots, freedom = sampling_errors(weighed, stands, known)
    complete = (stands["design"] == "complete count").to_numpy()
    sampled = stands["design"].isin(SAMPLED).to_numpy()
    by_chance = complete | (sampled & (stands["selection"] != "by hand").to_numpy())
    guessed = (stands["area_from"] == "trees").to_numpy()
    times = np.where(sampled, metrics.student_t(freedom), Z95)
    table: dict[str, Floats] = {"stems_per_ha": stems}
    for name in ("stems_per_ha", *ESTIMATES):
        nothing = np.full(len(stands), np.nan)
        # Every stem that counts is counted, whether it has a size or not.
        lost = missing[name].to_numpy() if name in missing else np.zeros(len(stands))
        # Where something is missing on plots, chance among the plots is not all that is open.
        drawn = np.where(np.isnan(lost), np.nan, by_plots.get(name, nothing))
        sampling = np.where(sampled, drawn, np.where(complete, lost, np.nan))
        measured = errors[name].to_numpy() if name in errors else np.zeros(len(stands))
        measured = np.where(by_chance, measured, np.nan)
        half = np.hypot(times * sampling, Z95 * measured)
        # How wrong a guessed area is, nobody knows.
        half = np.where(guessed & (name in BY_AREA), np.nan, half)
        table |= _interval(name, known[name], half, sampled) | {
            f"{name}_se_sampling": sampling,
            f"{name}_se_measurement": measured,
        }
    return pd.DataFrame(table, index=stands.index)


def _weights(trees: pd.DataFrame, row: NDArray[np.intp], stands: pd.DataFrame) -> Floats:
    """How many trees the rows of a stand stand for; NaN at an angle count that lacks diameters."""
    count = np.bincount(row, trees["weight"].fillna(0), minlength=len(stands))
    unsized = np.bincount(row, trees["diameter_cm"].isna(), minlength=len(stands)) > 0
    by_angle = (stands["design"] == "angle count").to_numpy()
    return np.where(by_angle & unsized, np.nan, count)


def _figures(
    trees: pd.DataFrame, row: NDArray[np.intp], stands: pd.DataFrame
) -> tuple[pd.DataFrame, pd.DataFrame, pd.DataFrame]:
    """Every estimate with its measurement error and what missing values leave open."""
    tables = [pd.DataFrame(np.nan, index=stands.index, columns=ESTIMATES) for _ in ("f", "e", "m")]
    by_angle = (stands["design"] == "angle count").to_numpy()
    sampled = stands["design"].isin(SAMPLED).to_numpy()
    for some in rectangles(trees, row, len(stands)):
        base = stands["base_ha"].to_numpy()[some.groups]
        figures = values(some, base)
        errors = measurement_errors(some, base, figures)
        # Counting trees at an angle measures basal area without any diameter, and plots on which
        # nothing lives measure that there is none.
        angle = by_angle[some.groups]
        basal = np.nansum(some["basal_per_ha"], axis=-1)
        bare = sampled[some.groups] & ~(np.nansum(some["weight"], axis=-1) > 0)
        counted = angle | bare
        figures["basal_area_m2_per_ha"] = np.where(counted, basal, figures["basal_area_m2_per_ha"])
        errors["basal_area_m2_per_ha"] = np.where(angle, 0.0, errors["basal_area_m2_per_ha"])
        found = (figures, errors, missing_errors(some, figures))
        for table, parts in zip(tables, found, strict=True):
            table.loc[some.groups, ESTIMATES] = np.column_stack([parts[n] for n in ESTIMATES])
    return tables[0], tables[1], tables[2]


def _interval(
    name: str, value: Floats, half: Floats, sampled: NDArray[np.bool_]
) -> dict[str, Floats]:
    """A figure with the ends of its interval; those from plots stay within what can be.

    A number per hectare is never below 0. Gini lies between 0 and 1: its odds have the interval.
    """
    low, high = value - half, value + half
    if name in PER_HECTARE:
        factor = metrics.interval_factor(value, half)
        low = np.where(sampled, value / factor, low)
        high = np.where(sampled, value * factor, high)
    elif name in BETWEEN_0_AND_1:
        rest = 1 - value
        factor = metrics.interval_factor(value * rest, half)
        low = np.where(sampled, value / (value + rest * factor), low)
        high = np.where(sampled, value * factor / (value * factor + rest), high)
    return {name: value, f"{name}_low": low, f"{name}_high": high}


def _periods(dates: pd.Series, row: NDArray[np.intp], stands: int) -> list[str]:
    years = dates.dt.year.groupby(row).agg(["min", "max"]).reindex(range(stands))
    return [
        "" if np.isnan(first) else f"{first:.0f}" if first == last else f"{first:.0f}-{last:.0f}"
        for first, last in zip(years["min"], years["max"], strict=True)
    ]
