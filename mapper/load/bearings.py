"""Bearings in cells: `135`, `135°30'`, `S45E`, `N 12° W`, `SE`, `south-east`."""

import re

from mapper.load.angles import read_angle
from mapper.load.reading import NOT_A_NUMBER, Reading, refused
from mapper.load.text import plain

POINTS = (
    "n", "nne", "ne", "ene", "e", "ese", "se", "sse",
    "s", "ssw", "sw", "wsw", "w", "wnw", "nw", "nnw",
)  # fmt: skip
STEP_DEG = 360 / len(POINTS)
WORDS = {"north": "n", "south": "s", "east": "e", "west": "w"}
QUADRANT = re.compile(r"([ns]) ?(\d.*?) ?([ew])")
MOST_IN_A_QUADRANT = 90


def compass_point(text: str) -> float | None:
    """Degrees of a point of the compass in letters or words; None where it is none."""
    letters = re.sub(r"[\s.,-]+", "", text.casefold())
    for word, letter in WORDS.items():
        letters = letters.replace(word, letter)
    return POINTS.index(letters) * STEP_DEG if letters in POINTS else None


def read_bearing(text: str, quantity: str) -> Reading:
    """Degrees clockwise from north, from an angle, a quarter and an angle, or a compass point."""
    seen = plain(text).casefold()
    point = compass_point(seen)
    if point is not None:
        return Reading(point)
    quarter = QUADRANT.fullmatch(seen)
    if quarter is None:
        return read_angle(text, quantity)
    angle = read_angle(quarter[2], quantity)
    if not 0 <= angle.value <= MOST_IN_A_QUADRANT:
        reason = f"'{text}' is not a bearing. In a quarter such as S45E the angle is 0 to 90."
        return refused(NOT_A_NUMBER, reason)
    return Reading(_from_north(quarter[1], quarter[3], angle.value))


def _from_north(end: str, side: str, angle_deg: float) -> float:
    """S28E counts from south towards east: 180 - 28."""
    if end == "n":
        return angle_deg if side == "e" else 360 - angle_deg
    return 180 - angle_deg if side == "e" else 180 + angle_deg
