"""How mixed a stand is: in species, and in size. Species or trees run along the last axis."""

import numpy as np
from numpy.typing import ArrayLike, NDArray


@np.errstate(divide="ignore", invalid="ignore")
def shannon(stems: ArrayLike) -> NDArray[np.float64]:
    """How hard it is to guess the species of a tree picked blindly: 0 where all are of one.

    shannon = sum of (share * ln(1 / share)), share = stems of the species / all stems

    Parameters
    ----------
    stems
        Stems of each species along the last axis, 0 or more; NaN counts as none. [-]

    Returns
    -------
    shannon
        Diversity of the species, in natural logarithms; NaN where there is no stem. [-]

    Notes
    -----
    Source: SHANNON1948, entropy, here with natural logarithms.
    Grows with the number of species, and with how evenly the trees are spread over them. Trees
    whose species nobody named are left out.

    Examples
    --------
    >>> print(shannon([10, 10, 0]).round(4))
    0.6931
    """
    share = _shares(stems)

    index = np.sum(share * np.log(1 / share), axis=-1, where=share > 0)

    return np.where(np.any(share > 0, axis=-1), index, np.nan)[()]


@np.errstate(divide="ignore", invalid="ignore")
def simpson(stems: ArrayLike) -> NDArray[np.float64]:
    """Chance that two trees picked blindly are of different species.

    simpson = 1 - sum of share², share = stems of the species / all stems

    Parameters
    ----------
    stems
        Stems of each species along the last axis, 0 or more; NaN counts as none. [-]

    Returns
    -------
    simpson
        From 0 where all trees are of one species to nearly 1. NaN where there is no stem. [-]

    Notes
    -----
    Source: SIMPSON1949, one minus the sum of the squared shares (each tree put back).
    Rare species hardly move it.

    Examples
    --------
    >>> print(simpson([10, 10, 0]))
    0.5
    """
    share = _shares(stems)

    index = 1 - np.sum(share**2, axis=-1)

    return np.where(np.any(share > 0, axis=-1), index, np.nan)[()]


@np.errstate(divide="ignore", invalid="ignore")
def evenness(stems: ArrayLike) -> NDArray[np.float64]:
    """How evenly the trees are spread over the species that are there: 1 where all have as many.

    evenness = shannon / ln(number of species)

    Parameters
    ----------
    stems
        Stems of each species along the last axis, 0 or more; NaN counts as none. [-]

    Returns
    -------
    evenness
        From 0 to 1. NaN where there are fewer than two species. [-]

    Notes
    -----
    Source: PIELOU1966, entropy over the largest that so many species can have.
    One species alone is neither even nor uneven.

    Examples
    --------
    >>> print(evenness([10, 10, 0]))
    1.0
    """
    species = np.sum(_shares(stems) > 0, axis=-1)

    even = shannon(stems) / np.log(species)

    return np.where(species > 1, even, np.nan)[()]


@np.errstate(divide="ignore", invalid="ignore")
def gini_basal_area(basal_areas_m2: ArrayLike, weights: ArrayLike = 1.0) -> NDArray[np.float64]:
    """How unequal the trees are in size: 0 where all are alike, near 1 where a few hold nearly all.

    gini = 1 - sum of (weight * (total up to this tree + total before it))
    / (sum of weights * total), total = sum of (weight * basal area), trees from small to large

    Parameters
    ----------
    basal_areas_m2
        Basal areas of the trees along the last axis, above 0; NaN where unknown. [m²]
    weights
        How many trees each one stands for, 0 or more: its tally, or trees per hectare. [-]

    Returns
    -------
    gini_basal_area
        How unequal the stems are: 0 where all are alike, nearly 1 where one has all; NaN where no
        tree has a basal area. [-]

    Notes
    -----
    Source: LEXEROD2006, Gini coefficient of basal area (here for the whole population: divided
    by the number of trees, not by one less).
    In woods of all ages it is above one half; in a plantation it is small.

    Examples
    --------
    >>> print(gini_basal_area([0.01, 0.03, np.nan]))
    0.25
    """
    areas, times = np.broadcast_arrays(
        np.asarray(basal_areas_m2, dtype=float), np.asarray(weights, dtype=float)
    )
    used = (areas > 0) & (areas < np.inf) & (times > 0)
    smallest_first = np.argsort(np.where(used, areas, np.inf), axis=-1)
    times = np.take_along_axis(np.where(used, times, 0.0), smallest_first, axis=-1)
    areas = np.take_along_axis(np.where(used, areas, 0.0), smallest_first, axis=-1)

    so_far = np.cumsum(times * areas, axis=-1)
    both = so_far + (so_far - times * areas)
    whole = np.sum(times, axis=-1) * np.sum(times * areas, axis=-1)
    gini = 1 - np.sum(times * both, axis=-1) / whole

    return np.where(used.any(axis=-1), gini, np.nan)[()]


@np.errstate(divide="ignore", invalid="ignore")
def importance_value(stem_share: ArrayLike, basal_area_share: ArrayLike) -> NDArray[np.float64]:
    """Weight of a species in a stand: by how many trees it has, and by how thick they are.

    importance = 100 * (share of stems + share of basal area)

    Parameters
    ----------
    stem_share
        Part of the stems that are of this species, 0 to 1. [-]
    basal_area_share
        Part of the basal area that is of this species, 0 to 1. [-]

    Returns
    -------
    importance_value
        From 0 to 200: all species of a stand together make 200. NaN where a share is missing. [-]

    Notes
    -----
    Source: CURTISMCINTOSH, relative density plus relative dominance (without frequency, which
    needs plots).
    Many thin trees and a few thick ones can be equally important.

    Examples
    --------
    >>> print(importance_value(0.3, 0.607).round(1))
    90.7
    """
    stems, thickness = (
        np.asarray(stem_share, dtype=float),
        np.asarray(basal_area_share, dtype=float),
    )

    importance = 100 * (stems + thickness)

    sound = (stems >= 0) & (stems <= 1) & (thickness >= 0) & (thickness <= 1)
    return np.where(sound, importance, np.nan)[()]


@np.errstate(divide="ignore", invalid="ignore")
def _shares(stems: ArrayLike) -> NDArray[np.float64]:
    counts = np.nan_to_num(np.asarray(stems, dtype=float), nan=0.0)
    counts = np.where((counts > 0) & (counts < np.inf), counts, 0.0)
    shares: NDArray[np.float64] = counts / np.sum(counts, axis=-1, keepdims=True)
    return np.where(np.isnan(shares), 0.0, shares)
