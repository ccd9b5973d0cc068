"""Thousands of stands at once give what each gives alone."""

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from mapper.load.plot_sizes import no_plot_sizes
from mapper.summarise.ground import Ground
from mapper.summarise.side_by_side import rectangles
from mapper.summarise.spacing import _nearest, _nearest_of_many
from mapper.summarise.stands import summarise_stands
from mapper.survey import Survey

RANDOM = np.random.default_rng(20261125)


def forest(trees: int, stands: int) -> pd.DataFrame:
    diameter = RANDOM.gamma(4, 6, trees) + 5
    diameter[RANDOM.random(trees) < 0.1] = np.nan
    height = diameter / 2 + 3
    height[RANDOM.random(trees) < 0.3] = np.nan
    return pd.DataFrame(
        {
            "stand": [f"S{number}" for number in RANDOM.integers(0, stands, trees) ** 2 % stands],
            "diameter_cm": diameter,
            "classed_diameter_cm": diameter,
            "diameter_sd_cm": 0.3,
            "height_m": height,
            "height_sd_m": 1.1,
            "height_shared_sd_m": 0.4,
            "basal_area_m2": np.pi / 40_000 * diameter**2,
            "status": RANDOM.choice(["alive", "alive", "alive", "dead"], trees),
            "tally": RANDOM.choice([1.0, 1.0, 3.0], trees),
            "date": pd.Timestamp("2026-05-03"),
            "species_name": RANDOM.choice(["Quercus robur", "Pinus sylvestris", ""], trees),
            "secret": False,
            "privacy": "exact",
            "plot": "",
            "edge_double": "",
            "from_centre_m": np.nan,
            "from_centre_deg": np.nan,
            "lat": 48.0 + RANDOM.random(trees) / 1000,
            "lon": 11.0 + RANDOM.random(trees) / 1000,
            "position_accuracy_m": np.nan,
        }
    )


def outlines(names: list[str]) -> Ground:
    ground = shapely.box(11.0, 48.0, 11.001, 48.001)
    table = gpd.GeoDataFrame({"stand": names, "area_ha": 0.8}, geometry=[ground] * len(names))
    return Ground(table, no_plot_sizes())


def test_many_stands_at_once_equal_each_alone() -> None:
    trees = forest(900, 40)
    names = sorted({*trees["stand"], "Empty"})
    survey = Survey(complete_count=True)

    together = summarise_stands(trees, outlines(names), survey)
    alone = [
        summarise_stands(trees[trees["stand"] == name], outlines([name]), survey)
        for name in together["stand"]
    ]

    pd.testing.assert_frame_equal(together, pd.concat(alone, ignore_index=True), rtol=1e-12)
    assert together["trees"].sum() == trees["tally"][trees["status"] == "alive"].sum()


def test_every_tree_lies_in_one_rectangle_in_its_own_row() -> None:
    group = RANDOM.integers(0, 30, 500) ** 2 // 30
    trees = pd.DataFrame({"number": np.arange(500.0)})

    seen = {
        (int(group_number), number)
        for rectangle in rectangles(trees, group, 31)
        for group_number, row in zip(rectangle.groups, rectangle["number"], strict=True)
        for number in row[~np.isnan(row)]
    }

    assert seen == set(zip(group.tolist(), trees["number"], strict=True))


def test_the_nearest_tree_is_the_same_however_it_is_found() -> None:
    spots = RANDOM.random((900, 2)) * 50
    spots[7] = spots[8]  # two trees at one spot
    few = spots[:250]

    assert np.allclose(_nearest(few), _nearest_of_many(few), rtol=0, atol=1e-9)
    assert _nearest(few)[7] == 0
    by_hand = [np.sort(np.hypot(*(spots - spot).T))[1] for spot in spots[:20]]
    assert np.allclose(_nearest(spots)[:20], by_hand, rtol=0, atol=1e-9)
