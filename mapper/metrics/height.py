"""Heights from angles: over a level, a slanting or a taped baseline, or from a known mark."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from mapper.metrics.distance import distance_along_ground


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
        Height of the tree; NaN where the inputs cannot describe a tree. [m]

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
        Height of the tree; NaN where the inputs cannot describe a tree. [m]

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


@np.errstate(invalid="ignore")
def height_from_slope(
    slope_m: ArrayLike, top_deg: ArrayLike, base_deg: ArrayLike
) -> NDArray[np.float64]:
    """Height of an upright tree from the distance straight to its foot and two angles.

    height = slope distance * cos(base) * (tan(top) - tan(base))

    Parameters
    ----------
    slope_m
        Distance from the eye straight to the stem base, above 0. [m]
    top_deg
        Elevation of the highest point, between -90 and 90. [deg]
    base_deg
        Elevation of the stem base, negative below the eye, less than that of the top. [deg]

    Returns
    -------
    height_m
        Height of the tree; NaN where the inputs cannot describe a tree. [m]

    Notes
    -----
    Source: BRACK1998, page HEIGHT2 (sloping ground).
    It makes the distance level first, then goes on as with a level one, and shares its limits.
    With a mark on the stem in place of the foot it gives the height above the mark.

    Examples
    --------
    >>> print(height_from_slope(25, 30, -10).round(2))
    18.56
    """
    slope = np.asarray(slope_m, dtype=float)
    top, base = np.radians(top_deg), np.radians(base_deg)

    height = slope * np.cos(base) * (np.tan(top) - np.tan(base))

    upright = (-np.pi / 2 < base) & (base < top) & (top < np.pi / 2)
    return np.where((slope > 0) & (slope < np.inf) & upright, height, np.nan)[()]


@np.errstate(invalid="ignore")
def height_along_ground(
    tape_m: ArrayLike, top_deg: ArrayLike, base_deg: ArrayLike, eye_height_m: ArrayLike
) -> NDArray[np.float64]:
    """Height of an upright tree from a tape along the ground to its foot and two angles.

    height = distance * (tan(top) - tan(base)), distance = cos(base) *
    (sqrt(tape² - (eye height * cos(base))²) - eye height * sin(base))

    Parameters
    ----------
    tape_m
        Length of the tape from the observer's feet to the stem base, above eye height. [m]
    top_deg
        Elevation of the highest point, between -90 and 90. [deg]
    base_deg
        Elevation of the stem base, negative below the eye, less than that of the top. [deg]
    eye_height_m
        Height of the eye above the ground, 0 or more. [m]

    Returns
    -------
    height_m
        Height of the tree; NaN where the inputs cannot describe a tree. [m]

    Notes
    -----
    Source: BRACK1998, page HEIGHT2, over the level distance of distance_along_ground.
    The tape must lie straight. It shares the limits of every height from two angles.

    Examples
    --------
    >>> print(height_along_ground(25, 30, -10, 1.6).round(2))
    18.73
    """
    return height_from_angles(
        distance_along_ground(tape_m, base_deg, eye_height_m), top_deg, base_deg
    )


@np.errstate(invalid="ignore")
def height_from_slants(
    slant_top_m: ArrayLike, top_deg: ArrayLike, slant_base_m: ArrayLike, base_deg: ArrayLike
) -> NDArray[np.float64]:
    """Height of a tree from the straight distances to its top and foot and the two angles.

    height = slant to top * sin(top) - slant to base * sin(base)

    Parameters
    ----------
    slant_top_m
        Distance from the eye straight to the highest point, above 0. [m]
    top_deg
        Elevation of that point, -90 to 90. [deg]
    slant_base_m
        Distance from the eye straight to the stem base, above 0. [m]
    base_deg
        Elevation of the stem base, -90 to 90, negative below the eye. [deg]

    Returns
    -------
    height_m
        Height of the tree; NaN where the inputs cannot describe a tree. [m]

    Notes
    -----
    Source: LEVERETT2006, sine top and sine bottom.
    A leaning top does no harm here, and a near twig taken for the top reads low, never high. A
    rangefinder that is off, or an angle misread, can still err either way.

    Examples
    --------
    >>> print(height_from_slants(30, 40, 24, -4).round(2))
    20.96
    """
    slant_top, slant_base = np.asarray(slant_top_m, float), np.asarray(slant_base_m, float)
    top, base = np.radians(top_deg), np.radians(base_deg)

    height = slant_top * np.sin(top) - slant_base * np.sin(base)

    sighted = (abs(top) <= np.pi / 2) & (abs(base) <= np.pi / 2)
    sound = (slant_top > 0) & (slant_base > 0) & (height > 0) & (height < np.inf)
    return np.where(sighted & sound, height, np.nan)[()]


@np.errstate(invalid="ignore")
def height_from_mark(
    distance_m: ArrayLike, top_deg: ArrayLike, mark_deg: ArrayLike, mark_height_m: ArrayLike
) -> NDArray[np.float64]:
    """Height of an upright tree whose foot is hidden, from a mark at a known height on the stem.

    height = distance * (tan(top) - tan(mark)) + mark height

    Parameters
    ----------
    distance_m
        Horizontal distance from the eye to the middle of the stem, above 0. [m]
    top_deg
        Elevation of the highest point, between -90 and 90. [deg]
    mark_deg
        Elevation of the mark, negative below the eye, less than that of the top. [deg]
    mark_height_m
        Height of the mark above the ground at the stem, 0 or more. [m]

    Returns
    -------
    height_m
        Height of the tree; NaN where the inputs cannot describe a tree. [m]

    Notes
    -----
    Source: BRACK1998, page HEIGHT2, from the mark up; what is below the mark is added.
    For a foot behind brush, snow or a wall: a ribbon at 1.30 m, or the tip of a staff held to
    the stem. Count the mark's height from the ground, not from the snow. It shares the limits
    of every height from two angles.

    Examples
    --------
    >>> print(height_from_mark(20, 42, -2, 1.3).round(2))
    20.01
    """
    above = np.asarray(height_from_angles(distance_m, top_deg, mark_deg))
    mark_height = np.asarray(mark_height_m, dtype=float)

    height = above + mark_height

    return np.where((mark_height >= 0) & (height < np.inf), height, np.nan)[()]
