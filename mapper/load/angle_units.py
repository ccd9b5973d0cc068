"""Angles that the record says are on another scale: read as elevations in degrees."""

from collections.abc import Callable, Mapping

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mapper import metrics

ANGLES = ("angle_top", "angle_base", "angle_mark", "angle_top_2")
SCALES: Mapping[str, Callable[..., NDArray[np.float64]]] = {
    "degrees from vertical": metrics.elevation_from_vertical,
    "percent": metrics.elevation_from_percent,
    "per 66": metrics.elevation_from_per_66,
}
# A cell of these is a number alone; one that names its own unit was read by it.
BARE = r"[\s\d.,+\-−–]*"
UNREAD = (
    "What angle_unit says is not known, so this angle is not used. "
    "Write degrees, degrees from vertical, percent or per 66."
)
BEYOND = "angle_unit is '{}', and this reading is not on that scale. Allowed: 0 to 180."


def read_scales(values: pd.DataFrame, cells: pd.DataFrame) -> tuple[pd.DataFrame, pd.DataFrame]:
    """The values with those angles in degrees, and a problem for each that is none.

    The problems have column, severity, rule and reason, and the record as index.
    """
    if "angle_unit" not in cells:
        return values, pd.DataFrame(columns=["column", "severity", "rule", "reason"])
    units = values["angle_unit"]
    # A unit that could not be read may be anything, so it is not taken for degrees.
    unread = (cells["angle_unit"].str.strip() != "") & (units == "")
    kept = values.copy()
    problems = []
    for name in ANGLES:
        if name not in cells:
            continue
        angle = kept[f"{name}_deg"]
        bare = cells[name].str.fullmatch(BARE)
        on_scale = [(bare & (units == unit)).to_numpy() for unit in SCALES]
        degrees = np.select(on_scale, [scale(angle) for scale in SCALES.values()], angle)
        kept[f"{name}_deg"] = pd.Series(degrees, values.index).mask(unread & bare)
        beyond = angle.notna() & np.isnan(degrees)
        reasons = pd.concat(
            [units[beyond].map(BEYOND.format), pd.Series(UNREAD, angle.index)[unread & bare]]
        )
        problems.append(_problems(name, reasons[angle.reindex(reasons.index).notna()]))
    return kept, pd.concat([_problems("", pd.Series(dtype=str)), *problems])


def _problems(name: str, reasons: "pd.Series[str]") -> pd.DataFrame:
    rules = np.where(reasons == UNREAD, "unknown_unit", "impossible")
    return pd.DataFrame({"column": name, "severity": "error", "rule": rules, "reason": reasons})
