"""The single trees of the school grounds and the pond, where a gardener would plant them."""

import math
from dataclasses import dataclass
from random import Random

from growing import OPEN_BROADLEAF, OPEN_CONIFER, Tree, chapman_richards_height, normal
from site_plan import Place


@dataclass(frozen=True)
class Planting:
    """Trees of one kind planted together: of one age, so of about one size."""

    species: str
    mean_diameter_cm: float
    places: tuple[Place, ...]
    stems: int = 1


def row(start: Place, step: Place, count: int) -> tuple[Place, ...]:
    return tuple((start[0] + step[0] * n, start[1] + step[1] * n) for n in range(count))


PLANTINGS = (
    Planting(
        "Tilia americana", 44, row((17, 190), (10.5, 0.6), 4) + row((17, 173), (10.5, 0.6), 4)
    ),
    Planting("Acer rubrum", 27, row((18, 36), (0.2, 18), 5)),
    Planting("Acer saccharum", 52, row((38, 122), (15.5, 0.3), 5)),
    Planting("Aesculus hippocastanum", 88, ((106, 158),)),
    Planting(
        "Gleditsia triacanthos", 24, row((88, 203), (12.5, 0), 4) + row((94, 215), (12.5, 0), 3)
    ),
    Planting("Picea pungens", 31, row((90, 272), (8.5, 0.5), 6)),
    Planting("Betula papyrifera", 16, ((178, 181), (192, 197), (176, 205)), stems=3),
    Planting("Quercus rubra", 74, ((176, 152), (188, 108), (170, 84))),
    Planting("Pinus strobus", 58, ((212, 236), (222, 250))),
    Planting("Salix nigra", 46, ((228, 186), (232, 142), (296, 176)), stems=2),
    Planting("Salix nigra", 57, ((246, 110), (300, 148))),
    Planting("Acer rubrum", 34, ((328, 204), (306, 226), (348, 176), (362, 186), (384, 172))),
)
CONIFERS = ("Picea pungens", "Pinus strobus")


def school_trees(rng: Random) -> list[Tree]:
    return [_planted(rng, group, place) for group in PLANTINGS for place in group.places]


def _planted(rng: Random, group: Planting, spot: Place) -> Tree:
    """Near its spot, near its mean size; a clump has stems of falling size."""
    place = (spot[0] + normal(rng, 0, 0.3), spot[1] + normal(rng, 0, 0.3))
    main_cm = group.mean_diameter_cm * math.exp(normal(rng, 0, 0.13))
    stems = tuple(main_cm * share * math.exp(normal(rng, 0, 0.05)) for share in (1, 0.82, 0.63))
    curve = OPEN_CONIFER if group.species in CONIFERS else OPEN_BROADLEAF
    height_m = chapman_richards_height(main_cm, curve) * math.exp(normal(rng, 0, 0.06))
    kept = stems[: group.stems] if group.stems > 1 else ()
    return Tree(place, group.species, main_cm, height_m, kept)
