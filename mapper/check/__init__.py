"""observations → findings: what looks wrong, where, why, and what to do. Nothing is changed."""

import pandas as pd

from mapper.check.ages import doubtful_growth, doubtful_years
from mapper.check.coordinates import misread_places, without_misread
from mapper.check.copied import same_again
from mapper.check.digits import favoured_digits
from mapper.check.evidence import contradicting
from mapper.check.exchanged import exchanged
from mapper.check.explained import explained, without_slips
from mapper.check.findings import joined
from mapper.check.heights import doubtful_heights, unfinished
from mapper.check.identity import handed_in_twice, repeated
from mapper.check.photos import doubtful_photos
from mapper.check.places import misplaced
from mapper.check.plot_edges import doubtful_edges
from mapper.check.plot_ground import doubtful_ground, outlined_areas
from mapper.check.plots import doubtful_plots
from mapper.check.readings import doubtful_readings, slips
from mapper.check.shape import impossible_shape, short_for_its_stem
from mapper.check.twins import twins
from mapper.check.unit_slips import unit_slips
from mapper.check.values import (
    disagreeing,
    impossible,
    measured_elsewhere,
    missing,
    no_such_stem,
    not_read,
    unreadable,
)
from mapper.check.visits import doubtful_visits
from mapper.check.whole_units import units_of_files
from mapper.load.angle_units import ANGLES
from mapper.load.names import value_name
from mapper.load.survey_records import Observations

__all__ = ["check_measured", "check_records", "usable"]


def check_records(
    observations: Observations, breast_height_m: float = 1.30, crs: str = "EPSG:4326"
) -> pd.DataFrame:
    """Every finding about the records as handed in.

    Columns: rule, severity (error, warning, note), record, file, row, tree, other_tree, column,
    value, message, cause (the likely one), suggestion, proposed_column and proposed_value (what
    the cell was probably meant to be; the text to write), bars (the value leaves the figures).
    """
    # What is wrong with a record that was handed in before is said once.
    once = observations.counted
    values, cells = once.values, once.records.cells
    misread = misread_places(values, cells, observations.boundaries, crs)
    found = joined(
        [
            handed_in_twice(observations.values),
            not_read(observations.unread),
            unreadable(once.records),
            missing(once.records, values),
            impossible(values, cells),
            no_such_stem(values),
            disagreeing(values, cells),
            measured_elsewhere(values, breast_height_m),
            contradicting(values),
            unfinished(values),
            doubtful_readings(values),
            misplaced(values, observations.boundaries),
            repeated(values),
            doubtful_visits(values, cells),
            doubtful_years(values, cells),
            favoured_digits(values, cells),
            same_again(values),
            doubtful_plots(values, observations.plots),
            doubtful_edges(values, observations.plots),
            doubtful_ground(
                values,
                observations.plots,
                outlined_areas(observations.boundaries),
                observations.unread_headings,
            ),
            doubtful_photos(observations.photos, values, cells),
        ]
    )
    return joined([misread, without_misread(found, misread)])


def check_measured(
    findings: pd.DataFrame, records: pd.DataFrame, values: pd.DataFrame
) -> pd.DataFrame:
    """The findings, and those that show only once sizes are computed.

    `values` are the observations as handed in, also those that left the figures.
    """
    copied = findings[findings["rule"] == "copied_down"]
    doubtful = unit_slips(records, values, pd.Index(copied["record"]))
    found = [
        findings,
        doubtful,
        units_of_files(records, values),
        doubtful_heights(records),
        slips(records),
        impossible_shape(records),
        short_for_its_stem(records),
        doubtful_growth(without_slips(records, joined([doubtful, copied]))),
    ]
    whole = joined(found)
    return explained(joined([whole, exchanged(records, whole), twins(records)]))


def usable(values: pd.DataFrame, findings: pd.DataFrame) -> pd.DataFrame:
    """The observations without the values that a finding bars, and without second copies."""
    barred = findings[findings["bars"].astype(bool) & (findings["record"] >= 0)]
    kept = values[values["copy_of"] < 0].copy()
    for column, group in barred.groupby("column"):
        records = kept.index.intersection(group["record"].unique().tolist())
        for name in _falling_together(str(column), list(kept.columns)):
            if pd.api.types.is_float_dtype(kept[name]):
                kept.loc[records, name] = float("nan")
            elif pd.api.types.is_datetime64_any_dtype(kept[name]):
                kept.loc[records, name] = pd.NaT
    return kept


def _falling_together(column: str, names: list[str]) -> list[str]:
    """What cannot be used either once a value is barred: all stems, a whole set of angles.

    Without this a tree would shrink by its misread stem, and a misread base angle would turn two
    angles into one angle and an eye height.
    """
    if column.startswith("stem_"):
        return [name for name in names if name.startswith("stem_") and name.endswith("_cm")]
    if column in ANGLES:
        return [f"{name}_deg" for name in ANGLES]
    if column in ("slant_top", "slant_base"):
        return ["slant_top_m", "slant_base_m"]
    if column == "baseline_kind":  # a word that could not be read may mean any kind
        return ["baseline_m"]
    if column in ("lat", "lon"):
        return ["lat", "lon"]
    if column == "position_accuracy":
        return ["position_accuracy_m", "place_accuracy_m"]
    return [name for name in [value_name(column)] if name in names]
