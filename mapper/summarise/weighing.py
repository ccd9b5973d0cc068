"""How many trees of a stand each tree stands for, by the way the trees were chosen."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mapper import metrics
from mapper.load.edges import at_edge
from mapper.load.plot_files import plot_key
from mapper.load.plot_sizes import SAMPLED

Floats = NDArray[np.float64]
M2_PER_HA = 10_000.0
PLOT_NAMES = ("stand", "plot_key", "stratum")


@dataclass(frozen=True)
class Weighed:
    """The trees that count, and the plots that they were found on."""

    trees: pd.DataFrame  # weight, on_plot (trees per ha on its own plot), basal_weight, plot_number
    plots: pd.DataFrame  # stand, stratum, size, share (of the stand that it speaks for)


def weigh(living: pd.DataFrame, stands: pd.DataFrame, sizes: pd.DataFrame) -> Weighed:
    """Give every tree its weight.

    In a complete count and among chosen trees it is the tally. On plots and at angle counts it is
    trees per hectare of the stand, 0 for a tree that no plot holds.

    `stands` has stand, design, area_ha; `sizes` is a row a plot and nested size.
    """
    plots = _plots(sizes)
    design = living["stand"].map(stands.set_index("stand")["design"])
    sampled = design.isin(SAMPLED).to_numpy()
    tally = living["tally"].where(sampled, living["tally"].round()).to_numpy(dtype=float)
    number, on_plot, factor, twice = _on_plots(living, sizes, plots)
    share = np.append(plots["share"].to_numpy(dtype=float), np.nan)[number]
    times = tally * twice
    weight = np.where(sampled, np.nan_to_num(on_plot * times * share), tally)
    # At an angle count each tree is the factor's worth of basal area, whatever its size.
    counted = factor * times * share
    areas = living["basal_area_m2"].to_numpy(dtype=float)
    return Weighed(
        trees=living.assign(
            weight=weight,
            on_plot=np.where(sampled, on_plot * times, np.nan),
            basal_per_ha=np.where(np.isnan(counted), weight * areas, counted),
            plot_number=np.where(sampled, number, -1),
        ),
        plots=plots,
    )


def _plots(sizes: pd.DataFrame) -> pd.DataFrame:
    """A row a plot: its size (the largest of nested ones; 1 for a point) and its share."""
    if sizes.empty:
        numbers = dict.fromkeys(("stratum_ha", "size", "share", "part"), pd.Series(dtype=float))
        return pd.DataFrame({**dict.fromkeys(PLOT_NAMES, pd.Series(dtype=str)), **numbers})
    first = sizes.groupby(["stand", "plot_key"], sort=False)
    plots = first.agg(
        stratum=("stratum", "first"), stratum_ha=("stratum_ha", "first"), size=("area_m2", "max")
    ).reset_index()
    plots["size"] = plots["size"].fillna(1.0)
    strata = plots.drop_duplicates(["stand", "stratum"])
    whole = plots["stand"].map(strata.groupby("stand")["stratum_ha"].sum(min_count=1))
    part = (plots["stratum_ha"] / whole).fillna(1.0)
    in_stratum = plots.groupby(["stand", "stratum"])["size"].transform("sum")
    return plots.assign(share=plots["size"] / in_stratum * part, part=part)


def _on_plots(
    living: pd.DataFrame, sizes: pd.DataFrame, plots: pd.DataFrame
) -> tuple[NDArray[np.intp], Floats, Floats, Floats]:
    """Each tree's plot (-1 for none), trees per hectare it stands for there, factor, times."""
    number = np.full(len(living), -1, dtype=np.intp)
    on_plot, factor = np.full(len(living), np.nan), np.full(len(living), np.nan)
    times = np.where(living["edge_double"] == "yes", 2.0, 1.0)
    keys = pd.MultiIndex.from_frame(plots[["stand", "plot_key"]])
    at = keys.get_indexer(pd.MultiIndex.from_arrays([living["stand"], plot_key(living["plot"])]))
    diameter = living["diameter_cm"].to_numpy(dtype=float)
    for nest in _nests(sizes):
        row = pd.MultiIndex.from_frame(nest[["stand", "plot_key"]]).get_indexer(keys)
        mine = np.append(row, -1)[at]
        told = nest.iloc[mine].reset_index(drop=True)
        low = told["min_diameter_cm"].fillna(0).to_numpy(dtype=float)
        high = told["max_diameter_cm"].fillna(np.inf).to_numpy(dtype=float)
        whole = told["min_diameter_cm"].isna() & told["max_diameter_cm"].isna()
        fits = (diameter >= low) & (diameter < high) | (np.isnan(diameter) & whole.to_numpy())
        fits &= mine >= 0
        by_area = metrics.trees_per_ha_of_plot(told["area_m2"])
        by_angle = metrics.trees_per_ha_of_angle_count(told["basal_area_factor"], diameter)
        number[fits] = at[fits]
        on_plot[fits] = np.where(np.isnan(by_area), by_angle, by_area)[fits]
        factor[fits] = told["basal_area_factor"].to_numpy(dtype=float)[fits]
        times[fits] = at_edge(living, told, diameter).times[fits]
    return number, on_plot, factor, times


def _nests(sizes: pd.DataFrame) -> list[pd.DataFrame]:
    """The first size of every plot, the second size of those that have one, and so on."""
    order = sizes.groupby(["stand", "plot_key"], sort=False).cumcount()
    return [sizes[order == number] for number in sorted(order.unique())]
