"""Made-up surveys of any size, the same for the same size: a city's trees in its stands."""

import json
from pathlib import Path

import numpy as np
import pandas as pd
from pyproj import Transformer

SEED = 20261128
TREES_PER_HA = 400.0
SPECIES = (
    "Quercus robur",
    "Fagus sylvatica",
    "Pinus sylvestris",
    "Tilia cordata",
    "Acer platanoides",
    "Betula pendula",
    "Fraxinus excelsior",
    "Carpinus betulus",
)
UTM, EAST, NORTH = 32633, 600_000.0, 5_340_000.0


def trees(rows: int, stands: int = 200) -> pd.DataFrame:
    """A table as a city exports it: one row a tree, girth, height, kind, stand and place.

    Stands are squares in a row of rows, as many trees in each; sizes follow a skewed
    distribution, heights a curve of Näslund's shape (1937) with a scatter of 8 %.
    """
    draw = np.random.default_rng([SEED, rows])
    stand = draw.integers(0, stands, rows)
    side = side_m(rows, stands)
    columns = int(np.ceil(np.sqrt(stands)))
    east = EAST + (stand % columns) * side * 1.2 + draw.uniform(0.01, 0.99, rows) * side
    north = NORTH + (stand // columns) * side * 1.2 + draw.uniform(0.01, 0.99, rows) * side
    lon, lat = Transformer.from_crs(UTM, 4326, always_xy=True).transform(east, north)
    diameter = 6 + draw.gamma(2.5, 10.0, rows).clip(0, 140)
    curve = 1.3 + (diameter / (1.5 + 0.18 * diameter)) ** 2
    days = pd.Timestamp("2026-03-01") + pd.to_timedelta(draw.integers(0, 200, rows), "D")
    return pd.DataFrame(
        {
            "tree": np.arange(1, rows + 1),
            "stand": np.char.add("S", (stand + 1).astype(str)),
            "species": np.array(SPECIES)[draw.integers(0, len(SPECIES), rows)],
            "date": days.strftime("%Y-%m-%d"),
            "girth_cm": (diameter * np.pi).round(1),
            "height_m": (curve * draw.normal(1, 0.08, rows)).clip(1.5).round(1),
            "lat": lat.round(7),
            "lon": lon.round(7),
        }
    )


def side_m(rows: int, stands: int = 200) -> float:
    """Side of a stand's square at a usual density of 400 trees a hectare. [m]"""
    return float(np.sqrt(rows / stands / TREES_PER_HA * 10_000))


def outlines(rows: int, stands: int = 200) -> dict[str, object]:
    """The stands' squares as GeoJSON."""
    side, columns = side_m(rows, stands), int(np.ceil(np.sqrt(stands)))
    turn = Transformer.from_crs(UTM, 4326, always_xy=True).transform
    features = []
    for one in range(stands):
        east, north = EAST + one % columns * side * 1.2, NORTH + one // columns * side * 1.2
        corners = ((0, 0), (side, 0), (side, side), (0, side), (0, 0))
        ring = [turn(east + x, north + y) for x, y in corners]
        features.append(
            {
                "type": "Feature",
                "properties": {"stand": f"S{one + 1}"},
                "geometry": {"type": "Polygon", "coordinates": [ring]},
            }
        )
    return {"type": "FeatureCollection", "features": features}


def write_survey(folder: Path, rows: int, stands: int = 200) -> Path:
    """A survey folder's two files, trees.csv and stands.geojson; returns the table's path."""
    folder.mkdir(parents=True, exist_ok=True)
    trees(rows, stands).to_csv(folder / "trees.csv", index=False)
    (folder / "stands.geojson").write_text(json.dumps(outlines(rows, stands)), encoding="utf-8")
    return folder / "trees.csv"
