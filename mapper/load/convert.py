"""The cells of one column → its values, and what could not be read."""

import datetime
import re
from collections.abc import Callable
from dataclasses import dataclass, replace
from functools import partial

import numpy as np
import pandas as pd

from mapper.load.angles import read_angle
from mapper.load.bearings import read_bearing
from mapper.load.cell_arrays import contains, distinct, plain_numbers, spread, tidied
from mapper.load.choices import nearest_choice, read_choice, read_flag, unknown_choice
from mapper.load.columns import Column, units_for
from mapper.load.dates import DAY_NUMBER, Answer, Doubt, column_order, read_dates
from mapper.load.failed_cells import without_failed
from mapper.load.heading import Heading
from mapper.load.hedged import read_hedged
from mapper.load.quantities import read_length, read_number
from mapper.load.reading import AMBIGUOUS_NUMBER, Reading
from mapper.load.records import Remark
from mapper.load.text import is_missing, plain, tidy

# These are numbers with a unit that scales them.
SCALED = ("length", "area", "basal area factor")
FOUND = ["value", "severity", "rule", "reason", "proposed"]
DAY = "datetime64[s]"
# Far below what anyone measures, far above the last digit of a float: 2.3 m is 230 cm.
CONVERTED_DECIMALS = 10
# Of larger ones a float does not hold ten decimals: rounding would add an error.
MOST_ROUNDED = 100_000
# In a column of decimal commas 1.234 may be a little over one or over a thousand.
POINT_OR_GROUP = re.compile(r"[1-9]\d{0,2}\.\d{3}")


@dataclass(frozen=True)
class Converted:
    """One column as read; problems are indexed by record and have the columns FOUND."""

    values: pd.Series
    problems: pd.DataFrame
    remarks: tuple[Remark, ...] = ()
    unit: str = ""
    unit_from: str = ""


def convert(cells: pd.Series, column: Column, heading: Heading, system: str) -> Converted:
    """Values of a column, by its kind. `system` is metric or us."""
    if column.kind == "quantity":
        if column.quantity in SCALED:
            return _length(cells, column, heading, system)
        return _angle(cells, column, heading)
    if column.kind == "number":
        values, _, problems = _numbers(cells, partial(read_hedged, read=read_number, ranges=False))
        origin = "heading" if heading.unit else ""
        return Converted(values, problems, unit=heading.unit, unit_from=origin)
    sound, failed = without_failed(cells)
    read = _in_words(sound, column, heading)
    return replace(read, problems=pd.concat([read.problems, failed])) if len(failed) else read


def _in_words(cells: pd.Series, column: Column, heading: Heading) -> Converted:
    if column.kind == "date":
        return _dates(cells, heading.unit)
    if column.kind in ("choice", "flag"):
        return _words(cells, column)
    return Converted(tidied(cells), _none_found())


def _length(cells: pd.Series, column: Column, heading: Heading, system: str) -> Converted:
    units = units_for(column)
    unit = heading.unit or (column.unit if system == "metric" else column.us_unit)
    read = partial(read_length, units=units, unit=column.unit)
    # 5-6 in feet may be five feet six.
    hedged = partial(read_hedged, read=read, ranges=unit != "ft")
    values, bare, problems = _numbers(cells, hedged)
    ratio = units[unit].factor / units[column.unit].factor
    if ratio != 1:
        scaled = values * float(ratio)
        scaled = scaled.round(CONVERTED_DECIMALS).where(scaled.abs() < MOST_ROUNDED, scaled)
        values = scaled.where(bare, values)
    origin = _unit_from(values, bare, heading)
    assumed = origin == "survey" and column.unit != column.us_unit
    return Converted(
        values,
        pd.concat([problems, _points(cells)]),
        remarks=(_assumed(column, heading, unit),) if assumed else (),
        unit="" if origin == "cell" else unit,
        unit_from=origin,
    )


def _angle(cells: pd.Series, column: Column, heading: Heading) -> Converted:
    read = read_bearing if column.quantity == "bearing" else read_angle
    plainly = partial(read, quantity=column.quantity)
    # A place near a place is no place.
    hedged = partial(read_hedged, read=plainly) if column.quantity == "angle" else plainly
    values, bare, problems = _numbers(cells, hedged)
    unit = heading.unit or "deg"
    return Converted(values, problems, unit=unit, unit_from=_unit_from(values, bare, heading))


def _unit_from(values: pd.Series, bare: "pd.Series[bool]", heading: Heading) -> str:
    """What decides the unit of the numbers that stand without one."""
    if bare.any():
        return "heading" if heading.unit else "survey"
    return "cell" if values.notna().any() else ""


def _assumed(column: Column, heading: Heading, unit: str) -> Remark:
    reason = (
        f"'{heading.text}' names no unit, so bare numbers were read with the unit {unit}. "
        f"Write the unit in the heading, such as '{column.name}_{unit}'."
    )
    with_unit = f"{heading.text} ({unit})"
    return Remark("unit_assumed", "note", reason, column.name, heading.text, with_unit)


def _numbers(
    cells: pd.Series, read: Callable[[str], Reading]
) -> tuple[pd.Series, "pd.Series[bool]", pd.DataFrame]:
    """Values, which of them stood without a unit, and problems. Only odd texts are parsed."""
    values = plain_numbers(cells)
    bare = ~np.isnan(values)
    odd = np.flatnonzero(~bare)
    cells_read, failed = without_failed(cells.iloc[odd])
    codes, texts = distinct(cells_read)
    nothing = Reading(np.nan)
    readings = [nothing if is_missing(plain(text)) else read(text) for text in texts]
    parsed = pd.DataFrame(readings, columns=list(Reading._fields))
    values[odd] = parsed["value"].to_numpy(dtype=float)[codes]
    bare[odd] = parsed["bare"].to_numpy(dtype=bool)[codes]
    broken = np.flatnonzero((parsed["rule"] != "").to_numpy()[codes])
    problems = parsed.take(codes[broken]).assign(value=cells_read.array[broken])[FOUND]
    problems = pd.concat([problems.set_axis(cells_read.index[broken]), failed])
    return pd.Series(values, cells.index), pd.Series(bare, cells.index, dtype=bool), problems


def _points(cells: pd.Series) -> pd.DataFrame:
    """Warnings for 1.234 in a column that also has decimal commas."""
    if not contains(cells, ","):
        return _none_found()
    codes, texts = distinct(cells)
    either = np.array([POINT_OR_GROUP.fullmatch(plain(text)) is not None for text in texts])
    found = cells[either[codes]]
    reason = "was read with a decimal point, though the column has decimal commas. Write only one."
    return pd.DataFrame(
        {
            "value": found,
            "severity": "warning",
            "rule": AMBIGUOUS_NUMBER,
            "reason": "'" + found + "' " + reason,
            "proposed": "",
        }
    )


def _dates(cells: pd.Series, order: str) -> Converted:
    codes, texts = distinct(cells)
    written = [text for text in texts if not is_missing(plain(text))]
    shown = order or column_order(written)
    answers = dict(zip(written, read_dates(written, shown), strict=True))
    days = [_day(answers.get(text)) for text in texts]
    values = pd.Series(np.array(days, dtype=DAY)[codes], index=cells.index)
    broken = {
        text: Reading(
            np.nan,
            rule=answer.rule,
            reason=answer.reason,
            severity="warning" if answer.rule == DAY_NUMBER else "error",
            proposed=answer.proposed,
        )
        for text, answer in answers.items()
        if isinstance(answer, Doubt)
    }
    origin = "heading" if order else "cells" if shown else ""
    return Converted(values, _problems(cells, broken), unit=shown, unit_from=origin)


def _day(answer: Answer | None) -> datetime.date | None:
    return answer.day if isinstance(answer, Doubt) else answer


def _words(cells: pd.Series, column: Column) -> Converted:
    """A choice or a flag: the word in the table's spelling."""
    codes, texts = distinct(cells)
    choices = column.choices or ("yes", "no")
    broken = {}
    words = []
    for text in texts:
        seen = tidy(text)
        flag = not column.choices
        word = read_flag(seen) if flag else read_choice(seen, choices, column.name)
        words.append(word or "")
        if word is None and not is_missing(plain(text)):
            near = "" if flag else nearest_choice(seen, choices, column.name)
            broken[text] = Reading(
                np.nan,
                rule="unknown_choice",
                reason=unknown_choice(seen, choices, near),
                severity="error",
                proposed=near,
            )
    return Converted(spread(words, codes, cells.index), _problems(cells, broken))


def _problems(cells: pd.Series, broken: dict[str, Reading]) -> pd.DataFrame:
    """A problem row for every cell whose text broke a rule."""
    if not broken:
        return _none_found()
    found = cells[cells.isin(list(broken))]
    readings = pd.DataFrame([broken[text] for text in found], columns=list(Reading._fields))
    return readings.set_axis(found.index).assign(value=found)[FOUND]


def _none_found() -> pd.DataFrame:
    return pd.DataFrame(columns=FOUND, dtype=str)
