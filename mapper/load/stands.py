"""Which stand a record belongs to: its own stand cell, else the outline that covers it."""

from typing import Any

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray
from pyproj import Transformer
from shapely.geometry.base import BaseGeometry

from mapper.survey import stand_key

# Coordinates are rounded when they are written: a tree on the line would fall outside by a hair.
ROUNDING_M = 0.05
# An outline's box is looked at with so much around it, more than rounding; about 10 m.
BESIDE_DEG = 1e-4

Numbers = NDArray[np.intp]


def assign_stands(values: pd.DataFrame, boundaries: gpd.GeoDataFrame) -> pd.DataFrame:
    """For each record: stand, stand_from (cell, outline or ""), outlines (how many), edge_m.

    `edge_m` is the distance to the nearest edge of the outlines beside the tree. [m]
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
    count, tree, outline, inside, edge = len(places), *_touching(places, boundaries)
    # The hair's breadth of tolerance is only for a tree that no outline covers outright.
    covers = inside | (~np.isin(tree, tree[inside]) & (edge <= ROUNDING_M))
    first = np.full(count, len(boundaries))
    np.minimum.at(first, tree[covers], outline[covers])
    nearest = np.full(count, np.inf)
    np.minimum.at(nearest, tree, edge)
    stands = np.append(boundaries["stand"].to_numpy(dtype=object), "")
    covered = np.bincount(tree[covers], minlength=count).astype(np.int64)
    return stands[first], covered, np.where(np.isinf(nearest), np.nan, nearest)


def _touching(
    places: pd.DataFrame, boundaries: gpd.GeoDataFrame
) -> tuple[Numbers, Numbers, NDArray[np.bool_], NDArray[np.float64]]:
    """Every tree with every outline whose box holds it: their numbers, inside, way to its edge."""
    points = np.asarray(shapely.points(places[["lon", "lat"]].to_numpy(dtype=float)), dtype=object)
    tree = shapely.STRtree(points)
    empty: NDArray[np.float64] = np.empty(0)
    found = [(empty.astype(np.intp), empty.astype(np.intp), empty.astype(bool), empty)]
    for number, outline in enumerate(boundaries.geometry):
        west, south, east, north = outline.bounds
        box = shapely.box(
            west - BESIDE_DEG, south - BESIDE_DEG, east + BESIDE_DEG, north + BESIDE_DEG
        )
        near = tree.query(box)
        if not len(near):
            continue
        area, spots = (_flat(shape, outline) for shape in (outline, points[near]))
        shapely.prepare(area)
        edge = shapely.distance(spots, shapely.boundary(area))
        found.append((near, np.full(len(near), number), shapely.intersects(spots, area), edge))
    trees, outlines, inside, edges = (np.concatenate(part) for part in zip(*found, strict=True))
    return trees, outlines, inside, edges


def _flat(shapes: Any, outline: BaseGeometry) -> Any:
    """Shapes in longitude and latitude on the plane of an outline, in metres."""
    lon, lat = _middle_deg(outline)
    plane = Transformer.from_pipeline(
        "+proj=pipeline +step +proj=unitconvert +xy_in=deg +xy_out=rad "
        f"+step +proj=laea +lat_0={lat:.9f} +lon_0={lon:.9f} +ellps=WGS84"
    )
    return shapely.transform(shapes, lambda corners: np.column_stack(plane.transform(*corners.T)))


def _middle_deg(shape: BaseGeometry) -> tuple[float, float]:
    """Longitude and latitude of the middle of a shape's corners."""
    corners = np.radians(shapely.get_coordinates(shape))
    # Averaged in space, not in degrees: parts on both sides of 180 degrees are neighbours.
    x = np.cos(corners[:, 1]) * np.cos(corners[:, 0])
    y = np.cos(corners[:, 1]) * np.sin(corners[:, 0])
    z = np.sin(corners[:, 1])
    lon = np.degrees(np.arctan2(y.mean(), x.mean()))
    lat = np.degrees(np.arctan2(z.mean(), np.hypot(x.mean(), y.mean())))
    return float(lon), float(lat)


def _spread(
    found: NDArray[np.generic], placed: NDArray[np.bool_], empty: float
) -> NDArray[np.generic]:
    whole = np.full(len(placed), empty, dtype=found.dtype if len(found) else float)
    whole[placed] = found
    return whole
