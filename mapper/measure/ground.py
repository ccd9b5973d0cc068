"""Ground of completely counted stands that nobody drew: guessed from where their trees are."""

from collections.abc import Collection

import numpy as np
import pandas as pd
import shapely
from pyproj import Transformer

from mapper import metrics
from mapper.survey import Survey

GUESSED = ["stand", "area_ha", "margin_m", "narrow_ha", "wide_ha"]
# Around a few trees the margin is most of the ground.
LEAST_TREES = 10


def guessed_areas(trees: pd.DataFrame, survey: Survey, outlined: Collection[str]) -> pd.DataFrame:
    """Area of each stand whose every tree was counted and that has no outline and no area.

    A row a stand with GUESSED: the hull around its trees, widened by half their mean spacing
    (`margin_m`); `narrow_ha` is without that margin, `wide_ha` with twice as much. `trees` are
    the measured trees. A stand is left out where a tree has no exact place, or where the places
    are coarser than the margin.
    """
    rows = []
    standing = trees[trees["status"].isin(["alive", "dead"]) & (trees["stand"] != "")]
    for name, mine in standing.groupby("stand", sort=True):
        stand = survey.stand_called(str(name))
        asked = stand.design == "complete count" and stand.area is None and name not in outlined
        if asked and survey.publish.positions == "exact" and _all_placed(mine):
            rows.append((str(name), *_around(mine)))
    table = pd.DataFrame(rows, columns=[*GUESSED, "accuracy_m"])
    coarse = table["accuracy_m"].fillna(0) > table["margin_m"]
    return table.loc[~coarse & (table["narrow_ha"] > 0), GUESSED].reset_index(drop=True)


def _all_placed(trees: pd.DataFrame) -> bool:
    each = trees["lat"].notna() & (trees["tally"] <= 1) & trees["privacy"].isin(["", "exact"])
    return len(trees) >= LEAST_TREES and bool(each.all())


def _around(trees: pd.DataFrame) -> tuple[float, float, float, float, float]:
    """Area, margin, area without and with twice the margin; how sure the places are."""
    lat, lon = trees["lat"].to_numpy(dtype=float), trees["lon"].to_numpy(dtype=float)
    plane = Transformer.from_pipeline(
        "+proj=pipeline +step +proj=unitconvert +xy_in=deg +xy_out=rad "
        f"+step +proj=laea +lat_0={np.median(lat):.9f} +lon_0={np.median(lon):.9f} +ellps=WGS84"
    )
    spots = shapely.multipoints(np.column_stack(plane.transform(lon, lat)))
    hull = shapely.convex_hull(spots)
    size = float(shapely.area(hull)), float(shapely.length(hull))
    margin = float(metrics.hull_margin(*size, len(trees)))
    area, narrow, wide = (float(metrics.widened_area(*size, k * margin)) for k in (1, 0, 2))
    return area, margin, narrow, wide, float(trees["place_accuracy_m"].median())
