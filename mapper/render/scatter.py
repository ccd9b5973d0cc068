"""Height against thickness, each tree as its sign."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from markupsafe import Markup

from mapper import metrics
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
    summary = (
        f"Height against thickness of {words.counted(len(both), 'tree')}: "
        f"{min(thick):.0f} to {max(thick):.0f} {shown['cm'].unit} thick, "
        f"{min(tall):.0f} to {max(tall):.0f} {shown['m'].unit} tall."
    )
    if curve:
        miss = number(curve, "curve_sd_m") * shown["m"].factor
        summary += (
            f" The curve is fitted to {words.counted(int(number(curve, 'trees')), 'living tree')}; "
            f"heights typically lie {miss:.1f} {shown['m'].unit} off it. "
            "No height in this survey is taken from it."
        )
    chart = scatter(
        Dots(tuple(thick), tuple(tall), tuple(symbols), _line(both, shown, curve, breast_height_m)),
        (max(thick) * 1.04, max(tall) * 1.06),
        (f"{shown['cm'].unit} thick", f"{shown['m'].unit} tall", summary),
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
