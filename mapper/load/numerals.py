"""Numerals as people write them: decimal comma, grouped thousands, fractions, powers of ten."""

import re
from fractions import Fraction
from typing import NamedTuple

GROUPED = {mark: re.compile(rf"\d{{1,3}}(?:{re.escape(mark)}\d{{3}})+") for mark in (",", ".", " ")}
DECIMAL = re.compile(r"\d+(?:\.\d*)?|\.\d+")
POWER = re.compile(r"([\d.,]+)e([+-]?\d{1,2})")
FRACTION = re.compile(r"(?:(?P<whole>\d+) )?(?P<above>\d+)/(?P<below>[1-9]\d*)")
# 1,234 may be a little over one or over a thousand.
EITHER = re.compile(r"[1-9]\d{0,2},\d{3}")

# For use inside longer patterns: an unsigned numeral, not followed by more of a numeral.
NUMERAL = (
    r"(?:\d+ \d+/\d+|\d+/\d+|\d{1,3}(?: \d{3})+(?:[.,]\d+)?(?![\d.,])"
    r"|(?:\d[\d.,]*|[.,]\d+)(?:e[+-]?\d{1,2}(?!\d))?)"
)


class Numeral(NamedTuple):
    """The number, and whether the same text could mean another."""

    value: Fraction
    ambiguous: bool


def read_numeral(text: str) -> Numeral | None:
    """An unsigned numeral in plain text; None where it is not one.

    A comma is the decimal sign unless the text has both comma and point; of both, the last is.
    """
    fraction = FRACTION.fullmatch(text)
    if fraction:
        whole = Fraction(fraction["whole"] or 0)
        return Numeral(whole + Fraction(int(fraction["above"]), int(fraction["below"])), False)
    power = POWER.fullmatch(text)
    if power:
        size = read_numeral(power[1])
        return Numeral(size.value * Fraction(10) ** int(power[2]), False) if size else None
    decimal = _with_decimal_point(text)
    if decimal is None or not DECIMAL.fullmatch(decimal):
        return None
    return Numeral(Fraction(decimal.rstrip(".")), bool(EITHER.fullmatch(text)))


def _with_decimal_point(text: str) -> str | None:
    """The numeral with a decimal point and no grouping; None where the grouping is broken."""
    sign = _decimal_sign(text)
    whole, rest = text.rsplit(sign, 1) if sign else (text, "")
    marks = set(whole) & GROUPED.keys()
    if marks:
        mark = marks.pop()
        if marks or not GROUPED[mark].fullmatch(whole):
            return None
        whole = whole.replace(mark, "")
    return f"{whole}.{rest}" if rest else whole


def _decimal_sign(text: str) -> str:
    comma, point = text.count(","), text.count(".")
    if comma and point:
        return max(",.", key=text.rfind)
    if comma == 1:
        return ","
    return "." if point == 1 else ""
