"""The triangle of a height, drawn to scale with the tree's own angles and distance."""

import math

from markupsafe import Markup, escape

from mapper.language import figure, say
from mapper.summarise.results import Point, Sight, Step

WIDTH, HEIGHT = 300, 190
LEFT, RIGHT, TOP, BOTTOM = 14, 66, 12, 24
ARC = 30
LEAST_ANGLE = 8  # a narrower one has no room for its number


def height_drawing(step: Step) -> Markup:
    """The drawing of a step, one scale both ways; empty where nothing was sighted.

    It names its own name space, so that a script can read it as a document of its own.
    """
    sight = step.sight
    if sight is None:
        return Markup()
    at = _Paper(sight)
    (x, foot), (tip, top), (eye_x, eye_y) = at.place(sight.foot), at.place(sight.top), at.eye
    rays = f"M{tip} {top}L{eye_x} {eye_y}L{x} {foot}"
    level = max(sight.top[0], sight.foot[0])
    parts = [
        _path("level", f"M{eye_x} {eye_y}H{at.place((level, 0))[0]}"),
        _path("sight", rays),
        _path("tree", f"M{x} {foot}L{tip} {top}"),
        *at.angle(sight.top_deg),
        f'<circle class="drawn-eye" cx="{eye_x}" cy="{eye_y}" r="2.5"/>',
        _label(max(x, tip) + 8, (top + foot) / 2 + 4, _first_length(step.result)),
    ]
    if sight.low_deg is None:  # level ground was taken for granted: it is drawn
        parts.insert(0, _path("ground", f"M{eye_x} {foot}H{x + 14}"))
    elif abs(sight.low_deg) >= LEAST_ANGLE:
        parts += at.angle(sight.low_deg)
    if sight.mark:
        mark_x, mark_y = at.place(sight.mark)
        parts.append(_path("level", f"M{eye_x} {eye_y}L{mark_x} {mark_y}"))
    below = max(foot, eye_y) + 16
    parts.append(_label((eye_x + x) / 2, below, f"{figure(sight.foot[0], '.3g')}\u00a0m", "middle"))
    words = say("The triangle of this measurement, drawn to scale: {inputs}")
    return Markup(
        f'<svg xmlns="http://www.w3.org/2000/svg" class="step-drawing" role="img" viewBox="0 0 '
        f'{WIDTH} {math.ceil(below + 8)}" aria-label="{escape(words.format(inputs=step.inputs))}">'
        f"{''.join(parts)}</svg>"
    )


class _Paper:
    """From metres, as seen from the eye, to places on the drawing."""

    def __init__(self, sight: Sight) -> None:
        across = max(sight.top[0], sight.foot[0])
        self.high, low = max(sight.top[1], 0.0), min(sight.foot[1], 0.0)
        self.scale = min(
            (WIDTH - LEFT - RIGHT) / across, (HEIGHT - TOP - BOTTOM) / (self.high - low)
        )
        self.eye = self.place((0.0, 0.0))

    def place(self, point: Point) -> tuple[float, float]:
        """Across and down, to a tenth of a unit."""
        x, up = point
        return round(LEFT + x * self.scale, 1), round(TOP + (self.high - up) * self.scale, 1)

    def angle(self, degrees: float) -> list[str]:
        """The arc of an angle at the eye, and its number in the middle of it."""
        (x, y), turn = self.eye, math.radians(degrees)
        end = f"{x + math.cos(turn) * ARC:.1f} {y - math.sin(turn) * ARC:.1f}"
        arc = f"M{x + ARC} {y}A{ARC} {ARC} 0 0 {int(degrees < 0)} {end}"
        out = ARC + 5
        number = f"{figure(degrees, '.3g')}°".replace("-", "−")
        beside = (x + math.cos(turn / 2) * out, y - math.sin(turn / 2) * out + 4)
        return [_path("angle", arc), _label(*beside, number)]


def _first_length(result: str) -> str:
    """`17.4 m` of `17.4 ± 0.8 m (57.1 ± 2.6 ft)`: the formula is metric, and so is the drawing."""
    return f"{result.split(' ', maxsplit=1)[0]}\u00a0m"


def _path(kind: str, line: str) -> str:
    return f'<path class="drawn-{kind}" d="{line}"/>'


def _label(x: float, y: float, text: str, anchor: str = "start") -> str:
    at = f' text-anchor="{anchor}"' if anchor != "start" else ""
    return f'<text class="drawn-label" x="{x:.1f}" y="{y:.1f}"{at}>{escape(text)}</text>'
