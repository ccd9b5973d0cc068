"""Which stand a record belongs to: its own stand cell, else the outline that covers it."""

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray
from pyproj import CRS
from shapely.geometry.base import BaseGeometry

from mapper.survey import stand_key

# Coordinates are rounded when they are written: a tree on the line would fall outside by a hair.
ROUNDING_M = 0.05


def assign_stands(values: pd.DataFrame, boundaries: gpd.GeoDataFrame) -> pd.DataFrame:
    """For each record: stand, stand_from (cell, outline or ""), outlines (how many), edge_m.

    `edge_m` is the distance to the nearest outline's edge. [m]
    """
    cell = _one_spelling(values["stand"].astype(str), boundaries["stand"].tolist())
    on_earth = values["lat"].between(-90, 90) & values["lon"].between(-180, 180)
    placed = on_earth.to_numpy()
    names, covers, edge_m = _covering(values[placed], boundaries)
    outline = pd.Series("", index=values.index, dtype=str)
    outline[placed] = names
    return pd.DataFrame(
        {
            "stand": cell.where(cell != "", outline),
            "stand_from": np.select([cell != "", outline != ""], ["cell", "outline"], ""),
            "outlines": _spread(covers, placed, 0),
            "edge_m": _spread(edge_m, placed, np.nan),
        },
        index=values.index,
    )


def _one_spelling(cells: pd.Series, outlines: list[str]) -> pd.Series:
    """Stand cells in the spelling of the outline, else of the first record: case does not count."""
    keys = cells.map({cell: stand_key(cell) for cell in cells.unique()})
    first = cells.str.split().str.join(" ").groupby(keys).transform("first")
    drawn = {stand_key(name): name for name in outlines}
    known = keys.isin(list(drawn))
    return first.where(~known, keys.map(drawn).astype(object)).astype(str)


def _covering(
    places: pd.DataFrame, boundaries: gpd.GeoDataFrame
) -> tuple[NDArray[np.object_], NDArray[np.int64], NDArray[np.float64]]:
    """Name of the covering outline, number of covering outlines, distance to the nearest edge."""
    inside, beside, edge_m = _touching(places, boundaries)
    # The hair's breadth of tolerance is only for a tree that no outline covers outright.
    counts = np.where(inside.any(axis=0), inside, beside)
    stands = np.append(boundaries["stand"].to_numpy(dtype=object), "")
    first = np.where(counts.any(axis=0), counts.argmax(axis=0), len(boundaries))
    nearest = np.where(np.isinf(edge_m), np.nan, edge_m)
    return stands[first], counts.sum(axis=0).astype(np.int64), nearest


def _touching(
    places: pd.DataFrame, boundaries: gpd.GeoDataFrame
) -> tuple[NDArray[np.bool_], NDArray[np.bool_], NDArray[np.float64]]:
    """A row an outline, and an empty one: covers, covers within rounding; distance to an edge."""
    points = gpd.GeoSeries.from_xy(places["lon"], places["lat"], crs="EPSG:4326")
    inside = np.zeros((len(boundaries) + 1, len(places)), dtype=bool)
    beside = inside.copy()
    edge_m = np.full(len(places), np.inf)
    for number, outline in enumerate(boundaries.geometry):
        plane = local_plane(outline)
        area = gpd.GeoSeries([outline], crs="EPSG:4326").to_crs(plane).iloc[0]
        spots = points.to_crs(plane).to_numpy()
        shapely.prepare(area)
        inside[number] = shapely.intersects(spots, area)
        beside[number] = shapely.dwithin(spots, area, ROUNDING_M)
        edge_m = np.minimum(edge_m, shapely.distance(spots, shapely.boundary(area)))
    return inside, beside, edge_m


def local_plane(shape: BaseGeometry) -> CRS:
    """An equal-area projection centred on a shape in longitude and latitude."""
    corners = np.radians(shapely.get_coordinates(shape))
    # Averaged in space, not in degrees: parts on both sides of 180 degrees are neighbours.
    x = np.cos(corners[:, 1]) * np.cos(corners[:, 0])
    y = np.cos(corners[:, 1]) * np.sin(corners[:, 0])
    z = np.sin(corners[:, 1])
    lon = np.degrees(np.arctan2(y.mean(), x.mean()))
    lat = np.degrees(np.arctan2(z.mean(), np.hypot(x.mean(), y.mean())))
    return CRS.from_proj4(f"+proj=laea +lat_0={lat:.9f} +lon_0={lon:.9f} +datum=WGS84 +units=m")


def _spread(
    found: NDArray[np.generic], placed: NDArray[np.bool_], empty: float
) -> NDArray[np.generic]:
    whole = np.full(len(placed), empty, dtype=found.dtype if len(found) else float)
    whole[placed] = found
    return whole
