"""Where a survey lies: in its outlines, else in the middle of its trees."""

from dataclasses import dataclass

import geopandas as gpd
import numpy as np
import pandas as pd
from numpy.typing import NDArray

Floats = NDArray[np.float64]

EARTH_RADIUS_M = 6_371_008.8  # mean radius, IUGG; a per cent is all that is asked for here
# A survey of one place reaches so far at least, and ten times as far as half of its trees.
LEAST_REACH_M = 2_000.0
REACH_OF_HALF = 10.0
LEAST_TREES = 3


@dataclass(frozen=True)
class Site:
    """The middle of a survey and how far it reaches."""

    lat: float
    lon: float
    reach_m: float
    of: str  # what it was taken from, for messages

    def distance_m(self, lat: Floats, lon: Floats) -> Floats:
        """How far places are from the middle. [m]"""
        lat_0, lat_1 = np.radians(self.lat), np.radians(lat)
        half_lat, half_lon = (lat_1 - lat_0) / 2, np.radians(lon - self.lon) / 2
        chord = np.sin(half_lat) ** 2 + np.cos(lat_0) * np.cos(lat_1) * np.sin(half_lon) ** 2
        return np.asarray(2 * EARTH_RADIUS_M * np.arcsin(np.sqrt(np.clip(chord, 0, 1))))

    def holds(self, lat: Floats, lon: Floats) -> NDArray[np.bool_]:
        """Which places lie within its reach; none off the globe does."""
        on_earth = (abs(lat) <= 90) & (abs(lon) <= 180)
        return on_earth & (self.distance_m(lat, lon) <= self.reach_m)


def site_of(values: pd.DataFrame, boundaries: gpd.GeoDataFrame) -> Site | None:
    """The survey's site; None where neither an outline nor enough places show it."""
    if len(boundaries):
        west, south, east, north = boundaries.total_bounds
        middle = Site((south + north) / 2, (west + east) / 2, LEAST_REACH_M, "the outlines")
        corner = middle.distance_m(np.array([south, north]), np.array([west, east])).max()
        return Site(middle.lat, middle.lon, max(LEAST_REACH_M, 2 * corner), middle.of)
    on_earth = values["lat"].between(-90, 90) & values["lon"].between(-180, 180)
    nothing = (values["lat"] == 0) & (values["lon"] == 0)
    places = values.loc[on_earth & ~nothing, ["lat", "lon"]].drop_duplicates()
    if len(places) < LEAST_TREES:
        return None
    lat, lon = places.median()
    middle = Site(lat, lon, LEAST_REACH_M, "the other trees")
    half = np.median(middle.distance_m(places["lat"].to_numpy(), places["lon"].to_numpy()))
    return Site(lat, lon, max(LEAST_REACH_M, REACH_OF_HALF * float(half)), middle.of)
