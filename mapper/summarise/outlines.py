"""Outlines and the shapes under the map: as exact as the survey publishes places."""

import geopandas as gpd
import numpy as np
import shapely
from numpy.typing import NDArray

from mapper.summarise.places import DECIMALS, cut_degrees
from mapper.survey import Survey


def published_outlines(boundaries: gpd.GeoDataFrame, survey: Survey) -> gpd.GeoDataFrame:
    """The outlines the survey shows; with boundaries = "cut" no finer than the trees' places.

    An outline that is no area any more once its corners are cut is left out.
    """
    publish = survey.publish
    if not publish.boundaries or (publish.boundaries == "cut" and publish.positions == "hidden"):
        return boundaries.iloc[:0]
    if publish.boundaries != "cut" or publish.positions == "exact":
        return boundaries
    cut = shapely.transform(
        np.asarray(boundaries.geometry), lambda corners: _cut(corners, publish.positions)
    )
    areas = shapely.is_valid(cut) & (shapely.area(cut) > 0)
    return boundaries.set_geometry(gpd.GeoSeries(cut, index=boundaries.index))[areas].set_crs(
        boundaries.crs, allow_override=True
    )


def published_backdrop(backdrop: gpd.GeoDataFrame, survey: Survey) -> gpd.GeoDataFrame:
    """Paths and buildings tell the place as outlines do: none where outlines are cut."""
    cut = survey.publish.boundaries == "cut" and survey.publish.positions != "exact"
    return backdrop.iloc[:0] if cut else backdrop


def _cut(corners: NDArray[np.float64], positions: str) -> NDArray[np.float64]:
    return cut_degrees(corners, DECIMALS[positions])
