"""Two years of a stand, or two kinds of trees: how thick their stems are, on one shared axis."""

from collections.abc import Mapping
from dataclasses import dataclass

import pandas as pd
from markupsafe import Markup

from mapper.language import later, say
from mapper.render import words
from mapper.render.charts import Axes, Bars, Labels, histogram, shared_axes
from mapper.render.quantities import Scale
from mapper.summarise import Results

TITLES = {
    "trees": later("Thickness of the stems: trees in each class"),
    "per_ha": later("Thickness of the stems: trees {per_area}"),
    "share": later("Thickness of the stems: per cent of the trees"),
}


@dataclass(frozen=True)
class SideChart:
    """One of the two."""

    name: str
    chart: Markup
    summary: str


@dataclass(frozen=True)
class PairChart:
    """Two charts on the same axes, and their numbers in one table."""

    title: str
    unit: str
    sides: tuple[SideChart, SideChart]
    rows: tuple[tuple[str, str, str], ...]  # interval, the one, the other


def year_charts(
    results: Results, shown: Mapping[str, Scale], stand: str
) -> dict[tuple[str, str], PairChart]:
    """A chart for each pair of years of a stand that is compared."""
    classes = results.classes_by_year
    mine = classes[(classes["stand"] == stand) & (classes["quantity"] == "diameter")]
    periods = {str(name): table for name, table in mine.groupby("period")}
    told = results.comparison.query("kind == 'years'")
    pairs = told.loc[told["stand"] == stand, ["period", "other_period"]].drop_duplicates()
    return {
        (one, other): _chart((one, other), (periods[one], periods[other]), "share", shown)
        for one, other in pairs.itertuples(index=False)
        if one in periods and other in periods
    }


def kind_charts(
    results: Results, shown: Mapping[str, Scale], stand: str
) -> dict[tuple[str, str], PairChart]:
    """A chart for each pair of kinds that is compared: in one stand, or ("") in the survey."""
    classes = results.species_classes
    mine = classes[classes["stand"] == stand]
    kinds = {str(name): table for name, table in mine.groupby("species")}
    called = {name: str(table["common_name"].iloc[0]) or name for name, table in kinds.items()}
    told = results.comparison.query("kind == 'species'")
    pairs = told.loc[told["stand"] == stand, ["species", "other_species"]].drop_duplicates()
    sampled = results.stands.set_index("stand")["plots"].notna().get(stand, False)
    basis = "per_ha" if sampled else "trees"
    return {
        (one, other): _chart((called[one], called[other]), (kinds[one], kinds[other]), basis, shown)
        for one, other in pairs.itertuples(index=False)
        if one in kinds and other in kinds
    }


def _chart(
    names: tuple[str, str],
    tables: tuple[pd.DataFrame, pd.DataFrame],
    basis: str,
    shown: Mapping[str, Scale],
) -> PairChart:
    """Per hectare where both have it; else as `basis` says: trees, or their share."""
    dense = basis != "trees" and all(table["per_ha"].notna().all() for table in tables)
    used = "per_ha" if dense else "share" if basis == "per_ha" else basis
    scale, factor = shown["cm"], shown["per_ha"].factor
    bars = tuple(_bars(table.sort_values("lower"), used, scale, factor) for table in tables)
    axes = shared_axes(bars)
    sides = tuple(
        _side(name, table.sort_values("lower"), one, axes, scale)
        for name, table, one in zip(names, tables, bars, strict=True)
    )
    title = say(TITLES[used]).format(per_area=shown["per_ha"].unit)
    return PairChart(title, scale.unit, (sides[0], sides[1]), _rows(bars[0], bars[1]))


def _bars(table: pd.DataFrame, basis: str, scale: Scale, factor: float) -> Bars:
    trees = table["trees"].astype(float)
    heights = {
        "trees": trees,
        "per_ha": table["per_ha"].astype(float) * factor,
        "share": trees / trees.sum() * 100,
    }[basis]
    lower, upper = (
        tuple(round(float(limit) * scale.factor, 1) for limit in table[name])
        for name in ("lower", "upper")
    )
    return Bars(lower, upper, tuple(heights.tolist()))


def _side(name: str, table: pd.DataFrame, bars: Bars, axes: Axes, scale: Scale) -> SideChart:
    trees = tuple(table["trees"].astype(float).tolist())
    summary = words.distribution(bars.lower, bars.upper, trees, scale.unit, "diameter")
    labels = Labels(say("{name}: {summary}").format(name=name, summary=summary), scale.unit)
    return SideChart(name, histogram(bars, axes, labels), summary)


def _rows(one: Bars, other: Bars) -> tuple[tuple[str, str, str], ...]:
    here, there = (dict(zip(bars.lower, bars.heights, strict=True)) for bars in (one, other))
    ends = {**dict(zip(one.lower, one.upper, strict=True)),
            **dict(zip(other.lower, other.upper, strict=True))}  # fmt: skip
    return tuple(
        (words.interval(low, ends[low]), _cell(here.get(low, 0.0)), _cell(there.get(low, 0.0)))
        for low in sorted(ends)
    )


def _cell(height: float) -> str:
    if not height:
        return ""
    return words.whole(round(height)) if height >= 0.5 else "<1"
