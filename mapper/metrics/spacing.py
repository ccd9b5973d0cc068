"""How the trees of a stand are spread. Trees run along the last axis."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

# Donnelly's two constants, from a simulation of his.
PER_PERIMETER, PER_PERIMETER_AND_ROOT = 0.0514, 0.0412


@np.errstate(divide="ignore", invalid="ignore")
def clark_evans(
    mean_distance_m: ArrayLike, trees: ArrayLike, area_m2: ArrayLike
) -> NDArray[np.float64]:
    """How far the nearest tree is, compared with what chance would give: 1 is by chance.

    index = mean distance / (sqrt(area / trees) / 2)

    Parameters
    ----------
    mean_distance_m
        Average distance from a tree to its nearest neighbour, 0 or more. [m]
    trees
        Number of trees, 2 or more. [-]
    area_m2
        Horizontal area on which every tree was mapped, above 0. [m²]

    Returns
    -------
    clark_evans
        Below 1 in clumps, above 1 evenly spread, at most 2.149. NaN where a value is missing. [-]

    Notes
    -----
    Source: SPATSTATCE, correction none.
    Trees at the edge may have their nearest neighbour outside, where nobody looked: so the index
    is a little too high.

    Examples
    --------
    >>> print(clark_evans(3.44306697585, 584, 40000).round(6))
    0.832055
    """
    observed = np.asarray(mean_distance_m, dtype=float)
    count, ground = np.asarray(trees, dtype=float), np.asarray(area_m2, dtype=float)

    index = observed / (np.sqrt(ground / count) / 2)

    return np.where((observed >= 0) & (count >= 2) & (ground > 0), index, np.nan)[()]


@np.errstate(divide="ignore", invalid="ignore")
def clark_evans_donnelly(
    mean_distance_m: ArrayLike, trees: ArrayLike, area_m2: ArrayLike, perimeter_m: ArrayLike
) -> NDArray[np.float64]:
    """The same with an allowance for the edge, for stands that are rectangles.

    index = mean distance / (sqrt(area / trees) / 2 + (0.0514 + 0.0412 / sqrt(trees))
    * perimeter / trees)

    Parameters
    ----------
    mean_distance_m
        Average distance from a tree to its nearest neighbour, 0 or more. [m]
    trees
        Number of trees, 2 or more. [-]
    area_m2
        Horizontal area on which every tree was mapped, above 0. [m²]
    perimeter_m
        Length of the boundary of that area, above 0. [m]

    Returns
    -------
    clark_evans_donnelly
        Below 1 in clumps, above 1 evenly spread. NaN where a value is missing. [-]

    Notes
    -----
    Source: SPATSTATCE, correction Donnelly (constant 0.0412 as there).
    The constants were found for rectangles and hold for no other shape.

    Examples
    --------
    >>> print(clark_evans_donnelly(3.44306697585, 584, 40000, 800).round(6))
    0.81768
    """
    observed = np.asarray(mean_distance_m, dtype=float)
    count, ground = np.asarray(trees, dtype=float), np.asarray(area_m2, dtype=float)
    edge = np.asarray(perimeter_m, dtype=float)

    allowance = (PER_PERIMETER + PER_PERIMETER_AND_ROOT / np.sqrt(count)) * edge / count
    index = observed / (np.sqrt(ground / count) / 2 + allowance)

    sound = (observed >= 0) & (count >= 2) & (ground > 0) & (edge > 0)
    return np.where(sound, index, np.nan)[()]


@np.errstate(divide="ignore", invalid="ignore")
def clark_evans_z(
    mean_distance_m: ArrayLike, trees: ArrayLike, area_m2: ArrayLike
) -> NDArray[np.float64]:
    """How surely the spread of the trees is not by chance: in standard errors, 0 is by chance.

    z = (mean distance - sqrt(area / trees) / 2) / (0.26136 * sqrt(area) / trees)

    Parameters
    ----------
    mean_distance_m
        Average distance from a tree to its nearest neighbour, 0 or more. [m]
    trees
        Number of trees, 2 or more. [-]
    area_m2
        Horizontal area on which every tree was mapped, above 0. [m²]

    Returns
    -------
    clark_evans_z
        Below 0 in clumps, above 0 evenly spread. NaN where a value is missing. [-]

    Notes
    -----
    Source: SPATSTATCE, Z test without edge correction.
    Beyond 2 either way chance gives so much once in twenty stands. The edge lifts it, too.

    Examples
    --------
    >>> print(clark_evans_z(3.44306697585, 584, 40000).round(4))
    -7.7643
    """
    observed = np.asarray(mean_distance_m, dtype=float)
    count, ground = np.asarray(trees, dtype=float), np.asarray(area_m2, dtype=float)

    by_chance = np.sqrt(ground / count) / 2
    z = (observed - by_chance) / (0.26136 * np.sqrt(ground) / count)

    return np.where((observed >= 0) & (count >= 2) & (ground > 0), z, np.nan)[()]


@np.errstate(divide="ignore", invalid="ignore")
def nearest_distance_edge(
    distances_m: ArrayLike, edge_distances_m: ArrayLike
) -> NDArray[np.float64]:
    """Average distance to the nearest tree, when some of the nearest may lie outside the stand.

    mean = sum over the distances, from small to large, of (step from the one before
    * part of the trees still without a neighbour), where that part falls at each distance that is
    shorter than the way to the edge by (1 - 1 / trees that still count)

    Parameters
    ----------
    distances_m
        Distance from each tree to its nearest neighbour, along the last axis, 0 or more; NaN where
        there is no tree. [m]
    edge_distances_m
        Distance from each tree to the boundary, 0 or more. [m]

    Returns
    -------
    nearest_distance_m
        Average distance to the nearest tree; NaN where no tree has both, or where the longest way
        is to the edge. [m]

    Notes
    -----
    Source: KAPLANMEIER, product-limit estimate; a tree counts until the circle around it reaches
    the edge (SPATSTATCE, correction cdf, does so on a grid of distances).
    Holds in a boundary of any shape.

    Examples
    --------
    >>> print(nearest_distance_edge([2, 3, 4], [9, 9, 9]).round(3))
    3.0
    >>> print(nearest_distance_edge([2, 5, 4], [9, 3, 9]).round(3))
    3.333
    """
    distances, edges = np.broadcast_arrays(
        np.asarray(distances_m, dtype=float), np.asarray(edge_distances_m, dtype=float)
    )
    used = (distances >= 0) & (edges >= 0)
    shorter = np.where(used, np.minimum(distances, edges), np.inf)
    # A neighbour just at the edge is a neighbour: those come first among equals.
    order = np.lexsort((distances > edges, shorter), axis=-1)
    reached = np.take_along_axis(shorter, order, axis=-1)
    found = np.take_along_axis(used & (distances <= edges), order, axis=-1)

    still = used.sum(axis=-1, keepdims=True) - np.arange(distances.shape[-1])
    part = np.cumprod(np.where(found, 1 - 1 / np.maximum(still, 1), 1.0), axis=-1)
    before = np.concatenate([np.ones_like(part[..., :1]), part[..., :-1]], axis=-1)
    steps = np.diff(np.where(np.isinf(reached), 0.0, reached), axis=-1, prepend=0.0)
    mean = np.sum(steps * before, axis=-1, where=np.isfinite(reached))

    whole = np.any(used, axis=-1) & (np.min(part, axis=-1, initial=1.0) < 1e-12)
    return np.where(whole, mean, np.nan)[()]


@np.errstate(divide="ignore", invalid="ignore")
def ripley_l(neighbours: ArrayLike, trees: ArrayLike, area_m2: ArrayLike) -> NDArray[np.float64]:
    """How clumped the trees are within a distance: larger than the distance itself in clumps.

    L = sqrt(neighbours * area / (pi * trees))

    Parameters
    ----------
    neighbours
        Average number of other trees within the distance, around the trees that stand at least
        that far from the edge, 0 or more. [-]
    trees
        Number of trees in the stand, 2 or more. [-]
    area_m2
        Horizontal area on which every tree was mapped, above 0. [m²]

    Returns
    -------
    ripley_l_m
        Equal to the distance where trees are strewn by chance. NaN where a value is missing. [m]

    Notes
    -----
    Source: SPATSTATK, correction border.
    Trees near the edge are counted as neighbours only: so it holds in a boundary of any shape.

    Examples
    --------
    >>> print(ripley_l(4, 100, 10000).round(3))
    11.284
    """
    near, count = np.asarray(neighbours, dtype=float), np.asarray(trees, dtype=float)
    ground = np.asarray(area_m2, dtype=float)

    reach = np.sqrt(near * ground / (np.pi * count))

    return np.where((near >= 0) & (count >= 2) & (ground > 0), reach, np.nan)[()]
