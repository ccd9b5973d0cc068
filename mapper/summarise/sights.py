"""What an observer sighted, in metres from the eye: enough to draw a height to scale."""

import math
from collections.abc import Callable, Mapping

from mapper import metrics
from mapper.summarise.results import Point, Sight
from mapper.summarise.workings_words import Tree


def sight_of(tree: Tree) -> Sight | None:
    """The triangle of the tree's height; None where no angle was sighted, or none can be drawn."""
    way = SIGHTS.get(str(tree["height_method"]))
    if way is None or not tree["height_formula"]:
        return None
    sight = way(tree)
    # What no tree shows is left to the words: a top below its foot, or a ray to the sky.
    across, up = sight.top
    drawn = across > 0 and sight.foot[0] > 0 and up > sight.foot[1] and abs(sight.top_deg) < 89
    return sight if drawn else None


def level_distance(tree: Tree, name: str) -> float:
    """The level distance, worked out where the one that was measured slants along `name`."""
    tape = float(tree["baseline_m"])
    if tree["height_formula"] == "height_from_slope":
        return float(metrics.distance_from_slope(tape, tree[name]))
    if tree["height_formula"] == "height_along_ground":
        return float(metrics.distance_along_ground(tape, tree[name], tree["eye_height_m"]))
    return tape


def _two_angles(tree: Tree) -> Sight:
    distance = level_distance(tree, "angle_base_deg")
    top, base = float(tree["angle_top_deg"]), float(tree["angle_base_deg"])
    return Sight(_ray(distance, top), _ray(distance, base), top, base)


def _one_angle(tree: Tree) -> Sight:
    distance, top = float(tree["baseline_m"]), float(tree["angle_top_deg"])
    return Sight(_ray(distance, top), (distance, -float(tree["eye_height_m"])), top)


def _mark(tree: Tree) -> Sight:
    distance = level_distance(tree, "angle_mark_deg")
    top, angle = float(tree["angle_top_deg"]), float(tree["angle_mark_deg"])
    mark = _ray(distance, angle)
    foot = (distance, mark[1] - float(tree["mark_height_m"]))
    return Sight(_ray(distance, top), foot, top, angle, mark)


def _sine(tree: Tree) -> Sight:
    top, base = float(tree["angle_top_deg"]), float(tree["angle_base_deg"])
    return Sight(
        _along(float(tree["slant_top_m"]), top),
        _along(float(tree["slant_base_m"]), base),
        top,
        base,
    )


def _ray(distance_m: float, degrees: float) -> Point:
    return distance_m, distance_m * math.tan(math.radians(degrees))


def _along(slant_m: float, degrees: float) -> Point:
    turn = math.radians(degrees)
    return slant_m * math.cos(turn), slant_m * math.sin(turn)


SIGHTS: Mapping[str, Callable[[Tree], Sight]] = {
    "two angles": _two_angles,
    "one angle": _one_angle,
    "mark": _mark,
    "sine": _sine,
}
