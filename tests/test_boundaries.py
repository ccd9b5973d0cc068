"""Outlines of stands: geodesic area, names, and what is refused."""

import json
import math
from pathlib import Path

import geopandas as gpd
import pytest
from shapely.geometry import Point, Polygon, box

from mapper.errors import InputError
from mapper.load.boundaries import geodesic_area_ha, read_backdrop, read_boundaries


def write(path: Path, *features: dict[str, object]) -> Path:
    path.write_text(json.dumps({"type": "FeatureCollection", "features": features}), "utf-8")
    return path


def feature(ring: list[list[float]], **properties: object) -> dict[str, object]:
    shape = {"type": "Polygon", "coordinates": [ring]}
    return {"type": "Feature", "properties": properties, "geometry": shape}


RING = [[7.0, 45.0], [7.001, 45.0], [7.001, 45.001], [7.0, 45.001], [7.0, 45.0]]
AWAY = [[8.0, 45.0], [8.001, 45.0], [8.001, 45.001], [8.0, 45.001], [8.0, 45.0]]


def zone_ha(south: float, north: float, width_deg: float) -> float:
    """Area between two parallels on WGS 84, closed form (Snyder 1987, eq. 3-12; from memory)."""
    semi_major, flattening = 6_378_137.0, 1 / 298.257223563
    e2 = flattening * (2 - flattening)
    e = math.sqrt(e2)

    def q(latitude: float) -> float:
        s = math.sin(math.radians(latitude))
        return (1 - e2) * (s / (1 - e2 * s * s) + math.atanh(e * s) / e)

    whole = math.pi * semi_major**2 * (q(north) - q(south))
    return whole * width_deg / 360 / 10_000


@pytest.mark.parametrize("south", [0.0, 45.0, -60.0])
def test_area_on_the_ellipsoid(south: float) -> None:
    # Slices of 0.01 degrees: their geodesic edges run along the parallels to a hair.
    slices = [box(n / 100, south, (n + 1) / 100, south + 1) for n in range(100)]
    total = sum(geodesic_area_ha(shape) for shape in slices)
    assert total == pytest.approx(zone_ha(south, south + 1, 1), rel=1e-7)


def test_a_hole_is_not_area() -> None:
    whole, hole = box(7, 45, 7.002, 45.002), box(7.0005, 45.0005, 7.001, 45.001)
    ring = Polygon(whole.exterior.coords, [hole.exterior.coords])
    assert geodesic_area_ha(ring) == pytest.approx(geodesic_area_ha(whole) - geodesic_area_ha(hole))


def test_the_way_round_does_not_matter() -> None:
    assert geodesic_area_ha(Polygon(RING)) == pytest.approx(geodesic_area_ha(Polygon(RING[::-1])))


def test_names_stand_then_name_then_number(tmp_path: Path) -> None:
    path = write(
        tmp_path / "s.geojson",
        feature(RING, stand="Grove", name="ignored"),
        feature(AWAY, name="Rows"),
        feature(AWAY, owner="nobody"),
    )
    assert set(read_boundaries(path)["stand"]) == {"Grove", "Rows", "Stand 3"}


def test_polygons_of_one_name_are_one_stand(tmp_path: Path) -> None:
    path = write(tmp_path / "s.geojson", feature(RING, stand="A"), feature(AWAY, stand="A"))
    (stand,) = read_boundaries(path).to_dict("records")
    assert stand["area_ha"] == pytest.approx(
        geodesic_area_ha(Polygon(RING)) + geodesic_area_ha(Polygon(AWAY))
    )


def test_geopackage_in_another_projection(tmp_path: Path) -> None:
    square = gpd.GeoDataFrame({"stand": ["A"]}, geometry=[box(0, 0, 100, 100)], crs="EPSG:32632")
    shifted = square.set_geometry(square.translate(400_000, 5_000_000))
    shifted.to_file(tmp_path / "s.gpkg")
    (area,) = read_boundaries(tmp_path / "s.gpkg")["area_ha"]
    # A UTM hectare at 100 km from the meridian is 1 / 0.99972... of a true one.
    assert area == pytest.approx(1, rel=1e-3)
    assert area != 1


def test_what_cannot_be_an_outline(tmp_path: Path) -> None:
    bow = [[7.0, 45.0], [7.001, 45.001], [7.001, 45.0], [7.0, 45.001], [7.0, 45.0]]
    crossing = write(tmp_path / "c.geojson", feature(bow, stand="Bow"))
    with pytest.raises(InputError, match=r"the outline of 'Bow' is not a simple area"):
        read_boundaries(crossing)
    point = {"type": "Feature", "properties": {}, "geometry": Point(7, 45).__geo_interface__}
    with pytest.raises(InputError, match="holds no polygon"):
        read_boundaries(write(tmp_path / "p.geojson", point))
    with pytest.raises(InputError, match="there is no such file"):
        read_boundaries(tmp_path / "gone.geojson")
    with pytest.raises(InputError, match="cannot be read as a map file"):
        (tmp_path / "x.geojson").write_text("{", encoding="utf-8")
        read_boundaries(tmp_path / "x.geojson")


def test_backdrop_keeps_kind_and_shape_only(tmp_path: Path) -> None:
    path = write(
        tmp_path / "b.geojson",
        feature(RING, kind="water", owner="someone"),
        feature(AWAY, kind="swimming pool"),
    )
    backdrop = read_backdrop([path])
    assert list(backdrop.columns) == ["kind", "geometry"]
    assert backdrop["kind"].tolist() == ["water", "other"]
