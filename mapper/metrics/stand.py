"""Figures of a stand. Trees run along the last axis; NaN stands for a tree without the value."""

import numpy as np
from numpy.typing import ArrayLike, NDArray


@np.errstate(divide="ignore", invalid="ignore")
def stems_per_ha(count: ArrayLike, area_ha: ArrayLike) -> NDArray[np.float64]:
    """Number of trees on one hectare, if the whole hectare were like this stand.

    stems per hectare = count / area

    Parameters
    ----------
    count
        Living trees counted on the area, 0 or more. [-]
    area_ha
        Horizontal area on which every tree was counted, above 0. [ha]

    Returns
    -------
    stems_per_ha
        Trees on a hectare; NaN where the count or the area is missing. [1/ha]

    Notes
    -----
    Source: FIADBUG, chapter 1, eq. 2.
    Means something only where every tree was counted, or where the trees were drawn by chance.

    Examples
    --------
    >>> print(stems_per_ha(584, 4))
    146.0
    """
    trees = np.asarray(count, dtype=float)
    area = np.asarray(area_ha, dtype=float)

    density = trees / area

    return np.where((trees >= 0) & (area > 0) & (density < np.inf), density, np.nan)[()]


@np.errstate(divide="ignore", invalid="ignore")
def basal_area_per_ha(
    basal_areas_m2: ArrayLike, area_ha: ArrayLike, weights: ArrayLike = 1.0
) -> NDArray[np.float64]:
    """Basal area of all trees together, on one hectare.

    basal area per hectare = sum of (weight * basal area) / area

    Parameters
    ----------
    basal_areas_m2
        Basal areas of the trees along the last axis, above 0; NaN where unknown. [m²]
    area_ha
        Horizontal area on which every tree was counted, above 0; 1 where the weights are trees
        per hectare. [ha]
    weights
        How many trees each one stands for, 0 or more: its tally, or trees per hectare. [-]

    Returns
    -------
    basal_area_per_ha
        Area of all stems cut across, on a hectare; NaN where no tree has a basal area, or where
        the area is missing. [m²/ha]

    Notes
    -----
    Source: BRACK1998, page S_BA.
    Trees without a basal area add nothing and are not made up for, so the figure reads "at
    least" while some lack one.

    Examples
    --------
    >>> print(basal_area_per_ha([0.3, 0.1, np.nan], 0.04).round(2))
    10.0
    """
    areas, times = _alongside(basal_areas_m2, weights)
    ground = np.asarray(area_ha, dtype=float)
    used = (areas > 0) & (areas < np.inf) & (times > 0)

    total = np.sum(times * areas, axis=-1, where=used) / ground

    return np.where(used.any(axis=-1) & (ground > 0), total, np.nan)[()]


def mean_diameter(diameters_cm: ArrayLike, weights: ArrayLike = 1.0) -> NDArray[np.float64]:
    """Plain average of the diameters.

    mean diameter = sum of (weight * diameter) / sum of weights

    Parameters
    ----------
    diameters_cm
        Diameters of the trees along the last axis, above 0; NaN where unknown. [cm]
    weights
        How many trees each one stands for, 0 or more: its tally, or trees per hectare. [-]

    Returns
    -------
    mean_diameter_cm
        Mean of the diameters; NaN where no tree has a diameter. [cm]

    Notes
    -----
    Source: CURTIS2000, page 137, arithmetic mean.
    Describes the trees that have a diameter, and no others.

    Examples
    --------
    >>> print(mean_diameter([10, 20, 33, np.nan]))
    21.0
    """
    return _mean_above_zero(diameters_cm, weights)


@np.errstate(invalid="ignore")
def quadratic_mean_diameter(
    diameters_cm: ArrayLike, weights: ArrayLike = 1.0
) -> NDArray[np.float64]:
    """Diameter of the tree of average basal area: thick trees weigh more than in a plain average.

    quadratic mean diameter = sqrt(sum of (weight * diameter²) / sum of weights)

    Parameters
    ----------
    diameters_cm
        Diameters of the trees along the last axis, above 0; NaN where unknown. [cm]
    weights
        How many trees each one stands for, 0 or more: its tally, or trees per hectare. [-]

    Returns
    -------
    quadratic_mean_diameter_cm
        Diameter of the stem of mean cut area; NaN where no tree has a diameter. [cm]

    Notes
    -----
    Source: BRACK1998, page S_BA (there from basal area and number of trees).
    Never below the plain average; the more the trees differ, the further above it.

    Examples
    --------
    >>> print(quadratic_mean_diameter([10, 20, 30]).round(2))
    21.6
    """
    diameters, times = _alongside(diameters_cm, weights)
    used = (diameters > 0) & (diameters < np.inf) & (times > 0)

    squares = np.sum(times * diameters**2, axis=-1, where=used)
    mean_square = squares / np.sum(times, axis=-1, where=used)

    return np.where(used.any(axis=-1), np.sqrt(mean_square), np.nan)[()]


def mean_height(heights_m: ArrayLike, weights: ArrayLike = 1.0) -> NDArray[np.float64]:
    """Plain average of the heights.

    mean height = sum of (weight * height) / sum of weights

    Parameters
    ----------
    heights_m
        Heights of the trees along the last axis, above 0; NaN where unknown. [m]
    weights
        How many trees each one stands for, 0 or more: its tally, or trees per hectare. [-]

    Returns
    -------
    mean_height_m
        Mean of the heights; NaN where no tree has a height. [m]

    Notes
    -----
    Source: BRACK1998, page STNDHGT, mean height unweighted.
    Describes the trees that have a height, and no others. In a stand of mixed ages it says
    little.

    Examples
    --------
    >>> print(mean_height([12, 18, np.nan]))
    15.0
    """
    return _mean_above_zero(heights_m, weights)


@np.errstate(invalid="ignore")
def lorey_height(
    basal_areas_m2: ArrayLike, heights_m: ArrayLike, weights: ArrayLike = 1.0
) -> NDArray[np.float64]:
    """Average height in which every tree counts by its basal area, so thick trees count more.

    Lorey height = sum of (weight * basal area * height) / sum of (weight * basal area)

    Parameters
    ----------
    basal_areas_m2
        Basal areas of the trees along the last axis, above 0; NaN where unknown. [m²]
    heights_m
        Heights of the same trees, above 0; NaN where unknown. [m]
    weights
        How many trees each one stands for, 0 or more: its tally, or trees per hectare. [-]

    Returns
    -------
    lorey_height_m
        Mean height, thick trees counting more; NaN where no tree has both values. [m]

    Notes
    -----
    Source: BRACK1998, page STNDHGT, mean height weighted.
    Uses the trees that have both values, and no others. Felling small trees hardly moves it.

    Examples
    --------
    >>> print(lorey_height([0.03, 0.01], [20, 12]))
    18.0
    """
    areas, heights, times = _alongside(basal_areas_m2, heights_m, weights)
    used = (areas > 0) & (areas < np.inf) & (heights > 0) & (heights < np.inf) & (times > 0)

    weighted = np.sum(times * areas * heights, axis=-1, where=used)
    total = np.sum(times * areas, axis=-1, where=used)

    return np.where(used.any(axis=-1), weighted / total, np.nan)[()]


@np.errstate(invalid="ignore")
def _mean_above_zero(values: ArrayLike, weights: ArrayLike) -> NDArray[np.float64]:
    sizes, times = _alongside(values, weights)
    used = (sizes > 0) & (sizes < np.inf) & (times > 0)

    mean = np.sum(times * sizes, axis=-1, where=used) / np.sum(times, axis=-1, where=used)

    return np.where(used.any(axis=-1), mean, np.nan)[()]


def _alongside(*columns: ArrayLike) -> tuple[NDArray[np.float64], ...]:
    """The columns as numbers of one shape, so that weights may be one for all."""
    return np.broadcast_arrays(*(np.asarray(column, dtype=float) for column in columns))
