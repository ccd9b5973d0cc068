"""Rough dry weight of trees above the ground, and the carbon in it."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

SMALLEST_CM = 2.5

# One carbon atom weighs 12, a molecule of carbon dioxide 12 + 2 * 16.
DIOXIDE_PER_CARBON = 44 / 12


@np.errstate(divide="ignore", invalid="ignore")
def biomass_from_stems(
    diameters_cm: ArrayLike, intercept: ArrayLike, slope: ArrayLike
) -> NDArray[np.float64]:
    """Rough dry weight of a tree above the ground, stem by stem.

    biomass = sum of exp(intercept + slope * ln(diameter))

    Parameters
    ----------
    diameters_cm
        Diameters of the stems along the last axis, 2.5 or more; NaN stands for no stem. [cm]
    intercept, slope
        Coefficients of the species' group. [-]

    Returns
    -------
    biomass_kg
        Dry weight above the ground; NaN where there is no stem, or where one is thinner than 2.5
        cm. [kg]

    Notes
    -----
    Source: JENKINS2003, table 4.
    Leaves, branches, bark and wood, oven-dry. Made for forest trees of the United States by
    groups of species; a tree in the open has another crown. Rough: the equations that went
    into a group scatter by 20 to 66 % around it. Never from the diameter that stands for
    several stems together, which says about a quarter too much.

    Examples
    --------
    >>> print(biomass_from_stems([30], -2.0127, 2.4342).round(1))
    526.6
    """
    stems = np.asarray(diameters_cm, dtype=float)
    present = ~np.isnan(stems)

    each = _weights(stems, intercept, slope)
    biomass = np.sum(each, axis=-1, where=present)

    whole = np.all(stems >= SMALLEST_CM, axis=-1, where=present) & present.any(axis=-1)
    return np.where(whole & (biomass < np.inf), biomass, np.nan)[()]


@np.errstate(divide="ignore", invalid="ignore")
def biomass_from_stems_sd(
    diameters_cm: ArrayLike,
    diameter_sds_cm: ArrayLike,
    intercept: ArrayLike,
    slope: ArrayLike,
    log_sd: ArrayLike,
) -> NDArray[np.float64]:
    """Uncertainty of the rough dry weight of one tree, from the tape and from the equation.

    sd = sqrt(sum of (slope * stem biomass * diameter sd / diameter)² + (log sd * biomass)²)

    Parameters
    ----------
    diameters_cm
        Diameters of the stems along the last axis, 2.5 or more; NaN stands for no stem. [cm]
    diameter_sds_cm
        Their standard uncertainties, 0 or more. [cm]
    intercept, slope
        Coefficients of the species' group. [-]
    log_sd
        Root mean square error of the group's equation in natural logarithms, 0 or more. [-]

    Returns
    -------
    biomass_sd_kg
        Standard uncertainty of that weight; NaN where the biomass or an uncertainty is unknown.
        [kg]

    Notes
    -----
    Source: GUM2008, eq. 10; log sd from JENKINS2003, table 4.
    First order. All stems of a tree share the error of the equation, and so do all trees of a
    group, so it does not shrink with their number.

    Examples
    --------
    >>> print(biomass_from_stems_sd([30], [0.2], -2.0127, 2.4342, 0.236483).round(0))
    125.0
    """
    stems, sds = np.broadcast_arrays(
        np.asarray(diameters_cm, dtype=float), np.asarray(diameter_sds_cm, dtype=float)
    )
    present = ~np.isnan(stems)
    equation_sd = np.asarray(log_sd, dtype=float)

    biomass = biomass_from_stems(stems, intercept, slope)
    by_tape = np.asarray(slope, dtype=float)[..., None] * _weights(stems, intercept, slope)
    taped = np.sum((by_tape * sds / stems) ** 2, axis=-1, where=present)
    sd = np.sqrt(taped + (equation_sd * biomass) ** 2)

    sound = np.all(sds >= 0, axis=-1, where=present) & (equation_sd >= 0)
    return np.where(sound, sd, np.nan)[()]


def carbon_from_biomass(biomass_kg: ArrayLike, carbon_share: ArrayLike) -> NDArray[np.float64]:
    """Carbon in dry wood, bark and leaves.

    carbon = biomass * carbon share

    Parameters
    ----------
    biomass_kg
        Dry weight, 0 or more. [kg]
    carbon_share
        Share of carbon in it, from 0 to 1, about a half. [-]

    Returns
    -------
    carbon_kg
        Weight of the carbon; NaN where a value is missing or cannot be. [kg]

    Notes
    -----
    Source: FIAREFSPECIES, carbon ratios of wood (0.491 hardwood, 0.521 softwood).
    As rough as the dry weight that goes in.

    Examples
    --------
    >>> print(carbon_from_biomass(526.6, 0.5))
    263.3
    """
    biomass, share = np.asarray(biomass_kg, dtype=float), np.asarray(carbon_share, dtype=float)

    carbon = biomass * share

    return np.where((biomass >= 0) & (share >= 0) & (share <= 1), carbon, np.nan)[()]


def carbon_dioxide_from_carbon(carbon_kg: ArrayLike) -> NDArray[np.float64]:
    """Carbon dioxide that a tree took from the air to hold so much carbon.

    carbon dioxide = carbon * 44 / 12

    Parameters
    ----------
    carbon_kg
        Carbon, 0 or more. [kg]

    Returns
    -------
    carbon_dioxide_kg
        Weight of the gas; NaN where the carbon is missing or below 0. [kg]

    Notes
    -----
    Source: SI2019, relative masses of the atoms, rounded (carbon 12, oxygen 16).
    What the tree holds now, not what it takes up in a year.

    Examples
    --------
    >>> print(carbon_dioxide_from_carbon(12))
    44.0
    """
    carbon = np.asarray(carbon_kg, dtype=float)

    dioxide = carbon * DIOXIDE_PER_CARBON

    return np.where(carbon >= 0, dioxide, np.nan)[()]


def _weights(
    stems: NDArray[np.float64], intercept: ArrayLike, slope: ArrayLike
) -> NDArray[np.float64]:
    """Dry weight of each stem; the coefficients belong to trees, not to stems."""
    start, rise = np.asarray(intercept, dtype=float), np.asarray(slope, dtype=float)
    each: NDArray[np.float64] = np.exp(start[..., None] + rise[..., None] * np.log(stems))
    return each
