"""Plots that reach over the edge of their stand: how often each of their trees counts."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mapper import metrics
from mapper.load.plot_centres import CENTRE_PART

MADE_UP = ("mirage", "walkthrough")
# A radius belongs to the area if both were read from it: an ellipse on a slope is no circle.
SAME_AREA = 1e-6
Floats = NDArray[np.float64]


@dataclass(frozen=True)
class AtEdge:
    """What the edge makes of each tree, a row a tree."""

    times: Floats  # 1 or 2
    unknown: NDArray[np.bool_]  # the edge is near, and where the tree stands is not known
    outside: NDArray[np.bool_]  # beyond the edge


def at_edge(trees: pd.DataFrame, told: pd.DataFrame, diameter_cm: Floats) -> AtEdge:
    """How often each tree counts: as its cell `edge_double` says, else by the plot's edge.

    `trees` has edge_double and CENTRE_PART; `told` has the size of its plot that the tree is on,
    a row a tree, as load.plot_sizes gives them.
    """
    distance, bearing = (trees[name].to_numpy(dtype=float) for name in CENTRE_PART)
    edge, towards = (
        told[name].to_numpy(dtype=float) for name in ("edge_distance_m", "edge_bearing")
    )
    way, cell = told["edge"].to_numpy(dtype=object), trees["edge_double"].to_numpy(dtype=object)
    reach = _reach(told, diameter_cm)
    walked = metrics.walkthrough_count(distance, bearing, edge, towards)
    mirrored = metrics.mirage_count(distance, bearing, edge, towards, reach)
    worked = np.select([way == "walkthrough", way == "mirage"], [walked, mirrored], np.nan)
    # Walked through, a tree counts twice from half the way to the edge on.
    far = np.where(way == "walkthrough", 2 * reach, reach)
    near = np.isin(way, MADE_UP) & ~(edge > far) & ~np.isnan(edge)
    said = np.isin(cell, ("yes", "no"))
    with np.errstate(invalid="ignore"):
        beyond = distance * np.cos(np.radians(bearing - towards)) > edge
    return AtEdge(
        times=np.select([cell == "yes", cell == "no", worked == 2], [2.0, 1.0, 2.0], 1.0),
        unknown=near & ~said & np.isnan(worked),
        outside=beyond & ~said & np.isin(way, MADE_UP),
    )


def _reach(told: pd.DataFrame, diameter_cm: Floats) -> Floats:
    """How far from the middle a tree may stand; NaN on plots that are not round on the map. [m]"""
    radius = told["radius_m"].to_numpy(dtype=float)
    area = told["area_m2"].to_numpy(dtype=float)
    factor = told["basal_area_factor"].to_numpy(dtype=float)
    with np.errstate(invalid="ignore"):
        round_ = np.abs(np.pi * radius**2 - area) <= SAME_AREA * area
    by_angle = np.asarray(metrics.limiting_distance(factor, diameter_cm), dtype=float)
    return np.where(np.isnan(factor), np.where(round_, radius, np.nan), by_angle)
