"""Growth between visits: directions and domains, uncertainty by simulation, the orange trees."""

import csv
from itertools import pairwise
from pathlib import Path

import numpy as np
import pytest
import uncertainties

from mapper import metrics

ORANGE = Path(__file__).parent / "open_data" / "orange_35.csv"
YEAR = 365.25


def orange_trees() -> dict[str, list[tuple[float, float]]]:
    """Day and girth in mm, by tree (DRAPER1998)."""
    trees: dict[str, list[tuple[float, float]]] = {}
    with ORANGE.open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            visit = float(row["age_days"]), float(row["girth_mm"])
            trees.setdefault(row["tree"], []).append(visit)
    return trees


class TestIncrement:
    def test_growth_over_parts_of_the_time_adds_up(self):
        for visits in orange_trees().values():
            days, girths = np.transpose(visits)
            parts = metrics.increment_per_year(girths[:-1], girths[1:], np.diff(days))

            grown = np.sum(parts * np.diff(days)) / YEAR

            assert grown == pytest.approx(girths[-1] - girths[0])

    def test_orange_trees_thicken_by_the_slope_between_visits(self):
        # numpy.gradient is general software for a slope; between two points it is plain.
        for visits in orange_trees().values():
            for (day, girth), (later, thicker) in pairwise(visits):
                slope = np.gradient([girth, thicker], [day, later])[0]
                assert metrics.increment_per_year(girth, thicker, later - day) == pytest.approx(
                    YEAR * slope
                )

    def test_no_orange_tree_shrank_or_leapt(self):
        for visits in orange_trees().values():
            days, girths = np.transpose(visits)
            leapt = metrics.has_leapt(girths[:-1] / 10, girths[1:] / 10, np.diff(days), 13.8, 0)
            assert not leapt.any()
            assert not metrics.has_shrunk(girths[:-1], girths[1:], 0).any()

    def test_a_mean_of_all_intervals_is_no_mean_of_the_time(self):
        (_, first), *_, (_, last) = orange_trees()["2"]
        assert (first, last) == (33, 203)
        assert metrics.increment_per_year(33, 203, 1464) == pytest.approx(42.41, abs=0.005)

    def test_twice_the_time_is_half_the_increment_and_half_the_doubt(self):
        assert metrics.increment_per_year(80, 90, 2 * YEAR) == pytest.approx(5)
        assert metrics.increment_per_year_sd(3, 4, 2 * YEAR) == pytest.approx(2.5)

    def test_a_tree_that_shrank_has_an_increment_below_zero(self):
        assert metrics.increment_per_year(90, 80, YEAR) == -10

    def test_small_figures_are_figures(self):
        assert metrics.increment_per_year(1e-5, 2e-5, 1e-4) == pytest.approx(36.525)
        assert metrics.increment_per_year_sd(0, 0, 1e-4) == 0
        assert metrics.increment_per_year_sd(3e-5, 4e-5, 1e-4) == pytest.approx(182.625)
        assert metrics.basal_area_increment_per_ha([1e-5], [2e-5], 365.25, 1e-5) == pytest.approx(1)
        assert metrics.basal_area_increment_per_ha_sd([0], [1e-5], 365.25, 1e-5) == pytest.approx(1)
        assert metrics.has_leapt(30, 90, 1e-4, 13.8, 1.8)

    @pytest.mark.parametrize("days", [0, -5, np.inf])
    def test_no_increment_without_time(self, days):
        assert np.isnan(metrics.increment_per_year(80, 90, days))
        assert np.isnan(metrics.increment_per_year_sd(1, 1, days))

    @pytest.mark.parametrize("bad", [0, -1, np.inf])
    def test_no_increment_without_two_sizes(self, bad):
        assert np.isnan(metrics.increment_per_year(bad, 90, 365))
        assert np.isnan(metrics.increment_per_year(80, bad, 365))

    def test_a_negative_uncertainty_is_none(self):
        assert np.isnan(metrics.increment_per_year_sd(-1, 1, 365))
        assert np.isnan(metrics.increment_per_year_sd(1, -1, 365))

    def test_the_sd_is_that_of_automatic_differentiation(self):
        first, second = uncertainties.ufloat(80, 0.64), uncertainties.ufloat(85, 0.94)

        sd = ((second - first) * YEAR / 900).s

        assert metrics.increment_per_year_sd(0.64, 0.94, 900) == pytest.approx(sd)


class TestStandIncrement:
    FIRST, SECOND, DAYS = [0.04, 0.05, 0.06], [0.044, 0.051, 0.067], [730.0, 700.0, 365.0]

    def test_it_is_the_growth_of_each_tree_together(self):
        each = metrics.increment_per_year(self.FIRST, self.SECOND, self.DAYS)

        together = metrics.basal_area_increment_per_ha(self.FIRST, self.SECOND, self.DAYS, 0.05)

        assert together == pytest.approx(each.sum() / 0.05)

    def test_trees_measured_once_add_nothing(self):
        usual = metrics.basal_area_increment_per_ha(self.FIRST, self.SECOND, self.DAYS, 0.05)
        first, second = [*self.FIRST, np.nan, 0.3], [*self.SECOND, 0.2, np.nan]

        assert metrics.basal_area_increment_per_ha(
            first, second, [*self.DAYS, 700, 700], 0.05
        ) == pytest.approx(usual)

    def test_no_growth_without_trees_or_ground(self):
        assert np.isnan(metrics.basal_area_increment_per_ha([], [], [], 0.05))
        assert np.isnan(metrics.basal_area_increment_per_ha([np.nan], [0.1], [365], 0.05))
        assert np.isnan(metrics.basal_area_increment_per_ha_sd([], [], [], 0.05))
        for area in (0, -1, np.nan):
            for formula in (
                metrics.basal_area_increment_per_ha,
                metrics.basal_area_increment_per_ha_sd,
            ):
                assert np.isnan(formula(self.FIRST, self.SECOND, self.DAYS, area))

    def test_each_stand_is_over_its_own_ground(self):
        both = metrics.basal_area_increment_per_ha(
            [self.FIRST] * 2, [self.SECOND] * 2, self.DAYS, [0.05, 0.1]
        )

        assert both[0] == pytest.approx(2 * both[1])

    def test_it_spreads_as_said(self):
        # 40,000 draws know a standard deviation to 0.35 %: four of those, and a little.
        random = np.random.default_rng(22)
        sds = np.array([3e-4, 2e-4, 4e-4]), np.array([2e-4, 5e-4, 3e-4])
        drawn = [
            random.normal(size, sd, (40_000, 3))
            for size, sd in zip((self.FIRST, self.SECOND), sds, strict=True)
        ]

        simulated = metrics.basal_area_increment_per_ha(*drawn, self.DAYS, 0.05).std()

        said = metrics.basal_area_increment_per_ha_sd(*sds, self.DAYS, 0.05)
        assert said == pytest.approx(simulated, rel=0.02)

    def test_the_sd_is_that_of_automatic_differentiation(self):
        real = uncertainties.ufloat
        first, second = [real(0.04, 3e-4), real(0.05, 2e-4)], [real(0.044, 2e-4), real(0.051, 5e-4)]
        grown = sum(
            (b - a) * YEAR / days for a, b, days in zip(first, second, (730, 365), strict=True)
        )

        said = metrics.basal_area_increment_per_ha_sd([3e-4, 2e-4], [2e-4, 5e-4], [730, 365], 0.05)

        assert said == pytest.approx((grown / 0.05).s)


class TestFlags:
    def test_the_tolerance_itself_is_no_shrinkage(self):
        assert metrics.has_shrunk([90, 90], [88, 87.75], 2).tolist() == [False, True]

    def test_the_limit_itself_is_no_leap(self):
        leapt = metrics.has_leapt(30, [45.75, 46], 2 * YEAR, 7, 1.75)

        assert leapt.tolist() == [False, True]

    def test_a_measuring_error_over_a_short_time_is_no_leap(self):
        assert not metrics.has_leapt(30, 31.5, 14, 13.8, 1.8)
        assert metrics.has_leapt(30, 31.5, 14, 13.8, 0)

    @pytest.mark.parametrize("place", range(5))
    def test_a_missing_value_raises_no_flag(self, place):
        values = [30.0, 90.0, 365.0, 13.8, 1.8]
        assert metrics.has_leapt(*values)
        values[place] = np.nan

        assert not metrics.has_leapt(*values)
        assert not metrics.has_shrunk(*(90.0, 30.0, np.nan))
        assert not metrics.has_shrunk(np.nan, 30, 1)

    @pytest.mark.parametrize("days", [0, -10])
    def test_no_leap_without_time(self, days):
        assert not metrics.has_leapt(30, 90, days, 13.8, 1.8)

    def test_flags_are_flags(self):
        assert metrics.has_shrunk([90, 90], [80, 91], 1).dtype == bool
        assert metrics.has_leapt([90, 90], [80, 91], 365, 10, 1).dtype == bool
        assert np.ndim(metrics.has_leapt(30, 90, 365, 13.8, 1.8)) == 0
