"""Very many trees at one place: bounded work, one plain finding."""

import importlib

import numpy as np
import pandas as pd
import pytest

from mapper.check.twins import twins

# The package offers the function under the same name.
module = importlib.import_module("mapper.check.twins")


def _records(count: int, lat: float) -> pd.DataFrame:
    number = np.arange(count)
    names = pd.Series([f"{lat}-{n}" for n in number], dtype=str)
    return pd.DataFrame(
        {
            "file": 1, "sheet": "", "row": number + 2, "tree": names, "tree_key": names,
            "date": pd.Timestamp("2026-05-01"), "species_name": "Fagus sylvatica",
            "lat": lat, "lon": 16.12345, "position_accuracy_m": np.nan,
            "diameter_cm": 30.0 + number % 7, "diameter_sd_cm": 0.5, "height_m": 20.0,
            "height_sd_m": 1.0, "place_root": -1, "place_relative_m": np.nan,
        }
    )  # fmt: skip


def test_a_place_shared_by_hundreds_is_told_once() -> None:
    found = twins(_records(module.MOST_AT_ONE_PLACE + 1, 48.12345))
    assert found["rule"].tolist() == ["same_place"]
    assert found["message"].iloc[0].startswith("101 trees of this survey share their place")


def test_pairs_do_not_depend_on_how_many_are_searched_at_once(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    draw = np.random.default_rng(5)
    records = _records(60, 48.12345)
    records["lat"] += np.repeat(draw.uniform(0, 0.05, 30), 2)  # two by two at one place
    records["diameter_cm"] = np.repeat(draw.uniform(20, 80, 30), 2)
    records["position_accuracy_m"] = 2.0
    whole = twins(records)
    assert (whole["rule"] == "same_tree_twice").any()
    monkeypatch.setattr(module, "RECORDS_AT_ONCE", 7)
    pd.testing.assert_frame_equal(twins(records), whole)
