"""The diameter of every record, by the best that was handed in."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mapper import metrics
from mapper.load.names import stem_values
from mapper.measure.inputs import ASSUMED, Floats, input_sd

Flags = NDArray[np.bool_]


def measure_stems(values: pd.DataFrame) -> pd.DataFrame:
    """Diameter of each record with its uncertainty: stems one by one > girth > diameter.

    Two diameters at right angles are one by calipers. Columns: diameter_cm, diameter_sd_cm,
    diameter_method, stems, handed_diameter_cm (the first of two), measured_at_m (above the ground
    also where it was taken above snow) and above_snow_m.
    """
    stems = _stem_diameters(values)
    given = ~np.isnan(stems)
    by_stems: Flags = np.any(given, axis=1)
    by_girth = ~by_stems & values["girth_cm"].notna().to_numpy()
    by_diameter = ~by_stems & ~by_girth & values["diameter_cm"].notna().to_numpy()
    chosen = [by_stems, by_girth, by_diameter]

    girth_cm = values["girth_cm"].to_numpy(dtype=float)
    handed = values["diameter_cm"].to_numpy(dtype=float)
    by_calipers = metrics.diameter_from_calipers(handed, values["diameter_2_cm"])
    diameter_cm = np.select(
        chosen,
        [
            metrics.diameter_from_stems(stems),
            metrics.diameter_from_girth(girth_cm),
            np.where(np.isnan(by_calipers), handed, by_calipers),
        ],
        np.nan,
    )
    methods = [
        np.full(len(values), "stems", dtype=object),
        _with_tool("girth", values["girth_method"]),
        _with_tool("diameter", _diameter_tools(values)),
    ]
    return pd.DataFrame(
        {
            "diameter_cm": diameter_cm,
            "diameter_sd_cm": _diameter_sd(values, stems, chosen),
            "diameter_method": np.select(chosen, methods, ""),
            "stems": np.where(by_stems, given.sum(axis=1), np.where(np.isnan(diameter_cm), 0, 1)),
            "handed_diameter_cm": handed,
            **_tape_heights(values),
        },
        index=values.index,
    )


def _stem_diameters(values: pd.DataFrame) -> Floats:
    """One column a stem, whatever number of stems the survey has. [cm]"""
    names = stem_values(values.columns)
    girths = values[names].where(values[names] > 0).to_numpy(dtype=float)
    if not names:
        girths = np.full((len(values), 1), np.nan)
    return np.asarray(metrics.diameter_from_girth(girths))


def _with_tool(what: str, tools: "pd.Series[str]") -> NDArray[np.object_]:
    how = tools.astype(str).to_numpy(dtype=object)
    return np.where(how == "", what, f"{what}, " + how)


def _diameter_tools(values: pd.DataFrame) -> "pd.Series[str]":
    """As told; two diameters at right angles speak for calipers."""
    two = values["diameter_cm"].notna() & values["diameter_2_cm"].notna()
    return values["girth_method"].mask(two & (values["girth_method"] == ""), "calipers")


def _tape_heights(values: pd.DataFrame) -> dict[str, Floats]:
    """Where on the stem the tape sat: put at breast height above snow, it sat higher."""
    told = values["measured_at_m"].to_numpy(dtype=float)
    above = values["above_snow_m"].to_numpy(dtype=float)
    over_snow = metrics.tape_height_over_snow(above, values["snow_depth_cm"])
    return {
        "measured_at_m": np.where(np.isnan(over_snow), told, over_snow),
        "above_snow_m": above,
    }


def _diameter_sd(values: pd.DataFrame, stems: Floats, chosen: list[Flags]) -> Floats:
    how = values["girth_method"].replace("", ASSUMED["girth"]).astype(str)
    girth_sd = input_sd("girth", how, values["girth_cm"].to_numpy(dtype=float))
    stem_sd = metrics.diameter_from_girth_sd(input_sd("girth", how, np.ones(len(values))))
    by_stems = metrics.diameter_from_stems_sd(
        stems, np.where(np.isnan(stems), np.nan, stem_sd[:, None])
    )
    by_girth = metrics.diameter_from_girth_sd(girth_sd)
    return np.select(chosen, [by_stems, by_girth, _handed_sd(values)], np.nan)


def _handed_sd(values: pd.DataFrame) -> Floats:
    """Of one diameter the tool's own; two at right angles steady each other."""
    first, second = (
        values[name].to_numpy(dtype=float) for name in ("diameter_cm", "diameter_2_cm")
    )
    tools = _diameter_tools(values).replace("", ASSUMED["diameter"]).astype(str)
    reading_sd = input_sd("diameter", tools, first)
    of_two = metrics.diameter_from_calipers_sd(first, second, reading_sd)
    return np.where(np.isnan(second), reading_sd, of_two)
