"""Several readings of one tree on one day: the value they agree on, and the slips among them."""

import numpy as np
import pandas as pd

from mapper import metrics
from mapper.measure.inputs import Floats

# Quantity, its uncertainty, and the part of it that the readings of a day have in common.
QUANTITIES = {
    "diameter_cm": ("diameter_sd_cm", ""),
    "height_m": ("height_sd_m", "height_shared_sd_m"),
}


def with_slips(records: pd.DataFrame, visit: list[str]) -> pd.DataFrame:
    """The records with diameter_slip and height_slip: so far from its day's others that it is one.

    Besides, diameter_of_day_cm and height_of_day_m: the middle of all the readings of that day.
    """
    days = records.groupby(visit, dropna=False, sort=True).ngroup().to_numpy()
    found = pd.DataFrame(index=records.index)
    for quantity in QUANTITIES:
        name, unit = quantity.rsplit("_", 1)
        readings = records[quantity].to_numpy(dtype=float)
        own, _ = own_and_shared(records, quantity)
        found[f"{name}_slip"] = metrics.is_slip(readings, days, own)
        found[f"{name}_of_day_{unit}"] = metrics.consensus_value(readings, days)[days]
    return records.join(found)


def own_and_shared(records: pd.DataFrame, quantity: str) -> tuple[Floats, Floats]:
    """The uncertainty of each reading by itself, and what the day's readings have in common."""
    total_name, shared_name = QUANTITIES[quantity]
    total = records[total_name].to_numpy(dtype=float)
    shared = records[shared_name].to_numpy(dtype=float) if shared_name else np.zeros(len(total))
    return np.sqrt(np.maximum(total**2 - shared**2, 0)), shared


def of_the_day(told: pd.DataFrame, quantity: str, columns: list[str]) -> pd.DataFrame:
    """What the readings of each day (visit_id) agree on, with all that belongs to the nearest one.

    NAME_reading is that nearest reading, NAME_readings how many there were, NAME_told and
    NAME_slips all of them and the slips among them in words.
    """
    name = quantity.rsplit("_", 1)[0]
    given = told[told[quantity].notna()]
    kept = given[~given[f"{name}_slip"].to_numpy(dtype=bool)]
    agreed = _consensus(kept, quantity)
    # Rounded, so that of two readings equally near the first is shown.
    distance = (kept[quantity] - kept["visit_id"].map(agreed[quantity])).abs().round(9)
    nearest = kept.assign(distance=distance).sort_values("distance", kind="stable")
    part = nearest.drop_duplicates("visit_id").set_index("visit_id")[columns]
    several = given[given.duplicated("visit_id", keep=False)]
    slips = given[given[f"{name}_slip"].to_numpy(dtype=bool)]
    whole = part.drop(columns=list(agreed)).join(agreed)
    return whole.assign(
        **{
            f"{name}_reading": part[quantity],
            f"{name}_readings": given.groupby("visit_id").size(),
            f"{name}_told": _in_words(several, quantity),
            f"{name}_slips": _in_words(slips, quantity),
        }
    )


def _consensus(kept: pd.DataFrame, quantity: str) -> pd.DataFrame:
    """Value, uncertainty and shared part of it by visit_id."""
    total_name, shared_name = QUANTITIES[quantity]
    readings, days = kept[quantity].to_numpy(dtype=float), kept["visit_id"].to_numpy()
    own, shared = own_and_shared(kept, quantity)
    number = pd.RangeIndex(days.max(initial=-1) + 1, name="visit_id")
    # One pace, one eye height: what the readings share does not shrink with their number.
    common = kept.assign(shared=shared).groupby("visit_id")["shared"].mean().reindex(number)
    sd = metrics.combined_sd(metrics.consensus_sd(readings, days, own), common)
    columns = {quantity: metrics.consensus_value(readings, days), total_name: sd}
    if shared_name:
        columns[shared_name] = common.to_numpy()
    return pd.DataFrame(columns, index=number)


def _in_words(readings: pd.DataFrame, quantity: str) -> "pd.Series[str]":
    words = [f"{value:.1f}" for value in readings[quantity]]
    texts = pd.Series(words, index=readings.index, dtype=str)
    return texts.groupby(readings["visit_id"]).agg(", ".join)
