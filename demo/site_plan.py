"""The invented ground: school, park, brook, paths and stand outlines, in metres from one corner.

Every place is (x east, y north) in metres. `to_degrees` lays the plan on the globe.
"""

import math
from collections.abc import Iterable, Sequence
from itertools import pairwise

Place = tuple[float, float]
Feature = dict[str, object]

# The south-west corner of the plan: open hill country in southern Quebec, no school and no park.
CORNER_LAT, CORNER_LON = 45.311, -71.443

GROVE_NAME, PLANTATION_NAME, SCHOOL_NAME = "Old Grove", "Pine Rows", "School Grounds"
WOOD_NAME = "Brook Wood"

# The plantation lies along its rows: centre, direction of the rows, and corners (along, across).
PLANTATION_CENTRE, ROW_DIRECTION_DEG = (388.0, 82.0), 9.0
PLANTATION_CORNERS = ((-52, -29), (54, -29), (54, 20), (40, 29), (-40, 29), (-52, 21))

GROVE_CORNERS = (
    (321, 239), (323, 265), (341, 285), (366, 288), (385, 298), (409, 291), (425, 270),
    (419, 244), (424, 226), (405, 207), (378, 208), (353, 200), (332, 215),
)  # fmt: skip
WOOD_CORNERS = (
    (172, 20), (171, 56), (184, 84), (214, 97), (246, 90), (266, 72), (277, 48), (287, 22),
    (244, 12), (206, 10),
)  # fmt: skip
POND_CORNERS = (
    (257, 201), (272, 196), (286, 178), (284, 158), (292, 140), (280, 120),
    (264, 115), (250, 124), (240, 140), (244, 160), (238, 178), (246, 194),
)  # fmt: skip

BROOK_ABOVE = ((202, 318), (218, 296), (226, 272), (240, 244), (248, 218), (258, 194))
BROOK_BELOW = ((267, 122), (280, 98), (280, 72), (296, 48), (297, 30), (304, 14))

LANE = ((8, 14), (10, 110), (7, 220), (11, 318))
DRIVE = ((8, 181), (62, 184))
GROVE_PATH = (
    (150, 185), (176, 191), (206, 212), (232, 222), (258, 225), (290, 231), (326, 244),
    (356, 254), (386, 248), (412, 236), (434, 212), (440, 184), (420, 160),
)  # fmt: skip
PARK_PATH = ((420, 160), (386, 150), (350, 158), (322, 178), (302, 202), (290, 231))
POND_PATH = (
    (206, 212), (216, 186), (214, 150), (226, 118), (252, 102), (276, 104), (302, 120), (322, 178),
)  # fmt: skip
GATE_PATH = ((434, 212), (452, 236), (478, 246))
PLANTATION_PATH = ((302, 120), (322, 130), (376, 138), (420, 160))
FIELD_PATH = ((114, 176), (116, 132), (156, 122), (186, 132), (214, 150))
PATHS = {
    "Lane": LANE,
    "School drive": DRIVE,
    "Grove path": GROVE_PATH,
    "Park path": PARK_PATH,
    "Pond path": POND_PATH,
    "East gate": GATE_PATH,
    "Pine path": PLANTATION_PATH,
    "Field path": FIELD_PATH,
}

SCHOOL = (
    (62, 144), (80, 144), (80, 176), (132, 176), (132, 152), (150, 152),
    (150, 222), (132, 222), (132, 194), (80, 194), (80, 228), (62, 228),
)  # fmt: skip


def box(west: float, south: float, east: float, north: float) -> list[Place]:
    return [(west, south), (east, south), (east, north), (west, north)]


PAVILION = ((311, 219), (311, 215), (314, 212), (318, 212), (321, 215), (321, 219), (316, 223))
BUILDINGS: dict[str, Sequence[Place]] = {
    "School": SCHOOL,
    "Gymnasium": box(92, 236, 134, 262),
    "Greenhouse": box(160, 206, 167, 222),
    "Pavilion": PAVILION,
    "Tool shed": box(306, 92, 313, 97),
}


TRACK_CENTRE = (88.0, 72.0)
GROUNDS = {
    "Ball field": box(62, 50, 114, 94),
    "Parking": box(16, 204, 46, 254),
    "School garden, north bed": box(152, 248, 178, 252),
    "School garden, middle bed": box(152, 240, 178, 244),
    "School garden, south bed": box(152, 232, 178, 236),
}


def smooth(corners: Sequence[Place], closed: bool) -> list[Place]:
    """Round off a line or ring by cutting its corners at a quarter, three times.

    Source: Chaikin 1974, An algorithm for high-speed curve generation (from memory).
    """
    line = list(corners)
    for _ in range(3):
        pieces = pairwise([*line, line[0]] if closed else line)
        cut = [between(a, b, share) for a, b in pieces for share in (0.25, 0.75)]
        line = cut if closed else [line[0], *cut[1:-1], line[-1]]
    return line


def _bent(line: Sequence[Place]) -> list[Place]:
    return smooth(line, closed=False)


def between(a: Place, b: Place, share: float) -> Place:
    return a[0] + share * (b[0] - a[0]), a[1] + share * (b[1] - a[1])


def oval(centre: Place, length: float, width: float) -> list[Place]:
    """A running track: two straights and two half circles, east to west."""
    radius, half = width / 2, (length - width) / 2
    turns = [math.radians(10 * step) for step in range(36)]
    return [
        (centre[0] + math.copysign(half, math.cos(turn)) + radius * math.cos(turn),
         centre[1] + radius * math.sin(turn))
        for turn in turns
    ]  # fmt: skip


def ribbon(line: Sequence[Place], width: float) -> list[Place]:
    """The two banks of a brook as one ring."""
    left, right = [], []
    for number, (x, y) in enumerate(line):
        before, after = line[max(number - 1, 0)], line[min(number + 1, len(line) - 1)]
        east, north = after[0] - before[0], after[1] - before[1]
        shift = width / 2 / math.hypot(east, north)
        left.append((x - shift * north, y + shift * east))
        right.append((x + shift * north, y - shift * east))
    return right + left[::-1]


def along_rows(along: float, across: float) -> Place:
    """From the plantation's own axes to east and north."""
    turn = math.radians(ROW_DIRECTION_DEG)
    east = along * math.cos(turn) - across * math.sin(turn)
    north = along * math.sin(turn) + across * math.cos(turn)
    return PLANTATION_CENTRE[0] + east, PLANTATION_CENTRE[1] + north


def grove_outline() -> list[Place]:
    return smooth(GROVE_CORNERS, closed=True)


def wood_outline() -> list[Place]:
    return smooth(WOOD_CORNERS, closed=True)


def plantation_outline() -> list[Place]:
    return [along_rows(along, across) for along, across in PLANTATION_CORNERS]


def inside(place: Place, ring: Sequence[Place]) -> bool:
    """Even-odd rule: a ray to the east crosses the ring an odd number of times."""
    x, y = place
    crossings = 0
    for (x1, y1), (x2, y2) in pairwise([*ring, ring[0]]):
        if (y1 > y) != (y2 > y) and x < x1 + (y - y1) / (y2 - y1) * (x2 - x1):
            crossings += 1
    return crossings % 2 == 1


def distance_to_line(place: Place, line: Sequence[Place]) -> float:
    """Shortest distance from a place to a line of straight pieces. [m]"""
    return min(_distance_to_piece(place, a, b) for a, b in pairwise(line))


def _distance_to_piece(place: Place, a: Place, b: Place) -> float:
    east, north = b[0] - a[0], b[1] - a[1]
    share = ((place[0] - a[0]) * east + (place[1] - a[1]) * north) / (east**2 + north**2)
    return math.dist(place, between(a, b, min(max(share, 0.0), 1.0)))


def to_degrees(place: Place) -> tuple[float, float]:
    """Longitude and latitude of a place, with the radii of curvature of the WGS 84 ellipsoid.

    Source: any textbook of geodesy: M = a(1 - e2)/w^3, N = a/w, w = sqrt(1 - e2 sin2(lat)).
    """
    semi_major_m, eccentricity2 = 6378137.0, 0.00669437999014
    lat = math.radians(CORNER_LAT)
    w = math.sqrt(1 - eccentricity2 * math.sin(lat) ** 2)
    north_radius, east_radius = semi_major_m * (1 - eccentricity2) / w**3, semi_major_m / w
    lon_deg = CORNER_LON + math.degrees(place[0] / (east_radius * math.cos(lat)))
    return lon_deg, CORNER_LAT + math.degrees(place[1] / north_radius)


def _degrees(places: Iterable[Place]) -> list[list[float]]:
    return [[round(value, 7) for value in to_degrees(place)] for place in places]


def _line(properties: dict[str, str], places: Sequence[Place]) -> Feature:
    geometry = {"type": "LineString", "coordinates": _degrees(places)}
    return {"type": "Feature", "properties": properties, "geometry": geometry}


def _area(
    properties: dict[str, str], outer: Sequence[Place], hole: Sequence[Place] = ()
) -> Feature:
    # RFC 7946: the outer ring runs counter-clockwise, a hole clockwise, and both are closed.
    rings = [list(_counter_clockwise(outer)), list(_counter_clockwise(hole))[::-1]]
    coordinates = [_degrees([*ring, ring[0]]) for ring in rings if ring]
    geometry = {"type": "Polygon", "coordinates": coordinates}
    return {"type": "Feature", "properties": properties, "geometry": geometry}


def _counter_clockwise(ring: Sequence[Place]) -> list[Place]:
    closed = [*ring, *ring[:1]]
    twice_area = sum(a[0] * b[1] - b[0] * a[1] for a, b in pairwise(closed))
    return list(ring) if twice_area >= 0 else list(ring)[::-1]


def stands() -> list[Feature]:
    """The outlines of the two stands that were counted completely, and of the one with plots."""
    outlines = {
        GROVE_NAME: grove_outline(),
        PLANTATION_NAME: plantation_outline(),
        WOOD_NAME: wood_outline(),
    }
    return [_area({"stand": name}, outline) for name, outline in outlines.items()]


def backdrop() -> list[Feature]:
    """What lies under the trees on the map, from the bottom up."""
    lane, field = oval(TRACK_CENTRE, 122, 72), oval(TRACK_CENTRE, 108, 58)
    grounds = [
        _area({"kind": "other", "name": "Running track"}, lane, field),
        *(_area({"kind": "other", "name": name}, ring) for name, ring in GROUNDS.items()),
    ]
    water = [
        _area({"kind": "water", "name": "Brook"}, ribbon(_bent(BROOK_ABOVE), 3.6)),
        _area({"kind": "water", "name": "Brook"}, ribbon(_bent(BROOK_BELOW), 4.4)),
        _area({"kind": "water", "name": "Pond"}, smooth(POND_CORNERS, closed=True)),
    ]
    paths = [_line({"kind": "path", "name": name}, _bent(line)) for name, line in PATHS.items()]
    buildings = [
        _area({"kind": "building", "name": name}, ring) for name, ring in BUILDINGS.items()
    ]
    return [*grounds, *water, *paths, *buildings]
