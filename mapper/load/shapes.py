"""From a table of features to a table of records: points become places."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mapper.errors import InputError
from mapper.load.arrow_text import as_texts, float_texts
from mapper.load.columns import heading_key, heading_keys
from mapper.load.records import Remark, Sheet

DEGREES = ("lon", "lat")
PROJECTED = ("x", "y", "crs")
WIDEST_DEGREES = 1.0  # a survey of trees is smaller
SHOWN = 10
ASSUMED = (
    "The file names no coordinate system. Its places were read as longitude and latitude (WGS 84)."
)


@dataclass(frozen=True)
class Features:
    """A layer as its format's library gives it."""

    file: Path
    layer: str  # "" where the file has one
    table: Any  # Arrow table
    geometry: str  # column of the table, "" where there is none
    crs: str  # authority code or definition, "" where nobody says
    meanings: Mapping[str, str]  # what the format's own columns are called here
    remarks: tuple[Remark, ...] = ()


def has_points(features: Features) -> bool:
    """Whether any of the features could be a tree."""
    points, _ = _points(features)
    return bool((~points["shape"]).any())


def sheet_from_features(features: Features) -> Sheet:
    """The records of a layer: a point each, its attributes the cells.

    Raises
    ------
    InputError
        When every feature is a line or an outline.
    """
    points, kinds = _points(features)
    if len(points) and points["shape"].all():
        listed = ", ".join(dict.fromkeys(kinds))
        raise InputError(
            f"{_place(features)}: holds no points, only {listed}. A tree is a Point. Outlines of "
            "stands are handed in as boundaries."
        )
    columns = features.table.column_names
    positions = [n for n, name in enumerate(columns) if name != features.geometry]
    names = [columns[n] for n in positions]
    cells = as_texts(features.table, positions)
    places, assumed = _place_cells(features, points)
    whole = pd.concat(
        [cells, places.set_axis(range(len(names), len(names) + places.shape[1]), axis=1)], axis=1
    )
    kept = (~points["shape"] & (whole != "").any(axis=1)).to_numpy()
    if not kept.any():
        raise InputError(f"{_place(features)}: has no features. It needs a point a tree.")
    return Sheet(
        file=features.file,
        name=features.layer,
        headings=(*names, *places.columns),
        cells=whole[kept].reset_index(drop=True),
        rows=np.flatnonzero(kept) + 1,
        remarks=(*features.remarks, *_not_points(points, kinds), *assumed),
        given=_given(features, names, list(places.columns)),
    )


def _points(features: Features) -> tuple[pd.DataFrame, NDArray[np.object_]]:
    """Coordinates of each feature, whether it is another shape, and the kind of each shape."""
    import shapely

    count = features.table.num_rows
    if not features.geometry:
        nowhere = np.full(count, np.nan)
        none = np.zeros(count, dtype=bool)
        return pd.DataFrame({"x": nowhere, "y": nowhere, "shape": none}), np.array([], dtype=object)
    written = features.table.column(features.geometry).to_numpy()
    shapes = shapely.from_wkb(written, on_invalid="ignore")
    # A set of one point is a point.
    single = (shapely.get_type_id(shapes) == shapely.GeometryType.MULTIPOINT) & (
        shapely.get_num_geometries(shapes) == 1
    )
    shapes = np.where(single, shapely.get_geometry(shapes, 0), shapes)
    empty = shapely.is_missing(shapes) | shapely.is_empty(shapes)
    unread = shapely.is_missing(shapes) & np.array([one is not None for one in written])
    is_point = shapely.get_type_id(shapes) == shapely.GeometryType.POINT
    other = (~is_point & ~empty) | unread
    points = pd.DataFrame({"x": shapely.get_x(shapes), "y": shapely.get_y(shapes), "shape": other})
    return points, np.array([getattr(one, "geom_type", "curves") for one in shapes[other]])


def _place_cells(features: Features, points: pd.DataFrame) -> tuple[pd.DataFrame, list[Remark]]:
    """The place of each record as text, by its canonical headings."""
    import pyarrow as pa

    if not features.geometry:
        return pd.DataFrame(index=points.index), []
    x, y = (pd.Series(float_texts(pa.array(points[name])).to_pandas()) for name in ("x", "y"))
    assumed = not features.crs and _like_degrees(points)
    if assumed or is_wgs84(features.crs):
        remark = Remark("crs_assumed", "warning", ASSUMED, "lat")
        return pd.DataFrame({"lon": x, "lat": y}, dtype=str), [remark] if assumed else []
    system = pd.Series(features.crs, index=points.index).where(x != "", "")
    return pd.DataFrame({"x": x, "y": y, "crs": system}, dtype=str), []


def is_wgs84(crs: str) -> bool:
    """Whether a system is longitude and latitude on WGS 84, in whatever order."""
    return crs in ("EPSG:4326", "OGC:CRS84", "EPSG:4979", "OGC:CRS84h")


def _like_degrees(points: pd.DataFrame) -> bool:
    """Whether coordinates without a system can only be degrees."""
    x, y = points["x"].dropna(), points["y"].dropna()
    if x.empty:
        return False
    near = np.ptp(x) < WIDEST_DEGREES and np.ptp(y) < WIDEST_DEGREES
    return bool(near and x.abs().max() <= 180 and y.abs().max() <= 90)


def _given(features: Features, names: Sequence[str], places: Sequence[str]) -> dict[int, str]:
    """What the format's own columns mean, unless a heading of the user's says the same."""
    said = {
        heading_keys().get(heading_key(name)) for name in names if name not in features.meanings
    }
    given: dict[int, str] = {}
    for number, name in enumerate(names):
        meaning = features.meanings.get(name)
        if meaning and meaning not in said and meaning not in given.values():
            given[number] = meaning
    return {**given, **dict(enumerate(places, start=len(names)))}


def _not_points(points: pd.DataFrame, kinds: NDArray[np.object_]) -> list[Remark]:
    if not points["shape"].any():
        return []
    numbers = np.flatnonzero(points["shape"]) + 1
    listed = [f"{number} ({kind})" for number, kind in zip(numbers[:SHOWN], kinds, strict=False)]
    more = f" and {numbers.size - SHOWN} more" if numbers.size > SHOWN else ""
    reason = f"Not read as trees, because they are no points: features {', '.join(listed)}{more}."
    return [Remark("not_a_point", "warning", reason)]


def _place(features: Features) -> str:
    return f"{features.file}, layer '{features.layer}'" if features.layer else str(features.file)
