"""Angles on another scale, by their heading or by the record: read as elevations in degrees."""

from collections.abc import Callable, Mapping

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mapper import metrics
from mapper.load.heading_units import BARE, unit_above

ANGLES = ("angle_top", "angle_base", "angle_mark", "angle_top_2")
SLOPE = "slope"  # on a scale by its heading only: angle_unit is about sights
SCALES: Mapping[str, Callable[..., NDArray[np.float64]]] = {
    "degrees from vertical": metrics.elevation_from_vertical,
    "percent": metrics.elevation_from_percent,
    "per 66": metrics.elevation_from_per_66,
}
UNREAD = (
    "What angle_unit says is not known, so this angle is not used. "
    "Write degrees, degrees from vertical, percent or per 66."
)
BEYOND = "angle_unit is '{}', and this reading is not on that scale. Allowed: 0 to 180."
APART = "The heading says {}, and angle_unit of this record {}: read as the record says."


def read_scales(
    values: pd.DataFrame, cells: pd.DataFrame, columns: pd.DataFrame
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """The values with those angles in degrees, and a problem for each that is none.

    `columns` is how each column was understood. What a record's angle_unit says wins over the
    heading; where it says nothing, it gets the scale of the heading. The problems have column,
    severity, rule and reason, and the record as index.
    """
    problems = [_problems("", "", "", pd.Series(dtype=str))]
    if not {*ANGLES, SLOPE} & {*cells}:
        return values, problems[0]
    unit = values["angle_unit"]
    unread = _filled(cells, "angle_unit", values.index) & (unit == "")
    kept = values.copy(deep=False)  # whole columns are put in place of others
    for name in (*ANGLES, SLOPE):
        if name not in cells:
            continue
        angle, bare = values[f"{name}_deg"], cells[name].str.fullmatch(BARE)
        above = unit_above(name, values, columns)
        above = above.where(above.isin(list(SCALES)) & bare & angle.notna(), "")
        if name == SLOPE:
            kept[f"{name}_deg"] = _in_degrees(angle, above)
            continue
        scale = unit.where(bare, "").mask(unit == "", above)
        degrees = _in_degrees(angle, scale)
        kept[f"{name}_deg"] = degrees.mask(unread & bare)
        kept["angle_unit"] = kept["angle_unit"].mask((kept["angle_unit"] == "") & ~unread, above)
        beyond = angle.notna() & degrees.isna()
        apart = (above != "") & (unit != "") & (unit != above)
        problems += [
            _problems(name, "error", "impossible", _said(BEYOND, beyond, scale)),
            _problems(name, "error", "unknown_unit", _said(UNREAD, angle.notna() & unread & bare)),
            _problems(name, "warning", "scales_disagree", _said(APART, apart, above, unit)),
        ]
    return kept, pd.concat(problems)


def _filled(cells: pd.DataFrame, name: str, index: pd.Index) -> "pd.Series[bool]":
    return cells[name].str.strip() != "" if name in cells else pd.Series(False, index=index)


def _in_degrees(angle: "pd.Series[float]", scale: "pd.Series[str]") -> "pd.Series[float]":
    """Angles above level; a scale that is none of ours is degrees."""
    chosen = [(scale == unit).to_numpy() for unit in SCALES]
    turned = [turn(angle.to_numpy()) for turn in SCALES.values()]
    return pd.Series(np.select(chosen, turned, angle.to_numpy()), angle.index)


def _said(sentence: str, at: "pd.Series[bool]", *words: "pd.Series[str]") -> "pd.Series[str]":
    """The sentence for each record of `at`, with its own words put in."""
    rows = zip(*(word[at] for word in words), strict=True) if words else [()] * int(at.sum())
    return pd.Series([sentence.format(*row) for row in rows], index=at.index[at], dtype=str)


def _problems(name: str, severity: str, rule: str, reasons: "pd.Series[str]") -> pd.DataFrame:
    told = {"column": name, "severity": severity, "rule": rule, "reason": reasons}
    return pd.DataFrame(told, index=reasons.index)
