"""From plots and angle counts to a stand. Plots run along the last axis."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

CM_PER_M = 100.0
M2_PER_HA = 10_000.0


@np.errstate(divide="ignore", invalid="ignore")
def trees_per_ha_of_plot(plot_area_m2: ArrayLike) -> NDArray[np.float64]:
    """How many trees on one hectare a tree on a plot stands for.

    trees per hectare = 10000 / plot area

    Parameters
    ----------
    plot_area_m2
        Horizontal area of the plot, above 0. [m²]

    Returns
    -------
    trees_per_ha
        Trees of a hectare that one tree of the plot stands for; NaN where there is no plot. [1/ha]

    Notes
    -----
    Source: FIADBUG, chapter 1, eq. 1 (there for four plots together, in acres).
    Divide by the number of plots for what it stands for in their average.

    Examples
    --------
    >>> print(trees_per_ha_of_plot(400))
    25.0
    """
    area = np.asarray(plot_area_m2, dtype=float)

    trees = M2_PER_HA / area

    return np.where((area > 0) & (area < np.inf), trees, np.nan)[()]


@np.errstate(divide="ignore", invalid="ignore")
def trees_per_ha_of_angle_count(
    basal_area_factor: ArrayLike, diameter_cm: ArrayLike
) -> NDArray[np.float64]:
    """How many trees on one hectare a tree counted at an angle count stands for.

    trees per hectare = basal area factor / basal area of the tree

    Parameters
    ----------
    basal_area_factor
        Basal area on a hectare that each counted tree stands for, above 0. [m²/ha]
    diameter_cm
        Diameter of the tree, above 0. [cm]

    Returns
    -------
    trees_per_ha
        Trees of a hectare that the counted tree stands for; NaN where the tree has no diameter.
        [1/ha]

    Notes
    -----
    Source: FIADBUG, chapter 1, eq. 6 (there in acres, for several points together).
    Thin trees are counted only close by, so each stands for many.

    Examples
    --------
    >>> print(trees_per_ha_of_angle_count(2, 20).round(2))
    63.66
    """
    factor, diameter = (
        np.asarray(basal_area_factor, dtype=float), np.asarray(diameter_cm, dtype=float)
    )  # fmt: skip

    trees = factor / (np.pi / 4 * (diameter / CM_PER_M) ** 2)

    return np.where((factor > 0) & (diameter > 0) & (trees > 0), trees, np.nan)[()]


@np.errstate(divide="ignore", invalid="ignore")
def limiting_distance(basal_area_factor: ArrayLike, diameter_cm: ArrayLike) -> NDArray[np.float64]:
    """How far the middle of a tree may be from the point, for the tree to count there.

    limiting distance = diameter / (2 * sqrt(basal area factor)), diameter in cm, distance in m

    Parameters
    ----------
    basal_area_factor
        Basal area on a hectare that each counted tree stands for, above 0. [m²/ha]
    diameter_cm
        Diameter of the tree, above 0. [cm]

    Returns
    -------
    limiting_distance_m
        Horizontal, to the middle of the stem. NaN where the tree has no diameter. [m]

    Notes
    -----
    Source: POINTSLIDES, page 10, plot radius factor (there in feet for each inch).
    To the near side of the stem it is half a diameter less. On a slope measure level, or turn the
    slope distance into a horizontal one.

    Examples
    --------
    >>> print(limiting_distance(4, 30))
    7.5
    """
    factor, diameter = (
        np.asarray(basal_area_factor, dtype=float), np.asarray(diameter_cm, dtype=float)
    )  # fmt: skip

    distance = diameter / (2 * np.sqrt(factor))

    return np.where((factor > 0) & (diameter > 0) & (distance < np.inf), distance, np.nan)[()]


@np.errstate(invalid="ignore")
def area_of_slope(area_m2: ArrayLike, slope_deg: ArrayLike) -> NDArray[np.float64]:
    """Horizontal area of a plot that was laid out along the slope.

    horizontal area = area * cos(slope)

    Parameters
    ----------
    area_m2
        Area as measured along the ground, above 0. [m²]
    slope_deg
        Steepest slope of the ground, from 0 to below 90. [deg]

    Returns
    -------
    area_m2
        Its ground as a map shows it; NaN where there is no plot. [m²]

    Notes
    -----
    Source: EUCLID, a plane seen from above is shorter by the cosine in one direction.
    A round plot so laid out is an ellipse on the map. Below 8 degrees it matters less than 1 %.

    Examples
    --------
    >>> print(area_of_slope(400, 20).round(2))
    375.88
    """
    area, slope = np.asarray(area_m2, dtype=float), np.asarray(slope_deg, dtype=float)

    horizontal = area * np.cos(np.radians(slope))

    return np.where((area > 0) & (slope >= 0) & (slope < 90), horizontal, np.nan)[()]


@np.errstate(divide="ignore", invalid="ignore")
def ratio_of_totals(values: ArrayLike, sizes: ArrayLike) -> NDArray[np.float64]:
    """Average over plots in which large plots weigh more: all that was found over all the ground.

    ratio = sum of values / sum of sizes

    Parameters
    ----------
    values
        What each plot holds, along the last axis, 0 where nothing was found; NaN for no plot. [any]
    sizes
        Size of each plot, above 0: its area, or 1 where all are alike. [any]

    Returns
    -------
    ratio
        All values together over all sizes together; NaN where there is no plot. [values over sizes]

    Notes
    -----
    Source: FREESE1962, ratio estimation, ratio of means.
    A plot without any tree is a plot with 0, and belongs in.

    Examples
    --------
    >>> print(ratio_of_totals([1.0, 1.2, 0.4], [0.04, 0.04, 0.02]).round(6))
    26.0
    """
    found, ground = _plots(values, sizes)
    used = np.isfinite(found) & (ground > 0)

    ratio = np.sum(found, axis=-1, where=used) / np.sum(ground, axis=-1, where=used)

    return np.where(used.any(axis=-1), ratio, np.nan)[()]


@np.errstate(divide="ignore", invalid="ignore")
def ratio_of_totals_sd(
    values: ArrayLike, sizes: ArrayLike, sampled_share: ArrayLike = 0.0
) -> NDArray[np.float64]:
    """Sampling error of the ratio of totals: what other plots drawn by chance would give.

    sd = sqrt((1 - sampled share) * sum of (value - ratio * size)² / (plots * (plots - 1)))
    / mean size

    Parameters
    ----------
    values
        What each plot holds, along the last axis, 0 where nothing was found; NaN for no plot. [any]
    sizes
        Size of each plot, above 0: its area, or 1 where all are alike. [any]
    sampled_share
        Part of the stand that the plots cover, 0 to 1; 0 where it is small or not known. [-]

    Returns
    -------
    ratio_sd
        Sampling error of the ratio; NaN where there are fewer than two plots. [values over sizes]

    Notes
    -----
    Source: FREESE1962, ratio estimation, standard error of the ratio of means.
    For plots drawn by chance; of plots chosen by hand it says nothing. Where all plots are of one
    size it is the standard error of a plain average.

    Examples
    --------
    >>> print(ratio_of_totals_sd([1.0, 1.2, 0.4], [0.04, 0.04, 0.02]).round(2))
    2.5
    """
    found, ground = _plots(values, sizes)
    share = np.asarray(sampled_share, dtype=float)
    used = np.isfinite(found) & (ground > 0)
    plots = used.sum(axis=-1)

    ratio = np.sum(found, axis=-1, where=used) / np.sum(ground, axis=-1, where=used)
    residuals = found - np.expand_dims(ratio, -1) * ground
    squares = np.sum(residuals**2, axis=-1, where=used)
    mean_size = np.sum(ground, axis=-1, where=used) / plots
    sd = np.sqrt((1 - share) * squares / (plots * (plots - 1))) / mean_size

    return np.where((plots > 1) & (share >= 0) & (share <= 1), sd, np.nan)[()]


@np.errstate(divide="ignore", invalid="ignore")
def stratified_mean(means: ArrayLike, areas: ArrayLike) -> NDArray[np.float64]:
    """Average over parts of a stand that were sampled apart, each by the ground that it covers.

    mean = sum of (area * mean of the part) / sum of areas

    Parameters
    ----------
    means
        Average of each part, along the last axis. [any]
    areas
        Area of each part, above 0; NaN where there is no such part. [ha]

    Returns
    -------
    mean
        Average of the whole; NaN where a part with an area has no average. [same as means]

    Notes
    -----
    Source: FREESE1962, stratified random sampling.
    The areas must be known, not guessed from the plots.

    Examples
    --------
    >>> print(stratified_mean([10, 20], [3, 1]))
    12.5
    """
    parts, ground = _plots(means, areas)
    used = ground > 0

    mean = np.sum(ground * parts, axis=-1, where=used) / np.sum(ground, axis=-1, where=used)

    return np.where(used.any(axis=-1), mean, np.nan)[()]


@np.errstate(divide="ignore", invalid="ignore")
def stratified_sd(sds: ArrayLike, areas: ArrayLike) -> NDArray[np.float64]:
    """Sampling error of the average over parts of a stand that were sampled apart.

    sd = sqrt(sum of (area * sd of the part)²) / sum of areas

    Parameters
    ----------
    sds
        Sampling error of each part, along the last axis, 0 or more. [any]
    areas
        Area of each part, above 0; NaN where there is no such part. [ha]

    Returns
    -------
    sd
        Sampling error of the average of the whole; NaN where a part with an area has none.
        [same as sds]

    Notes
    -----
    Source: FREESE1962, stratified random sampling, standard error of the mean.
    Each part needs two plots of its own.

    Examples
    --------
    >>> print(stratified_sd([1, 2], [3, 1]).round(4))
    0.9014
    """
    parts, ground = _plots(sds, areas)
    used = ground > 0

    variance = np.sum((ground * parts) ** 2, axis=-1, where=used)
    sd = np.sqrt(variance) / np.sum(ground, axis=-1, where=used)

    known = np.all(parts >= 0, axis=-1, where=used) & used.any(axis=-1)
    return np.where(known, sd, np.nan)[()]


@np.errstate(divide="ignore", invalid="ignore", over="ignore")
def interval_factor(value: ArrayLike, half_width: ArrayLike) -> NDArray[np.float64]:
    """By what a number per hectare may be divided and multiplied to make an interval.

    factor = exp(half width / value)

    Parameters
    ----------
    value
        Trees or basal area on a hectare, above 0. [any]
    half_width
        Half the interval that is as wide above as below, 0 or more. [same as value]

    Returns
    -------
    factor
        1 or more; the ends are value / factor and value * factor. NaN where one is missing. [-]

    Notes
    -----
    Source: BUCKLAND2001, log-based interval of a density (first order).
    Numbers of trees on plots are lopsided: many plots with few, a few with many. An interval as
    wide above as below misses the truth too often on the high side, and may begin below 0. This
    one cannot.

    Examples
    --------
    >>> print(interval_factor(100, 25).round(3))
    1.284
    """
    middle, half = np.asarray(value, dtype=float), np.asarray(half_width, dtype=float)

    factor = np.exp(half / middle)

    return np.where((middle > 0) & (half >= 0) & (factor < np.inf), factor, np.nan)[()]


def _plots(values: ArrayLike, sizes: ArrayLike) -> tuple[NDArray[np.float64], ...]:
    return np.broadcast_arrays(np.asarray(values, dtype=float), np.asarray(sizes, dtype=float))
