"""GeoJSON: a feature a record, its point the place, its properties the cells."""

import json
import math
from collections.abc import Mapping
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd

from mapper.errors import InputError
from mapper.load.columns import heading_key, heading_keys
from mapper.load.guards import refuse_unfit
from mapper.load.records import Sheet
from mapper.load.text_file import read_text

PLACE = ("lon", "lat")


def read_geojson(file: Path) -> list[Sheet]:
    """The one table of a FeatureCollection of points.

    Raises
    ------
    InputError
        When the file is no FeatureCollection, has another coordinate system than WGS 84
        longitude and latitude, or holds a shape that is not a point.
    """
    refuse_unfit(file)
    features = _features(file)
    properties = [_properties(file, number, one) for number, one in enumerate(features, start=1)]
    places = [_place(file, number, one) for number, one in enumerate(features, start=1)]
    cells = pd.DataFrame(properties, dtype=object).reindex(columns=_names(properties))
    texts = cells.set_axis(range(len(cells.columns)), axis=1).map(_text)
    width = len(cells.columns)
    for position, coordinate in enumerate(zip(*places, strict=True), start=width):
        texts[position] = list(coordinate)
    return [
        Sheet(
            file=file,
            name="",
            headings=(*cells.columns, *PLACE),
            cells=texts.astype(str),
            rows=np.arange(1, len(features) + 1),
            given={width + number: name for number, name in enumerate(PLACE)},
        )
    ]


def _features(file: Path) -> list[Mapping[str, Any]]:
    text, _ = read_text(file)
    try:
        whole = json.loads(text)
        json.dumps(whole, ensure_ascii=False).encode()  # half a surrogate pair is no text
    except json.JSONDecodeError as error:
        raise InputError(
            f"{file}, line {error.lineno}: not readable as GeoJSON ({error.msg}). Export it again."
        ) from error
    except (RecursionError, ValueError) as error:
        raise InputError(f"{file}: not readable as GeoJSON ({error}). Export it again.") from error
    if not isinstance(whole, dict) or whole.get("type") != "FeatureCollection":
        raise InputError(f"{file}: not a GeoJSON FeatureCollection. Export the trees as points.")
    _refuse_other_crs(file, whole.get("crs"))
    features = whole.get("features")
    if not isinstance(features, list) or not features:
        raise InputError(f"{file}: the FeatureCollection is empty. It needs a point a tree.")
    return features


def _refuse_other_crs(file: Path, crs: object) -> None:
    """RFC 7946 knows longitude and latitude on WGS 84 only; older files could say otherwise."""
    if crs is None:
        return
    properties = crs.get("properties") if isinstance(crs, dict) else None
    name = properties.get("name") if isinstance(properties, dict) else crs
    if not str(name).upper().endswith("CRS84"):
        raise InputError(
            f"{file}: the coordinate system '{name}' is not read from GeoJSON. "
            "Export it again in longitude and latitude (WGS 84, CRS84)."
        )


def _properties(file: Path, number: int, feature: object) -> Mapping[str, Any]:
    if not isinstance(feature, dict) or feature.get("type") != "Feature":
        raise InputError(f"{file}, feature {number}: not a GeoJSON Feature. Export it again.")
    properties = feature.get("properties") or {}
    told = properties if isinstance(properties, dict) else {}
    # RFC 7946 section 3.2 keeps a feature's own id beside its properties.
    named = any(heading_keys().get(heading_key(str(name))) == "tree" for name in told)
    return told if named or feature.get("id") is None else {"id": feature["id"], **told}


def _names(properties: list[Mapping[str, Any]]) -> list[str]:
    """Every property, in the order in which they first appear."""
    return list(dict.fromkeys(name for one in properties for name in one))


def _place(file: Path, number: int, feature: Mapping[str, Any]) -> tuple[str, str]:
    """Longitude and latitude as text; empty where the feature has no place."""
    geometry = feature.get("geometry")
    if geometry is None:
        return "", ""
    kind = geometry.get("type") if isinstance(geometry, dict) else geometry
    if kind != "Point":
        raise InputError(
            f"{file}, feature {number}: the shape is a {kind}; a tree is a Point. "
            "Outlines of stands are handed in as boundaries."
        )
    coordinates = geometry.get("coordinates")
    if not isinstance(coordinates, list) or len(coordinates) == 1:
        raise InputError(
            f"{file}, feature {number}: the point has no longitude and latitude. Export it again."
        )
    return (_text(coordinates[0]), _text(coordinates[1])) if coordinates else ("", "")


def _text(value: object) -> str:
    if value is None or (isinstance(value, float) and math.isnan(value)):
        return ""
    if isinstance(value, float) and value.is_integer():
        return str(int(value))
    return value if isinstance(value, str) else json.dumps(value, ensure_ascii=False)
