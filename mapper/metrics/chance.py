"""Chances: how wide a range must be, and which of two uncertain values is the larger."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

# A range of 95 % of a bell curve reaches so many standard deviations to either side.
NORMAL_95 = 1.959963984540054

# Above so many degrees of freedom the bell curve, once corrected, is as good to 1 in 10 million.
SERIES_ENDS = 400

# Abramowitz and Stegun (AS1964), formula 7.1.26: error function, right to 1.5 in 10 million.
ERF_SCALE = 0.3275911
ERF_TERMS = (1.061405429, -1.453152027, 1.421413741, -0.284496736, 0.254829592, 0.0)


def student_t(degrees_of_freedom: ArrayLike) -> NDArray[np.float64]:
    """How many standard deviations hold 19 of 20 values, when few values gave the deviation.

    95 % = share of Student's distribution between -t and t

    Parameters
    ----------
    degrees_of_freedom
        Number of values less the number of figures worked out from them, 1 or more; a part of
        one is dropped. [-]

    Returns
    -------
    t
        Multiple of a standard uncertainty that makes a 95 % interval; NaN where there are no
        degrees of freedom. [-]

    Notes
    -----
    Source: TTABLE, column 0.025.
    With very many values it is 1.96. With few it is larger, since a deviation worked out from
    few values may well be too small. Solved by halving from the finite series of AS1964, 26.7.3
    and 26.7.4; above 400 degrees of freedom from the bell curve with two correction terms.

    Examples
    --------
    >>> print(student_t(4).round(3))
    2.776
    """
    degrees = np.floor(np.asarray(degrees_of_freedom, dtype=float))
    few = np.where((degrees >= 1) & (degrees <= SERIES_ENDS), degrees, 0).astype(int)

    by_degrees = np.full(SERIES_ENDS + 1, np.nan)
    for number in np.flatnonzero(np.bincount(few.ravel())):
        by_degrees[number] = _student_t(int(number))
    many = np.where(degrees > SERIES_ENDS, degrees, np.nan)

    return np.where(few > 0, by_degrees[few], _student_t_of_many(many))[()]


def probability_older(
    low_years: ArrayLike, high_years: ArrayLike, other_low_years: ArrayLike,
    other_high_years: ArrayLike,
) -> NDArray[np.float64]:  # fmt: skip
    """Chance that one tree is older than another, from the two ranges of age.

    chance = share of the bell curve below (middle - other middle) / sqrt(sd² + other sd²)

    Parameters
    ----------
    low_years, high_years
        Ends of the range of the tree's age that holds with 95 %. [years]
    other_low_years, other_high_years
        The same of the other tree. [years]

    Returns
    -------
    chance
        From 0 to 1; NaN where an end is missing or a range runs backwards. [-]

    Notes
    -----
    Source: GUM2008, eq. 10 (difference of two values with errors of their own).
    The sd is the width of a range over 2 * 1.96, the middle half way between its ends. Two ages
    that share an error, as from one equation, order better than this says. Not for rules of
    thumb, whose ranges have no percentage: there take order_of_ranges.

    Examples
    --------
    >>> print(probability_older(90, 110, 80, 100).round(2))
    0.92
    """
    ends = (low_years, high_years, other_low_years, other_high_years)
    low, high, other_low, other_high = (np.asarray(end, dtype=float) for end in ends)

    lead = (low + high) / 2 - (other_low + other_high) / 2
    spread = np.sqrt((high - low) ** 2 + (other_high - other_low) ** 2) / (2 * NORMAL_95)
    with np.errstate(divide="ignore", invalid="ignore"):
        chance = np.where((spread == 0) & (lead == 0), 0.5, _share_below(lead / spread))

    forwards = (low <= high) & (other_low <= other_high)
    return np.where(forwards, chance, np.nan)[()]


def order_of_ranges(
    low_years: ArrayLike, high_years: ArrayLike, other_low_years: ArrayLike,
    other_high_years: ArrayLike,
) -> NDArray[np.float64]:  # fmt: skip
    """Which of two trees is the older, if their ranges of age do not touch.

    order = 1 if low > other high; -1 if high < other low; else 0, cannot tell

    Parameters
    ----------
    low_years, high_years
        Ends of the range of the tree's age. [years]
    other_low_years, other_high_years
        The same of the other tree. [years]

    Returns
    -------
    order
        1 where the first is older, −1 where the second is, 0 where it cannot be told; NaN where an
        end is missing or a range runs backwards. [-]

    Notes
    -----
    Source: GUM2008, clause 4.3.7 (a range without a known shape).
    For ranges from rules of thumb, which carry no percentage: overlapping ones decide nothing.

    Examples
    --------
    >>> print(order_of_ranges(90, 110, 80, 100), order_of_ranges(90, 110, 60, 80))
    0.0 1.0
    """
    ends = (low_years, high_years, other_low_years, other_high_years)
    low, high, other_low, other_high = (np.asarray(end, dtype=float) for end in ends)

    order = np.where(low > other_high, 1.0, np.where(high < other_low, -1.0, 0.0))

    forwards = (low <= high) & (other_low <= other_high)
    return np.where(forwards, order, np.nan)[()]


def _share_below(score: NDArray[np.float64]) -> NDArray[np.float64]:
    """Share of the bell curve below a score in standard deviations."""
    size = np.abs(score) / np.sqrt(2)
    erf = 1 - np.polyval(ERF_TERMS, 1 / (1 + ERF_SCALE * size)) * np.exp(-(size**2))
    share: NDArray[np.float64] = 0.5 * (1 + np.sign(score) * erf)
    return share


def _student_t_of_many(degrees: NDArray[np.float64]) -> NDArray[np.float64]:
    """The bell curve with the first two terms by which Student's distribution is wider."""
    z = NORMAL_95
    first, second = (z**3 + z) / 4, (5 * z**5 + 16 * z**3 + 3 * z) / 96
    t: NDArray[np.float64] = z + first / degrees + second / degrees**2
    return t


def _student_t(degrees: int) -> float:
    """By halving the angle; NaN for 0 degrees."""
    if degrees < 1:
        return np.nan
    low, high = 0.0, np.pi / 2
    for _ in range(60):
        middle = (low + high) / 2
        low, high = (middle, high) if _share_within(middle, degrees) < 0.95 else (low, middle)
    return float(np.tan(low) * np.sqrt(degrees))


def _share_within(angle: float, degrees: int) -> float:
    """Share of Student's distribution between -t and t, where t is sqrt(degrees) tan(angle)."""
    odd = degrees % 2 == 1
    steps = np.arange(3 if odd else 2, degrees - 1, 2)
    series = 1 + np.cumprod((steps - 1) / steps * np.cos(angle) ** 2).sum()
    if not odd:
        return float(np.sin(angle) * series)
    rest = np.sin(angle) * np.cos(angle) * series if degrees > 1 else 0.0
    return float(2 / np.pi * (angle + rest))
