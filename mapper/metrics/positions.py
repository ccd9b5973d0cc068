"""Where a tree stands, measured from a known point: the plane geometry of bearings and tapes."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

CM_PER_M = 100.0


@np.errstate(invalid="ignore")
def true_bearing(bearing_deg: ArrayLike, north_deg: ArrayLike) -> NDArray[np.float64]:
    """Bearing from true north, of one that counts from magnetic north or from a map grid's north.

    true bearing = bearing + direction of that north, less or plus a full turn

    Parameters
    ----------
    bearing_deg
        Bearing as read, clockwise, 0 to 360. [deg]
    north_deg
        Direction of the north it counts from, clockwise from true north: the declination of a
        compass (east positive) or the convergence of a grid, above -360 to below 360. [deg]

    Returns
    -------
    bearing_deg
        From 0 to below 360, clockwise from true north; NaN for no bearing. [deg]

    Notes
    -----
    Source: TRUEBEARING, true bearing = magnetic bearing + declination (east positive).
    The declination moves by some tenths of a degree a year, so it belongs to a day and a place.

    Examples
    --------
    >>> print(true_bearing([189.2, 355], [-2, 12]).round(1))
    [187.2   7. ]
    """
    bearing, north = np.asarray(bearing_deg, dtype=float), np.asarray(north_deg, dtype=float)

    whole = bearing + north
    turned = np.where(whole >= 360, whole - 360, np.where(whole < 0, whole + 360, whole))

    return np.where((bearing >= 0) & (bearing <= 360) & (abs(north) < 360), turned, np.nan)[()]


@np.errstate(invalid="ignore")
def distance_to_centre(distance_m: ArrayLike, diameter_cm: ArrayLike) -> NDArray[np.float64]:
    """Distance to the middle of a stem, from one to the face that looks at the known point.

    distance to the centre = distance to the face + diameter / 2

    Parameters
    ----------
    distance_m
        Level distance to the near face of the stem, 0 or more. [m]
    diameter_cm
        Diameter of the stem where the distance ends, above 0. [cm]

    Returns
    -------
    distance_m
        Distance to the middle of the stem; NaN where the inputs describe no stem. [m]

    Notes
    -----
    Source: EUCLID, book I, definition 17: the diameter passes through the centre and halves there.
    Takes the stem as round.

    Examples
    --------
    >>> print(distance_to_centre(7.6, 40))
    7.8
    """
    distance, diameter = np.asarray(distance_m, dtype=float), np.asarray(diameter_cm, dtype=float)

    centre = distance + diameter / CM_PER_M / 2

    return np.where((distance >= 0) & (diameter > 0) & (diameter < np.inf), centre, np.nan)[()]


@np.errstate(divide="ignore", invalid="ignore")
def angle_from_two_tapes(
    distance_m: ArrayLike, distance_2_m: ArrayLike, line_m: ArrayLike
) -> NDArray[np.float64]:
    """Angle at the first known point between the line to the second one and the tree.

    cos(angle) = (distance² + line² - distance 2²) / (2 * distance * line)

    Parameters
    ----------
    distance_m, distance_2_m
        Level distances from the first and the second known point to the tree, above 0. [m]
    line_m
        Distance between the two points, above 0. [m]

    Returns
    -------
    angle_deg
        From 0 to 180, to the left or the right of the line; NaN where the tapes do not meet. [deg]

    Notes
    -----
    Source: EUCLID, book II, 12 and 13: the law of cosines.
    The tapes leave two places, mirrored at the line: the side must be told.

    Examples
    --------
    >>> print(angle_from_two_tapes(6, 8, 10).round(2))
    53.13
    """
    first, second = np.asarray(distance_m, dtype=float), np.asarray(distance_2_m, dtype=float)
    line = np.asarray(line_m, dtype=float)

    cosine = (first**2 + line**2 - second**2) / (2 * first * line)
    angle = np.degrees(np.arccos(cosine))

    return np.where((first > 0) & (second > 0) & (line > 0), angle, np.nan)[()]
