"""Latitude and longitude in one cell: `48.2, 16.3`, `48°12'N 16°18'E`, `POINT (16.3 48.2)`."""

import re
from dataclasses import replace

from mapper.load.angles import read_angle
from mapper.load.columns import heading_key
from mapper.load.headings import read_heading
from mapper.load.records import Remark, Sheet
from mapper.load.text import plain

# A heading that may name such a column; its cells decide.
MAY_HOLD_PLACES = frozenset({
    "coordinates", "coordinate", "coords", "latlon", "latlong", "latlng", "lonlat", "lat",
    "latitude", "latitudelongitude", "gps", "gpscoordinates", "gpslocation", "gpsposition",
    "gpspoint", "location", "position", "place", "point", "geopoint", "geolocation", "geom",
    "geometry", "wkt",
})  # fmt: skip
WELL_KNOWN_TEXT = re.compile(
    r"(?:srid=\d+;)?point ?z? ?\(([^ ,]+)[ ,]+([^ ,)]+)(?: [^)]*)?\)", re.I
)
SIDED = re.compile(r"(.*?\d.*?[ns])[ ,;]+(.+)|([ns].*?\d.*?)[ ,;]*([ew].+)", re.I)
LONGITUDE_FIRST = re.compile(r"(.*?\d.*?[ew])[ ,;]+(.*[ns])|([ew].*?\d.*?)[ ,;]*([ns].+)", re.I)


def with_pairs_apart(sheet: Sheet) -> Sheet:
    """The sheet with its column of places split into lat and lon, where it has one and needs it."""
    names = [_column_name(text) for text in sheet.headings]
    if "lon" in names or {"lat", "lon"} & set(sheet.given.values()):
        return sheet
    for position, heading in enumerate(sheet.headings):
        if heading_key(heading) in MAY_HOLD_PLACES and position not in sheet.given:
            if "lat" in names and names[position] != "lat":
                continue
            parts = _parts(sheet, position)
            if parts:
                return _split(sheet, position, parts)
    return sheet


def read_pair(text: str, longitude_first: bool = False) -> tuple[str, str] | None:
    """The cell's latitude and longitude, each as written; None where it does not hold two."""
    seen = " ".join(plain(text).strip("()[] ").split())
    known = WELL_KNOWN_TEXT.fullmatch(plain(text))
    sided, turned = SIDED.fullmatch(seen), LONGITUDE_FIRST.fullmatch(seen)
    if known:
        pair = (known[2], known[1])
    elif sided:
        pair = (sided[1] or sided[3], sided[2] or sided[4])
    elif turned:
        pair = (turned[2] or turned[4], turned[1] or turned[3])
    else:
        halves = _halves(seen)
        if halves is None:
            return None
        pair = (halves[1], halves[0]) if longitude_first else halves
    lat, lon = (part.strip(" ,;") for part in pair)
    both = read_angle(lat, "latitude"), read_angle(lon, "longitude")
    # 48,2083 is one number with a decimal comma, and 12, 200 may count anything.
    whole = (lat + lon).lstrip("+-").isdecimal()
    return None if whole or any(one.rule for one in both) else (lat, lon)


def _halves(seen: str) -> tuple[str, str] | None:
    """The two numbers: parted by a sign that is in neither, or by the comma in the middle."""
    for mark in (";", "|", "/"):
        if seen.count(mark) == 1:
            first, _, second = seen.partition(mark)
            return first, second
    commas = seen.split(",")
    if len(commas) == 2:  # 48.2, 16.3
        return commas[0], commas[1]
    if len(commas) == 4:  # 48,2, 16,3
        return ",".join(commas[:2]), ",".join(commas[2:])
    words = seen.split(" ")
    return (words[0], words[1]) if len(words) == 2 else None


def _column_name(text: str) -> str:
    column = read_heading(text).column
    return column.name if column else ""


def _parts(sheet: Sheet, position: int) -> dict[str, tuple[str, str]]:
    """The pairs of the column by cell; none where fewer than half of the cells are pairs."""
    texts = [str(text) for text in sheet.cells[position].unique() if str(text).strip()]
    turned = heading_key(sheet.headings[position]) == "lonlat"
    found = {text: read_pair(text, turned) for text in texts}
    pairs = {text: pair for text, pair in found.items() if pair}
    return pairs if 2 * len(pairs) >= len(texts) else {}


def _split(sheet: Sheet, position: int, pairs: dict[str, tuple[str, str]]) -> Sheet:
    """The column becomes lat, lon is put at the end; a cell that is no pair stays whole in lat."""
    cells = sheet.cells[position].astype(str)
    lat = cells.map({text: pair[0] for text, pair in pairs.items()}).fillna(cells)
    lon = cells.map({text: pair[1] for text, pair in pairs.items()}).fillna("")
    last = len(sheet.headings)
    heading = sheet.headings[position]
    reason = f"'{heading}' holds two coordinates in one cell: read as latitude and longitude."
    headings = [*sheet.headings, "lon"]
    headings[position] = "lat"
    whole = sheet.cells.copy()
    whole[position], whole[last] = lat, lon
    remark = Remark("read_beside_others", "note", reason, "lat", heading)
    return replace(sheet, headings=tuple(headings), cells=whole, remarks=(*sheet.remarks, remark))
