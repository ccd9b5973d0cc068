"""Which method wins, how sure it is, and what a tree's newest values are."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from mapper import metrics
from mapper.line import run_checks
from mapper.measure import Measured, agreement
from mapper.summarise.workings import tree_workings
from mapper.survey import read_survey


@pytest.fixture
def measured(tmp_path: Path) -> Callable[[str], Measured]:
    def run(text: str) -> Measured:
        table = tmp_path / "trees.csv"
        table.write_text(text, encoding="utf-8")
        return run_checks(read_survey([table])).measured

    return run


def test_stems_win_over_girth_and_girth_over_diameter(measured: Callable[[str], Measured]) -> None:
    trees = measured(
        "tree,stem_1_cm,stem_2_cm,girth_cm,diameter_cm\n"
        "1,31.4159265,62.8318531,200,60\n2,,,157.0796327,49\n3,,,,40\n"
    ).trees
    assert trees["diameter_method"].tolist() == ["stems", "girth", "diameter"]
    # √(10² + 20²) = 22.3607, 157.0796 / π = 50 (by hand)
    assert trees["diameter_cm"].tolist() == pytest.approx([22.36068, 50, 40], abs=1e-5)
    assert trees["stems"].tolist() == [2, 1, 1]
    assert trees["girth_cm"].tolist() == pytest.approx([70.24815, 157.0796327, 125.66371], abs=1e-4)


def test_angles_win_over_a_typed_height(measured: Callable[[str], Measured]) -> None:
    trees = measured(
        "tree,baseline_m,angle_top,angle_base,eye_height_m,height_m\n"
        "1,20,38,-5,1.6,17\n2,20,38,,1.6,17\n3,,,,,17\n4,20,38,,,17\n"
    ).trees
    assert trees["height_method"].tolist() == ["two angles", "one angle", "reported", "reported"]
    # TRADE worked examples: 20 m, 38°, -5° → 17.38 m; 20 m, 38°, eye 1.6 m → 17.23 m
    assert trees["height_m"].round(2).tolist() == [17.38, 17.23, 17, 17]


def test_a_paced_baseline_is_less_sure_and_shared(measured: Callable[[str], Measured]) -> None:
    trees = measured(
        "tree,baseline_m,baseline_method,angle_top,angle_base\n1,20,taped,38,-5\n2,20,paced,38,-5\n"
    ).trees
    taped, paced = trees["height_sd_m"]
    assert paced > taped > 0
    shared = trees["height_shared_sd_m"].tolist()
    # Two percent of the height, whatever the angles (paced: relative sd 0.02 of the baseline).
    assert shared == pytest.approx([0, 0.02 * 17.3755], abs=1e-3)


def test_what_has_no_known_uncertainty_gets_none(measured: Callable[[str], Measured]) -> None:
    trees = measured("tree,girth_cm,girth_method,height_m\n1,100,by eye,20\n2,100,tape,20\n").trees
    assert trees["diameter_sd_cm"].isna().tolist() == [True, False]
    assert trees["height_sd_m"].isna().all()
    typed = measured("tree,height_m,height_method\n1,20,by eye\n2,20,reported\n3,20,sine\n").trees
    assert typed["height_method"].tolist() == ["by eye", "reported", "sine"]
    assert typed["height_sd_m"].fillna(-1).tolist() == [-1, 1.02, 1.02]  # GANZ2019


def test_two_widths_are_one_diameter_by_calipers(measured: Callable[[str], Measured]) -> None:
    trees = measured(
        "tree,diameter_cm,diameter_2_cm,girth_method\n1,50,32,\n2,36,30,calipers\n3,36,,calipers\n"
    ).trees
    # √(50 × 32) = 40, √(36 × 30) = 32.863: published/diameter_from_calipers.csv (BRACK1998)
    assert trees["diameter_cm"].round(3).tolist() == [40, 32.863, 36]
    assert set(trees["diameter_method"]) == {"diameter, calipers"}
    # 0.3 / 2 × √(50/32 + 32/50) = 0.2226, by hand with LUOMA2017's 0.3 cm a reading
    assert trees["diameter_sd_cm"].round(3).tolist() == [0.223, 0.214, 0.3]


@pytest.mark.parametrize(
    ("heading", "tool", "sd_cm"),
    # sd by reference/uncertainties.csv, a girth's divided by π
    [
        ("girth_cm", "tape", 0.64 / np.pi), ("girth_cm", "string", 1.5 / np.pi),
        ("girth_cm", "diameter tape", 0.64 / np.pi), ("girth_cm", "calipers", 0.94 / np.pi),
        ("diameter_cm", "diameter tape", 0.2), ("diameter_cm", "tape", 0.2),
        ("diameter_cm", "calipers", 0.3), ("diameter_cm", "string", 0.48),
        ("diameter_cm", "by eye", np.nan),
    ],
)  # fmt: skip
def test_every_tool_round_or_across_a_stem(
    measured: Callable[[str], Measured], heading: str, tool: str, sd_cm: float
) -> None:
    (tree,) = measured(f"tree,{heading},girth_method\n1,90,{tool}\n").trees.to_dict("records")
    assert tree["diameter_sd_cm"] == pytest.approx(sd_cm, nan_ok=True)
    assert tree["diameter_method"] == f"{heading[:-3]}, {tool}"


def test_snow_lifts_the_tape(measured: Callable[[str], Measured]) -> None:
    trees = measured(
        "tree,girth_cm,measured_at_m,snow_depth_cm\n1,90,,40\n2,90,1.3,40\n3,90,,\n"
    ).trees
    # 1.30 + 0.40: published/tape_height_over_snow.csv (RWG1999); told from the ground: as told
    assert trees["measured_at_m"].tolist() == pytest.approx([1.7, 1.3, np.nan], nan_ok=True)


SLIP = "tree,date,girth_cm,girth_method\n" + "".join(
    f"1,2026-05-01,{girth},tape\n" for girth in (100.0, 101.0, 180.0)
)


def test_a_slip_leaves_the_value_of_its_day(measured: Callable[[str], Measured]) -> None:
    found = measured(SLIP)
    assert found.records["diameter_slip"].tolist() == [False, False, True]
    (tree,) = found.trees.to_dict("records")
    # The case of published/is_slip.csv: of 100, 101, 180 the last one; halfway is 100.5.
    assert tree["diameter_cm"] == pytest.approx(100.5 / np.pi)
    assert (tree["diameter_readings"], tree["diameter_told"]) == (3, "31.8, 32.1, 57.3")
    assert tree["diameter_slips"] == "57.3"
    # Two readings 1 cm apart spread 1.4826 × 1.196 × 0.5 = 0.8866 cm; × 0.7071 / π (CROUX1992)
    assert tree["diameter_sd_cm"] == pytest.approx(0.8866 * 0.7071 / np.pi, abs=1e-4)
    assert len(found.records) == 3


def test_a_slip_is_a_finding_and_a_step(tmp_path: Path) -> None:
    table = tmp_path / "trees.csv"
    table.write_text(SLIP, encoding="utf-8")
    line = run_checks(read_survey([table]))
    (row,) = line.findings[line.findings["rule"] == "slip_among_readings"].to_dict("records")
    assert (row["severity"], row["row"], row["column"]) == ("warning", 4, "girth")
    assert "57.3 cm" in row["message"]
    assert not row["bars"]
    steps = tree_workings(line.measured.trees.reset_index())["1"]
    (step,) = (step for step in steps if step.title == "Diameter of that day")
    assert step.inputs == (
        "3 readings of one day: 31.8, 32.1, 57.3 cm; without 57.3 cm, too far from the others"
    )
    assert step.formula == "halfway between the two middle ones"
    assert step.method == "consensus_value"


@pytest.mark.parametrize("order", [(180, 100, 101), (100, 180, 101), (101, 100, 180)])
def test_a_slip_is_no_other_tree(
    measured: Callable[[str], Measured], order: tuple[int, ...]
) -> None:
    rows = "".join(f"1,2026-05-01,{girth}\n" for girth in order)
    trees = measured("tree,date,girth_cm\n" + rows).trees
    assert trees.index.tolist() == ["1"]
    assert trees["diameter_cm"].tolist() == pytest.approx([100.5 / np.pi])


def test_two_and_two_girths_of_one_number_are_two_trees(
    measured: Callable[[str], Measured],
) -> None:
    rows = "".join(f"1,2026-05-01,{girth}\n" for girth in (100, 101, 180, 181))
    assert len(measured("tree,date,girth_cm\n" + rows).trees) == 2


def test_of_two_readings_none_is_a_slip(measured: Callable[[str], Measured]) -> None:
    found = measured("tree,diameter_cm\n1,100\n1,180\n2,90\n")
    assert not found.records["diameter_slip"].any()


def test_what_readings_share_does_not_shrink(measured: Callable[[str], Measured]) -> None:
    row = "1,20,{},38,-5\n"
    head = "tree,baseline_m,baseline_method,angle_top,angle_base\n"
    one = measured(head + row.format("paced")).trees.iloc[0]
    many = measured(head + 4 * row.format("paced")).trees.iloc[0]
    shared = one["height_shared_sd_m"]
    # One reading is as sure as its method says; 2 % of 20 m paced is 0.4 m.
    by_method = metrics.height_from_angles_sd(20, 38, -5, 0.4, 1.2)
    assert one["height_sd_m"] == pytest.approx(float(by_method))
    own = np.sqrt(one["height_sd_m"] ** 2 - shared**2)
    assert many["height_shared_sd_m"] == pytest.approx(shared)
    # 0.546: standard deviation of the median of four readings (SASSTDMED)
    assert many["height_sd_m"] == pytest.approx(np.hypot(0.5460765683 * own, shared))


def test_agreement_of_a_programme(measured: Callable[[str], Measured]) -> None:
    head = "tree,date,diameter_cm,height_m\n"
    rows = (
        "1,2026-05-01,30.0,20\n1,2026-05-01,30.2,21\n"
        "2,2026-05-01,60.0,\n2,2026-05-01,60.6,\n"
        "3,2026-05-01,40.0,10\n3,2026-05-02,44.0,15\n"
    )
    diameter, height = agreement(measured(head + rows).records).to_dict("records")
    assert (diameter["trees"], diameter["readings"], diameter["pairs"]) == (2, 4, 2)
    # Within trees: 2 × 0.1² + 2 × 0.3² over 2 degrees of freedom (BLAND1996), by hand.
    assert diameter["sd"] == pytest.approx(np.sqrt(0.1))
    assert diameter["unit"] == "cm"
    # Tolerances 0.25 and 0.5 cm (FIACORE): 0.2 is within, 0.6 is not.
    assert diameter["within_tolerance_share"] == 0.5
    assert (height["trees"], height["unit"]) == (1, "%")
    # Two readings differ by √2 sd: 100 × ln(21 / 20) / √2
    assert height["sd"] == pytest.approx(100 * np.log(21 / 20) / np.sqrt(2))
    assert height["within_tolerance_share"] == 1


def test_agreement_counts_a_slip_among_the_pairs_and_not_in_the_sd(
    measured: Callable[[str], Measured],
) -> None:
    (row,) = agreement(measured(SLIP).records).to_dict("records")
    assert row["pairs"] == 3
    assert row["within_tolerance_share"] == 0
    assert row["sd"] == pytest.approx(np.sqrt(0.5) / np.pi)


def test_no_agreement_without_repeats(measured: Callable[[str], Measured]) -> None:
    assert agreement(measured("tree,girth_cm\n1,100\n2,90\n").records).empty


def test_newest_valid_value_of_each_quantity(measured: Callable[[str], Measured]) -> None:
    found = measured(
        "tree,date,girth_cm,height_m,species\n"
        "1,2024-05-01,100,15,Quercus robur\n1,2026-05-01,104,,\n1,2025-05-01,-1,16,\n"
    )
    (tree,) = found.trees.reset_index().to_dict("records")
    assert (tree["girth_cm"], tree["height_m"]) == (104, 16)
    assert tree["species_name"] == "Quercus robur"
    assert tree["visits"] == 3
    assert tree["date"] == pd.Timestamp("2026-05-01")
    assert len(found.visits) == 3


def test_every_record_is_still_there(measured: Callable[[str], Measured]) -> None:
    rows = "".join(f"{n},{'' if n % 3 else 'x'}\n" for n in range(50))
    found = measured("tree,girth_cm\n" + rows)
    assert len(found.records) == len(found.trees) == 50
    assert found.trees["diameter_cm"].isna().all()


def test_rows_without_a_number_are_trees_of_their_own(measured: Callable[[str], Measured]) -> None:
    trees = measured("girth_cm,species\n100,oak\n100,oak\n").trees
    assert trees.index.tolist() == ["1-2", "1-3"]


def test_diameter_uncertainty_is_girth_over_pi(measured: Callable[[str], Measured]) -> None:
    (sd,) = measured("tree,girth_cm\n1,157\n").trees["diameter_sd_cm"]
    assert sd == pytest.approx(0.64 / np.pi)  # BUTT2013 by way of reference/uncertainties.csv
