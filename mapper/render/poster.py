"""The whole map drawn for one large sheet of paper; every length here is a millimetre on it."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from markupsafe import Markup, escape
from pyproj import CRS, Transformer

from mapper.language import figure, say
from mapper.render.folium_map import BACKDROP_KINDS, Ground
from mapper.render.rows import Row, number, rows_of, text
from mapper.render.tree_data import OTHER_COLOUR

WIDTH, HEIGHT = 300.0, 279.0
LEFT, TOP, RIGHT, BOTTOM = 7.0, 7.0, 293.0, 272.0  # the neat line
ROOM = 9.0  # from the outermost tree to the neat line
SCALES = (1.0, 1.2, 1.25, 1.4, 1.5, 1.6, 1.8, 2.0, 2.5, 3.0, 4.0, 5.0, 7.5)
LARGEST_SCALE = 100  # a single tree is not drawn larger than 1 : 100
SIGN_UNITS = 8.0  # outline radius in the drawing of a sign
SIGN_MM = (0.9, 2.6)
LETTER_MM = 1.9  # 5.4 pt
CHARACTER_MM = 1.02
TICKS_MM = 55.0
TICK_SECONDS = (0.1, 0.2, 0.5, 1, 2, 5, 10, 15, 30, 60, 120, 300, 600, 900, 1800, 3600)
TIMES = (1, 2, 3, 4, 5, 8, 10, 15, 20, 30, 50)
BAR_MM = 70.0
MOST_TREES = 20_000  # a drawing of more is too heavy for a browser, and grey on paper
MOST_NAMES = 3000  # above, names would be a grey veil


@dataclass(frozen=True)
class Paper:
    """How the ground comes to lie on the paper: true to scale round the middle of the survey."""

    crs: CRS
    denominator: float  # 1 : denominator

    @property
    def mm_per_m(self) -> float:
        """Millimetres of paper for a metre of ground."""
        return 1000 / self.denominator

    def x(self, metres: np.ndarray) -> np.ndarray:
        """From metres east of the middle."""
        return (LEFT + RIGHT) / 2 + metres * self.mm_per_m

    def y(self, metres: np.ndarray) -> np.ndarray:
        """From metres north of the middle."""
        return (TOP + BOTTOM) / 2 - metres * self.mm_per_m

    def shapes(self, ground: gpd.GeoDataFrame) -> gpd.GeoSeries:
        """Outlines on the paper, cut at the neat line."""
        k = self.mm_per_m
        middle = [(LEFT + RIGHT) / 2, (TOP + BOTTOM) / 2]
        drawn = ground.geometry.to_crs(self.crs).affine_transform([k, 0, 0, -k, *middle])
        return drawn.intersection(shapely.box(LEFT, TOP, RIGHT, BOTTOM))


@dataclass(frozen=True)
class Poster:
    """The drawing with what its margin says about it."""

    drawing: Markup
    bar: Markup
    denominator: str
    times: str
    unnamed: int


def draw_poster(
    trees: pd.DataFrame, ground: Ground, colours: dict[str, int], unit_m: float
) -> Poster:
    """Draw every tree that has a place, the stands and what lies under them.

    `colours` gives each kind its colour; `unit_m` is the survey's unit of length, in metres.
    """
    placed = trees.dropna(subset=["lat", "lon"]).reset_index(drop=True)
    paper = paper_for(placed, ground.boundaries)
    dots = gpd.GeoSeries(gpd.points_from_xy(placed["lon"], placed["lat"]), crs="EPSG:4326")
    dots = dots.to_crs(paper.crs)
    x, y = paper.x(dots.x.to_numpy()), paper.y(dots.y.to_numpy())
    sign = _sign_radius(x, y)
    times = _times(placed["diameter_cm"], sign, paper)
    names, unnamed = _names(placed, x, y, sign)
    parts = [
        *_ground(ground, paper),
        *_trees(placed, np.column_stack([x, y]), (sign, times * paper.mm_per_m / 200), colours),
        *names,
        *_stand_names(ground.boundaries, paper),
        _rectangle("poster-neat", 0),
        _rectangle("poster-edge", 1.2),
        *_ticks(paper),
        _north_arrow(),
    ]
    box = f"0 0 {WIDTH:g} {HEIGHT:g}"
    told = escape(say("Map of all trees"))
    opening = f'<svg class="poster-map" viewBox="{box}" role="img" aria-label="{told}">'
    return Poster(
        drawing=Markup(opening + "\n".join(parts) + "</svg>"),  # every text in it is escaped
        bar=_bar(paper, unit_m),
        denominator=figure(paper.denominator, ",.0f"),
        times=figure(times, "g"),
        unnamed=unnamed,
    )


def paper_for(placed: pd.DataFrame, boundaries: gpd.GeoDataFrame) -> Paper:
    """The largest round scale at which everything fits inside the neat line."""
    points = gpd.GeoSeries(gpd.points_from_xy(placed["lon"], placed["lat"]), crs="EPSG:4326")
    everything = pd.concat([points, boundaries.geometry.to_crs("EPSG:4326")])
    west, south, east, north = everything.total_bounds
    middle = f"+lat_0={(south + north) / 2:.7f} +lon_0={(west + east) / 2:.7f}"
    crs = CRS.from_proj4(f"+proj=aeqd {middle} +datum=WGS84 +units=m")
    reach = np.abs(gpd.GeoSeries(everything, crs="EPSG:4326").to_crs(crs).total_bounds)
    across = (RIGHT - LEFT - 2 * ROOM) / 2000
    upwards = (BOTTOM - TOP - 2 * ROOM) / 2000
    least = max(reach[[0, 2]].max() / across, reach[[1, 3]].max() / upwards, LARGEST_SCALE)
    return Paper(crs, _round_scale(least))


def _round_scale(least: float) -> float:
    power = 10.0 ** math.floor(math.log10(least))
    return next((k * power for k in SCALES if k * power >= least - 1e-6), 10 * power)


def _sign_radius(x: np.ndarray, y: np.ndarray) -> float:
    """Signs of one size that mostly stand clear of each other."""
    apart_places = np.unique(np.column_stack([x, y]).round(3), axis=0)
    points = [shapely.Point(place) for place in apart_places]
    if len(points) < 2:
        return SIGN_MM[1]
    _, apart = shapely.STRtree(points).query_nearest(
        points, exclusive=True, return_distance=True, all_matches=False
    )
    return float(np.clip(np.median(apart) * 0.45, *SIGN_MM))


def _times(diameters: pd.Series, sign: float, paper: Paper) -> int:
    """How many times larger than the scale stems are drawn, so that thick ones stay in a sign."""
    known = diameters.dropna().astype(float)
    thick_mm = (known.quantile(0.9) if len(known) else 30.0) / 200 * paper.mm_per_m
    return max((k for k in TIMES if k * thick_mm <= sign * 0.8), default=1)


def _ground(ground: Ground, paper: Paper) -> Iterator[str]:
    for kind in BACKDROP_KINDS:
        shapes = ground.backdrop[ground.backdrop["kind"] == kind]
        yield from _paths(shapes, paper, f"backdrop backdrop-{kind}")
    yield from _paths(ground.boundaries, paper, "stand-boundary")


def _paths(shapes: gpd.GeoDataFrame, paper: Paper, style: str) -> Iterator[str]:
    if shapes.empty:
        return
    for shape in paper.shapes(shapes):
        lines = [_line(part) for part in shapely.get_parts(shape) if not part.is_empty]
        if lines:
            yield f'<path class="{style}" d="{"".join(lines)}"/>'


def _line(shape: shapely.Geometry) -> str:
    if isinstance(shape, shapely.Polygon):
        return "".join(f"{_points(ring)}Z" for ring in (shape.exterior, *shape.interiors))
    return _points(shape) if isinstance(shape, shapely.LineString) else ""


def _points(line: shapely.LineString) -> str:
    return "M" + "L".join(f"{x:.2f} {y:.2f}" for x, y in line.coords)


def _trees(
    placed: pd.DataFrame,
    places: np.ndarray,
    sizes: tuple[float, float],
    colours: dict[str, int],
) -> Iterator[str]:
    """The sign and the stem of each tree; `sizes`: of a sign, and of a stem per cm across."""
    sign, per_cm = sizes
    for row, (x, y) in zip(rows_of(placed), places, strict=True):
        colour = min(colours.get(text(row, "species"), OTHER_COLOUR), OTHER_COLOUR)
        place = f'x="{x - sign:.2f}" y="{y - sign:.2f}" width="{2 * sign:.2f}"'
        yield f'<use href="#poster-{text(row, "symbol")}" {place} height="{2 * sign:.2f}"/>'
        stem = _stem_radius(row, per_cm)
        if text(row, "symbol") != "dead":
            yield f'<circle class="fill-{colour}" cx="{x:.2f}" cy="{y:.2f}" r="{stem:.2f}"/>'


def _stem_radius(row: Row, per_cm: float) -> float:
    diameter = number(row, "diameter_cm")
    return max(diameter * per_cm, 0.25) if math.isfinite(diameter) else 0.25


def _names(
    placed: pd.DataFrame, x: np.ndarray, y: np.ndarray, sign: float
) -> tuple[list[str], int]:
    """Names of trees, thickest first, where they cover neither a tree nor another name."""
    if len(placed) > MOST_NAMES:
        return [], len(placed)
    signs = shapely.STRtree(shapely.box(x - sign, y - sign, x + sign, y + sign))
    order = placed["diameter_cm"].astype(float).fillna(0).sort_values(ascending=False).index
    names, taken = [], list[shapely.Polygon]()
    for index in order:
        name = str(placed["tree"].iloc[index])
        spot = _free_spot((x[index], y[index]), len(name) * CHARACTER_MM, sign, signs, taken)
        if spot is None:
            continue
        taken.append(spot)
        left, _, _, bottom = spot.bounds
        words = f'x="{left:.2f}" y="{bottom - 0.4:.2f}"'
        names.append(f'<text class="poster-tree" {words}>{escape(name)}</text>')
    return names, len(placed) - len(names)


def _free_spot(
    place: tuple[float, float],
    wide: float,
    sign: float,
    signs: shapely.STRtree,
    taken: Sequence[shapely.Polygon],
) -> shapely.Polygon | None:
    x, y = place
    gap = sign + 0.3
    sides = ((gap, -LETTER_MM / 2), (-gap - wide, -LETTER_MM / 2))
    for right, down in (*sides, (-wide / 2, -gap - LETTER_MM), (-wide / 2, gap)):
        left, top = x + right, y + down
        box = shapely.box(left, top, left + wide, top + LETTER_MM)
        inside = left > LEFT + 1 and left + wide < RIGHT - 1
        free = not len(signs.query(box, predicate="intersects"))
        if inside and free and not any(box.intersects(other) for other in taken):
            return box
    return None


def _stand_names(boundaries: gpd.GeoDataFrame, paper: Paper) -> Iterator[str]:
    for name, shape in zip(boundaries["stand"], paper.shapes(boundaries), strict=True):
        west, top, east, _ = shape.bounds
        place = f'x="{(west + east) / 2:.2f}" y="{top - 1.6:.2f}"'
        yield f'<text class="poster-stand" {place}>{escape(str(name))}</text>'


def _rectangle(style: str, out: float) -> str:
    wide, high = RIGHT - LEFT + 2 * out, BOTTOM - TOP + 2 * out
    place = f'x="{LEFT - out:g}" y="{TOP - out:g}"'
    return f'<rect class="{style}" {place} width="{wide:g}" height="{high:g}"/>'


def _ticks(paper: Paper) -> Iterator[str]:
    """Coordinates outside the neat line, where the meridian or parallel meets it."""
    half = np.array([RIGHT - LEFT, BOTTOM - TOP]) / 2 / paper.mm_per_m
    back = Transformer.from_crs(paper.crs, "EPSG:4326", always_xy=True)
    on = Transformer.from_crs("EPSG:4326", paper.crs, always_xy=True)
    for side, edge in ((-1, BOTTOM), (1, TOP)):
        lons, lats = back.transform([-half[0], half[0]], [side * half[1]] * 2)
        for lon, words in _round_values(lons[0], lons[1], (RIGHT - LEFT), (say("E"), say("W"))):
            x = float(paper.x(np.asarray(on.transform(lon, lats[0])[0])))
            end = edge - side * 2.2
            yield f'<path class="poster-tick" d="M{x:.2f} {edge:g}V{end:g}"/>'
            yield _tick_words(x, edge - side * 4.2, words, 0)
    for side, edge in ((-1, LEFT), (1, RIGHT)):
        lons, lats = back.transform([side * half[0]] * 2, [-half[1], half[1]])
        for lat, words in _round_values(lats[0], lats[1], (BOTTOM - TOP), (say("N"), say("S"))):
            y = float(paper.y(np.asarray(on.transform(lons[0], lat)[1])))
            yield f'<path class="poster-tick" d="M{edge:g} {y:.2f}H{edge + side * 2.2:g}"/>'
            yield _tick_words(edge + side * 4.2, y, words, side * 90)


def _tick_words(x: float, y: float, words: str, turn: float) -> str:
    turned = f' transform="rotate({turn:g} {x:.2f} {y:.2f})"' if turn else ""
    place = f'x="{x:.2f}" y="{y:.2f}"'
    return f'<text class="poster-degrees" {place}{turned}>{escape(words)}</text>'


def _round_values(
    low: float, high: float, side_mm: float, letters: tuple[str, str]
) -> Iterator[tuple[float, str]]:
    least = (high - low) * 3600 * TICKS_MM / side_mm
    step = next((each for each in TICK_SECONDS if each >= least), TICK_SECONDS[-1])
    for count in range(math.ceil(low * 3600 / step), math.floor(high * 3600 / step) + 1):
        yield count * step / 3600, _degrees(count * step, step, letters)


def _degrees(seconds: float, step: float, letters: tuple[str, str]) -> str:
    size = round(abs(seconds), 1)
    whole, rest = divmod(size, 3600)
    minutes, left = divmod(rest, 60)
    form = "04.1f" if step < 1 else "02.0f"
    return f"{whole:.0f}°{minutes:02.0f}′{figure(left, form)}″{letters[seconds < 0]}"


def _north_arrow() -> str:
    x, y = RIGHT - 12, TOP + 24
    dark, light = (
        f"M{x} {y}L{x - 4} {y + 6}L{x} {y - 14}Z",
        f"M{x} {y}L{x + 4} {y + 6}L{x} {y - 14}Z",
    )
    arrow = f'<path class="poster-north" d="{dark}"/><path class="poster-north-light" d="{light}"/>'
    letter = escape(say("N"))
    return f'{arrow}<text class="poster-n" x="{x}" y="{y - 15.5}">{letter}</text>'


def _bar(paper: Paper, unit_m: float) -> Markup:
    """A scale bar of four parts, a round length, true on the paper."""
    longest = BAR_MM / paper.mm_per_m / unit_m
    power = 10.0 ** math.floor(math.log10(longest))
    length = next(k * power for k in (5, 2, 1) if k * power <= longest)
    part = length * unit_m * paper.mm_per_m / 4
    rects = [
        f'<rect class="bar-{"light" if i % 2 else "dark"}" x="{4 + i * part:.3f}" y="4" '
        f'width="{part:.3f}" height="1.6"/>'
        for i in range(4)
    ]
    unit = say("ft") if unit_m < 1 else say("m")
    ends = [(4, "0"), (4 + 2 * part, figure(length / 2, "g")), (4 + 4 * part, figure(length, "g"))]
    words = [f'<text x="{x:.2f}" y="3">{escape(each)}</text>' for x, each in ends]
    words.append(f'<text class="bar-unit" x="{4 + 4 * part + 3.5:.2f}" y="3">{escape(unit)}</text>')
    told = escape(say("Scale bar: {length} {unit}").format(length=figure(length, "g"), unit=unit))
    box = f'viewBox="0 0 90 7" role="img" aria-label="{told}"'
    return Markup(f'<svg class="poster-bar" {box}>{"".join(rects + words)}</svg>')
