"""How well the readings of a whole programme agree, and with which tolerance.

Readings lie in one long array; a second array says which tree (and visit) each belongs to, by
numbers from 0. A reading that is NaN, or whose number is below 0, counts for no tree.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

# Inventory tolerances (FIACORE): 0.1 in a started 20 in of diameter, 10 % of height.
TOLERANCE_CM = 0.25
STARTED_CM = 50.8
TOLERANCE_RATIO = 0.10

# 30.3 - 30.05 is a hair more than 0.25 in binary: differences are compared to 9 decimals.
DECIMALS = 9


@np.errstate(divide="ignore", invalid="ignore")
def repeatability(readings: ArrayLike, trees: ArrayLike) -> NDArray[np.float64]:
    """How far one reading of the programme is off, as its repeated readings of trees tell.

    repeatability = sqrt(sum of (reading - mean of its tree)² / (readings - trees))

    Parameters
    ----------
    readings
        Readings of all trees that were read more than once, slips taken out. [any]
    trees
        Number of the tree that each reading belongs to, from 0; below 0 for none. [-]

    Returns
    -------
    repeatability
        One standard deviation for all trees; NaN where no tree has two readings. [as readings]

    Notes
    -----
    Source: BLAND1996, within-subject standard deviation.
    A tree read once adds nothing. An error that all readings share (a wrong scale) does not
    show. Where errors grow with the size of the tree, as with heights, give the natural
    logarithms of the readings: the result is then relative, 0.03 for 3 %.

    Examples
    --------
    >>> print(repeatability([190, 220, 200, 200], [0, 0, 0, 0]).round(2))
    12.58
    """
    squares, freedom = _within(readings, trees)

    spread = np.sqrt(squares / freedom)

    return np.asarray(spread)[()]


@np.errstate(divide="ignore", invalid="ignore")
def repeatability_sd(readings: ArrayLike, trees: ArrayLike) -> NDArray[np.float64]:
    """Uncertainty of the repeatability itself, which few repeated readings leave wide.

    sd = repeatability / sqrt(2 * (readings - trees))

    Parameters
    ----------
    readings
        Readings of all trees that were read more than once, slips taken out. [any]
    trees
        Number of the tree that each reading belongs to, from 0; below 0 for none. [-]

    Returns
    -------
    repeatability_sd
        One value for all trees; NaN where no tree has two readings. [as readings]

    Notes
    -----
    Source: GUM2008, annex E.4.3 (about 24 % with 10 readings of one tree).
    For errors that scatter like a bell curve. Fifty trees read twice know it to a tenth.

    Examples
    --------
    >>> print(repeatability_sd([190, 220, 200, 200], [0, 0, 0, 0]).round(2))
    5.14
    """
    squares, freedom = _within(readings, trees)

    sd = np.sqrt(squares / freedom) / np.sqrt(2 * freedom)

    return np.asarray(sd)[()]


def pairs_within(
    readings: ArrayLike, trees: ArrayLike, tolerances: ArrayLike
) -> NDArray[np.float64]:
    """Share of all pairs of readings of one tree that differ by no more than a tolerance.

    share = pairs with |reading - other reading| <= tolerance / pairs

    Parameters
    ----------
    readings
        Readings of all trees, NaN where missing. [any]
    trees
        Number of the tree that each reading belongs to, from 0; below 0 for none. [-]
    tolerances
        Tolerance of each tree in the order of their numbers, 0 or more, or one for all; NaN
        leaves a tree out. [as readings]

    Returns
    -------
    share
        From 0 to 1; NaN where no tree has two readings. [-]

    Notes
    -----
    Source: FIACORE, tolerance and compliance rate.
    The inventory compares two crews that know nothing of each other, and asks that 95 % of the
    diameters and 90 % of the heights keep the tolerance. A tree read by thirty people counts
    with all their 435 pairs. Slips belong in: they are what the share is about.

    Examples
    --------
    >>> print(pairs_within([30.0, 30.25, 31.0], [0, 0, 0], 0.25).round(3))
    0.333
    """
    values, owners = np.asarray(readings, dtype=float), np.asarray(trees).astype(np.intp)
    limits = np.asarray(tolerances, dtype=float)
    kept = np.isfinite(values) & (owners >= 0)
    order = np.lexsort((values[kept], owners[kept]))
    values, owners = values[kept][order], owners[kept][order]
    limit = limits[owners] if limits.ndim else np.full(len(owners), limits)

    pairs = within = 0
    # Neighbours first, then next but one: as often as the most-read tree has readings.
    for lag in range(1, int(np.bincount(owners).max(initial=0))):
        mates = (owners[lag:] == owners[:-lag]) & ~np.isnan(limit[lag:])
        apart = np.round((values[lag:] - values[:-lag])[mates], DECIMALS)
        pairs += len(apart)
        within += int(np.count_nonzero(apart <= limit[lag:][mates]))

    return np.asarray(within / pairs if pairs else np.nan)[()]


@np.errstate(invalid="ignore")
def diameter_tolerance(diameter_cm: ArrayLike) -> NDArray[np.float64]:
    """How far two diameters of one tree may differ for a national forest inventory.

    tolerance = 0.25 * (number of started 50.8 cm of diameter)

    Parameters
    ----------
    diameter_cm
        Diameter of the stem, above 0. [cm]

    Returns
    -------
    tolerance_cm
        How far two readings may lie apart; NaN where the diameter is missing or not above 0. [cm]

    Notes
    -----
    Source: FIACORE, diameter at breast height (from memory: 0.1 inch for every 20 inches).
    The inventory works with trained crews and diameter tapes. Its goal is that 95 % of pairs
    keep the tolerance.

    Examples
    --------
    >>> print(diameter_tolerance([31.0, 50.8, 60.0]))
    [0.25 0.25 0.5 ]
    """
    diameter = np.asarray(diameter_cm, dtype=float)

    tolerance = TOLERANCE_CM * np.ceil(np.round(diameter / STARTED_CM, DECIMALS))

    return np.where((diameter > 0) & (diameter < np.inf), tolerance, np.nan)[()]


@np.errstate(invalid="ignore")
def height_tolerance(height_m: ArrayLike) -> NDArray[np.float64]:
    """How far two heights of one tree may differ for a national forest inventory.

    tolerance = 0.10 * height

    Parameters
    ----------
    height_m
        Height of the tree, above 0. [m]

    Returns
    -------
    tolerance_m
        How far two readings may lie apart; NaN where the height is missing or not above 0. [m]

    Notes
    -----
    Source: FIACORE, total length (from memory: 10 %).
    Its goal is that 90 % of pairs keep the tolerance.

    Examples
    --------
    >>> print(height_tolerance(18).round(1))
    1.8
    """
    height = np.asarray(height_m, dtype=float)

    tolerance = TOLERANCE_RATIO * height

    return np.where((height > 0) & (height < np.inf), tolerance, np.nan)[()]


def _within(readings: ArrayLike, trees: ArrayLike) -> tuple[np.float64, np.float64]:
    """Sum of squares about the mean of each tree, and its degrees of freedom."""
    values, owners = np.asarray(readings, dtype=float), np.asarray(trees).astype(np.intp)
    kept = np.isfinite(values) & (owners >= 0)
    values, owners = values[kept], owners[kept]
    counts = np.bincount(owners)
    means = np.bincount(owners, values) / np.maximum(counts, 1)
    squares = np.float64(np.sum((values - means[owners]) ** 2))
    return squares, np.float64(len(values) - np.count_nonzero(counts))
