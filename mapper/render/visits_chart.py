"""The girth of one tree from visit to visit, drawn with its uncertainty."""

import datetime
import math
from dataclasses import dataclass

from markupsafe import Markup, escape

from mapper.language import say
from mapper.render.quantities import Measured

WIDTH, HEIGHT = 300, 130
LEFT, RIGHT, TOP, BOTTOM = 14, 58, 16, 22


@dataclass(frozen=True)
class Visit:
    """One visit, ready to read; the girth again as plain numbers, in the unit of the page."""

    date: str
    day: str
    girth: Measured | None
    height: Measured | None
    size: float
    half: float


def visits_chart(visits: tuple[Visit, ...], unit: str) -> Markup:
    """A point a visit with its range; empty with fewer than two dated girths."""
    dated = sorted((decimal_year(visit.date), visit) for visit in visits if _drawn(visit))
    if len(dated) < 2 or dated[0][0] == dated[-1][0]:
        return Markup()
    halves = [visit.half if math.isfinite(visit.half) else 0.0 for _, visit in dated]
    low = min(visit.size - half for (_, visit), half in zip(dated, halves, strict=True))
    high = max(visit.size + half for (_, visit), half in zip(dated, halves, strict=True))
    first, last = dated[0][0], dated[-1][0]

    def across(year: float) -> float:
        return LEFT + (year - first) / (last - first) * (WIDTH - LEFT - RIGHT)

    def down(size: float) -> float:
        return TOP + (high - size) / ((high - low) or 1.0) * (HEIGHT - TOP - BOTTOM)

    points = [(across(year), down(visit.size)) for year, visit in dated]
    line = "L".join(f"{x:.1f} {y:.1f}" for x, y in points)
    parts = [f'<path class="axis" d="M{LEFT} {HEIGHT - BOTTOM + 6}H{WIDTH - RIGHT}"/>']
    parts.append(f'<path class="curve" d="M{line}"/>')
    for (x, y), (_, visit), half in zip(points, dated, halves, strict=True):
        if half:
            ends = f"M{x:.1f} {down(visit.size - half):.1f}V{down(visit.size + half):.1f}"
            parts.append(f'<path class="drawn-sight" d="{ends}"/>')
        parts.append(f'<circle class="drawn-eye" cx="{x:.1f}" cy="{y:.1f}" r="2.8"/>')
    for index, anchor in ((0, "start"), (-1, "end")):
        x, (_, visit) = points[index][0], dated[index]
        parts.append(_text(x, HEIGHT - 4, visit.date[:4], anchor))
    x, y = points[-1]
    parts.append(_text(x + 8, y + 4, f"{dated[-1][1].size:.1f}\u00a0{unit}", "start"))
    words = say("Girth at {n} visits, from {first} to {last}.").format(
        n=len(dated), first=dated[0][1].day, last=dated[-1][1].day
    )
    return Markup(
        f'<svg class="chart visits-chart" viewBox="0 0 {WIDTH} {HEIGHT}" role="img" '
        f'aria-label="{escape(words)}">{"".join(parts)}</svg>'
    )


def _drawn(visit: Visit) -> bool:
    return math.isfinite(visit.size) and bool(visit.date)


def decimal_year(date: str) -> float:
    """A day, a month or a year as a decimal year; what is not told counts as its middle."""
    parts = [int(part) for part in date.split("-")]
    if len(parts) == 3:
        return (
            parts[0]
            + (datetime.date(parts[0], parts[1], parts[2]).timetuple().tm_yday - 1) / 365.25
        )
    return parts[0] + ((parts[1] - 0.5) / 12 if len(parts) == 2 else 0.5)


def _text(x: float, y: float, text: str, anchor: str) -> str:
    return (
        f'<text class="limit" x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}">{escape(text)}</text>'
    )
