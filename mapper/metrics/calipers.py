"""Stems by calipers, and how high a tape over snow really was."""

import numpy as np
from numpy.typing import ArrayLike, NDArray


@np.errstate(invalid="ignore")
def diameter_from_calipers(first_cm: ArrayLike, second_cm: ArrayLike) -> NDArray[np.float64]:
    """Diameter of a stem from two caliper readings at right angles to each other.

    diameter = sqrt(first * second)

    Parameters
    ----------
    first_cm, second_cm
        The two readings, above 0; best of all the widest one and the narrowest one. [cm]

    Returns
    -------
    diameter_cm
        Diameter of a round stem as thick; NaN where a reading is missing or not above 0. [cm]

    Notes
    -----
    Source: BRACK1998, page COMPTAPE (area of an ellipse, pi * A * B / 4).
    The geometric mean keeps the area of an oval stem, where a girth tape makes it too large;
    RODRIGUEZ2015 recommends it too. The plain average of the two, which many use, is 0.4 % more
    for a stem 1.2 times as wide as it is thick. Right only where the readings are taken along
    the widest and the narrowest way: askew to them both means come out near each other, and too
    large.

    Examples
    --------
    >>> print(diameter_from_calipers(36, 30).round(2))
    32.86
    """
    first, second = np.asarray(first_cm, dtype=float), np.asarray(second_cm, dtype=float)

    diameter = np.sqrt(first * second)

    return np.where((first > 0) & (second > 0) & (diameter < np.inf), diameter, np.nan)[()]


@np.errstate(divide="ignore", invalid="ignore")
def diameter_from_calipers_sd(
    first_cm: ArrayLike, second_cm: ArrayLike, reading_sd_cm: ArrayLike
) -> NDArray[np.float64]:
    """Uncertainty of a diameter from two caliper readings.

    sd = reading sd / 2 * sqrt(first / second + second / first)

    Parameters
    ----------
    first_cm, second_cm
        The two readings, above 0. [cm]
    reading_sd_cm
        Standard uncertainty of each reading, 0 or more. [cm]

    Returns
    -------
    diameter_sd_cm
        Standard uncertainty of the diameter; NaN where an input is missing or out of range. [cm]

    Notes
    -----
    Source: GUM2008, eq. 10.
    First order; the readings are taken one after the other, so their errors have nothing in
    common. Readings askew to the widest and the narrowest way are not covered.

    Examples
    --------
    >>> print(diameter_from_calipers_sd(36, 30, 0.3).round(3))
    0.214
    """
    first, second = np.asarray(first_cm, dtype=float), np.asarray(second_cm, dtype=float)
    reading_sd = np.asarray(reading_sd_cm, dtype=float)

    sd = reading_sd / 2 * np.sqrt(first / second + second / first)

    sound = (first > 0) & (first < np.inf) & (second > 0) & (second < np.inf) & (reading_sd >= 0)
    return np.where(sound, sd, np.nan)[()]


def tape_height_over_snow(above_snow_m: ArrayLike, snow_depth_cm: ArrayLike) -> NDArray[np.float64]:
    """Height above the ground of a tape that was placed by its height above the snow.

    height of the tape = height above the snow + snow depth / 100

    Parameters
    ----------
    above_snow_m
        Height of the tape above the snow, 0 or more. [m]
    snow_depth_cm
        Depth of the snow at the stem, 0 or more. [cm]

    Returns
    -------
    measured_at_m
        Height of the tape above the ground; NaN where a value is missing or below 0. [m]

    Notes
    -----
    Source: RWG1999, section 2.1.1 (breast height counts from the ground).
    On 40 cm of snow a tape at 1.30 m above the snow sits at 1.70 m, where the stem is thinner.
    Two independent errors add as combined_sd says.

    Examples
    --------
    >>> print(tape_height_over_snow(1.3, 40).round(2))
    1.7
    """
    above, depth = np.asarray(above_snow_m, dtype=float), np.asarray(snow_depth_cm, dtype=float)

    measured_at = above + depth / 100

    return np.where((above >= 0) & (depth >= 0) & (measured_at < np.inf), measured_at, np.nan)[()]
