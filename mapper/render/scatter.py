"""Height against thickness, each tree as its sign."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from markupsafe import Markup

from mapper import metrics
from mapper.language import say
from mapper.render import words
from mapper.render.charts import Dots, scatter
from mapper.render.quantities import Scale
from mapper.render.rows import Row, number

# Beyond this the page grows large and the signs hide each other.
MOST_SIGNS = 1500
FEWEST_SIGNS = 3
POINTS = 40
SIGNS = {"broadleaf", "conifer", "dead", "unknown"}


@dataclass(frozen=True)
class Scatter:
    """The chart and its words."""

    summary: str
    chart: Markup


def height_scatter(
    trees: pd.DataFrame, shown: dict[str, Scale], curve: Row, breast_height_m: float
) -> Scatter | None:
    """None when there are too few trees with both measures to show a shape, or far too many."""
    both = trees.dropna(subset=["diameter_cm", "height_m"])
    if not FEWEST_SIGNS <= len(both) <= MOST_SIGNS:
        return None
    thick = (both["diameter_cm"].astype(float) * shown["cm"].factor).tolist()
    tall = (both["height_m"].astype(float) * shown["m"].factor).tolist()
    symbols = [sign if sign in SIGNS else "unknown" for sign in both["symbol"]]
    summary = say(
        "Height against thickness of {trees}: {thinnest:.0f} to {thickest:.0f} {thick_unit} thick, "
        "{lowest:.0f} to {tallest:.0f} {tall_unit} tall."
    ).format(
        trees=words.trees(len(both)),
        thinnest=min(thick),
        thickest=max(thick),
        thick_unit=shown["cm"].unit,
        lowest=min(tall),
        tallest=max(tall),
        tall_unit=shown["m"].unit,
    )
    if curve:
        summary += " " + say(
            "The curve is fitted to {trees}; heights typically lie {miss:.1f} {unit} off it. "
            "No height in this survey is taken from it."
        ).format(
            trees=words.living_trees(int(number(curve, "trees"))),
            miss=number(curve, "curve_sd_m") * shown["m"].factor,
            unit=shown["m"].unit,
        )
    across = say("{unit} thick").format(unit=shown["cm"].unit)
    up = say("{unit} tall").format(unit=shown["m"].unit)
    chart = scatter(
        Dots(tuple(thick), tuple(tall), tuple(symbols), _line(both, shown, curve, breast_height_m)),
        (max(thick) * 1.04, max(tall) * 1.06),
        (across, up, summary),
    )
    return Scatter(summary, chart)


def _line(
    trees: pd.DataFrame, shown: dict[str, Scale], curve: Row, breast_height_m: float
) -> tuple[tuple[float, float], ...]:
    """Points of the curve from the thinnest to the thickest tree; none where none was fitted."""
    if not curve:
        return ()
    across = np.linspace(trees["diameter_cm"].min(), trees["diameter_cm"].max(), POINTS)
    up = metrics.naslund_height(
        across, number(curve, "curve_a"), number(curve, "curve_b"), breast_height_m
    )
    xs, ys = across * shown["cm"].factor, np.asarray(up) * shown["m"].factor
    return tuple(zip(xs.tolist(), ys.tolist(), strict=True))
