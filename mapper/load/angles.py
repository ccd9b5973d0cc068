"""Angles, latitudes and longitudes in cells: `38.5`, `38,5°`, `42° 56' 31.2" N`, `83.99 W`."""

import re
from fractions import Fraction

from mapper import metrics
from mapper.load.columns import units_of
from mapper.load.numerals import Numeral, read_numeral
from mapper.load.quantities import unknown_unit
from mapper.load.reading import NOT_A_NUMBER, UNKNOWN_UNIT, Reading, refused
from mapper.load.text import plain

MINUTES = SECONDS = 60  # to a degree, to a minute

SIDES = {"latitude": "ns", "longitude": "ew", "angle": ""}
EXAMPLES = {"latitude": "42.9489", "longitude": "-84.6014", "angle": "38.5"}
NUMBER = r"\d[\d.,]*|[.,]\d+"
PERCENT = re.compile(rf"(?P<sign>[+-]?) ?(?P<rise>{NUMBER}) ?(?:%|per ?cent|pct)")
UNIT = r"°|[^\d\s°'\"nsew.,+-][^\d\s]*"
SEXAGESIMAL = re.compile(
    rf"(?P<before>[nsew]?) ?(?P<sign>[+-]?) ?(?P<degrees>{NUMBER}) ?(?P<unit>{UNIT})?"
    rf"(?: ?(?P<minutes>{NUMBER}) ?(?P<minute_mark>'|min)?"
    rf"(?: ?(?P<seconds>{NUMBER}) ?(?:\"|sec)?)?)?"
    r" ?(?P<after>north|south|east|west|[nsew]?)"
)


def read_angle(text: str, quantity: str) -> Reading:
    """Degrees from a plain number, or from degrees, minutes and seconds with their marks."""
    seen = plain(text).casefold()
    rise = PERCENT.fullmatch(seen) if quantity == "angle" else None
    if rise:
        return _from_percent(text, rise)
    found = SEXAGESIMAL.fullmatch(seen)
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
    # Two numbers without marks may be two scales of one instrument, except where a side is named.
    if found["minutes"] and not (found["unit"] or found["minute_mark"] or side):
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
    """The parts added up; None where one is no number, or too large for its place."""
    read = [read_numeral(found[name] or "0") for name in ("degrees", "minutes", "seconds")]
    parts = [part.value for part in read if isinstance(part, Numeral)]
    if len(parts) < len(read) or parts[1] >= MINUTES or parts[2] >= SECONDS:
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
    example = EXAMPLES[quantity]
    return f"'{text}' is not {_article(quantity)}. Write it in degrees, such as {example}."


def _article(quantity: str) -> str:
    return f"an {quantity}" if quantity == "angle" else f"a {quantity}"
