"""Classes that stems are coloured by."""

import numpy as np
import pandas as pd

from mapper.render.colourings import class_columns, colourings
from mapper.render.quantities import scales


def trees(**columns: list[object]) -> pd.DataFrame:
    given = {"height_m": [np.nan] * 4, "date": ["2026-05-01"] * 4}
    ages = {"age_low_years": [np.nan] * 4, "age_high_years": [np.nan] * 4}
    return pd.DataFrame(given | ages | columns)


def test_heights_fall_into_few_classes_of_round_width() -> None:
    found = class_columns(trees(height_m=[4.9, 5.0, 33.8, np.nan]), scales("metric")["m"])
    assert list(found) == ["height_class"]
    assert found["height_class"].labels == (
        "0 to 5 m", "5 to 10 m", "10 to 15 m", "15 to 20 m", "20 to 25 m", "25 to 30 m",
        "30 to 35 m",
    )  # fmt: skip
    assert found["height_class"].codes.tolist() == [0, 1, 6, -1]


def test_feet_have_round_classes_too() -> None:
    found = class_columns(trees(height_m=[3.0, 9.2, 20.0, np.nan]), scales("us")["m"])
    assert found["height_class"].labels[0] == "0 to 10 ft"
    assert found["height_class"].codes.tolist() == [0, 3, 6, -1]  # 9.8, 30.2 and 65.6 ft


def test_an_age_is_coloured_by_the_middle_of_its_range() -> None:
    ages = {"age_low_years": [30, 80, np.nan, 10], "age_high_years": [50, 140, np.nan, 20]}
    found = class_columns(trees(**ages), scales("metric")["m"])["age_class"]
    assert found.labels[0] == "0 to 20 years"
    assert found.codes.tolist() == [2, 5, -1, 0]


def test_dates_are_told_apart_by_year_or_else_by_month() -> None:
    shown = scales("metric")["m"]
    years = class_columns(trees(date=["2024-05-01", "2026", "", "2026-06"]), shown)["date_class"]
    assert (years.labels, years.codes.tolist()) == (("2024", "2026"), [0, 1, -1, 1])
    months = class_columns(trees(date=["2026-05-01", "2026-05-20", "2026-04-02", ""]), shown)
    assert months["date_class"].labels == ("2026-04", "2026-05")
    assert months["date_class"].codes.tolist() == [1, 1, 0, -1]


def test_what_tells_no_trees_apart_is_no_choice() -> None:
    assert class_columns(trees(height_m=[5.0, 5.1, 5.2, 5.3]), scales("metric")["m"]) == {}
    assert colourings({}, ("small, 1 to 20 cm",)) == ()


def test_the_shades_run_from_end_to_end() -> None:
    (sizes,) = colourings({}, ("small", "middling", "large"))
    assert sizes.classes == (("small", 0), ("middling", 3), ("large", 6))
