"""How the trees of a completely counted stand are spread over its ground."""

from collections.abc import Mapping
from dataclasses import dataclass

import numpy as np
import pandas as pd
import shapely
from numpy.typing import NDArray
from pyproj import Transformer
from shapely.geometry.base import BaseGeometry

from mapper import metrics
from mapper.language import later, say
from mapper.summarise.side_by_side import rectangles

SPACING = ["clark_evans", "clark_evans_donnelly", "clark_evans_edge"]
# Below this the nearest neighbours of a few trees say nothing about the stand.
LEAST_TREES = 10
# A hand-drawn rectangle is not quite one: of the narrowest rectangle around it so much is filled.
RECTANGLE_FILLED = 0.99
# Up to so many trees it is quicker to try each against each than to sort them by place.
MOST_AGAINST_ALL = 300
M2_PER_HA = 10_000.0

NOT_COUNTED = later("needs a stand whose every tree was counted")
NO_OUTLINE = later("needs an outline of the stand")
FEW = later("fewer than {count} trees stand there")
NOT_EXACT = later("the places of its trees are published cut or not at all")
UNPLACED = later("some of its trees have no place of their own")
COARSE = later("the trees stand closer than their places are known")
NO_RECTANGLE = later("the allowance was found for rectangles, and the stand is none")

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Pattern:
    """Where the trees of a stand are on a plane, how far from their neighbours and the edge."""

    spots: Floats  # a row a tree: metres east and north of the middle of the stand
    ground: BaseGeometry
    nearest_m: Floats
    edge_m: Floats


def spacing_figures(
    living: pd.DataFrame, stands: pd.DataFrame, outlines: Mapping[str, BaseGeometry], exact: bool
) -> pd.DataFrame:
    """Indices of spacing, a row a stand, and `spacing_reason` where there are none.

    `living` are the trees that count, `exact` says that places are published as they are.
    """
    reasons = _withheld(living, stands, outlines, exact)
    row = pd.Index(stands["stand"]).get_indexer(living["stand"])
    told = (row >= 0) & (reasons[row] == "")
    order = np.flatnonzero(told)[np.argsort(row[told], kind="stable")]
    places = living[["lon", "lat"]].to_numpy(dtype=float)[order]
    trees = np.bincount(row[order], minlength=len(stands))
    last = np.cumsum(trees)
    nearest, edges = np.zeros(len(order)), np.zeros(len(order))
    perimeter = np.full(len(stands), np.nan)
    for number in np.flatnonzero(reasons == ""):
        mine = slice(last[number] - trees[number], last[number])
        pattern = pattern_of(places[mine], outlines[stands["stand"].iloc[number]])
        nearest[mine], edges[mine] = pattern.nearest_m, pattern.edge_m
        if _is_rectangle(pattern.ground):
            perimeter[number] = pattern.ground.length
    ways = pd.DataFrame({"nearest_m": nearest, "edge_m": edges})
    found = _indices(ways, row[order], stands["area_ha"].to_numpy(dtype=float), perimeter)
    found[reasons != ""] = np.nan
    table = pd.DataFrame(found, index=stands.index, columns=SPACING)
    return table.assign(spacing_reason=reasons)


def _withheld(
    living: pd.DataFrame, stands: pd.DataFrame, outlines: Mapping[str, BaseGeometry], exact: bool
) -> NDArray[np.object_]:
    """Why the spread of the trees is not looked at, a word a stand; empty where it is.

    Places whose accuracy nobody gave are taken as they are; the page says so.
    """
    by_stand = living.assign(
        cut=(living["privacy"] != "exact") | (not exact),
        unplaced=living["lat"].isna() | (living["tally"] > 1),
    ).groupby("stand")
    about = pd.DataFrame(
        {
            "trees": by_stand.size(),
            "cut": by_stand["cut"].any(),
            "unplaced": by_stand["unplaced"].any(),
            "accuracy_m": by_stand["position_accuracy_m"].median(),
        }
    ).reindex(stands["stand"])
    trees = about["trees"].fillna(0).to_numpy(dtype=float)
    ground_m2 = stands["area_ha"].to_numpy(dtype=float) * M2_PER_HA
    # Half the average spacing: so near is the next tree by chance.
    by_chance_m = np.sqrt(ground_m2 / np.maximum(trees, 1)) / 2
    cases = [
        ((stands["design"] != "complete count").to_numpy(), say(NOT_COUNTED)),
        (~stands["stand"].isin(list(outlines)).to_numpy(), say(NO_OUTLINE)),
        (trees < LEAST_TREES, say(FEW).format(count=LEAST_TREES)),
        (about["cut"].eq(True).to_numpy(), say(NOT_EXACT)),
        (about["unplaced"].eq(True).to_numpy(), say(UNPLACED)),
        (about["accuracy_m"].to_numpy(dtype=float) > by_chance_m, say(COARSE)),
    ]
    conditions, words = zip(*cases, strict=True)
    return np.asarray(np.select(conditions, words, default=""), dtype=object)


def pattern_of(places: Floats, outline: BaseGeometry) -> Pattern:
    """The trees (longitude, latitude) and their stand, equal in area and centred on the stand."""
    middle = outline.centroid
    plane = Transformer.from_pipeline(
        "+proj=pipeline +step +proj=unitconvert +xy_in=deg +xy_out=rad "
        f"+step +proj=laea +lat_0={middle.y:.9f} +lon_0={middle.x:.9f} +ellps=WGS84"
    )
    spots = np.column_stack(plane.transform(*places.T))
    ground = shapely.transform(
        outline, lambda corners: np.column_stack(plane.transform(*corners.T))
    )
    edge_m = shapely.distance(shapely.points(spots), shapely.boundary(ground))
    return Pattern(spots, ground, _nearest(spots), np.asarray(edge_m, dtype=float))


def _nearest(spots: Floats) -> Floats:
    """Distance from each spot to the nearest other; two trees at one spot have none between."""
    if len(spots) > MOST_AGAINST_ALL:
        return _nearest_of_many(spots)
    apart = np.hypot(*(spots[:, None, axis] - spots[None, :, axis] for axis in (0, 1)))
    np.fill_diagonal(apart, np.inf)
    return np.asarray(np.min(apart, axis=1), dtype=float)


def _nearest_of_many(spots: Floats) -> Floats:
    points = np.asarray(shapely.points(spots), dtype=object)
    which, distance = shapely.STRtree(points).query_nearest(
        points, exclusive=True, return_distance=True, all_matches=False
    )
    nearest = np.zeros(len(spots))
    nearest[which[0]] = distance
    _, first, count = np.unique(spots, axis=0, return_inverse=True, return_counts=True)
    return np.where(count[first.ravel()] > 1, 0.0, nearest)


def _indices(
    ways: pd.DataFrame, row: NDArray[np.intp], area_ha: Floats, perimeter_m: Floats
) -> Floats:
    """A row a stand: its indices from the ways of its trees to their nearest and to the edge."""
    found = np.full((len(area_ha), len(SPACING)), np.nan)
    for some in rectangles(ways, row, len(area_ha)):
        nearest, here = some["nearest_m"], some.groups
        trees, area_m2 = np.sum(~np.isnan(nearest), axis=-1), area_ha[here] * M2_PER_HA
        mean = np.nansum(nearest, axis=-1) / np.maximum(trees, 1)
        within = metrics.nearest_distance_edge(nearest, some["edge_m"])
        found[here] = np.column_stack(
            [
                metrics.clark_evans(mean, trees, area_m2),
                metrics.clark_evans_donnelly(mean, trees, area_m2, perimeter_m[here]),
                metrics.clark_evans(within, trees, area_m2),
            ]
        )
    return found


def _is_rectangle(ground: BaseGeometry) -> bool:
    around = shapely.minimum_rotated_rectangle(ground)
    return bool(ground.area >= RECTANGLE_FILLED * around.area)
