"""The diameter and height distributions: one shape for a stand's page and for a comparison."""

from collections.abc import Sequence
from dataclasses import dataclass

import pandas as pd
from markupsafe import Markup

from mapper.language import figure, later, say
from mapper.render import words
from mapper.render.charts import Axes, Bars, Brush, Labels, histogram, shared_axes
from mapper.render.quantities import Scale

SCALES = {"diameter": "cm", "height": "m"}
TITLES = {
    "diameter": {
        "trees": later("Thickness of the stems: trees in each class"),
        "per_ha": later("Thickness of the stems: trees {per_area}"),
        "share": later("Thickness of the stems: per cent of the trees"),
    },
    "height": {
        "trees": later("Height of the trees: trees in each class"),
        "per_ha": later("Height of the trees: trees {per_area}"),
        "share": later("Height of the trees: per cent of the trees"),
    },
}


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
    limits: tuple[tuple[float, float], ...]  # as published


def distributions(
    classes: pd.DataFrame, stands: Sequence[str], scales: dict[str, Scale], alike: bool
) -> dict[str, tuple[Distribution, ...]]:
    """For each stand its charts; `alike` puts all stands on the same axes and the same basis."""
    found: dict[str, list[Distribution]] = {stand: [] for stand in stands}
    for quantity, scale_name in SCALES.items():
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
            brush = None if alike else _brush(shape, quantity, stand, scales)
            found[stand].append(_distribution(shape, own, quantity, scales, brush))
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
    limits = tuple(table[["lower", "upper"]].itertuples(index=False, name=None))
    return _Classes(bars, tuple(trees.tolist()), tuple(table["per_ha"].tolist()), basis, limits)


def _brush(shape: _Classes, quantity: str, stand: str, scales: dict[str, Scale]) -> Brush:
    """What lets the bars choose trees on the map, by the published sizes."""
    fine = quantity == "height" and scales["m"].factor != 1
    # As summarise/classing.py rounds them.
    return Brush(f"{quantity}_{SCALES[quantity]}", stand, 3 if fine else 2, shape.limits)


def _distribution(
    shape: _Classes, axes: Axes, quantity: str, scales: dict[str, Scale], brush: Brush | None
) -> Distribution:
    quantity_unit = scales[SCALES[quantity]].unit
    bars, per_area = shape.bars, scales["per_ha"]
    shown = bars.heights
    if shape.basis == "per_ha":
        shown = tuple(height * per_area.factor for height in bars.heights)
        axes = Axes(axes.limits, axes.top * per_area.factor)
    summary = words.distribution(bars.lower, bars.upper, shape.trees, quantity_unit, quantity)
    labels = Labels(summary, quantity_unit)
    chart = histogram(Bars(bars.lower, bars.upper, shown), axes, labels, brush)
    heading = say(TITLES[quantity][shape.basis]).format(per_area=per_area.unit)
    dense = say("Trees {per_area}").format(per_area=per_area.unit)
    return Distribution(heading, summary, chart, quantity_unit, dense, _rows(shape, per_area))


def _rows(shape: _Classes, per_area: Scale) -> tuple[tuple[str, str, str], ...]:
    rows = []
    limits = zip(shape.bars.lower, shape.bars.upper, strict=True)
    for (lower, upper), trees, per_ha in zip(limits, shape.trees, shape.per_ha, strict=True):
        dense = "" if per_ha != per_ha else figure(per_ha * per_area.factor, ",.1f")
        rows.append((words.interval(lower, upper), figure(trees, ",.0f"), dense))
    return tuple(rows)
