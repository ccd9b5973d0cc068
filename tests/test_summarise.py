"""Stand figures of a complete count, classes, species, comparison, reasons."""

from collections.abc import Callable

import numpy as np
import pandas as pd
import pytest

from mapper.summarise import Results
from mapper.summarise.classing import even_limits

# The teaching plot: ten trees on 20 m x 20 m, diameter (cm), height (m), species. By hand.
PLOT = [
    (42.0, 21.5, "Quercus robur"), (35.5, 20.0, "Quercus robur"), (28.0, 18.5, "Quercus robur"),
    (31.0, 19.5, "Fagus sylvatica"), (18.0, 13.0, "Fagus sylvatica"),
    (12.0, 9.5, "Fagus sylvatica"),
    (22.0, 17.0, "Betula pendula"), (19.5, 16.0, "Betula pendula"),
    (10.5, 8.0, "Acer campestre"), (8.0, 6.5, "Acer campestre"),
]  # fmt: skip
COUNTED = '[[stand]]\nname = "P"\ndesign = "complete count"\narea = "400 m2"\n'
FILES = '[records]\nfiles = ["*.csv"]\n'


def plot_csv(extra: str = "") -> str:
    rows = "".join(f"{n},P,{d},{h},{s}\n" for n, (d, h, s) in enumerate(PLOT, start=1))
    return "tree,stand,diameter_cm,height_m,species\n" + rows + extra


def test_teaching_plot(results_of: Callable[..., Results]) -> None:
    results = results_of({"survey.toml": FILES + COUNTED, "a.csv": plot_csv()})
    (stand,) = results.stands.to_dict("records")
    assert stand["area_ha"] == pytest.approx(0.04)
    assert stand["stems_per_ha"] == pytest.approx(250)
    assert stand["basal_area_m2_per_ha"] == pytest.approx(12.322, abs=0.0005)
    assert stand["quadratic_mean_diameter_cm"] == pytest.approx(25.05, abs=0.005)
    assert stand["mean_diameter_cm"] == pytest.approx(22.65)
    assert stand["lorey_height_m"] == pytest.approx(18.73, abs=0.005)
    assert stand["mean_height_m"] == pytest.approx(14.95)
    assert stand["species_count"] == 4
    oak = results.species.query("stand == 'P' and species == 'Quercus robur'").iloc[0]
    # Importance value of the oak by hand: 30 % of stems + 60.7 % of basal area = 90.7
    assert 100 * (oak["share_stems"] + oak["share_basal_area"]) == pytest.approx(90.7, abs=0.05)


def test_dead_fallen_and_stumps_are_apart(results_of: Callable[..., Results]) -> None:
    head = "tree,stand,diameter_cm,status\n"
    rows = "1,P,20,\n2,P,20,alive\n3,P,90,dead\n4,P,90,fallen\n5,P,90,stump\n"
    results = results_of({"survey.toml": FILES + COUNTED, "a.csv": head + rows})
    (stand,) = results.stands.to_dict("records")
    assert (stand["trees"], stand["dead_trees"]) == (2, 1)
    assert stand["quadratic_mean_diameter_cm"] == pytest.approx(20)
    assert len(results.trees) == 5


def test_a_tree_without_size_counts_unless_a_smallest_is_set(
    results_of: Callable[..., Results],
) -> None:
    rows = "tree,stand,diameter_cm\n1,P,20\n2,P,x\n3,P,6.99\n4,P,7\n"
    results = results_of({"survey.toml": FILES + COUNTED, "a.csv": rows})
    assert results.stands["trees"].tolist() == [4]
    assert results.stands["trees_with_diameter"].tolist() == [3]
    smallest = '[measure]\nsmallest_diameter = "7 cm"\n'
    results = results_of({"survey.toml": FILES + smallest + COUNTED, "a.csv": rows})
    assert results.stands["trees"].tolist() == [2]


def test_tally_counts_alike_trees(results_of: Callable[..., Results]) -> None:
    once = "tree,stand,girth_cm,tally\n1,P,60,3\n2,P,90,\n"
    results = results_of({"survey.toml": FILES + COUNTED, "a.csv": once})
    apart = "tree,stand,girth_cm\n1,P,60\n2,P,60\n3,P,60\n4,P,90\n"
    spread = results_of({"survey.toml": FILES + COUNTED, "a.csv": apart})
    for column in ("trees", "stems_per_ha", "basal_area_m2_per_ha", "mean_diameter_cm"):
        assert results.stands[column].tolist() == pytest.approx(spread.stands[column].tolist())
    # One reading stands for three trees: its error does not average out.
    se = "basal_area_m2_per_ha_se_measurement"
    assert results.stands[se].iloc[0] > spread.stands[se].iloc[0]


def test_without_a_declared_count_there_is_no_hectare(results_of: Callable[..., Results]) -> None:
    results = results_of({"survey.toml": FILES, "a.csv": plot_csv()})
    (stand,) = results.stands.to_dict("records")
    assert np.isnan(stand["stems_per_ha"])
    assert np.isnan(stand["basal_area_m2_per_ha"])
    assert np.isnan(stand["mean_diameter_cm_low"])
    assert stand["selection"] == "by hand"
    reasons = results.reasons.query("table == 'stands' and column == 'stems_per_ha'")
    assert "complete count" in reasons["reason"].iloc[0]


def test_interval_is_196_standard_errors(results_of: Callable[..., Results]) -> None:
    head = "tree,stand,girth_cm\n"
    results = results_of({"survey.toml": FILES + COUNTED, "a.csv": head + "1,P,60\n2,P,90\n"})
    (stand,) = results.stands.to_dict("records")
    error = stand["mean_diameter_cm_se_measurement"]
    # Two tape readings of sd 0.64 cm / π each: sd of their mean is 0.64 / π / √2 = 0.1441
    assert error == pytest.approx(0.1441, abs=5e-5)
    half = stand["mean_diameter_cm_high"] - stand["mean_diameter_cm"]
    assert half == pytest.approx(1.959964 * error)


def test_classes_hold_every_sized_tree_once(results_of: Callable[..., Results]) -> None:
    results = results_of({"survey.toml": FILES + COUNTED, "a.csv": plot_csv()})
    for quantity in ("diameter", "height"):
        rows = results.classes.query(f"stand == 'P' and quantity == '{quantity}'")
        assert rows["trees"].sum() == 10
        assert (rows["upper"].to_numpy()[:-1] == rows["lower"].to_numpy()[1:]).all()
    sized = results.classes.query("stand == 'P' and quantity == 'size'").set_index("name")["trees"]
    assert sized.to_dict() == {
        "very small": 1, "small": 5, "intermediate": 4, "large": 0, "very large": 0,
    }  # fmt: skip
    assert results.trees.set_index("tree").loc["10", "diameter_class"] == "5-10"


def test_two_inch_classes_carry_their_middle() -> None:
    # Class 6 holds 5.0 to under 7.0 in (common practice in the United States, no source).
    inches = np.array([0.8, 4.99, 5.0, 6.99, 7.0])
    limits = even_limits(inches * 2.54, 5.08, start=2.54)
    assert (limits.lower / 2.54).round(6).tolist() == [0, 1, 3, 5, 7]
    assert (limits.upper / 2.54).round(6).tolist() == [1, 3, 5, 7, 9]


def test_comparison_never_claims_more_than_its_interval(
    results_of: Callable[..., Results],
) -> None:
    toml = FILES + COUNTED + COUNTED.replace('"P"', '"Q"')
    rows = "".join(f"a{n},P,60\n" for n in range(9)) + "".join(f"b{n},Q,60.1\n" for n in range(9))
    rows += "".join(f"c{n},Q,60\n" for n in range(9))
    results = results_of({"survey.toml": toml, "a.csv": "tree,stand,girth_cm\n" + rows})
    table = results.comparison.set_index("quantity")
    assert table.loc["stems_per_ha", "sentence"] == (
        "Q has about twice as many trees on the same ground as P."
    )
    diameter = table.loc["mean_diameter_cm"]
    assert diameter["low"] < 0 < diameter["high"]
    assert "show no difference" in diameter["sentence"]


def test_empty_cells_have_reasons(results_of: Callable[..., Results]) -> None:
    results = results_of(
        {"survey.toml": FILES, "a.csv": "tree,girth_cm,height_m\n1,x,\n2,100,20\n"}
    )
    trees = results.trees.set_index("tree")
    told = set(zip(results.reasons["id"], results.reasons["column"], strict=True))
    checked = ["diameter_cm", "height_m", "height_sd_m", "slenderness", "species", "stand", "lat"]
    for name in checked:
        for tree in trees.index:
            value = trees.loc[tree, name]
            empty = pd.isna(value) or value == ""
            assert empty == ((tree, name) in told) or name == "height_sd_m", (tree, name)
    assert ("2", "height_sd_m") in told


def test_workings_repeat_the_published_numbers(results_of: Callable[..., Results]) -> None:
    text = "tree,girth_cm,baseline_m,angle_top,angle_base\n1,157,20,38,-5\n"
    results = results_of({"survey.toml": FILES, "a.csv": text})
    diameter, area, height, slenderness = results.workings["1"]
    assert diameter.formula == "157 / π"
    assert diameter.result == "50.0 ± 0.4 cm"
    assert area.result == "0.196 m²"  # (157 / 100)² / 4π = 0.19615 by hand
    assert height.formula == "20 × (tan 38° − tan (−5°))"
    assert height.result.startswith("17.4 ± ")
    assert slenderness.result == "35"


def counted_pair(results_of: Callable[..., Results], rows: str) -> pd.DataFrame:
    toml = FILES + COUNTED + COUNTED.replace('"P"', '"Q"')
    text = "tree,stand,girth_cm,height_m\n" + rows
    return results_of({"survey.toml": toml, "a.csv": text}).comparison.set_index("quantity")


def test_heights_of_some_trees_have_no_interval(results_of: Callable[..., Results]) -> None:
    table = counted_pair(results_of, "1,P,60,10\n2,P,60,\n3,Q,60,20\n4,Q,60,\n")
    height = table.loc["mean_height_m"]
    assert np.isnan(height["low"])
    assert height["sentence"] == (
        "Among the trees measured, the average height of Q is about twice that of P."
    )


def test_a_missing_size_widens_the_interval(results_of: Callable[..., Results]) -> None:
    head = "tree,stand,girth_cm\n"
    rows = "1,P,60\n2,P,90\n3,P,120\n4,P,x\n"
    results = results_of({"survey.toml": FILES + COUNTED, "a.csv": head + rows})
    (stand,) = results.stands.to_dict("records")
    # Diameters 60, 90, 120 / π: sd 30 / π = 9.549; / √3 · √(1 − 3/4) = 2.757 (by hand)
    assert stand["mean_diameter_cm_se_sampling"] == pytest.approx(2.757, abs=0.0005)
    half = (stand["mean_diameter_cm_high"] - stand["mean_diameter_cm_low"]) / 2
    both = np.hypot(2.757, stand["mean_diameter_cm_se_measurement"])
    assert half == pytest.approx(1.96 * both, rel=1e-3)
    assert np.isnan(stand["basal_area_m2_per_ha_low"])
    told = results.reasons.query("column == 'basal_area_m2_per_ha_low'")["reason"].tolist()
    assert told == ["some trees of the stand lack the measurement"]


def test_basal_area_with_a_missing_size_is_not_compared_blindly(
    results_of: Callable[..., Results],
) -> None:
    near = "1,P,60,\n2,P,60,\n3,P,x,\n4,Q,60,\n5,Q,70,\n6,Q,50,\n"
    table = counted_pair(results_of, near)
    assert table.loc["basal_area_m2_per_ha", "sentence"] == (
        "Which has the greater stem cross-section on the same ground we cannot tell: "
        "1 tree has no size."
    )


def test_what_trees_share_does_not_shrink_with_their_number(
    results_of: Callable[..., Results],
) -> None:
    head = "tree,stand,girth_cm,baseline_m,baseline_method,angle_top,angle_base\n"
    errors = []
    for count in (4, 400):
        rows = "".join(f"{n},P,100,20,paced,38,-5\n" for n in range(count))
        results = results_of({"survey.toml": FILES + COUNTED, "a.csv": head + rows})
        row = results.stands.iloc[0]
        errors.append((row["mean_height_m_se_measurement"], row["lorey_height_m_se_measurement"]))
    # One pace: 2 % of 17.38 m, however many trees; each tree's angles: 0.8 m / √400 more at most.
    assert min(errors[1]) > 0.02 * 17.375
    assert max(errors[1]) < 0.02 * 17.375 * 1.01
    assert errors[0][0] > errors[1][0]


def test_a_height_curve_is_fitted_to_living_trees_and_fills_in_nothing(
    results_of: Callable[..., Results],
) -> None:
    # Heights made by the curve with 1.2 and 0.2; a dead tree and a withheld one lie far off it.
    sizes = [8, 11, 15, 19, 24, 30, 37, 45, 52, 60]
    tall = [1.3 + d**2 / (1.2 + 0.2 * d) ** 2 for d in sizes]
    rows = [f"{n},P,{d},{h:.9f},," for n, (d, h) in enumerate(zip(sizes, tall, strict=True))]
    odd = ["x,P,40,2,dead,", "y,P,40,30,,withheld", "z,P,33,,,"]
    head = "tree,stand,diameter_cm,height_m,status,privacy\n"
    text = head + "\n".join([*rows, *odd]) + "\n"
    results = results_of({"survey.toml": FILES + COUNTED, "a.csv": text})
    (curve,) = results.height_curves.to_dict("records")
    assert curve["trees"] == 10
    assert (curve["curve_a"], curve["curve_b"]) == pytest.approx((1.2, 0.2), rel=1e-6)
    assert curve["curve_sd_m"] == pytest.approx(0, abs=1e-6)
    assert np.isnan(results.trees.set_index("tree").loc["z", "height_m"])
    few = head + "\n".join(rows[:9]) + "\n"
    assert results_of({"survey.toml": FILES + COUNTED, "a.csv": few}).height_curves.empty
