"""Standard uncertainties, closed form and first order.

Each formula follows the law of propagation: take the slope of the result along each input,
times that input's own uncertainty, and add the squares. First order means that the curve is
taken as straight over the width of an error, which holds while errors are small.
"""

import numpy as np
from numpy.typing import ArrayLike, NDArray


def combined_sd(first_sd: ArrayLike, second_sd: ArrayLike) -> NDArray[np.float64]:
    """Uncertainty of a sum or a difference of two values whose errors have nothing in common.

    sd = sqrt(first sd² + second sd²)

    Parameters
    ----------
    first_sd, second_sd
        Standard uncertainties of the two values, 0 or more. [any, the same for both]

    Returns
    -------
    sd
        Standard uncertainty of all together; NaN where one is missing or below 0. [same as the
        inputs]

    Notes
    -----
    Source: GUM2008, eq. 10.
    Two errors that share a cause (one pace, one tape) must not be joined this way.

    Examples
    --------
    >>> print(combined_sd(3, 4))
    5.0
    """
    first = np.asarray(first_sd, dtype=float)
    second = np.asarray(second_sd, dtype=float)

    sd = np.sqrt(first**2 + second**2)

    return np.where((first >= 0) & (second >= 0), sd, np.nan)[()]


def diameter_from_girth_sd(girth_sd_cm: ArrayLike) -> NDArray[np.float64]:
    """Uncertainty of a diameter that was worked out from a girth.

    sd = girth sd / pi

    Parameters
    ----------
    girth_sd_cm
        Standard uncertainty of the girth, 0 or more. [cm]

    Returns
    -------
    diameter_sd_cm
        Standard uncertainty of the diameter; NaN where the input is missing or below 0. [cm]

    Notes
    -----
    Source: GUM2008, eq. 10.
    Holds the reading error of the tape, not the error of taking the stem for round.

    Examples
    --------
    >>> print(diameter_from_girth_sd(0.64).round(3))
    0.204
    """
    girth_sd = np.asarray(girth_sd_cm, dtype=float)

    sd = girth_sd / np.pi

    return np.where(girth_sd >= 0, sd, np.nan)[()]


@np.errstate(invalid="ignore")
def diameter_from_stems_sd(
    diameters_cm: ArrayLike, diameter_sds_cm: ArrayLike
) -> NDArray[np.float64]:
    """Uncertainty of the diameter that stands for several stems.

    sd = sqrt(sum of (stem diameter * stem sd)²) / sqrt(sum of (stem diameter)²)

    Parameters
    ----------
    diameters_cm
        Diameters of the stems along the last axis, above 0; NaN stands for no stem. [cm]
    diameter_sds_cm
        Their standard uncertainties, 0 or more. [cm]

    Returns
    -------
    diameter_sd_cm
        Standard uncertainty of that diameter; NaN where there is no stem, or where a stem or its
        uncertainty is unknown. [cm]

    Notes
    -----
    Source: GUM2008, eq. 10.
    First order; each stem was taped on its own, so the errors have nothing in common.

    Examples
    --------
    >>> print(diameter_from_stems_sd([10, 15, 20], [0.2, 0.2, 0.2]).round(3))
    0.2
    """
    stems, sds = np.broadcast_arrays(
        np.asarray(diameters_cm, dtype=float), np.asarray(diameter_sds_cm, dtype=float)
    )
    present = ~np.isnan(stems)

    spread = np.sum((stems * sds) ** 2, axis=-1, where=present)
    sd = np.sqrt(spread / np.sum(stems**2, axis=-1, where=present))

    whole = np.all((stems > 0) & (sds >= 0), axis=-1, where=present) & present.any(axis=-1)
    return np.where(whole, sd, np.nan)[()]


def basal_area_from_diameter_sd(
    diameter_cm: ArrayLike, diameter_sd_cm: ArrayLike
) -> NDArray[np.float64]:
    """Uncertainty of the basal area of one stem.

    sd = pi / 2 * diameter * diameter sd / 100²

    Parameters
    ----------
    diameter_cm
        Diameter of the stem, above 0. [cm]
    diameter_sd_cm
        Its standard uncertainty, 0 or more. [cm]

    Returns
    -------
    basal_area_sd_m2
        Standard uncertainty of that area; NaN where an input is missing or out of range. [m²]

    Notes
    -----
    Source: GUM2008, eq. 10.
    First order: good while the uncertainty is a small part of the diameter.

    Examples
    --------
    >>> print(basal_area_from_diameter_sd(30, 0.2).round(6))
    0.000942
    """
    diameter = np.asarray(diameter_cm, dtype=float)
    diameter_sd = np.asarray(diameter_sd_cm, dtype=float)

    sd = np.pi / 2 * diameter * diameter_sd / 100**2

    sound = (diameter > 0) & (diameter < np.inf) & (diameter_sd >= 0)
    return np.where(sound, sd, np.nan)[()]


@np.errstate(divide="ignore", invalid="ignore")
def height_from_angles_sd(
    distance_m: ArrayLike,
    top_deg: ArrayLike,
    base_deg: ArrayLike,
    distance_sd_m: ArrayLike,
    angle_sd_deg: ArrayLike,
) -> NDArray[np.float64]:
    """Uncertainty of a height from one level distance and two angles.

    sd = sqrt((tan(top) - tan(base))² * distance sd²
    + distance² * (1 / cos(top)⁴ + 1 / cos(base)⁴) * angle sd²)

    Parameters
    ----------
    distance_m
        Horizontal distance from the eye to the middle of the stem, above 0. [m]
    top_deg, base_deg
        Elevations of the highest point and of the stem base, negative below the eye. [deg]
    distance_sd_m
        Standard uncertainty of the distance, 0 or more. [m]
    angle_sd_deg
        Standard uncertainty of each angle reading, 0 or more. [deg]

    Returns
    -------
    height_sd_m
        Standard uncertainty of the height; NaN where the inputs cannot describe a tree. [m]

    Notes
    -----
    Source: GUM2008, eq. 10.
    First order, with the angle's uncertainty in radians. The two angles are read one after the
    other, so their errors have nothing in common; a clinometer that always reads too high is
    not covered. Nor is a leaning top, or a twig taken for the top. With an angle uncertainty of
    0 it gives the share of the baseline.

    Examples
    --------
    >>> print(height_from_angles_sd(20, 38, -5, 0.12, 1.0).round(3))
    0.671
    """
    distance, distance_sd = np.asarray(distance_m, dtype=float), np.asarray(distance_sd_m, float)
    top, base, angle_sd = np.radians(top_deg), np.radians(base_deg), np.radians(angle_sd_deg)

    from_distance = (np.tan(top) - np.tan(base)) * distance_sd
    from_top = distance / np.cos(top) ** 2 * angle_sd
    from_base = distance / np.cos(base) ** 2 * angle_sd
    sd = np.sqrt(from_distance**2 + from_top**2 + from_base**2)

    upright = (-np.pi / 2 < base) & (base < top) & (top < np.pi / 2)
    known = (distance > 0) & (distance < np.inf) & (distance_sd >= 0) & (angle_sd >= 0)
    return np.where(upright & known, sd, np.nan)[()]


@np.errstate(divide="ignore", invalid="ignore")
def height_from_top_angle_sd(
    distance_m: ArrayLike,
    top_deg: ArrayLike,
    eye_height_sd_m: ArrayLike,
    distance_sd_m: ArrayLike,
    angle_sd_deg: ArrayLike,
) -> NDArray[np.float64]:
    """Uncertainty of a height from one level distance, one angle and eye height.

    sd = sqrt(tan(top)² * distance sd² + distance² / cos(top)⁴ * angle sd² + eye height sd²)

    Parameters
    ----------
    distance_m
        Horizontal distance from the eye to the middle of the stem, above 0. [m]
    top_deg
        Elevation of the highest point, between -90 and 90. [deg]
    eye_height_sd_m
        Standard uncertainty of the eye height, 0 or more. [m]
    distance_sd_m
        Standard uncertainty of the distance, 0 or more. [m]
    angle_sd_deg
        Standard uncertainty of the angle reading, 0 or more. [deg]

    Returns
    -------
    height_sd_m
        Standard uncertainty of the height; NaN where the inputs cannot describe a tree. [m]

    Notes
    -----
    Source: GUM2008, eq. 10.
    First order, with the angle's uncertainty in radians. Ground that is not quite level is not
    covered, nor is a leaning top. With an angle uncertainty of 0 it gives the share of the
    baseline and the eye height.

    Examples
    --------
    >>> print(height_from_top_angle_sd(20, 38, 0.05, 0.12, 1.0).round(3))
    0.572
    """
    distance, distance_sd = np.asarray(distance_m, dtype=float), np.asarray(distance_sd_m, float)
    top, angle_sd = np.radians(top_deg), np.radians(angle_sd_deg)
    eye_height_sd = np.asarray(eye_height_sd_m, dtype=float)

    from_distance = np.tan(top) * distance_sd
    from_top = distance / np.cos(top) ** 2 * angle_sd
    sd = np.sqrt(from_distance**2 + from_top**2 + eye_height_sd**2)

    known = (distance_sd >= 0) & (angle_sd >= 0) & (eye_height_sd >= 0)
    sound = (distance > 0) & (distance < np.inf) & (abs(top) < np.pi / 2)
    return np.where(sound & known, sd, np.nan)[()]
