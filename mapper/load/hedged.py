"""Numbers that come with a doubt: `~80`, `ca. 80 cm`, `80?`, `80 ± 2`, `80-82`, `> 80`."""

import re
from collections.abc import Callable
from functools import cache

from mapper.load.numerals import read_numeral
from mapper.load.reading import (
    A_BOUND,
    A_RANGE,
    APPROXIMATE,
    NOT_A_NUMBER,
    Reading,
    refused,
)
from mapper.load.text import plain, unaccented
from mapper.load.words import NUMBER, any_of

# A range from one size to more than twice of it says too little to take its middle. Ours.
WIDEST_RATIO = 2.0
NUMERAL = r"\d[\d.,]*"
UNIT = r"[^\d\s.,+-][^\d\s+-]*"
WITH_ERROR = re.compile(rf"({NUMERAL}) ?({UNIT})? ?(?:±|\+/-|\+-) ?{NUMERAL} ?({UNIT})?")

Reader = Callable[[str], Reading]


def read_hedged(text: str, read: Reader, ranges: bool = True) -> Reading:
    """What `read` makes of a cell; where that is nothing, of the number behind the doubt.

    An approximate number is read with a note, a narrow range as its middle with a warning, a bound
    (more than 80) not at all.
    """
    plainly = read(text)
    if plainly.severity != "error":
        return plainly
    seen = unaccented(plain(text).casefold())
    if _bound().fullmatch(seen):
        return refused(A_BOUND, _bound_sentence(text))
    about = _without_doubt(seen)
    if about and read(about).severity != "error":
        return _approximate(text, about, read)
    span = _range().fullmatch(seen) if ranges else None
    return _middle(text, span, read) if span else plainly


def _without_doubt(seen: str) -> str:
    """The number and its unit; "" where the cell shows no doubt."""
    error = WITH_ERROR.fullmatch(seen)
    if error:
        return f"{error[1]} {error[2] or error[3] or ''}".strip()
    before, after = _before().fullmatch(seen), _after().fullmatch(seen)
    return before[1] if before else after[1] if after else ""


def _approximate(text: str, about: str, read: Reader) -> Reading:
    reading = read(about)
    if reading.rule:
        return reading  # it has a doubt of its own besides
    reason = f"'{text}' was read as {about}, an estimate: how near it is, nobody knows."
    return reading._replace(rule=APPROXIMATE, reason=reason, severity="note")


def _middle(text: str, span: re.Match[str], read: Reader) -> Reading:
    """Halfway between the two; a unit that stands once is of both."""
    first, last = span["first"] or span["last"] or "", span["last"] or span["first"] or ""
    low, high = read(f"{span['low']} {first}".strip()), read(f"{span['high']} {last}".strip())
    if "error" in (low.severity, high.severity):
        return refused(NOT_A_NUMBER, _one_number(text))
    if not low.value < high.value <= WIDEST_RATIO * low.value:
        return refused(A_RANGE, _one_number(text))
    ends = [numeral.value for numeral in map(read_numeral, span.group("low", "high")) if numeral]
    middle = f"{float(sum(ends) / 2):.10g} {last}".strip() if first == last else ""
    reason = f"'{text}' is a range, read as its middle. Write one number."
    return Reading((low.value + high.value) / 2, low.bare, A_RANGE, reason, "warning", middle)


def _bound_sentence(text: str) -> str:
    return f"'{text}' says only that it is more or less than a number. Write what was measured."


def _one_number(text: str) -> str:
    return f"'{text}' holds two numbers, and no middle can be taken of them. Write one number."


@cache
def _before() -> re.Pattern[str]:
    """~80, ca. 80 cm"""
    return re.compile(rf"(?:{any_of(NUMBER, 'about')})\.? ?([-+]?[\d.,].*)")


@cache
def _after() -> re.Pattern[str]:
    """80?, 80 cm (est.)"""
    words = any_of(NUMBER, "about").replace("|c|", "|")  # 80 c is a unit cut short
    return re.compile(rf"(.*\d.*?) ?(?:\(?\?+\)?|\((?:{words})\.?\)|(?<=[\d ])(?:{words})\.?)")


@cache
def _bound() -> re.Pattern[str]:
    """> 80, more than 2 m, 80+"""
    words = f"{any_of(NUMBER, 'more')}|{any_of(NUMBER, 'less')}"
    return re.compile(rf"(?:{words})\.? ?[\d.,].*|{NUMERAL} ?(?:{UNIT})? ?\+")


@cache
def _range() -> re.Pattern[str]:
    """80-82 cm, 2 m to 3 m"""
    between = any_of(NUMBER, "to")
    return re.compile(
        rf"(?P<low>{NUMERAL}?) ?(?P<first>{UNIT}?)? ?(?:{between}) ?"
        rf"(?P<high>{NUMERAL}) ?(?P<last>{UNIT})?"
    )
