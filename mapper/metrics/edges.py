"""Trees near the edge of a stand that count twice, because plots meet them too rarely."""

import numpy as np
from numpy.typing import ArrayLike, NDArray


@np.errstate(invalid="ignore")
def walkthrough_count(
    distance_m: ArrayLike,
    bearing_deg: ArrayLike,
    edge_distance_m: ArrayLike,
    edge_bearing_deg: ArrayLike,
) -> NDArray[np.float64]:
    """How often a tree of the plot counts when somebody walks through it to the edge.

    count = 2 where 2 * distance * cos(bearing - bearing of the edge) > distance of the edge, else 1

    Parameters
    ----------
    distance_m
        From the middle of the plot to the middle of the tree, horizontal, 0 or more. [m]
    bearing_deg
        Direction from the middle of the plot to the tree. [deg]
    edge_distance_m
        From the middle of the plot to the nearest point of the edge, 0 or more. [m]
    edge_bearing_deg
        Direction of that point, from the same north. [deg]

    Returns
    -------
    count
        2 where the walk goes as far beyond the tree as to it, and ends outside the stand; else 1.
        NaN where one of the four is missing. [-]

    Notes
    -----
    Source: DUCEY2004, the walkthrough method, for an edge that is a straight line.
    Where two edges meet in a corner near the plot, fill in edge_double in the field.

    Examples
    --------
    >>> print(walkthrough_count(6, 30, 10, 0))
    2.0
    """
    distance, bearing, edge, towards = _numbers(
        distance_m, bearing_deg, edge_distance_m, edge_bearing_deg
    )

    end = 2 * distance * np.cos(np.radians(bearing - towards))

    known = (distance >= 0) & (edge >= 0) & ~np.isnan(end)
    return np.where(known, np.where(end > edge, 2.0, 1.0), np.nan)[()]


@np.errstate(invalid="ignore")
def mirage_count(
    distance_m: ArrayLike,
    bearing_deg: ArrayLike,
    edge_distance_m: ArrayLike,
    edge_bearing_deg: ArrayLike,
    reach_m: ArrayLike,
) -> NDArray[np.float64]:
    """How often a tree of the plot counts when the plot is mirrored over the edge.

    count = 2 where distance² + 4 * edge * (edge - distance * cos(bearing - bearing of the edge))
    <= reach², else 1; edge is the distance of the edge

    Parameters
    ----------
    distance_m
        From the middle of the plot to the middle of the tree, horizontal, 0 or more. [m]
    bearing_deg
        Direction from the middle of the plot to the tree. [deg]
    edge_distance_m
        From the middle of the plot to the nearest point of the edge, 0 or more. [m]
    edge_bearing_deg
        Direction of that point, from the same north. [deg]
    reach_m
        Radius of the round plot, or limiting distance of the tree, above 0. [m]

    Returns
    -------
    count
        2 where the tree is also in reach of the mirrored middle of the plot; else 1. NaN where
        one of the five is missing. [-]

    Notes
    -----
    Source: MIRAGE2001, the mirage method, for an edge that is a straight line.
    Where two edges meet in a corner near the plot, fill in edge_double in the field.

    Examples
    --------
    >>> print(mirage_count(6, 0, 6, 0, 10))
    2.0
    """
    distance, bearing, edge, towards = _numbers(
        distance_m, bearing_deg, edge_distance_m, edge_bearing_deg
    )
    reach = np.asarray(reach_m, dtype=float)

    along = distance * np.cos(np.radians(bearing - towards))
    square = distance**2 + 4 * edge * (edge - along)

    known = (distance >= 0) & (edge >= 0) & (reach > 0) & ~np.isnan(square)
    return np.where(known, np.where(square <= reach**2, 2.0, 1.0), np.nan)[()]


def _numbers(*values: ArrayLike) -> tuple[NDArray[np.float64], ...]:
    return tuple(np.asarray(value, dtype=float) for value in values)
