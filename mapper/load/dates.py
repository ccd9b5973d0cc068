"""Dates in cells: ISO, names of months, and 3/5/2024 where the column shows which is the day."""

import datetime
import re
from collections.abc import Iterable
from functools import cache
from typing import NamedTuple

from mapper.load.text import plain, unaccented
from mapper.load.words import MONTH, WEEKDAY, meanings

AMBIGUOUS_DATE = "ambiguous_date"
NOT_A_DATE = "not_a_date"
DAY_NUMBER = "day_number"

TIME = r"(?:(?:t|,? )\d{1,2}[:h]\d{2}.*)?"
YEAR_FIRST = re.compile(rf"(\d{{4}})[-/.](\d{{1,2}})[-/.](\d{{1,2}}){TIME}")
COMPACT = re.compile(r"(\d{4})(\d{2})(\d{2})")
DAY = r"(\d{1,2})(?:st|nd|rd|th|er|°)?"
NAME = r"([a-z]{3,10})"
BEFORE = r"(?:([a-z]{2,10})[., ]+)??(?:le |el |den )?"  # a weekday, an article
YEAR = r"('?\d{2}|\d{4})"
YEAR_LAST = re.compile(rf"(\d{{1,2}})[-/. ]+(\d{{1,2}})[-/. ]+{YEAR}{TIME}")
DAY_MONTH_NAME = re.compile(rf"{BEFORE}{DAY}[-/. ]*(?:de )?{NAME}[-/., ]*(?:del? )?{YEAR}{TIME}")
MONTH_NAME_DAY = re.compile(rf"{BEFORE}{NAME}[-/. ]*{DAY}[-/., ]+{YEAR}{TIME}")
YEAR_MONTH_NAME = re.compile(rf"(\d{{4}})[-/. ,]+{NAME}[-/. ]+{DAY}{TIME}")
NO_DAY = re.compile(rf"\d{{4}}|\d{{4}}[-/.]\d{{1,2}}|\d{{1,2}}[-/.]\d{{4}}|{NAME}[-/., ]+\d{{4}}")
SERIAL = re.compile(r"(\d{5})(?:[.,]\d+)?")
MOST_MONTHS = 12
YEAR_DIGITS = 4
THIS_CENTURY = 2000
# Spreadsheets count days from here (1900 is no leap year; they think it is). Between 1954 and 2119
# a number of five digits is a day and hardly a size that slipped into the column.
SERIAL_START = datetime.date(1899, 12, 30)
FIRST_SERIAL, LAST_SERIAL = 20_000, 80_000
EARLY_EPOCH_DAYS = 1462  # some workbooks count from 1904

# What a heading may say of the order, as in "Date (dd/mm/yyyy)".
DATE_ORDERS = {
    **dict.fromkeys(("ddmmyyyy", "dmy", "dmyyyy", "ddmmaaaa", "jjmmaaaa", "ttmmjjjj"), "d/m/y"),
    **dict.fromkeys(("mmddyyyy", "mdy", "mdyyyy", "mmddaaaa"), "m/d/y"),
    **dict.fromkeys(("yyyymmdd", "ymd", "aaaammdd", "aaaammjj", "jjjjmmtt"), "y-m-d"),
}
ISO_PLEASE = "Write year-month-day, such as 2024-05-03."
DAY_FIRST = {"d/m/y": True, "m/d/y": False}


class Doubt(NamedTuple):
    """A date that was not read, or (with a day) read in a way that the leader must know."""

    rule: str
    reason: str
    day: datetime.date | None = None
    proposed: str = ""


Answer = datetime.date | Doubt


def column_order(texts: Iterable[str]) -> str:
    """d/m/y or m/d/y, as one day above 12 shows it for a whole column; "" where none or both do."""
    seen = [unaccented(plain(text).casefold()) for text in texts]
    # Of two-digit numbers the first may be the year: 24-05-03 shows nothing.
    found = [
        match for match in map(YEAR_LAST.fullmatch, seen) if match and len(match[3]) == YEAR_DIGITS
    ]
    day_first = any(int(match[1]) > MOST_MONTHS for match in found)
    month_first = any(int(match[2]) > MOST_MONTHS for match in found)
    return "" if day_first == month_first else "d/m/y" if day_first else "m/d/y"


def read_dates(texts: Iterable[str], order: str) -> list[Answer]:
    """A date for each text of one column, or what is doubtful about it and what to do.

    `order` is one of the values of DATE_ORDERS or "": what the heading says, or the whole column.
    """
    return [_read(text, unaccented(plain(text).casefold()), DAY_FIRST.get(order)) for text in texts]


def _read(text: str, seen: str, day_first: bool | None) -> Answer:
    year_first = YEAR_FIRST.fullmatch(seen) or COMPACT.fullmatch(seen)
    if year_first:
        return _date(text, year_first[1], int(year_first[2]), int(year_first[3]))
    serial = SERIAL.fullmatch(seen)
    if serial and FIRST_SERIAL <= int(serial[1]) < LAST_SERIAL:
        return _from_day_number(text, int(serial[1]))
    local = YEAR_LAST.fullmatch(seen)
    if local:
        return _local(text, int(local[1]), int(local[2]), local[3], day_first)
    return _named(text, seen)


def _named(text: str, seen: str) -> Answer:
    """A date whose month is a word."""
    year_first = YEAR_MONTH_NAME.fullmatch(seen)
    if year_first:
        return _date(text, year_first[1], _month(year_first[2]), int(year_first[3]))
    day_first = DAY_MONTH_NAME.fullmatch(seen)
    if day_first and _is_weekday(day_first[1]):
        return _date(text, day_first[4], _month(day_first[3]), int(day_first[2]))
    month_first = MONTH_NAME_DAY.fullmatch(seen)
    if month_first and _is_weekday(month_first[1]):
        return _date(text, month_first[4], _month(month_first[2]), int(month_first[3]))
    what = "names no day" if NO_DAY.fullmatch(seen) else "is not a date"
    return Doubt(NOT_A_DATE, f"'{text}' {what}. {ISO_PLEASE}")


def _local(text: str, first: int, second: int, year: str, day_first: bool | None) -> Answer:
    """A date of numbers, the year last."""
    if first > MOST_MONTHS or second > MOST_MONTHS or first == second:
        day_first = first > MOST_MONTHS
    if day_first is None and len(year) < YEAR_DIGITS:
        return Doubt(AMBIGUOUS_DATE, _two_digits(text))
    if day_first is None:
        reason = (
            f"'{text}' may be day and month or month and day, and its column does not tell. "
            f"Write the order in the heading, as in 'date (dd/mm/yyyy)'. Or: {ISO_PLEASE}"
        )
        return Doubt(AMBIGUOUS_DATE, reason)
    day, month = (first, second) if day_first else (second, first)
    return _date(text, year, month, day)


def _date(text: str, year: str, month: int, day: int) -> Answer:
    short = len(year) < YEAR_DIGITS
    number = int(year.lstrip("'")) + (THIS_CENTURY if short else 0)
    try:
        found = datetime.date(number, month, day)
    except ValueError:
        return Doubt(NOT_A_DATE, f"'{text}' is not a day of the calendar. {ISO_PLEASE}")
    if not short:
        return found
    return Doubt(AMBIGUOUS_DATE, _two_digits(text), proposed=found.isoformat())


def _two_digits(text: str) -> str:
    return f"'{text}' has a year of two digits. {ISO_PLEASE}"


def _from_day_number(text: str, days: int) -> Doubt:
    day = SERIAL_START + datetime.timedelta(days)
    later = day + datetime.timedelta(EARLY_EPOCH_DAYS)
    reason = (
        f"'{text}' is a spreadsheet's number of a day, read as {day}. "
        f"In a workbook that counts from 1904 it would be {later}."
    )
    return Doubt(DAY_NUMBER, reason, day, day.isoformat())


def _month(name: str) -> int:
    """The number of a month by its name or the first letters of it, three or more; 0 if none."""
    return _beginnings().get(name, 0)


@cache
def _beginnings() -> dict[str, int]:
    """Month by each beginning of its names; jui, of juin and juillet, is of none."""
    found: dict[str, set[int]] = {}
    for name, number in meanings(MONTH).items():
        for letters in range(3, len(name) + 1):
            found.setdefault(name[:letters], set()).add(int(number))
    return {name: numbers.pop() for name, numbers in found.items() if len(numbers) == 1}


def _is_weekday(name: str | None) -> bool:
    """Whether what stands before a date is nothing, or a day of the week or its beginning."""
    return not name or any(day.startswith(name) for day in meanings(WEEKDAY))
