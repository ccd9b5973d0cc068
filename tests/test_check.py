"""Findings: what is seen, where, and that nothing else changes."""

from collections.abc import Callable
from pathlib import Path

import pandas as pd
import pytest

from mapper.check import usable
from mapper.check.findings import Rule, findings
from mapper.line import run_checks
from mapper.summarise import Line
from mapper.survey import read_survey

SQUARE = (
    '{"type":"FeatureCollection","features":[{"type":"Feature","properties":{"stand":"%s"},'
    '"geometry":{"type":"Polygon","coordinates":[[[%s,45],[%s,45],[%s,45.001],[%s,45.001],[%s,45]]]}}]}'
)


def square(name: str, west: float, east: float) -> str:
    return SQUARE % (name, west, east, east, west, west)


@pytest.fixture
def line_of(tmp_path: Path) -> Callable[..., Line]:
    def run(text: str, outlines: str = "") -> Line:
        table = tmp_path / "trees.csv"
        table.write_text(text, encoding="utf-8")
        boundaries = None
        if outlines:
            boundaries = tmp_path / "stands.geojson"
            boundaries.write_text(outlines, encoding="utf-8")
        return run_checks(read_survey([table], boundaries))

    return run


def found(line: Line, rule: str) -> pd.DataFrame:
    return line.findings[line.findings["rule"] == rule]


def test_clean_records_have_no_finding(line_of: Callable[..., Line]) -> None:
    line = line_of(
        "tree,species,date,girth_cm,baseline_m,angle_top,angle_base,lat,lon\n"
        "1,Quercus robur,2026-05-01,157,20,38,-5,45.0001,7.0001\n"
        "2,Quercus robur,2026-05-01,140,20,36,-4,45.0002,7.0002\n"
    )
    assert line.findings.empty


@pytest.mark.parametrize(
    ("heading", "cell", "column", "part"),
    [
        ("girth_cm", "-1", "girth", "girth -1 cm"),
        ("girth_cm", "0", "girth", "Allowed: above 0 to 4500 cm"),
        ("girth_cm", "5120", "girth", "no tree on record is more than 45 m round"),
        ("diameter_cm", "1500", "diameter", "14.3 m thick"),
        ("height_m", "0", "height", "height 0 m"),
        ("height_m", "130", "height", "the tallest tree on record is 116 m"),
        ("stem_2_cm", "-3", "stem_2", "stem 2 -3 cm"),
        ("lat", "95", "lat", "latitudes end at the poles"),
    ],
)
def test_impossible_values(
    line_of: Callable[..., Line], heading: str, cell: str, column: str, part: str
) -> None:
    line = line_of(f"tree,species,lon,{heading}\n7,oak,7.5,{cell}\n8,oak,7.5,\n")
    (row,) = found(line, "impossible").to_dict("records")
    assert (row["severity"], row["file"], row["row"], row["tree"]) == ("error", 1, 2, "7")
    assert row["column"] == column
    assert part in row["message"]
    assert row["bars"]


def test_a_rare_value_stays_in_the_figures(line_of: Callable[..., Line]) -> None:
    line = line_of("tree,girth_cm\n1,1100\n")
    (row,) = found(line, "rare").to_dict("records")
    assert (row["severity"], row["bars"]) == ("warning", False)
    assert line.measured.trees["girth_cm"].tolist() == [1100]


def test_words_in_a_number_are_kept_and_named(line_of: Callable[..., Line]) -> None:
    line = line_of("tree,girth_cm\n1,about two arms\n2,100\n")
    (row,) = found(line, "not_a_number").to_dict("records")
    assert (row["row"], row["tree"], row["column"]) == (2, "1", "girth")
    assert row["value"] == "about two arms"
    assert line.observations.records.cells["girth"].tolist() == ["about two arms", "100"]
    assert len(line.measured.trees) == 2


def test_missing_size(line_of: Callable[..., Line]) -> None:
    line = line_of("tree,girth_cm,status\n1,,alive\n2,,fallen\n3,100,\n")
    assert found(line, "missing")["tree"].tolist() == ["1"]


def test_outside_every_stand(line_of: Callable[..., Line]) -> None:
    rows = "".join(f"{n},100,45.0005,7.000{n}\n" for n in range(1, 6))
    line = line_of(
        "tree,girth_cm,lat,lon\n" + rows + "6,100,45.5005,7.0001\n", square("A", 7, 7.001)
    )
    (row,) = found(line, "outside_every_stand").to_dict("records")
    assert (row["tree"], row["severity"]) == ("6", "warning")
    assert len(line.measured.trees) == 6


@pytest.mark.parametrize(("metres", "stand"), [(0.04, "A"), (0.06, "")])
def test_tolerance_of_five_centimetres(
    line_of: Callable[..., Line], metres: float, stand: str
) -> None:
    # A degree of latitude at 45 N is 111,132 m long (WGS 84; common practice, no source).
    south = 45 - metres / 111_132
    line = line_of(f"tree,girth_cm,lat,lon\n1,100,{south:.12f},7.0005\n", square("A", 7, 7.001))
    assert line.observations.values["stand"].tolist() == [stand]


def test_two_outlines_over_one_tree(line_of: Callable[..., Line]) -> None:
    two = square("A", 7, 7.001)[:-2] + "," + square("B", 7.0005, 7.002).split("[", 1)[1]
    line = line_of("tree,girth_cm,lat,lon\n1,100,45.0005,7.0007\n2,90,45.0005,7.0001\n", two)
    assert found(line, "in_two_stands")["tree"].tolist() == ["1"]
    assert line.observations.values["stand"].tolist() == ["A", "A"]


def test_the_stand_cell_wins_over_the_outline(line_of: Callable[..., Line]) -> None:
    line = line_of("tree,stand,girth_cm,lat,lon\n1,B,100,45.0005,7.0005\n", square("A", 7, 7.001))
    assert line.observations.values["stand"].tolist() == ["B"]


def test_near_an_edge_within_the_accuracy(line_of: Callable[..., Line]) -> None:
    line = line_of(
        "tree,girth_cm,lat,lon,position_accuracy_m\n"
        "1,100,45.00005,7.0005,4\n2,100,45.0005,7.0005,4\n",
        square("A", 7, 7.001),
    )
    assert found(line, "near_an_edge")["tree"].tolist() == ["1"]


def test_a_number_used_for_another_tree(line_of: Callable[..., Line]) -> None:
    line = line_of(
        "tree,species,date,girth_cm,lat,lon\n"
        "14,Quercus robur,2026-05-01,157,45.0001,7.0001\n"
        "14,Fagus sylvatica,2026-05-01,80,45.0003,7.0001\n"
    )
    (row,) = found(line, "duplicate_id").to_dict("records")
    assert (row["row"], row["severity"]) == (3, "error")
    assert "file 1, row 2" in row["message"]
    assert line.measured.trees.index.tolist() == ["14", "14 (2)"]


def test_repeats_of_one_day_are_one_visit(line_of: Callable[..., Line]) -> None:
    line = line_of(
        "tree,date,girth_cm\n3,2026-05-01,100\n3,2026-05-01,102\n3,2026-05-01,103\n3,2025-05-01,98\n"
    )
    assert found(line, "duplicate_id").empty
    assert line.measured.trees["girth_cm"].tolist() == [102]
    assert line.measured.trees["visits"].tolist() == [2]


def test_same_row_twice_counts_once(line_of: Callable[..., Line]) -> None:
    line = line_of("tree,date,girth_cm\n3,2026-05-01,100\n3,2026-05-01,100\n")
    assert found(line, "duplicate_row")["row"].tolist() == [3]
    assert len(line.measured.trees) == 1


def test_girth_and_diameter_that_do_not_fit(line_of: Callable[..., Line]) -> None:
    line = line_of("tree,girth_cm,diameter_cm\n1,157,50\n2,157,157\n")
    assert found(line, "disagree")["tree"].tolist() == ["2"]
    assert line.measured.trees["diameter_method"].tolist() == ["girth", "girth"]


def test_typed_height_against_angles(line_of: Callable[..., Line]) -> None:
    head = "tree,baseline_m,angle_top,angle_base,height_m\n"
    line = line_of(head + "1,20,38,-5,17\n2,20,38,-5,27\n")
    assert found(line, "heights_disagree")["tree"].tolist() == ["2"]
    assert line.measured.trees["height_method"].tolist() == ["two angles", "two angles"]


def test_angles_upside_down_give_no_height(line_of: Callable[..., Line]) -> None:
    line = line_of(
        "tree,baseline_m,angle_top,angle_base,eye_height_m\n1,20,-5,38,1.6\n2,20,30,-3,1.6\n"
    )
    assert found(line, "impossible")["tree"].tolist() == ["1"]
    assert line.measured.trees["height_m"].isna().tolist() == [True, False]


def test_a_misread_base_angle_does_not_become_a_one_angle_height(
    line_of: Callable[..., Line],
) -> None:
    line = line_of("tree,baseline_m,angle_top,angle_base,eye_height_m\n1,20,38,minus five,1.6\n")
    assert line.measured.trees["height_m"].isna().all()


def test_a_barred_stem_takes_the_whole_tree_out(line_of: Callable[..., Line]) -> None:
    line = line_of("tree,stem_1_cm,stem_2_cm\n1,60,-80\n2,60,80\n")
    assert line.measured.trees["diameter_cm"].isna().tolist() == [True, False]


def test_usable_changes_no_table_of_its_caller(line_of: Callable[..., Line]) -> None:
    line = line_of("tree,girth_cm\n1,-5\n2,100\n")
    before = line.observations.values.copy()
    kept = usable(line.observations.values, line.findings)
    pd.testing.assert_frame_equal(line.observations.values, before)
    assert kept["girth_cm"].isna().tolist() == [True, False]


def test_another_height_on_the_stem_is_said(line_of: Callable[..., Line]) -> None:
    line = line_of("tree,girth_cm,measured_at_m\n1,100,1.3\n2,100,1.37\n3,100,0.5\n4,100,\n")
    assert found(line, "other_height")["tree"].tolist() == ["2", "3"]


def test_half_a_tree_in_a_complete_count(line_of: Callable[..., Line]) -> None:
    line = line_of("tree,girth_cm,tally\n1,100,0.5\n2,100,2\n")
    assert found(line, "impossible")["tree"].tolist() == ["1"]
    assert line.measured.trees["tally"].tolist() == [1, 2]


def test_angles_that_lack_a_part(line_of: Callable[..., Line]) -> None:
    line = line_of("tree,baseline_m,angle_top,eye_height_m\n1,20,38,\n2,,38,1.6\n3,20,38,1.6\n")
    assert found(line, "incomplete")["tree"].tolist() == ["1", "2"]


def test_a_file_without_sizes_is_one_finding(line_of: Callable[..., Line]) -> None:
    line = line_of("tree,species,thickness of it\n1,oak,1\n2,oak,2\n3,oak,3\n")
    (row,) = found(line, "no_size").to_dict("records")
    assert (row["file"], row["record"]) == (1, -1)
    assert "girth_cm" in row["suggestion"]
    assert found(line, "missing").empty


def test_a_shape_that_no_tree_has_leaves_the_figures(line_of: Callable[..., Line]) -> None:
    line = line_of(
        "tree,girth_cm,height_m,diameter_cm\n1,1.5,19,\n2,150,19,\n3,6,4.9,\n4,,2,90\n5,,,90\n"
    )
    shape = found(line, "impossible_shape")
    assert sorted(zip(shape["tree"], shape["column"], strict=True)) == [
        ("1", "girth"), ("1", "height"),
    ]  # fmt: skip
    assert found(line, "unit_slip")["tree"].tolist() == ["4"]
    # 2 m and 90 cm: a height of 20 m, or a stem of 9 cm. Nothing here says which.
    assert found(line, "unit_slip")["proposed_value"].tolist() == [""]
    assert found(line, "short_for_its_stem").empty  # one blunder, one finding
    trees = line.measured.trees
    assert trees["diameter_cm"].isna().tolist() == [True, False, False, False, False]
    assert trees["height_m"].isna().tolist() == [True, False, False, False, True]


def test_an_impossible_shape_bars_the_angles_it_came_from(line_of: Callable[..., Line]) -> None:
    line = line_of(
        "tree,girth_cm,baseline_m,angle_top,angle_base,height_m\n1,1,20,45,-5,12\n2,99,20,45,-5,\n"
    )
    assert set(found(line, "impossible_shape")["column"]) == {"girth", "angle_top"}
    assert line.measured.trees["height_m"].round(2).tolist() == [12, 21.75]


@pytest.mark.parametrize("day", ["9999-01-01", "0001-01-01", "1799-12-31", "2100-01-01"])
def test_days_that_cannot_be(line_of: Callable[..., Line], day: str) -> None:
    line = line_of(f"tree,date,girth_cm\n1,{day},100\n2,2026-05-01,100\n")
    impossible = line.findings[line.findings["column"] == "date"]
    assert impossible["tree"].tolist() == ["1"]
    assert line.measured.trees["date"].isna().tolist() == [True, False]


def test_a_tree_back_to_life(line_of: Callable[..., Line]) -> None:
    line = line_of(
        "tree,date,girth_cm,status\n1,2019-05-01,100,dead\n1,2024-05-01,101,\n"
        "2,2019-05-01,100,dead\n2,2024-05-01,100,fallen\n"
    )
    assert found(line, "back_to_life")["row"].tolist() == [3]
    assert line.measured.trees["status"].tolist() == ["alive", "fallen"]


def test_an_angle_straight_up_is_no_angle(line_of: Callable[..., Line]) -> None:
    line = line_of("tree,baseline_m,angle_top,angle_base\n1,20,90,-5\n2,20,89,-5\n")
    assert found(line, "impossible")["tree"].tolist() == ["1"]
    assert "below 90" in found(line, "impossible")["message"].iloc[0]


def test_a_stem_of_nothing_is_no_stem(line_of: Callable[..., Line]) -> None:
    line = line_of("tree,stem_1_cm,stem_2_cm\n1,31.4159265,0\n2,31.4159265,31.4159265\n")
    assert found(line, "no_such_stem")["tree"].tolist() == ["1"]
    assert line.measured.trees["stems"].tolist() == [1, 2]
    assert line.measured.trees["diameter_cm"].round(3).tolist() == [10, 14.142]


def test_years_in_one_stand_are_said(line_of: Callable[..., Line]) -> None:
    line = line_of(
        "tree,stand,date,girth_cm\n1,A,2019-05-01,100\n1,A,2024-05-01,105\n2,B,2024-05-01,90\n"
    )
    (row,) = found(line, "years_mixed").to_dict("records")
    assert "A" in row["message"]
    assert "from 2019 to 2024: each year is figured alone" in row["message"]


@pytest.mark.parametrize("word", ["snag", "Standing dead", "dead standing"])
def test_words_for_standing_dead(line_of: Callable[..., Line], word: str) -> None:
    line = line_of(f"tree,girth_cm,status\n1,100,{word}\n")
    assert line.measured.trees["status"].tolist() == ["dead"]


def test_a_tree_without_a_place_may_be_missing_in_a_count(line_of: Callable[..., Line]) -> None:
    line = line_of(
        "tree,stand,girth_cm,lat,lon\n1,,100,45.0005,7.0005\n2,,100,,\n3,A,100,,\n",
        square("A", 7, 7.001),
    )
    assert found(line, "in_no_stand")["tree"].tolist() == ["2"]


def test_an_outline_drawn_in_the_wrong_place(line_of: Callable[..., Line]) -> None:
    line = line_of("tree,girth_cm,lat,lon\n1,100,45.0005,7.0005\n", square("A", 8, 8.001))
    (row,) = found(line, "empty_stand").to_dict("records")
    assert "outline of A" in row["message"]


@pytest.mark.parametrize(
    ("girth", "diameter", "cause"),
    [
        (157, 157, "wrong column"),
        (157, 19.7, "diameter looks like inches"),
        (61.8, 50, "girth looks like inches"),
        (1570, 50, "factor of ten"),
        (157, 35, "not 3.14. The girth"),
    ],
)
def test_likely_causes_of_a_disagreement(
    line_of: Callable[..., Line], girth: float, diameter: float, cause: str
) -> None:
    line = line_of(f"tree,girth_cm,diameter_cm\n1,{girth},{diameter}\n")
    assert cause in found(line, "disagree")["message"].iloc[0]


def test_a_proposal_stands_in_the_finding_beside_its_cell() -> None:
    at = pd.DataFrame(
        {"file": 1, "row": [2, 3], "tree": "7", "proposed_value": ["157", None], "cause": "A slip."}
    )
    table = findings(Rule("disagree", "warning", "girth"), at, "Seen.")
    assert table["proposed_value"].tolist() == ["157", ""]
    assert table["proposed_column"].tolist() == ["girth", ""]
    assert table["cause"].tolist() == ["A slip.", "A slip."]
    plain = findings(
        Rule("disagree", "warning", "girth", cause="A slip."), at[["file", "row", "tree"]], ""
    )
    assert plain["proposed_value"].tolist() == ["", ""]
