"""Angles, latitudes and longitudes in cells: `38.5`, `38,5°`, `42° 56' 31.2" N`, `42 56 31`."""

import re
from fractions import Fraction

from mapper import metrics
from mapper.load.columns import units_of
from mapper.load.numerals import Numeral, read_numeral
from mapper.load.quantities import unknown_unit
from mapper.load.reading import NOT_A_NUMBER, UNKNOWN_UNIT, Reading, refused
from mapper.load.text import plain

MINUTES = SECONDS = 60  # to a degree, to a minute

SIDES = {"latitude": "ns", "longitude": "ew", "angle": "", "bearing": ""}
EXAMPLES = {"latitude": "42.9489", "longitude": "-84.6014", "angle": "38.5", "bearing": "135"}
NAMES = {"angle": "an angle", "bearing": "a bearing"}
NUMBER = r"\d[\d.,]*|[.,]\d+"
PERCENT = re.compile(rf"(?P<sign>[+-]?) ?(?P<rise>{NUMBER}) ?(?:%|per ?cent|pct)")
UNIT = r"°|[^\d\s°'\"nsew.,+-][^\d\s]*"
SEXAGESIMAL = re.compile(
    rf"(?P<before>[nsew]?) ?(?P<sign>[+-]?) ?(?P<degrees>{NUMBER}) ?(?P<unit>{UNIT})?"
    rf"(?: ?(?P<minutes>{NUMBER}) ?(?P<minute_mark>'|min)?"
    rf"(?: ?(?P<seconds>{NUMBER}) ?(?:\"|sec)?)?)?"
    r" ?(?P<after>north|south|east|west|[nsew]?)"
)
COLONS = re.compile(r"(?<=\d) ?: ?(?=\d)")  # 42:56:31


def read_angle(text: str, quantity: str) -> Reading:
    """Degrees from a plain number, or from degrees, minutes and seconds with their marks."""
    seen = plain(text).casefold()
    rise = PERCENT.fullmatch(seen) if quantity == "angle" else None
    if rise:
        return _from_percent(text, rise)
    found = SEXAGESIMAL.fullmatch(COLONS.sub(" ", seen))
    if found is None:
        return _unreadable(text, seen, quantity)
    units = units_of("angle")
    unit = (found["unit"] or "").rstrip(".")
    if unit and unit not in units:
        return refused(UNKNOWN_UNIT, unknown_unit(text, unit, units))
    degrees = _degrees(found)
    side = (found["before"] + found["after"][:1]).strip()
    if degrees is None or not _side_fits(side, found["sign"], quantity):
        return refused(NOT_A_NUMBER, _not_an_angle(text, quantity))
    # Two numbers without marks may be two scales of one instrument, or a place's two coordinates.
    marked = found["unit"] or found["minute_mark"] or side or SIDES[quantity]
    if found["minutes"] and not marked:
        return refused(NOT_A_NUMBER, _not_an_angle(text, quantity))
    negative = found["sign"] == "-" or side in ("s", "w")
    return Reading(float(-degrees if negative else degrees), bare=not unit)


def _from_percent(text: str, rise: re.Match[str]) -> Reading:
    """Degrees from a slope in per cent."""
    numeral = read_numeral(rise["rise"])
    if numeral is None:
        return refused(NOT_A_NUMBER, _not_an_angle(text, "angle"))
    percent = float(-numeral.value if rise["sign"] == "-" else numeral.value)
    return Reading(float(metrics.elevation_from_percent(percent)))


def _degrees(found: re.Match[str]) -> Fraction | None:
    """The parts added up; None where one is no number, or too large for its place.

    Only the last part may have decimals: 42.9 84.6 is not degrees and minutes but two places.
    """
    texts = [found[name] for name in ("degrees", "minutes", "seconds") if found[name]]
    read = [read_numeral(text) for text in texts]
    parts = [part.value for part in read if isinstance(part, Numeral)]
    whole = all(text.isdecimal() for text in texts[:-1])
    parts += [Fraction(0)] * (3 - len(texts))
    if len(parts) < 3 or not whole or parts[1] >= MINUTES or parts[2] >= SECONDS:
        return None
    return parts[0] + parts[1] / MINUTES + parts[2] / (MINUTES * SECONDS)


def _side_fits(side: str, sign: str, quantity: str) -> bool:
    """At most one side, one that the quantity has, and not a sign besides."""
    return not side or (len(side) == 1 and side in SIDES[quantity] and not sign)


def _unreadable(text: str, seen: str, quantity: str) -> Reading:
    number_and_word = re.fullmatch(rf"[+-]?(?:{NUMBER}) ?(?P<unit>[^\d\s.,]+)", seen)
    if number_and_word:
        return refused(UNKNOWN_UNIT, unknown_unit(text, number_and_word["unit"], units_of("angle")))
    return refused(NOT_A_NUMBER, _not_an_angle(text, quantity))


def _not_an_angle(text: str, quantity: str) -> str:
    name = NAMES.get(quantity, f"a {quantity}")
    return f"'{text}' is not {name}. Write it in degrees, such as {EXAMPLES[quantity]}."
