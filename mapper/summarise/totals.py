"""stands → the whole survey: its ground, its trees, their cut faces, with what they leave open."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mapper.load.plot_sizes import SAMPLED

Floats = NDArray[np.float64]
COLUMNS = ["quantity", "value", "low", "high", "stands", "stands_left_out"]


def survey_totals(stands: pd.DataFrame) -> pd.DataFrame:
    """Area, living trees and basal area of all stands that were counted or sampled.

    Stands whose trees were only chosen, and stands without an area or with a guessed one, are left
    out and counted.
    """
    complete = (stands["design"] == "complete count").to_numpy()
    sampled = (stands["design"].isin(SAMPLED) & (stands["selection"] != "by hand")).to_numpy()
    known = (complete | sampled) & (stands["area_from"] != "trees").to_numpy()
    area = stands["area_ha"].where(known).to_numpy(dtype=float)
    stems = _times(stands, "stems_per_ha", area)
    # Where every tree was counted, their number needs no area.
    stems[:, complete] = stands["trees"].to_numpy(dtype=float)[complete]
    basal = _times(stands, "basal_area_m2_per_ha", area)
    rows = [
        _total("area_ha", np.stack([area] * 3), complete),
        _total("trees", stems, complete),
        _total("basal_area_m2", basal, complete),
    ]
    return pd.DataFrame(rows, columns=COLUMNS)


def _times(stands: pd.DataFrame, quantity: str, area_ha: Floats) -> Floats:
    """Value, lower and upper end of each stand's total."""
    parts = [stands[name].to_numpy(dtype=float) for name in
             (quantity, f"{quantity}_low", f"{quantity}_high")]  # fmt: skip
    return np.stack(parts) * area_ha


def _total(quantity: str, parts: Floats, complete: NDArray[np.bool_]) -> dict[str, object]:
    value, low, high = parts
    known = np.isfinite(value)
    total = value[known].sum() if known.any() else np.nan
    down, up = value - low, high - value
    return {
        "quantity": quantity,
        "value": total,
        "low": total - _reach(down[known], complete[known]),
        "high": total + _reach(up[known], complete[known]),
        "stands": int(known.sum()),
        "stands_left_out": int((~known).sum()),
    }


def _reach(reaches: Floats, complete: NDArray[np.bool_]) -> float:
    """How far a total reaches to one side.

    Plots of one stand are drawn apart from those of another: their chances partly cancel. Stands
    measured with one tape may all be wrong the same way: those add up.
    """
    shared = reaches[complete].sum()
    chance = np.sqrt((reaches[~complete] ** 2).sum())
    return float(np.hypot(shared, chance))
