"""Dates in cells: ISO, names of months, and 3/5/2024 where the column shows which is the day."""

import datetime
import re
from collections.abc import Iterable

from mapper.load.text import plain

AMBIGUOUS_DATE = "ambiguous_date"
NOT_A_DATE = "not_a_date"

TIME = r"(?:(?:t| )\d{1,2}:\d{2}.*)?"
YEAR_FIRST = re.compile(rf"(\d{{4}})[-/.](\d{{1,2}})[-/.](\d{{1,2}}){TIME}")
COMPACT = re.compile(r"(\d{4})(\d{2})(\d{2})")
YEAR_LAST = re.compile(rf"(\d{{1,2}})[-/. ]+(\d{{1,2}})[-/. ]+(\d{{4}}){TIME}")
DAY = r"(\d{1,2})(?:st|nd|rd|th)?"
MONTH = r"([a-z]{3,9})"
DAY_MONTH_NAME = re.compile(rf"{DAY}[-/. ]*{MONTH}[-/., ]*(\d{{4}}){TIME}")
MONTH_NAME_DAY = re.compile(rf"{MONTH}[-/. ]*{DAY}[-/., ]+(\d{{4}}){TIME}")
SHORT_YEAR = re.compile(rf"\d{{1,2}}[-/. ]+(?:\d{{1,2}}|[a-z]{{3,9}})[-/., ]+\d{{2}}{TIME}")
MONTHS = (
    "january", "february", "march", "april", "may", "june",
    "july", "august", "september", "october", "november", "december",
)  # fmt: skip
MOST_MONTHS = 12

# What a heading may say of the order, as in "Date (dd/mm/yyyy)".
DATE_ORDERS = {"ddmmyyyy": "d/m/y", "mmddyyyy": "m/d/y", "yyyymmdd": "y-m-d"}
ISO_PLEASE = "Write year-month-day, such as 2024-05-03."


def read_dates(texts: Iterable[str], order: str) -> list[datetime.date | tuple[str, str]]:
    """A date for each text of one column, or the rule it breaks and what to do.

    `order` is what the heading says (one of DATE_ORDERS or ""). Without it the whole column is
    asked: one day above 12 shows the order of day and month for all.
    """
    written = list(texts)
    seen = [plain(text).casefold() for text in written]
    day_first = {"d/m/y": True, "m/d/y": False}.get(order, _day_first(seen))
    return [_read(text, form, day_first) for text, form in zip(written, seen, strict=True)]


def _day_first(seen: list[str]) -> bool | None:
    """Whether the day comes before the month; None where nothing or everything speaks for it."""
    found = [match for match in map(YEAR_LAST.fullmatch, seen) if match]
    day_first = any(int(match[1]) > MOST_MONTHS for match in found)
    month_first = any(int(match[2]) > MOST_MONTHS for match in found)
    return None if day_first == month_first else day_first


def _read(text: str, seen: str, day_first: bool | None) -> datetime.date | tuple[str, str]:
    year_first = YEAR_FIRST.fullmatch(seen) or COMPACT.fullmatch(seen)
    if year_first:
        return _date(text, int(year_first[1]), int(year_first[2]), int(year_first[3]))
    if SHORT_YEAR.fullmatch(seen):
        return AMBIGUOUS_DATE, f"'{text}' has a year of two digits. {ISO_PLEASE}"
    named = DAY_MONTH_NAME.fullmatch(seen)
    if named:
        return _date(text, int(named[3]), _month(named[2]), int(named[1]))
    named = MONTH_NAME_DAY.fullmatch(seen)
    if named:
        return _date(text, int(named[3]), _month(named[1]), int(named[2]))
    local = YEAR_LAST.fullmatch(seen)
    if local:
        return _local(text, (int(local[1]), int(local[2]), int(local[3])), day_first)
    return NOT_A_DATE, f"'{text}' is not a date. {ISO_PLEASE}"


def _local(
    text: str, parts: tuple[int, int, int], day_first: bool | None
) -> datetime.date | tuple[str, str]:
    first, second, year = parts
    if first > MOST_MONTHS or second > MOST_MONTHS or first == second:
        day_first = first > MOST_MONTHS
    if day_first is None:
        reason = f"'{text}' may be day and month or month and day. {ISO_PLEASE}"
        return AMBIGUOUS_DATE, reason
    day, month = (first, second) if day_first else (second, first)
    return _date(text, year, month, day)


def _date(text: str, year: int, month: int, day: int) -> datetime.date | tuple[str, str]:
    try:
        return datetime.date(year, month, day)
    except ValueError:
        return NOT_A_DATE, f"'{text}' is not a day of the calendar. {ISO_PLEASE}"


def _month(name: str) -> int:
    """The number of a month by its name or the first letters of it, three or more; 0 if none."""
    known = (number for number, month in enumerate(MONTHS, start=1) if month.startswith(name))
    return next(known, 0)
