"""Heights from two stations in line with the tree, where nobody can get to the stem."""

import numpy as np
from numpy.typing import ArrayLike, NDArray


@np.errstate(divide="ignore", invalid="ignore")
def height_from_two_stations(
    station_gap_m: ArrayLike,
    near_deg: ArrayLike,
    far_deg: ArrayLike,
    eye_height_m: ArrayLike,
) -> NDArray[np.float64]:
    """Height of a tree out of reach from two stations in line with it, on level ground.

    height = gap * sin(near) * sin(far) / sin(near - far) + eye height

    Parameters
    ----------
    station_gap_m
        Level distance between the two stations, above 0. [m]
    near_deg
        Elevation of the top from the nearer station, below 90. [deg]
    far_deg
        Elevation of the top from the farther station, above 0, less than the near one. [deg]
    eye_height_m
        Height of the eye above the foot of the tree, 0 or more. [m]

    Returns
    -------
    height_m
        Height of the tree; NaN where the inputs cannot describe a tree. [m]

    Notes
    -----
    Source: LIVEMATHS, throwback 5 (there as gap * tan * tan / (tan - tan)).
    The eye must be equally high at both stations, and both must lie in one line with the tree.
    Little angles between the two lines of sight make it very unsure: keep the stations at least
    half a tree height apart. A leaning top does no harm here.

    Examples
    --------
    >>> print(height_from_two_stations(15, 35, 25, 1.6).round(2))
    22.54
    """
    gap, eye_height = np.asarray(station_gap_m, dtype=float), np.asarray(eye_height_m, dtype=float)
    near, far = np.radians(near_deg), np.radians(far_deg)

    height = gap * np.sin(near) * np.sin(far) / np.sin(near - far) + eye_height

    sighted = (far > 0) & (far < near) & (near < np.pi / 2)
    sound = (gap > 0) & (gap < np.inf) & (eye_height >= 0) & (eye_height < np.inf)
    return np.where(sighted & sound, height, np.nan)[()]


@np.errstate(divide="ignore", invalid="ignore")
def height_from_two_stations_sd(
    station_gap_m: ArrayLike,
    near_deg: ArrayLike,
    far_deg: ArrayLike,
    gap_sd_m: ArrayLike,
    angle_sd_deg: ArrayLike,
    eye_height_sd_m: ArrayLike,
) -> NDArray[np.float64]:
    """Uncertainty of a height from two stations on level ground.

    sd = sqrt((sin(near) * sin(far) / sin(near - far) * gap sd)² + (gap / sin(near - far)²)² *
    (sin(near)⁴ + sin(far)⁴) * angle sd² + eye height sd²)

    Parameters
    ----------
    station_gap_m
        Level distance between the two stations, above 0. [m]
    near_deg
        Elevation of the top from the nearer station, below 90. [deg]
    far_deg
        Elevation of the top from the farther station, above 0, less than the near one. [deg]
    gap_sd_m
        Standard uncertainty of the gap, 0 or more. [m]
    angle_sd_deg
        Standard uncertainty of each angle reading, 0 or more. [deg]
    eye_height_sd_m
        Standard uncertainty of the eye height, 0 or more. [m]

    Returns
    -------
    height_sd_m
        Standard uncertainty of the height; NaN where the inputs cannot describe a tree. [m]

    Notes
    -----
    Source: GUM2008, eq. 10.
    First order, with the angle's uncertainty in radians, and too small where it is itself a good
    part of the angle between the two lines of sight.

    Examples
    --------
    >>> print(height_from_two_stations_sd(15, 35, 25, 0.12, 1.0, 0.05).round(2))
    3.25
    """
    gap, gap_sd = np.asarray(station_gap_m, dtype=float), np.asarray(gap_sd_m, dtype=float)
    near, far, angle_sd = np.radians(near_deg), np.radians(far_deg), np.radians(angle_sd_deg)
    eye_sd = np.asarray(eye_height_sd_m, dtype=float)
    apart = np.sin(near - far)

    from_gap = np.sin(near) * np.sin(far) / apart * gap_sd
    from_near = gap * np.sin(far) ** 2 / apart**2 * angle_sd
    from_far = gap * np.sin(near) ** 2 / apart**2 * angle_sd
    sd = np.sqrt(from_gap**2 + from_near**2 + from_far**2 + eye_sd**2)

    sighted = (far > 0) & (far < near) & (near < np.pi / 2) & (gap > 0) & (gap < np.inf)
    known = (gap_sd >= 0) & (angle_sd >= 0) & (eye_sd >= 0)
    return np.where(sighted & known, sd, np.nan)[()]


@np.errstate(divide="ignore", invalid="ignore")
def height_from_two_stations_and_base(
    station_gap_m: ArrayLike,
    near_deg: ArrayLike,
    far_deg: ArrayLike,
    base_deg: ArrayLike,
) -> NDArray[np.float64]:
    """Height of a tree out of reach from two stations and the angle to its foot.

    height = gap * cos(near) * sin(far) / sin(near - far) * (tan(near) - tan(base))

    Parameters
    ----------
    station_gap_m
        Level distance between the two stations, above 0. [m]
    near_deg
        Elevation of the top from the nearer station, below 90. [deg]
    far_deg
        Elevation of the top from the farther station, above 0, less than the near one. [deg]
    base_deg
        Elevation of the stem base from the nearer station, negative below the eye. [deg]

    Returns
    -------
    height_m
        Height of the tree; NaN where the inputs cannot describe a tree. [m]

    Notes
    -----
    Source: LIVEMATHS, throwback 5, for the level distance; then as from two angles.
    The tree may stand higher or lower than the observer, but the eye must be equally high at
    both stations, and both must lie in one line with the tree.

    Examples
    --------
    >>> print(height_from_two_stations_and_base(15, 35, 25, -3).round(2))
    22.51
    """
    gap = np.asarray(station_gap_m, dtype=float)
    near, far, base = np.radians(near_deg), np.radians(far_deg), np.radians(base_deg)

    distance = gap * np.cos(near) * np.sin(far) / np.sin(near - far)
    height = distance * (np.tan(near) - np.tan(base))

    sighted = (far > 0) & (far < near) & (near < np.pi / 2)
    upright = (-np.pi / 2 < base) & (base < near) & (gap > 0) & (gap < np.inf)
    return np.where(sighted & upright, height, np.nan)[()]


@np.errstate(divide="ignore", invalid="ignore")
def height_from_two_stations_and_base_sd(
    station_gap_m: ArrayLike,
    near_deg: ArrayLike,
    far_deg: ArrayLike,
    base_deg: ArrayLike,
    gap_sd_m: ArrayLike,
    angle_sd_deg: ArrayLike,
) -> NDArray[np.float64]:
    """Uncertainty of a height from two stations and the angle to the foot.

    sd = sqrt((height / gap * gap sd)² + ((gap / sin(near - far)²)² *
    ((sin(near)² - sin(near) * cos(near) * tan(base))² + (sin(far)² - sin(far) * cos(far) *
    tan(base))²) + (distance / cos(base)²)²) * angle sd²)

    Parameters
    ----------
    station_gap_m
        Level distance between the two stations, above 0. [m]
    near_deg
        Elevation of the top from the nearer station, below 90. [deg]
    far_deg
        Elevation of the top from the farther station, above 0, less than the near one. [deg]
    base_deg
        Elevation of the stem base from the nearer station, negative below the eye. [deg]
    gap_sd_m
        Standard uncertainty of the gap, 0 or more. [m]
    angle_sd_deg
        Standard uncertainty of each angle reading, 0 or more. [deg]

    Returns
    -------
    height_sd_m
        Standard uncertainty of the height; NaN where the inputs cannot describe a tree. [m]

    Notes
    -----
    Source: GUM2008, eq. 10.
    First order, with the angle's uncertainty in radians; distance is the level distance from the
    nearer station to the stem. Too small where the uncertainty of an angle is itself a good part
    of the angle between the two lines of sight.

    Examples
    --------
    >>> print(height_from_two_stations_and_base_sd(15, 35, 25, -3, 0.12, 1.0).round(2))
    3.56
    """
    gap, gap_sd = np.asarray(station_gap_m, dtype=float), np.asarray(gap_sd_m, dtype=float)
    near, far, base = np.radians(near_deg), np.radians(far_deg), np.radians(base_deg)
    angle_sd = np.radians(angle_sd_deg)
    apart = np.sin(near - far)

    height = np.asarray(height_from_two_stations_and_base(gap, near_deg, far_deg, base_deg))
    distance = gap * np.cos(near) * np.sin(far) / apart
    from_near = gap / apart**2 * np.sin(far) * (np.sin(far) - np.cos(far) * np.tan(base))
    from_far = gap / apart**2 * np.sin(near) * (np.sin(near) - np.cos(near) * np.tan(base))
    from_base = distance / np.cos(base) ** 2
    by_angles = np.sqrt(from_near**2 + from_far**2 + from_base**2) * angle_sd
    sd = np.sqrt((height / gap * gap_sd) ** 2 + by_angles**2)

    return np.where((gap_sd >= 0) & (angle_sd >= 0), sd, np.nan)[()]
