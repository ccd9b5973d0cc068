"""Ten thousand stands of a hundred trees: figures, classes, kinds, spacing, reasons, years, places.

    python tests/benchmarks/stands.py [STANDS]

Prints the seconds of processor time that each step takes. No test has a clock.
"""

import sys
import time
from collections.abc import Callable

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from mapper.load.plot_sizes import no_plot_sizes
from mapper.load.stands import assign_stands
from mapper.summarise.classing import with_classes
from mapper.summarise.further_pairs import compare_years
from mapper.summarise.ground import Ground
from mapper.summarise.reasons import stand_reasons
from mapper.summarise.species_classes import summarise_species_classes
from mapper.summarise.stands import summarise_stands
from mapper.summarise.tables import summarise_classes, summarise_species
from mapper.survey import Survey

TREES_A_STAND = 100
SIDE_DEG = 0.001
KINDS = ["Quercus robur", "Pinus sylvestris", "Fagus sylvatica", "Betula pendula", "Acer campestre"]


def forest(stands: int) -> tuple[pd.DataFrame, Ground]:
    """Trees strewn over squares that stand in rows; sizes, kinds and gaps by chance."""
    random = np.random.default_rng(20261125)
    stand = np.repeat(np.arange(stands), TREES_A_STAND)
    trees = len(stand)
    diameter = random.gamma(4, 6, trees) + 5
    diameter[random.random(trees) < 0.05] = np.nan
    height = 1.3 + 0.6 * diameter**0.9
    height[random.random(trees) < 0.3] = np.nan
    west, south = 7 + 2 * SIDE_DEG * (stand % 100), 46 + 2 * SIDE_DEG * (stand // 100)
    table = pd.DataFrame(
        {
            "stand": np.char.mod("S%05d", stand),
            "diameter_cm": diameter,
            "diameter_sd_cm": 0.3,
            "height_m": height,
            "height_sd_m": 1.1,
            "height_shared_sd_m": 0.4,
            "basal_area_m2": np.pi / 40_000 * diameter**2,
            "status": random.choice(["alive"] * 9 + ["dead"], trees),
            "tally": 1.0,
            "date": pd.Timestamp("2026-05-03"),
            "species_name": random.choice(KINDS, trees),
            "common_name": "",
            "leaf_kind": "broadleaf",
            "secret": False,
            "privacy": "exact",
            "plot": "",
            "edge_double": "",
            "from_centre_m": np.nan,
            "from_centre_deg": np.nan,
            "lat": south + SIDE_DEG * random.random(trees),
            "lon": west + SIDE_DEG * random.random(trees),
            "position_accuracy_m": 0.5,
        }
    )
    corner = table.groupby("stand").head(1).index
    squares = shapely.box(
        west[corner], south[corner], west[corner] + SIDE_DEG, south[corner] + SIDE_DEG
    )
    names = {"stand": table["stand"].iloc[corner].tolist(), "area_ha": 0.85}
    return table, Ground(
        gpd.GeoDataFrame(names, geometry=list(squares), crs="EPSG:4326"), no_plot_sizes()
    )


def timed(name: str, step: Callable[[], pd.DataFrame]) -> pd.DataFrame:
    """What the step makes, with its time on the screen."""
    begin = time.process_time()
    made = step()
    print(f"{name:24}{time.process_time() - begin:7.2f} s   {len(made):>9,} rows")
    return made


def main(count: int) -> None:
    """Time every step that summarises stands."""
    trees, ground = forest(count)
    survey = Survey(complete_count=True)
    begin = time.process_time()
    classed = timed("classes of the trees", lambda: with_classes(trees, survey))
    stands = timed("figures and spacing", lambda: summarise_stands(classed, ground, survey))
    rest = (classed, stands, survey, ground.plots)
    timed("class counts", lambda: summarise_classes(*rest))
    timed("kinds", lambda: summarise_species(*rest))
    timed("kinds by class", lambda: summarise_species_classes(*rest))
    timed("reasons", lambda: stand_reasons(stands))
    earlier = stands.assign(period="2016", mean_diameter_cm=stands["mean_diameter_cm"] - 2)
    years = pd.concat([earlier, stands]).sort_values(["stand", "period"])
    timed("two years compared", lambda: compare_years(years))
    timed("which tree is where", lambda: assign_stands(trees.assign(stand=""), ground.outlines))
    print(f"{'in all':24}{time.process_time() - begin:7.2f} s   for {count:,} stands")


if __name__ == "__main__":
    main(int(sys.argv[1]) if len(sys.argv) > 1 else 10_000)
