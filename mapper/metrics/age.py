"""Ages, always as a range of years, and what each is counted from."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

CM_PER_INCH = 2.54


def age_from_planting_year(
    planted_year: ArrayLike, measured_year: ArrayLike
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Years since a tree was planted, when the year of planting is known but not the day.

    low = measured - (planted + 1), not below 0; high = measured - planted

    Parameters
    ----------
    planted_year
        Calendar year of planting, a whole number. [year]
    measured_year
        Day of the measurement as a year with decimals: the middle of 2026 is 2026.5. [year]

    Returns
    -------
    low_years, high_years
        Years since planting. NaN where a year is missing, or planting lies ahead. [years]

    Notes
    -----
    Source: UTD2016, data dictionary of table TS3 (age counts from planting).
    The two ends are the last and the first day of the year of planting. A tree from a nursery
    was some years old already, and a year from memory may itself be wrong.

    Examples
    --------
    >>> low, high = age_from_planting_year(1990, 2026.5)
    >>> print(low, high)
    35.5 36.5
    """
    planted = np.asarray(planted_year, dtype=float)
    measured = np.asarray(measured_year, dtype=float)

    high = measured - planted
    low = np.maximum(high - 1, 0)

    known = (high >= 0) & (high < np.inf)
    return np.where(known, low, np.nan)[()], np.where(known, high, np.nan)[()]


@np.errstate(divide="ignore", invalid="ignore")
def age_from_rings(
    rings: ArrayLike,
    years_missing: ArrayLike,
    ring_height_m: ArrayLike,
    slow_m_per_year: ArrayLike,
    fast_m_per_year: ArrayLike,
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Age of a tree from its rings, with the years that the count could not see.

    low = rings - 1 + ring height / fast; high = rings + 1 + 2 * missing + ring height / slow

    Parameters
    ----------
    rings
        Rings counted, 1 or more. [-]
    years_missing
        Years put down for a middle that is rotten or was missed, 0 where it was seen. [years]
    ring_height_m
        Height above the ground at which the rings were counted, or 0 to count the age from
        the day when the tree reached that height. [m]
    slow_m_per_year, fast_m_per_year
        Slowest and fastest growth in height up to there, above 0. [m/year]

    Returns
    -------
    low_years, high_years
        The two ends of the age; NaN where an input is missing or cannot be. [years]

    Notes
    -----
    Source: BAKER2005, appendix B (rings, and years added for a missed middle).
    One year either way is for the first and the last ring, which are seldom whole. The missing
    years are a guess, from none to twice as many: of 45 cores with reckoned years 13 came out
    more than 5 years wrong, and single trees by as much as 78 % (NORTON1987). So this is a rule
    of thumb without a percentage. Lost and false rings are not in it. Never bore into a tree
    for this: count on stumps, fallen trees and cores that exist.

    Examples
    --------
    >>> low, high = age_from_rings(80, 3, 0.3, 0.1, 1)
    >>> print(low, high)
    79.3 90.0
    """
    columns = (rings, years_missing, ring_height_m, slow_m_per_year, fast_m_per_year)
    counted, missing, height, slow, fast = (np.asarray(column, dtype=float) for column in columns)

    low = counted - 1 + height / fast
    high = counted + 1 + 2 * missing + height / slow

    sound = (counted >= 1) & (missing >= 0) & (height >= 0) & (slow > 0) & (slow <= fast)
    sound = sound & (high < np.inf)
    return np.where(sound, low, np.nan)[()], np.where(sound, high, np.nan)[()]


def age_from_growth_factor(
    diameter_cm: ArrayLike,
    years_per_inch: ArrayLike,
    low_share: ArrayLike,
    high_share: ArrayLike,
    open_grown: ArrayLike,
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Very rough age of a woodland tree from its diameter and a growth factor of the species.

    low, high = diameter / 2.54 * years per inch * (low share, high share)

    Parameters
    ----------
    diameter_cm
        Diameter at breast height, above 0. [cm]
    years_per_inch
        Growth factor of the species, above 0. [years/in]
    low_share, high_share
        What the rule's age is multiplied by at either end, above 0. [-]
    open_grown
        1 for a street, park or meadow tree, 0 for a woodland tree. [-]

    Returns
    -------
    low_years, high_years
        The two ends of the age; NaN for a tree that grew in the open, or where an input is
        missing. [years]

    Notes
    -----
    Source: MDCAGE, diameter in inches times growth factor.
    A rule of thumb without a percentage, for trees that grew up in the shade of others. For
    3231 street and park trees of known age (UTD2016) it came out 2.3 times too old at the
    median, so it is refused for them. Slow trees in deep shade may be three times as old as it
    says.

    Examples
    --------
    >>> low, high = age_from_growth_factor(40, 5, 0.5, 2, False)
    >>> print(low.round(1), high.round(1))
    39.4 157.5
    """
    diameter, factor = np.asarray(diameter_cm, dtype=float), np.asarray(years_per_inch, dtype=float)
    low_times, high_times = np.asarray(low_share, dtype=float), np.asarray(high_share, dtype=float)

    middle = diameter / CM_PER_INCH * factor

    shaded = np.asarray(open_grown, dtype=float) == 0
    sound = shaded & (diameter > 0) & (factor > 0) & (middle < np.inf)
    sound = sound & (low_times > 0) & (low_times <= high_times)
    low, high = (
        np.where(sound, middle * low_times, np.nan),
        np.where(sound, middle * high_times, np.nan),
    )
    return low[()], high[()]


@np.errstate(divide="ignore", invalid="ignore")
def age_from_girth_rate(
    girth_cm: ArrayLike, slow_cm_per_year: ArrayLike, fast_cm_per_year: ArrayLike
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Very rough age of a tree in the open from its girth and how fast such trees thicken.

    low = girth / fast; high = girth / slow

    Parameters
    ----------
    girth_cm
        Girth at breast height, above 0. [cm]
    slow_cm_per_year, fast_cm_per_year
        Growth in girth of slow and of fast trees of that kind, mean over life, above 0. [cm/year]

    Returns
    -------
    low_years, high_years
        The two ends of the age; NaN where an input is missing or cannot be. [years]

    Notes
    -----
    Source: BTCV3730, age (2.5 cm a year for most native broadleaved trees in Britain).
    A rule of thumb without a percentage, for full-crowned trees in the open: in woodland trees
    thicken about half as fast (HELLIS). Street trees in the United States thickened faster:
    for 7999 of them the rule of 2.5 cm came out 1.7 times too old at the median (UTD2016).

    Examples
    --------
    >>> low, high = age_from_girth_rate(240, 1.8, 3.75)
    >>> print(low.round(0), high.round(0))
    64.0 133.0
    """
    girth = np.asarray(girth_cm, dtype=float)
    slow, fast = (
        np.asarray(slow_cm_per_year, dtype=float),
        np.asarray(fast_cm_per_year, dtype=float),
    )

    low, high = girth / fast, girth / slow

    sound = (girth > 0) & (girth < np.inf) & (slow > 0) & (slow <= fast) & (fast < np.inf)
    return np.where(sound, low, np.nan)[()], np.where(sound, high, np.nan)[()]
