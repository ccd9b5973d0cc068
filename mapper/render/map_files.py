"""The trees and stands for map programs: GeoPackage, GeoParquet and GeoJSON, the same bytes."""

import json
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import geopandas as gpd
import pandas as pd

# All three formats write longitude first, whatever the system says of its axes.
WGS84 = "EPSG:4326"
# A GeoPackage notes when it was written; the same survey must give the same bytes.
CLOCK = "OGR_CURRENT_DATE"
NO_TIME = "1970-01-01T00:00:00.000Z"


def with_points(trees: pd.DataFrame) -> gpd.GeoDataFrame:
    """The trees with a point each; one without a place has none."""
    points = gpd.points_from_xy(trees["lon"], trees["lat"], crs=WGS84)
    placed = trees[["lat", "lon"]].notna().all(axis=1).to_numpy()
    shapes = gpd.GeoSeries(points, index=trees.index, crs=WGS84).where(placed, None)
    return gpd.GeoDataFrame(trees, geometry=shapes, crs=WGS84)


def with_outlines(stands: pd.DataFrame, boundaries: gpd.GeoDataFrame) -> gpd.GeoDataFrame:
    """The stands' figures with the outline of each, where there is one."""
    outlines = dict(zip(boundaries["stand"], boundaries.geometry, strict=True))
    shapes = gpd.GeoSeries([outlines.get(name) for name in stands["stand"]], crs=WGS84)
    return gpd.GeoDataFrame(stands.reset_index(drop=True), geometry=shapes, crs=WGS84)


def write_parquet(trees: pd.DataFrame, path: Path) -> None:
    """GeoParquet 1.1: the tree table with a point each."""
    with_points(trees).to_parquet(path, index=False, schema_version="1.1.0")


def write_geopackage(layers: dict[str, pd.DataFrame], path: Path, about: str) -> None:
    """A GeoPackage with one layer a table; tables without shapes become plain ones."""
    import pyogrio

    with _stopped_clock():
        for name, table in layers.items():
            shapes = {"geometry_type": _kind(table)} if isinstance(table, gpd.GeoDataFrame) else {}
            pyogrio.write_dataframe(
                table,
                path,
                layer=name,
                driver="GPKG",
                append=path.exists(),
                layer_options={"IDENTIFIER": name, "DESCRIPTION": about},
                **shapes,
            )


def _kind(shapes: gpd.GeoDataFrame) -> str:
    kinds = set(shapes.geom_type.dropna())
    if kinds <= {"Point"}:
        return "Point"
    return "MultiPolygon"


@contextmanager
def _stopped_clock() -> Iterator[None]:
    import pyogrio

    before = pyogrio.get_gdal_config_option(CLOCK)
    pyogrio.set_gdal_config_options({CLOCK: NO_TIME})
    try:
        yield
    finally:
        pyogrio.set_gdal_config_options({CLOCK: before})


def geojson_text(trees: pd.DataFrame, members: dict[str, str] | None = None) -> str:
    """RFC 7946: longitude first, WGS 84, a tree without a place has no geometry."""
    names = [str(name) for name in trees.columns if name not in ("lat", "lon")]
    cells = zip(*(_values(trees[name]) for name in names), strict=True)
    places = zip(_values(trees["lon"]), _values(trees["lat"]), strict=True)
    features = [
        {
            "type": "Feature",
            "geometry": _point(*place),
            "properties": dict(zip(names, row, strict=True)),
        }
        for place, row in zip(places, cells, strict=True)
    ]
    collection = {"type": "FeatureCollection", **(members or {}), "features": features}
    # A line a tree keeps the file readable and its changes visible.
    body = json.dumps(collection, ensure_ascii=False, allow_nan=False, separators=(",", ":"))
    return body.replace('{"type":"Feature",', '\n{"type":"Feature",') + "\n"


def _values(column: pd.Series) -> list[object]:
    """The cells of a column as JSON knows them; a missing one is null."""
    if pd.api.types.is_datetime64_any_dtype(column):
        column = column.dt.strftime("%Y-%m-%d")
    return list(column.astype(object).where(column.notna(), None))


def _point(lon: object, lat: object) -> dict[str, object] | None:
    return None if lon is None or lat is None else {"type": "Point", "coordinates": [lon, lat]}
