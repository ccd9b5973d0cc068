"""Heights from a baseline and angles."""

import numpy as np
from numpy.typing import ArrayLike, NDArray


@np.errstate(invalid="ignore")
def height_from_angles(
    distance_m: ArrayLike, top_deg: ArrayLike, base_deg: ArrayLike
) -> NDArray[np.float64]:
    """Height of an upright tree from one level distance and the angles to its top and foot.

    height = distance * (tan(top) - tan(base))

    Parameters
    ----------
    distance_m
        Horizontal distance from the eye to the middle of the stem, above 0. [m]
    top_deg
        Elevation of the highest point, between -90 and 90. [deg]
    base_deg
        Elevation of the stem base, negative below the eye, less than that of the top. [deg]

    Returns
    -------
    height_m
        NaN where the inputs cannot describe a tree. [m]

    Notes
    -----
    Source: BRACK1998, page HEIGHT2.
    Good for a base below, level with or above the eye. It reads high if the top leans towards
    the observer: a top 20 m above the eye that hangs 3 m forward reads 17.6 % high from 20 m,
    and 11.1 % from 30 m. A near twig taken for the top does the same. Stand at least one tree
    height away.

    Examples
    --------
    >>> print(height_from_angles(20, 38, -5).round(2))
    17.38
    """
    distance = np.asarray(distance_m, dtype=float)
    top, base = np.radians(top_deg), np.radians(base_deg)

    height = distance * (np.tan(top) - np.tan(base))

    upright = (-np.pi / 2 < base) & (base < top) & (top < np.pi / 2)
    return np.where((distance > 0) & (distance < np.inf) & upright, height, np.nan)[()]


@np.errstate(invalid="ignore")
def height_from_top_angle(
    distance_m: ArrayLike, top_deg: ArrayLike, eye_height_m: ArrayLike
) -> NDArray[np.float64]:
    """Height of an upright tree on level ground from one distance, one angle and eye height.

    height = distance * tan(top) + eye height

    Parameters
    ----------
    distance_m
        Horizontal distance from the eye to the middle of the stem, above 0. [m]
    top_deg
        Elevation of the highest point, between -90 and 90, negative below the eye. [deg]
    eye_height_m
        Height of the eye above the ground, 0 or more. [m]

    Returns
    -------
    height_m
        NaN where the inputs cannot describe a tree. [m]

    Notes
    -----
    Source: WILLISTRIG, height of a wall from a baseline, an angle and an instrument height.
    Right only where the foot of the tree is level with the observer's own feet: a foot half a
    metre lower makes the height half a metre too small. On a slope measure the angle to the
    foot as well. Reads high if the tree leans towards the observer.

    Examples
    --------
    >>> print(height_from_top_angle(20, 38, 1.6).round(2))
    17.23
    """
    distance = np.asarray(distance_m, dtype=float)
    top, eye_height = np.radians(top_deg), np.asarray(eye_height_m, dtype=float)

    height = distance * np.tan(top) + eye_height

    level = (abs(top) < np.pi / 2) & (eye_height >= 0) & (height > 0) & (height < np.inf)
    return np.where((distance > 0) & level, height, np.nan)[()]
