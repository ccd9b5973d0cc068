"""Heights by proportion: a stick held out, or a shadow. No angle is read."""

import numpy as np
from numpy.typing import ArrayLike, NDArray


@np.errstate(divide="ignore", invalid="ignore")
def height_from_stick(
    distance_m: ArrayLike, stick_length_cm: ArrayLike, arm_length_cm: ArrayLike
) -> NDArray[np.float64]:
    """Height of a tree that a stick held upright at arm's length just covers, foot to top.

    height = distance * stick length / arm length

    Parameters
    ----------
    distance_m
        Distance from the eye to the stem, above 0. [m]
    stick_length_cm
        Length of the stick above the hand, above 0. [cm]
    arm_length_cm
        Distance from the eye to the stick, above 0. [cm]

    Returns
    -------
    height_m
        Height of the tree; NaN where the inputs cannot describe a tree. [m]

    Notes
    -----
    Source: MEERBRUG, steps 1 to 5.
    With a stick as long as the arm the distance is the height. The stick must be parallel to
    the stem, and the lower line of sight must end at the foot of the tree. It holds on a slope
    too, if distance and arm are measured along the same line. A top that leans towards the
    observer reads high.

    Examples
    --------
    >>> print(height_from_stick(32, 25, 50))
    16.0
    """
    distance = np.asarray(distance_m, dtype=float)
    stick, arm = np.asarray(stick_length_cm, dtype=float), np.asarray(arm_length_cm, dtype=float)

    height = distance * stick / arm

    sound = (stick > 0) & (arm > 0) & (height > 0) & (height < np.inf)
    return np.where(sound, height, np.nan)[()]


@np.errstate(divide="ignore", invalid="ignore")
def height_from_stick_sd(
    distance_m: ArrayLike,
    stick_length_cm: ArrayLike,
    arm_length_cm: ArrayLike,
    distance_sd_m: ArrayLike,
    stick_sd_cm: ArrayLike,
    arm_sd_cm: ArrayLike,
) -> NDArray[np.float64]:
    """Uncertainty of a height from a stick held at arm's length.

    sd = height * sqrt((distance sd / distance)² + (stick sd / stick)² + (arm sd / arm)²)

    Parameters
    ----------
    distance_m
        Distance from the eye to the stem, above 0. [m]
    stick_length_cm
        Length of the stick above the hand, above 0. [cm]
    arm_length_cm
        Distance from the eye to the stick, above 0. [cm]
    distance_sd_m
        Standard uncertainty of the distance, 0 or more. [m]
    stick_sd_cm
        Standard uncertainty of the length of the stick, 0 or more. [cm]
    arm_sd_cm
        Standard uncertainty of the distance from the eye to the stick, 0 or more. [cm]

    Returns
    -------
    height_sd_m
        Standard uncertainty of the height; NaN where the inputs cannot describe a tree. [m]

    Notes
    -----
    Source: GUM2008, eq. 10.
    First order. A stick that is not upright, or a leaning top, is not covered.

    Examples
    --------
    >>> print(height_from_stick_sd(32, 25, 50, 0.12, 0.5, 2).round(2))
    0.72
    """
    distance, distance_sd = np.asarray(distance_m, dtype=float), np.asarray(distance_sd_m, float)
    stick, stick_sd = np.asarray(stick_length_cm, dtype=float), np.asarray(stick_sd_cm, float)
    arm, arm_sd = np.asarray(arm_length_cm, dtype=float), np.asarray(arm_sd_cm, dtype=float)

    shares = (distance_sd / distance) ** 2 + (stick_sd / stick) ** 2 + (arm_sd / arm) ** 2
    sd = height_from_stick(distance, stick, arm) * np.sqrt(shares)

    known = (distance_sd >= 0) & (stick_sd >= 0) & (arm_sd >= 0)
    return np.where(known, sd, np.nan)[()]


@np.errstate(divide="ignore", invalid="ignore")
def height_from_shadow(
    tree_shadow_m: ArrayLike, stick_length_cm: ArrayLike, stick_shadow_m: ArrayLike
) -> NDArray[np.float64]:
    """Height of a tree from its shadow and the shadow of an upright stick.

    height = tree shadow * (stick length / 100) / stick shadow

    Parameters
    ----------
    tree_shadow_m
        Length of the tree's shadow from the middle of the stem, above 0. [m]
    stick_length_cm
        Length of the stick above the ground, above 0. [cm]
    stick_shadow_m
        Length of the stick's shadow, above 0. [m]

    Returns
    -------
    height_m
        Height of the tree; NaN where the inputs cannot describe a tree. [m]

    Notes
    -----
    Source: SCOUTHEIGHT, shadow method.
    Both shadows must lie on level ground and be measured in the same minute: the sun moves on
    by a degree in four. With a low sun the shadow's end is a blur, with a high one it belongs
    to the edge of the crown and not to the top.

    Examples
    --------
    >>> print(height_from_shadow(40, 173, 10).round(2))
    6.92
    """
    tree_shadow = np.asarray(tree_shadow_m, dtype=float)
    stick = np.asarray(stick_length_cm, dtype=float)
    stick_shadow = np.asarray(stick_shadow_m, dtype=float)

    height = tree_shadow * (stick / 100) / stick_shadow

    sound = (stick > 0) & (stick_shadow > 0) & (height > 0) & (height < np.inf)
    return np.where(sound, height, np.nan)[()]


@np.errstate(divide="ignore", invalid="ignore")
def height_from_shadow_sd(
    tree_shadow_m: ArrayLike,
    stick_length_cm: ArrayLike,
    stick_shadow_m: ArrayLike,
    tree_shadow_sd_m: ArrayLike,
    stick_sd_cm: ArrayLike,
    stick_shadow_sd_m: ArrayLike,
) -> NDArray[np.float64]:
    """Uncertainty of a height from two shadows.

    sd = height * sqrt((tree shadow sd / tree shadow)² + (stick sd / stick)² + (stick shadow sd /
    stick shadow)²), height = tree shadow * (stick length / 100) / stick shadow

    Parameters
    ----------
    tree_shadow_m
        Length of the tree's shadow from the middle of the stem, above 0. [m]
    stick_length_cm
        Length of the stick above the ground, above 0. [cm]
    stick_shadow_m
        Length of the stick's shadow, above 0. [m]
    tree_shadow_sd_m
        Standard uncertainty of the tree's shadow, 0 or more. [m]
    stick_sd_cm
        Standard uncertainty of the length of the stick, 0 or more. [cm]
    stick_shadow_sd_m
        Standard uncertainty of the stick's shadow, 0 or more. [m]

    Returns
    -------
    height_sd_m
        Standard uncertainty of the height; NaN where the inputs cannot describe a tree. [m]

    Notes
    -----
    Source: GUM2008, eq. 10.
    First order. Ground that is not level is not covered, nor is a sun that has moved on.

    Examples
    --------
    >>> print(height_from_shadow_sd(22, 100, 1.2, 0.3, 0.5, 0.02).round(2))
    0.41
    """
    shadow, shadow_sd = np.asarray(tree_shadow_m, float), np.asarray(tree_shadow_sd_m, float)
    stick, stick_sd = np.asarray(stick_length_cm, dtype=float), np.asarray(stick_sd_cm, float)
    short, short_sd = np.asarray(stick_shadow_m, float), np.asarray(stick_shadow_sd_m, float)

    shares = (shadow_sd / shadow) ** 2 + (stick_sd / stick) ** 2 + (short_sd / short) ** 2
    sd = height_from_shadow(shadow, stick, short) * np.sqrt(shares)

    known = (shadow_sd >= 0) & (stick_sd >= 0) & (short_sd >= 0)
    return np.where(known, sd, np.nan)[()]
