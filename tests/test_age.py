"""Ages: directions, limits and domains, and the calibration against general software."""

import csv
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from scipy import optimize, stats

from mapper import metrics

OPEN_DATA = Path(__file__).parent / "open_data"

# One sound call of every formula that gives the two ends of a range.
RANGES = {
    "age_from_planting_year": (1990.0, 2026.5),
    "age_from_rings": (80.0, 3.0, 0.3, 0.1, 1.0),
    "age_from_growth_factor": (40.0, 5.0, 0.5, 2.0, 0.0),
    "age_from_girth_rate": (240.0, 1.8, 3.75),
    "urban_prediction_range": (18.09, 40.0, 0.42975, 1.0, 52.0, 0.0),
}
EACH_INPUT = [
    pytest.param(name, place, id=f"{name}: {place}")
    for name, values in RANGES.items()
    for place in range(len(values))
    if (name, place) != ("urban_prediction_range", 5)
]

RISING = (1.81099, 0.32363, 0.00337, 0, 0, 0, 0)
KNOWN = (np.array([10.0, 20, 25, 35, 40, 52]), np.array([18.0, 30, 41, 52, 66, 71]))


def ring_counts() -> tuple[np.ndarray, np.ndarray]:
    with (OPEN_DATA / "rings_27.csv").open(encoding="utf-8", newline="") as file:
        rows = list(csv.DictReader(file))
    return (
        np.array([float(row["diameter_in"]) for row in rows]),
        np.array([float(row["rings"]) for row in rows]),
    )


class TestRanges:
    @pytest.mark.parametrize("name", RANGES)
    def test_scalar_array_and_series_agree(self, name):
        formula, values = getattr(metrics, name), RANGES[name]

        alone = formula(*values)
        in_array = formula(*(np.array([[value, value]]) for value in values))
        in_series = formula(*(pd.Series([value, value], index=[7, 3]) for value in values))

        assert [np.ndim(end) for end in alone] == [0, 0]
        assert [end.tolist() for end in in_array] == [[[end, end]] for end in alone]
        assert [end.tolist() for end in in_series] == [[end, end] for end in alone]

    @pytest.mark.parametrize(("name", "place"), EACH_INPUT)
    def test_nan_stays_nan_and_touches_no_other_tree(self, name, place):
        formula, values = getattr(metrics, name), RANGES[name]
        columns = [np.array([value, value]) for value in values]
        columns[place][0] = np.nan

        low, high = formula(*columns)

        assert np.isnan([low[0], high[0]]).all()
        assert (low[1], high[1]) == formula(*values)

    @pytest.mark.parametrize("name", RANGES)
    def test_low_is_not_above_high_and_not_below_zero(self, name):
        low, high = getattr(metrics, name)(*RANGES[name])

        assert 0 <= low < high


class TestPlanting:
    def test_the_range_is_one_year_wide_once_the_year_is_over(self):
        low, high = metrics.age_from_planting_year([1900, 2025, 2026], 2026.75)

        assert (high - low).tolist() == [1, 1, 0.75]
        assert low[2] == 0

    def test_a_tree_planted_on_new_years_day_is_0_years_old_that_day(self):
        assert metrics.age_from_planting_year(2026, 2026.0) == (0, 0)

    @pytest.mark.parametrize(("planted", "measured"), [(2027, 2026.9), (np.inf, 2026), (0, np.inf)])
    def test_no_age_before_planting(self, planted, measured):
        assert np.isnan(metrics.age_from_planting_year(planted, measured)).all()


class TestRings:
    def test_a_count_at_the_ground_through_the_pith_is_good_to_a_year(self):
        assert metrics.age_from_rings(80, 0, 0, 0.1, 1) == (79, 81)

    def test_a_known_growth_in_height_leaves_the_two_years(self):
        low, high = metrics.age_from_rings(80, 0, 1.2, 0.4, 0.4)

        assert (low, high) == (pytest.approx(82), pytest.approx(84))

    def test_missing_years_widen_the_range_upwards_only(self):
        low, high = metrics.age_from_rings(80, [0, 5, 20], 0, 0.1, 1)

        assert low.tolist() == [79, 79, 79]
        assert high.tolist() == [81, 91, 121]

    def test_a_higher_count_means_an_older_tree(self):
        low, high = metrics.age_from_rings(80, 0, [0, 0.3, 1.3], 0.1, 1)

        assert (np.diff(low) > 0).all()
        assert (np.diff(high) > np.diff(low)).all()

    @pytest.mark.parametrize(
        "values",
        [
            (0, 0, 0, 0.1, 1),
            (80, -1, 0, 0.1, 1),
            (80, 0, -1, 0.1, 1),
            (80, 0, 1, 0, 1),
            (80, 0, 1, 1, 0.1),
            (np.inf, 0, 1, 0.1, 1),
            (80, 0, 0, 0, 0),
        ],
    )
    def test_counts_that_cannot_be(self, values):
        assert np.isnan(metrics.age_from_rings(*values)).all()


class TestCalibration:
    @pytest.mark.parametrize("power", [0, 0.5, 1, 2])
    @pytest.mark.parametrize("known", [KNOWN, ring_counts()], ids=["six trees", "27 ring counts"])
    def test_the_line_and_its_range_are_those_of_general_software(self, known, power):
        sizes, ages = known
        at = np.linspace(sizes.min(), sizes.max(), 9)
        fitted, covariance = np.polyfit(sizes, ages, 1, w=sizes ** (-power / 2), cov=True)
        by_scipy, _ = optimize.curve_fit(
            lambda x, slope, start: start + slope * x, sizes, ages, sigma=sizes ** (power / 2)
        )
        residuals = (ages - np.polyval(fitted, sizes)) / sizes ** (power / 2)
        one_tree = np.sum(residuals**2) / (len(sizes) - 2) * at**power
        line = np.stack([at, np.ones_like(at)])
        doubt = np.einsum("ik,ij,jk->k", line, covariance, line)
        half = stats.t.ppf(0.975, len(sizes) - 2) * np.sqrt(one_tree + doubt)

        age = metrics.age_from_calibration(at, sizes, ages, power)
        low, high = metrics.age_from_calibration_range(at, sizes, ages, power)

        assert age == pytest.approx(np.polyval(fitted, at))
        assert age == pytest.approx(np.polyval(by_scipy, at), rel=1e-5)
        assert high - age == pytest.approx(half, rel=1e-6)
        assert low == pytest.approx(np.maximum(age - half, 0), rel=1e-6)

    def test_with_even_scatter_it_is_the_plain_regression(self):
        sizes, ages = ring_counts()
        line = stats.linregress(sizes, ages)

        age = metrics.age_from_calibration(9.0, sizes, ages, 0)

        assert age == pytest.approx(line.intercept + 9 * line.slope)

    def test_with_even_scatter_it_is_the_line_of_r(self):
        # R 4.2.2, lm(girth_mm ~ age_days) on datasets::Orange; a line is one, whatever lies along.
        with (OPEN_DATA / "orange_35.csv").open(encoding="utf-8", newline="") as file:
            rows = list(csv.DictReader(file))
        days, girths = ([float(row[name]) for row in rows] for name in ("age_days", "girth_mm"))

        fitted = metrics.age_from_calibration([118.0, 900.0, 1582.0], days, girths, 0)

        assert fitted == pytest.approx(
            17.3996502402 + 0.106770325069 * np.array([118, 900, 1582]), rel=1e-10
        )

    @pytest.mark.parametrize("power", [0, 1, 2])
    def test_95_of_100_new_trees_lie_in_the_range(self, power):
        random = np.random.default_rng(8)
        draws, known, at = 20_000, 8, 34.0
        sizes = random.uniform(10, 60, (draws, known))
        sizes[:, :2] = [10, 60]
        ages = 4 + 1.5 * sizes + sizes ** (power / 2) * random.normal(0, 0.5, sizes.shape)
        new = 4 + 1.5 * at + at ** (power / 2) * random.normal(0, 0.5, draws)

        low, high = metrics.age_from_calibration_range(at, sizes, ages, power)

        # 20,000 draws know a share of 0.95 to 0.0015 (one sd): four of those.
        assert np.mean((low <= new) & (new <= high)) == pytest.approx(0.95, abs=0.006)

    def test_it_holds_between_the_thinnest_and_the_thickest_known_tree(self):
        at = [9.99, 10, 52, 52.01]

        assert np.isnan(metrics.age_from_calibration(at, *KNOWN, 1)).tolist() == [1, 0, 0, 1]
        low, high = metrics.age_from_calibration_range(at, *KNOWN, 1)
        assert np.isnan(low).tolist() == np.isnan(high).tolist() == [1, 0, 0, 1]

    def test_the_range_is_narrowest_in_the_middle_of_even_scatter(self):
        at = np.linspace(10, 52, 43)

        low, high = metrics.age_from_calibration_range(at, *KNOWN, 0)

        assert at[np.argmin(high - low)] == pytest.approx(KNOWN[0].mean(), abs=0.5)

    @pytest.mark.parametrize("bad", [np.nan, 0.0, -3.0, np.inf])
    def test_a_tree_without_both_values_does_not_enter_the_line(self, bad):
        usual = metrics.age_from_calibration_range(30, *KNOWN, 1)
        sizes, ages = (np.append(column, 33.0) for column in KNOWN)
        for column in (sizes, ages):
            spoiled = column.copy()
            spoiled[-1] = bad
            pair = (spoiled, ages) if column is sizes else (sizes, spoiled)
            assert metrics.age_from_calibration_range(30, *pair, 1) == pytest.approx(usual)
            assert metrics.age_from_calibration(30, *pair, 1) == pytest.approx(
                metrics.age_from_calibration(30, *KNOWN, 1)
            )

    def test_nor_does_it_count_or_stretch_the_line(self):
        sizes, ages = np.append(KNOWN[0], 5.0), np.append(KNOWN[1], np.nan)

        assert np.isnan(metrics.age_from_calibration([4.0, 7.0], sizes, ages, 1)).all()
        assert np.isnan(metrics.age_from_calibration(20, sizes[-5:], ages[-5:], 1))

    def test_four_known_trees_are_too_few(self):
        few = [column[:4] for column in KNOWN]

        assert np.isnan(metrics.age_from_calibration(20, *few, 1))
        assert np.isnan(metrics.age_from_calibration_range(20, *few, 1)).all()
        assert metrics.age_from_calibration(20, *(column[:5] for column in KNOWN), 1) > 0

    def test_no_age_where_thicker_trees_are_not_older(self):
        falling = KNOWN[1][::-1]

        assert np.isnan(metrics.age_from_calibration(20, KNOWN[0], falling, 1))
        assert np.isnan(metrics.age_from_calibration_range(20, KNOWN[0], falling, 1)).all()

    def test_no_age_from_trees_of_one_size(self):
        assert np.isnan(metrics.age_from_calibration(20, np.full(6, 20.0), KNOWN[1], 1))
        assert np.isnan(metrics.age_from_calibration_range(20, [], [], 1)).all()

    @pytest.mark.parametrize(("size", "age"), [(1e-5, 1), (1e5, 1), (1, 1e-5), (1, 1e5)])
    def test_the_units_do_not_matter(self, size, age):
        sizes, ages = KNOWN[0] * size, KNOWN[1] * age

        assert metrics.age_from_calibration(30 * size, sizes, ages, 1) == pytest.approx(
            age * metrics.age_from_calibration(30, *KNOWN, 1)
        )
        assert metrics.age_from_calibration_range(30 * size, sizes, ages, 1) == pytest.approx(
            [age * end for end in metrics.age_from_calibration_range(30, *KNOWN, 1)]
        )

    def test_species_go_side_by_side(self):
        sizes, ages = (np.stack([column, column * 2]) for column in KNOWN)

        both = metrics.age_from_calibration(np.array([30.0, 60.0]), sizes, ages, 1)

        alone = metrics.age_from_calibration(30.0, *KNOWN, 1)
        assert both == pytest.approx([alone, 2 * alone])
        low, _ = metrics.age_from_calibration_range(np.array([30.0, 60.0]), sizes, ages, 1)
        assert low[0] == metrics.age_from_calibration_range(30.0, *KNOWN, 1)[0]


class TestUrban:
    def test_trees_with_equations_of_their_own_go_side_by_side(self):
        terms = [RISING, (1.76652, 0.68508, 0, 0, 0, 0, 0), (0.2, 0, 0, 0, 0, 0, 1.78)]

        ages = metrics.urban_prediction([30, 50, 30], terms, [0, 0, 0.009], [0, 0, 1], 0, 100)

        alone = [
            metrics.urban_prediction(30, terms[0], 0, 0, 0, 100),
            metrics.urban_prediction(50, terms[1], 0, 0, 0, 100),
            metrics.urban_prediction(30, terms[2], 0.009, 1, 0, 100),
        ]
        assert ages.tolist() == alone
        assert np.ndim(alone[0]) == 0

    def test_limits_bound_what_is_predicted_and_belong_to_it(self):
        age = metrics.urban_prediction(30, RISING, 0, 0, 0, 100)

        assert metrics.urban_prediction(30, RISING, 0, 0, age, age) == age
        assert np.isnan(metrics.urban_prediction(30, RISING, 0, 0, age + 0.01, 100))
        assert np.isnan(metrics.urban_prediction(30, RISING, 0, 0, 0, age - 0.01))

    @pytest.mark.parametrize("size", [0, -3, np.nan, np.inf])
    def test_no_age_without_a_size(self, size):
        assert np.isnan(metrics.urban_prediction(size, RISING, 0, 0, 0, 100))
        assert np.isnan(metrics.urban_prediction_range(20, size, 0.4, 1, 30, 0)).all()

    def test_nan_in_a_term_gives_nan(self):
        assert np.isnan(metrics.urban_prediction(30, [np.nan, *RISING[1:]], 0, 0, 0, 100))
        assert np.isnan(metrics.urban_prediction(30, RISING, 0, 0, np.nan, 100))

    def test_the_variance_is_that_of_trees_of_one_centimetre(self):
        def width(size, power, exponential):
            low, high = metrics.urban_prediction_range(50, size, 0.01, power, 30, exponential)
            return np.log(high / low) if exponential else high - low

        for exponential in (0, 1):
            assert width(36, 0, exponential) == pytest.approx(width(1, 0, exponential))
            assert width(36, 1, exponential) == pytest.approx(6 * width(1, 0, exponential))
            assert width(36, 2, exponential) == pytest.approx(36 * width(1, 0, exponential))

    def test_half_of_the_range_is_t_standard_deviations(self):
        low, high = metrics.urban_prediction_range(50, 36, 0.25, 1, 30, 0)

        assert (high - low) / 2 == pytest.approx(stats.t.ppf(0.975, 30) * 3)

    def test_small_figures_are_figures(self):
        line = (0, 1, 0, 0, 0, 0, 0)

        assert metrics.urban_prediction(1e-5, line, 0, 0, 0, 1) == 1e-5
        assert metrics.urban_prediction_range(5, 1e-5, 0, 0, 30, 0) == (5, 5)
        assert metrics.urban_prediction_range(5, 1, 1e-12, 0, 30, 0)[0] < 5
        assert metrics.urban_equation_rises(line, 0, 0, 1e-4, 1)

    def test_the_range_never_goes_below_zero(self):
        assert metrics.urban_prediction_range(2, 36, 0.25, 1, 30, 0)[0] == 0
        assert metrics.urban_prediction_range(2, 36, 0.25, 1, 30, 1)[0] > 0

    @pytest.mark.parametrize(("variance", "freedom"), [(-0.1, 30), (0.1, 0), (0.1, np.nan)])
    def test_no_range_without_a_spread(self, variance, freedom):
        assert np.isnan(metrics.urban_prediction_range(20, 30, variance, 1, freedom, 0)).all()

    def test_a_short_dip_is_seen(self):
        # Falls from 40 to 41 cm only: the slope is 0.01 * (x - 40) * (x - 41).
        dip = (0, 16.4, -0.405, 0.01 / 3, 0, 0, 0)

        assert not metrics.urban_equation_rises(dip, 0, 0, 3, 100)
        assert metrics.urban_equation_rises(dip, 0, 0, 3, 40)
        assert metrics.urban_equation_rises(dip, 0, 0, 41, 100)

    @pytest.mark.parametrize(("low", "high"), [(0, 30), (30, 30), (30, 20), (3, np.nan)])
    def test_an_equation_without_sizes_does_not_rise(self, low, high):
        assert metrics.urban_equation_rises(RISING, 0, 0, low, high) is False

    def test_a_level_equation_does_not_rise(self):
        assert metrics.urban_equation_rises((20, 0, 0, 0, 0, 0, 0), 0, 0, 3, 30) is False


class TestRulesOfThumb:
    def test_a_tree_in_the_open_has_no_age_by_growth_factor(self):
        low, high = metrics.age_from_growth_factor(40, 5, 0.5, 2, [True, False])

        assert np.isnan([low[0], high[0]]).all()
        assert low[1] * 4 == high[1]

    @pytest.mark.parametrize(
        "values",
        [
            (0, 5, 0.5, 2),
            (-4, 5, 0.5, 2),
            (np.inf, 5, 0.5, 2),
            (40, 0, 0.5, 2),
            (40, 5, 0, 2),
            (40, 5, 2, 0.5),
        ],
    )
    def test_no_age_by_growth_factor_without_its_inputs(self, values):
        assert np.isnan(metrics.age_from_growth_factor(*values, 0)).all()

    @pytest.mark.parametrize(
        "values", [(0, 2, 3), (np.inf, 2, 3), (240, 0, 3), (240, 3, 2), (240, 2, np.inf)]
    )
    def test_no_age_by_girth_rate_without_its_inputs(self, values):
        assert np.isnan(metrics.age_from_girth_rate(*values)).all()

    def test_small_figures_are_figures(self):
        assert metrics.age_from_rings(1, 0, 0, 1e-4, 1e-4) == (0, 2)
        assert metrics.age_from_growth_factor(2.54e-4, 1e-4, 1e-4, 1e-4, 0) == pytest.approx(
            (1e-12, 1e-12)
        )
        assert metrics.age_from_girth_rate(1e-4, 1e-4, 1e-4) == (1, 1)

    def test_both_rules_grow_with_the_tree(self):
        sizes = np.array([20.0, 40.0])

        by_factor = metrics.age_from_growth_factor(sizes, 5, 0.5, 2, 0)
        by_rate = metrics.age_from_girth_rate(sizes, 1.8, 3.75)

        assert [end[1] / end[0] for end in (*by_factor, *by_rate)] == [2, 2, 2, 2]


class TestChance:
    def test_t_is_that_of_general_software(self):
        degrees = np.array([*range(1, 130), 200, 399, 400, 401, 1000, 10**6])

        assert metrics.student_t(degrees) == pytest.approx(stats.t.ppf(0.975, degrees), rel=1e-7)

    @pytest.mark.parametrize("degrees", [0, 0.9, -3, np.nan])
    def test_no_t_without_degrees_of_freedom(self, degrees):
        assert np.isnan(metrics.student_t(degrees))

    def test_a_part_of_a_degree_is_dropped(self):
        assert metrics.student_t(7.9) == metrics.student_t(7)
        assert metrics.student_t([]).shape == (0,)
        assert metrics.student_t([[3, 4]]).shape == (1, 2)

    def test_the_chance_is_that_of_general_software(self):
        lows = np.linspace(0, 200, 41)
        middle, sd = lows + 10 - 100, np.hypot(10, 15) / stats.norm.ppf(0.975)

        chance = metrics.probability_older(lows, lows + 20, 85, 115)

        assert chance == pytest.approx(stats.norm.cdf(middle / sd), abs=1e-7)

    def test_two_chances_make_one(self):
        one = metrics.probability_older(90, 110, 85, 140)

        assert one + metrics.probability_older(85, 140, 90, 110) == pytest.approx(1)
        assert metrics.probability_older(90, 110, 80, 120) == pytest.approx(0.5)

    def test_known_ages_decide(self):
        assert metrics.probability_older(90, 90, 80, 80) == 1
        assert metrics.probability_older(80, 80, 90, 90) == 0
        assert metrics.probability_older(90, 90, 90, 90) == 0.5

    @pytest.mark.parametrize("name", ["probability_older", "order_of_ranges"])
    def test_a_range_that_runs_backwards_decides_nothing(self, name):
        assert np.isnan(getattr(metrics, name)(90, 80, 10, 20))
        assert np.isnan(getattr(metrics, name)(80, 90, 20, 10))

    def test_ranges_without_width_are_ranges(self):
        assert metrics.order_of_ranges(90, 90, 80, 80) == 1
        assert metrics.order_of_ranges(90, 90, 90, 90) == 0

    def test_ranges_that_touch_decide_nothing(self):
        assert metrics.order_of_ranges(80, 90, 90, 100) == 0
        assert metrics.order_of_ranges(90, 100, 80, 90) == 0
        assert metrics.order_of_ranges(90.1, 100, 80, 90) == 1
        assert metrics.order_of_ranges(80, 89.9, 90, 100) == -1
