"""Stems: girth, diameter, several stems taken as one, basal area, slenderness."""

import numpy as np
from numpy.typing import ArrayLike, NDArray


def diameter_from_girth(girth_cm: ArrayLike) -> NDArray[np.float64]:
    """Diameter of the round stem that a tape of this girth would just enclose.

    diameter = girth / pi

    Parameters
    ----------
    girth_cm
        Girth (the way round the stem), above 0. [cm]

    Returns
    -------
    diameter_cm
        Diameter of the stem; NaN where the girth is missing or not above 0. [cm]

    Notes
    -----
    Source: UCIPM74111, trunk circumference to trunk diameter.
    No stem is quite round, and the circle is the largest area a tape can hold: an oval stem
    1.2 times as wide as it is thick comes out with 1.3 % too much area. A slack, twisted or
    slanting tape also reads high, never low.

    Examples
    --------
    >>> print(diameter_from_girth(100).round(2))
    31.83
    """
    girth = np.asarray(girth_cm, dtype=float)

    diameter = girth / np.pi

    return np.where((girth > 0) & (girth < np.inf), diameter, np.nan)[()]


def girth_from_diameter(diameter_cm: ArrayLike) -> NDArray[np.float64]:
    """Girth of a round stem of this diameter.

    girth = pi * diameter

    Parameters
    ----------
    diameter_cm
        Diameter of the stem, above 0. [cm]

    Returns
    -------
    girth_cm
        Length round the stem; NaN where the diameter is missing or not above 0. [cm]

    Notes
    -----
    Source: UCIPM74111, trunk circumference to trunk diameter, turned round.
    For a tree with several stems this is the girth of one stem of the same basal area. Nobody
    could put a tape around it.

    Examples
    --------
    >>> print(girth_from_diameter(50).round(2))
    157.08
    """
    diameter = np.asarray(diameter_cm, dtype=float)

    girth = np.pi * diameter

    return np.where((diameter > 0) & (diameter < np.inf), girth, np.nan)[()]


def diameter_from_stems(diameters_cm: ArrayLike) -> NDArray[np.float64]:
    """Diameter of the one stem that has as much basal area as all stems of the tree together.

    diameter = sqrt(sum of (stem diameter)²)

    Parameters
    ----------
    diameters_cm
        Diameters of the stems along the last axis, above 0; NaN stands for no stem. [cm]

    Returns
    -------
    diameter_cm
        Diameter of one stem as thick as all of them; NaN where there is no stem, or where a stem
        is not above 0. [cm]

    Notes
    -----
    Source: CHOJNACKY1999, figure 1.
    It keeps the basal area. It does not keep the weight: dry weight must be reckoned stem by
    stem and then added, or it comes out about a quarter too high.

    Examples
    --------
    >>> print(diameter_from_stems([10, 15, 20]).round(2))
    26.93
    """
    stems = np.asarray(diameters_cm, dtype=float)
    present = ~np.isnan(stems)

    diameter = np.sqrt(np.sum(stems**2, axis=-1, where=present))

    whole = np.all(stems > 0, axis=-1, where=present) & present.any(axis=-1)
    return np.where(whole & (diameter < np.inf), diameter, np.nan)[()]


def basal_area_from_diameter(diameter_cm: ArrayLike) -> NDArray[np.float64]:
    """Area of the cut that a saw would leave at breast height, bark included.

    basal area = pi / 4 * (diameter / 100)²

    Parameters
    ----------
    diameter_cm
        Diameter of the stem, above 0. [cm]

    Returns
    -------
    basal_area_m2
        Area of the stem cut across; NaN where the diameter is missing or not above 0. [m²]

    Notes
    -----
    Source: BRACK1998, page S_BA (there with the constant 0.0000785398).
    One per cent in the diameter is two per cent in the basal area.

    Examples
    --------
    >>> print(basal_area_from_diameter(30).round(6))
    0.070686
    """
    diameter = np.asarray(diameter_cm, dtype=float)

    basal_area = np.pi / 4 * (diameter / 100) ** 2

    return np.where((diameter > 0) & (diameter < np.inf), basal_area, np.nan)[()]


@np.errstate(divide="ignore", invalid="ignore")
def slenderness(height_m: ArrayLike, diameter_cm: ArrayLike) -> NDArray[np.float64]:
    """How many times the tree is as tall as its stem is thick.

    slenderness = height / (diameter / 100)

    Parameters
    ----------
    height_m
        Height of the tree, above 0. [m]
    diameter_cm
        Diameter at breast height, above 0. [cm]

    Returns
    -------
    slenderness
        How many of its own diameters the tree is high; NaN where a value is missing or not above
        0. [-]

    Notes
    -----
    Source: WONN2001, abstract (both measures in equal units).
    It tells a drawn-up tree from a stocky one. It is not a safety assessment.

    Examples
    --------
    >>> print(slenderness(20, 25))
    80.0
    """
    height = np.asarray(height_m, dtype=float)
    diameter = np.asarray(diameter_cm, dtype=float)

    ratio = height / (diameter / 100)

    sound = (height > 0) & (height < np.inf) & (diameter > 0) & (diameter < np.inf)
    return np.where(sound, ratio, np.nan)[()]
