"""Invented trees whose sizes and places follow published relations. Metres; stems in cm."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import accumulate
from random import Random
from statistics import NormalDist

from site_plan import (
    GROVE_PATH,
    PLANTATION_CORNERS,
    Place,
    along_rows,
    distance_to_line,
    grove_outline,
    inside,
)


@dataclass(frozen=True)
class Tree:
    """One tree as it stands, before anybody measures it."""

    place: Place
    species: str
    diameter_cm: float
    height_m: float
    stems_cm: tuple[float, ...] = ()
    status: str = "alive"


# Height curve in a stand, h = 1.3 + d^2 / (a + b d)^2. Source: Näslund 1936 (form from memory). The
# parameters are chosen for the demo: 1.3 + 1/b^2 is the height that the stoutest trees approach.
NASLUND = {
    "Acer saccharum": (1.35, 0.187),
    "Fagus grandifolia": (1.40, 0.195),
    "Tsuga canadensis": (1.90, 0.185),
    "Betula alleghaniensis": (1.25, 0.195),
    "Quercus rubra": (1.45, 0.178),
    "Pinus strobus": (1.90, 0.158),
    "Tilia americana": (1.30, 0.183),
    "Pinus resinosa": (1.05, 0.192),
    "Betula papyrifera": (1.10, 0.215),
    "Acer rubrum": (1.20, 0.205),
}

# Height curve in the open, h = 1.3 + a (1 - exp(-b d))^c. Source: Richards 1959, Chapman 1961 (from
# memory). Parameters chosen so that height/diameter lies near the median of open-grown city trees
# (McPherson, van Doorn & Peper 2016: 43 at 10-20 cm, 33 at 20-40 cm, 28 at 40-60 cm, 25 above).
OPEN_BROADLEAF, OPEN_CONIFER = (20.0, 0.026, 1.1), (22.0, 0.026, 1.1)

# Share of the species by size: shade-bearing beech below, oak and pine of an older forest above.
UNDERSTOREY = {
    "Fagus grandifolia": 32, "Acer saccharum": 30, "Tsuga canadensis": 20,
    "Betula alleghaniensis": 11, "Tilia americana": 7,
}  # fmt: skip
CANOPY = {
    "Acer saccharum": 34, "Tsuga canadensis": 22, "Fagus grandifolia": 16,
    "Betula alleghaniensis": 13, "Tilia americana": 8, "Quercus rubra": 7,
}  # fmt: skip
VETERANS = {
    "Acer saccharum": 24, "Quercus rubra": 24, "Pinus strobus": 20, "Tsuga canadensis": 22,
    "Tilia americana": 10,
}  # fmt: skip

# Every second row of 3 m was taken out.
ROW_SPACING_M = 6.0

# Where old trees fell and young ones came up.
GROVE_GAPS: tuple[Place, ...] = ((346, 268), (400, 272), (382, 222))
# Where wind and root rot took the pines.
PLANTATION_GAPS: tuple[Place, ...] = (along_rows(-24, 12), along_rows(26, -12))


def normal(rng: Random, mean: float, sd: float) -> float:
    """One draw by inversion: of all draws, only `random()` is promised never to change."""
    return NormalDist(mean, sd).inv_cdf(max(rng.random(), 1e-9))


def weibull(rng: Random, location: float, scale: float, shape: float) -> float:
    """Diameters of one age. Source: Bailey & Dell 1973, Forest Science 19:97 (from memory)."""
    return location + scale * math.pow(-math.log(1 - rng.random()), 1 / shape)


def negative_exponential(rng: Random, smallest: float, largest: float, quotient: float) -> float:
    """Diameters of a stand of all ages (reverse J), cut at both ends.

    `quotient` is the ratio of stems in neighbouring 2-inch classes; 1.39 was found in uncut
    old growth of northern hardwoods. Source: Leak 1996, Forest Science 42:160 (abstract read).
    """
    rate = math.log(quotient) / 5.08
    kept = 1 - math.exp(-rate * (largest - smallest))
    return smallest - math.log(1 - kept * rng.random()) / rate


def naslund_height(species: str, diameter_cm: float) -> float:
    a, b = NASLUND[species]
    return 1.3 + diameter_cm**2 / (a + b * diameter_cm) ** 2


def chapman_richards_height(diameter_cm: float, parameters: tuple[float, float, float]) -> float:
    a, b, c = parameters
    return 1.3 + a * math.pow(1 - math.exp(-b * diameter_cm), c)


def pick(rng: Random, weights: dict[str, int], place: Place) -> str:
    """A species by weight; hemlock prefers the moist western side, next to the brook."""
    moist = dict(weights)
    if place[0] < 360 and "Tsuga canadensis" in moist:
        moist["Tsuga canadensis"] *= 2
    lot = rng.random() * sum(moist.values())
    totals = accumulate(moist.values())
    return next(name for name, total in zip(moist, totals, strict=True) if lot < total)


def grove(rng: Random, count: int) -> list[Tree]:
    """An old mixed wood: a reverse J of diameters with a cohort of veterans above it."""
    veterans = [weibull(rng, 44, 26, 2.0) for _ in range(round(0.2 * count))]
    others = [negative_exponential(rng, 9.6, 60, 1.39) for _ in range(count - len(veterans))]
    diameters = sorted(veterans + others, reverse=True)
    places = inhibited_places(rng, diameters)
    return [_grove_tree(rng, place, d) for place, d in zip(places, diameters, strict=True)]


def _grove_tree(rng: Random, place: Place, diameter_cm: float) -> Tree:
    layer = UNDERSTOREY if diameter_cm < 25 else CANOPY if diameter_cm < 52 else VETERANS
    species = pick(rng, layer, place)
    height_m = naslund_height(species, diameter_cm) * math.exp(normal(rng, 0, 0.07))
    return Tree(place, species, diameter_cm, height_m)


def inhibited_places(rng: Random, diameters_cm: Sequence[float]) -> list[Place]:
    """Places by simple sequential inhibition: each stem keeps its distance from all before it.

    The distance grows with both diameters, as crowns do: stems never overlap.
    Source: Diggle 1983, Statistical analysis of spatial point patterns (from memory).
    """
    outline, placed = grove_outline(), list[tuple[Place, float]]()
    for diameter in diameters_cm:
        while True:
            place = _grove_candidate(rng, diameter, outline)
            if all(math.dist(place, p) >= 1.1 + 0.036 * (diameter + d) for p, d in placed):
                break
        placed.append((place, diameter))
    return [place for place, _ in placed]


def _grove_candidate(rng: Random, diameter_cm: float, outline: Sequence[Place]) -> Place:
    """A place inside the outline and off the path; young trees often in a gap, older ones never."""
    while True:
        place = (316 + 118 * rng.random(), 196 + 108 * rng.random())
        to_gap = min(math.dist(place, gap) for gap in GROVE_GAPS)
        wrong_gap = to_gap < 7.5 if diameter_cm >= 22 else to_gap > 12 and rng.random() < 0.45
        clear = distance_to_line(place, [*outline, outline[0]]) > 1.2
        off_path = distance_to_line(place, GROVE_PATH) > 2.2 + diameter_cm / 100
        if inside(place, outline) and clear and off_path and not wrong_gap:
            return place


def plantation(rng: Random) -> list[Tree]:
    """Red pine in rows, and what seeded itself into the gaps between them."""
    return _pines(rng) + _self_sown(rng)


def _pines(rng: Random) -> list[Tree]:
    """Planted 3 m by 2 m, every second row taken out, then thinned along the rows that were left.

    A row is walked post by post: the next pine kept is the second post on, or the third, or later.
    Source: Thiffault et al. 2021, CJFR 51:181 (abstract read): red pine planted at 1.2 to 3.0 m.
    """
    trees = []
    for row in range(-5, 6):
        along, across = -50.5 + 2 * rng.random(), ROW_SPACING_M * row
        while along < 53:
            post = along_rows(along + normal(rng, 0, 0.12), across + normal(rng, 0, 0.14))
            if _stands_in_rows(along, across) and not _in_plantation_gap(post):
                trees.append(_pine(rng, post))
            along += 2 * (2 + _posts_skipped(rng))
    return trees


def _posts_skipped(rng: Random) -> int:
    """Geometric: each post further on was left standing with probability 0.58."""
    return int(math.log(1 - rng.random()) / math.log(0.42))


def _stands_in_rows(along: float, across: float) -> bool:
    outline = [(float(x), float(y)) for x, y in PLANTATION_CORNERS]
    edge = distance_to_line((along, across), [*outline, outline[0]])
    return inside((along, across), outline) and edge > 1.4


def _in_plantation_gap(post: Place) -> bool:
    return any(math.dist(post, gap) < 9.5 for gap in PLANTATION_GAPS)


def _pine(rng: Random, place: Place) -> Tree:
    diameter = weibull(rng, 18, 16, 3.0)
    height_m = naslund_height("Pinus resinosa", diameter) * math.exp(normal(rng, 0, 0.04))
    return Tree(place, "Pinus resinosa", diameter, height_m)


def _self_sown(rng: Random) -> list[Tree]:
    """Young birch, maple and white pine in the gaps, spread round an off-centre spot."""
    trees: list[Tree] = []
    for gap in PLANTATION_GAPS:
        for species in ("Betula papyrifera", "Betula papyrifera", "Acer rubrum", "Pinus strobus"):
            turn, reach = 2 * math.pi * rng.random(), 2 + 3.5 * rng.random()
            place = (gap[0] + reach * math.cos(turn), gap[1] + reach * math.sin(turn))
            diameter = 8 + 8 * rng.random()
            trees.append(Tree(place, species, diameter, naslund_height(species, diameter)))
    return trees


def nearest_in_size(trees: Sequence[Tree], species: str, diameter_cm: float) -> int:
    """Number of the tree of a species whose diameter is nearest to one given."""
    wanted = [number for number, tree in enumerate(trees) if tree.species == species]
    return min(wanted, key=lambda number: abs(trees[number].diameter_cm - diameter_cm))


def with_status(trees: Sequence[Tree], number: int, status: str) -> list[Tree]:
    return [replace(tree, status=status) if i == number else tree for i, tree in enumerate(trees)]
