"""Brook Wood: a young wood of which only round plots were measured, from their middles outwards."""

import datetime as dt
import math
from collections.abc import Sequence
from dataclasses import dataclass
from random import Random

from growing import Tree, naslund_height, normal, pick, weibull
from measuring import NUTHATCH, OTTER, Record, angles, girth_cm, remark, standing_off, to_step
from measuring import written_species as written
from site_plan import WOOD_NAME, Place, distance_to_line, inside, to_degrees, wood_outline

WOOD_TREES, PLOTS = 640, 8
PLOT_RADIUS_M = 5.64  # 100 m²
# The middles of two plots lie farther apart than this, so that no tree is on both.
APART_M = 2 * PLOT_RADIUS_M
CLEARING: Place = (246, 52)
CLEARING_RADIUS_M = 13.0
LEAST_GAP_M = 1.3
YOUNG = {"Acer rubrum": 44, "Betula papyrifera": 34, "Pinus strobus": 22}


@dataclass(frozen=True)
class Plot:
    """A round plot: its name, and its middle in metres."""

    name: str
    middle: Place


def wood(rng: Random) -> list[Tree]:
    """Every tree of the wood: it came up at one time round a clearing that stayed open.

    Places by simple sequential inhibition, as in the grove; diameters of one age.
    """
    trees: list[Tree] = []
    while len(trees) < WOOD_TREES:
        place = _spot(rng)
        if all(math.dist(place, other.place) >= LEAST_GAP_M for other in trees):
            species = pick(rng, YOUNG, (400, 0))  # the brook's side makes no difference here
            diameter = weibull(rng, 6, 11, 2.1)
            height = naslund_height(species, diameter) * math.exp(normal(rng, 0, 0.06))
            trees.append(Tree(place, species, diameter, height))
    return trees


def _spot(rng: Random, from_edge_m: float = 0.8, clearing_m: float = CLEARING_RADIUS_M) -> Place:
    outline = wood_outline()
    while True:
        place = (170 + 120 * rng.random(), 8 + 92 * rng.random())
        edge = distance_to_line(place, [*outline, outline[0]])
        if (
            inside(place, outline)
            and edge >= from_edge_m
            and math.dist(place, CLEARING) >= clearing_m
        ):
            return place


def plots(rng: Random) -> list[Plot]:
    """Plots drawn by chance wherever a whole one lies in the wood, the clearing as well."""
    middles: list[Place] = []
    while len(middles) < PLOTS:
        middle = _spot(rng, PLOT_RADIUS_M, 0.0)
        if all(math.dist(middle, other) >= APART_M for other in middles):
            middles.append(middle)
    return [Plot(f"B{number}", middle) for number, middle in enumerate(middles, start=1)]


def plot_rows(drawn: Sequence[Plot]) -> list[Record]:
    """A row a plot, also for one without a tree."""
    rows: list[Record] = []
    for plot in drawn:
        lon, lat = to_degrees(plot.middle)
        rows.append(
            {
                "plot": plot.name,
                "stand": WOOD_NAME,
                "lat": round(lat, 6),
                "lon": round(lon, 6),
                "position_accuracy_m": 1,
                "radius_m": PLOT_RADIUS_M,
            }
        )
    return rows


def wood_records(rng: Random) -> tuple[list[Record], list[Record]]:
    """The plots, and the trees on them, plot by plot and clockwise from north."""
    trees, drawn = wood(rng), plots(rng)
    rows = []
    for plot in drawn:
        near = [tree for tree in trees if math.dist(tree.place, plot.middle) <= PLOT_RADIUS_M]
        around = sorted(near, key=lambda tree: bearing_deg(plot.middle, tree.place))
        rows += [_record(rng, plot, tree, number) for number, tree in enumerate(around, start=1)]
    return plot_rows(drawn), rows


def bearing_deg(start: Place, end: Place) -> float:
    """Direction from one place to another, clockwise from north."""
    return math.degrees(math.atan2(end[0] - start[0], end[1] - start[1])) % 360


def _record(rng: Random, plot: Plot, tree: Tree, number: int) -> Record:
    """A bearing and a tape from the middle of the plot; each height by two angles."""
    team = NUTHATCH if int(plot.name[1:]) % 2 else OTTER
    baseline = standing_off(tree.height_m, (10, 12.5, 15, 17.5))
    top, base = angles(rng, team, tree.height_m, baseline, 0.3)
    return {
        "tree": f"{plot.name}-{number:02d}",
        "stand": WOOD_NAME,
        "plot": plot.name,
        "species": written(rng, tree.species),
        "date": dt.date(2026, 5, 6 + int(plot.name[1:]) // 5),
        "observer": team.name,
        "bearing_deg": round(bearing_deg(plot.middle, tree.place) + normal(rng, 0, 1)) % 360,
        "bearing_from": "true",
        "distance_m": round(math.dist(tree.place, plot.middle), 1),
        "girth_cm": to_step(girth_cm(rng, tree.diameter_cm), 0.5),
        "baseline_m": baseline,
        "baseline_method": team.baseline_method,
        "angle_top_deg": top,
        "angle_base_deg": base,
        "status": tree.status,
        "note": remark(rng),
    }
