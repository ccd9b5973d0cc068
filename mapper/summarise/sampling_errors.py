"""What other plots drawn by chance would have given: sampling errors of a stand's figures.

Every figure is a ratio of two totals over the plots, or follows from such. A plot's residual says
how far it is from the ratio; the spread of the residuals is the sampling error (first order).
"""

from collections.abc import Mapping

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mapper import metrics
from mapper.summarise.resampling import resampled_errors
from mapper.summarise.side_by_side import rectangles
from mapper.summarise.weighing import M2_PER_HA, Weighed

# An angle count meets thin trees so rarely that its plots do not tell how many it missed: of the
# 95 % intervals for stems and mean diameters half fail (tests/benchmarks/coverage.py).
BY_ANGLE = ("basal_area_m2_per_ha", "lorey_height_m")
Floats = NDArray[np.float64]
ByName = dict[str, Floats]


def sampling_errors(
    weighed: Weighed, stands: pd.DataFrame, figures: Mapping[str, Floats]
) -> tuple[ByName, Floats]:
    """Standard error of each figure, a number a stand, and the degrees of freedom.

    NaN where a stand was not sampled by chance, where a stratum has fewer than two plots, and where
    all plots gave the same though there is ground between them: a few do so by chance, and no error
    at all would be claimed.
    """
    plots = weighed.plots
    number = pd.Index(stands["stand"]).get_indexer(plots["stand"]).astype(np.intp)
    residuals = _residuals(weighed, number, figures)
    strata = plots.assign(stand_number=number).groupby(["stand_number", "stratum"], sort=True)
    group = np.asarray(strata.ngroup(), dtype=np.intp)
    of_stratum = strata[["part"]].first().reset_index()
    stand_of = of_stratum["stand_number"].to_numpy(dtype=np.intp)
    share = _sampled_shares(plots, stands, number)
    spread = _spread(residuals.assign(size=plots["size"]), group, share[stand_of])
    by_chance = (stands["selection"] != "by hand").to_numpy()
    by_angle = (stands["design"] == "angle count").to_numpy()
    errors: ByName = {}
    for name in residuals.columns:
        parts = pd.DataFrame({"sd": spread[name], "part": of_stratum["part"]})
        error = np.full(len(stands), np.nan)
        for some in rectangles(parts, stand_of, len(stands)):
            error[some.groups] = metrics.stratified_sd(some["sd"], some["part"])
        error[(error == 0) & (share < 1)] = np.nan
        errors[name] = np.where(by_chance & (~by_angle | (name in BY_ANGLE)), error, np.nan)
    errors |= resampled_errors(weighed, stands, share)
    plots_of = np.bincount(number, minlength=len(stands))
    strata_of = np.bincount(stand_of, minlength=len(stands))
    return errors, np.asarray(plots_of - strata_of, dtype=float)


def _spread(residuals: pd.DataFrame, group: NDArray[np.intp], share: Floats) -> ByName:
    """Sampling error within each stratum, from the residuals of its plots and their sizes."""
    names = [name for name in residuals.columns if name != "size"]
    found = {name: np.full(len(share), np.nan) for name in names}
    sized = residuals[names].mul(residuals["size"], axis=0).assign(size=residuals["size"])
    for some in rectangles(sized, group, len(share)):
        for name in names:
            found[name][some.groups] = metrics.ratio_of_totals_sd(
                some[name], some["size"], share[some.groups]
            )
    return found


def _sampled_shares(plots: pd.DataFrame, stands: pd.DataFrame, number: NDArray[np.intp]) -> Floats:
    """Part of each stand that its plots cover; 0 at angle counts and where no area is known."""
    ground = np.bincount(number, plots["size"], minlength=len(stands)) / M2_PER_HA
    area = stands["area_ha"].to_numpy(dtype=float)
    fixed = (stands["design"] == "plots").to_numpy() & (area > 0)
    return np.where(fixed, np.minimum(ground / np.where(fixed, area, 1.0), 1.0), 0.0)


def _residuals(
    weighed: Weighed, number: NDArray[np.intp], figures: Mapping[str, Floats]
) -> pd.DataFrame:
    """How far each plot is from the stand's figure, in the units of the figure."""
    plots, trees = weighed.plots, weighed.trees
    on_plot = trees["on_plot"].fillna(0).to_numpy(dtype=float)
    at = trees["plot_number"].to_numpy(dtype=np.intp)
    inside = at >= 0
    diameter, height = (trees[name].to_numpy(dtype=float) for name in ("diameter_cm", "height_m"))
    area = trees["basal_area_m2"].to_numpy(dtype=float)
    both = np.where(np.isnan(height), np.nan, area)

    def total(each: Floats) -> Floats:
        """Sum over the trees of each plot, per hectare of it."""
        used = inside & ~np.isnan(each)
        return np.asarray(np.bincount(at[used], (on_plot * each)[used], minlength=len(plots)))

    def share(sum_of: Floats, over: Floats, ratio: Floats) -> Floats:
        """Residual of a ratio of two totals; NaN where one plot alone has all that is measured."""
        several = np.bincount(number, over > 0, minlength=len(ratio)) > 1
        whole = np.bincount(number, plots["share"] * over, minlength=len(ratio))
        with np.errstate(divide="ignore", invalid="ignore"):
            residual = (sum_of - ratio[number] * over) / whole[number]
        return np.where(several[number], residual, np.nan)

    one, thick = np.ones_like(diameter), np.where(np.isnan(diameter), np.nan, 1.0)
    tall = np.where(np.isnan(height), np.nan, 1.0)
    stems, basal = figures["stems_per_ha"], figures["basal_area_m2_per_ha"]
    mean_square = figures["quadratic_mean_diameter_cm"] ** 2
    basal_per_plot = _basal_per_plot(trees, at, inside, plots)
    squares = share(total(diameter**2), total(thick), mean_square)
    return pd.DataFrame(
        {
            "stems_per_ha": total(one) - stems[number],
            "basal_area_m2_per_ha": basal_per_plot - basal[number],
            "mean_diameter_cm": share(total(diameter), total(thick), figures["mean_diameter_cm"]),
            "quadratic_mean_diameter_cm": squares
            / (2 * figures["quadratic_mean_diameter_cm"][number]),
            "mean_height_m": share(total(height), total(tall), figures["mean_height_m"]),
            "lorey_height_m": share(total(both * height), total(both), figures["lorey_height_m"]),
        }
    )


def _basal_per_plot(
    trees: pd.DataFrame, at: NDArray[np.intp], inside: NDArray[np.bool_], plots: pd.DataFrame
) -> Floats:
    """Basal area per hectare that each plot shows."""
    per_ha = trees["basal_per_ha"].to_numpy(dtype=float)
    used = inside & ~np.isnan(per_ha)
    found = np.bincount(at[used], per_ha[used], minlength=len(plots))
    return np.asarray(found / plots["share"].to_numpy(dtype=float))
