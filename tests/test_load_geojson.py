"""GeoJSON: points become places, properties become cells."""

import json
from pathlib import Path
from typing import Any

import pytest

from mapper.errors import InputError
from mapper.load import Records, load_records


def point(lon: Any, lat: Any, **properties: Any) -> dict[str, Any]:
    geometry = {"type": "Point", "coordinates": [lon, lat]}
    return {"type": "Feature", "geometry": geometry, "properties": properties}


def load(tmp_path: Path, *features: Any, **members: Any) -> Records:
    path = tmp_path / "trees.geojson"
    whole = {"type": "FeatureCollection", "features": list(features), **members}
    path.write_text(json.dumps(whole), encoding="utf-8")
    return load_records([path])


def test_a_point_is_a_record_with_a_place(tmp_path: Path) -> None:
    first = point(-83.998955542, 30.759177376, tree=1, girth_cm=103.4, species="Pinus palustris")
    second = {"type": "Feature", "geometry": None, "properties": {"tree": 2.0, "extra": {"a": [1]}}}
    records = load(tmp_path, first, second)
    assert records.values["row"].tolist() == [1, 2]
    assert records.values["lon"][0] == -83.998955542
    assert records.values["lat"][0] == 30.759177376
    assert records.values["lat"].isna().tolist() == [False, True]
    assert records.values["tree"].tolist() == ["1", "2"]
    assert records.cells["extra"].tolist() == ["", '{"a": [1]}']
    assert records.cells["lat"].tolist() == ["30.759177376", ""]


def test_a_third_coordinate_and_null_properties(tmp_path: Path) -> None:
    feature = point(7.1, 45.1)
    feature["geometry"]["coordinates"].append(250.0)
    feature["properties"] = None
    records = load(tmp_path, feature)
    assert records.values[["lat", "lon"]].to_numpy().tolist() == [[45.1, 7.1]]


def test_the_point_wins_over_properties_of_the_same_meaning(tmp_path: Path) -> None:
    records = load(tmp_path, point(7.1, 45.1, Latitude=1, longitude=2, tree="a"))
    assert records.values[["lat", "lon"]].to_numpy().tolist() == [[45.1, 7.1]]
    assert records.cells["Latitude"].tolist() == ["1"]
    reasons = records.problems["reason"].tolist()
    assert "'Latitude' is not read: the place is taken from the points themselves." in reasons


def test_the_one_coordinate_system_may_be_named(tmp_path: Path) -> None:
    crs = {"type": "name", "properties": {"name": "urn:ogc:def:crs:OGC:1.3:CRS84"}}
    assert load(tmp_path, point(7, 45, tree=1), crs=crs).values["lat"][0] == 45


@pytest.mark.parametrize("name", ["urn:ogc:def:crs:EPSG::25832", "EPSG:4326"])
def test_any_other_coordinate_system_is_refused(tmp_path: Path, name: str) -> None:
    crs = {"type": "name", "properties": {"name": name}}
    with pytest.raises(InputError, match=f"the coordinate system '{name}' is not read.*CRS84"):
        load(tmp_path, point(7, 45, tree=1), crs=crs)


POLYGON = {"type": "Polygon", "coordinates": [[[0, 0], [1, 0], [1, 1], [0, 0]]]}


@pytest.mark.parametrize(
    ("feature", "message"),
    [
        (
            {"type": "Feature", "geometry": POLYGON, "properties": {}},
            "trees.geojson, feature 2: the shape is a Polygon; a tree is a Point. Outlines",
        ),
        (
            {"type": "Feature", "geometry": {"type": "Point", "coordinates": [7]}},
            "feature 2: the point has no longitude and latitude",
        ),
        ({"type": "Point"}, "feature 2: not a GeoJSON Feature"),
        ("hello", "feature 2: not a GeoJSON Feature"),
    ],
)
def test_what_is_no_tree_is_refused(tmp_path: Path, feature: Any, message: str) -> None:
    with pytest.raises(InputError, match=message):
        load(tmp_path, point(7, 45), feature)


@pytest.mark.parametrize(
    ("text", "message"),
    [
        ("{]", "trees.json, line 1: not readable as GeoJSON"),
        ("[]", "trees.json: not a GeoJSON FeatureCollection. Export the trees as points"),
        ('{"type": "Feature"}', "not a GeoJSON FeatureCollection"),
        ('{"type": "FeatureCollection", "features": []}', "the FeatureCollection is empty"),
        ('{"type": "FeatureCollection"}', "the FeatureCollection is empty"),
    ],
)
def test_a_file_without_trees(tmp_path: Path, text: str, message: str) -> None:
    path = tmp_path / "trees.json"
    path.write_text(text)
    with pytest.raises(InputError, match=message):
        load_records([path])
