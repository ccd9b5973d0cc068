"""The height of every record, by the best that was handed in."""

import numpy as np
import pandas as pd

from mapper import metrics
from mapper.measure.inputs import ASSUMED, Floats, input_sd, spreads


def measure_heights(values: pd.DataFrame) -> pd.DataFrame:
    """Height of each record: a complete set of angles over a horizontal baseline > a typed height.

    Columns: height_m, height_sd_m, height_shared_sd_m (the part that trees measured with one pace
    or one eye height have in common), height_method, typed_height_m.
    """
    usual = values["baseline_kind"].isin(["", "horizontal"]) & values["angle_unit"].isin(
        ["", "degrees"]
    )
    distance, top, base, eye = (
        values[name].where(usual).to_numpy(dtype=float)
        for name in ("baseline_m", "angle_top_deg", "angle_base_deg", "eye_height_m")
    )
    two = metrics.height_from_angles(distance, top, base)
    # A base angle that was read and barred must not turn the set into a one-angle height.
    one = np.where(np.isnan(base), metrics.height_from_top_angle(distance, top, eye), np.nan)
    typed = values["height_m"].to_numpy(dtype=float)
    chosen = [~np.isnan(two), ~np.isnan(one), ~np.isnan(typed)]
    total, shared = _height_sds(values, (distance, top, base, eye))
    named = values["height_method"].astype(str).to_numpy(dtype=object)
    return pd.DataFrame(
        {
            "height_m": np.select(chosen, [two, one, typed], np.nan),
            "height_sd_m": np.select(chosen[:2], total, np.nan),
            "height_shared_sd_m": np.select(chosen[:2], shared, np.nan),
            "height_method": np.select(
                chosen, ["two angles", "one angle", np.where(named == "", "reported", named)], ""
            ),
            "typed_height_m": typed,
        },
        index=values.index,
    )


def _height_sds(
    values: pd.DataFrame, inputs: tuple[Floats, Floats, Floats, Floats]
) -> tuple[list[Floats], list[Floats]]:
    """By method (two angles, one angle): whole standard uncertainty, and what trees share of it."""
    distance, top, base, _ = inputs
    how = values["baseline_method"].replace("", ASSUMED["baseline"]).astype(str)
    distance_sd = input_sd("baseline", how, distance)
    known = spreads()
    angle_sd, eye = known["angle", ""].sd, known["eye_height", ""]
    common = how.map(
        {name: spread.shared for (what, name), spread in known.items() if what == "baseline"}
    )
    shared_sd = np.where(common.eq(True).to_numpy(), distance_sd, 0.0)
    two, one = metrics.height_from_angles_sd, metrics.height_from_top_angle_sd
    total = [
        np.asarray(two(distance, top, base, distance_sd, angle_sd)),
        np.asarray(one(distance, top, eye.sd, distance_sd, angle_sd)),
    ]
    shared = [
        np.asarray(two(distance, top, base, shared_sd, 0.0)),
        np.asarray(one(distance, top, eye.sd if eye.shared else 0.0, shared_sd, 0.0)),
    ]
    return total, shared
