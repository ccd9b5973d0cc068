"""Several readings of one tree, against general statistics software and against simulation."""

import numpy as np
import pandas as pd
import pytest
from scipy import integrate, special, stats

from mapper import metrics
from mapper.metrics.consensus import FEW_READINGS, MEDIAN_SD


@pytest.fixture
def many() -> tuple[np.ndarray, np.ndarray]:
    """Readings of 400 trees, 0 to 9 each, in any order, some missing, some of no tree."""
    random = np.random.default_rng(41)
    trees = random.integers(-1, 400, 1800)
    readings = 100 + trees + random.normal(0, 2, 1800)
    readings[random.integers(0, 1800, 60)] = np.nan
    return readings, trees


def one_by_one(formula, readings, trees):
    """What a plain loop over the trees gives."""
    given = [readings[(trees == tree) & ~np.isnan(readings)] for tree in range(trees.max() + 1)]
    return np.array([formula(values) if len(values) else np.nan for values in given])


class TestAgainstSoftware:
    def test_the_middle_is_the_median_of_each_tree(self, many):
        assert metrics.consensus_value(*many) == pytest.approx(
            one_by_one(np.median, *many), nan_ok=True
        )

    def test_the_spread_is_the_median_absolute_deviation_of_scipy_with_the_factor(self, many):
        counts = one_by_one(len, *many)
        by_scipy = one_by_one(
            lambda values: stats.median_abs_deviation(values, scale=1 / 1.4826), *many
        )
        few = ~(counts > 9)
        factors = FEW_READINGS[np.where(few, np.nan_to_num(counts), 0).astype(int)]

        assert metrics.consensus_spread(*many)[few] == pytest.approx(
            (by_scipy * factors)[few], nan_ok=True
        )

    @pytest.mark.parametrize("count", [10, 40])
    def test_many_readings_take_the_factor_of_many(self, count):
        readings = np.random.default_rng(42).normal(0, 1, count)

        by_scipy = stats.median_abs_deviation(readings, scale=1 / 1.4826)

        assert metrics.consensus_spread(readings, np.zeros(count)) == pytest.approx(
            [by_scipy * count / (count - 0.8)]
        )

    def test_repeatability_is_the_residual_of_a_one_way_analysis_of_variance(self):
        random = np.random.default_rng(43)
        groups = [random.normal(10 * i, 1 + i % 3, 2 + i % 5) for i in range(25)]
        trees = np.repeat(np.arange(25), [len(group) for group in groups])

        # F is between over within: the within mean square follows from it.
        f = stats.f_oneway(*groups).statistic
        total = np.concatenate(groups)
        between = sum(len(g) * (g.mean() - total.mean()) ** 2 for g in groups) / 24

        assert metrics.repeatability(total, trees) == pytest.approx(np.sqrt(between / f))

    def test_repeatability_of_pairs_is_what_their_differences_give(self):
        # Dahlberg: sqrt(sum of differences² / (2 n)).
        first, second = np.random.default_rng(44).normal(50, 1, (2, 30))

        pooled = metrics.repeatability([*first, *second], [*range(30), *range(30)])

        assert pooled == pytest.approx(np.sqrt(((first - second) ** 2).sum() / 60))

    def test_the_table_of_medians_is_the_formula_of_its_source(self):
        normal = stats.norm

        def odd(n: int) -> float:
            half = (n - 1) // 2
            return integrate.quad(
                lambda x: x**2 * (normal.cdf(x) * normal.sf(x)) ** half * normal.pdf(x), -10, 10
            )[0] / special.beta(half + 1, half + 1)

        for n in (1, 3, 5, 7, 9, 11):
            assert MEDIAN_SD[n] == pytest.approx(np.sqrt(odd(n)), abs=1e-9)
        assert MEDIAN_SD[2] == pytest.approx(np.sqrt(0.5), abs=1e-10)
        draws = np.random.default_rng(45).normal(size=(200_000, 4))
        assert MEDIAN_SD[4] == pytest.approx(np.median(draws, axis=1).std(), rel=0.01)
        printed_by_sas = [0.4634033519, 0.4587448763, 0.410098592, 0.4075552495, 0.3719226208]
        assert MEDIAN_SD[6:11] == pytest.approx(printed_by_sas)

    def test_above_the_table_the_limit_is_at_most_2_percent_off(self):
        draws = np.random.default_rng(46).normal(size=(100_000, 13))
        said = metrics.consensus_sd(np.zeros(13), np.zeros(13), 1)

        assert 1 < said[0] / np.median(draws, axis=1).std() < 1.03

    def test_share_of_pairs_counts_every_pair_once(self, many):
        readings, trees = many
        limits = np.where(np.arange(trees.max() + 1) % 3, 2.0, 3.0)
        pairs = within = 0
        for tree, limit in enumerate(limits):
            values = readings[(trees == tree) & ~np.isnan(readings)]
            i, j = np.triu_indices(len(values), 1)
            pairs += len(i)
            within += int((np.abs(values[i] - values[j]) <= limit).sum())

        assert metrics.pairs_within(readings, trees, limits) == pytest.approx(within / pairs)


class TestAgainstSimulation:
    TREES = 20_000

    def drawn(self, readings: int) -> tuple[np.ndarray, np.ndarray]:
        values = np.random.default_rng(47 + readings).normal(0, 1, self.TREES * readings)
        return values, np.repeat(np.arange(self.TREES), readings)

    @pytest.mark.parametrize("readings", [2, 3, 4, 5, 9, 10, 15])
    def test_the_spread_is_right_on_average_however_few_readings(self, readings):
        values, trees = self.drawn(readings)

        assert metrics.consensus_spread(values, trees).mean() == pytest.approx(1, rel=0.02)

    @pytest.mark.parametrize("readings", [1, 2, 3, 4, 5, 8, 12])
    def test_the_uncertainty_is_never_too_small_and_seldom_much_too_large(self, readings):
        values, trees = self.drawn(readings)

        true = metrics.consensus_value(values, trees).std()
        said = metrics.consensus_sd(values, trees, 1.0)

        assert said.min() > 0.98 * true
        assert np.median(said) < 1.35 * true

    def test_sound_readings_are_seldom_called_slips(self):
        for readings in (3, 4, 5, 8):
            slips = metrics.is_slip(*self.drawn(readings), 1.0).reshape(-1, readings)
            doubtful = metrics.is_slip(*self.drawn(readings), 0.5).reshape(-1, readings)

            assert slips.any(axis=1).mean() < 1 / 250
            assert doubtful.any(axis=1).mean() < 1 / 11

    def test_repeatability_knows_how_well_it_is_known(self):
        random = np.random.default_rng(48)
        trees = np.repeat(np.arange(50), 2)
        found = [metrics.repeatability(random.normal(0, 1, 100), trees) for _ in range(2000)]

        assert np.mean(found) == pytest.approx(1, abs=0.02)
        assert np.std(found) == pytest.approx(0.1, rel=0.06)
        said = metrics.repeatability_sd(random.normal(0, 1, 100), trees)
        assert said == pytest.approx(0.1, rel=0.3)


class TestSlips:
    def test_a_slip_does_not_move_the_middle_far_nor_hide_itself(self):
        girths = np.array([201.0, 202.0, 200.5, 20.1, 201.5])

        slips = metrics.is_slip(girths, np.zeros(5), 0.64)

        assert slips.tolist() == [False, False, False, True, False]
        assert metrics.consensus_value(girths, np.zeros(5)) == [201]

    def test_two_that_agree_to_the_millimetre_do_not_make_the_third_a_slip(self):
        assert not metrics.is_slip([100.0, 100.1, 101.0], [0, 0, 0], 0.64).any()
        assert metrics.is_slip([100.0, 100.1, 103.0], [0, 0, 0], 0.64).tolist() == [0, 0, 1]

    def test_of_two_nobody_can_say_and_the_uncertainty_grows(self):
        assert not metrics.is_slip([100.0, 180.0], [0, 0], 0.64).any()
        assert metrics.consensus_sd([100.0, 180.0], [0, 0], 0.64)[0] > 40

    def test_a_slip_is_beyond_three_and_a_half_and_not_at_it(self):
        assert not metrics.is_slip([0.0, 0.0, 3.5], [0, 0, 0], 1.0).any()
        assert metrics.is_slip([0.0, 0.0, 3.5001], [0, 0, 0], 1.0).tolist() == [0, 0, 1]

    def test_two_sure_readings_that_agree_leave_no_doubt(self):
        assert metrics.consensus_sd([5.0, 5.0], [0, 0], 0).tolist() == [0]

    def test_each_reading_is_held_to_its_own_method(self):
        readings, trees = [18.0, 18.2, 21.0], [0, 0, 0]

        assert metrics.is_slip(readings, trees, [0.5, 0.5, 0.5]).tolist() == [0, 0, 1]
        assert not metrics.is_slip(readings, trees, [0.5, 0.5, 3.0]).any()

    def test_without_an_uncertainty_nothing_is_said(self):
        assert np.isnan(metrics.slip_score([1.0, 2.0, 90.0], [0, 0, 0], np.nan)).all()
        assert np.isnan(metrics.slip_score([1.0, 2.0, 90.0], [0, 0, 0], 0)).all()
        assert not metrics.is_slip([1.0, 2.0, 90.0], [0, 0, 0], np.nan).any()
        assert np.isnan(metrics.consensus_sd([1.0, 2.0], [0, 0], [0.5, np.nan])).all()
        assert np.isnan(metrics.consensus_sd([1.0, 2.0], [0, 0], -0.5)).all()

    def test_missing_readings_count_for_nothing(self):
        readings, trees = np.array([100.0, np.nan, 101, 180, 55, np.inf]), [0, 0, 0, 0, -1, 0]

        score = metrics.slip_score(readings, trees, 0.64)

        assert np.isnan(score[[1, 4]]).all()
        assert score[[0, 2, 3]] == pytest.approx(
            metrics.slip_score([100.0, 101.0, 180.0], [0, 0, 0], 0.64)
        )


class TestShapes:
    BY_TREE = ("consensus_value", "consensus_spread", "consensus_sd")
    BY_READING = ("slip_score", "is_slip")
    OVER_ALL = ("repeatability", "repeatability_sd", "pairs_within")

    @staticmethod
    def called(name, readings, trees):
        more = (1.5,) if name in ("consensus_sd", "slip_score", "is_slip", "pairs_within") else ()
        return getattr(metrics, name)(readings, trees, *more)

    @pytest.mark.parametrize("name", [*BY_TREE, *BY_READING, *OVER_ALL])
    def test_lists_arrays_and_series_agree_and_are_left_alone(self, name, many):
        readings, trees = many
        before = readings.copy(), trees.copy()

        plain = self.called(name, readings, trees)
        in_series = self.called(
            name, pd.Series(readings, index=range(9, 1809)), pd.Series(trees, index=range(5, 1805))
        )

        assert np.array_equal(plain, self.called(name, list(readings), list(trees)), equal_nan=True)
        assert np.array_equal(plain, in_series, equal_nan=True)
        assert np.array_equal(readings, before[0], equal_nan=True)
        assert np.array_equal(trees, before[1])

    @pytest.mark.parametrize("name", BY_TREE)
    def test_one_value_a_tree_even_where_nobody_read_it(self, name):
        result = self.called(name, [1.0, 2.0, np.nan], [1, 1, 4])

        assert result.shape == (5,)
        assert np.isnan(result[[0, 2, 3, 4]]).all()
        assert result[1] > 0

    @pytest.mark.parametrize("name", [*BY_TREE, *BY_READING])
    def test_nothing_in_nothing_out(self, name):
        assert self.called(name, [], []).shape == (0,)

    @pytest.mark.parametrize("name", OVER_ALL)
    def test_without_a_second_reading_there_is_no_figure(self, name):
        assert np.isnan(self.called(name, [], []))
        assert np.isnan(self.called(name, [5.0], [0]))
        assert np.isnan(self.called(name, [5.0, 7.0, np.nan, 6.0], [0, 1, 1, -1]))
        assert np.ndim(self.called(name, [5.0, 7.0], [0, 0])) == 0

    def test_readings_of_one_tree_have_no_order(self, many):
        readings, trees = many
        order = np.random.default_rng(49).permutation(len(readings))

        for name in (*self.BY_TREE, *self.OVER_ALL):
            assert self.called(name, readings[order], trees[order]) == pytest.approx(
                self.called(name, readings, trees), nan_ok=True
            )

    def test_a_shift_moves_the_middle_and_no_spread(self, many):
        readings, trees = many

        assert metrics.consensus_value(readings + 7, trees) == pytest.approx(
            metrics.consensus_value(readings, trees) + 7, nan_ok=True
        )
        assert metrics.consensus_spread(readings + 7, trees) == pytest.approx(
            metrics.consensus_spread(readings, trees), nan_ok=True
        )
        assert metrics.repeatability(readings + 7, trees) == pytest.approx(
            metrics.repeatability(readings, trees)
        )

    def test_logarithms_give_the_relative_repeatability(self):
        random = np.random.default_rng(50)
        heights = np.repeat(random.uniform(5, 40, 4000), 3) * random.normal(1, 0.03, 12_000)

        relative = metrics.repeatability(np.log(heights), np.repeat(np.arange(4000), 3))

        assert relative == pytest.approx(0.03, rel=0.03)


class TestTolerances:
    def test_a_started_step_counts_whole(self):
        assert metrics.diameter_tolerance([0.1, 50.8, 50.81, 101.6, 101.61]).tolist() == [
            0.25, 0.25, 0.5, 0.5, 0.75
        ]  # fmt: skip

    def test_steps_are_steps_whatever_the_binary_fraction(self):
        edges = np.array([round(50.8 * k, 1) for k in range(1, 25)])

        assert metrics.diameter_tolerance(edges) == pytest.approx(0.25 * np.arange(1, 25))

    @pytest.mark.parametrize("value", [0, -3, np.inf, np.nan])
    def test_no_tolerance_without_a_size(self, value):
        assert np.isnan(metrics.diameter_tolerance(value))
        assert np.isnan(metrics.height_tolerance(value))

    def test_a_difference_of_just_the_tolerance_is_kept(self):
        for low in np.round(np.arange(10, 60, 0.05), 2):
            pair = [low, round(low + 0.25, 2)]
            assert metrics.pairs_within(pair, [0, 0], 0.25) == 1
            assert metrics.pairs_within([low, round(low + 0.26, 2)], [0, 0], 0.25) == 0

    def test_thirty_people_are_435_pairs(self):
        readings = np.arange(30.0)

        assert metrics.pairs_within(readings, np.zeros(30), 1) == pytest.approx(29 / 435)
