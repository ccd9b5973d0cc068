"""Records → visits → trees: the median of a day, the newest valid values of a tree."""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from mapper import metrics
from mapper.load.names import stem_values
from mapper.measure.heights import measure_heights
from mapper.measure.stems import measure_stems

VISIT = ["tree_key", "date"]
STEM_PART = [
    "diameter_cm", "diameter_sd_cm", "diameter_method", "stems", "girth_cm",
    "measured_at_m", "measured_how",
]  # fmt: skip
HEIGHT_PART = [
    "height_m", "height_sd_m", "height_shared_sd_m", "height_method",
    "baseline_m", "baseline_method", "angle_top_deg", "angle_base_deg", "eye_height_m",
]  # fmt: skip
PLACE_PART = ["lat", "lon", "position_accuracy_m"]
NAMES = ["species_name", "common_name", "leaf_kind", "stand", "stand_from", "status", "privacy"]


@dataclass(frozen=True)
class Measured:
    """What the records say about trees."""

    records: pd.DataFrame  # one row a record: the observations with the measured quantities
    visits: pd.DataFrame  # one row a tree and day
    trees: pd.DataFrame  # one row a tree, its newest valid values; indexed by tree_key


def measure_trees(values: pd.DataFrame) -> Measured:
    """Measure every record, and gather records into visits and visits into trees.

    `values` are the usable observations: barred values are missing, every record is there.
    """
    records = _measured_records(values)
    visits = _visits(records)
    return Measured(records, visits, _trees(visits))


def _measured_records(values: pd.DataFrame) -> pd.DataFrame:
    stems, heights = measure_stems(values), measure_heights(values)
    replaced = values.drop(columns=[name for name in values if name in {*stems, *heights}])
    return replaced.join(stems).join(heights)


def _visits(records: pd.DataFrame) -> pd.DataFrame:
    """One row a tree and day, in the order of the days; `_readings` says how many were given."""
    texts = [str(name) for name in records if pd.api.types.is_string_dtype(records[name])]
    told = records.assign(**{name: records[name].replace("", pd.NA) for name in texts})
    days = told.groupby(VISIT, dropna=False, sort=True)
    parts = [
        days[[*NAMES, "tally", "planted", *PLACE_PART]].first(),
        _part(told, "diameter_cm", STEM_PART),
        _part(told, "height_m", HEIGHT_PART),
        _stem_girths(told),
    ]
    visits = pd.concat(parts, axis=1).reset_index()
    blank = [name for name in texts if name in visits]
    return visits.assign(**{name: visits[name].fillna("").astype(str) for name in blank})


def _part(told: pd.DataFrame, quantity: str, columns: list[str]) -> pd.DataFrame:
    """A quantity with all that belongs to it, from the first record of the day that has it."""
    given = told[told[quantity].notna()].groupby(VISIT, dropna=False)
    part = given[columns].first()
    median = given[[quantity]].median()
    readings = given.size().rename(quantity.rsplit("_", 1)[0] + "_readings")
    part = part.assign(**{quantity: median[quantity]})
    if quantity == "diameter_cm":
        part = part.assign(girth_cm=given["girth_cm"].median())
    return part.join(readings)


def _stem_girths(told: pd.DataFrame) -> pd.DataFrame:
    """Girths of the single stems, for the working."""
    names = stem_values(told.columns)
    return told.groupby(VISIT, dropna=False)[names].first()


def _trees(visits: pd.DataFrame) -> pd.DataFrame:
    ordered = visits.sort_values("date", na_position="first", kind="stable")
    trees = ordered.groupby("tree_key")
    stem_names = stem_values(visits.columns)
    newest = [
        trees[["date"]].max(),
        trees.size().rename("visits").to_frame(),
        _newest_text(ordered, NAMES),
        trees[["tally"]].last(),
        _newest(ordered, "lat", PLACE_PART),
        _newest(ordered, "diameter_cm", [*STEM_PART, "diameter_readings", *stem_names]),
        _newest(ordered, "height_m", [*HEIGHT_PART, "height_readings"]),
    ]
    return _derived(pd.concat(newest, axis=1).rename_axis("tree_key"))


def _newest(ordered: pd.DataFrame, quantity: str, columns: list[str]) -> pd.DataFrame:
    """A quantity and what belongs to it, whole, from the newest visit that has it."""
    given = ordered[ordered[quantity].notna()]
    return given.drop_duplicates("tree_key", keep="last").set_index("tree_key")[columns]


def _newest_text(ordered: pd.DataFrame, columns: list[str]) -> pd.DataFrame:
    told = ordered[["tree_key", *columns]].replace("", pd.NA)
    return told.groupby("tree_key").last().fillna("")


def _derived(trees: pd.DataFrame) -> pd.DataFrame:
    """What follows from diameter and height, and the words that stand for nothing told."""
    texts = ["diameter_method", "height_method", "measured_how", "baseline_method", *NAMES]
    filled = trees.assign(**{name: trees[name].fillna("").astype(str) for name in texts})
    diameter = filled["diameter_cm"].to_numpy(dtype=float)
    height = filled["height_m"].to_numpy(dtype=float)
    measured = filled["diameter_method"].str.startswith("girth").to_numpy()
    girth = np.where(measured, filled["girth_cm"], metrics.girth_from_diameter(diameter))
    return filled.assign(
        girth_cm=girth,
        basal_area_m2=metrics.basal_area_from_diameter(diameter),
        slenderness=metrics.slenderness(height, diameter),
        status=filled["status"].replace("", "alive"),
        tally=filled["tally"].fillna(1.0),
        stems=filled["stems"].fillna(0).astype(int),
    )
