"""Records → visits → trees: what the readings of a day agree on, the newest values of a tree."""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from mapper import metrics
from mapper.load.names import stem_values
from mapper.load.plot_centres import CENTRE_PART
from mapper.measure.heights import measure_heights
from mapper.measure.positions import PLACE_PART, tree_places
from mapper.measure.readings import of_the_day, with_slips
from mapper.measure.stems import measure_stems

VISIT = ["tree_key", "date"]
STEM_PART = [
    "diameter_cm", "diameter_sd_cm", "diameter_method", "stems", "girth_cm", "handed_diameter_cm",
    "diameter_2_cm", "measured_at_m", "above_snow_m", "snow_depth_cm", "measured_how",
]  # fmt: skip
HEIGHT_PART = [
    "height_m", "height_sd_m", "height_shared_sd_m", "height_method", "height_formula",
    "baseline_m", "baseline_method", "baseline_kind", "pace_length_m", "angle_unit",
    "angle_top_deg", "angle_base_deg", "angle_mark_deg", "angle_top_2_deg", "eye_height_m",
    "mark_height_m", "slant_top_m", "slant_base_m", "station_gap_m", "stick_length_cm",
    "arm_length_cm", "tree_shadow_m", "stick_shadow_m", "length_m", "lean_offset_m",
    "stem_length_m", "stem_length_sd_m",
]  # fmt: skip
WORDS = [
    "diameter_method", "height_method", "height_formula", "measured_how", "baseline_method",
    "baseline_kind", "angle_unit", "place_from", "diameter_told", "height_told", "diameter_slips",
    "height_slips",
]  # fmt: skip
NAMES = [
    "species_name", "common_name", "leaf_kind", "stand", "stand_from", "plot", "edge_double",
    "status", "privacy",
]  # fmt: skip


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
    records = with_slips(_measured_records(values), VISIT)
    visits = _visits(records)
    return Measured(records, visits, trees_of_visits(visits))


def _measured_records(values: pd.DataFrame) -> pd.DataFrame:
    stems, heights = measure_stems(values), measure_heights(values)
    replaced = values.drop(columns=[name for name in values if name in {*stems, *heights}])
    return replaced.join(stems).join(heights)


def _visits(records: pd.DataFrame) -> pd.DataFrame:
    """One row a tree and day, in the order of the days; `_readings` says how many were given."""
    texts = [str(name) for name in records if pd.api.types.is_string_dtype(records[name])]
    told = records.assign(**{name: records[name].replace("", pd.NA) for name in texts})
    told["visit_id"] = told.groupby(VISIT, dropna=False, sort=True).ngroup()
    stems = stem_values(records.columns)
    parts = [
        told.groupby("visit_id")[[*VISIT, *NAMES, *CENTRE_PART, "tally", "planted"]].first(),
        of_the_day(told, "diameter_cm", [*STEM_PART, *stems]),
        of_the_day(told, "height_m", HEIGHT_PART),
    ]  # fmt: skip
    visits = pd.concat(parts, axis=1).sort_index().reset_index(drop=True)
    visits = visits.join(tree_places(records), on="tree_key")
    blank = [name for name in texts if name in visits]
    return visits.assign(**{name: visits[name].fillna("").astype(str) for name in blank})


def trees_of_visits(visits: pd.DataFrame) -> pd.DataFrame:
    """One row a tree, indexed by tree_key, with its newest valid values among these visits."""
    ordered = visits.sort_values("date", na_position="first", kind="stable")
    trees = ordered.groupby("tree_key")
    stems = stem_values(visits.columns)
    last = ordered.drop_duplicates("tree_key", keep="last").set_index("tree_key")
    newest = [
        trees[["date"]].max(),
        trees.size().rename("visits").to_frame(),
        _newest_text(ordered, [name for name in NAMES if name != "status"]),
        last[["status"]],  # empty means alive, also for a tree that was once called dead
        trees[["tally"]].last(),
        _newest(ordered, "lat", PLACE_PART),
        _newest(ordered, "from_centre_m", CENTRE_PART),
        _newest(ordered, "diameter_cm", [*STEM_PART, *_readings("diameter"), *stems]),
        _newest(ordered, "height_m", [*HEIGHT_PART, *_readings("height")]),
    ]
    return _derived(pd.concat(newest, axis=1).rename_axis("tree_key"))


def _readings(name: str) -> list[str]:
    return [f"{name}_{what}" for what in ("reading", "readings", "told", "slips")]


def _newest(ordered: pd.DataFrame, quantity: str, columns: list[str]) -> pd.DataFrame:
    """A quantity and what belongs to it, whole, from the newest visit that has it."""
    given = ordered[ordered[quantity].notna()]
    return given.drop_duplicates("tree_key", keep="last").set_index("tree_key")[columns]


def _newest_text(ordered: pd.DataFrame, columns: list[str]) -> pd.DataFrame:
    told = ordered[["tree_key", *columns]].replace("", pd.NA)
    return told.groupby("tree_key").last().fillna("")


def _derived(trees: pd.DataFrame) -> pd.DataFrame:
    """What follows from diameter and height, and the words that stand for nothing told."""
    texts = [*WORDS, *NAMES]
    filled = trees.assign(**{name: trees[name].fillna("").astype(str) for name in texts})
    diameter = filled["diameter_cm"].to_numpy(dtype=float)
    height = filled["height_m"].to_numpy(dtype=float)
    once = filled["diameter_method"].str.startswith("girth") & (filled["diameter_readings"] == 1)
    girth = np.where(once, filled["girth_cm"], metrics.girth_from_diameter(diameter))
    return filled.assign(
        girth_cm=girth,
        basal_area_m2=metrics.basal_area_from_diameter(diameter),
        slenderness=metrics.slenderness(height, diameter),
        status=filled["status"].replace("", "alive"),
        tally=filled["tally"].fillna(1.0),
        stems=filled["stems"].fillna(0).astype(int),
    )
