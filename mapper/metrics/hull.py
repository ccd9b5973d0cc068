"""Ground of a stand that nobody drew, from the places of its trees."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

M2_PER_HA = 10_000.0


@np.errstate(divide="ignore", invalid="ignore")
def hull_margin(
    hull_area_m2: ArrayLike, hull_perimeter_m: ArrayLike, trees: ArrayLike
) -> NDArray[np.float64]:
    """How far the ground of a stand reaches beyond its outermost trees: half the mean spacing.

    margin = (perimeter + sqrt(perimeter² + 4 * (4 * trees - π) * area)) / (2 * (4 * trees - π))

    Parameters
    ----------
    hull_area_m2
        Area of the convex hull around the trees, 0 or more. [m²]
    hull_perimeter_m
        Perimeter of that hull, 0 or more. [m]
    trees
        Trees in it, above 0. [-]

    Returns
    -------
    margin_m
        Half of sqrt(widened ground / trees), where the ground is widened by just this margin. [m]

    Notes
    -----
    Source: STEINER1840, the area of a widened convex shape, solved for the margin.
    A guess: a stand that is bent like an L has less ground than the hull around it.

    Examples
    --------
    >>> print(hull_margin(361, 76, 400).round(3))
    0.5
    """
    area, perimeter, count = (
        np.asarray(value, dtype=float) for value in (hull_area_m2, hull_perimeter_m, trees)
    )

    own = 4 * count - np.pi
    margin = (perimeter + np.sqrt(perimeter**2 + 4 * own * area)) / (2 * own)

    return np.where((area >= 0) & (perimeter >= 0) & (own > 0), margin, np.nan)[()]


@np.errstate(invalid="ignore")
def widened_area(
    hull_area_m2: ArrayLike, hull_perimeter_m: ArrayLike, margin_m: ArrayLike
) -> NDArray[np.float64]:
    """Ground of a convex hull that is widened by a margin all round, its corners rounded.

    area in hectares = (area + perimeter * margin + π * margin²) / 10000

    Parameters
    ----------
    hull_area_m2
        Area of the convex hull, 0 or more. [m²]
    hull_perimeter_m
        Perimeter of that hull, 0 or more. [m]
    margin_m
        How far the ground reaches beyond it, 0 or more. [m]

    Returns
    -------
    area_ha
        Area of the widened hull; NaN where one of the three is missing. [ha]

    Notes
    -----
    Source: STEINER1840, the area of a widened convex shape.

    Examples
    --------
    >>> print(widened_area(10000, 400, 10).round(5))
    1.43142
    """
    area, perimeter, margin = (
        np.asarray(value, dtype=float) for value in (hull_area_m2, hull_perimeter_m, margin_m)
    )

    widened = (area + perimeter * margin + np.pi * margin**2) / M2_PER_HA

    return np.where((area >= 0) & (perimeter >= 0) & (margin >= 0), widened, np.nan)[()]
