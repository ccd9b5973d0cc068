"""Measurement uncertainty of the figures of a stand, closed form and first order.

What trees do not share (each tape reading) shrinks with their number. What they share (one
pace, one eye height) does not. Trees run along the last axis.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from mapper.metrics.stand import quadratic_mean_diameter


@np.errstate(invalid="ignore")
def mean_sd(
    independent_sds: ArrayLike, shared_sds: ArrayLike, weights: ArrayLike = 1.0
) -> NDArray[np.float64]:
    """Uncertainty of a plain average, from what each tree has alone and what all trees share.

    sd = sqrt(sum of (weight * independent sd)² + (sum of weight * shared sd)²) / sum of weights

    Parameters
    ----------
    independent_sds
        Standard uncertainty of each tree's value from errors of its own, 0 or more. [any]
    shared_sds
        The same from errors common to all the trees, 0 or more. [same as independent_sds]
    weights
        How many trees each one stands for, 0 or more: its tally, or trees per hectare. [-]

    Returns
    -------
    mean_sd
        Standard uncertainty of the mean by measuring; NaN where no tree has both. [same as
        independent_sds]

    Notes
    -----
    Source: GUM2008, eq. 10 and eq. 16.
    First order. A tree with a NaN is left out: hand in the trees of the average. Shared errors
    push all trees the same way, so their share is averaged, not shrunk. Trees of one tally share
    one reading, so a weight multiplies its error.

    Examples
    --------
    >>> print(mean_sd([0.4, 0.4, 0.4, 0.4], [0.3, 0.3, 0.3, 0.3]).round(3))
    0.361
    """
    own, shared, times = _alongside(independent_sds, shared_sds, weights)
    used = (own >= 0) & (shared >= 0) & (times > 0)

    apart = np.sum((times * own) ** 2, axis=-1, where=used)
    together = np.sum(times * shared, axis=-1, where=used) ** 2
    sd = np.sqrt(apart + together) / np.sum(times, axis=-1, where=used)

    return np.where(used.any(axis=-1), sd, np.nan)[()]


@np.errstate(invalid="ignore")
def basal_area_total_sd(
    diameters_cm: ArrayLike, sds_cm: ArrayLike, weights: ArrayLike = 1.0
) -> NDArray[np.float64]:
    """Uncertainty of the basal area of all trees together.

    sd = pi / 2 * sqrt(sum of (weight * diameter * diameter sd)²) / 100²

    Parameters
    ----------
    diameters_cm
        Diameters of the trees along the last axis, above 0; NaN where unknown. [cm]
    sds_cm
        Their standard uncertainties, 0 or more. [cm]
    weights
        How many trees each one stands for, 0 or more: its tally, or trees per hectare. [-]

    Returns
    -------
    basal_area_sd_m2
        Standard uncertainty of the summed areas; NaN where no tree has a diameter, or where a
        diameter has no uncertainty. [m²]

    Notes
    -----
    Source: GUM2008, eq. 10.
    First order; each tree was measured on its own, so the errors have nothing in common.

    Examples
    --------
    >>> print(basal_area_total_sd([30, 40], [0.2, 0.2]).round(6))
    0.001571
    """
    diameters, sds, times = _alongside(diameters_cm, sds_cm, weights)
    used = (diameters > 0) & (diameters < np.inf) & (times > 0)

    sd = np.pi / 2 * np.sqrt(np.sum((times * diameters * sds) ** 2, axis=-1, where=used)) / 100**2

    known = np.all(sds >= 0, axis=-1, where=used) & used.any(axis=-1)
    return np.where(known, sd, np.nan)[()]


@np.errstate(invalid="ignore")
def quadratic_mean_diameter_sd(
    diameters_cm: ArrayLike, sds_cm: ArrayLike, weights: ArrayLike = 1.0
) -> NDArray[np.float64]:
    """Uncertainty of the quadratic mean diameter.

    sd = sqrt(sum of (weight * diameter * diameter sd)²
    / (sum of weights * sum of (weight * diameter²)))

    Parameters
    ----------
    diameters_cm
        Diameters of the trees along the last axis, above 0; NaN where unknown. [cm]
    sds_cm
        Their standard uncertainties, 0 or more. [cm]
    weights
        How many trees each one stands for, 0 or more: its tally, or trees per hectare. [-]

    Returns
    -------
    quadratic_mean_diameter_sd_cm
        Standard uncertainty of that diameter by measuring; NaN where no tree has a diameter, or
        where a diameter has no uncertainty. [cm]

    Notes
    -----
    Source: GUM2008, eq. 10.
    First order; each tree was measured on its own, so the errors have nothing in common.

    Examples
    --------
    >>> print(quadratic_mean_diameter_sd([30, 40], [0.2, 0.2]).round(3))
    0.141
    """
    diameters, sds, times = _alongside(diameters_cm, sds_cm, weights)
    used = (diameters > 0) & (diameters < np.inf) & (times > 0)

    spread = np.sum((times * diameters * sds) ** 2, axis=-1, where=used)
    squares = np.sum(times * diameters**2, axis=-1, where=used)
    sd = np.sqrt(spread / (np.sum(times, axis=-1, where=used) * squares))

    known = np.all(sds >= 0, axis=-1, where=used) & used.any(axis=-1)
    return np.where(known, sd, np.nan)[()]


@np.errstate(divide="ignore", invalid="ignore")
def lorey_height_sd(
    diameters_cm: ArrayLike,
    diameter_sds_cm: ArrayLike,
    heights_m: ArrayLike,
    height_sds_m: ArrayLike,
    height_shared_sds_m: ArrayLike,
    weights: ArrayLike = 1.0,
) -> NDArray[np.float64]:
    """Uncertainty of the Lorey height, from the diameters and the heights.

    sd = sqrt(sum of (2 * weight * diameter * (height - Lorey height) * diameter sd)²
    + sum of (weight * diameter² * height sd)² + (sum of weight * diameter² * shared height sd)²)
    / sum of (weight * diameter²)

    Parameters
    ----------
    diameters_cm
        Diameters of the trees along the last axis, above 0; NaN where unknown. [cm]
    diameter_sds_cm
        Their standard uncertainties, 0 or more. [cm]
    heights_m
        Heights of the same trees, above 0; NaN where unknown. [m]
    height_sds_m
        Standard uncertainty of each height from errors of its own, 0 or more. [m]
    height_shared_sds_m
        The same from errors common to all the trees, 0 or more. [m]
    weights
        How many trees each one stands for, 0 or more: its tally, or trees per hectare. [-]

    Returns
    -------
    lorey_height_sd_m
        Standard uncertainty of that height; NaN where no tree has both values, or where one of
        them has no uncertainty. [m]

    Notes
    -----
    Source: GUM2008, eq. 10 and eq. 16.
    First order. A basal area is a constant times diameter², and the constant cancels.

    Examples
    --------
    >>> print(lorey_height_sd([30, 20], [0.2, 0.2], [20, 14], [0.6, 0.5], [0.3, 0.3]).round(3))
    0.536
    """
    diameters, diameter_sds, heights, own, shared, times = _alongside(
        diameters_cm, diameter_sds_cm, heights_m, height_sds_m, height_shared_sds_m, weights
    )
    used = (diameters > 0) & (diameters < np.inf) & (heights > 0) & (heights < np.inf)
    used &= times > 0

    shares = np.where(used, times * diameters**2, 0.0)
    total = np.sum(shares, axis=-1, keepdims=True)
    lorey = np.sum(shares * heights, axis=-1, where=used, keepdims=True) / total
    by_diameter = 2 * times * diameters * (heights - lorey) * diameter_sds
    variance = np.sum(by_diameter**2 + (shares * own) ** 2, axis=-1, where=used)
    variance = variance + np.sum(shares * shared, axis=-1, where=used) ** 2

    sound = (diameter_sds >= 0) & (own >= 0) & (shared >= 0)
    known = np.all(sound, axis=-1, where=used) & used.any(axis=-1)
    return np.where(known, np.sqrt(variance) / total[..., 0], np.nan)[()]


@np.errstate(divide="ignore", invalid="ignore")
def mean_sampling_sd(
    values: ArrayLike, total: ArrayLike, counts: ArrayLike = 1.0
) -> NDArray[np.float64]:
    """Uncertainty of an average because some of the trees have no value.

    sd = standard deviation / sqrt(number measured) * sqrt(1 - number measured / total)

    Parameters
    ----------
    values
        Values of the trees along the last axis; NaN where unknown. [any]
    total
        Trees that belong to the average, with and without a value. [-]
    counts
        How many alike trees each value is of, 0 or more. [-]

    Returns
    -------
    mean_sampling_sd
        Standard uncertainty of the mean for the trees not measured; 0 where every tree has a
        value, NaN where fewer than two have one. [same as values]

    Notes
    -----
    Source: FREESE1962, standard error of the mean with the finite population correction.
    Holds if the trees without a value are like the others, as when a cell cannot be read. It
    says nothing if somebody chose which trees to measure.

    Examples
    --------
    >>> print(mean_sampling_sd([22, 28, 31, 19, 25], 125).round(3))
    2.078
    """
    sizes, times = _alongside(values, counts)
    whole = np.asarray(total, dtype=float)
    known = np.isfinite(sizes) & (times > 0)
    count = np.sum(times, axis=-1, where=known)

    mean = np.sum(times * sizes, axis=-1, where=known) / count
    squares = np.sum(times * (sizes - np.expand_dims(mean, -1)) ** 2, axis=-1, where=known)
    sd = np.sqrt(squares / (count - 1) / count * (1 - count / whole))

    return np.where(count == whole, 0.0, np.where(count > 1, sd, np.nan))[()]


@np.errstate(divide="ignore", invalid="ignore")
def quadratic_mean_diameter_sampling_sd(
    diameters_cm: ArrayLike, total: ArrayLike, counts: ArrayLike = 1.0
) -> NDArray[np.float64]:
    """Uncertainty of the quadratic mean diameter because some of the trees have no diameter.

    sd = sampling sd of the mean of diameter² / (2 * quadratic mean diameter)

    Parameters
    ----------
    diameters_cm
        Diameters of the trees along the last axis, above 0; NaN where unknown. [cm]
    total
        Trees that belong to the mean, with and without a diameter. [-]
    counts
        How many alike trees each value is of, 0 or more. [-]

    Returns
    -------
    quadratic_mean_diameter_sampling_sd_cm
        Standard uncertainty of that diameter for the trees not measured; 0 where every tree has a
        diameter, NaN where fewer than two have one. [cm]

    Notes
    -----
    Source: GUM2008, eq. 10, on the mean of the squares.
    First order. Holds if the trees without a diameter are like the others.

    Examples
    --------
    >>> print(quadratic_mean_diameter_sampling_sd([20, 30, 40], 4).round(3))
    2.798
    """
    diameters, times = _alongside(diameters_cm, counts)
    squares = diameters**2

    mean = quadratic_mean_diameter(diameters, times)
    sd = mean_sampling_sd(squares, total, times) / (2 * mean)

    return np.where(mean > 0, sd, np.nan)[()]


def _alongside(*columns: ArrayLike) -> tuple[NDArray[np.float64], ...]:
    """The columns as numbers of one shape, so that weights may be one for all."""
    return np.broadcast_arrays(*(np.asarray(column, dtype=float) for column in columns))
