"""Height against thickness, each tree as its sign."""

from dataclasses import dataclass

import pandas as pd
from markupsafe import Markup

from mapper.render import words
from mapper.render.charts import Dots, scatter
from mapper.render.quantities import Scale

# Beyond this the page grows large and the signs hide each other.
MOST_SIGNS = 1500
FEWEST_SIGNS = 3
SIGNS = {"broadleaf", "conifer", "dead", "unknown"}


@dataclass(frozen=True)
class Scatter:
    """The chart and its words."""

    summary: str
    chart: Markup


def height_scatter(trees: pd.DataFrame, shown: dict[str, Scale]) -> Scatter | None:
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
    chart = scatter(
        Dots(tuple(thick), tuple(tall), tuple(symbols)),
        (max(thick) * 1.04, max(tall) * 1.06),
        (f"{shown['cm'].unit} thick", f"{shown['m'].unit} tall", summary),
    )
    return Scatter(summary, chart)
