"""Sampling errors that plots drawn again give, held against closed forms."""

import math
from collections.abc import Callable

import numpy as np
import pytest

from mapper import metrics
from mapper.summarise import Results
from mapper.summarise.resampling import RESAMPLED
from tests.test_plots import SETTINGS, stand_of, survey

ResultsOf = Callable[..., Results]
COUNTS = (4, 9, 6, 12, 3, 8, 7, 5, 10, 6)
# 200 draws know a spread to 1 / sqrt(2 × 199) = 5 %: three times that.
DRAWN = 0.15


def wood(counts: tuple[int, ...], name: str = "Wood", random: int = 3) -> str:
    """Rows of trees with sizes by chance, heights too; so many on each plot."""
    sizes = np.random.default_rng(random).uniform(10, 50, sum(counts))
    plots = np.repeat(np.arange(len(counts)), counts)
    return "".join(
        f"{n},{name},{plot},{size:.3f},{8 + size / 3:.3f}\n"
        for n, (plot, size) in enumerate(zip(plots, sizes, strict=True))
    )


def run(results_of: ResultsOf, settings: str, counts: tuple[int, ...] = COUNTS) -> Results:
    plots = "plot,area (m2)\n" + "".join(f"{n},400\n" for n in range(len(counts)))
    records = "tree,stand,plot,diameter_cm,height_m\n" + wood(counts)
    return results_of(survey(survey_toml=settings, plots_csv=plots, records__t_csv=records))


def summed_by_plot(counts: tuple[int, ...]) -> np.ndarray:
    """Each plot's own density index, worked from LARSENSDI: sum of (d / 25.4)^1.605 a hectare."""
    sizes = np.array([float(row.split(",")[3]) for row in wood(counts).split()])
    plots = np.repeat(np.arange(len(counts)), counts)
    return np.bincount(plots, (sizes / 25.4) ** 1.605, minlength=len(counts)) / 0.04


def test_a_sum_has_the_error_of_a_plain_average(results_of: ResultsOf) -> None:
    # FREESE1962: s / sqrt(n), which needs no draws.
    stand = stand_of(run(results_of, SETTINGS))
    own = summed_by_plot(COUNTS)

    assert stand["stand_density_index_summed"] == pytest.approx(own.mean())
    expected = own.std(ddof=1) / math.sqrt(len(own))
    found = stand["stand_density_index_summed_se_sampling"]
    assert found == pytest.approx(expected, rel=DRAWN)


def test_few_draws_of_few_plots_are_not_too_narrow(results_of: ResultsOf) -> None:
    # Draws of as many plots as there are would give sqrt(1 / 3) less here: 18 %.
    counts = (4, 9, 14)
    stand = stand_of(run(results_of, SETTINGS, counts))

    expected = summed_by_plot(counts).std(ddof=1) / math.sqrt(3)
    found = stand["stand_density_index_summed_se_sampling"]
    assert found == pytest.approx(expected, rel=DRAWN)


def test_a_stand_that_is_nearly_all_on_plots_is_surer(results_of: ResultsOf) -> None:
    # FREESE1962: times sqrt(1 - share); 10 plots of 400 m² are 0.4 ha of 0.5 ha.
    small = stand_of(run(results_of, SETTINGS + 'area = "0.5 ha"\n'))
    large = stand_of(run(results_of, SETTINGS))

    for name in RESAMPLED:
        ratio = small[f"{name}_se_sampling"] / large[f"{name}_se_sampling"]
        assert ratio == pytest.approx(math.sqrt(0.2))


def test_strata_are_drawn_apart(results_of: ResultsOf) -> None:
    # Plots alike within each stratum: chance within them changes nothing.
    settings = SETTINGS + 'strata = "strata.csv"\n'
    plots = "plot,stratum,area (m2)\n1,dry,400\n2,dry,400\n3,wet,400\n4,wet,400\n"
    rows = {"1": (20, 30), "2": (20, 30), "3": (40, 40, 40), "4": (40, 40, 40)}
    records = "tree,stand,plot,diameter_cm\n" + "".join(
        f"{plot}-{n},Wood,{plot},{size}\n"
        for plot, sizes in rows.items()
        for n, size in enumerate(sizes)
    )
    strata = "stratum,area (ha)\ndry,3\nwet,1\n"

    apart, together = (
        stand_of(
            results_of(
                survey(survey_toml=text, plots_csv=plots, strata_csv=strata, records__t_csv=records)
            )
        )
        for text in (settings, SETTINGS)
    )

    for name in ("gini_basal_area", "stand_density_index"):
        assert apart[f"{name}_se_sampling"] == pytest.approx(0, abs=1e-9)
        assert together[f"{name}_se_sampling"] > 0.001


def test_the_same_stand_has_the_same_error_whatever_stands_beside_it(
    results_of: ResultsOf,
) -> None:
    alone = run(results_of, SETTINGS)
    plots = "plot,stand,area (m2)\n" + "".join(f"{n},Wood,400\n" for n in range(10))
    plots += "a,Ash,400\nb,Ash,400\n"
    records = "tree,stand,plot,diameter_cm,height_m\n" + wood(COUNTS) + "x,Ash,a,20,12\n"
    both = results_of(
        survey(
            survey_toml=SETTINGS + SETTINGS.replace("Wood", "Ash"),
            plots_csv=plots,
            records__t_csv=records,
        )
    )

    for name in RESAMPLED:
        column = f"{name}_se_sampling"
        assert stand_of(alone)[column] > 0
        assert stand_of(both)[column] == pytest.approx(stand_of(alone)[column], rel=1e-12)


def test_one_plot_or_plots_by_hand_say_nothing(results_of: ResultsOf) -> None:
    one = stand_of(run(results_of, SETTINGS, (12,)))
    by_hand = stand_of(run(results_of, SETTINGS.replace('"random"', '"by hand"')))

    for name in RESAMPLED:
        assert one[name] > 0
        assert by_hand[name] > 0
        assert np.isnan([one[f"{name}_high"], by_hand[f"{name}_high"]]).all()


def test_the_interval_of_gini_stays_between_0_and_1(results_of: ResultsOf) -> None:
    # The odds g / (1 - g) have the interval, worked by hand from the standard error.
    results = run(results_of, SETTINGS, (1, 2, 2))
    stand = stand_of(results)
    gini, low, high = (stand[f"gini_basal_area{end}"] for end in ("", "_low", "_high"))

    assert 0 < low < gini < high < 1
    half = float(metrics.student_t(2)) * stand["gini_basal_area_se_sampling"]
    odds = math.log(gini / (1 - gini))
    wide = math.hypot(half, 1.959964 * stand["gini_basal_area_se_measurement"])
    assert math.log(high / (1 - high)) == pytest.approx(odds + wide / (gini * (1 - gini)), rel=1e-6)
    assert math.log(low / (1 - low)) == pytest.approx(odds - wide / (gini * (1 - gini)), rel=1e-6)
