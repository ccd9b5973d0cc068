"""Texts of record cells in a workbook of ours: nothing in them runs, and they compare."""

import math
import re

LONGEST_CELL = 30_000  # a spreadsheet holds 32,767 letters
FORMULA_STARTS = ("=", "+", "-", "@")
GUARD = "'"
# XML 1.0, section 2.2: no other characters can be stored.
NOT_STORED = re.compile("[^\t\n\r -\ud7ff\ue000-\ufffd\U00010000-\U0010ffff]")


def as_shown(text: str) -> str:
    """A text as a workbook can hold it: no formula, no sign that cannot be stored."""
    lines = text.replace("\r\n", "\n").replace("\r", "\n").strip()
    stored = NOT_STORED.sub("\ufffd", lines)[:LONGEST_CELL]
    runs = stored.startswith(FORMULA_STARTS) and _number(stored) is None
    return GUARD + stored if runs else stored


def without_guard(text: str) -> str:
    """The text behind the sign that keeps a spreadsheet from running it."""
    return text[1:] if text.startswith(GUARD) and text[1:2] in FORMULA_STARTS else text


def same_text(one: str, other: str) -> bool:
    """Whether two shown texts are one cell: some spreadsheets save the text 157.0 as 157."""
    numbers = _number(one), _number(other)
    return one == other or (numbers[0] is not None and numbers[0] == numbers[1])


def _number(text: str) -> float | None:
    try:
        number = float(text.replace(",", "."))
    except ValueError:
        return None
    return number if math.isfinite(number) else None
