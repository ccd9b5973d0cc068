"""A file of plots or strata as a table: the headings of records, and those that only it has."""

from dataclasses import dataclass
from functools import cache
from pathlib import Path

import numpy as np
import pandas as pd

from mapper.errors import InputError
from mapper.load.columns import Column, heading_key, units_for
from mapper.load.convert import convert
from mapper.load.heading import Heading
from mapper.load.headings import name_and_unit
from mapper.load.reader import load_records
from mapper.load.records import Records
from mapper.reference import rows
from mapper.survey import Survey

OF_RECORDS = ["plot", "stand", "stratum", "lat", "lon", "slope_deg", "length_m", "date"]


@dataclass(frozen=True)
class PlotFile:
    """A file of plots as read, a row a plot and nested size."""

    file: Path
    values: pd.DataFrame
    unread: tuple[str, ...] = ()  # headings that mean nothing here


def read_plot_file(survey: Survey, name: str) -> PlotFile:
    """A file that survey.toml names, in the survey folder.

    Raises
    ------
    InputError
        When it is missing or a cell cannot be read.
    """
    file = survey.folder / name
    if not file.is_file():
        raise InputError(
            f"{survey.folder / 'survey.toml'}: a stand names the file '{name}', which is not "
            "there. Put it into the survey folder, or correct the name."
        )
    read = load_records([file], survey.units, survey.records.crs)
    values = read.values[[*OF_RECORDS, "row"]].assign(
        **{column.value_name: np.nan for column in plot_columns().values()}
    )
    values["slope_corrected"] = ""
    for heading in read.cells:
        found = _column_of(str(heading))
        if found:
            column, unit = found
            cells = _without_powers(read.cells[heading])
            converted = convert(cells, column, Heading(str(heading), column, unit), survey.units)
            _refuse_unread(file, read.values["row"], converted.problems, str(heading))
            values[column.value_name] = converted.values
    return PlotFile(file, values, _unread(read))


def _unread(read: Records) -> tuple[str, ...]:
    """Headings that neither a record nor a plot has."""
    told = read.columns
    unknown = told.loc[told["name"] == "", "heading"].astype(str)
    return tuple(heading for heading in unknown if heading and _column_of(heading) is None)


def _without_powers(cells: "pd.Series[str]") -> "pd.Series[str]":
    """400 m² as 400 sqm: in a cell the 2 of a unit would be read as a number."""
    return cells.str.replace(r"(?<![a-z])(m|ft)\s?[²2]$", r"sq\1", regex=True)


@cache
def plot_columns() -> dict[str, Column]:
    """Headings that only a file of plots has, by name."""
    return {
        row["name"]: Column(
            row["name"], row["kind"], row["quantity"], row["unit"], row["us_unit"],
            tuple(filter(None, row["choices"].split("|"))),
            tuple(filter(None, row["aliases"].split("|"))),
        )
        for row in rows("plot_columns")
    }  # fmt: skip


def _column_of(heading: str) -> tuple[Column, str] | None:
    """The plot's column that a heading means, and the unit that it names."""
    keys = {
        heading_key(alias): column
        for column in plot_columns().values()
        for alias in (column.name, *column.aliases)
    }
    # The name under which the value is published: `area_m2`, whose unit ends in a digit.
    published = {heading_key(column.value_name): column for column in plot_columns().values()}
    if column := published.get(heading_key(heading)):
        return column, column.unit
    for name, unit in name_and_unit(heading):
        column = keys.get(heading_key(name))
        units = units_for(column) if column else {}
        if column and (not unit or unit.casefold() in units):
            return column, units[unit.casefold()].name if unit else ""
    return None


def _refuse_unread(file: Path, row: "pd.Series[int]", problems: pd.DataFrame, heading: str) -> None:
    errors = problems[problems["severity"] == "error"]
    if len(errors):
        record = errors.index[0]
        reason = errors["reason"].iloc[0]
        raise InputError(f"{file}, row {row[record]}, column '{heading}': {reason}")


def plot_key(names: "pd.Series[str]") -> "pd.Series[str]":
    """By this two spellings of a plot's name are the same: case and spaces do not count."""
    # Names repeat: each is tidied once.
    return names.astype(str).map(
        {name: " ".join(str(name).split()).casefold() for name in names.unique()}
    )
