"""Stand outlines and backdrop shapes: any vector file → WGS 84 tables."""

import warnings
from collections.abc import Sequence
from pathlib import Path

import geopandas as gpd
import pyogrio.errors
import shapely.errors
from pyproj import Geod
from shapely import MultiPolygon, Polygon
from shapely.geometry.polygon import orient
from shapely.validation import explain_validity

from mapper.errors import InputError

WGS84 = "EPSG:4326"
UNREADABLE = (
    pyogrio.errors.DataSourceError,
    pyogrio.errors.DataLayerError,
    pyogrio.errors.FeatureError,
    pyogrio.errors.GeometryError,
    shapely.errors.ShapelyError,
    ValueError,
)
BACKDROP_KINDS = ("path", "building", "water", "other")
M2_PER_HA = 10_000.0


def no_boundaries() -> gpd.GeoDataFrame:
    """The table of a survey that has no outlines."""
    return gpd.GeoDataFrame({"stand": [], "area_ha": []}, geometry=[], crs=WGS84)


def read_boundaries(file: Path) -> gpd.GeoDataFrame:
    """Stand outlines: stand, area_ha (geodesic, holes left out), geometry (WGS 84).

    A polygon's name is its property `stand`, else `name`, else "Stand 1" and so on. Polygons of
    one name make one stand.
    """
    shapes = _read(file)
    polygons = shapes[shapes.geom_type.isin(["Polygon", "MultiPolygon"])].copy()
    if polygons.empty:
        raise InputError(
            f"{file}: holds no polygon, so no stand has an outline. "
            "Draw each stand as a closed polygon and save the file again."
        )
    polygons["stand"] = _names(polygons)
    _refuse_crossing(file, polygons)
    _refuse_round_the_world(file, polygons)
    # A third coordinate (altitude) plays no part in a plan.
    outlines = gpd.GeoDataFrame(polygons[["stand"]], geometry=polygons.geometry.force_2d())
    stands = outlines.dissolve(by="stand", sort=True).reset_index()
    return stands.assign(area_ha=[geodesic_area_ha(shape) for shape in stands.geometry])


def read_backdrop(files: Sequence[Path]) -> gpd.GeoDataFrame:
    """Shapes drawn under the trees: kind (path, building, water, other) and geometry only."""
    tables = [_backdrop(file) for file in files]
    if not tables:
        return gpd.GeoDataFrame({"kind": []}, geometry=[], crs=WGS84)
    kinds = [kind for table in tables for kind in table["kind"]]
    shapes = [shape for table in tables for shape in table.geometry]
    return gpd.GeoDataFrame({"kind": kinds}, geometry=shapes, crs=WGS84)


def geodesic_area_ha(shape: Polygon | MultiPolygon) -> float:
    """Area on the WGS 84 ellipsoid, holes left out. [ha]"""
    ellipsoid = Geod(ellps="WGS84")
    parts = shape.geoms if isinstance(shape, MultiPolygon) else [shape]
    # A hole drawn the same way round as its outline would be added to it: orient first.
    areas = [ellipsoid.geometry_area_perimeter(orient(part))[0] for part in parts]
    return float(sum(areas) / M2_PER_HA)


def _read(file: Path) -> gpd.GeoDataFrame:
    if not file.exists():
        raise InputError(f"{file}: there is no such file. Check the spelling.")
    try:
        with warnings.catch_warnings(action="ignore"):  # what it warns of is checked below
            shapes = gpd.read_file(file)
    except UNREADABLE as error:
        raise InputError(f"{file}: cannot be read as a map file ({error}).") from error
    if not isinstance(shapes, gpd.GeoDataFrame):
        raise InputError(f"{file}: holds no shapes. Save the outlines as polygons.")
    shapes = shapes[~(shapes.geometry.isna() | shapes.geometry.is_empty)]
    in_degrees = shapes.set_crs(WGS84) if shapes.crs is None else shapes.to_crs(WGS84)
    west, south, east, north = in_degrees.total_bounds if len(in_degrees) else (0, 0, 0, 0)
    if -180 <= west <= east <= 180 and -90 <= south <= north <= 90:
        return in_degrees
    if shapes.crs is not None:
        raise InputError(
            f"{file}: {west:g}, {south:g} is no longitude and latitude. Export it again, in its "
            "own coordinate system or in longitude and latitude (WGS 84)."
        )
    raise InputError(
        f"{file}: says nothing of its coordinate system and {west:.0f}, {south:.0f} is no "
        "longitude and latitude. Save it with its coordinate system, or as GeoJSON."
    )


def _names(polygons: gpd.GeoDataFrame) -> list[str]:
    names = []
    for number, (_, row) in enumerate(polygons.iterrows(), start=1):
        given = [row[key] for key in ("stand", "name") if key in polygons.columns]
        texts = [_name(name) for name in given if isinstance(name, (str, int, float))]
        names.append(next((text for text in texts if text not in ("", "nan")), f"Stand {number}"))
    return names


def _name(value: str | int | float) -> str:
    """A name as one line; a number that a table keeps as 1.0 is 1."""
    whole = isinstance(value, float) and value.is_integer()
    return " ".join(str(int(value) if whole else value).split())


def _refuse_crossing(file: Path, polygons: gpd.GeoDataFrame) -> None:
    for name, shape in zip(polygons["stand"], polygons.geometry, strict=True):
        if not shape.is_valid:
            raise InputError(
                f"{file}: the outline of '{name}' is not a simple area "
                f"({explain_validity(shape)}). Draw it again so that it does not cross itself."
            )


def _refuse_round_the_world(file: Path, polygons: gpd.GeoDataFrame) -> None:
    parts = polygons.explode(index_parts=False)
    wide = parts[parts.bounds["maxx"] - parts.bounds["minx"] > 180]
    for name in wide["stand"]:
        raise InputError(
            f"{file}: the outline of '{name}' reaches half round the world. Where it crosses 180 "
            "degrees of longitude, cut it in two there (RFC 7946, section 3.1.9)."
        )


def _backdrop(file: Path) -> gpd.GeoDataFrame:
    shapes = _read(file)
    given = shapes["kind"] if "kind" in shapes.columns else ["other"] * len(shapes)
    kinds = [kind if kind in BACKDROP_KINDS else "other" for kind in given]
    return gpd.GeoDataFrame({"kind": kinds}, geometry=list(shapes.geometry.force_2d()), crs=WGS84)
