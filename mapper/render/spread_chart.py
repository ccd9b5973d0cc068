"""Ripley's L less the distance, over the band that chance gives, and what that means in words."""

from collections.abc import Sequence
from dataclasses import dataclass

import pandas as pd
from markupsafe import Markup

from mapper.language import figure, later, say
from mapper.render.charts import band
from mapper.render.quantities import Scale


@dataclass(frozen=True)
class SpreadChart:
    """The chart and its words."""

    summary: str
    chart: Markup


SAID = {
    (False, False): later(
        "At no distance do the trees stand otherwise than chance would set them."
    ),
    (True, False): later("The trees stand farther apart than chance would set them at {apart}."),
    (False, True): later("The trees stand in clumps at {clumped}."),
    (True, True): later(
        "The trees stand farther apart than chance would set them at {apart} and in clumps at "
        "{clumped}."
    ),
}


def spread_chart(table: pd.DataFrame, scale: Scale) -> SpreadChart | None:
    """None for a stand whose spacing is not told. `table` is that of one stand."""
    known = table.dropna()
    if len(known) < 2:
        return None
    radii = known["radius_m"].to_numpy(dtype=float)
    seen, low, high = (
        (known[name].to_numpy(dtype=float) - radii) * scale.factor
        for name in ("ripley_l_m", "by_chance_low_m", "by_chance_high_m")
    )
    shown = (radii * scale.factor).tolist()
    apart = _span([r for r, is_so in zip(shown, seen < low, strict=True) if is_so], scale.unit)
    clumped = _span([r for r, is_so in zip(shown, seen > high, strict=True) if is_so], scale.unit)
    summary = say(SAID[bool(apart), bool(clumped)]).format(apart=apart, clumped=clumped)
    lines = (seen.tolist(), low.tolist(), high.tolist())
    return SpreadChart(summary, band(shown, lines, (scale.unit, summary)))


def _span(radii: Sequence[float], unit: str) -> str:
    if not radii:
        return ""
    first, last = figure(min(radii), ".1f"), figure(max(radii), ".1f")
    if first == last:
        return f"{first}\u00a0{unit}"
    return say("{low} to {high}\u00a0{unit}").format(low=first, high=last, unit=unit)
