"""Rules about heights: angle sets that lack a part, methods that are not computed yet."""

import pandas as pd

from mapper import metrics
from mapper.check.findings import Rule, findings, joined, worded

COMPUTED = ("", "reported", "one angle", "two angles", "by eye")


def unfinished(values: pd.DataFrame) -> pd.DataFrame:
    """Angle sets from which no height can be computed, and why."""
    return joined([_lacking(values), _not_built(values), _top_in_doubt(values)])


def _lacking(values: pd.DataFrame) -> pd.DataFrame:
    top, base, distance = (
        values[name].notna() for name in ("angle_top_deg", "angle_base_deg", "baseline_m")
    )
    started = top | base
    complete = top & distance & (base | values["eye_height_m"].notna())
    needs = "angle_top, baseline, and angle_base or eye_height"
    return findings(
        Rule("incomplete", "warning", "angle_top", "Add what is missing from the record sheet."),
        values[started & ~complete],
        f"The angles alone give no height: {needs} are needed together.",
    )


def _not_built(values: pd.DataFrame) -> pd.DataFrame:
    method = ~values["height_method"].isin(COMPUTED)
    sloping = ~values["baseline_kind"].isin(["", "horizontal"])
    unit = ~values["angle_unit"].isin(["", "degrees"])
    angles = values["angle_top_deg"].notna()
    return joined(
        [
            findings(
                Rule("not_computed", "note", "height_method"),
                values[method],
                "No height is computed by this method yet; a typed height is used.",
            ),
            findings(
                Rule("not_computed", "warning", "baseline_kind"),
                values[angles & sloping],
                "Only a horizontal baseline is computed yet: no height from these angles.",
            ),
            findings(
                Rule("not_computed", "warning", "angle_unit"),
                values[angles & unit],
                "Only degrees are computed yet: no height from these angles.",
            ),
        ]
    )


def _top_in_doubt(values: pd.DataFrame) -> pd.DataFrame:
    steep = values["angle_top_deg"] > 60
    return findings(
        Rule("steep", "note", "angle_top", "Stand at least as far away as the tree is high."),
        values[steep],
        "Sighted at more than 60 degrees: a small slip of the angle moves the height a lot.",
    )


def disagreeing_heights(records: pd.DataFrame) -> pd.DataFrame:
    """A typed height beyond two combined standard uncertainties of the height from angles.

    `records` are measured: height_m, height_sd_m, height_method, typed_height_m. How sure a typed
    height is nobody said; it is taken as no surer than the angles.
    """
    by_angles = records["height_method"].isin(["one angle", "two angles"])
    apart = (records["height_m"] - records["typed_height_m"]).abs()
    sd = records["height_sd_m"].to_numpy(dtype=float)
    bad = by_angles & (apart > 2 * metrics.combined_sd(sd, sd))
    at = records[bad]
    template = "Typed height {:.1f} m, by the angles {:.1f} m. The angles are used."
    message = worded(template, at["typed_height_m"], at["height_m"])
    return findings(
        Rule("heights_disagree", "warning", "height", "One of the two is wrong: measure again."),
        at,
        message,
    )
