"""Ripley's L of completely counted stands: clumped or even, at every distance."""

from collections.abc import Mapping

import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray
from shapely.geometry.base import BaseGeometry

from mapper import metrics
from mapper.summarise.spacing import Floats, pattern_of

COLUMNS = ["stand", "radius_m", "ripley_l_m", "by_chance_low_m", "by_chance_high_m"]
LEAST_TREES, MOST_TREES = 30, 2500
MOST_STANDS = 40
RADII = 24
# The least and the greatest of 39 draws leave out chance 1 time in 20, at each distance.
DRAWS = 39
SEED = 1976


def summarise_spread(
    living: pd.DataFrame, stands: pd.DataFrame, outlines: Mapping[str, BaseGeometry]
) -> pd.DataFrame:
    """A row a stand and distance, for stands whose spacing is told; `living` are the trees."""
    told = stands[stands["spacing_reason"] == ""]
    if len(told) > MOST_STANDS:
        told = told.iloc[:0]
    tables = [pd.DataFrame(columns=COLUMNS).astype({name: float for name in COLUMNS[1:]})]
    for stand in told["stand"]:
        places = living.loc[living["stand"] == stand, ["lon", "lat"]].to_numpy(dtype=float)
        if LEAST_TREES <= len(places) <= MOST_TREES:
            tables.append(_of_stand(str(stand), places, outlines[str(stand)]))
    return pd.concat(tables[1:] or tables, ignore_index=True)


def _of_stand(stand: str, places: Floats, outline: BaseGeometry) -> pd.DataFrame:
    pattern = pattern_of(places, outline)
    west, south, east, north = pattern.ground.bounds
    radii = np.arange(1, RADII + 1) / RADII * min(east - west, north - south) / 4
    random = np.random.default_rng(SEED)
    drawn = [
        ripley_l(strewn(len(places), pattern.ground, random), pattern.ground, radii)
        for _ in range(DRAWS)
    ]
    columns = (
        stand, radii, ripley_l(pattern.spots, pattern.ground, radii),
        np.min(drawn, axis=0), np.max(drawn, axis=0),
    )  # fmt: skip
    return pd.DataFrame(dict(zip(COLUMNS, columns, strict=True)))


def ripley_l(spots: Floats, ground: BaseGeometry, radii_m: Floats) -> Floats:
    """Ripley's L at ascending distances; NaN where no tree is so far from the edge. [m]"""
    edge = np.asarray(shapely.distance(shapely.points(spots), shapely.boundary(ground)))
    apart = np.hypot(*(spots[:, None, axis] - spots[None, :, axis] for axis in (0, 1)))
    np.fill_diagonal(apart, np.inf)
    near = apart <= radii_m[-1]
    row, _ = near.nonzero()
    ring = np.searchsorted(radii_m, apart[near])
    counts = np.bincount(row * len(radii_m) + ring, minlength=len(spots) * len(radii_m))
    within = counts.reshape(len(spots), -1).cumsum(axis=1)
    inner = edge[:, None] >= radii_m
    found = np.sum(within * inner, axis=0)
    with np.errstate(invalid="ignore"):
        neighbours = found / np.sum(inner, axis=0)
    return np.asarray(metrics.ripley_l(neighbours, len(spots), ground.area), dtype=float)


def strewn(trees: int, ground: BaseGeometry, random: np.random.Generator) -> Floats:
    """So many spots on the ground by chance."""
    west, south, east, north = ground.bounds
    shapely.prepare(ground)
    spots: NDArray[np.float64] = np.empty((0, 2))
    while len(spots) < trees:
        more = random.uniform((west, south), (east, north), (2 * trees, 2))
        inside = shapely.contains_xy(ground, more[:, 0], more[:, 1])
        spots = np.concatenate([spots, more[inside]])
    return spots[:trees]
