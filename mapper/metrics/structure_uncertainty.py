"""Measurement uncertainty of how crowded, tall and unequal a stand is, closed form, first order.

What trees do not share (each tape reading) shrinks with their number. What they share (one
pace, one eye height) does not. Trees run along the last axis.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray

from mapper.metrics.structure import REINEKE_DIAMETER_CM, REINEKE_EXPONENT


@np.errstate(divide="ignore", invalid="ignore")
def stand_density_index_sd(
    stand_density_index: ArrayLike,
    quadratic_mean_diameter_cm: ArrayLike,
    quadratic_mean_diameter_sd_cm: ArrayLike,
) -> NDArray[np.float64]:
    """Uncertainty of the stand density index, from that of the quadratic mean diameter.

    sd = index * 1.605 * quadratic mean diameter sd / quadratic mean diameter

    Parameters
    ----------
    stand_density_index
        The index itself, 0 or more. [1/ha]
    quadratic_mean_diameter_cm
        Quadratic mean diameter, above 0. [cm]
    quadratic_mean_diameter_sd_cm
        Its standard uncertainty, 0 or more. [cm]

    Returns
    -------
    stand_density_index_sd
        Standard uncertainty of the index; NaN where a value is missing. [1/ha]

    Notes
    -----
    Source: GUM2008, eq. 10.
    First order, by the measuring alone: the number of stems is taken as counted.

    Examples
    --------
    >>> print(stand_density_index_sd(680.3, 31, 0.2).round(2))
    7.04
    """
    index = np.asarray(stand_density_index, dtype=float)
    diameter = np.asarray(quadratic_mean_diameter_cm, dtype=float)
    diameter_sd = np.asarray(quadratic_mean_diameter_sd_cm, dtype=float)

    sd = index * REINEKE_EXPONENT * diameter_sd / diameter

    return np.where((index >= 0) & (diameter > 0) & (diameter_sd >= 0), sd, np.nan)[()]


@np.errstate(divide="ignore", invalid="ignore")
def stand_density_index_summed_sd(
    diameters_cm: ArrayLike, sds_cm: ArrayLike, area_ha: ArrayLike, weights: ArrayLike = 1.0
) -> NDArray[np.float64]:
    """Uncertainty of the stand density index that is added up tree by tree.

    sd = sqrt(sum of (weight * 1.605 * (diameter / 25.4)^1.605 * diameter sd / diameter)²) / area

    Parameters
    ----------
    diameters_cm
        Diameters of the trees along the last axis, above 0; NaN where unknown. [cm]
    sds_cm
        Their standard uncertainties, 0 or more. [cm]
    area_ha
        Horizontal area on which every tree was counted, above 0; 1 where the weights are trees
        per hectare. [ha]
    weights
        How many trees each one stands for, 0 or more: its tally, or trees per hectare. [-]

    Returns
    -------
    stand_density_index_summed_sd
        Standard uncertainty of the index; NaN where no tree has a diameter, or where a diameter
        has no uncertainty. [1/ha]

    Notes
    -----
    Source: GUM2008, eq. 10.
    First order; each tree was measured on its own, so the errors have nothing in common.

    Examples
    --------
    >>> print(stand_density_index_summed_sd([25.4, 25.4], [0.2, 0.2], 0.01).round(3))
    1.787
    """
    diameters, sds, times = _alongside(diameters_cm, sds_cm, weights)
    ground = np.asarray(area_ha, dtype=float)
    used = (diameters > 0) & (diameters < np.inf) & (times > 0)

    each = times * (diameters / REINEKE_DIAMETER_CM) ** REINEKE_EXPONENT
    errors = each * REINEKE_EXPONENT * sds / diameters
    sd = np.sqrt(np.sum(errors**2, axis=-1, where=used)) / ground

    known = np.all(sds >= 0, axis=-1, where=used) & used.any(axis=-1) & (ground > 0)
    return np.where(known, sd, np.nan)[()]


@np.errstate(invalid="ignore")
def top_height_sd(
    diameters_cm: ArrayLike,
    height_sds_m: ArrayLike,
    height_shared_sds_m: ArrayLike,
    wanted: ArrayLike,
    weights: ArrayLike = 1.0,
) -> NDArray[np.float64]:
    """Uncertainty of the top height, from the heights of the thickest trees.

    sd = sqrt(sum of (weight * height sd)² + (sum of weight * shared height sd)²) / wanted, over
    the thickest trees until the weights come to the number wanted

    Parameters
    ----------
    diameters_cm
        Diameters of the trees along the last axis, above 0; NaN where unknown. [cm]
    height_sds_m
        Standard uncertainty of each height from errors of its own, 0 or more. [m]
    height_shared_sds_m
        The same from errors common to all the trees, 0 or more. [m]
    wanted
        How many of the thickest trees count: 100 for each hectare of the area, above 0. [-]
    weights
        How many trees each one stands for, 0 or more: its tally, or trees per hectare. [-]

    Returns
    -------
    top_height_sd_m
        Standard uncertainty of the top height; NaN where fewer trees than wanted have a diameter,
        or where the height of one of the thickest has no uncertainty. [m]

    Notes
    -----
    Source: GUM2008, eq. 10 and eq. 16.
    First order. That a wrong girth lets another tree in among the thickest is left out: trees of
    nearly the same girth are of nearly the same height.

    Examples
    --------
    >>> print(top_height_sd([42, 35.5, 28], [0.4, 0.4, 0.4], [0.3, 0.3, 0.3], 2).round(3))
    0.412
    """
    diameters, own, shared, times = _alongside(
        diameters_cm, height_sds_m, height_shared_sds_m, weights
    )
    number = np.asarray(wanted, dtype=float)
    used = (diameters > 0) & (diameters < np.inf) & (times > 0)
    thickest_first = np.argsort(np.where(used, -diameters, np.inf), axis=-1, kind="stable")
    own, shared, times = (
        np.take_along_axis(column, thickest_first, axis=-1)
        for column in (own, shared, np.where(used, times, 0.0))
    )

    before = np.cumsum(times, axis=-1) - times
    shares = np.clip(np.expand_dims(number, -1) - before, 0.0, times)
    apart = np.sum((shares * own) ** 2, axis=-1, where=shares > 0)
    together = np.sum(shares * shared, axis=-1, where=shares > 0) ** 2
    sd = np.sqrt(apart + together) / number

    known = np.all((own >= 0) & (shared >= 0), axis=-1, where=shares > 0)
    enough = (number > 0) & (np.sum(times, axis=-1) >= number)
    return np.where(known & enough, sd, np.nan)[()]


@np.errstate(divide="ignore", invalid="ignore")
def relative_spacing_sd(
    relative_spacing: ArrayLike, top_height_m: ArrayLike, top_height_sd_m: ArrayLike
) -> NDArray[np.float64]:
    """Uncertainty of the relative spacing, from that of the top height.

    sd = relative spacing * top height sd / top height

    Parameters
    ----------
    relative_spacing
        The relative spacing itself, above 0. [-]
    top_height_m
        Average height of the thickest trees, above 0. [m]
    top_height_sd_m
        Its standard uncertainty, 0 or more. [m]

    Returns
    -------
    relative_spacing_sd
        Standard uncertainty of the relative spacing; NaN where a value is missing. [-]

    Notes
    -----
    Source: GUM2008, eq. 10.
    First order, by the measuring alone: the number of stems is taken as counted.

    Examples
    --------
    >>> print(relative_spacing_sd(0.2, 25, 0.5))
    0.004
    """
    spacing = np.asarray(relative_spacing, dtype=float)
    height = np.asarray(top_height_m, dtype=float)
    height_sd = np.asarray(top_height_sd_m, dtype=float)

    sd = spacing * height_sd / height

    return np.where((spacing > 0) & (height > 0) & (height_sd >= 0), sd, np.nan)[()]


@np.errstate(divide="ignore", invalid="ignore")
def gini_basal_area_sd(
    diameters_cm: ArrayLike, sds_cm: ArrayLike, weights: ArrayLike = 1.0
) -> NDArray[np.float64]:
    """Uncertainty of how unequal the trees are in size, from that of their diameters.

    sd = sqrt(sum of (weight * (2 * rank - 1 - gini) * 2 * diameter * diameter sd)²)
    / sum of (weight * diameter²), rank = part of the trees thinner than this one, and half of
    itself

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
    gini_basal_area_sd
        Standard uncertainty of the index; NaN where no tree has a diameter, or where a diameter
        has no uncertainty. [-]

    Notes
    -----
    Source: GUM2008, eq. 10.
    First order. A basal area is a constant times diameter², and the constant cancels. Two trees
    that change places are of nearly the same size, so their order is taken as known.

    Examples
    --------
    >>> print(gini_basal_area_sd([10, 20], [0.2, 0.3]).round(4))
    0.008
    """
    diameters, sds, times = _alongside(diameters_cm, sds_cm, weights)
    used = (diameters > 0) & (diameters < np.inf) & (times > 0)
    thinnest_first = np.argsort(np.where(used, diameters, np.inf), axis=-1, kind="stable")
    diameters, sds, times = (
        np.take_along_axis(np.where(used, column, 0.0), thinnest_first, axis=-1)
        for column in (diameters, sds, times)
    )

    trees = np.sum(times, axis=-1, keepdims=True)
    rank = (np.cumsum(times, axis=-1) - times / 2) / trees
    total = np.sum(times * diameters**2, axis=-1, keepdims=True)
    gini = np.sum(times * (2 * rank - 1) * diameters**2, axis=-1, keepdims=True) / total
    errors = times * (2 * rank - 1 - gini) * 2 * diameters * sds
    sd = np.sqrt(np.sum(errors**2, axis=-1)) / total[..., 0]

    known = np.all(sds >= 0, axis=-1) & used.any(axis=-1)
    return np.where(known, sd, np.nan)[()]


def _alongside(*columns: ArrayLike) -> tuple[NDArray[np.float64], ...]:
    """The columns as numbers of one shape, so that weights may be one for all."""
    return np.broadcast_arrays(*(np.asarray(column, dtype=float) for column in columns))
