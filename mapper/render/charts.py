"""Charts as inline SVG, drawn like the map: hairline axes, ink bars, direct labels."""

import itertools
import math
from collections.abc import Sequence
from dataclasses import dataclass

from markupsafe import Markup, escape

from mapper.language import figure, say

WIDTH, HEIGHT = 380, 204
LEFT, RIGHT, TOP, BOTTOM = 12, 12, 22, 40
# Below this width in drawing units two neighbouring labels would touch.
LABEL_ROOM = 25
SIGN_SCALE = 0.78
CHARACTER = 6.2  # width of a digit


@dataclass(frozen=True)
class Bars:
    """A histogram: the limits of each class, lower included, and how much lies in it."""

    lower: tuple[float, ...]
    upper: tuple[float, ...]
    heights: tuple[float, ...]


@dataclass(frozen=True)
class Axes:
    """What two charts share so that they can be compared."""

    limits: tuple[float, ...]  # every class limit, ascending
    top: float

    @property
    def left(self) -> float:
        """Where the axis starts."""
        return self.limits[0]

    @property
    def right(self) -> float:
        """Where the axis ends."""
        return self.limits[-1]


@dataclass(frozen=True)
class Labels:
    """The words and the number format on a chart."""

    summary: str  # what a reader who cannot see it is told
    unit: str


@dataclass(frozen=True)
class Dots:
    """A tree each: how thick, how tall, and the class of its sign."""

    x: tuple[float, ...]
    y: tuple[float, ...]
    symbols: tuple[str, ...]
    curve: tuple[tuple[float, float], ...] = ()


@dataclass(frozen=True)
class Brush:
    """What the page's script needs to choose trees by the bars of a chart."""

    fact: str  # the column of the trees
    stand: str  # "" for the whole survey
    decimals: int  # that a size is rounded to before it is put into a class
    limits: tuple[tuple[float, float], ...]  # of each bar, as published


def shared_axes(charts: Sequence[Bars]) -> Axes:
    """Axes that hold every one of the charts."""
    limits = {limit for bars in charts for limit in (*bars.lower, *bars.upper)}
    heights = [height for bars in charts for height in bars.heights]
    return Axes(tuple(sorted(limits)) or (0.0, 1.0), max(heights, default=0.0) or 1.0)


def histogram(bars: Bars, axes: Axes, labels: Labels, brush: Brush | None = None) -> Markup:
    """Bars over a hairline axis, the number on each bar, the class limits under it."""
    parts = [_axis_line()]
    for number, (lower, upper, height) in enumerate(
        zip(bars.lower, bars.upper, bars.heights, strict=True)
    ):
        bar = ""
        if height > 0:
            bar = _bar(lower, upper, height, axes)
            bar += _bar_label((lower + upper) / 2, height, axes)
        parts.append(_bin(bar, (lower, upper, height), axes, labels, brush.limits[number])
                     if brush else bar)  # fmt: skip
    parts += _limit_labels(axes)
    parts.append(_text(WIDTH - RIGHT, HEIGHT - 6, labels.unit, "chart-unit", "end"))
    data = (
        f' data-fact="{brush.fact}" data-stand="{escape(brush.stand)}"'
        f' data-decimals="{brush.decimals}"'
        if brush
        else ""
    )
    return _svg(parts, labels.summary, "chart chart-bars", data)


def _bin(
    bar: str,
    shown: tuple[float, float, float],
    axes: Axes,
    labels: Labels,
    limits: tuple[float, float],
) -> str:
    """A bar that can be chosen: over its whole height it takes a pointer, its outline stays."""
    lower, upper, height = shown
    left, right = _x(lower, axes), _x(upper, axes)
    name = say("{low:g} to {high:g} {unit}").format(low=lower, high=upper, unit=labels.unit)
    told = f"{name}: {figure(height, ',.0f')}"
    reach = (
        f'<rect class="bin-reach" x="{left:.1f}" y="{TOP - 16}" width="{right - left:.1f}" '
        f'height="{HEIGHT - BOTTOM - TOP + 16}"/>'
    )
    whole = bar.partition("/>")[0].replace('class="bar"', 'class="bar-whole"') + "/>" if bar else ""
    return (
        f'<g class="bin" data-low="{limits[0]:g}" data-high="{limits[1]:g}" '
        f'aria-label="{escape(told)}">{reach}{whole}{bar}</g>'
    )


def stacked(
    whole: Bars, layers: Sequence[tuple[str, tuple[float, ...]]], axes: Axes, labels: Labels
) -> Markup:
    """Bars in layers (class of the colour, how much in each bar), the first at the foot."""
    parts = [_axis_line()]
    foot = [0.0] * len(whole.lower)
    for colour, heights in layers:
        for number, height in enumerate(heights):
            if height > 0:
                limits = (whole.lower[number], whole.upper[number])
                parts.append(_layer(limits, (foot[number], foot[number] + height), axes, colour))
                foot[number] += height
    for lower, upper, height in zip(whole.lower, whole.upper, whole.heights, strict=True):
        if height > 0:
            parts.append(_bar_label((lower + upper) / 2, height, axes))
    parts += _limit_labels(axes)
    parts.append(_text(WIDTH - RIGHT, HEIGHT - 6, labels.unit, "chart-unit", "end"))
    return _svg(parts, labels.summary, "chart chart-bars")


def band(
    across: Sequence[float],
    lines: tuple[Sequence[float], Sequence[float], Sequence[float]],
    labels: tuple[str, str],
) -> Markup:
    """A line over a band (low, high), with 0 where neither would be more nor less."""
    line, low, high = lines
    unit, summary = labels
    reach = max(abs(value) for values in lines for value in values) or 1.0
    scale = Axes((0.0, max(across)), 2 * reach)

    def path(values: Sequence[float], xs: Sequence[float]) -> str:
        return "L".join(
            f"{_inset_x(x, scale):.1f} {_y(value + reach, scale):.1f}"
            for x, value in zip(xs, values, strict=True)
        )

    back = path(list(reversed(high)), list(reversed(across)))
    middle = _y(reach, scale)
    parts = [
        f'<path class="chance" d="M{path(low, across)}L{back}Z"/>',
        f'<path class="axis" d="M{LEFT + 18} {TOP}V{HEIGHT - BOTTOM}H{WIDTH - RIGHT}"/>',
        f'<path class="axis by-chance" d="M{LEFT + 18} {middle:.1f}H{WIDTH - RIGHT}"/>',
        f'<path class="curve" d="M{path(line, across)}"/>',
        *(_tick_below(limit, scale) for limit in _round_steps(max(across))),
        _text(
            WIDTH - RIGHT,
            HEIGHT - 6,
            say("{unit} from a tree").format(unit=unit),
            "chart-unit",
            "end",
        ),
        _text(LEFT, TOP - 10, say("in clumps"), "chart-unit", "start"),
        _text(WIDTH - RIGHT, HEIGHT - BOTTOM - 6, say("apart"), "chart-unit", "end"),
    ]
    return _svg(parts, summary, "chart chart-band")


def scatter(dots: Dots, axes: tuple[float, float], labels: tuple[str, str, str]) -> Markup:
    """Each tree by thickness and height, drawn as the map draws it."""
    right, top = axes
    x_unit, y_unit, summary = labels
    scale = Axes((0.0, right), top)
    corner = f"M{LEFT + 18} {TOP}V{HEIGHT - BOTTOM}H{WIDTH - RIGHT}"
    parts = [f'<path class="axis" d="{corner}"/>']
    for x, y, symbol in zip(dots.x, dots.y, dots.symbols, strict=True):
        across, up = _inset_x(x, scale), _y(y, scale)
        place = f"translate({across:.1f} {up:.1f}) scale({SIGN_SCALE})"
        parts.append(f'<use class="dot" href="#sign-{symbol}" transform="{place}"/>')
    if dots.curve:
        line = "L".join(f"{_inset_x(x, scale):.1f} {_y(y, scale):.1f}" for x, y in dots.curve)
        parts.append(f'<path class="curve" d="M{line}"/>')
    parts += [_tick_below(limit, scale) for limit in _round_steps(right)]
    parts += [_tick_left(limit, scale) for limit in _round_steps(top) if limit]
    parts.append(_text(WIDTH - RIGHT, HEIGHT - 6, x_unit, "chart-unit", "end"))
    parts.append(_text(LEFT, TOP - 10, y_unit, "chart-unit", "start"))
    return _svg(parts, summary, "chart chart-dots")


def _svg(parts: Sequence[str], summary: str, css_class: str, data: str = "") -> Markup:
    return Markup(
        f'<svg class="{css_class}"{data} viewBox="0 0 {WIDTH} {HEIGHT}" role="img" '
        f'aria-label="{escape(summary)}">{"".join(parts)}</svg>'
    )


def _x(value: float, axes: Axes) -> float:
    span = (axes.right - axes.left) or 1.0
    return LEFT + (value - axes.left) / span * (WIDTH - LEFT - RIGHT)


def _inset_x(value: float, axes: Axes) -> float:
    return LEFT + 18 + value / axes.right * (WIDTH - LEFT - RIGHT - 18)


def _y(value: float, axes: Axes) -> float:
    return HEIGHT - BOTTOM - value / axes.top * (HEIGHT - BOTTOM - TOP)


def _axis_line() -> str:
    return f'<path class="axis" d="M{LEFT} {HEIGHT - BOTTOM}H{WIDTH - RIGHT}"/>'


def _bar(lower: float, upper: float, height: float, axes: Axes) -> str:
    left, right, top = _x(lower, axes) + 0.75, _x(upper, axes) - 0.75, _y(height, axes)
    return (
        f'<rect class="bar" x="{left:.1f}" y="{top:.1f}" '
        f'width="{max(right - left, 1):.1f}" height="{HEIGHT - BOTTOM - top:.1f}"/>'
    )


def _layer(limits: tuple[float, float], ends: tuple[float, float], axes: Axes, colour: str) -> str:
    left, right = _x(limits[0], axes) + 0.75, _x(limits[1], axes) - 0.75
    top, foot = _y(ends[1], axes), _y(ends[0], axes)
    return (
        f'<rect class="bar-layer {colour}" x="{left:.1f}" y="{top:.1f}" '
        f'width="{max(right - left, 1):.1f}" height="{foot - top:.1f}"/>'
    )


def _bar_label(middle: float, height: float, axes: Axes) -> str:
    text = figure(height, ",.0f")
    # A bar that rounds to nothing still stands for something.
    text = "<1" if text == "0" else text
    x, y = _x(middle, axes), _y(height, axes) - 5
    room = (WIDTH - LEFT - RIGHT) / max(len(axes.limits) - 1, 1)
    if len(text) * CHARACTER < room + 4:
        return _text(x, y, text, "bar-label")
    # Upright where the bars are narrower than their numbers.
    upright = f"translate({x + 4:.1f} {y:.1f}) rotate(-90)"
    return f'<g transform="{upright}">{_text(0, 0, text, "bar-label", "start")}</g>'


def _limit_labels(axes: Axes) -> list[str]:
    limits = axes.limits
    if not all(float(limit).is_integer() for limit in limits):
        # Metric classes in inches or feet: round numbers under them read better than the limits.
        return [_tick_at(_x(step, axes), step) for step in _round_steps(axes.right)
                if step >= axes.left]  # fmt: skip
    room = (WIDTH - LEFT - RIGHT) / max(len(limits) - 1, 1)
    every = max(1, math.ceil(LABEL_ROOM / room))
    # Every second or third limit, counted from 0 so that round numbers are shown.
    width = min((b - a for a, b in itertools.pairwise(limits)), default=1.0)
    base = HEIGHT - BOTTOM
    ticks = "".join(f"M{_x(limit, axes):.1f} {base}v4" for limit in limits)
    texts = [
        _text(_x(limit, axes), base + 16, figure(limit, "g"), "limit")
        for limit in limits
        if round(limit / width) % every == 0
    ]
    return [f'<path class="axis" d="{ticks}"/>', *texts]


def _tick_below(limit: float, axes: Axes) -> str:
    return _tick_at(_inset_x(limit, axes), limit)


def _tick_at(across: float, limit: float) -> str:
    base = HEIGHT - BOTTOM
    mark = f'<path class="axis" d="M{across:.1f} {base}v4"/>'
    return mark + _text(across, base + 16, figure(limit, "g"), "limit")


def _tick_left(limit: float, axes: Axes) -> str:
    up = _y(limit, axes)
    mark = f'<path class="axis" d="M{LEFT + 18} {up:.1f}h-4"/>'
    return mark + _text(LEFT + 11, up + 3.5, figure(limit, "g"), "limit", "end")


def _round_steps(top: float) -> list[float]:
    """Four to eight round numbers from 0 to the top."""
    rough = top / 5
    power = 10 ** math.floor(math.log10(rough))
    step = min((power * factor for factor in (1, 2, 5, 10)), key=lambda size: abs(size - rough))
    return [step * index for index in range(int(top / step) + 1)]


def _text(x: float, y: float, text: str, css_class: str, anchor: str = "middle") -> str:
    return (
        f'<text class="{css_class}" x="{x:.1f}" y="{y:.1f}" text-anchor="{anchor}">'
        f"{escape(text)}</text>"
    )
