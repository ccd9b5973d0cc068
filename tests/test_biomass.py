"""Dry weight: stem by stem, domain, uncertainty by general software and by simulation."""

import numpy as np
import pytest
import uncertainties
from uncertainties import umath

from mapper import metrics

OAK = (-2.0127, 2.4342)
PINE = (-2.5356, 2.4349)


def test_the_worked_oak_of_30_cm_down_to_carbon_dioxide():
    # Teaching case: 526.6 kg, half of it carbon, 965.5 kg of carbon dioxide.
    carbon = metrics.carbon_from_biomass(metrics.biomass_from_stems([30], *OAK), 0.5)

    assert metrics.carbon_dioxide_from_carbon(carbon) == pytest.approx(965.5, abs=0.05)


def test_stems_weigh_what_they_weigh_one_by_one():
    stems = [10.0, 15.0, 20.0]
    together = metrics.biomass_from_stems(stems, *OAK)

    assert together == pytest.approx(sum(metrics.biomass_from_stems([d], *OAK) for d in stems))


def test_the_diameter_that_stands_for_the_stems_would_say_a_quarter_too_much():
    stems = [10.0, 15.0, 20.0]
    wrong = metrics.biomass_from_stems([metrics.diameter_from_stems(stems)], *OAK)

    excess = wrong / metrics.biomass_from_stems(stems, *OAK) - 1

    assert 0.22 <= excess <= 0.25


def test_double_diameter_is_two_to_the_slope_times_the_weight():
    ratio = metrics.biomass_from_stems([60], *PINE) / metrics.biomass_from_stems([30], *PINE)

    assert ratio == pytest.approx(2**2.4349)


def test_each_tree_has_the_coefficients_of_its_group():
    stems = [[30.0, np.nan], [30.0, 12.0]]

    both = metrics.biomass_from_stems(stems, [OAK[0], PINE[0]], [OAK[1], PINE[1]])

    assert both == pytest.approx(
        [metrics.biomass_from_stems(stems[0], *OAK), metrics.biomass_from_stems(stems[1], *PINE)]
    )
    sds = metrics.biomass_from_stems_sd(
        stems, 0.2, [OAK[0], PINE[0]], [OAK[1], PINE[1]], [0.24, 0.25]
    )
    assert sds[1] == pytest.approx(metrics.biomass_from_stems_sd(stems[1], 0.2, *PINE, 0.25))


@pytest.mark.parametrize("bad", [2.49, 0.0, -4.0, np.inf])
def test_one_bad_stem_leaves_the_tree_without_a_weight(bad):
    assert np.isnan(metrics.biomass_from_stems([30.0, bad], *OAK))
    assert np.isnan(metrics.biomass_from_stems_sd([30.0, bad], 0.2, *OAK, 0.24))


def test_the_thinnest_stem_that_counts_is_2_5_cm():
    assert metrics.biomass_from_stems([2.5], *OAK) == pytest.approx(1.24, abs=0.005)


def test_no_stem_no_weight():
    assert np.isnan(metrics.biomass_from_stems([np.nan], *OAK))
    assert np.isnan(metrics.biomass_from_stems([], *OAK))
    assert np.isnan(metrics.biomass_from_stems([30], np.nan, 2.4))
    assert np.isnan(metrics.biomass_from_stems_sd([np.nan], [0.2], *OAK, 0.24))


@pytest.mark.parametrize("unknown", [np.nan, -0.2])
def test_an_unknown_uncertainty_leaves_the_weight_without_one(unknown):
    assert np.isnan(metrics.biomass_from_stems_sd([30, 20], [0.2, unknown], *OAK, 0.24))
    assert np.isnan(metrics.biomass_from_stems_sd([30, 20], [0.2, 0.2], *OAK, unknown))


def test_the_slopes_are_those_of_automatic_differentiation():
    equation = uncertainties.ufloat(0, 0.236483)
    stems = [uncertainties.ufloat(20, 0.2), uncertainties.ufloat(15, 0.3)]
    biomass = sum(umath.exp(OAK[0] + OAK[1] * umath.log(stem) + equation) for stem in stems)

    said = metrics.biomass_from_stems_sd([20, 15], [0.2, 0.3], *OAK, 0.236483)

    assert said == pytest.approx(biomass.s)


def test_it_spreads_as_said():
    # 40,000 draws know a standard deviation to 0.35 %: four of those, and what first order leaves.
    random = np.random.default_rng(23)
    stems = random.normal([20, 15], [0.3, 0.4], (40_000, 2))
    shift = random.normal(0, 0.05, 40_000)

    drawn = metrics.biomass_from_stems(stems, OAK[0] + shift, np.full(40_000, OAK[1]))

    said = metrics.biomass_from_stems_sd([20, 15], [0.3, 0.4], *OAK, 0.05)
    assert said == pytest.approx(drawn.std(), rel=0.02)


@pytest.mark.parametrize(("biomass", "share"), [(-1, 0.5), (10, -0.1), (10, 1.1)])
def test_no_carbon_from_what_cannot_be(biomass, share):
    assert np.isnan(metrics.carbon_from_biomass(biomass, share))


def test_no_error_in_gives_no_error_out():
    assert metrics.biomass_from_stems_sd([30, 20], 0, *OAK, 0) == 0


def test_nothing_holds_no_carbon():
    assert metrics.carbon_from_biomass(10, 0) == 0
    assert metrics.carbon_from_biomass(10, 1) == 10
    assert metrics.carbon_from_biomass(0, 0.5) == 0
    assert metrics.carbon_dioxide_from_carbon(0) == 0
    assert np.isnan(metrics.carbon_dioxide_from_carbon(-1))
