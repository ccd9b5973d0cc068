"""Distances in paces, and angles whose scale the heading names."""

import math
from collections.abc import Callable
from pathlib import Path

import pytest

from mapper.line import run_checks
from mapper.summarise import Line
from mapper.summarise.workings import tree_workings
from mapper.survey import read_survey

LineOf = Callable[..., Line]
# 30 paces of 0.75 m are 22.5 m: under 45 degrees, with the eye at 1.5 m, a tree of 24 m.
TALL = 24.0


@pytest.fixture
def line_of(tmp_path: Path) -> LineOf:
    def run(text: str, toml: str = "") -> Line:
        (tmp_path / "survey.toml").write_text(f'{toml}\n[records]\nfiles = ["*.csv"]\n')
        (tmp_path / "trees.csv").write_text(text, encoding="utf-8")
        return run_checks(read_survey([tmp_path]))

    return run


def heights(line: Line) -> list[float]:
    return [float(height) for height in line.measured.trees["height_m"]]


def rules(line: Line) -> set[str]:
    return set(line.findings["rule"])


@pytest.mark.parametrize(
    "table",
    [
        "tree,baseline (paces),pace_length_m,angle_top,eye_height_m\n1,30,0.75,45,1.5\n",
        "tree,baseline_paces,Length of pace (cm),angle_top,eye_height_m\n1,30,75,45,1.5\n",
        "tree,baseline_m,pace_length_m,angle_top,eye_height_m\n1,30 paces,0.75,45,1.5\n",
        "tree,baseline,pace_length_m,baseline_method,angle_top,eye_height_m\n"
        "1,30,0.75,paced,45,1.5\n",
    ],
)
def test_paces_are_as_long_as_the_pace(line_of: LineOf, table: str) -> None:
    line = line_of(table)

    assert heights(line) == [pytest.approx(TALL)]
    (step,) = (step for step in tree_workings(trees_of(line))["1"] if step.title == "Height")
    assert "distance 22.5 m (30 paces of 0.75 m)" in step.inputs


def trees_of(line: Line):  # type: ignore[no-untyped-def]
    return line.measured.trees.reset_index()


def test_bare_numbers_of_a_paced_distance_are_paces_in_feet_too(line_of: LineOf) -> None:
    table = "tree,baseline,pace_length,baseline_method,angle_top,eye_height\n"
    line = line_of(table + "1,30,2.5,paced,45,5\n", 'units = "us"')

    assert heights(line) == [pytest.approx((30 * 2.5 + 5) * 0.3048)]
    assert "read_as_paces" in rules(line)


def test_metres_that_were_paced_stay_metres(line_of: LineOf) -> None:
    table = "tree,baseline_m,pace_length_m,baseline_method,angle_top,eye_height_m\n"
    line = line_of(table + "1,22.5,0.75,paced,45,1.5\n")

    assert heights(line) == [pytest.approx(TALL)]
    assert not {"read_as_paces", "not_paced"} & rules(line)


def test_a_taped_distance_beside_paced_ones_is_no_number_of_paces(line_of: LineOf) -> None:
    table = "tree,baseline,pace_length_m,baseline_method,angle_top,eye_height_m\n"
    line = line_of(table + "1,30,0.75,paced,45,1.5\n2,22.5,0.75,taped,45,1.5\n")

    assert heights(line) == [pytest.approx(TALL), pytest.approx(TALL)]


def test_paces_of_unknown_length_give_no_height_and_say_so(line_of: LineOf) -> None:
    line = line_of("tree,baseline_paces,angle_top,eye_height_m\n1,30,45,1.5\n")

    assert math.isnan(heights(line)[0])
    (found,) = line.findings.query("rule == 'no_pace_length'").to_dict("records")
    assert found["column"] == "baseline"
    assert "Write pace_length" in found["message"]


def test_paces_said_to_be_taped_are_paced_and_doubted(line_of: LineOf) -> None:
    table = "tree,baseline_paces,pace_length_m,baseline_method,angle_top,eye_height_m\n"
    line = line_of(table + "1,30,0.75,taped,45,1.5\n")

    assert heights(line) == [pytest.approx(TALL)]
    assert line.measured.trees["baseline_method"].tolist() == ["paced"]
    (found,) = line.findings.query("rule == 'not_paced'").to_dict("records")
    assert "says 'taped'" in found["message"]


def test_trees_of_one_pace_share_its_error(line_of: LineOf) -> None:
    """GHILANI: 1 in 50. At 45 degrees the height above the eye errs as the distance does."""
    table = "tree,baseline_paces,pace_length_m,angle_top,angle_base\n1,30,0.75,45,0\n"

    (tree,) = trees_of(line_of(table)).to_dict("records")

    assert tree["height_shared_sd_m"] == pytest.approx(22.5 * 0.02)


def test_two_stations_may_be_paced_apart(line_of: LineOf) -> None:
    head = "tree,angle_top,angle_top_2,eye_height_m,station_gap"
    paced = line_of(f"{head}_paces,pace_length_m\n1,35,25,1.5,20,0.75\n")
    assert heights(paced) == [pytest.approx(20.94 + 1.5, abs=0.005)]  # 15 m: TRADE 2, case 8
    (step,) = (step for step in tree_workings(trees_of(paced))["1"] if step.title == "Height")
    assert "stations 15 m apart (20 paces of 0.75 m)" in step.inputs


@pytest.mark.parametrize(
    ("top", "base"),
    [
        ("angle_top_%", "angle_base_%"),
        ("Top angle (%)", "Base angle (percent)"),
        ("angle_top_percent", "angle to base in percent"),
    ],
)
def test_a_heading_in_percent(line_of: LineOf, top: str, base: str) -> None:
    # 50 ft, +124 % and -16 % give 70 ft (DEYOUNG2016, section 2.3, example 1)
    line = line_of(f"tree,baseline_ft,{top},{base}\n1,50,124,-16\n")

    assert heights(line) == [pytest.approx(21.336, abs=0.0005)]
    step = tree_workings(trees_of(line))["1"][0]
    assert step.method == "elevation_from_percent"
    assert "top 124 %" in step.inputs


@pytest.mark.parametrize(
    ("unit", "top", "base"), [("degrees from vertical", "52", "95"), ("per 66", "51.565", "-5.774")]
)
def test_a_heading_on_another_scale(line_of: LineOf, unit: str, top: str, base: str) -> None:
    line = line_of(f"tree,baseline_m,angle_top ({unit}),angle_base ({unit})\n1,20,{top},{base}\n")

    assert heights(line) == [pytest.approx(17.38, abs=0.005)]  # 20 m, +38 and -5 degrees


def test_what_the_record_says_wins_over_the_heading(line_of: LineOf) -> None:
    head = "tree,baseline_m,angle_top_%,angle_base_%,angle_unit\n"
    line = line_of(head + "1,20,38,-5,degrees\n2,20,38°,-5°,\n3,20,78.129,-8.749,percent\n")

    assert heights(line) == [pytest.approx(17.38, abs=0.005)] * 3
    doubted = line.findings.query("rule == 'scales_disagree'")
    assert doubted["tree"].tolist() == ["1", "1"]


def test_a_slope_in_percent(line_of: LineOf) -> None:
    line = line_of("tree,girth_cm,slope_%\n1,90,100\n2,90,45°\n")

    assert line.observations.values["slope_deg"].tolist() == [pytest.approx(45), 45]


def test_a_bearing_is_never_in_percent(line_of: LineOf) -> None:
    line = line_of("tree,girth_cm,bearing_%\n1,90,100\n")

    assert line.observations.values["bearing_deg"].isna().all()
    assert "unknown_unit" in rules(line)
