"""Figures of stands from the trees that count, thousands of stands at once."""

import numpy as np
from numpy.typing import NDArray

from mapper import metrics
from mapper.summarise.side_by_side import Rectangle

Floats = NDArray[np.float64]
ByName = dict[str, Floats]

ESTIMATES = [
    "basal_area_m2_per_ha",
    "mean_diameter_cm",
    "quadratic_mean_diameter_cm",
    "mean_height_m",
    "lorey_height_m",
    "top_height_m",
    "relative_spacing",
    "stand_density_index",
    "stand_density_index_summed",
    "gini_basal_area",
]
TREES_PER_HA_IN_TOP_HEIGHT = 100


def values(trees: Rectangle, base_ha: Floats) -> ByName:
    """Every figure, a number a stand; `weight` says how many trees each row stands for."""
    weight, areas, heights = trees["weight"], trees["basal_area_m2"], trees["height_m"]
    diameters = trees["diameter_cm"]
    stems = metrics.stems_per_ha(np.nansum(weight, axis=-1), base_ha)
    mean = metrics.quadratic_mean_diameter(diameters, weight)
    top = metrics.top_height(diameters, heights, thickest(base_ha), weight)
    return _named(
        metrics.basal_area_per_ha(areas, base_ha, weight),
        metrics.mean_diameter(diameters, weight),
        mean,
        metrics.mean_height(heights, weight),
        metrics.lorey_height(areas, heights, weight),
        top,
        metrics.relative_spacing(stems, top),
        metrics.stand_density_index(stems, mean),
        metrics.stand_density_index_summed(diameters, base_ha, weight),
        metrics.gini_basal_area(areas, weight),
    )


def thickest(base_ha: Floats) -> Floats:
    """How many of the thickest trees make the top height: 100 a hectare, at least one."""
    return np.maximum(metrics.rounded_half_up(TREES_PER_HA_IN_TOP_HEIGHT * base_ha, 0), 1)


def measurement_errors(trees: Rectangle, base_ha: Floats, figures: ByName) -> ByName:
    """Measurement uncertainty of the `figures`; NaN as soon as one tree's own is not known."""
    weight = trees["weight"]
    diameters, sds = trees["diameter_cm"], trees["diameter_sd_cm"]
    heights, shared = trees["height_m"], trees["height_shared_sd_m"]
    own = np.sqrt(np.maximum(trees["height_sd_m"] ** 2 - shared**2, 0))
    mean_sd = metrics.quadratic_mean_diameter_sd(diameters, sds, weight)
    top_sd = metrics.top_height_sd(diameters, own, shared, thickest(base_ha), weight)
    return _named(
        metrics.basal_area_total_sd(diameters, sds, weight) / base_ha,
        _mean_error(diameters, sds, np.zeros_like(sds), weight),
        mean_sd,
        _mean_error(heights, own, shared, weight),
        metrics.lorey_height_sd(diameters, sds, heights, own, shared, weight),
        top_sd,
        *_crowding_errors(figures, mean_sd, top_sd),
        metrics.stand_density_index_summed_sd(diameters, sds, base_ha, weight),
        metrics.gini_basal_area_sd(diameters, sds, weight),
    )


def _crowding_errors(figures: ByName, mean_sd: Floats, top_sd: Floats) -> tuple[Floats, Floats]:
    """Errors of relative spacing and stand density index from those of the means they rest on."""
    spacing, top = figures["relative_spacing"], figures["top_height_m"]
    index, mean = figures["stand_density_index"], figures["quadratic_mean_diameter_cm"]
    return (
        metrics.relative_spacing_sd(spacing, top, top_sd),
        metrics.stand_density_index_sd(index, mean, mean_sd),
    )


def _mean_error(sizes: Floats, own: Floats, shared: Floats, weight: Floats) -> Floats:
    measured = ~np.isnan(sizes) & (weight > 0)
    known = np.all(~np.isnan(own) & ~np.isnan(shared), axis=-1, where=measured)
    used = np.where(measured, weight, np.nan)
    return np.where(known, metrics.mean_sd(own, shared, used), np.nan)


def missing_errors(trees: Rectangle, figures: ByName) -> ByName:
    """What trees without a value leave open in a complete count; NaN where that cannot be said.

    Diameters are lost by accident (a cell that cannot be read), so the rest stand for them.
    Heights are measured on trees that somebody chose. Basal area is a sum: what is missing makes
    it too low. Which trees are the thickest is known when all have a diameter.
    """
    weight, diameters = trees["weight"], trees["diameter_cm"]
    total = np.nansum(weight, axis=-1)
    whole = _nothing_missing(diameters, weight)
    tall = _nothing_missing(trees["height_m"], weight)
    # Weights that are no whole numbers come to their total only nearly: nothing missing is 0.
    lost = (
        metrics.mean_sampling_sd(diameters, total, weight),
        metrics.quadratic_mean_diameter_sampling_sd(diameters, total, weight),
    )
    plain_sd, mean_sd = (np.where(whole == 0, 0.0, sd) for sd in lost)
    return _named(
        whole,
        plain_sd,
        mean_sd,
        tall,
        whole + tall,
        whole,
        *_crowding_errors(figures, mean_sd, whole),
        whole,
        whole,
    )


def _nothing_missing(sizes: Floats, weight: Floats) -> Floats:
    """0 where every tree has the size, else NaN."""
    return np.where(np.all(~np.isnan(sizes), axis=-1, where=weight > 0), 0.0, np.nan)


def _named(*figures: Floats) -> ByName:
    return dict(zip(ESTIMATES, (np.atleast_1d(figure) for figure in figures), strict=True))
