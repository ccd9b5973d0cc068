"""Leaning and fallen trees: how long the stem is, and how high it reached."""

import numpy as np
from numpy.typing import ArrayLike, NDArray


def stem_length_from_lean(height_m: ArrayLike, lean_offset_m: ArrayLike) -> NDArray[np.float64]:
    """Length along the stem of a leaning tree from its upright height and how far it leans out.

    length = sqrt(height² + offset²)

    Parameters
    ----------
    height_m
        Height of the top straight up from the level of the foot, above 0. [m]
    lean_offset_m
        How far the top stands out sideways from the foot, 0 or more. [m]

    Returns
    -------
    length_m
        Length along the stem; NaN where an input is missing or out of range. [m]

    Notes
    -----
    Source: BRACK1998, page HEIGHT3, step 5.
    The height must come from the distance to the spot under the top, not from the distance to
    the foot. Up to a lean of 8 degrees length and height differ by less than 1 %. A bent stem
    is longer than this.

    Examples
    --------
    >>> print(stem_length_from_lean(18, 3).round(2))
    18.25
    """
    height, offset = np.asarray(height_m, dtype=float), np.asarray(lean_offset_m, dtype=float)

    length = np.sqrt(height**2 + offset**2)

    return np.where((height > 0) & (offset >= 0) & (length < np.inf), length, np.nan)[()]


@np.errstate(divide="ignore", invalid="ignore")
def stem_length_from_lean_sd(
    height_m: ArrayLike,
    lean_offset_m: ArrayLike,
    height_sd_m: ArrayLike,
    offset_sd_m: ArrayLike,
) -> NDArray[np.float64]:
    """Uncertainty of the length along the stem of a leaning tree.

    sd = sqrt((height * height sd)² + (offset * offset sd)²) / sqrt(height² + offset²)

    Parameters
    ----------
    height_m
        Height of the top straight up from the level of the foot, above 0. [m]
    lean_offset_m
        How far the top stands out sideways from the foot, 0 or more. [m]
    height_sd_m
        Standard uncertainty of the height, 0 or more. [m]
    offset_sd_m
        Standard uncertainty of the offset, 0 or more. [m]

    Returns
    -------
    length_sd_m
        Standard uncertainty of the length; NaN where an input is missing or out of range. [m]

    Notes
    -----
    Source: GUM2008, eq. 10.
    First order.

    Examples
    --------
    >>> print(stem_length_from_lean_sd(18, 3, 0.5, 0.3).round(3))
    0.496
    """
    height, height_sd = np.asarray(height_m, dtype=float), np.asarray(height_sd_m, dtype=float)
    offset, offset_sd = np.asarray(lean_offset_m, dtype=float), np.asarray(offset_sd_m, float)

    spread = np.sqrt((height * height_sd) ** 2 + (offset * offset_sd) ** 2)
    sd = spread / stem_length_from_lean(height, offset)

    return np.where((height_sd >= 0) & (offset_sd >= 0), sd, np.nan)[()]


@np.errstate(invalid="ignore")
def height_from_lean(length_m: ArrayLike, lean_offset_m: ArrayLike) -> NDArray[np.float64]:
    """Upright height of a leaning tree from the length of its stem and how far it leans out.

    height = sqrt(length² - offset²)

    Parameters
    ----------
    length_m
        Length along the stem, above 0. [m]
    lean_offset_m
        How far the top stands out sideways from the foot, 0 or more, less than the length. [m]

    Returns
    -------
    height_m
        Height of the top above the ground; NaN where an input is missing or out of range. [m]

    Notes
    -----
    Source: BRACK1998, page HEIGHT3, step 5, turned round.
    For a straight stem. One that lies flat has no upright height.

    Examples
    --------
    >>> print(height_from_lean(18.25, 3).round(2))
    18.0
    """
    length, offset = np.asarray(length_m, dtype=float), np.asarray(lean_offset_m, dtype=float)

    height = np.sqrt(length**2 - offset**2)

    return np.where((offset >= 0) & (offset < length) & (length < np.inf), height, np.nan)[()]


@np.errstate(divide="ignore", invalid="ignore")
def height_from_lean_sd(
    length_m: ArrayLike,
    lean_offset_m: ArrayLike,
    length_sd_m: ArrayLike,
    offset_sd_m: ArrayLike,
) -> NDArray[np.float64]:
    """Uncertainty of the upright height of a leaning tree from the length of its stem.

    sd = sqrt((length * length sd)² + (offset * offset sd)²) / sqrt(length² - offset²)

    Parameters
    ----------
    length_m
        Length along the stem, above 0. [m]
    lean_offset_m
        How far the top stands out sideways from the foot, 0 or more, less than the length. [m]
    length_sd_m
        Standard uncertainty of the length, 0 or more. [m]
    offset_sd_m
        Standard uncertainty of the offset, 0 or more. [m]

    Returns
    -------
    height_sd_m
        Standard uncertainty of the height; NaN where an input is missing or out of range. [m]

    Notes
    -----
    Source: GUM2008, eq. 10.
    First order: of no use for a tree that nearly lies flat.

    Examples
    --------
    >>> print(height_from_lean_sd(18.25, 3, 0.2, 0.3).round(3))
    0.209
    """
    length, length_sd = np.asarray(length_m, dtype=float), np.asarray(length_sd_m, dtype=float)
    offset, offset_sd = np.asarray(lean_offset_m, dtype=float), np.asarray(offset_sd_m, float)

    spread = np.sqrt((length * length_sd) ** 2 + (offset * offset_sd) ** 2)
    sd = spread / height_from_lean(length, offset)

    return np.where((length_sd >= 0) & (offset_sd >= 0), sd, np.nan)[()]


def height_of_fallen_tree(length_m: ArrayLike, stump_height_m: ArrayLike) -> NDArray[np.float64]:
    """Height that a tree had before it fell or was felled, from a tape along the stem.

    height = length along the stem + stump height

    Parameters
    ----------
    length_m
        Length from the cut or break to the tip, or from the ground line where the roots came out
        with the tree; above 0. [m]
    stump_height_m
        Height of what still stands in the ground; 0 where the roots came out. [m]

    Returns
    -------
    height_m
        Height the tree had; NaN where an input is missing or out of range. [m]

    Notes
    -----
    Source: ANUTOTALHGT, definition (along the axis of the bole from the ground to the tip).
    It is the length along the stem, which is more than the upright height where the tree leaned
    or was bent. A tip broken off in the fall must be found and laid to it. Two independent
    errors add as combined_sd says.

    Examples
    --------
    >>> print(height_of_fallen_tree(21.4, 0.3).round(2))
    21.7
    """
    length, stump = np.asarray(length_m, dtype=float), np.asarray(stump_height_m, dtype=float)

    height = length + stump

    return np.where((length > 0) & (stump >= 0) & (height < np.inf), height, np.nan)[()]
