"""The working of a height, by every way to find one."""

import math
from collections.abc import Callable, Iterator, Mapping

from mapper import metrics
from mapper.measure.height_formulas import FORMULAS
from mapper.summarise.results import Step
from mapper.summarise.sights import level_distance, sight_of
from mapper.summarise.workings_words import Tree, angle, minus, reading, sure

# What goes in, and the formula with the numbers put in.
Wording = Callable[[Tree], tuple[str, str]]

SCALES: Mapping[str, tuple[str, Callable[[float], str], Callable[[float], str]]] = {
    "degrees from vertical": (
        "elevation_from_vertical",
        lambda degrees: f"{90 - degrees:.4g}° from straight up",
        lambda degrees: f"90° − {90 - degrees:.4g}°",
    ),
    "percent": (
        "elevation_from_percent",
        lambda degrees: f"{minus(100 * math.tan(math.radians(degrees)))} %",
        lambda degrees: f"arctan({minus(100 * math.tan(math.radians(degrees)))} / 100)",
    ),
    "per 66": (
        "elevation_from_per_66",
        lambda degrees: f"{minus(66 * math.tan(math.radians(degrees)))} per 66",
        lambda degrees: f"arctan({minus(66 * math.tan(math.radians(degrees)))} / 66)",
    ),
}
ANGLE_NAMES = {
    "angle_top_deg": "top", "angle_top_2_deg": "top from the second station",
    "angle_mark_deg": "mark", "angle_base_deg": "base",
}  # fmt: skip


def height_steps(tree: Tree) -> Iterator[Step]:
    """Angles in degrees and the level distance where they were worked out, then the height."""
    if not tree["height_formula"]:
        yield _typed(tree)
        return
    yield from _angles(tree)
    yield from _distance(tree)
    inputs, formula = WORDINGS[tree["height_method"], tree["height_formula"]](tree)
    note: str = NOTES.get(str(tree["height_method"]), "")
    result = reading(tree, "height", "m")
    method = tree["height_formula"]
    yield Step("Height", inputs, formula, result, method, note, sight_of(tree))


def lean_step(tree: Tree) -> Step:
    """How long a leaning stem is: that changes no height."""
    offset = tree["lean_offset_m"]
    height = tree["height_reading"]
    return Step(
        "Length along the stem",
        f"height {height:.2f} m, the top {offset:.4g} m out to the side",
        f"√({height:.2f}² + {offset:.4g}²)",
        sure(tree, tree["stem_length_m"], tree["stem_length_sd_m"], "m"),
        "stem_length_from_lean",
        "A leaning stem is longer than the tree is high. Nothing else is corrected for the lean: "
        "neither the height nor a distance to the foot.",
    )


def _typed(tree: Tree) -> Step:
    how = tree["height_method"]
    unsure = "How sure it is we cannot tell."
    poorest = "How good the instrument was is not known: taken for the poorest one tested."
    note = poorest if tree["height_sd_m"] > 0 else unsure
    inputs = f"height {tree['height_reading']:.3g} m, {how}"
    return Step("Height", inputs, "", reading(tree, "height", "m"), "", note)


def _angles(tree: Tree) -> Iterator[Step]:
    """Readings of another scale, turned into degrees above level."""
    needed = FORMULAS[tree["height_method"], tree["height_formula"]].inputs
    stations = ("angle_top_deg", "angle_top_2_deg") if "near_deg" in needed else ()
    names = [name for name in ANGLE_NAMES if name in (*needed, *stations)]
    if tree["angle_unit"] not in SCALES or not names:
        return
    method, written, formula = SCALES[tree["angle_unit"]]
    yield Step(
        "Angles above level",
        ", ".join(f"{ANGLE_NAMES[name]} {written(tree[name])}" for name in names),
        "; ".join(formula(tree[name]) for name in names),
        ", ".join(f"{ANGLE_NAMES[name]} {minus(tree[name])}°" for name in names),
        method,
    )


def _distance(tree: Tree) -> Iterator[Step]:
    """The level distance, where the one that was measured slants."""
    tape = tree["baseline_m"]
    if tree["height_formula"] == "height_from_slope":
        name = "angle_mark_deg" if tree["height_method"] == "mark" else "angle_base_deg"
        slant = tree[name]
        inputs = f"{tape:.4g} m straight from the eye ({_by(tree)}), {_at(tree, name)}"
        level = metrics.distance_from_slope(tape, slant)
        formula = f"{tape:.4g} × cos {angle(slant)}"
        yield Step("Level distance", inputs, formula, f"{level:.2f} m", "distance_from_slope")
    if tree["height_formula"] == "height_along_ground":
        base, eye = tree["angle_base_deg"], tree["eye_height_m"]
        inputs = (
            f"tape {tape:.4g} m along the ground ({_by(tree)}), {_at(tree, 'angle_base_deg')}, "
            f"{_eye(tree)}"
        )
        level = metrics.distance_along_ground(tape, base, eye)
        cos = f"cos {angle(base)}"
        formula = f"{cos} × (√({tape:.4g}² − ({eye:.4g} × {cos})²) − {eye:.4g} × sin {angle(base)})"
        yield Step("Level distance", inputs, formula, f"{level:.2f} m", "distance_along_ground")


def _by(tree: Tree, name: str = "baseline_m") -> str:
    """How a distance was measured; one that was paced shows the paces."""
    pace = tree["pace_length_m"]
    if tree["baseline_method"] == "paced" and pace > 0:
        return f"{tree[name] / pace:.4g} paces of {pace:.4g} m"
    return str(tree["baseline_method"]) or "no method given, taken as taped"


def _eye(tree: Tree) -> str:
    return f"eye {tree['eye_height_m']:.4g} m above the ground"


def _at(tree: Tree, name: str) -> str:
    return f"{ANGLE_NAMES[name]} {minus(tree[name])}°"


def _two_angles(tree: Tree) -> tuple[str, str]:
    distance, top, base = tree["baseline_m"], tree["angle_top_deg"], tree["angle_base_deg"]
    inputs = f"distance {distance:.4g} m ({_by(tree)}), top {minus(top)}°, base {minus(base)}°"
    return inputs, f"{distance:.4g} × (tan {angle(top)} − tan {angle(base)})"


def _over_level(tree: Tree) -> tuple[str, str]:
    level = level_distance(tree, "angle_base_deg")
    top, base = tree["angle_top_deg"], tree["angle_base_deg"]
    inputs = f"level distance {level:.2f} m, top {minus(top)}°, base {minus(base)}°"
    return inputs, f"{level:.2f} × (tan {angle(top)} − tan {angle(base)})"


def _mark(tree: Tree) -> tuple[str, str]:
    distance = tree["baseline_m"]
    start = f"distance {distance:.4g} m ({_by(tree)})"
    if tree["height_formula"] == "height_from_slope":
        distance = level_distance(tree, "angle_mark_deg")
        start = f"level distance {distance:.2f} m"
    top, mark, high = tree["angle_top_deg"], tree["angle_mark_deg"], tree["mark_height_m"]
    inputs = f"{start}, top {minus(top)}°, mark {minus(mark)}°, mark {high:.4g} m above the ground"
    return inputs, f"{distance:.4g} × (tan {angle(top)} − tan {angle(mark)}) + {high:.4g}"


def _one_angle(tree: Tree) -> tuple[str, str]:
    distance, top, eye = tree["baseline_m"], tree["angle_top_deg"], tree["eye_height_m"]
    inputs = f"distance {distance:.4g} m ({_by(tree)}), top {minus(top)}°, {_eye(tree)}"
    return inputs, f"{distance:.4g} × tan {angle(top)} + {eye:.4g}"


def _sine(tree: Tree) -> tuple[str, str]:
    far, near = tree["slant_top_m"], tree["slant_base_m"]
    top, base = tree["angle_top_deg"], tree["angle_base_deg"]
    inputs = f"{far:.4g} m to the top at {minus(top)}°, {near:.4g} m to the base at {minus(base)}°"
    return inputs, f"{far:.4g} × sin {angle(top)} − {near:.4g} × sin {angle(base)}"


def _stations(tree: Tree) -> tuple[str, str]:
    gap = tree["station_gap_m"]
    near, far = sorted((tree["angle_top_deg"], tree["angle_top_2_deg"]), reverse=True)
    inputs = f"stations {gap:.4g} m apart ({_by(tree, 'station_gap_m')}), "
    inputs += f"top {minus(near)}° from the nearer one and {minus(far)}° from the farther one"
    between = f"sin({near:.4g}° − {far:.4g}°)"
    if tree["height_formula"] == "height_from_two_stations":
        formula = f"{gap:.4g} × sin {angle(near)} × sin {angle(far)} / {between}"
        return f"{inputs}, {_eye(tree)}", f"{formula} + {tree['eye_height_m']:.4g}"
    base = tree["angle_base_deg"]
    level = f"{gap:.4g} × cos {angle(near)} × sin {angle(far)} / {between}"
    inputs += f", base {minus(base)}° from the nearer one"
    return inputs, f"{level} × (tan {angle(near)} − tan {angle(base)})"


def _stick(tree: Tree) -> tuple[str, str]:
    distance, stick, arm = tree["baseline_m"], tree["stick_length_cm"], tree["arm_length_cm"]
    inputs = f"distance {distance:.4g} m ({_by(tree)}), stick {stick:.4g} cm, {arm:.4g} cm from eye"
    return f"{inputs} to stick", f"{distance:.4g} × {stick:.4g} / {arm:.4g}"


def _shadow(tree: Tree) -> tuple[str, str]:
    shadow, stick, short = tree["tree_shadow_m"], tree["stick_length_cm"], tree["stick_shadow_m"]
    inputs = f"shadow of the tree {shadow:.4g} m, of a stick {stick:.4g} cm long {short:.4g} m"
    return inputs, f"{shadow:.4g} × ({stick:.4g} / 100) / {short:.4g}"


def _fallen(tree: Tree) -> tuple[str, str]:
    length = tree["length_m"]
    return f"tape along the lying stem {length:.4g} m, no stump told", f"{length:.4g} + 0"


WORDINGS: Mapping[tuple[str, str], Wording] = {
    ("fallen taped", "height_of_fallen_tree"): _fallen,
    ("sine", "height_from_slants"): _sine,
    ("two angles", "height_from_angles"): _two_angles,
    ("two angles", "height_from_slope"): _over_level,
    ("two angles", "height_along_ground"): _over_level,
    ("mark", "height_from_mark"): _mark,
    ("mark", "height_from_slope"): _mark,
    ("two stations", "height_from_two_stations_and_base"): _stations,
    ("one angle", "height_from_top_angle"): _one_angle,
    ("two stations", "height_from_two_stations"): _stations,
    ("stick", "height_from_stick"): _stick,
    ("shadow", "height_from_shadow"): _shadow,
}
NOTES: Mapping[str, str] = {
    "fallen taped": "The height it had before it fell.",
    "one angle": "Right where the foot of the tree is level with the feet of the observer.",
}
