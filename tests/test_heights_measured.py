"""Every way to a height, from the row of a table to the height, its name and its working."""

import csv
import math
import re
from collections.abc import Callable
from pathlib import Path

import pytest

from mapper import metrics
from mapper.line import run_checks
from mapper.measure.height_formulas import FORMULAS
from mapper.reference.height_methods import METHODS
from mapper.summarise import Line
from mapper.summarise.results import Step
from mapper.summarise.workings import tree_workings
from mapper.survey import read_survey

PUBLISHED = Path(__file__).parent / "published"

# Published case file, the headings that its columns are, the kind of baseline, the method's name.
CASES = [
    ("height_from_angles", ["baseline_m", "angle_top", "angle_base"], "horizontal", "two angles"),
    ("height_from_slope", ["baseline_m", "angle_top", "angle_base"], "slope from the eye",
     "two angles"),
    ("height_along_ground", ["baseline_m", "angle_top", "angle_base", "eye_height_m"],
     "along the ground", "two angles"),
    ("height_from_top_angle", ["baseline_m", "angle_top", "eye_height_m"], "", "one angle"),
    ("height_from_slants", ["slant_top_m", "angle_top", "slant_base_m", "angle_base"], "", "sine"),
    ("height_from_mark", ["baseline_m", "angle_top", "angle_mark", "mark_height_m"], "", "mark"),
    ("height_from_two_stations", ["station_gap_m", "angle_top", "angle_top_2", "eye_height_m"], "",
     "two stations"),
    ("height_from_two_stations_and_base",
     ["station_gap_m", "angle_top", "angle_top_2", "angle_base"], "", "two stations"),
    ("height_from_stick", ["baseline_m", "stick_length_cm", "arm_length_cm"], "", "stick"),
    ("height_from_shadow", ["tree_shadow_m", "stick_length_cm", "stick_shadow_m"], "", "shadow"),
]  # fmt: skip
# An eye on the ground and a height in feet are beyond the limits of what a record may hold.
OUT_OF_LIMITS = {"eye_height_m": 0.3}


@pytest.fixture
def line_of(tmp_path: Path) -> Callable[[str], Line]:
    def run(text: str) -> Line:
        table = tmp_path / "trees.csv"
        table.write_text(text, encoding="utf-8")
        return run_checks(read_survey([table]))

    return run


@pytest.fixture
def row_of(line_of: Callable[[str], Line]) -> Callable[..., dict[str, object]]:
    """The one tree of a table of one row, given heading by heading."""

    def run(**cells: object) -> dict[str, object]:
        text = f"tree,{','.join(cells)}\n1,{','.join(map(str, cells.values()))}\n"
        (tree,) = line_of(text).measured.trees.to_dict("records")
        return tree

    return run


def steps_of(line: Line) -> dict[str, tuple[Step, ...]]:
    return tree_workings(line.measured.trees.reset_index())


def rules(line: Line) -> list[str]:
    return line.findings["rule"].tolist()


def published_rows(name: str) -> list[dict[str, str]]:
    with (PUBLISHED / f"{name}.csv").open(encoding="utf-8", newline="") as file:
        return [row for row in csv.DictReader(file) if row["expected"] != "nan"]


@pytest.mark.parametrize(("name", "headings", "kind", "method"), CASES)
def test_published_cases_come_through_the_whole_line(
    row_of: Callable[..., dict[str, object]], name: str, headings: list[str], kind: str, method: str
) -> None:
    """The numbers that sources print (see the case file's `source` and `where`)."""
    seen = 0
    for case in published_rows(name):
        cells = dict(zip(headings, list(case.values())[: len(headings)], strict=True))
        if any(float(cells.get(head, least)) < least for head, least in OUT_OF_LIMITS.items()):
            continue
        tree = row_of(**cells, baseline_kind=kind)
        assert tree["height_m"] == pytest.approx(
            float(case["expected"]), abs=float(case["tolerance"])
        )
        assert (tree["height_method"], tree["height_formula"]) == (method, name)
        assert 0 <= tree["height_shared_sd_m"] < tree["height_sd_m"]
        seen += 1
    assert seen


def test_a_fallen_tree_by_tape(row_of: Callable[..., dict[str, object]]) -> None:
    # tests/published/height_of_fallen_tree.csv, torn out with its roots (ANUTOTALHGT)
    for said in ({"status": "fallen"}, {"height_method": "fallen taped"}):
        tree = row_of(length_m=21.4, **said)
        assert (tree["height_m"], tree["height_method"]) == (21.4, "fallen taped")
        assert tree["height_sd_m"] == 0.2  # reference/uncertainties.csv


def test_a_mark_seen_over_a_slanting_distance(row_of: Callable[..., dict[str, object]]) -> None:
    tree = row_of(
        baseline_m=25, baseline_kind="slope from the eye", angle_top=30, angle_mark=-10,
        mark_height_m=1.3,
    )  # fmt: skip
    # 18.556 above the mark (BRACK1998, as in published/height_from_slope.csv) and 1.30 below it
    assert tree["height_m"] == pytest.approx(19.856, abs=0.001)
    # the parts as published/height_from_slope_sd.csv has them, and 0.02 m for the mark
    sd = metrics.combined_sd(metrics.height_from_slope_sd(25, 30, -10, 0.12, 1.2), 0.02)
    assert tree["height_sd_m"] == pytest.approx(float(sd))


@pytest.mark.parametrize(
    ("unit", "top", "base"),
    [
        ("degrees from vertical", 52, 95),  # KIDSGEN, zero check
        ("percent", "124", "-16"),  # DEYOUNG2016, section 2.3
        ("per 66", "41", "-9"),  # DEYOUNG2016, section 2.4
    ],
)
def test_other_scales(line_of: Callable[[str], Line], unit: str, top: object, base: object) -> None:
    line = line_of(
        f"tree,baseline_m,angle_top,angle_base,angle_unit\n1,20.1168,{top},{base},{unit}\n"
    )
    scale = {
        "degrees from vertical": metrics.elevation_from_vertical,
        "percent": metrics.elevation_from_percent,
        "per 66": metrics.elevation_from_per_66,
    }[unit]
    ends = metrics.height_from_angles(20.1168, scale(float(str(top))), scale(float(str(base))))
    assert line.measured.trees["height_m"].tolist() == [pytest.approx(float(ends))]
    step = steps_of(line)["1"][0]
    assert step.title == "Angles above level"
    assert step.method == scale.__name__
    assert str(top) in step.inputs
    if unit == "per 66":  # 66 ft, 41 up and 9 down give 50 ft (DEYOUNG2016, section 2.4)
        assert line.measured.trees["height_m"].tolist() == [pytest.approx(15.24, abs=0.002)]


def test_a_percent_sign_in_the_cell(line_of: Callable[[str], Line]) -> None:
    # 50 ft, +124 % and -16 % give 70 ft (DEYOUNG2016, section 2.3, example 1)
    line = line_of("tree,baseline_m,angle_top,angle_base\n1,15.24,124 %,-16%\n")
    assert line.measured.trees["height_m"].tolist() == [pytest.approx(21.336, abs=0.002)]


def test_a_reading_beyond_its_scale(line_of: Callable[[str], Line]) -> None:
    line = line_of(
        "tree,baseline_m,angle_top,angle_base,eye_height_m,angle_unit\n"
        "1,20,52,200,1.6,degrees from vertical\n"
    )
    assert "impossible" in rules(line)
    assert line.measured.trees["height_m"].isna().all()


# A straight tree of 20 m, its foot level with the observer's, 25 m away, the eye at 1.6 m, in a
# sun of 45 degrees: what each method reads, by plane geometry.
AWAY, TALL, EYE = 25.0, 20.0, 1.6
UP = math.degrees(math.atan((TALL - EYE) / AWAY))
DOWN = -math.degrees(math.atan(EYE / AWAY))
FARTHER = math.degrees(math.atan((TALL - EYE) / (AWAY + 15)))
SAME_TREE = {
    "two angles": {"baseline_m": AWAY, "angle_top": UP, "angle_base": DOWN},
    "two angles, slope": {
        "baseline_m": math.hypot(AWAY, EYE), "baseline_kind": "slope from the eye",
        "angle_top": UP, "angle_base": DOWN,
    },
    "two angles, ground": {
        "baseline_m": AWAY, "baseline_kind": "along the ground", "angle_top": UP,
        "angle_base": DOWN, "eye_height_m": EYE,
    },
    "one angle": {"baseline_m": AWAY, "angle_top": UP, "eye_height_m": EYE},
    "one angle, ground": {
        "baseline_m": AWAY, "baseline_kind": "along the ground", "angle_top": UP,
        "eye_height_m": EYE,
    },
    "sine": {
        "slant_top_m": math.hypot(AWAY, TALL - EYE), "angle_top": UP,
        "slant_base_m": math.hypot(AWAY, EYE), "angle_base": DOWN,
    },
    "mark": {
        "baseline_m": AWAY, "angle_top": UP, "mark_height_m": 1.3,
        "angle_mark": -math.degrees(math.atan(0.3 / AWAY)),
    },
    "two stations": {
        "station_gap_m": 15, "angle_top": UP, "angle_top_2": FARTHER, "angle_base": DOWN,
    },
    "two stations, swapped": {
        "station_gap_m": 15, "angle_top": FARTHER, "angle_top_2": UP, "eye_height_m": EYE,
    },
    "stick": {"baseline_m": AWAY, "stick_length_cm": 52, "arm_length_cm": 65},
    "shadow": {"tree_shadow_m": TALL, "stick_length_cm": 100, "stick_shadow_m": 1},
    "fallen taped": {"length_m": TALL, "status": "fallen"},
    "reported": {"height_m": TALL, "height_method": "reported"},
    "by eye": {"height_m": TALL, "height_method": "by eye"},
}  # fmt: skip


@pytest.mark.parametrize("way", SAME_TREE)
def test_one_tree_has_one_height_by_every_way(line_of: Callable[[str], Line], way: str) -> None:
    cells = SAME_TREE[way]
    line = line_of(f"tree,{','.join(cells)}\n1,{','.join(map(str, cells.values()))}\n")
    (tree,) = line.measured.trees.to_dict("records")
    assert tree["height_m"] == pytest.approx(TALL, abs=1e-9)
    assert tree["height_method"] == way.partition(",")[0]
    assert math.isnan(tree["height_sd_m"]) == (way == "by eye")
    (step,) = (step for step in steps_of(line)["1"] if step.title == "Height")
    assert "20.0" in step.result
    assert ("±" in step.result) == (way != "by eye")
    assert "nan" not in " ".join([step.inputs, step.formula, step.result, step.note])
    assert step.method == tree["height_formula"]
    assert not {"incomplete", "methods_disagree"} & set(rules(line))


def test_every_method_has_a_formula() -> None:
    assert list(FORMULAS) == [(method.name, method.formula) for method in METHODS]
    for method in METHODS:
        assert not method.formula or method.formula in metrics.__all__


def test_what_trees_share_of_an_uncertainty(row_of: Callable[..., dict[str, object]]) -> None:
    """The parts of reference/uncertainties.csv that are the same at every tree."""
    paced = row_of(station_gap_m=15, angle_top=35, angle_top_2=25, angle_base=-3,
                   baseline_method="paced")  # fmt: skip
    assert paced["height_shared_sd_m"] == pytest.approx(0.02 * 22.506, abs=1e-3)
    stick = row_of(baseline_m=32, stick_length_cm=25, arm_length_cm=50)
    # 16 m × √((0.5/25)² + (2/50)²), by hand
    assert stick["height_shared_sd_m"] == pytest.approx(16 * math.hypot(0.02, 0.04))
    one = row_of(baseline_m=10, angle_top=24, eye_height_m=1.2)
    assert one["height_shared_sd_m"] == pytest.approx(0.05)
    ground = row_of(**SAME_TREE["two angles, ground"])
    assert 0 < ground["height_shared_sd_m"] < 0.01  # the eye moves a level distance hardly at all
    sine = row_of(slant_top_m=30, angle_top=40, slant_base_m=24, angle_base=-4)
    # Not told how: as ranged, 0.53 m (NTSERRORS2006), and the poorest instrument, 1.2 degrees.
    assert sine["height_sd_m"] == pytest.approx(
        float(metrics.height_from_slants_sd(30, 40, 24, -4, 0.53, 1.2))
    )
    reported = row_of(height_m=20, height_method="reported")
    assert (reported["height_sd_m"], reported["height_shared_sd_m"]) == (1.02, 0)  # GANZ2019


@pytest.mark.parametrize(
    ("instrument", "sd_deg"),
    [("", 1.2), ("Clinometer 3", 0.8), ("phone clinometer app", 1.0), ("our protractor", 1.2)],
)
def test_the_instrument_tells_the_sureness_of_an_angle(
    row_of: Callable[..., dict[str, object]], instrument: str, sd_deg: float
) -> None:
    tree = row_of(baseline_m=20, angle_top=38, angle_base=-5, instrument=instrument)
    assert tree["height_sd_m"] == pytest.approx(
        float(metrics.height_from_angles_sd(20, 38, -5, 0.12, sd_deg))
    )


# --- order of trust ----------------------------------------------------------------------------

EVERYTHING = {
    "length_m": 18, "status": "fallen", "slant_top_m": 30, "slant_base_m": 20, "baseline_m": 20,
    "angle_top": 38, "angle_base": -5, "angle_mark": -1, "mark_height_m": 1.4, "eye_height_m": 1.6,
    "angle_top_2": 25, "station_gap_m": 14, "arm_length_cm": 60, "stick_length_cm": 50,
    "tree_shadow_m": 20, "stick_shadow_m": 0.6, "height_m": 17,
}  # fmt: skip
TRUST = [
    ("fallen taped", ["length_m"]),
    ("sine", ["slant_top_m"]),
    ("two angles", ["angle_base"]),
    ("mark", ["angle_mark"]),
    ("one angle", ["baseline_m"]),
    ("two stations", ["angle_top_2"]),
    ("shadow", ["tree_shadow_m"]),
    ("reported", ["height_m"]),
    ("", []),
]


def test_order_of_trust(row_of: Callable[..., dict[str, object]]) -> None:
    """Take away what the best method needs, and the next one steps in."""
    cells = dict(EVERYTHING)
    for method, taken in TRUST:
        assert row_of(**cells)["height_method"] == method
        for name in taken:
            del cells[name]


def test_two_stations_with_a_base_come_before_one_angle_and_a_stick_before_a_shadow(
    row_of: Callable[..., dict[str, object]],
) -> None:
    out_of_reach = ("length_m", "status", "slant_top_m", "slant_base_m", "baseline_m")
    stations = {name: cell for name, cell in EVERYTHING.items() if name not in out_of_reach}
    assert row_of(**stations)["height_formula"] == "height_from_two_stations_and_base"
    stick = {name: EVERYTHING[name] for name in
             ("baseline_m", "arm_length_cm", "stick_length_cm", "tree_shadow_m",
              "stick_shadow_m")}  # fmt: skip
    assert row_of(**stick)["height_method"] == "stick"


@pytest.mark.parametrize("name", ["shadow", "stick", "two stations", "one angle", "mark", "sine"])
def test_a_named_method_goes_first(row_of: Callable[..., dict[str, object]], name: str) -> None:
    assert row_of(**EVERYTHING, height_method=name)["height_method"] == name


def test_a_named_method_that_is_not_whole_gives_way(
    row_of: Callable[..., dict[str, object]],
) -> None:
    tree = row_of(baseline_m=20, angle_top=38, angle_base=-5, height_method="shadow")
    assert tree["height_method"] == "two angles"


@pytest.mark.parametrize("word", ["reported", "by eye"])
def test_words_for_a_typed_height_never_put_it_before_a_computed_one(
    row_of: Callable[..., dict[str, object]], word: str
) -> None:
    tree = row_of(baseline_m=20, angle_top=38, angle_base=-5, height_m=17, height_method=word)
    assert tree["height_method"] == "two angles"


# --- lean --------------------------------------------------------------------------------------


def test_a_lean_gives_the_stem_length_and_leaves_the_height(line_of: Callable[[str], Line]) -> None:
    line = line_of(
        "tree,baseline_m,angle_top,angle_base,lean_offset_m\n1,20,38,-5,3\n2,20,38,-5,\n"
    )
    heights = line.measured.trees["height_m"].tolist()
    assert heights[0] == heights[1]
    (step,) = (one for one in steps_of(line)["1"] if one.method == "stem_length_from_lean")
    # √(17.376² + 3²) = 17.633, by hand
    assert step.result.startswith("17.6 ± ")
    assert "neither the height nor a distance" in step.note
    assert not [one for one in steps_of(line)["2"] if one.method == "stem_length_from_lean"]


# --- findings ----------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("cells", "column", "part"),
    [
        ({"angle_top": 38, "baseline_m": 20}, "angle_top", "'two angles': angle_base"),
        ({"angle_top": 38, "baseline_m": 20}, "angle_top", "'one angle': eye_height"),
        ({"slant_top_m": 30, "angle_top": 38, "angle_base": -5}, "angle_top",
         "'sine': slant_base"),
        ({"slant_top_m": 30, "baseline_m": 20, "angle_top": 38, "angle_base": -5}, "slant_top",
         "'sine': slant_base"),
        ({"angle_mark": 2, "angle_top": 38, "baseline_m": 20, "height_method": "mark"},
         "angle_top", "'mark': mark_height"),
        ({"station_gap_m": 10, "angle_top": 40, "angle_top_2": 25}, "angle_top",
         "'two stations': eye_height"),
        ({"stick_length_cm": 50, "baseline_m": 20}, "stick_length", "'stick': arm_length"),
        ({"tree_shadow_m": 20, "stick_length_cm": 100}, "tree_shadow", "'shadow': stick_shadow"),
        ({"length_m": 20}, "length", "'fallen taped': status 'fallen'"),
        ({"angle_top": 38, "baseline_m": 20, "eye_height_m": 1.6,
          "baseline_kind": "slope from the eye"}, "angle_top",
         "'two angles': angle_base"),
        ({"height_method": "sine"}, "height_method", "no height"),
    ],
)  # fmt: skip
def test_half_filled_methods(
    line_of: Callable[[str], Line], cells: dict[str, object], column: str, part: str
) -> None:
    line = line_of(f"tree,{','.join(cells)}\n1,{','.join(map(str, cells.values()))}\n")
    (found,) = line.findings[line.findings["rule"] == "incomplete"].to_dict("records")
    assert found["column"] == column
    assert part in re.sub("' [^;.]* are needed together; missing", "'", found["message"])


@pytest.mark.parametrize(
    ("rule", "bad", "good"),
    [
        ("stations_swapped",
         {"station_gap_m": 15, "angle_top": 25, "angle_top_2": 38, "eye_height_m": 1.6},
         {"station_gap_m": 15, "angle_top": 38, "angle_top_2": 25, "eye_height_m": 1.6}),
        ("stations_near",
         {"station_gap_m": 5, "angle_top": 38, "angle_top_2": 33, "eye_height_m": 1.6},
         {"station_gap_m": 15, "angle_top": 38, "angle_top_2": 27, "eye_height_m": 1.6}),
        ("short_tape",
         {"baseline_m": 1.5, "baseline_kind": "along the ground", "angle_top": 38,
          "angle_base": -5, "eye_height_m": 1.6},
         {"baseline_m": 15, "baseline_kind": "along the ground", "angle_top": 38,
          "angle_base": -5, "eye_height_m": 1.6}),
        ("base_above_eye",
         {"baseline_m": 20, "angle_top": 52, "angle_base": 85,
          "angle_unit": "degrees from vertical"},
         {"baseline_m": 20, "angle_top": 52, "angle_base": 95,
          "angle_unit": "degrees from vertical"}),
        # a mark above the top
        ("no_tree", {"baseline_m": 20, "angle_top": 10, "angle_mark": 12, "mark_height_m": 1.3},
         {"baseline_m": 20, "angle_top": 10, "angle_mark": -1, "mark_height_m": 1.3}),
        ("lean_beyond_height", {"height_m": 12, "lean_offset_m": 12},
         {"height_m": 12, "lean_offset_m": 2}),
        # sd of the angles 0.7 m, of the shadow 0.5 m: 2 × √(0.7² + 0.5²) = 1.8 m
        ("methods_disagree",
         {"baseline_m": 20, "angle_top": 38, "angle_base": -5, "tree_shadow_m": 20,
          "stick_length_cm": 100, "stick_shadow_m": 1},
         {"baseline_m": 20, "angle_top": 38, "angle_base": -5, "tree_shadow_m": 17,
          "stick_length_cm": 100, "stick_shadow_m": 1}),
        ("heights_disagree",
         {"baseline_m": 20, "stick_length_cm": 50, "arm_length_cm": 60, "height_m": 30},
         {"baseline_m": 20, "stick_length_cm": 50, "arm_length_cm": 60, "height_m": 17}),
        ("calipers_apart", {"diameter_cm": 36, "diameter_2_cm": 30},
         {"diameter_cm": 32, "diameter_2_cm": 30}),
        ("on_snow", {"girth_cm": 90, "measured_at_m": "", "snow_depth_cm": 40},
         {"girth_cm": 90, "measured_at_m": 1.3, "snow_depth_cm": 40}),
        ("incomplete", {"diameter_2_cm": 30}, {"diameter_cm": 30}),
    ],
)  # fmt: skip
def test_doubtful_readings_are_found(
    line_of: Callable[[str], Line], rule: str, bad: dict[str, object], good: dict[str, object]
) -> None:
    for cells, expected in ((bad, 1), (good, 0)):
        line = line_of(f"tree,{','.join(cells)}\n1,{','.join(map(str, cells.values()))}\n")
        assert rules(line).count(rule) == expected


def test_a_short_tape_gives_no_height(row_of: Callable[..., dict[str, object]]) -> None:
    tree = row_of(baseline_m=1.5, baseline_kind="along the ground", angle_top=38, angle_base=-5,
                  eye_height_m=1.6)  # fmt: skip
    assert math.isnan(float(str(tree["height_m"])))


def test_a_kind_of_baseline_that_cannot_be_read_is_not_taken_for_level(
    row_of: Callable[..., dict[str, object]],
) -> None:
    tree = row_of(baseline_m=20, baseline_kind="uphill", angle_top=38, angle_base=-5)
    assert math.isnan(float(str(tree["height_m"])))


def test_a_misread_angle_takes_the_other_angles_with_it(line_of: Callable[[str], Line]) -> None:
    line = line_of(
        "tree,baseline_m,angle_top,angle_mark,mark_height_m,eye_height_m\n1,20,38,95,1.3,1.6\n"
    )
    assert "impossible" in rules(line)
    assert line.measured.trees["height_m"].isna().all()


# --- words -------------------------------------------------------------------------------------


def test_workings_put_the_numbers_in(line_of: Callable[[str], Line]) -> None:
    line = line_of(
        "tree,baseline_m,baseline_kind,baseline_method,angle_top,angle_base,eye_height_m\n"
        "slope,25,slope from the eye,ranged,30,-10,\nground,25,along the ground,taped,30,-10,1.6\n"
    )
    level, height = steps_of(line)["slope"]
    assert (level.formula, level.result) == ("25 × cos (−10°)", "24.62 m")  # BRACK1998, OC
    assert level.method == "distance_from_slope"
    assert height.formula == "24.62 × (tan 30° − tan (−10°))"
    assert height.result.startswith("18.6 ± ")
    level, height = steps_of(line)["ground"]
    assert level.result == "24.84 m"
    assert level.formula == "cos (−10°) × (√(25² − (1.6 × cos (−10°))²) − 1.6 × sin (−10°))"
    assert height.formula == "24.84 × (tan 30° − tan (−10°))"
    assert height.method == "height_along_ground"


@pytest.mark.parametrize("way", SAME_TREE)
def test_formulas_of_workings_give_their_results(line_of: Callable[[str], Line], way: str) -> None:
    """The text itself, computed: what a reader with a pocket calculator would get."""
    cells = SAME_TREE[way]
    line = line_of(f"tree,{','.join(cells)}\n1,{','.join(map(str, cells.values()))}\n")
    for step in steps_of(line)["1"]:
        if step.formula:
            assert computed(step.formula) == pytest.approx(number(step.result), abs=0.06)


def number(text: str) -> float:
    return float(text.replace("−", "-").split()[0])


def computed(formula: str) -> float:
    """A working's formula as Python, with angles in degrees."""
    text = formula.replace("−", "-").replace("×", "*").replace("²", "**2").replace("√", "sqrt")
    text = re.sub(r"(sin|cos|tan) \(?(-?[\d.]+)°\)?", r"\1(\2)", text).replace("°", "")
    known = {
        "sin": lambda degrees: math.sin(math.radians(degrees)),
        "cos": lambda degrees: math.cos(math.radians(degrees)),
        "tan": lambda degrees: math.tan(math.radians(degrees)),
        "sqrt": math.sqrt,
    }
    return float(eval(text, {"__builtins__": {}}, known))


def test_what_is_wanting_follows_the_method_that_each_record_names(
    line_of: Callable[[str], Line],
) -> None:
    """Records that lack the same are worded together, and still each by its own method."""
    rows = ("1,40,one angle", "2,40,sine", "3,40,one angle")
    line = line_of("tree,angle_top,height_method\n" + "\n".join(rows) + "\n")

    found = line.findings.query("rule == 'incomplete'").set_index("tree")["message"]
    assert [found[tree].partition("'")[2].partition("'")[0] for tree in "123"] == [
        "one angle", "sine", "one angle",
    ]  # fmt: skip
