"""trees → a curve of height by thickness for each stand."""

import numpy as np
import pandas as pd

from mapper import metrics
from mapper.summarise.side_by_side import rectangles

LEAST_TREES = 10
COLUMNS = ["stand", "trees", "curve_a", "curve_b", "curve_sd_m"]


def height_curves(living: pd.DataFrame, breast_height_m: float) -> pd.DataFrame:
    """Näslund's curve where enough living trees have both sizes; no height is filled in by it."""
    both = living["diameter_cm"].notna() & (living["height_m"] > breast_height_m)
    told = (living["privacy"] != "withheld") & ~living["secret"] & (living["stand"] != "")
    sized = living[both & told]
    number, names = pd.factorize(sized["stand"], sort=True)
    table = pd.DataFrame(np.nan, index=range(len(names)), columns=COLUMNS[1:])
    for some in rectangles(sized[["diameter_cm", "height_m"]], number, len(names)):
        diameters, heights = some["diameter_cm"], some["height_m"]
        a, b = np.moveaxis(metrics.naslund_fit(diameters, heights, breast_height_m), -1, 0)
        curve = metrics.naslund_height(diameters, a[:, None], b[:, None], breast_height_m)
        trees = np.sum(~np.isnan(heights), axis=-1)
        # Two numbers are fitted.
        sd = np.sqrt(np.nansum((heights - curve) ** 2, axis=-1) / np.maximum(trees - 2, 1))
        table.loc[some.groups] = np.column_stack([trees, a, b, sd])
    table.insert(0, "stand", pd.Series(names, dtype=str))
    rising = (table["curve_a"] > 0) & (table["curve_b"] > 0)
    fitted = table[(table["trees"] >= LEAST_TREES) & rising]
    return fitted.astype({"trees": int}).reset_index(drop=True)
