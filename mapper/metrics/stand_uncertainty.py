"""Measurement uncertainty of the figures of a stand, closed form and first order.

What trees do not share (each tape reading) shrinks with their number. What they share (one
pace, one eye height) does not. Trees run along the last axis.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray


@np.errstate(invalid="ignore")
def mean_sd(independent_sds: ArrayLike, shared_sds: ArrayLike) -> NDArray[np.float64]:
    """Uncertainty of a plain average, from what each tree has alone and what all trees share.

    sd = sqrt(sum of independent sd² + (sum of shared sd)²) / number of trees

    Parameters
    ----------
    independent_sds
        Standard uncertainty of each tree's value from errors of its own, 0 or more. [any]
    shared_sds
        The same from errors common to all the trees, 0 or more. [same as independent_sds]

    Returns
    -------
    mean_sd
        NaN where no tree has both. [same as independent_sds]

    Notes
    -----
    Source: GUM2008, eq. 10 and eq. 16.
    First order. A tree with a NaN is left out: hand in the trees of the average. Shared errors
    push all trees the same way, so their share is averaged, not shrunk.

    Examples
    --------
    >>> print(mean_sd([0.4, 0.4, 0.4, 0.4], [0.3, 0.3, 0.3, 0.3]).round(3))
    0.361
    """
    own, shared = np.broadcast_arrays(
        np.asarray(independent_sds, dtype=float), np.asarray(shared_sds, dtype=float)
    )
    used = (own >= 0) & (shared >= 0)

    variance = np.sum(own**2, axis=-1, where=used) + np.sum(shared, axis=-1, where=used) ** 2
    sd = np.sqrt(variance) / used.sum(axis=-1)

    return np.where(used.any(axis=-1), sd, np.nan)[()]


def basal_area_total_sd(diameters_cm: ArrayLike, sds_cm: ArrayLike) -> NDArray[np.float64]:
    """Uncertainty of the basal area of all trees together.

    sd = pi / 2 * sqrt(sum of (diameter * diameter sd)²) / 100²

    Parameters
    ----------
    diameters_cm
        Diameters of the trees along the last axis, above 0; NaN where unknown. [cm]
    sds_cm
        Their standard uncertainties, 0 or more. [cm]

    Returns
    -------
    basal_area_sd_m2
        NaN where no tree has a diameter, or where a diameter has no uncertainty. [m²]

    Notes
    -----
    Source: GUM2008, eq. 10.
    First order; each tree was measured on its own, so the errors have nothing in common.

    Examples
    --------
    >>> print(basal_area_total_sd([30, 40], [0.2, 0.2]).round(6))
    0.001571
    """
    diameters, sds = np.broadcast_arrays(
        np.asarray(diameters_cm, dtype=float), np.asarray(sds_cm, dtype=float)
    )
    used = (diameters > 0) & (diameters < np.inf)

    sd = np.pi / 2 * np.sqrt(np.sum((diameters * sds) ** 2, axis=-1, where=used)) / 100**2

    known = np.all(sds >= 0, axis=-1, where=used) & used.any(axis=-1)
    return np.where(known, sd, np.nan)[()]


@np.errstate(invalid="ignore")
def quadratic_mean_diameter_sd(diameters_cm: ArrayLike, sds_cm: ArrayLike) -> NDArray[np.float64]:
    """Uncertainty of the quadratic mean diameter.

    sd = sqrt(sum of (diameter * diameter sd)² / (number of trees * sum of diameter²))

    Parameters
    ----------
    diameters_cm
        Diameters of the trees along the last axis, above 0; NaN where unknown. [cm]
    sds_cm
        Their standard uncertainties, 0 or more. [cm]

    Returns
    -------
    quadratic_mean_diameter_sd_cm
        NaN where no tree has a diameter, or where a diameter has no uncertainty. [cm]

    Notes
    -----
    Source: GUM2008, eq. 10.
    First order; each tree was measured on its own, so the errors have nothing in common.

    Examples
    --------
    >>> print(quadratic_mean_diameter_sd([30, 40], [0.2, 0.2]).round(3))
    0.141
    """
    diameters, sds = np.broadcast_arrays(
        np.asarray(diameters_cm, dtype=float), np.asarray(sds_cm, dtype=float)
    )
    used = (diameters > 0) & (diameters < np.inf)

    spread = np.sum((diameters * sds) ** 2, axis=-1, where=used)
    squares = np.sum(diameters**2, axis=-1, where=used)
    sd = np.sqrt(spread / (used.sum(axis=-1) * squares))

    known = np.all(sds >= 0, axis=-1, where=used) & used.any(axis=-1)
    return np.where(known, sd, np.nan)[()]


@np.errstate(divide="ignore", invalid="ignore")
def lorey_height_sd(
    diameters_cm: ArrayLike,
    diameter_sds_cm: ArrayLike,
    heights_m: ArrayLike,
    height_sds_m: ArrayLike,
    height_shared_sds_m: ArrayLike,
) -> NDArray[np.float64]:
    """Uncertainty of the Lorey height, from the diameters and the heights.

    sd = sqrt(sum of (2 * diameter * (height - Lorey height) * diameter sd)²
    + sum of (diameter² * height sd)² + (sum of diameter² * shared height sd)²)
    / sum of diameter²

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

    Returns
    -------
    lorey_height_sd_m
        NaN where no tree has both values, or where one of them has no uncertainty. [m]

    Notes
    -----
    Source: GUM2008, eq. 10 and eq. 16.
    First order. A basal area is a constant times diameter², and the constant cancels.

    Examples
    --------
    >>> print(lorey_height_sd([30, 20], [0.2, 0.2], [20, 14], [0.6, 0.5], [0.3, 0.3]).round(3))
    0.536
    """
    columns = (diameters_cm, diameter_sds_cm, heights_m, height_sds_m, height_shared_sds_m)
    diameters, diameter_sds, heights, own, shared = np.broadcast_arrays(
        *(np.asarray(column, dtype=float) for column in columns)
    )
    used = (diameters > 0) & (diameters < np.inf) & (heights > 0) & (heights < np.inf)
    weights = np.where(used, diameters**2, 0.0)

    total = np.sum(weights, axis=-1, keepdims=True)
    lorey = np.sum(weights * heights, axis=-1, where=used, keepdims=True) / total
    by_diameter = 2 * diameters * (heights - lorey) * diameter_sds
    variance = np.sum(by_diameter**2 + (weights * own) ** 2, axis=-1, where=used)
    variance = variance + np.sum(weights * shared, axis=-1, where=used) ** 2

    sound = (diameter_sds >= 0) & (own >= 0) & (shared >= 0)
    known = np.all(sound, axis=-1, where=used) & used.any(axis=-1)
    return np.where(known, np.sqrt(variance) / total[..., 0], np.nan)[()]


@np.errstate(divide="ignore", invalid="ignore")
def mean_sampling_sd(values: ArrayLike, total: ArrayLike) -> NDArray[np.float64]:
    """Uncertainty of an average because some of the trees have no value.

    sd = standard deviation / sqrt(number measured) * sqrt(1 - number measured / total)

    Parameters
    ----------
    values
        Values of the trees along the last axis; NaN where unknown. [any]
    total
        Trees that belong to the average, with and without a value. [-]

    Returns
    -------
    mean_sampling_sd
        0 where every tree has a value, NaN where fewer than two have one. [same as values]

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
    sizes, whole = np.asarray(values, dtype=float), np.asarray(total, dtype=float)
    known = np.isfinite(sizes)
    count = known.sum(axis=-1)

    mean = np.sum(sizes, axis=-1, where=known) / count
    squares = np.sum((sizes - np.expand_dims(mean, -1)) ** 2, axis=-1, where=known)
    sd = np.sqrt(squares / (count - 1) / count * (1 - count / whole))

    return np.where(count == whole, 0.0, np.where(count > 1, sd, np.nan))[()]


@np.errstate(divide="ignore", invalid="ignore")
def quadratic_mean_diameter_sampling_sd(
    diameters_cm: ArrayLike, total: ArrayLike
) -> NDArray[np.float64]:
    """Uncertainty of the quadratic mean diameter because some of the trees have no diameter.

    sd = sampling sd of the mean of diameter² / (2 * quadratic mean diameter)

    Parameters
    ----------
    diameters_cm
        Diameters of the trees along the last axis, above 0; NaN where unknown. [cm]
    total
        Trees that belong to the mean, with and without a diameter. [-]

    Returns
    -------
    quadratic_mean_diameter_sampling_sd_cm
        0 where every tree has a diameter, NaN where fewer than two have one. [cm]

    Notes
    -----
    Source: GUM2008, eq. 10, on the mean of the squares.
    First order. Holds if the trees without a diameter are like the others.

    Examples
    --------
    >>> print(quadratic_mean_diameter_sampling_sd([20, 30, 40], 4).round(3))
    2.798
    """
    squares = np.asarray(diameters_cm, dtype=float) ** 2
    known = np.isfinite(squares)

    quadratic_mean = np.sqrt(np.sum(squares, axis=-1, where=known) / known.sum(axis=-1))
    sd = mean_sampling_sd(squares, total) / (2 * quadratic_mean)

    return np.where(quadratic_mean > 0, sd, np.nan)[()]
