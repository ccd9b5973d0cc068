"""How well a survey's own readings agree, where trees were measured more than once in a visit."""

from collections.abc import Callable
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mapper import metrics
from mapper.measure.inputs import Floats

VISIT = ["tree_key", "date"]
COLUMNS = ["quantity", "trees", "readings", "sd", "unit", "pairs", "within_tolerance_share"]


def agreement(records: pd.DataFrame) -> pd.DataFrame:
    """A row for diameter and one for height, where any tree has two readings in one visit.

    `records` are measured. `sd` is how far one reading is off, slips left out: cm for diameters,
    per cent of the height for heights, whose errors grow with the tree. within_tolerance_share is
    the share of all pairs of readings, slips among them, that keep an inventory's tolerance.
    """
    rows = [
        _row(records, "diameter_cm", metrics.diameter_tolerance, _same, ("cm", 1.0)),
        _row(records, "height_m", metrics.height_tolerance, np.log, ("%", 100.0)),
    ]
    return pd.DataFrame([row for row in rows if row["trees"]], columns=COLUMNS)


def _row(
    records: pd.DataFrame,
    quantity: str,
    tolerance: Callable[[Floats], Floats],
    scale: Callable[[Floats], Floats],
    unit: tuple[str, float],
) -> dict[str, object]:
    name = quantity.rsplit("_", 1)[0]
    given = records[records[quantity] > 0]
    given = given[given.duplicated(VISIT, keep=False)]
    days = given.groupby(VISIT, dropna=False, sort=True).ngroup().to_numpy()
    readings = given[quantity].to_numpy(dtype=float)
    sound = np.where(given[f"{name}_slip"], np.nan, readings)
    limits = tolerance(metrics.consensus_value(readings, days))
    return {
        "quantity": name,
        "trees": given["tree_key"].nunique(),
        "readings": len(given),
        "sd": float(metrics.repeatability(scale(sound), days)) * unit[1],
        "unit": unit[0],
        "pairs": _pairs(days),
        "within_tolerance_share": float(metrics.pairs_within(readings, days, limits)),
    }


def _same(readings: Floats) -> Floats:
    return readings


def _pairs(days: NDArray[np.integer[Any]]) -> int:
    counts = np.bincount(days)
    return int(np.sum(counts * (counts - 1) // 2))
