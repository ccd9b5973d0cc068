"""The diameter and height distributions: one shape for a stand's page and for a comparison."""

from collections.abc import Sequence
from dataclasses import dataclass

import pandas as pd
from markupsafe import Markup

from mapper.render import words
from mapper.render.charts import Axes, Bars, Labels, histogram, shared_axes
from mapper.render.quantities import Scale

QUANTITIES = {"diameter": ("cm", "Thickness of the stems"), "height": ("m", "Height of the trees")}


@dataclass(frozen=True)
class Distribution:
    """A chart with its words and its table."""

    title: str
    summary: str
    chart: Markup
    unit: str
    per_area: str  # heading of the last column
    rows: tuple[tuple[str, str, str], ...]  # interval, trees, per hectare


@dataclass(frozen=True)
class _Classes:
    bars: Bars
    trees: tuple[float, ...]
    per_ha: tuple[float, ...]
    basis: str


def distributions(
    classes: pd.DataFrame, stands: Sequence[str], scales: dict[str, Scale], alike: bool
) -> dict[str, tuple[Distribution, ...]]:
    """For each stand its charts; `alike` puts all stands on the same axes and the same basis."""
    found: dict[str, list[Distribution]] = {stand: [] for stand in stands}
    for quantity, (scale_name, title) in QUANTITIES.items():
        chosen = {
            stand: classes[(classes["stand"] == stand) & (classes["quantity"] == quantity)]
            for stand in stands
        }
        basis = _shared_basis(chosen) if alike else "trees"
        shapes = {
            stand: _classes(table, scales[scale_name], basis)
            for stand, table in chosen.items()
            if table["trees"].sum() > 0
        }
        axes = shared_axes([shape.bars for shape in shapes.values()])
        for stand, shape in shapes.items():
            own = axes if alike else shared_axes([shape.bars])
            found[stand].append(_distribution(shape, own, title, scales))
    return {stand: tuple(charts) for stand, charts in found.items()}


def _shared_basis(tables: dict[str, pd.DataFrame]) -> str:
    """Per hectare where every stand has it; else the share, so that sizes do not mislead."""
    filled = [table for table in tables.values() if table["trees"].sum() > 0]
    return "per_ha" if all(table["per_ha"].notna().all() for table in filled) else "share"


def _classes(table: pd.DataFrame, scale: Scale, basis: str) -> _Classes:
    table = table.sort_values("lower")
    trees = table["trees"].astype(float)
    heights = {
        "trees": trees,
        "per_ha": table["per_ha"].astype(float),
        "share": trees / trees.sum() * 100,
    }[basis]
    # Metric limits are whole; a metric class shown in feet or inches would print endless digits.
    lower = tuple(round(float(limit) * scale.factor, 1) for limit in table["lower"])
    upper = tuple(round(float(limit) * scale.factor, 1) for limit in table["upper"])
    bars = Bars(lower, upper, tuple(heights.tolist()))
    return _Classes(bars, tuple(trees.tolist()), tuple(table["per_ha"].tolist()), basis)


def _distribution(
    shape: _Classes, axes: Axes, title: str, scales: dict[str, Scale]
) -> Distribution:
    quantity_unit = scales["cm"].unit if title == QUANTITIES["diameter"][1] else scales["m"].unit
    noun = "diameter" if title == QUANTITIES["diameter"][1] else "height"
    bars, per_area = shape.bars, scales["per_ha"]
    shown = bars.heights
    if shape.basis == "per_ha":
        shown = tuple(height * per_area.factor for height in bars.heights)
        axes = Axes(axes.limits, axes.top * per_area.factor)
    summary = words.distribution(bars.lower, bars.upper, shape.trees, quantity_unit, noun)
    basis_words = {"trees": "trees in each class", "per_ha": f"trees {per_area.unit}",
                   "share": "per cent of the trees"}[shape.basis]  # fmt: skip
    chart = histogram(Bars(bars.lower, bars.upper, shown), axes, Labels(summary, quantity_unit))
    heading = f"{title}: {basis_words}"
    rows = _rows(shape, per_area)
    return Distribution(heading, summary, chart, quantity_unit, f"Trees {per_area.unit}", rows)


def _rows(shape: _Classes, per_area: Scale) -> tuple[tuple[str, str, str], ...]:
    rows = []
    limits = zip(shape.bars.lower, shape.bars.upper, strict=True)
    for (lower, upper), trees, per_ha in zip(limits, shape.trees, shape.per_ha, strict=True):
        dense = "" if per_ha != per_ha else f"{per_ha * per_area.factor:,.1f}"
        rows.append((f"{lower:g} to {upper:g}", f"{trees:,.0f}", dense))
    return tuple(rows)
