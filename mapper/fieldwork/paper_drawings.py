"""Drawings on paper, as SVG in millimetres: an angle card to cut out, a walk."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

import shapely
from shapely.geometry.base import BaseGeometry

from mapper.fieldwork.stops import Walk

RADIUS_MM = 82.0
EDGE_MM = (6.0, 174.0)  # left and right end of the sighting edge
HOLE_MM = (90.0, 16.0)
RULER_MM = 100


@dataclass(frozen=True)
class Tick:
    """A mark of the protractor: where it begins and ends, and its number if it bears one."""

    elevation_deg: int
    x1: float
    y1: float
    x2: float
    y2: float
    label: str


@dataclass(frozen=True)
class RulerMark:
    """A millimetre of the check ruler."""

    x: float
    length: float
    label: str


def protractor_ticks() -> tuple[Tick, ...]:
    """A mark a degree, from 60 below the eye to 85 above it.

    The card turns with the eye's line, the thread hangs: seen from the card, an elevation of
    `e` degrees moves the thread by `e` degrees towards the eye, which is at the left end.
    """
    return tuple(_tick(elevation) for elevation in range(-60, 86))


def _tick(elevation_deg: int) -> Tick:
    length = 8 if elevation_deg % 10 == 0 else 5.5 if elevation_deg % 5 == 0 else 3
    turn = math.radians(elevation_deg)
    x1, y1 = _on_arc(turn, RADIUS_MM)
    x2, y2 = _on_arc(turn, RADIUS_MM - length)
    label = f"{elevation_deg}".replace("-", "−") if elevation_deg % 10 == 0 else ""
    return Tick(elevation_deg, x1, y1, x2, y2, label)


def _on_arc(turn: float, radius: float) -> tuple[float, float]:
    x, y = HOLE_MM
    return round(x - radius * math.sin(turn), 3), round(y + radius * math.cos(turn), 3)


def ruler_marks() -> tuple[RulerMark, ...]:
    """Marks of a ruler of 100 mm."""
    return tuple(
        RulerMark(
            float(at),
            6 if at % 10 == 0 else 4 if at % 5 == 0 else 2.5,
            str(at) if at % 10 == 0 else "",
        )
        for at in range(RULER_MM + 1)
    )


@dataclass(frozen=True)
class WalkMap:
    """The walk on paper: everything in millimetres of the drawing."""

    width: float
    height: float
    line: str
    outlines: tuple[str, ...]
    marks: tuple[tuple[int, float, float], ...]
    bar_mm: float
    bar_m: int
    scale: int


def walk_map(
    walk: Walk, outlines: Sequence[BaseGeometry], width: float, height: float
) -> WalkMap | None:
    """The stops to scale, north up, with the outlines of stands below; None without a place.

    `outlines` are in metres east and north of the middle of the walk.
    """
    if not walk.stops:
        return None
    margin = 9.0
    xs, ys = [stop.x_m for stop in walk.stops], [stop.y_m for stop in walk.stops]
    across, up = max(max(xs) - min(xs), 10), max(max(ys) - min(ys), 10)
    scale = _round_scale(max(across / (width - 2 * margin), up / (height - 2 * margin)) * 1000)
    mm = 1000 / scale
    tall = min(height, up * mm + 2 * margin)
    middle_x, middle_y = (max(xs) + min(xs)) / 2, (max(ys) + min(ys)) / 2

    def place(x: float, y: float) -> tuple[float, float]:
        x_mm, y_mm = width / 2 + (x - middle_x) * mm, tall / 2 - (y - middle_y) * mm
        return round(x_mm, 2), round(y_mm, 2)

    marks = tuple((stop.number, *place(stop.x_m, stop.y_m)) for stop in walk.stops)
    line = " ".join(f"{x},{y}" for _, x, y in (*marks, marks[0]))
    bar_m = _bar_m(scale)
    drawn = tuple(
        " ".join(f"{x},{y}" for x, y in (place(*corner) for corner in ring.coords))
        for shape in outlines
        for ring in _rings(shape)
    )
    return WalkMap(width, tall, line, drawn, marks, bar_m * mm, bar_m, scale)


def _rings(shape: BaseGeometry) -> list[shapely.LinearRing]:
    polygons = [part for part in shapely.get_parts(shape) if part.geom_type == "Polygon"]
    return [part.exterior for part in polygons]


def _round_scale(least: float) -> int:
    """The next round denominator: 1, 1.5, 2, 2.5, 3, 4, 5, 7.5 times a power of ten."""
    power = 10 ** math.floor(math.log10(least))
    steps = (1, 1.5, 2, 2.5, 3, 4, 5, 7.5, 10)
    return int(next(step * power for step in steps if step * power >= least * (1 - 1e-9)))


def _bar_m(scale: int) -> int:
    """The round length nearest below 40 mm on paper. [m]"""
    longest = 40 * scale / 1000
    power = 10 ** math.floor(math.log10(longest))
    return max(1, int(next(step * power for step in (5, 2, 1) if step * power <= longest)))
