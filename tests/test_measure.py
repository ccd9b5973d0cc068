"""Which method wins, how sure it is, and what a tree's newest values are."""

from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from mapper.line import run_checks
from mapper.measure import Measured
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


def test_methods_that_are_not_computed_give_no_height(measured: Callable[[str], Measured]) -> None:
    trees = measured(
        "tree,baseline_m,baseline_kind,angle_top,angle_base\n"
        "1,20,along the ground,38,-5\n2,20,horizontal,38,-5\n"
    ).trees
    assert trees["height_m"].isna().tolist() == [True, False]


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
