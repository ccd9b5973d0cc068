"""How crowded and how tall a stand is. Trees run along the last axis."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

REINEKE_DIAMETER_CM = 25.4
REINEKE_EXPONENT = 1.605
M2_PER_HA = 10_000.0


@np.errstate(invalid="ignore")
def stand_density_index(
    stems_per_ha: ArrayLike, quadratic_mean_diameter_cm: ArrayLike
) -> NDArray[np.float64]:
    """How many stems of 25.4 cm on one hectare would crowd each other as much as this stand does.

    stand density index = stems per hectare * (quadratic mean diameter / 25.4)^1.605

    Parameters
    ----------
    stems_per_ha
        Living trees on one hectare, 0 or more. [1/ha]
    quadratic_mean_diameter_cm
        Their quadratic mean diameter, above 0. [cm]

    Returns
    -------
    stand_density_index
        Stems per hectare of a stand as dense, of 25.4 cm thick trees; NaN where one of the two is
        missing. [1/ha]

    Notes
    -----
    Source: LARSENSDI, formula of Reineke in metric units.
    Made for stands of one age. In a stand of thick and thin trees the form summed over the trees
    says more. Compare it with stands of the same kind of tree only.

    Examples
    --------
    >>> print(stand_density_index(494.1, 31).round(1))
    680.3
    """
    stems = np.asarray(stems_per_ha, dtype=float)
    diameter = np.asarray(quadratic_mean_diameter_cm, dtype=float)

    index = stems * (diameter / REINEKE_DIAMETER_CM) ** REINEKE_EXPONENT

    return np.where((stems >= 0) & (diameter > 0) & (index < np.inf), index, np.nan)[()]


@np.errstate(divide="ignore", invalid="ignore")
def stand_density_index_summed(
    diameters_cm: ArrayLike, area_ha: ArrayLike, weights: ArrayLike = 1.0
) -> NDArray[np.float64]:
    """The stand density index, added up tree by tree: for stands of thick and thin trees.

    stand density index = sum of (weight * (diameter / 25.4)^1.605) / area

    Parameters
    ----------
    diameters_cm
        Diameters of the trees along the last axis, above 0; NaN where unknown. [cm]
    area_ha
        Horizontal area on which every tree was counted, above 0; 1 where the weights are trees
        per hectare. [ha]
    weights
        How many trees each one stands for, 0 or more: its tally, or trees per hectare. [-]

    Returns
    -------
    stand_density_index_summed
        Stems per hectare of a stand as dense, of 25.4 cm thick trees; NaN where no tree has a
        diameter, or where the area is missing. [1/ha]

    Notes
    -----
    Source: LARSENSDI, formula of Reineke for each tree's own diameter.
    Never above the other form; the two are equal where all trees are alike. Trees without a
    diameter add nothing, so the figure reads "at least" while some lack one.

    Examples
    --------
    >>> print(stand_density_index_summed([25.4, 25.4, np.nan], 0.01))
    200.0
    """
    diameters, times = _alongside(diameters_cm, weights)
    ground = np.asarray(area_ha, dtype=float)
    used = (diameters > 0) & (diameters < np.inf) & (times > 0)

    each = times * (diameters / REINEKE_DIAMETER_CM) ** REINEKE_EXPONENT
    index = np.sum(each, axis=-1, where=used) / ground

    return np.where(used.any(axis=-1) & (ground > 0), index, np.nan)[()]


@np.errstate(invalid="ignore")
def top_height(
    diameters_cm: ArrayLike,
    heights_m: ArrayLike,
    wanted: ArrayLike,
    weights: ArrayLike = 1.0,
) -> NDArray[np.float64]:
    """Average height of the thickest trees, by which foresters judge how good the ground is.

    top height = sum of (weight * height) / wanted, over the thickest trees until the weights
    come to the number wanted

    Parameters
    ----------
    diameters_cm
        Diameters of the trees along the last axis, above 0; NaN where unknown. [cm]
    heights_m
        Heights of the same trees, above 0; NaN where unknown. [m]
    wanted
        How many of the thickest trees count: 100 for each hectare of the area, above 0. [-]
    weights
        How many trees each one stands for, 0 or more: its tally, or trees per hectare. [-]

    Returns
    -------
    top_height_m
        Mean height of the thickest trees; NaN where fewer trees than wanted have a diameter, or
        where one of the thickest has no height. [m]

    Notes
    -----
    Source: ICPTOP, the 100 trees per hectare of largest diameter (here their average height).
    Thinning hardly moves it. Of two trees equally thick the one handed in first counts first.

    Examples
    --------
    >>> print(top_height([42, 35.5, 28, 31, 18], [21.5, 20, 18.5, 19.5, 13], 4))
    19.875
    """
    diameters, heights, times = _alongside(diameters_cm, heights_m, weights)
    number = np.asarray(wanted, dtype=float)
    used = (diameters > 0) & (diameters < np.inf) & (times > 0)
    thickest_first = np.argsort(np.where(used, -diameters, np.inf), axis=-1, kind="stable")
    times = np.take_along_axis(np.where(used, times, 0.0), thickest_first, axis=-1)
    heights = np.take_along_axis(heights, thickest_first, axis=-1)

    before = np.cumsum(times, axis=-1) - times
    shares = np.clip(np.expand_dims(number, -1) - before, 0.0, times)
    mean = np.sum(shares * heights, axis=-1, where=shares > 0) / number

    enough = (number > 0) & (np.sum(times, axis=-1) >= number)
    return np.where(enough & (mean > 0), mean, np.nan)[()]


@np.errstate(divide="ignore", invalid="ignore")
def relative_spacing(stems_per_ha: ArrayLike, top_height_m: ArrayLike) -> NDArray[np.float64]:
    """How far apart the trees stand, measured in their own height.

    relative spacing = sqrt(10000 / stems per hectare) / top height

    Parameters
    ----------
    stems_per_ha
        Living trees on one hectare, above 0. [1/ha]
    top_height_m
        Average height of the thickest trees, above 0. [m]

    Returns
    -------
    relative_spacing
        Mean distance between trees as a share of the top height; NaN where one of the two is
        missing. [-]

    Notes
    -----
    Source: ASSMANN1970, average spacing over top height, trees taken as on a square grid.
    Small is crowded: 0.2 means that the trees stand a fifth of their height apart.

    Examples
    --------
    >>> print(relative_spacing(400, 25))
    0.2
    """
    stems, height = np.asarray(stems_per_ha, dtype=float), np.asarray(top_height_m, dtype=float)

    spacing = np.sqrt(M2_PER_HA / stems) / height

    return np.where((stems > 0) & (height > 0) & (spacing > 0), spacing, np.nan)[()]


def _alongside(*columns: ArrayLike) -> tuple[NDArray[np.float64], ...]:
    """The columns as numbers of one shape, so that weights may be one for all."""
    return np.broadcast_arrays(*(np.asarray(column, dtype=float) for column in columns))
