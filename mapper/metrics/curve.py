"""Height by thickness: one curve for the trees of a stand."""

import numpy as np
from numpy.typing import ArrayLike, NDArray


@np.errstate(divide="ignore", invalid="ignore")
def naslund_height(
    diameter_cm: ArrayLike, a: ArrayLike, b: ArrayLike, breast_height_m: ArrayLike = 1.3
) -> NDArray[np.float64]:
    """Height that a tree of this thickness has on the curve of its stand.

    height = breast height + diameter² / (a + b * diameter)²

    Parameters
    ----------
    diameter_cm
        Diameter at breast height, above 0. [cm]
    a
        Where the curve starts, above 0. [cm/√m]
    b
        How early it flattens, above 0. [1/√m]
    breast_height_m
        Height at which the diameter was taken. [m]

    Returns
    -------
    height_m
        On the curve; NaN outside its domain. [m]

    Notes
    -----
    Source: NASLUND, the equation.
    Rises with the diameter everywhere, towards breast height + 1 / b².

    Examples
    --------
    >>> print(naslund_height(30, 1.2, 0.2).round(2))
    18.66
    """
    diameter, start = np.asarray(diameter_cm, dtype=float), np.asarray(a, dtype=float)
    bend, foot = np.asarray(b, dtype=float), np.asarray(breast_height_m, dtype=float)

    height = foot + diameter**2 / (start + bend * diameter) ** 2

    return np.where((diameter > 0) & (start > 0) & (bend > 0), height, np.nan)[()]


@np.errstate(divide="ignore", invalid="ignore")
def naslund_fit(
    diameters_cm: ArrayLike, heights_m: ArrayLike, breast_height_m: ArrayLike = 1.3
) -> NDArray[np.float64]:
    """The two numbers of the curve that fits the trees of a stand.

    diameter / sqrt(height - breast height) = a + b * diameter, a and b by least squares

    Parameters
    ----------
    diameters_cm
        Diameters at breast height, along the last axis, above 0; NaN where there is no tree. [cm]
    heights_m
        Heights of the same trees, above breast height. [m]
    breast_height_m
        Height at which the diameters were taken. [m]

    Returns
    -------
    a_and_b
        Along the last axis; NaN with fewer than two thicknesses. [cm/√m and 1/√m]

    Notes
    -----
    Source: NASLUND, fitted in its straight form.

    Examples
    --------
    >>> print(naslund_fit([10, 20, 30], [12.411111, 17.3, 15.3625]).round(4))
    [0.3333 0.25  ]
    """
    diameters, above = np.broadcast_arrays(
        np.asarray(diameters_cm, dtype=float),
        np.asarray(heights_m, dtype=float) - np.asarray(breast_height_m, dtype=float),
    )
    used = (diameters > 0) & (above > 0)
    x = np.where(used, diameters, 0.0)
    y = np.where(used, diameters / np.sqrt(np.where(used, above, 1.0)), 0.0)

    trees = used.sum(axis=-1)
    middle_x, middle_y = x.sum(axis=-1) / trees, y.sum(axis=-1) / trees
    apart = np.where(used, x - middle_x[..., None], 0.0)
    spread = np.sum(apart**2, axis=-1)
    b = np.sum(apart * y, axis=-1) / np.where(spread > 0, spread, np.nan)
    a = middle_y - b * middle_x

    return np.stack([a, b], axis=-1)
