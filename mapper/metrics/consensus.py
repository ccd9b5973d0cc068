"""Several readings of one tree in one visit: what they say together, and which one is a slip.

Readings lie in one long array; a second array says which tree (and visit) each belongs to, by
numbers from 0. A reading that is NaN, or whose number is below 0, counts for no tree.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

# Median absolute deviation to standard deviation, for many readings.
NORMAL_SCALE = 1.4826
# More, for 0, 1, 2 … 9 readings (CROUX1992, eq. 4); above that n / (n - 0.8).
FEW_READINGS = np.array([np.nan, np.nan, 1.196, 1.495, 1.363, 1.206, 1.200, 1.140, 1.129, 1.107])

# Standard deviation of the median of 0, 1, 2 … 12 normal readings: from 6 on as printed by
# SASSTDMED, below that by its formula. Above 12 sqrt(pi / (2 n)), at most 2 % too much.
MEDIAN_SD = np.array([
    np.nan, 1.0, 0.7071067812, 0.6698291607, 0.5460765683, 0.5355685405,
    0.4634033519, 0.4587448763, 0.4100985920, 0.4075552495,
    0.3719226208, 0.3703544702, 0.3428063408,
])  # fmt: skip

# A reading with a larger score is a slip (IGLEWICZ1993).
SLIP_SCORE = 3.5


def consensus_value(readings: ArrayLike, trees: ArrayLike) -> NDArray[np.float64]:
    """The value in the middle of all readings of a tree, which one slip cannot shift far.

    consensus = median(readings of the tree)

    Parameters
    ----------
    readings
        Readings of all trees, NaN where missing. [any]
    trees
        Number of the tree that each reading belongs to, from 0; below 0 for none. [-]

    Returns
    -------
    consensus
        One value a tree, in the order of their numbers; NaN without a reading. [as readings]

    Notes
    -----
    Source: CROUX1992, page 411.
    With two readings it is their mean. An error that all readings share stays in it.

    Examples
    --------
    >>> print(consensus_value([101.0, 99.0, 180.0, 50.0], [0, 0, 0, 1]))
    [101.  50.]
    """
    values, _, counts = _by_tree(readings, trees)

    return _medians(values, counts)


def consensus_spread(readings: ArrayLike, trees: ArrayLike) -> NDArray[np.float64]:
    """Spread of the readings of a tree, as a standard deviation that one slip cannot blow up.

    spread = 1.4826 * factor * median(|reading - consensus|)

    Parameters
    ----------
    readings
        Readings of all trees, NaN where missing. [any]
    trees
        Number of the tree that each reading belongs to, from 0; below 0 for none. [-]

    Returns
    -------
    spread
        One value a tree; NaN with fewer than two readings. [as readings]

    Notes
    -----
    Source: CROUX1992, eq. 4.
    The factor makes up for few readings: 1.196 for two, 1.495 for three, 1.363 for four, down to
    1.107 for nine, then n / (n - 0.8). Right on average, but two or three readings that agree by
    chance make it far too small, so nothing is built on it alone.

    Examples
    --------
    >>> print(consensus_spread([100.0, 101.0, 103.0], [0, 0, 0]).round(3))
    [2.216]
    """
    values, owners, counts = _by_tree(readings, trees)

    return _spreads(values, owners, counts, _medians(values, counts))


@np.errstate(divide="ignore", invalid="ignore")
def slip_score(
    readings: ArrayLike, trees: ArrayLike, reading_sds: ArrayLike
) -> NDArray[np.float64]:
    """How many spreads a reading lies from the middle of all readings of its tree.

    score = (reading - consensus) / max(spread, reading sd)

    Parameters
    ----------
    readings
        Readings of all trees, NaN where missing. [any]
    trees
        Number of the tree that each reading belongs to, from 0; below 0 for none. [-]
    reading_sds
        Standard uncertainty of each reading by its method, above 0, or one for all. [as readings]

    Returns
    -------
    score
        One value a reading; NaN where the reading, its tree or its uncertainty is missing, and
        where the tree has fewer than three readings. [-]

    Notes
    -----
    Source: IGLEWICZ1993, modified z-score, here with the spread corrected for few readings.
    The spread is never taken for less than what the method allows: three readings of which two
    agree to the millimetre do not make the third one wrong. Of two readings that differ nobody
    can say which is the slip.

    Examples
    --------
    >>> print(slip_score([100.0, 101.0, 180.0], [0, 0, 0], 0.64).round(1))
    [-0.5  0.  35.6]
    """
    values = np.asarray(readings, dtype=float)
    owners, sds = np.asarray(trees).astype(np.intp), np.asarray(reading_sds, dtype=float)
    sorted_values, sorted_owners, counts = _by_tree(values, owners)
    middle = _medians(sorted_values, counts)
    spread = _spreads(sorted_values, sorted_owners, counts, middle)

    # The NaN put at the end is what a reading of no tree gets.
    enough = np.append(np.where(counts > 2, spread, np.nan), np.nan)
    owners = np.where(owners < 0, -1, owners)
    score = (values - np.append(middle, np.nan)[owners]) / np.maximum(enough[owners], sds)

    return np.where(sds > 0, score, np.nan)


def is_slip(readings: ArrayLike, trees: ArrayLike, reading_sds: ArrayLike) -> NDArray[np.bool_]:
    """Whether a reading is so far from the others of its tree that it must be a slip.

    slip = |score| > 3.5, with the score of slip_score

    Parameters
    ----------
    readings
        Readings of all trees, NaN where missing. [any]
    trees
        Number of the tree that each reading belongs to, from 0; below 0 for none. [-]
    reading_sds
        Standard uncertainty of each reading by its method, above 0, or one for all. [as readings]

    Returns
    -------
    slip
        One yes or no a reading; no where nothing can be said. [-]

    Notes
    -----
    Source: IGLEWICZ1993, absolute modified z-scores above 3.5.
    A slip is a figure misread, miswritten or of another tree. Where the method's uncertainty is
    right, one tree in 300 has a sound reading flagged by chance; where it is half the truth, one
    in 15. So a slip is a question to the observer, not a verdict.

    Examples
    --------
    >>> print(is_slip([100.0, 101.0, 180.0], [0, 0, 0], 0.64))
    [False False  True]
    """
    return np.asarray(np.abs(slip_score(readings, trees, reading_sds)) > SLIP_SCORE)


@np.errstate(divide="ignore", invalid="ignore")
def consensus_sd(
    readings: ArrayLike, trees: ArrayLike, reading_sds: ArrayLike
) -> NDArray[np.float64]:
    """Uncertainty of the value in the middle of all readings of a tree.

    sd = max(spread, reading sd) * factor

    Parameters
    ----------
    readings
        Readings of all trees, slips taken out, NaN where missing. [any]
    trees
        Number of the tree that each reading belongs to, from 0; below 0 for none. [-]
    reading_sds
        Standard uncertainty of each reading by its method, 0 or more, or one for all, without
        what the readings of a tree have in common. [as readings]

    Returns
    -------
    consensus_sd
        One value a tree; NaN without a reading, or where the uncertainty of one is not known.
        [as readings]

    Notes
    -----
    Source: SASSTDMED, standard deviation of the median of normal readings.
    The factor is 1 for one reading, 0.707 for two, 0.670 for three, 0.546 for four, 0.536 for
    five. Readings that disagree more than their method allows make it larger; readings that
    agree by chance do not make it smaller. Methods of unequal quality count alike, with the root
    of their mean square. What the readings share (one pace, one tape) must be added afterwards:
    it does not shrink with their number.

    Examples
    --------
    >>> print(consensus_sd([100.0, 101.0, 100.5], [0, 0, 0], 0.64).round(3))
    [0.742]
    """
    values, owners = np.asarray(readings, dtype=float), np.asarray(trees).astype(np.intp)
    sds = np.broadcast_to(np.asarray(reading_sds, dtype=float), values.shape)
    sorted_values, sorted_owners, counts = _by_tree(values, owners)
    kept = np.isfinite(values) & (owners >= 0)

    squares = np.where(sds >= 0, sds, np.nan)[kept] ** 2
    known = np.sqrt(np.bincount(owners[kept], squares, len(counts)) / counts)
    spread = _spreads(sorted_values, sorted_owners, counts, _medians(sorted_values, counts))

    return np.maximum(np.where(counts > 1, spread, 0.0), known) * _median_sd(counts)


def _by_tree(
    readings: ArrayLike, trees: ArrayLike
) -> tuple[NDArray[np.float64], NDArray[np.intp], NDArray[np.intp]]:
    """The readings there are, sorted by tree and then by size; their trees; how many a tree."""
    values, owners = np.asarray(readings, dtype=float), np.asarray(trees).astype(np.intp)
    highest = owners.max(initial=-1)
    kept = np.isfinite(values) & (owners >= 0)
    values, owners = values[kept], owners[kept]
    order = np.lexsort((values, owners))
    return values[order], owners[order], np.bincount(owners, minlength=highest + 1)


def _medians(values: NDArray[np.float64], counts: NDArray[np.intp]) -> NDArray[np.float64]:
    """Median of each tree from values sorted within trees."""
    starts = np.cumsum(counts) - counts
    medians = np.full(len(counts), np.nan)
    present = counts > 0
    low = (starts + (counts - 1) // 2)[present]
    high = (starts + counts // 2)[present]
    medians[present] = (values[low] + values[high]) / 2
    return medians


def _spreads(
    values: NDArray[np.float64],
    owners: NDArray[np.intp],
    counts: NDArray[np.intp],
    medians: NDArray[np.float64],
) -> NDArray[np.float64]:
    """Scaled median absolute deviation of each tree."""
    distances = np.abs(values - medians[owners])
    by_distance = distances[np.lexsort((distances, owners))]
    return NORMAL_SCALE * _few_readings(counts) * _medians(by_distance, counts)


def _few_readings(counts: NDArray[np.intp]) -> NDArray[np.float64]:
    many = np.maximum(counts, len(FEW_READINGS))
    few = FEW_READINGS[np.minimum(counts, len(FEW_READINGS) - 1)]
    return np.where(counts < len(FEW_READINGS), few, many / (many - 0.8))


def _median_sd(counts: NDArray[np.intp]) -> NDArray[np.float64]:
    many = np.maximum(counts, 1)
    few = MEDIAN_SD[np.minimum(counts, len(MEDIAN_SD) - 1)]
    return np.where(counts < len(MEDIAN_SD), few, np.sqrt(np.pi / 2 / many))
