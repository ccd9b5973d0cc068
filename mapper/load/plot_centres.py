"""Where each tree stands as seen from the middle of its plot."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mapper import metrics
from mapper.load.known_points import Points, point_key
from mapper.load.network import Spots
from mapper.load.norths import ELLIPSOID
from mapper.load.offsets import Offsets

# Places less sure than this do not say on which side of a line a tree counts.
SURE_M = 1.0
FULL_TURN = 360.0
CENTRE_PART = ["from_centre_m", "from_centre_deg"]
Floats = NDArray[np.float64]


def nowhere_from_centre(values: pd.DataFrame) -> pd.DataFrame:
    """The columns CENTRE_PART of records of which nobody knows it."""
    return pd.DataFrame(np.nan, index=values.index, columns=CENTRE_PART)


def taped_from_centre(
    values: pd.DataFrame, offsets: Offsets, points: Points, north_deg: Floats
) -> pd.DataFrame:
    """Distance and true bearing of records that were measured from the middle of their own plot.

    `north_deg` is the direction of the north that each step counts from.
    """
    found = nowhere_from_centre(values)
    steps = offsets.steps
    own = points.plots.reindex(point_key(values["plot"].astype(str))).to_numpy(dtype=float)
    from_own = (steps.point == own[offsets.records]) & (steps.point_2 < 0)
    bearing = metrics.true_bearing(steps.bearing_deg, north_deg)
    told = np.column_stack([steps.distance_m, bearing])
    found.iloc[offsets.records[from_own]] = told[from_own]
    return found


def placed_from_centre(
    values: pd.DataFrame, spots: Spots, anchors: Spots, points: Points
) -> pd.DataFrame:
    """The same from the places of tree and middle, where these are sure to a metre.

    A tree that hangs on the middle of its plot by tapes is as sure as the tapes.
    """
    own = points.plots.reindex(point_key(values["plot"].astype(str))).to_numpy(dtype=float)
    has_plot = ~np.isnan(own)
    number = np.where(has_plot, own, 0).astype(np.int64)
    empty = anchors.lon.size == 0
    middle = spots if empty else anchors.take(number)
    apart_m = np.hypot(spots.accuracy_m, middle.radius_m)
    off_m = np.where(spots.root == number, spots.relative_m, apart_m)
    sure = has_plot & spots.placed & middle.placed & (off_m <= SURE_M) & (not empty)
    bearing, _, distance = ELLIPSOID.inv(
        middle.lon[sure], middle.lat[sure], spots.lon[sure], spots.lat[sure]
    )
    found = nowhere_from_centre(values)
    found.iloc[np.flatnonzero(sure)] = np.column_stack([distance, bearing % FULL_TURN])
    return found
