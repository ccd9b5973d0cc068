"""Growth between two visits of the same tree, and of a stand."""

import numpy as np
from numpy.typing import ArrayLike, NDArray

DAYS_PER_YEAR = 365.25


@np.errstate(divide="ignore", invalid="ignore")
def increment_per_year(first: ArrayLike, second: ArrayLike, days: ArrayLike) -> NDArray[np.float64]:
    """Growth in a year, from two visits: of the girth, the height or the basal area.

    increment = (second - first) * 365.25 / days

    Parameters
    ----------
    first, second
        The size at the earlier and at the later visit, above 0. [any, the same for both]
    days
        Days from the first visit to the second, above 0. [days]

    Returns
    -------
    increment_per_year
        Below 0 where the tree shrank. NaN where a value is missing. [same as the sizes, per year]

    Notes
    -----
    Source: BRACKGROWTH, page T_GROWTH (increase in size in a given time).
    Trees outside the tropics thicken in one part of the year. Compare visits of the same season
    that lie whole years apart; a few months between two visits say nothing about a year. Bark
    swells by rain.

    Examples
    --------
    >>> print(increment_per_year(81, 87, 731).round(2))
    3.0
    """
    before, after = np.asarray(first, dtype=float), np.asarray(second, dtype=float)
    time = np.asarray(days, dtype=float)

    increment = (after - before) * DAYS_PER_YEAR / time

    sound = (before > 0) & (after > 0) & (time > 0) & (np.abs(increment) < np.inf)
    return np.where(sound & (time < np.inf), increment, np.nan)[()]


@np.errstate(divide="ignore", invalid="ignore")
def increment_per_year_sd(
    first_sd: ArrayLike, second_sd: ArrayLike, days: ArrayLike
) -> NDArray[np.float64]:
    """Uncertainty of the growth in a year, from that of the two sizes.

    sd = sqrt(first sd² + second sd²) * 365.25 / days

    Parameters
    ----------
    first_sd, second_sd
        Standard uncertainties of the two sizes, 0 or more. [any, the same for both]
    days
        Days from the first visit to the second, above 0. [days]

    Returns
    -------
    increment_sd_per_year
        Standard uncertainty of the growth in a year; NaN where a value is missing or cannot be.
        [same as the sizes, per year]

    Notes
    -----
    Source: GUM2008, eq. 10.
    Twice the time is half the uncertainty: one year of growth of a thick tree is often smaller
    than what two tapes differ by. An error that both visits share cancels, so only errors of
    their own go in.

    Examples
    --------
    >>> print(increment_per_year_sd(0.64, 0.64, 731).round(2))
    0.45
    """
    before, after = np.asarray(first_sd, dtype=float), np.asarray(second_sd, dtype=float)
    time = np.asarray(days, dtype=float)

    sd = np.sqrt(before**2 + after**2) * DAYS_PER_YEAR / time

    sound = (before >= 0) & (after >= 0) & (time > 0) & (time < np.inf)
    return np.where(sound, sd, np.nan)[()]


@np.errstate(divide="ignore", invalid="ignore")
def basal_area_increment_per_ha(
    first_m2: ArrayLike, second_m2: ArrayLike, days: ArrayLike, area_ha: ArrayLike
) -> NDArray[np.float64]:
    """Growth in a year of the basal area on one hectare, by the trees measured at both visits.

    increment per hectare = sum of ((second - first) * 365.25 / days) / area

    Parameters
    ----------
    first_m2, second_m2
        Basal areas at the earlier and the later visit, above 0, trees along the last axis;
        NaN where unknown. [m²]
    days
        Days between the two visits of each tree, above 0. [days]
    area_ha
        Horizontal area on which every tree was counted, above 0. [ha]

    Returns
    -------
    basal_area_increment_per_ha
        Growth of the cut areas of all stems in a year; NaN where no tree was measured twice, or
        where the area is missing. [m²/ha/year]

    Notes
    -----
    Source: BRACKGROWTH, page S_GROWTH (accretion).
    Trees measured once only add nothing: neither young ones that came in nor ones that died.
    So it reads "at least" for a living stand, and is no balance of it.

    Examples
    --------
    >>> print(basal_area_increment_per_ha([0.04, 0.05], [0.044, 0.053], 730.5, 0.01).round(3))
    0.35
    """
    before, after, time = np.broadcast_arrays(
        *(np.asarray(column, dtype=float) for column in (first_m2, second_m2, days))
    )
    ground = np.asarray(area_ha, dtype=float)
    each = increment_per_year(before, after, time)
    used = ~np.isnan(each)

    per_ha = np.sum(each, axis=-1, where=used) / ground

    return np.where(used.any(axis=-1) & (ground > 0), per_ha, np.nan)[()]


@np.errstate(divide="ignore", invalid="ignore")
def basal_area_increment_per_ha_sd(
    first_sds_m2: ArrayLike, second_sds_m2: ArrayLike, days: ArrayLike, area_ha: ArrayLike
) -> NDArray[np.float64]:
    """Uncertainty of the growth of a stand's basal area, from that of each stem.

    sd = sqrt(sum of ((first sd² + second sd²) * (365.25 / days)²)) / area

    Parameters
    ----------
    first_sds_m2, second_sds_m2
        Standard uncertainties of the basal areas of the trees measured at both visits, 0 or
        more, along the last axis; NaN for a tree measured once. [m²]
    days
        Days between the two visits of each tree, above 0. [days]
    area_ha
        Horizontal area on which every tree was counted, above 0. [ha]

    Returns
    -------
    basal_area_increment_sd_per_ha
        Standard uncertainty of that growth; NaN where no tree was measured twice, or where the
        area is missing. [m²/ha/year]

    Notes
    -----
    Source: GUM2008, eq. 10.
    For errors of each reading's own. A tape that is a little long makes all of it wrong in
    proportion.

    Examples
    --------
    >>> print(basal_area_increment_per_ha_sd([3e-4, 4e-4], [0, 0], 365.25, 0.01).round(3))
    0.05
    """
    before, after, time = np.broadcast_arrays(
        *(np.asarray(column, dtype=float) for column in (first_sds_m2, second_sds_m2, days))
    )
    ground = np.asarray(area_ha, dtype=float)
    each = np.atleast_1d(increment_per_year_sd(before, after, time))
    used = ~np.isnan(each)

    sd = np.sqrt(np.sum(each**2, axis=-1, where=used)) / ground

    return np.where(used.any(axis=-1) & (ground > 0), sd, np.nan)[()]


def has_shrunk(
    first: ArrayLike, second: ArrayLike, measuring_tolerance: ArrayLike
) -> NDArray[np.bool_]:
    """Whether a tree is smaller at the later visit by more than the measuring explains.

    shrunk = first - second > measuring tolerance

    Parameters
    ----------
    first, second
        The size at the earlier and at the later visit. [any, the same for both]
    measuring_tolerance
        Difference that the measuring explains, such as two combined sd, 0 or more. [the same]

    Returns
    -------
    shrunk
        Whether it became smaller than measuring explains; False where a value is missing. [-]

    Notes
    -----
    Source: GUM2008, eq. 10 (tolerance: twice the sd of a difference).
    Stems do not shrink. Most often the tape was put at another height, or round another tree.

    Examples
    --------
    >>> print(has_shrunk([90, 90], [89, 86], 1.8))
    [False  True]
    """
    before, after = np.asarray(first, dtype=float), np.asarray(second, dtype=float)

    shrunk: NDArray[np.bool_] = np.asarray(
        before - after > np.asarray(measuring_tolerance, dtype=float)
    )

    return shrunk[()]


@np.errstate(invalid="ignore")
def has_leapt(
    first: ArrayLike,
    second: ArrayLike,
    days: ArrayLike,
    limit_per_year: ArrayLike,
    measuring_tolerance: ArrayLike,
) -> NDArray[np.bool_]:
    """Whether a tree grew faster than such trees do, by more than the measuring explains.

    leapt = second - first - measuring tolerance > limit per year * days / 365.25

    Parameters
    ----------
    first, second
        The size at the earlier and at the later visit. [any, the same for both]
    days
        Days from the first visit to the second, above 0. [days]
    limit_per_year
        Growth in a year that hardly any tree exceeds. [the same, per year]
    measuring_tolerance
        Difference that the measuring explains, such as two combined sd, 0 or more. [the same]

    Returns
    -------
    leapt
        Whether it grew faster than that; False where a value is missing, or where no time lies
        between. [-]

    Notes
    -----
    Source: UTD2016, table TS3 (growth in girth over the life of street trees).
    A leap asks for a second look, and refuses nothing: a young tree on good ground may exceed
    what 999 of 1000 trees of at least ten years kept up over their lives.

    Examples
    --------
    >>> print(has_leapt([30, 30], [42, 62], 365.25, 13.8, 1.8))
    [False  True]
    """
    before, after = np.asarray(first, dtype=float), np.asarray(second, dtype=float)
    time = np.asarray(days, dtype=float)

    beyond = after - before - np.asarray(measuring_tolerance, dtype=float)
    allowed = np.asarray(limit_per_year, dtype=float) * time / DAYS_PER_YEAR

    leapt: NDArray[np.bool_] = np.asarray((time > 0) & (beyond > allowed))

    return leapt[()]
