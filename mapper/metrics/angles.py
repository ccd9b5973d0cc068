"""Readings of any scale as elevations in degrees, upward from level.

How far off an angle is depends on the instrument and the hand, not on the scale it is read from,
so the uncertainty stays the one in degrees.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

# A chain of 66 ft, the distance for which the topographic scale was made.
CHAIN_FT = 66.0


def elevation_from_vertical(from_vertical_deg: ArrayLike) -> NDArray[np.float64]:
    """Elevation from an angle counted from straight up, as a string and protractor show it.

    elevation = 90 - angle from straight up

    Parameters
    ----------
    from_vertical_deg
        Angle from straight up: 0 overhead, 90 level, more than 90 below the eye; 0 to 180. [deg]

    Returns
    -------
    elevation_deg
        Angle above level, negative below it; NaN where the reading is missing or outside 0 to 180.
        [deg]

    Notes
    -----
    Source: KIDSGEN, zero check (when the straw is level the string points to 90).
    Many protractors count down again on the far side of 90: below the eye such a reading must
    first be taken from 180.

    Examples
    --------
    >>> print(elevation_from_vertical([52, 95]))
    [38. -5.]
    """
    reading = np.asarray(from_vertical_deg, dtype=float)

    elevation = 90 - reading

    return np.where((reading >= 0) & (reading <= 180), elevation, np.nan)[()]


def elevation_from_percent(percent: ArrayLike) -> NDArray[np.float64]:
    """Elevation from a slope in per cent, the rise over a level distance of 100.

    elevation = arctan(percent / 100)

    Parameters
    ----------
    percent
        Reading of the percent scale, negative below the eye. [%]

    Returns
    -------
    elevation_deg
        Angle above level, negative below it; NaN where the reading is missing or endless. [deg]

    Notes
    -----
    Source: DEYOUNG2016, section 2.3.
    100 % is 45 degrees, not straight up.

    Examples
    --------
    >>> print(elevation_from_percent([100, -16]).round(2))
    [45.   -9.09]
    """
    reading = np.asarray(percent, dtype=float)

    elevation = np.degrees(np.arctan(reading / 100))

    return np.where(np.isfinite(reading), elevation, np.nan)[()]


def elevation_from_per_66(per_66: ArrayLike) -> NDArray[np.float64]:
    """Elevation from the topographic scale, the rise over a level distance of 66.

    elevation = arctan(reading / 66)

    Parameters
    ----------
    per_66
        Reading of the topographic scale, negative below the eye: feet a chain of 66 feet. [-]

    Returns
    -------
    elevation_deg
        Angle above level, negative below it; NaN where the reading is missing or endless. [deg]

    Notes
    -----
    Source: DEYOUNG2016, section 2.4.
    A reading of 66 is 45 degrees.

    Examples
    --------
    >>> print(elevation_from_per_66([41, -9]).round(2))
    [31.85 -7.77]
    """
    reading = np.asarray(per_66, dtype=float)

    elevation = np.degrees(np.arctan(reading / CHAIN_FT))

    return np.where(np.isfinite(reading), elevation, np.nan)[()]
