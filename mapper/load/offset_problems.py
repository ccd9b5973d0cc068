"""What is wrong with places by tape, in words."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mapper.load.network import (
    APART,
    CIRCLE,
    NO_NORTH,
    NO_PLACE,
    PLACED,
    TOO_LONG,
    WHICH_SIDE,
    Spots,
)
from mapper.load.norths import ELLIPSOID
from mapper.load.offsets import Offsets
from mapper.load.records import PROBLEM_COLUMNS, WHOLE_COLUMN, Records, Remark, remark_problems

Flags = NDArray[np.bool_]
Outcome = tuple[str, str, str, str]

# Farther from its own coordinates than this, and than both are sure, one of the two is wrong.
FAR_M = 30.0

# column, rule, severity, sentence
OUTCOMES = {
    NO_PLACE: (
        "from_point", "point_not_placed", "error",
        "The known point '{}' has no place itself. Give its coordinates.",
    ),
    CIRCLE: (
        "from_point", "measured_in_a_circle", "error",
        "'{}' is itself measured from this tree, straight or round others. "
        "Measure one of them from a point that is known.",
    ),
    TOO_LONG: (
        "from_point", "point_not_placed", "error",
        "'{}' hangs on a chain of more than 1000 trees: too long to be a place.",
    ),
    APART: (
        "distance_2", "tapes_do_not_meet", "error",
        "The two distances do not meet anywhere. Look for a wrong digit or a wrong point.",
    ),
    WHICH_SIDE: (
        "side", "side_not_told", "error",
        "Two tapes leave two places. Write left or right, seen from the first point to the "
        "second, or a compass direction.",
    ),
    NO_NORTH: (
        "bearing_from", "north_not_known", "error",
        "The direction of this north is not known here: magnetic north needs a date from 2010 to "
        "2030, grid north a projected coordinate system in crs or survey.toml. Or give the bearing "
        "from true north.",
    ),
}  # fmt: skip
UNCLEAR = (
    "from_point", "unclear_point", "error",
    "'{}' may be several things. Write the plot of the tree, or 'tree 3' or 'plot 3'.",
)  # fmt: skip
UNKNOWN = (
    "from_point", "unknown_point", "error",
    "'{}' is neither a tree of the records nor a plot of plots.csv.",
)  # fmt: skip
INCOMPLETE = (
    "from_point", "incomplete_offset", "warning",
    "A place by tape needs from_point, bearing and distance, or from_point, distance, "
    "from_point_2 and distance_2.",
)  # fmt: skip
NO_SLOPE = (
    "slope", "slope_missing", "warning",
    "The distance is along a slope that is not told: it was taken as level.",
)  # fmt: skip
NO_STEM = (
    "distance_to", "stem_missing", "note",
    "The distance ends at the face of a stem without a size: half of the stem was left out.",
)  # fmt: skip
NO_DATE = (
    "date", "undated_bearing", "warning",
    "A magnetic bearing without a date: the declination of the other records' days was taken.",
)  # fmt: skip
SAID_ONCE = (OUTCOMES[NO_PLACE], OUTCOMES[TOO_LONG], UNCLEAR, UNKNOWN)
TWO_PLACES = (
    "lat", "places_disagree", "warning",
    "Its own coordinates lie {:.0f} m from the place by tape, which is used.",
)  # fmt: skip


def offset_problems(
    records: Records,
    offsets: Offsets,
    found: Spots,
    why: NDArray[np.int64],
    has_place: Flags,
) -> pd.DataFrame:
    """Problem rows, one a record; what many records share is said once for each point of a file.

    `has_place` says by point number which points have a place.
    """
    values, steps = records.values, offsets.steps
    second = offsets.second_at_fault.copy()
    lost = (steps.point_2 >= 0) & has_place[steps.point] & ~has_place[steps.point_2]
    second[offsets.records[(why == NO_PLACE) & lost]] = True
    outcomes = [(offsets.records[why == code], outcome) for code, outcome in OUTCOMES.items()]
    outcomes += [
        (np.flatnonzero(where), outcome)
        for where, outcome in (
            (offsets.unclear, UNCLEAR),
            (offsets.unknown, UNKNOWN),
            (offsets.incomplete, INCOMPLETE),
            (offsets.without_slope, NO_SLOPE),
            (offsets.without_stem, NO_STEM),
            (_undated(values, offsets), NO_DATE),
        )
    ]
    tables = [table for at, outcome in outcomes for table in _told(values, at, outcome, second)]
    tables += [_two_places(values, offsets, found, why), _norths_unsaid(values, offsets)]
    filled = [table for table in tables if len(table)]
    whole: pd.DataFrame = pd.concat(filled) if filled else tables[0]
    return whole.assign(value=_cells(records, whole), proposed="")[PROBLEM_COLUMNS]


def _told(
    values: pd.DataFrame, at: NDArray[np.int64], outcome: Outcome, second: Flags
) -> list[pd.DataFrame]:
    """The rows of an outcome; those about the second of two points name that one."""
    told = values["from_point"].where(values["from_point"] != "", values["plot"])
    column, *rest = outcome
    once = outcome in SAID_ONCE
    if column != "from_point":
        return [_rows(values, at, outcome, told.to_numpy(dtype=object)[at], once)]
    other = values["from_point_2"].to_numpy(dtype=object)
    here, there = at[~second[at]], at[second[at]]
    return [
        _rows(values, here, outcome, told.to_numpy(dtype=object)[here], once),
        _rows(values, there, ("from_point_2", rest[0], rest[1], rest[2]), other[there], once),
    ]


def _rows(
    values: pd.DataFrame,
    at: NDArray[np.int64],
    outcome: Outcome,
    named: NDArray[np.object_],
    once: bool,
) -> pd.DataFrame:
    """A row a record, or the first of each point and file with the number of those like it."""
    column, rule, severity, sentence = outcome
    rows = pd.DataFrame(
        {
            "record": values.index.to_numpy()[at],
            "file": values["file"].to_numpy()[at],
            "column": column,
            "severity": severity,
            "rule": rule,
            "reason": [sentence.format(name) for name in named],
        }
    )
    if not once or rows.empty:
        return rows
    alike = rows.groupby(["file", "reason"])["record"].transform("size")
    first = ~rows.duplicated(["file", "reason"])
    more = " So " + alike.astype(str) + " records of this file have no place by tape."
    return rows.assign(reason=rows["reason"] + more.where(alike > 1, ""))[first]


def _undated(values: pd.DataFrame, offsets: Offsets) -> Flags:
    """Records with a magnetic bearing and no day, where other records have one."""
    undated = (values["bearing_from"] == "magnetic") & values["date"].isna()
    by_bearing = np.zeros(len(values), dtype=bool)
    by_bearing[offsets.records[offsets.steps.point_2 < 0]] = True
    any_day = values["date"].iloc[offsets.records].notna().any()
    return undated.to_numpy() & by_bearing & bool(any_day)


def _two_places(
    values: pd.DataFrame, offsets: Offsets, found: Spots, why: NDArray[np.int64]
) -> pd.DataFrame:
    """Records whose own coordinates lie far from the place by tape."""
    own = values.iloc[offsets.records]
    on_earth = own["lat"].between(-90, 90) & own["lon"].between(-180, 180)
    both = np.flatnonzero((why == PLACED) & on_earth.to_numpy())
    taped, given = found.take(both), own.iloc[both]
    lon, lat = given["lon"].to_numpy(dtype=float), given["lat"].to_numpy(dtype=float)
    apart_m = ELLIPSOID.inv(lon, lat, taped.lon, taped.lat)[2]
    unsure = np.nan_to_num(taped.accuracy_m) + 2 * given["position_accuracy_m"].fillna(0).to_numpy()
    far = apart_m > np.maximum(FAR_M, unsure)
    return _rows(values, offsets.records[both][far], TWO_PLACES, apart_m[far], once=False)


def _norths_unsaid(values: pd.DataFrame, offsets: Offsets) -> pd.DataFrame:
    """A remark for each file with bearings that name no north: how far off a needle would be."""
    used = values.iloc[offsets.records[offsets.steps.point_2 < 0]]
    unsaid = used[used["bearing_from"] == ""]
    tables = []
    for file, some in unsaid.groupby("file"):
        reason = (
            f"bearing_from is empty, so {len(some)} bearings were read from true north. A compass "
            f"needle points {offsets.declination_deg:+.1f} degrees from it here. "
            "Write true, magnetic or grid."
        )
        remark = Remark("north_not_told", "warning", reason, "bearing_from")
        tables.append(remark_problems([remark], int(str(file))))
    return pd.concat(tables) if tables else pd.DataFrame(columns=PROBLEM_COLUMNS)


def _cells(records: Records, found: pd.DataFrame) -> list[str]:
    """The cell that each problem is about, as handed in."""
    cells = records.cells
    return [
        str(cells.at[record, column]) if record != WHOLE_COLUMN and column in cells else ""
        for record, column in zip(found["record"], found["column"], strict=True)
    ]
