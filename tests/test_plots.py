"""Stands sampled on plots and by angle counts, from the files to the published figures."""

import math
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pandas as pd
import pytest

from mapper.errors import InputError
from mapper.line import run_checks, survey_results
from mapper.summarise import Results
from mapper.survey import read_survey

ResultsOf = Callable[..., Results]
# 400 m² and 200 m²
PLOTS = "plot,stand,radius (m)\n1,Wood,11.2837916710\n2,Wood,11.2837916710\n3,Wood,7.9788456080\n"
SETTINGS = """
[[stand]]
name = "Wood"
design = "plots"
selection = "random"
plots = "plots.csv"
"""
# Diameter of a stem of 0.05 m², so that 1.0, 1.2 and 0.4 m² are 20, 24 and 8 stems.
TWENTIETH = math.sqrt(0.05 * 40_000 / math.pi)


def stand_of(results: Results, name: str = "Wood") -> dict[str, float]:
    return results.stands.set_index("stand").loc[name].to_dict()


def survey(**files: str) -> dict[str, str]:
    """Files of a survey folder by their names, `_` for the dot and `__` for a folder."""
    return {name.replace("__", "/").replace("_", "."): text for name, text in files.items()}


def trees(counts: dict[str, int], diameter_cm: float = TWENTIETH, stand: str = "Wood") -> str:
    rows = [
        f"{number},{stand},{plot},{diameter_cm:.10f}"
        for plot, count in counts.items()
        for number in range(1, count + 1)
    ]
    return "tree,stand,plot,diameter_cm\n" + "\n".join(rows) + "\n"


def test_unequal_plots_give_the_ratio_of_totals(results_of: ResultsOf) -> None:
    # FREESE1962, ratio of means, worked by hand: 1.0, 1.2 and 0.4 m² on 0.04, 0.04 and 0.02 ha
    # are 26.0 m²/ha with a standard error of 2.498; the mean of the three would be 25.0.
    stand = stand_of(
        results_of(
            survey(
                survey_toml=SETTINGS,
                plots_csv=PLOTS,
                records__t_csv=trees({"1": 20, "2": 24, "3": 8}),
            )
        )
    )

    assert stand["basal_area_m2_per_ha"] == pytest.approx(26.0, rel=1e-6)
    assert stand["basal_area_m2_per_ha_se_sampling"] == pytest.approx(2.498, abs=0.0005)
    assert stand["stems_per_ha"] == pytest.approx(520, rel=1e-6)
    assert stand["plots"] == 3
    # Student's t of 2 degrees of freedom (TTABLE), on the ratio scale.
    half = 4.303 * 2.498 / 26.0
    assert stand["basal_area_m2_per_ha_high"] == pytest.approx(26 * math.exp(half), rel=2e-3)
    assert stand["basal_area_m2_per_ha_low"] == pytest.approx(26 / math.exp(half), rel=2e-3)


def test_equal_plots_give_the_plain_average_and_its_error(results_of: ResultsOf) -> None:
    # FREESE1962, worked by hand: 22, 28, 31, 19, 25 have mean 25 and standard error 2.1213; of a
    # stand of 125 such plots 2.0785.
    plots = "plot,area (ha)\n" + "".join(f"{n},0.05\n" for n in range(1, 6))
    records = trees(dict(zip("12345", (22, 28, 31, 19, 25), strict=True)))
    whole = SETTINGS + 'area = "6.25 ha"\n'

    small, large = (
        stand_of(results_of(survey(survey_toml=text, plots_csv=plots, records__t_csv=records)))
        for text in (whole, SETTINGS)
    )

    # 0.05 m² a stem on 0.05 ha: a stem is 1 m²/ha.
    assert large["basal_area_m2_per_ha"] == pytest.approx(25, rel=1e-6)
    assert large["basal_area_m2_per_ha_se_sampling"] == pytest.approx(2.1213, abs=0.00005)
    assert small["basal_area_m2_per_ha_se_sampling"] == pytest.approx(2.0785, abs=0.00005)


def test_a_plot_without_a_tree_counts_as_zero(results_of: ResultsOf) -> None:
    plots = PLOTS + "4,Wood,11.2837916710\n"

    stand = stand_of(
        results_of(
            survey(survey_toml=SETTINGS, plots_csv=plots, records__t_csv=trees({"1": 20, "2": 20}))
        )
    )

    assert stand["plots"] == 4
    assert stand["stems_per_ha"] == pytest.approx(40 / 0.14, rel=1e-6)


def test_angle_counts_equal_the_handbook(results_of: ResultsOf) -> None:
    # FIADBUG, chapter 1, eq. 6: factor 10 ft²/acre, a tree of 11.5 in, five points: it stands for
    # 2.773 trees per acre; eq. 5: basal area is the factor times the count over the points.
    points = "plot\n" + "".join(f"{n}\n" for n in range(1, 6))
    settings = """
[[stand]]
name = "Wood"
design = "angle count"
selection = "systematic"
basal_area_factor = "10 ft2/acre"
plots = "points.csv"
"""
    records = "tree,stand,plot,diameter (in)\n1,Wood,1,11.5\n"

    stand = stand_of(
        results_of(survey(survey_toml=settings, points_csv=points, records__t_csv=records))
    )

    acre = 0.40468564224
    assert stand["stems_per_ha"] * acre == pytest.approx(2.773, abs=0.0005)
    assert stand["basal_area_m2_per_ha"] == pytest.approx(10 / 5 * 0.3048**2 / acre, rel=1e-9)


def test_counting_alone_gives_basal_area_and_no_number_of_trees(results_of: ResultsOf) -> None:
    settings = SETTINGS.replace('"plots"\n', '"angle count"\nbasal_area_factor = 2\n', 1)
    records = "stand,plot,tally\nWood,1,7\nWood,2,3.5\nWood,3,0\n"

    results = results_of(
        survey(survey_toml=settings, plots_csv="plot\n1\n2\n3\n", records__t_csv=records)
    )
    stand = stand_of(results)

    assert stand["basal_area_m2_per_ha"] == pytest.approx(2 * 10.5 / 3)
    assert np.isnan(stand["stems_per_ha"])
    told = results.reasons.query("table == 'stands' and column == 'stems_per_ha'")["reason"]
    assert told.tolist() == ["an angle count gives a number of trees only with every diameter"]
    assert "impossible" not in set(results.findings["rule"])


def test_an_angle_count_does_not_say_how_near_its_number_of_trees_is(
    results_of: ResultsOf,
) -> None:
    settings = SETTINGS.replace('"plots"\n', '"angle count"\nbasal_area_factor = 2\n', 1)

    results = results_of(
        survey(
            survey_toml=settings,
            plots_csv="plot\n1\n2\n3\n",
            records__t_csv=trees({"1": 4, "2": 7, "3": 5}),
        )
    )
    stand = stand_of(results)

    assert stand["basal_area_m2_per_ha_low"] < 2 * 16 / 3 < stand["basal_area_m2_per_ha_high"]
    assert stand["stems_per_ha"] == pytest.approx(2 * 16 / 3 / 0.05)
    assert np.isnan(stand["stems_per_ha_low"])
    told = results.reasons.query("table == 'stands' and column == 'stems_per_ha_low'")["reason"]
    assert "thin trees" in told.iloc[0]


def test_nested_plots_take_each_tree_at_its_own_size(results_of: ResultsOf) -> None:
    # Thin trees on 100 m², thick ones on 400 m²: worked by hand, 3 / 0.01 and 5 / 0.04 per hectare.
    plots = (
        "plot,area (m2),min_diameter (cm),max_diameter (cm)\n1,100,5,20\n1,400,20,\n2,100,5,20\n"
        "2,400,20,\n"
    )
    records = "tree,stand,plot,diameter_cm\n" + "".join(
        f"{n},Wood,1,{10 if n <= 3 else 30}\n" for n in range(1, 9)
    )

    stand = stand_of(
        results_of(survey(survey_toml=SETTINGS, plots_csv=plots, records__t_csv=records))
    )

    assert stand["stems_per_ha"] == pytest.approx((300 + 125) / 2, rel=1e-9)


def test_strata_weigh_by_their_ground(results_of: ResultsOf) -> None:
    # FREESE1962, stratified sampling, worked by hand: parts of 3 and 1 ha with 100 and 500 trees
    # per hectare are 200 on average.
    plots = "plot,stratum,area (m2)\n1,dry,100\n2,dry,100\n3,wet,100\n4,wet,100\n"
    settings = SETTINGS + 'strata = "strata.csv"\n'
    records = trees({"1": 2, "3": 4, "4": 6})

    stand = stand_of(
        results_of(
            survey(
                survey_toml=settings,
                plots_csv=plots,
                strata_csv="stratum,area (ha)\ndry,3\nwet,1\n",
                records__t_csv=records,
            )
        )
    )

    assert stand["stems_per_ha"] == pytest.approx(200)
    # Standard errors 100 in either part: sqrt((3 × 100)² + (1 × 100)²) / 4.
    assert stand["stems_per_ha_se_sampling"] == pytest.approx(math.hypot(300, 100) / 4)


def test_a_plot_laid_along_the_slope_is_smaller_on_the_map(results_of: ResultsOf) -> None:
    plots = "plot,area (m2),slope,slope_corrected\n1,400,60,no\n2,400,60,yes\n"

    stand = stand_of(
        results_of(
            survey(survey_toml=SETTINGS, plots_csv=plots, records__t_csv=trees({"1": 6, "2": 6}))
        )
    )

    # cos 60° = 1/2: the first is 200 m².
    assert stand["stems_per_ha"] == pytest.approx(12 / 0.06)


def test_a_tree_beside_the_edge_counts_twice(results_of: ResultsOf) -> None:
    records = "tree,stand,plot,diameter_cm,edge_double\n1,Wood,1,30,yes\n2,Wood,2,30,\n"

    stand = stand_of(
        results_of(survey(survey_toml=SETTINGS, plots_csv=PLOTS, records__t_csv=records))
    )

    assert stand["stems_per_ha"] == pytest.approx(3 / 0.10, rel=1e-6)


@pytest.mark.parametrize("selection", ["", 'selection = "by hand"\n'])
def test_plots_chosen_by_hand_get_no_interval(results_of: ResultsOf, selection: str) -> None:
    settings = SETTINGS.replace('selection = "random"\n', selection)

    results = results_of(
        survey(survey_toml=settings, plots_csv=PLOTS, records__t_csv=trees({"1": 20, "2": 24}))
    )
    stand = stand_of(results)

    assert stand["stems_per_ha"] == pytest.approx(440, rel=1e-6)
    assert np.isnan(stand["stems_per_ha_low"])
    told = results.reasons.query("table == 'stands' and column == 'stems_per_ha_low'")["reason"]
    assert told.tolist() == ["plots chosen by hand get no interval"]


def test_one_plot_has_no_interval_and_says_why(results_of: ResultsOf) -> None:
    results = results_of(
        survey(
            survey_toml=SETTINGS,
            plots_csv="plot,area (m2)\n1,400\n",
            records__t_csv=trees({"1": 20}),
        )
    )

    assert stand_of(results)["stems_per_ha"] == pytest.approx(500)
    told = results.reasons.query("table == 'stands' and column == 'stems_per_ha_high'")["reason"]
    assert told.tolist() == ["one plot alone does not tell how much plots differ"]


@pytest.mark.parametrize(
    ("plots", "told"),
    [
        ("plot,radius (m)\n1,0\n", "row 2: plot '1' has no size"),
        ("plot,stand,radius (m)\n,Wood,5\n", "row 2: a plot without a name"),
        ("plot,radius (m)\n1,5\n1,6\n", "row 3: a second row for plot '1'"),
        ("plot,stand,radius (m)\n1,Field,5\n", "has no plot of the stand 'Wood'"),
        ("plot,stand,radius (m)\n1,Wood,5\n2,,5\n", "row 3: plot '2' names no stand"),
        ("plot,area (m2),min_diameter (cm),max_diameter (cm)\n1,9,5,30\n1,400,20,\n", "row 3"),
        ("plot,area (m2),min_diameter (cm),max_diameter (cm)\n1,9,30,10\n", "row 2"),
        ("plot,radius (m)\n1,wide\n", "row 2, column 'radius (m)'"),
    ],
)
def test_plots_that_cannot_be_used(results_of: ResultsOf, plots: str, told: str) -> None:
    with pytest.raises(InputError) as error:
        results_of(survey(survey_toml=SETTINGS, plots_csv=plots, records__t_csv=trees({"1": 20})))

    assert told in str(error.value)


def test_a_stand_spelt_otherwise_is_the_same_stand(results_of: ResultsOf) -> None:
    results = results_of(
        survey(
            survey_toml=SETTINGS.replace('"Wood"', '"wood"'),
            plots_csv=PLOTS,
            records__t_csv=trees({"1": 20, "2": 24, "3": 8}),
        )
    )

    assert results.stands["stems_per_ha"].tolist() == pytest.approx([520], rel=1e-6)


def test_a_stratum_told_twice_is_refused(results_of: ResultsOf) -> None:
    with pytest.raises(InputError, match="second row for the stratum"):
        results_of(
            survey(
                survey_toml=SETTINGS + 'strata = "strata.csv"\n',
                plots_csv="plot,stratum,area (m2)\n1,dry,100\n2,dry,100\n",
                strata_csv="stratum,area (ha)\ndry,3\nDry,1\n",
                records__t_csv=trees({"1": 2}),
            )
        )


def test_downhill_is_as_steep_as_uphill(results_of: ResultsOf) -> None:
    plots = "plot,area (m²),slope,slope_corrected\n1,400 m²,-60,no\n2,400,60,no\n"

    stand = stand_of(
        results_of(
            survey(survey_toml=SETTINGS, plots_csv=plots, records__t_csv=trees({"1": 6, "2": 6}))
        )
    )

    assert stand["stems_per_ha"] == pytest.approx(12 / 0.04)


def test_a_tree_between_two_nested_sizes_is_told(results_of: ResultsOf) -> None:
    plots = "plot,area (m2),min_diameter (cm),max_diameter (cm)\n1,100,5,15\n1,400,20,\n"

    results = results_of(
        survey(survey_toml=SETTINGS, plots_csv=plots, records__t_csv=trees({"1": 1}, 17))
    )

    assert "no_plot_size" in set(results.findings["rule"])


@pytest.mark.parametrize("heading", ["placette;peuplement;rayon (m)", "parcela;rodal;radio (m)"])
def test_plots_in_other_languages(results_of: ResultsOf, heading: str) -> None:
    plots = heading + "\n1;Wood;11,283791671\n2;Wood;11,283791671\n"

    stand = stand_of(
        results_of(
            survey(survey_toml=SETTINGS, plots_csv=plots, records__t_csv=trees({"1": 4, "2": 4}))
        )
    )

    assert stand["stems_per_ha"] == pytest.approx(100, rel=1e-6)


def test_a_missing_file_of_plots_is_told(results_of: ResultsOf) -> None:
    with pytest.raises(InputError, match=r"plots\.csv"):
        results_of(survey(survey_toml=SETTINGS, records__t_csv=trees({"1": 20})))


def test_a_tree_on_a_plot_that_nobody_listed_is_a_finding(results_of: ResultsOf) -> None:
    results = results_of(
        survey(survey_toml=SETTINGS, plots_csv=PLOTS, records__t_csv=trees({"1": 20, "9": 1}))
    )

    assert stand_of(results)["stems_per_ha"] == pytest.approx(200, rel=1e-6)
    assert "no_such_plot" in set(results.findings["rule"])


def test_intervals_hold_the_truth_about_as_often_as_they_say(tmp_path: Path) -> None:
    """Longleaf sampled 60 times with 15 round plots of 400 m²: a small look at the coverage.

    The full table is made by tests/benchmarks/coverage.py. Of 60 intervals of 95 % chance leaves
    fewer than 51 once in a thousand (binomial).
    """
    table = pd.read_csv(Path(__file__).parent / "open_data" / "longleaf_wgs84.csv")
    random = np.random.default_rng(60)
    radius = math.sqrt(400 / math.pi)
    rows, plots, settings = [], ["plot,stand,radius (m)"], [""]
    for number in range(60):
        for plot in range(15):
            east, north = random.random(2) * 200
            # The plot goes on at the other side of the square, so no tree is at an edge.
            away = [
                np.minimum(np.abs(table[axis] - at), 200 - np.abs(table[axis] - at))
                for axis, at in (("x_m", east), ("y_m", north))
            ]
            inside = table[np.hypot(*away) <= radius]
            plots.append(f"{number}-{plot},S{number},{radius:.9f}")
            rows += [f"S{number},{number}-{plot},{size}" for size in inside["dbh_cm"]]
        settings.append(SETTINGS.replace("Wood", f"S{number}"))
    (tmp_path / "survey.toml").write_text("".join(settings), encoding="utf-8")
    (tmp_path / "plots.csv").write_text("\n".join(plots), encoding="utf-8")
    (tmp_path / "records").mkdir()
    text = "stand,plot,diameter_cm\n" + "\n".join(rows)
    (tmp_path / "records" / "t.csv").write_text(text, encoding="utf-8")

    stands = survey_results(read_survey([tmp_path])).stands

    for column, truth in (("basal_area_m2_per_ha", 12.1093841404), ("stems_per_ha", 146.0)):
        held = stands[f"{column}_low"].le(truth) & stands[f"{column}_high"].ge(truth)
        assert held.sum() >= 51
        assert held.sum() < 60
        assert stands[column].mean() == pytest.approx(truth, rel=0.03)


def test_a_plot_that_nobody_listed_is_told(tmp_path: Path) -> None:
    (tmp_path / "records").mkdir()
    (tmp_path / "records" / "trees.csv").write_text("tree,plot,girth_cm\n1,1,90\n2,2,80\n3,9,70\n")
    (tmp_path / "plots.csv").write_text("plot,stand,radius\n1,A,10 m\n2,A,10 m\n")
    (tmp_path / "survey.toml").write_text(
        '[[stand]]\nname = "A"\narea = "2 ha"\ndesign = "plots"\nselection = "random"\n'
        'plots = "plots.csv"\n'
    )
    findings = run_checks(read_survey([tmp_path])).findings
    told = findings[findings["rule"] == "no_such_plot"]
    assert told[["tree", "severity"]].to_numpy().tolist() == [["3", "error"]]


def test_plots_that_are_all_alike_claim_no_certainty(tmp_path: Path) -> None:
    """Two plots with one tree each: that a third has one too is not known."""
    (tmp_path / "records").mkdir()
    (tmp_path / "records" / "trees.csv").write_text("tree,plot,girth_cm\n1,1,90\n2,2,80\n")
    (tmp_path / "plots.csv").write_text("plot,stand,radius\n1,A,10 m\n2,A,10 m\n")
    (tmp_path / "survey.toml").write_text(
        '[[stand]]\nname = "A"\narea = "2 ha"\ndesign = "plots"\nselection = "random"\n'
        'plots = "plots.csv"\n'
    )
    results = survey_results(read_survey([tmp_path]))
    stand = results.stands.iloc[0]
    assert stand["stems_per_ha"] == pytest.approx(2 / (2 * math.pi * 100) * 1e4)
    assert math.isnan(stand["stems_per_ha_low"])
    why = results.reasons[results.reasons["column"] == "stems_per_ha_low"]["reason"]
    assert "all plots gave the same" in why.iloc[0]
