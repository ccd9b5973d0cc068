"""Sampling errors of figures that follow from no plain ratio: plots drawn again by chance.

From the plots of each stratum one fewer than it has are drawn, each as often as chance will, and
weigh accordingly more (Rao and Wu 1988). The spread of what the draws give is the sampling error.
Seeded by the stand's name: the same survey gives the same numbers, whatever other stands it has.
"""

import hashlib
from collections.abc import Mapping

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mapper import metrics
from mapper.summarise.estimates import thickest
from mapper.summarise.weighing import Weighed

DRAWS = 200
# A spread over fewer of the draws is that of the draws that went well.
LEAST_PART = 0.95
LEAST_PLOTS = 2
RESAMPLED = (
    "top_height_m", "relative_spacing", "stand_density_index", "stand_density_index_summed",
    "gini_basal_area",
)  # fmt: skip
SIZES = ["diameter_cm", "height_m", "basal_area_m2", "on_plot"]
Floats = NDArray[np.float64]


def resampled_errors(
    weighed: Weighed, stands: pd.DataFrame, sampled_share: Floats
) -> dict[str, Floats]:
    """Standard error of each figure of RESAMPLED, a number a stand; NaN where chance drew no plots.

    `sampled_share` is the part of each stand that its plots cover.
    """
    plots, trees = weighed.plots, weighed.trees[weighed.trees["plot_number"] >= 0]
    errors = {name: np.full(len(stands), np.nan) for name in RESAMPLED}
    by_plots = (stands["design"] == "plots") & (stands["selection"] != "by hand")
    of_plot = plots["stand"].to_numpy()[trees["plot_number"].to_numpy(dtype=np.intp)]
    trees_of = trees.groupby(of_plot, sort=False).indices
    plots_of = plots.groupby("stand", sort=False).indices
    for number in np.flatnonzero(by_plots):
        name = stands["stand"].iloc[number]
        if name not in trees_of:
            continue
        times = _times(plots.iloc[plots_of[name]], _random(str(name)))
        if times is None:
            continue
        mine = trees.iloc[trees_of[name]]
        place = np.searchsorted(plots_of[name], mine["plot_number"].to_numpy(dtype=np.intp))
        weight = times[:, place] * mine["on_plot"].to_numpy(dtype=float)
        drawn = _figures({size: mine[size].to_numpy(dtype=float) for size in SIZES}, weight)
        for figure, values in drawn.items():
            errors[figure][number] = _spread(values) * np.sqrt(1 - sampled_share[number])
    return errors


def _random(stand: str) -> np.random.Generator:
    digest = hashlib.sha256(stand.encode("utf-8")).digest()
    return np.random.default_rng(int.from_bytes(digest[:8], "big"))


def _times(plots: pd.DataFrame, random: np.random.Generator) -> Floats | None:
    """What each plot of a stand weighs in each draw; None where a stratum has a single plot."""
    times = np.zeros((DRAWS, len(plots)))
    size, part = plots["size"].to_numpy(dtype=float), plots["part"].to_numpy(dtype=float)
    for members in plots.reset_index(drop=True).groupby("stratum", sort=True).indices.values():
        count = len(members)
        if count < LEAST_PLOTS:
            return None
        drawn = random.multinomial(count - 1, np.full(count, 1 / count), DRAWS)
        ground = drawn * size[members]
        times[:, members] = part[members] * ground / ground.sum(axis=1, keepdims=True)
    return times


def _figures(sizes: Mapping[str, Floats], weight: Floats) -> dict[str, Floats]:
    """Every figure of RESAMPLED, a number a draw; `weight` has a row a draw, a column a tree."""
    diameters, one = sizes["diameter_cm"], np.ones(len(weight))
    stems = weight.sum(axis=1)
    top = metrics.top_height(diameters, sizes["height_m"], thickest(one), weight)
    mean = metrics.quadratic_mean_diameter(diameters, weight)
    figures = (
        top,
        metrics.relative_spacing(stems, top),
        metrics.stand_density_index(stems, mean),
        metrics.stand_density_index_summed(diameters, one, weight),
        metrics.gini_basal_area(sizes["basal_area_m2"], weight),
    )
    return dict(zip(RESAMPLED, (np.asarray(figure) for figure in figures), strict=True))


def _spread(values: Floats) -> float:
    found = values[np.isfinite(values)]
    return float(np.std(found, ddof=1)) if len(found) >= LEAST_PART * len(values) else np.nan
