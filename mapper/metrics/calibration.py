"""A survey's own rule for age: a straight line through its trees of known age."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from mapper.metrics.chance import student_t

# With fewer, the line says more about chance than about trees (common practice, no source).
FEWEST_KNOWN = 5


def age_from_calibration(
    diameter_cm: ArrayLike,
    known_diameters_cm: ArrayLike,
    known_ages_years: ArrayLike,
    weight_power: float,
) -> NDArray[np.float64]:
    """Age on the straight line through trees of the same species whose age is known.

    age = mean age + slope * (diameter - mean diameter)

    Parameters
    ----------
    diameter_cm
        Diameter of the tree whose age is sought. [cm]
    known_diameters_cm
        Diameters of the trees of known age along the last axis; NaN where unknown. [cm]
    known_ages_years
        Ages of the same trees, for instance from rings; NaN where unknown. [years]
    weight_power
        How the scatter grows: its square goes with diameter to this power. 0 for even
        scatter, 1 for the usual, 2 for scatter in proportion to size. [-]

    Returns
    -------
    age_years
        Age on the line; NaN outside the known diameters, with fewer than 5 known trees, or where
        thicker trees
        are not older. [years]

    Notes
    -----
    Source: PREDICTINT, least squares line; weights 1 / diameter^power as in UTD2016.
    Ages scatter more among thick trees: of the 334 equations of UTD2016 only one in four was
    best with even scatter, so 1 is the sensible power. The line holds between the thinnest and
    the thickest known tree, for the same species on similar ground. It counts from what the
    known ages count from.

    Examples
    --------
    >>> print(age_from_calibration(30, [10, 20, 25, 35, 40], [18, 30, 41, 52, 66], 1).round(1))
    47.4
    """
    diameter = np.asarray(diameter_cm, dtype=float)
    known, ages, weights = _weighted(known_diameters_cm, known_ages_years, weight_power)
    middle, mean_age, slope = _line(known, ages, weights)

    age = mean_age + slope * (diameter - middle)

    return np.where(_covers(known, weights, slope, diameter), age, np.nan)[()]


@np.errstate(divide="ignore", invalid="ignore")
def age_from_calibration_range(
    diameter_cm: ArrayLike,
    known_diameters_cm: ArrayLike,
    known_ages_years: ArrayLike,
    weight_power: float,
) -> tuple[NDArray[np.float64], NDArray[np.float64]]:
    """Range that holds the age of one more tree with 95 %, from trees of known age.

    low, high = age ± t * s * sqrt(diameter^power + 1 / sum of weights
    + (diameter - mean diameter)² / sum of weight * (known diameter - mean diameter)²)

    Parameters
    ----------
    diameter_cm
        Diameter of the tree whose age is sought. [cm]
    known_diameters_cm
        Diameters of the trees of known age along the last axis; NaN where unknown. [cm]
    known_ages_years
        Ages of the same trees, for instance from rings; NaN where unknown. [years]
    weight_power
        As for age_from_calibration. A weight is 1 / known diameter^power. [-]

    Returns
    -------
    low_years, high_years
        Low is not below 0. NaN where age_from_calibration has no age. [years]

    Notes
    -----
    Source: PREDICTINT, prediction interval for one new value.
    s² is the weighted sum of squared distances from the line over (known trees - 2), t that of
    student_t for as many. Few known trees give a wide range. What every known age has wrong
    alike, such as a wrong height of the stumps, is not in it.

    Examples
    --------
    >>> low, high = age_from_calibration_range(
    ...     30, [10, 20, 25, 35, 40], [18, 30, 41, 52, 66], 1)
    >>> print(low.round(1), high.round(1))
    36.6 58.3
    """
    diameter = np.asarray(diameter_cm, dtype=float)
    known, ages, weights = _weighted(known_diameters_cm, known_ages_years, weight_power)
    middle, mean_age, slope = _line(known, ages, weights)

    freedom = (weights > 0).sum(axis=-1) - 2.0
    from_line = ages - mean_age[..., None] - slope[..., None] * (known - middle[..., None])
    scatter = np.sqrt(np.sum(weights * from_line**2, axis=-1) / freedom)
    spread = np.sum(weights * (known - middle[..., None]) ** 2, axis=-1)
    doubt = 1 / weights.sum(axis=-1) + (diameter - middle) ** 2 / spread
    half = student_t(freedom) * scatter * np.sqrt(diameter**weight_power + doubt)
    age = mean_age + slope * (diameter - middle)

    covered = _covers(known, weights, slope, diameter)
    low, high = np.maximum(age - half, 0), age + half
    return np.where(covered, low, np.nan)[()], np.where(covered, high, np.nan)[()]


def _weighted(
    diameters: ArrayLike, ages: ArrayLike, power: float
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Known trees with their weights; a tree without both values keeps its place, weight 0."""
    sizes, years = np.broadcast_arrays(
        np.asarray(diameters, dtype=float), np.asarray(ages, dtype=float)
    )
    used = (sizes > 0) & (sizes < np.inf) & (years > 0) & (years < np.inf)
    sizes, years = np.where(used, sizes, 1.0), np.where(used, years, 0.0)
    return sizes, years, np.where(used, sizes**-power, 0.0)


@np.errstate(divide="ignore", invalid="ignore")
def _line(
    sizes: NDArray[np.float64], years: NDArray[np.float64], weights: NDArray[np.float64]
) -> tuple[NDArray[np.float64], NDArray[np.float64], NDArray[np.float64]]:
    """Weighted mean diameter and mean age, and the slope of the line through that point."""
    total = weights.sum(axis=-1)
    middle = np.asarray(np.sum(weights * sizes, axis=-1) / total)
    mean_age = np.asarray(np.sum(weights * years, axis=-1) / total)
    off = sizes - middle[..., None]
    slope = np.sum(weights * off * years, axis=-1) / np.sum(weights * off**2, axis=-1)
    return middle, mean_age, np.asarray(slope)


def _covers(
    sizes: NDArray[np.float64],
    weights: NDArray[np.float64],
    slope: NDArray[np.float64],
    diameter: NDArray[np.float64],
) -> NDArray[np.bool_]:
    """Whether the line may be used for a tree of this diameter."""
    used = weights > 0
    thinnest = np.min(sizes, axis=-1, where=used, initial=np.inf)
    thickest = np.max(sizes, axis=-1, where=used, initial=0.0)
    enough = (used.sum(axis=-1) >= FEWEST_KNOWN) & (slope > 0)
    return np.asarray(enough & (thinnest <= diameter) & (diameter <= thickest))
