"""Level distances from slanting ones, and their uncertainty."""

import numpy as np
from numpy.typing import ArrayLike, NDArray


@np.errstate(invalid="ignore")
def distance_from_slope(slope_m: ArrayLike, slope_deg: ArrayLike) -> NDArray[np.float64]:
    """Level distance from a distance measured straight from the eye to a point of the stem.

    distance = slope distance * cos(angle)

    Parameters
    ----------
    slope_m
        Distance from the eye straight to the stem base or to a mark on the stem, above 0. [m]
    slope_deg
        Elevation of that same point, between -90 and 90, negative below the eye. [deg]

    Returns
    -------
    distance_m
        Level distance; NaN where the inputs cannot describe a line. [m]

    Notes
    -----
    Source: BRACK1998, page HEIGHT2 (OC = OB x COS(BOC)).
    For a tape that lies on the ground take distance_along_ground. On a slope of 10 degrees an
    uncorrected distance makes the height 1.5 % too large, on one of 20 degrees 6.4 %.

    Examples
    --------
    >>> print(distance_from_slope(25, -10).round(2))
    24.62
    """
    slope, angle = np.asarray(slope_m, dtype=float), np.radians(slope_deg)

    distance = slope * np.cos(angle)

    return np.where((slope > 0) & (slope < np.inf) & (abs(angle) < np.pi / 2), distance, np.nan)[()]


@np.errstate(invalid="ignore")
def distance_from_slope_sd(
    slope_m: ArrayLike, slope_deg: ArrayLike, slope_sd_m: ArrayLike, angle_sd_deg: ArrayLike
) -> NDArray[np.float64]:
    """Uncertainty of a level distance from one measured straight from the eye to the stem.

    sd = sqrt((cos(angle) * slope sd)² + (slope distance * sin(angle) * angle sd)²)

    Parameters
    ----------
    slope_m
        Distance from the eye straight to the point of the stem, above 0. [m]
    slope_deg
        Elevation of that same point, between -90 and 90, negative below the eye. [deg]
    slope_sd_m
        Standard uncertainty of the slope distance, 0 or more. [m]
    angle_sd_deg
        Standard uncertainty of the angle reading, 0 or more. [deg]

    Returns
    -------
    distance_sd_m
        Standard uncertainty of the level distance; NaN where the inputs cannot describe a line. [m]

    Notes
    -----
    Source: GUM2008, eq. 10.
    First order, with the angle's uncertainty in radians. Where the angle serves for the height
    as well, take height_from_slope_sd, which counts it once.

    Examples
    --------
    >>> print(distance_from_slope_sd(25, -10, 0.12, 1.0).round(3))
    0.14
    """
    slope, slope_sd = np.asarray(slope_m, dtype=float), np.asarray(slope_sd_m, dtype=float)
    angle, angle_sd = np.radians(slope_deg), np.radians(angle_sd_deg)

    from_slope = np.cos(angle) * slope_sd
    from_angle = slope * np.sin(angle) * angle_sd
    sd = np.sqrt(from_slope**2 + from_angle**2)

    sound = (slope > 0) & (slope < np.inf) & (abs(angle) < np.pi / 2)
    return np.where(sound & (slope_sd >= 0) & (angle_sd >= 0), sd, np.nan)[()]


@np.errstate(invalid="ignore")
def distance_along_ground(
    tape_m: ArrayLike, base_deg: ArrayLike, eye_height_m: ArrayLike
) -> NDArray[np.float64]:
    """Level distance from a tape laid straight along the ground from the feet to the stem base.

    distance = cos(base) * (sqrt(tape² - (eye height * cos(base))²) - eye height * sin(base))

    Parameters
    ----------
    tape_m
        Length of the tape from the observer's feet to the stem base, above eye height. [m]
    base_deg
        Elevation of the stem base from the eye, negative below the eye. [deg]
    eye_height_m
        Height of the eye above the ground, 0 or more. [m]

    Returns
    -------
    distance_m
        Level distance from the eye to the stem; NaN where the inputs cannot describe a line along
        the ground. [m]

    Notes
    -----
    Source: EUCLID, book I, 47: tape² = distance² + rise², solved for the distance.
    The rise is eye height + distance * tan(base), from the feet to the stem base. The tape
    starts at the feet and the angle at the eye, so the cosine alone will not do: 25 m at -10
    degrees with the eye at 1.6 m is 24.84 m, where 25 * cos(10°) says 24.62. The tape must be
    straight, not sag into hollows, and longer than the eye is high.

    Examples
    --------
    >>> print(distance_along_ground(25, -10, 1.6).round(2))
    24.84
    """
    tape, eye_height = np.asarray(tape_m, dtype=float), np.asarray(eye_height_m, dtype=float)
    base = np.radians(base_deg)

    reach = np.sqrt(tape**2 - (eye_height * np.cos(base)) ** 2)
    distance = np.cos(base) * (reach - eye_height * np.sin(base))

    sound = (eye_height >= 0) & (tape > eye_height) & (tape < np.inf)
    return np.where(sound & (abs(base) < np.pi / 2), distance, np.nan)[()]


@np.errstate(divide="ignore", invalid="ignore")
def distance_along_ground_sd(
    tape_m: ArrayLike,
    base_deg: ArrayLike,
    eye_height_m: ArrayLike,
    tape_sd_m: ArrayLike,
    eye_height_sd_m: ArrayLike,
    angle_sd_deg: ArrayLike,
) -> NDArray[np.float64]:
    """Uncertainty of a level distance from a tape laid along the ground.

    sd = sqrt((tape * tape sd)² + (rise * eye height sd)² + (rise * distance / cos(base)² *
    angle sd)²) / (distance + rise * tan(base)), rise = eye height + distance * tan(base)

    Parameters
    ----------
    tape_m
        Length of the tape from the observer's feet to the stem base, above eye height. [m]
    base_deg
        Elevation of the stem base from the eye, negative below the eye. [deg]
    eye_height_m
        Height of the eye above the ground, 0 or more. [m]
    tape_sd_m
        Standard uncertainty of the tape's length, 0 or more. [m]
    eye_height_sd_m
        Standard uncertainty of the eye height, 0 or more. [m]
    angle_sd_deg
        Standard uncertainty of the angle reading, 0 or more. [deg]

    Returns
    -------
    distance_sd_m
        Standard uncertainty of the level distance; NaN where the inputs cannot describe a line
        along the ground. [m]

    Notes
    -----
    Source: GUM2008, eq. 10.
    First order, with the angle's uncertainty in radians. The rise is how much higher the stem
    base is than the observer's feet. With an angle uncertainty of 0 it gives the share of the
    tape and the eye height, which is what height_along_ground_sd asks for.

    Examples
    --------
    >>> print(distance_along_ground_sd(25, -10, 1.6, 0.12, 0.05, 1.0).round(3))
    0.128
    """
    tape, eye_height = np.asarray(tape_m, dtype=float), np.asarray(eye_height_m, dtype=float)
    tape_sd, eye_sd = np.asarray(tape_sd_m, dtype=float), np.asarray(eye_height_sd_m, dtype=float)
    base, angle_sd = np.radians(base_deg), np.radians(angle_sd_deg)

    distance = np.asarray(distance_along_ground(tape, base_deg, eye_height))
    rise = eye_height + distance * np.tan(base)
    from_angle = rise * distance / np.cos(base) ** 2 * angle_sd
    spread = np.sqrt((tape * tape_sd) ** 2 + (rise * eye_sd) ** 2 + from_angle**2)
    sd = spread / (distance + rise * np.tan(base))

    known = (tape_sd >= 0) & (eye_sd >= 0) & (angle_sd >= 0)
    return np.where(known, sd, np.nan)[()]
