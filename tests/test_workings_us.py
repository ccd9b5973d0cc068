"""Workings of a survey in US units show feet and inches beside metres and centimetres."""

from collections.abc import Callable

import pytest

from mapper.summarise import Results
from mapper.summarise.results import Step
from mapper.summarise.workings_us import in_both_units

# 1 in = 2.54 cm and 1 ft = 0.3048 m by definition (NISTHB44); the rest is divided by hand.
TEXTS = [
    ("girth 254 cm (tape)", "girth 254 cm (100 in) (tape)"),
    ("distance 20.12 m (taped), top 41°", "distance 20.12 m (66 ft) (taped), top 41°"),
    ("1.50 ± 0.30 cm a year", "1.50 ± 0.30 cm (0.59 ± 0.12 in) a year"),
    ("17.4 ± 0.8 m (57.0 ± 2.6 ft)", "17.4 ± 0.8 m (57.0 ± 2.6 ft)"),
    ("stems 25.4, 50.8 cm round", "stems 25.4, 50.8 cm (10, 20 in) round"),
    ("grew by 0.3048 to 3.048 m a year", "grew by 0.3048 to 3.048 m (1 to 10 ft) a year"),
    ("0.0929 m²", "0.0929 m² (1 ft²)"),
    ("−2.54 cm a year", "−2.54 cm (−1 in) a year"),
    ("snow 30.48 cm deep, 1 m above", "snow 30.48 cm (12 in) deep, 1 m (3.28 ft) above"),
    ("526 ± 100 kg", "526 ± 100 kg"),
    ("21 to 85 years since planting", "21 to 85 years since planting"),
    ("top 41 per 66, base −9 per 66", "top 41 per 66, base −9 per 66"),
    ("G2 m", "G2 m"),
]


@pytest.mark.parametrize(("metric", "both"), TEXTS)
def test_lengths_and_areas_get_a_second_unit(metric: str, both: str) -> None:
    step = in_both_units(Step("Title", metric, metric, metric, "", metric))

    assert (step.inputs, step.result, step.note) == (both, both, both)
    assert step.formula == metric


TABLE = "tree,girth_in,baseline_ft,angle_top,angle_base,angle_unit\n1,62.83,66,41,-9,per 66\n"


def test_a_survey_in_us_units_reads_its_own_numbers(results_of: Callable[..., Results]) -> None:
    # 66 ft, 41 up and 9 down give 50 ft (DEYOUNG2016, section 2.4)
    results = results_of({"survey.toml": 'units = "us"\n', "records/a.csv": TABLE})

    steps = {step.title: step for step in results.workings["1"]}
    assert "(66 ft)" in steps["Height"].inputs
    assert steps["Height"].result.startswith("15.2 ± ")
    assert "(50.0 ± " in steps["Height"].result
    assert "(20.0 ± " in steps["Diameter"].result
    assert steps["Height"].formula.startswith("20.12 × (tan ")


def test_a_metric_survey_stays_metric(results_of: Callable[..., Results]) -> None:
    results = results_of({"records/a.csv": TABLE})

    assert not any(" ft" in step.result + step.inputs for step in results.workings["1"])
