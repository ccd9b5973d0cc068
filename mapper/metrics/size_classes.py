"""Rounding and size classes. A lower limit belongs to its class, an upper limit to the next."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

# Doubles miss most decimals by up to 1 part in 2**53: 32.905 * 100 falls just below 3290.5.
# One part in 2**51 lifts such a number over its step, and no decimal of 14 digits that lies
# below the step by right.
NUDGE = 2.0**-51

# What index * width may carry in excess (3 * 0.1 is 0.30000000000000004) goes with these.
WIDTH_DECIMALS = 9


def rounded_half_up(value: ArrayLike, decimals: int) -> NDArray[np.float64]:
    """Value rounded to so many decimals, where a half goes up.

    rounded = floor(value * 10^decimals + 1/2) / 10^decimals

    Parameters
    ----------
    value
        The number as written. [any]
    decimals
        Decimals to keep, 0 to 9. [-]

    Returns
    -------
    rounded
        The rounded number; NaN where the value is missing. [same as value]

    Notes
    -----
    Source: MATHEBOOK, decimal place.
    Diameters go to 0.01 cm and heights to 0.01 m before they are put into classes. Computers
    keep 32.905 as a hair less than that, and would round it down. A lift of one part in
    2 million billion puts that right for numbers of up to 14 digits; longer ones may go either
    way at an exact half. The code of practice of Australia and New Zealand (RWG1999, section 1.3)
    takes a half to the even digit instead.

    Examples
    --------
    >>> print(rounded_half_up(32.905, 2))
    32.91
    """
    scaled = np.asarray(value, dtype=float) * 10.0**decimals

    steps = np.floor(scaled + 0.5 + np.abs(scaled) * NUDGE)

    return (steps / 10.0**decimals)[()]


@np.errstate(divide="ignore", invalid="ignore")
def width_class_lower(value: ArrayLike, width: float) -> NDArray[np.float64]:
    """Lower limit of the class of equal width that holds the value.

    lower limit = floor(value / width) * width

    Parameters
    ----------
    value
        A size as rounded for classing, 0 or more. [any]
    width
        Width of the classes, above 0, of up to 9 decimals. [same as value]

    Returns
    -------
    lower_limit
        Where the class begins; NaN where the value is missing or below 0. [same as value]

    Notes
    -----
    Source: FIACLASS, classes such as 5.0 to 8.9 and 9.0 up.
    The lower limit belongs to the class, the upper limit to the next one: with classes 5 cm
    wide, 15.0 cm is in the class from 15 to 20 cm. Classes start at 0.

    Examples
    --------
    >>> print(width_class_lower(12.70, 5))
    10.0
    """
    sizes = np.asarray(value, dtype=float)
    steps = sizes / width

    lower_limit = np.round(np.floor(steps + steps * NUDGE) * width, WIDTH_DECIMALS)

    return np.where((sizes >= 0) & (sizes < np.inf) & (width > 0), lower_limit, np.nan)[()]


def interval_index(value: ArrayLike, lower_limits: ArrayLike) -> NDArray[np.float64]:
    """Number of the class that holds the value, counted from 0.

    index = (how many lower limits are not above the value) - 1

    Parameters
    ----------
    value
        A size as rounded for classing. [any]
    lower_limits
        Lower limits of the classes, rising; the last class has no upper end. [same as value]

    Returns
    -------
    index
        Number of the class; NaN where the value is missing or below the first limit. [-]

    Notes
    -----
    Source: FIACLASS, classes such as 5.0 to 8.9 and 9.0 up.
    The lower limit belongs to the class. A tree below the first limit is in no class, and is
    shown as such.

    Examples
    --------
    >>> print(interval_index(24.9, [5, 10, 25, 50, 100]))
    1.0
    """
    sizes = np.asarray(value, dtype=float)
    limits = np.asarray(lower_limits, dtype=float)

    index = np.searchsorted(limits, sizes, side="right") - 1.0

    return np.where((sizes >= limits[0]) & (sizes < np.inf), index, np.nan)[()]
