"""Uncertainty of heights whose baseline slants, lies on the ground, or ends at a mark.

Where an angle serves twice, for the level distance and for the height, its error is followed
through both at once: they may add up or cancel.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from mapper.metrics.distance import distance_along_ground


@np.errstate(divide="ignore", invalid="ignore")
def height_from_slope_sd(
    slope_m: ArrayLike,
    top_deg: ArrayLike,
    base_deg: ArrayLike,
    slope_sd_m: ArrayLike,
    angle_sd_deg: ArrayLike,
) -> NDArray[np.float64]:
    """Uncertainty of a height from the distance straight to the foot and two angles.

    sd = sqrt((cos(base) * (tan(top) - tan(base)) * slope sd)² + slope distance² *
    ((cos(base) / cos(top)²)² + (cos(top - base) / cos(top))²) * angle sd²)

    Parameters
    ----------
    slope_m
        Distance from the eye straight to the stem base, above 0. [m]
    top_deg, base_deg
        Elevations of the highest point and of the stem base, negative below the eye. [deg]
    slope_sd_m
        Standard uncertainty of the slope distance, 0 or more. [m]
    angle_sd_deg
        Standard uncertainty of each angle reading, 0 or more. [deg]

    Returns
    -------
    height_sd_m
        Standard uncertainty of the height; NaN where the inputs cannot describe a tree. [m]

    Notes
    -----
    Source: GUM2008, eq. 10.
    First order, with the angle's uncertainty in radians. The angle to the foot makes the
    distance level as well, and its error is counted through both. With an angle uncertainty of
    0 it gives the share of the distance.

    Examples
    --------
    >>> print(height_from_slope_sd(25, 30, -10, 0.12, 1.0).round(3))
    0.697
    """
    slope, slope_sd = np.asarray(slope_m, dtype=float), np.asarray(slope_sd_m, dtype=float)
    top, base, angle_sd = np.radians(top_deg), np.radians(base_deg), np.radians(angle_sd_deg)

    from_slope = np.cos(base) * (np.tan(top) - np.tan(base)) * slope_sd
    from_top = slope * np.cos(base) / np.cos(top) ** 2 * angle_sd
    from_base = slope * np.cos(top - base) / np.cos(top) * angle_sd
    sd = np.sqrt(from_slope**2 + from_top**2 + from_base**2)

    upright = (-np.pi / 2 < base) & (base < top) & (top < np.pi / 2)
    known = (slope > 0) & (slope < np.inf) & (slope_sd >= 0) & (angle_sd >= 0)
    return np.where(upright & known, sd, np.nan)[()]


@np.errstate(divide="ignore", invalid="ignore")
def height_along_ground_sd(
    tape_m: ArrayLike,
    top_deg: ArrayLike,
    base_deg: ArrayLike,
    eye_height_m: ArrayLike,
    distance_sd_m: ArrayLike,
    angle_sd_deg: ArrayLike,
) -> NDArray[np.float64]:
    """Uncertainty of a height from a tape along the ground and two angles.

    sd = sqrt(((tan(top) - tan(base)) * distance sd)² + (distance / cos(top)²)² * angle sd² +
    (distance / cos(base)² * (1 + (tan(top) - tan(base)) * rise / (distance + rise *
    tan(base))))² * angle sd²), rise = eye height + distance * tan(base)

    Parameters
    ----------
    tape_m
        Length of the tape from the observer's feet to the stem base, above eye height. [m]
    top_deg, base_deg
        Elevations of the highest point and of the stem base, negative below the eye. [deg]
    eye_height_m
        Height of the eye above the ground, 0 or more. [m]
    distance_sd_m
        Standard uncertainty of the level distance from tape and eye height alone, 0 or more:
        distance_along_ground_sd with an angle uncertainty of 0. [m]
    angle_sd_deg
        Standard uncertainty of each angle reading, 0 or more. [deg]

    Returns
    -------
    height_sd_m
        Standard uncertainty of the height; NaN where the inputs cannot describe a tree. [m]

    Notes
    -----
    Source: GUM2008, eq. 10.
    First order, with the angle's uncertainty in radians. The angle to the foot makes the
    distance level as well, and its error is counted through both. With an angle uncertainty of
    0 it gives the share of the distance.

    Examples
    --------
    >>> print(height_along_ground_sd(25, 30, -10, 1.6, 0.12, 1.0).round(3))
    0.715
    """
    eye_height, distance_sd = np.asarray(eye_height_m, float), np.asarray(distance_sd_m, float)
    top, base, angle_sd = np.radians(top_deg), np.radians(base_deg), np.radians(angle_sd_deg)

    distance = np.asarray(distance_along_ground(tape_m, base_deg, eye_height))
    rise = eye_height + distance * np.tan(base)
    span = np.tan(top) - np.tan(base)
    through_distance = span * rise / (distance + rise * np.tan(base))
    from_base = distance / np.cos(base) ** 2 * (1 + through_distance) * angle_sd
    from_top = distance / np.cos(top) ** 2 * angle_sd
    sd = np.sqrt((span * distance_sd) ** 2 + from_top**2 + from_base**2)

    upright = (base < top) & (top < np.pi / 2)
    return np.where(upright & (distance_sd >= 0) & (angle_sd >= 0), sd, np.nan)[()]


@np.errstate(invalid="ignore")
def height_from_slants_sd(
    slant_top_m: ArrayLike,
    top_deg: ArrayLike,
    slant_base_m: ArrayLike,
    base_deg: ArrayLike,
    slant_sd_m: ArrayLike,
    angle_sd_deg: ArrayLike,
) -> NDArray[np.float64]:
    """Uncertainty of a height from two straight distances and two angles.

    sd = sqrt((sin(top)² + sin(base)²) * slant sd² + ((slant to top * cos(top))² + (slant to
    base * cos(base))²) * angle sd²)

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
    slant_sd_m
        Standard uncertainty of each distance, 0 or more. [m]
    angle_sd_deg
        Standard uncertainty of each angle reading, 0 or more. [deg]

    Returns
    -------
    height_sd_m
        Standard uncertainty of the height; NaN where the inputs cannot describe a tree. [m]

    Notes
    -----
    Source: GUM2008, eq. 10.
    First order, with the angle's uncertainty in radians. All four readings are taken one by
    one, so their errors have nothing in common; a rangefinder that always reads too far is not
    covered.

    Examples
    --------
    >>> print(height_from_slants_sd(30, 40, 24, -4, 0.5, 1.0).round(3))
    0.663
    """
    slant_top, slant_base = np.asarray(slant_top_m, float), np.asarray(slant_base_m, float)
    top, base, angle_sd = np.radians(top_deg), np.radians(base_deg), np.radians(angle_sd_deg)
    slant_sd = np.asarray(slant_sd_m, dtype=float)

    from_slants = np.sqrt(np.sin(top) ** 2 + np.sin(base) ** 2) * slant_sd
    from_top = slant_top * np.cos(top) * angle_sd
    from_base = slant_base * np.cos(base) * angle_sd
    sd = np.sqrt(from_slants**2 + from_top**2 + from_base**2)

    sighted = (abs(top) <= np.pi / 2) & (abs(base) <= np.pi / 2)
    upright = slant_top * np.sin(top) > slant_base * np.sin(base)
    known = (slant_top > 0) & (slant_base > 0) & (slant_sd >= 0) & (angle_sd >= 0)
    return np.where(sighted & upright & known & (sd < np.inf), sd, np.nan)[()]


@np.errstate(divide="ignore", invalid="ignore")
def height_from_mark_sd(
    distance_m: ArrayLike,
    top_deg: ArrayLike,
    mark_deg: ArrayLike,
    distance_sd_m: ArrayLike,
    angle_sd_deg: ArrayLike,
    mark_height_sd_m: ArrayLike,
) -> NDArray[np.float64]:
    """Uncertainty of a height from a mark at a known height on the stem.

    sd = sqrt((tan(top) - tan(mark))² * distance sd² + distance² * (1 / cos(top)⁴ +
    1 / cos(mark)⁴) * angle sd² + mark height sd²)

    Parameters
    ----------
    distance_m
        Horizontal distance from the eye to the middle of the stem, above 0. [m]
    top_deg, mark_deg
        Elevations of the highest point and of the mark, negative below the eye. [deg]
    distance_sd_m
        Standard uncertainty of the distance, 0 or more. [m]
    angle_sd_deg
        Standard uncertainty of each angle reading, 0 or more. [deg]
    mark_height_sd_m
        Standard uncertainty of the height of the mark, 0 or more. [m]

    Returns
    -------
    height_sd_m
        Standard uncertainty of the height; NaN where the inputs cannot describe a tree. [m]

    Notes
    -----
    Source: GUM2008, eq. 10.
    First order, with the angle's uncertainty in radians. For a distance measured straight to
    the mark, join height_from_slope_sd with the mark's own uncertainty as combined_sd says.

    Examples
    --------
    >>> print(height_from_mark_sd(20, 42, -2, 0.12, 1.0, 0.02).round(3))
    0.731
    """
    distance, distance_sd = np.asarray(distance_m, dtype=float), np.asarray(distance_sd_m, float)
    top, mark, angle_sd = np.radians(top_deg), np.radians(mark_deg), np.radians(angle_sd_deg)
    mark_sd = np.asarray(mark_height_sd_m, dtype=float)

    from_distance = (np.tan(top) - np.tan(mark)) * distance_sd
    from_top = distance / np.cos(top) ** 2 * angle_sd
    from_mark = distance / np.cos(mark) ** 2 * angle_sd
    sd = np.sqrt(from_distance**2 + from_top**2 + from_mark**2 + mark_sd**2)

    upright = (-np.pi / 2 < mark) & (mark < top) & (top < np.pi / 2)
    known = (distance > 0) & (distance < np.inf) & (distance_sd >= 0)
    return np.where(upright & known & (angle_sd >= 0) & (mark_sd >= 0), sd, np.nan)[()]
