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

    Columns: diameter_cm, diameter_sd_cm, diameter_method, girth_cm (measured), stems.
    """
    stems = _stem_diameters(values)
    given = ~np.isnan(stems)
    by_stems: Flags = np.any(given, axis=1)
    by_girth = ~by_stems & values["girth_cm"].notna().to_numpy()
    by_diameter = ~by_stems & ~by_girth & values["diameter_cm"].notna().to_numpy()
    chosen = [by_stems, by_girth, by_diameter]

    girth_cm = values["girth_cm"].to_numpy(dtype=float)
    diameter_cm = np.select(
        chosen,
        [
            metrics.diameter_from_stems(stems),
            metrics.diameter_from_girth(girth_cm),
            values["diameter_cm"].to_numpy(dtype=float),
        ],
        np.nan,
    )
    return pd.DataFrame(
        {
            "diameter_cm": diameter_cm,
            "diameter_sd_cm": _diameter_sd(values, stems, chosen),
            "diameter_method": np.select(chosen, ["stems", _girth_method(values), "diameter"], ""),
            "stems": np.where(by_stems, given.sum(axis=1), np.where(np.isnan(diameter_cm), 0, 1)),
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


def _girth_method(values: pd.DataFrame) -> NDArray[np.object_]:
    how = values["girth_method"].astype(str).to_numpy(dtype=object)
    return np.where(how == "", "girth", "girth, " + how)


def _diameter_sd(values: pd.DataFrame, stems: Floats, chosen: list[Flags]) -> Floats:
    how = values["girth_method"].replace("", ASSUMED["girth"]).astype(str)
    girth_sd = input_sd("girth", how, values["girth_cm"].to_numpy(dtype=float))
    stem_sd = metrics.diameter_from_girth_sd(input_sd("girth", how, np.ones(len(values))))
    by_stems = metrics.diameter_from_stems_sd(
        stems, np.where(np.isnan(stems), np.nan, stem_sd[:, None])
    )
    typed = input_sd("diameter", how, values["diameter_cm"].to_numpy(dtype=float))
    return np.select(chosen, [by_stems, metrics.diameter_from_girth_sd(girth_sd), typed], np.nan)
