"""The working of a height, by every way to find one."""

import math
from collections.abc import Callable, Iterator, Mapping

from mapper import metrics
from mapper.language import later, say
from mapper.measure.height_formulas import FORMULAS
from mapper.summarise.results import Step
from mapper.summarise.sights import level_distance, sight_of
from mapper.summarise.workings_words import Tree, angle, minus, reading, sure

# What goes in, and the formula with the numbers put in.
Wording = Callable[[Tree], tuple[str, str]]

SCALES: Mapping[str, tuple[str, Callable[[float], str], Callable[[float], str]]] = {
    "degrees from vertical": (
        "elevation_from_vertical",
        lambda degrees: say("{angle:.4g}° from straight up").format(angle=90 - degrees),
        lambda degrees: f"90° − {90 - degrees:.4g}°",
    ),
    "percent": (
        "elevation_from_percent",
        lambda degrees: f"{minus(100 * math.tan(math.radians(degrees)))} %",
        lambda degrees: f"arctan({minus(100 * math.tan(math.radians(degrees)))} / 100)",
    ),
    "per 66": (
        "elevation_from_per_66",
        lambda degrees: say("{angle} per 66").format(
            angle=minus(66 * math.tan(math.radians(degrees)))
        ),
        lambda degrees: f"arctan({minus(66 * math.tan(math.radians(degrees)))} / 66)",
    ),
}
ANGLE_NAMES = {
    "angle_top_deg": later("top {angle}"),
    "angle_top_2_deg": later("top from the second station {angle}"),
    "angle_mark_deg": later("mark {angle}"),
    "angle_base_deg": later("base {angle}"),
}


def height_steps(tree: Tree) -> Iterator[Step]:
    """Angles in degrees and the level distance where they were worked out, then the height."""
    if not tree["height_formula"]:
        yield _typed(tree)
        return
    yield from _angles(tree)
    yield from _distance(tree)
    inputs, formula = WORDINGS[tree["height_method"], tree["height_formula"]](tree)
    note = say(NOTES.get(str(tree["height_method"]), ""))
    result = reading(tree, "height", "m")
    method = tree["height_formula"]
    yield Step(say("Height"), inputs, formula, result, method, note, sight_of(tree))


def lean_step(tree: Tree) -> Step:
    """How long a leaning stem is: that changes no height."""
    offset = tree["lean_offset_m"]
    height = tree["height_reading"]
    return Step(
        say("Length along the stem"),
        say("height {height:.2f} m, the top {offset:.4g} m out to the side").format(
            height=height, offset=offset
        ),
        f"√({height:.2f}² + {offset:.4g}²)",
        sure(tree, tree["stem_length_m"], tree["stem_length_sd_m"], "m"),
        "stem_length_from_lean",
        say(
            "A leaning stem is longer than the tree is high. Nothing else is corrected for the "
            "lean: neither the height nor a distance to the foot."
        ),
    )


UNSURE = later("How sure it is we cannot tell.")
POOREST = later("How good the instrument was is not known: taken for the poorest one tested.")


def _typed(tree: Tree) -> Step:
    how = tree["height_method"]
    note = say(POOREST if tree["height_sd_m"] > 0 else UNSURE)
    inputs = say("height {height:.3g} m, {how}").format(height=tree["height_reading"], how=say(how))
    return Step(say("Height"), inputs, "", reading(tree, "height", "m"), "", note)


def _angles(tree: Tree) -> Iterator[Step]:
    """Readings of another scale, turned into degrees above level."""
    needed = FORMULAS[tree["height_method"], tree["height_formula"]].inputs
    stations = ("angle_top_deg", "angle_top_2_deg") if "near_deg" in needed else ()
    names = [name for name in ANGLE_NAMES if name in (*needed, *stations)]
    if tree["angle_unit"] not in SCALES or not names:
        return
    method, written, formula = SCALES[tree["angle_unit"]]
    yield Step(
        say("Angles above level"),
        ", ".join(_named(name, written(tree[name])) for name in names),
        "; ".join(formula(tree[name]) for name in names),
        ", ".join(_at(tree, name) for name in names),
        method,
    )


def _distance(tree: Tree) -> Iterator[Step]:
    """The level distance, where the one that was measured slants."""
    tape = tree["baseline_m"]
    if tree["height_formula"] == "height_from_slope":
        name = "angle_mark_deg" if tree["height_method"] == "mark" else "angle_base_deg"
        slant = tree[name]
        inputs = say("{tape:.4g} m straight from the eye ({how}), {angle}").format(
            tape=tape, how=_by(tree), angle=_at(tree, name)
        )
        level = metrics.distance_from_slope(tape, slant)
        formula = f"{tape:.4g} × cos {angle(slant)}"
        yield Step(say("Level distance"), inputs, formula, f"{level:.2f} m", "distance_from_slope")
    if tree["height_formula"] == "height_along_ground":
        base, eye = tree["angle_base_deg"], tree["eye_height_m"]
        inputs = say("tape {tape:.4g} m along the ground ({how}), {angle}, {eye}").format(
            tape=tape, how=_by(tree), angle=_at(tree, "angle_base_deg"), eye=_eye(tree)
        )
        level = metrics.distance_along_ground(tape, base, eye)
        cos = f"cos {angle(base)}"
        formula = f"{cos} × (√({tape:.4g}² − ({eye:.4g} × {cos})²) − {eye:.4g} × sin {angle(base)})"
        yield Step(
            say("Level distance"), inputs, formula, f"{level:.2f} m", "distance_along_ground"
        )


def _by(tree: Tree, name: str = "baseline_m") -> str:
    """How a distance was measured; one that was paced shows the paces."""
    pace = tree["pace_length_m"]
    if tree["baseline_method"] == "paced" and pace > 0:
        return say("{paces:.4g} paces of {pace:.4g} m").format(paces=tree[name] / pace, pace=pace)
    how = str(tree["baseline_method"])
    return say(how) if how else say("no method given, taken as taped")


def _eye(tree: Tree) -> str:
    return say("eye {eye:.4g} m above the ground").format(eye=tree["eye_height_m"])


def _at(tree: Tree, name: str) -> str:
    return _named(name, f"{minus(tree[name])}°")


def _named(name: str, angle_text: str) -> str:
    return say(ANGLE_NAMES[name]).format(angle=angle_text)


def _distance_told(tree: Tree) -> str:
    return say("distance {distance:.4g} m ({how})").format(
        distance=tree["baseline_m"], how=_by(tree)
    )


def _level_told(level: float) -> str:
    return say("level distance {distance:.2f} m").format(distance=level)


def _listed(*parts: str) -> str:
    return ", ".join(parts)


def _two_angles(tree: Tree) -> tuple[str, str]:
    distance, top, base = tree["baseline_m"], tree["angle_top_deg"], tree["angle_base_deg"]
    inputs = _listed(_distance_told(tree), _at(tree, "angle_top_deg"), _at(tree, "angle_base_deg"))
    return inputs, f"{distance:.4g} × (tan {angle(top)} − tan {angle(base)})"


def _over_level(tree: Tree) -> tuple[str, str]:
    level = level_distance(tree, "angle_base_deg")
    top, base = tree["angle_top_deg"], tree["angle_base_deg"]
    inputs = _listed(_level_told(level), _at(tree, "angle_top_deg"), _at(tree, "angle_base_deg"))
    return inputs, f"{level:.2f} × (tan {angle(top)} − tan {angle(base)})"


def _mark(tree: Tree) -> tuple[str, str]:
    distance = tree["baseline_m"]
    start = _distance_told(tree)
    if tree["height_formula"] == "height_from_slope":
        distance = level_distance(tree, "angle_mark_deg")
        start = _level_told(distance)
    top, mark, high = tree["angle_top_deg"], tree["angle_mark_deg"], tree["mark_height_m"]
    above = say("mark {height:.4g} m above the ground").format(height=high)
    inputs = _listed(start, _at(tree, "angle_top_deg"), _at(tree, "angle_mark_deg"), above)
    return inputs, f"{distance:.4g} × (tan {angle(top)} − tan {angle(mark)}) + {high:.4g}"


def _one_angle(tree: Tree) -> tuple[str, str]:
    distance, top, eye = tree["baseline_m"], tree["angle_top_deg"], tree["eye_height_m"]
    inputs = _listed(_distance_told(tree), _at(tree, "angle_top_deg"), _eye(tree))
    return inputs, f"{distance:.4g} × tan {angle(top)} + {eye:.4g}"


def _sine(tree: Tree) -> tuple[str, str]:
    far, near = tree["slant_top_m"], tree["slant_base_m"]
    top, base = tree["angle_top_deg"], tree["angle_base_deg"]
    inputs = say("{far:.4g} m to the top at {top}°, {near:.4g} m to the base at {base}°").format(
        far=far, top=minus(top), near=near, base=minus(base)
    )
    return inputs, f"{far:.4g} × sin {angle(top)} − {near:.4g} × sin {angle(base)}"


def _stations(tree: Tree) -> tuple[str, str]:
    gap = tree["station_gap_m"]
    near, far = sorted((tree["angle_top_deg"], tree["angle_top_2_deg"]), reverse=True)
    inputs = say(
        "stations {gap:.4g} m apart ({how}), top {near}° from the nearer one and {far}° from the "
        "farther one"
    ).format(gap=gap, how=_by(tree, "station_gap_m"), near=minus(near), far=minus(far))
    between = f"sin({near:.4g}° − {far:.4g}°)"
    if tree["height_formula"] == "height_from_two_stations":
        formula = f"{gap:.4g} × sin {angle(near)} × sin {angle(far)} / {between}"
        return _listed(inputs, _eye(tree)), f"{formula} + {tree['eye_height_m']:.4g}"
    base = tree["angle_base_deg"]
    level = f"{gap:.4g} × cos {angle(near)} × sin {angle(far)} / {between}"
    foot = say("base {angle}° from the nearer one").format(angle=minus(base))
    return _listed(inputs, foot), f"{level} × (tan {angle(near)} − tan {angle(base)})"


def _stick(tree: Tree) -> tuple[str, str]:
    distance, stick, arm = tree["baseline_m"], tree["stick_length_cm"], tree["arm_length_cm"]
    held = say("stick {stick:.4g} cm, {arm:.4g} cm from eye to stick").format(stick=stick, arm=arm)
    return _listed(_distance_told(tree), held), f"{distance:.4g} × {stick:.4g} / {arm:.4g}"


def _shadow(tree: Tree) -> tuple[str, str]:
    shadow, stick, short = tree["tree_shadow_m"], tree["stick_length_cm"], tree["stick_shadow_m"]
    inputs = say(
        "shadow of the tree {shadow:.4g} m, of a stick {stick:.4g} cm long {short:.4g} m"
    ).format(shadow=shadow, stick=stick, short=short)
    return inputs, f"{shadow:.4g} × ({stick:.4g} / 100) / {short:.4g}"


def _fallen(tree: Tree) -> tuple[str, str]:
    length = tree["length_m"]
    inputs = say("tape along the lying stem {length:.4g} m, no stump told").format(length=length)
    return inputs, f"{length:.4g} + 0"


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
    "fallen taped": later("The height it had before it fell."),
    "one angle": later("Right where the foot of the tree is level with the feet of the observer."),
}
