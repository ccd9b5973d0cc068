"""Map files (GeoPackage, shapefile, KML, GPX): every layer of points is a table of records."""

import warnings
from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

from mapper.errors import InputError
from mapper.load.arrow_text import is_utf8
from mapper.load.columns import known_columns
from mapper.load.guards import in_short, refuse_unfit, refuse_xml_bomb
from mapper.load.headings import count_known
from mapper.load.records import Remark, Sheet, with_remark
from mapper.load.shapes import Features, has_points, sheet_from_features

WAYPOINTS = "waypoints"  # tracks and routes are ways, and their corners no trees
# What the formats' own columns are called here. Sources: OGC 12-007r2 (KML 2.3), GPX 1.1 schema.
MEANINGS: Mapping[str, Mapping[str, str]] = {
    ".kml": {"Name": "tree", "description": "note", "timestamp": "date", "begin": "date"},
    ".gpx": {"name": "tree", "time": "date", "desc": "note", "cmt": "note"},
}
# How a mark is drawn, said by the format for every one of them: nothing that anyone recorded.
DRAWN = ("id", "altitudeMode", "tessellate", "extrude", "visibility", "drawOrder", "icon")
NOT_AS_SAID = (
    "The texts are not in the encoding that the file names, and were read as cp1252. Look at the "
    "letters with accents, and save it again as UTF-8."
)
CUT_AT = 10  # letters of a heading in a shapefile
COMPANIONS = (".dbf", ".shx")


def read_gpkg(file: Path) -> list[Sheet]:
    """The layers of a GeoPackage.

    Raises
    ------
    InputError
        When no layer holds points.
    """
    refuse_unfit(file)
    return _read(file)


def read_shapefile(file: Path) -> list[Sheet]:
    """The one layer of a shapefile and the files beside it.

    Raises
    ------
    InputError
        When one of them is missing, or no shape is a point.
    """
    refuse_unfit(file)
    beside = {path.suffix.lower() for path in file.parent.glob(f"{file.stem}.*")}
    missing = [ending for ending in COMPANIONS if ending not in beside]
    if missing:
        raise InputError(
            f"{file}: {file.stem}{missing[0]} is missing beside it. A shapefile is several files "
            "of one name: hand in all of them, or the zip they came in."
        )
    return _read(file)


def read_kml(file: Path) -> list[Sheet]:
    """The folders of a KML file.

    Raises
    ------
    InputError
        When it is damaged, or no placemark is a point.
    """
    refuse_unfit(file)
    refuse_xml_bomb(file, "kml")
    return _read(file)


def read_gpx(file: Path) -> list[Sheet]:
    """The waypoints of a GPX file.

    Raises
    ------
    InputError
        When it is damaged or has no waypoint.
    """
    refuse_unfit(file)
    refuse_xml_bomb(file, "gpx")
    return _read(file)


def _read(file: Path) -> list[Sheet]:
    layers = [one for one in _layers(file) if one.table.num_rows]
    trees = [one for one in layers if _holds_records(one)]
    if not trees and not layers:
        raise InputError(f"{file}: has no features. It needs a point a tree.")
    if not trees and layers[0].layer in ("routes", "tracks"):
        raise InputError(f"{file}: holds tracks and no waypoint. A tree is a waypoint.")
    # With no layer of points, the first one's own message says what it holds.
    sheets = [sheet_from_features(one) for one in trees or layers[:1]]
    skipped = [one.layer for one in layers if one not in trees and trees]
    return [_with_skipped(sheets[0], skipped), *sheets[1:]]


def _holds_records(features: Features) -> bool:
    if features.file.suffix.lower() == ".gpx":
        return features.layer == WAYPOINTS
    if features.geometry:
        return has_points(features)
    return count_known(features.table.column_names) > 1


def _layers(file: Path) -> list[Features]:
    import pyogrio

    try:
        # What the library warns of is checked after it: shapes, systems, dates.
        with warnings.catch_warnings(action="ignore"):
            names = [str(name) for name, _ in pyogrio.list_layers(file)]
            read = {name: _layer(file, name) for name in names}
    except Exception as error:  # a damaged file can make the library fail in any way
        raise InputError(f"{file}: cannot be read as a map file ({in_short(error)}).") from error
    return list(read.values())


def _layer(file: Path, name: str) -> Features:
    from pyogrio import read_arrow

    remarks: tuple[Remark, ...] = ()
    meta, table = read_arrow(file, layer=name, datetime_as_string=True)
    if not is_utf8(table):
        meta, table = read_arrow(file, layer=name, datetime_as_string=True, encoding="cp1252")
        remarks = (Remark("mixed_encodings", "warning", NOT_AS_SAID),)
    geometry, crs = _geometry(meta, table), str(meta.get("crs") or "")
    ending = file.suffix.lower()
    cut = _cut_names(table.column_names) if ending == ".shp" else {}
    meanings = {**MEANINGS.get(ending, {}), **cut}
    told = [_cut_remark(heading, whole) for heading, whole in cut.items()]
    table = _recorded(table, file)
    return Features(file, name, table, geometry, crs, meanings, (*remarks, *told))


def _cut_names(headings: Sequence[str]) -> dict[str, str]:
    """Headings that a shapefile has cut to ten letters, and the one known here that they begin."""
    found = {}
    for heading in headings:
        begun = [name for name in known_columns() if name.startswith(heading.casefold())]
        if len(heading) == CUT_AT and len(begun) == 1 and not count_known([heading]):
            found[heading] = begun[0]
    return found


def _cut_remark(heading: str, name: str) -> Remark:
    reason = f"'{heading}' is read as {name}: a shapefile cuts headings to {CUT_AT} letters."
    return Remark("read_beside_others", "note", reason, name, heading)


def _geometry(meta: dict[str, Any], table: Any) -> str:
    """The column of the shapes; "" in a layer that is a table alone."""
    name = meta.get("geometry_name") or "wkb_geometry"
    return name if meta.get("geometry_type") and name in table.column_names else ""


def _recorded(table: Any, file: Path) -> Any:
    """Without the columns of the format's own that hold nothing anyone recorded."""
    if file.suffix.lower() not in MEANINGS:
        return table
    columns = table.column_names
    empty = [name for name in columns if table.column(name).null_count == table.num_rows]
    drawn = DRAWN if file.suffix.lower() == ".kml" else ()
    return table.drop_columns(sorted({*empty, *drawn} & set(columns)))


def _with_skipped(sheet: Sheet, names: list[str]) -> Sheet:
    if not names:
        return sheet
    listed = ", ".join(f"'{name}'" for name in names)
    return with_remark(
        sheet, Remark("sheet_not_read", "note", f"Layers without points were not read: {listed}.")
    )
