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
]


def values(trees: Rectangle, base_ha: Floats) -> ByName:
    """Every figure, a number a stand; `weight` says how many trees each row stands for."""
    weight, areas, heights = trees["weight"], trees["basal_area_m2"], trees["height_m"]
    diameters = trees["diameter_cm"]
    return _named(
        metrics.basal_area_per_ha(areas, base_ha, weight),
        metrics.mean_diameter(diameters, weight),
        metrics.quadratic_mean_diameter(diameters, weight),
        metrics.mean_height(heights, weight),
        metrics.lorey_height(areas, heights, weight),
    )


def measurement_errors(trees: Rectangle, base_ha: Floats) -> ByName:
    """Measurement uncertainty; NaN as soon as one tree's own is not known."""
    weight = trees["weight"]
    diameters, sds = trees["diameter_cm"], trees["diameter_sd_cm"]
    heights, shared = trees["height_m"], trees["height_shared_sd_m"]
    own = np.sqrt(np.maximum(trees["height_sd_m"] ** 2 - shared**2, 0))
    return _named(
        metrics.basal_area_total_sd(diameters, sds, weight) / base_ha,
        _mean_error(diameters, sds, np.zeros_like(sds), weight),
        metrics.quadratic_mean_diameter_sd(diameters, sds, weight),
        _mean_error(heights, own, shared, weight),
        metrics.lorey_height_sd(diameters, sds, heights, own, shared, weight),
    )


def _mean_error(sizes: Floats, own: Floats, shared: Floats, weight: Floats) -> Floats:
    measured = ~np.isnan(sizes) & (weight > 0)
    known = np.all(~np.isnan(own) & ~np.isnan(shared), axis=-1, where=measured)
    used = np.where(measured, weight, np.nan)
    return np.where(known, metrics.mean_sd(own, shared, used), np.nan)


def missing_errors(trees: Rectangle) -> ByName:
    """What trees without a value leave open in a complete count; NaN where that cannot be said.

    Diameters are lost by accident (a cell that cannot be read), so the rest stand for them.
    Heights are measured on trees that somebody chose. Basal area is a sum: what is missing makes
    it too low.
    """
    weight, diameters = trees["weight"], trees["diameter_cm"]
    total = np.nansum(weight, axis=-1)
    whole = _nothing_missing(diameters, weight)
    tall = _nothing_missing(trees["height_m"], weight)
    return _named(
        whole,
        metrics.mean_sampling_sd(diameters, total, weight),
        metrics.quadratic_mean_diameter_sampling_sd(diameters, total, weight),
        tall,
        whole + tall,
    )


def _nothing_missing(sizes: Floats, weight: Floats) -> Floats:
    """0 where every tree has the size, else NaN."""
    return np.where(np.all(~np.isnan(sizes), axis=-1, where=weight > 0), 0.0, np.nan)


def _named(*figures: Floats) -> ByName:
    return dict(zip(ESTIMATES, (np.atleast_1d(figure) for figure in figures), strict=True))
