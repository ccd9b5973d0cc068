"""How often the 95 % intervals of sampled stands hold the truth: longleaf sampled again and again.

    python tests/benchmarks/coverage.py [times]

Every round draws plots of 400 m², or points with a factor of 2 m²/ha, by chance on the mapped
plot of 584 trees; a plot that reaches over the edge goes on at the other side, so that edges play
no part. All rounds of one size are one survey of many stands, summarised by the package itself.
"""

import math
import sys
from pathlib import Path

import geopandas as gpd
import numpy as np
import pandas as pd
from numpy.typing import NDArray
from shapely import box

from mapper import metrics
from mapper.load.plot_sizes import no_plot_sizes
from mapper.summarise.ground import Ground
from mapper.summarise.stands import summarise_stands
from mapper.survey import Survey

SIDE_M, PLOT_M2, FACTOR = 200.0, 400.0, 2.0
NUMBERS = (5, 10, 20, 30)
FIGURES = {
    "basal_area_m2_per_ha": "basal area",
    "stems_per_ha": "stems",
    "quadratic_mean_diameter_cm": "quadratic mean diameter",
    "mean_diameter_cm": "mean diameter",
    "gini_basal_area": "Gini",
    "stand_density_index": "density index",
    "stand_density_index_summed": "density index, summed",
    "top_height_m": "top height",
    "relative_spacing": "relative spacing",
    "lorey_height_m": "Lorey height",
}
Floats = NDArray[np.float64]


def longleaf() -> pd.DataFrame:
    file = Path(__file__).parents[1] / "open_data" / "longleaf_wgs84.csv"
    trees = pd.read_csv(file)[["x_m", "y_m", "dbh_cm"]]
    # Nobody measured its heights: those of a curve, each off by 10 % by chance.
    curve = metrics.naslund_height(trees["dbh_cm"], 1.2, 0.2)
    return trees.assign(height_m=curve * np.random.default_rng(1).normal(1, 0.1, len(trees)))


def drawn(trees: pd.DataFrame, reach_m: Floats, stands: int, plots: int) -> pd.DataFrame:
    """The trees that each plot of each stand holds: stand, plot, diameter_cm."""
    random = np.random.default_rng(plots)
    found = []
    for stand in range(stands):
        middle = random.random((plots, 2)) * SIDE_M
        away = np.abs(middle[:, None, :] - trees[["x_m", "y_m"]].to_numpy()[None])
        apart = np.hypot(*np.moveaxis(np.minimum(away, SIDE_M - away), -1, 0))
        plot, tree = np.nonzero(apart <= reach_m)
        found.append(pd.DataFrame({"stand": stand, "plot": plot, "tree": tree}))
    whole = pd.concat(found, ignore_index=True)
    return whole.assign(
        stand="S" + whole["stand"].astype(str),
        plot=whole["plot"].astype(str),
        diameter_cm=trees["dbh_cm"].to_numpy()[whole["tree"]],
        height_m=trees["height_m"].to_numpy()[whole["tree"]],
    )


def measured(found: pd.DataFrame) -> pd.DataFrame:
    """As the line hands trees to the summary; measuring errors are left out."""
    diameter = found["diameter_cm"]
    return found.assign(
        classed_diameter_cm=diameter, diameter_sd_cm=0.0, height_sd_m=0.0,
        height_shared_sd_m=0.0, basal_area_m2=metrics.basal_area_from_diameter(diameter),
        status="alive", tally=1.0, date=pd.Timestamp("2026-05-03"), species_name="", secret=False,
        privacy="exact", lat=np.nan, lon=np.nan, position_accuracy_m=np.nan, edge_double="",
        from_centre_m=np.nan, from_centre_deg=np.nan,
    )  # fmt: skip


def ground(stands: int, plots: int, by_angle: bool) -> Ground:
    rows = [(f"S{stand}", str(plot)) for stand in range(stands) for plot in range(plots)]
    table = pd.DataFrame(rows, columns=["stand", "plot_key"])
    sizes = pd.concat([no_plot_sizes(), table.assign(plot=table["plot_key"], stratum="")])
    sizes = sizes.assign(
        area_m2=np.nan if by_angle else PLOT_M2, basal_area_factor=FACTOR if by_angle else np.nan
    )
    outlines = gpd.GeoDataFrame({"stand": [], "area_ha": []}, geometry=[], crs="EPSG:4326")
    return Ground(outlines, sizes.astype({"date": "datetime64[s]"}))


def truth(trees: pd.DataFrame) -> dict[str, float]:
    """The figures of the whole wood, every tree counted."""
    every = measured(trees.assign(diameter_cm=trees["dbh_cm"], stand="Wood", plot=""))
    outline = {"stand": ["Wood"], "area_ha": [SIDE_M**2 / 10_000]}
    square = gpd.GeoDataFrame(outline, geometry=[box(0, 0, 0.002, 0.002)], crs="EPSG:4326")
    table = summarise_stands(every, Ground(square, no_plot_sizes()), Survey(complete_count=True))
    return {name: float(table[name].iloc[0]) for name in FIGURES}


def coverage(
    trees: pd.DataFrame, stands: int, plots: int, by_angle: bool
) -> dict[str, tuple[float, float]]:
    """Share of the intervals that hold the truth, and share of stands with one, by figure."""
    diameter = trees["dbh_cm"].to_numpy()
    reach = (
        np.asarray(metrics.limiting_distance(FACTOR, diameter))
        if by_angle
        else np.full(len(trees), math.sqrt(PLOT_M2 / math.pi))
    )
    design = "angle count" if by_angle else "plots"
    survey = Survey.model_validate(
        {
            "stand": [
                {"name": f"S{n}", "design": design, "selection": "random"} for n in range(stands)
            ]
        }
    )
    found = measured(drawn(trees, reach, stands, plots))
    table = summarise_stands(found, ground(stands, plots, by_angle), survey)
    return {name: _held(table, name, true) for name, true in truth(trees).items()}


def _held(table: pd.DataFrame, name: str, true: float) -> tuple[float, float]:
    """Share of the intervals given that hold the truth, and share of stands that have one."""
    low, high = table[f"{name}_low"], table[f"{name}_high"]
    given = low.notna()
    held = low.le(true) & high.ge(true)
    return float(held[given].mean()) if given.any() else 0.0, float(given.mean())


def _shown(held: float, given: float) -> str:
    if not given:
        return "none"
    return f"{held * 100:.1f} %" + (f" of {given * 100:.0f} %" if given < 1 else "")


def main() -> None:
    times = int(sys.argv[1]) if len(sys.argv) > 1 else 1000
    trees = longleaf()
    print(f"Share of {times} intervals of 95 % that hold the truth (longleaf, seeded)\n")
    print("| design | plots | " + " | ".join(FIGURES.values()) + " |")
    print("|---|---|" + "---|" * len(FIGURES))
    for by_angle in (False, True):
        for plots in NUMBERS:
            held = coverage(trees, times, plots, by_angle)
            shown = {name: _shown(*shares) for name, shares in held.items()}
            shares = " | ".join(shown[name] for name in FIGURES)
            name = "angle count, factor 2" if by_angle else "plots of 400 m²"
            print(f"| {name} | {plots} | {shares} |", flush=True)


if __name__ == "__main__":
    main()
