"""Numbers and lengths in cells: `90`, `2 m 30`, `7' 6"`, `81cm`, `2,30 m`, `5 1/2 in`."""

import re
from collections.abc import Mapping
from fractions import Fraction

from mapper.load.columns import Unit
from mapper.load.numerals import NUMERAL, Numeral, read_numeral
from mapper.load.reading import NOT_A_NUMBER, UNKNOWN_UNIT, Reading, doubtful, refused
from mapper.load.text import plain

# The unit that people leave out after the larger one: 2 m 30, 7' 6.
UNSAID_UNITS = {"m": "cm", "ft": "in"}

SIGNED = re.compile(rf"(?P<sign>[+-]?) ?(?P<number>{NUMERAL}) ?(?P<unit>[^\d]*)")
# 5'-6" is five feet six, 2 m - 3 is a range.
AFTER_FEET = r"(?:(?<=')|(?<=ft)|(?<=feet))"
TWO_PARTS = re.compile(
    rf"(?P<first>\d+) ?(?P<larger>[^\d\s.,/+-][^\d\s.,/+-]*)\.?,? ?(?:{AFTER_FEET}-)? ?"
    rf"(?P<second>{NUMERAL}) ?(?P<smaller>[^\d]*)"
)


def read_number(text: str) -> Reading:
    """A pure number such as a tally or a year."""
    found = SIGNED.fullmatch(plain(text).casefold())
    numeral = read_numeral(found["number"]) if found and not found["unit"] else None
    if found is None or numeral is None:
        return refused(NOT_A_NUMBER, f"'{text}' is not a number. Write digits only, such as 12.")
    return _answer(text, numeral, found["sign"], None)


def read_length(text: str, units: Mapping[str, Unit], unit: str) -> Reading:
    """A length in `unit`; without a unit in the cell the number is given back bare."""
    seen = plain(text).casefold()
    parts = TWO_PARTS.fullmatch(seen)
    if parts:
        return _two_parts(text, parts, units, units[unit])
    found = SIGNED.fullmatch(seen)
    numeral = read_numeral(found["number"]) if found else None
    if found is None or numeral is None:
        return refused(NOT_A_NUMBER, _not_a_length(text, unit))
    spelling = _spelling(found["unit"])
    if not spelling:
        return _answer(text, numeral, found["sign"], None)
    if spelling not in units:
        return refused(UNKNOWN_UNIT, unknown_unit(text, spelling, units))
    return _answer(text, numeral, found["sign"], units[spelling].factor / units[unit].factor)


TWO_NUMBERS = re.compile(r"\d[\d.,]*\s*(?:and|&|\+|/)\s*\d", re.IGNORECASE)


def unknown_unit(text: str, spelling: str, units: Mapping[str, Unit]) -> str:
    """The sentence for a unit that is not in the table."""
    if TWO_NUMBERS.search(text):
        return f"'{text}' holds two numbers. Several stems have headings: stem_1, stem_2 and so on."
    names = ", ".join(dict.fromkeys(unit.name for unit in units.values()))
    return f"'{spelling}' in '{text}' is not a unit known here. Use one of: {names}."


def _answer(text: str, numeral: Numeral, sign: str, factor: Fraction | None) -> Reading:
    size = -numeral.value if sign == "-" else numeral.value
    value = float(size if factor is None else size * factor)
    if not numeral.ambiguous:
        return Reading(value, bare=factor is None)
    reason = (
        f"'{text}' was read with a decimal comma. "
        "If it means thousands, write it without the comma."
    )
    return doubtful(value, factor is None, reason)


def _two_parts(text: str, parts: re.Match[str], units: Mapping[str, Unit], wanted: Unit) -> Reading:
    """A whole number of the larger unit and a part in the smaller one."""
    larger, smaller = _spelling(parts["larger"]), _spelling(parts["smaller"])
    for spelling in (larger, smaller):
        if spelling and spelling not in units:
            return refused(UNKNOWN_UNIT, unknown_unit(text, spelling, units))
    unsaid = UNSAID_UNITS.get(units[larger].name, "")
    second, part = read_numeral(parts["second"]), units.get(smaller or unsaid)
    # 1 m 1/2 is a metre and a half, 1 m 0,5 may be anything: only centimetres go unsaid.
    vague = not smaller and unsaid == "cm" and not parts["second"].isdigit()
    if second is None or part is None or vague or not _fits(second, part, units[larger]):
        return refused(NOT_A_NUMBER, _not_a_length(text, wanted.name))
    whole = int(parts["first"]) * units[larger].factor + second.value * part.factor
    value = float(whole / wanted.factor)
    if larger.startswith("m") and not smaller and parts["second"] in set("123456789"):
        return doubtful(value, False, _one_digit(text, parts["second"]))
    return Reading(value)


def _fits(second: Numeral, part: Unit, larger: Unit) -> bool:
    """Whether the smaller part is less than one of the larger unit."""
    return second.value * part.factor < larger.factor


def _one_digit(text: str, digit: str) -> str:
    return f"'{text}' was read with {digit} cm after the metres. Write '0{digit}' or '{digit}0'."


def _not_a_length(text: str, unit: str) -> str:
    return f"'{text}' is not a length. Write one number with its unit, such as 12.5 {unit}."


def _spelling(unit: str) -> str:
    return unit.strip().rstrip(".").strip()
