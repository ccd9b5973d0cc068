"""Ripley's L less the distance, over the band that chance gives, and what that means in words."""

from collections.abc import Sequence
from dataclasses import dataclass

import pandas as pd
from markupsafe import Markup

from mapper.render.charts import band
from mapper.render.quantities import Scale


@dataclass(frozen=True)
class SpreadChart:
    """The chart and its words."""

    summary: str
    chart: Markup


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
    parts = [
        f"farther apart than chance would set them at {apart}" if apart else "",
        f"in clumps at {clumped}" if clumped else "",
    ]
    said = " and ".join(part for part in parts if part)
    summary = (
        f"The trees stand {said}." if said
        else "At no distance do the trees stand otherwise than chance would set them."
    )  # fmt: skip
    lines = (seen.tolist(), low.tolist(), high.tolist())
    return SpreadChart(summary, band(shown, lines, (scale.unit, summary)))


def _span(radii: Sequence[float], unit: str) -> str:
    if not radii:
        return ""
    first, last = f"{min(radii):.1f}", f"{max(radii):.1f}"
    return f"{first}\u00a0{unit}" if first == last else f"{first} to {last}\u00a0{unit}"
