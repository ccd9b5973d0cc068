"""Which cells the findings are about: those whose change could be the answer."""

import pandas as pd

from mapper.check.kept import OF_THE_HEADING
from mapper.load.names import is_known
from mapper.load.records import WHOLE_COLUMN, Records

# Read together: if one looks wrong, the other may be, or both were swapped.
PARTNERS = {"angle_top": "angle_base", "angle_base": "angle_top", "lat": "lon", "lon": "lat"}


def doubtful_cells(findings: pd.DataFrame, records: Records) -> pd.DataFrame:
    """A row for each finding and cell: `target` is its column, or `heading` a whole column's.

    Headings come before the rows below them. A note asks nothing unless it proposes something,
    and what is said of a whole table is no cell.
    """
    asking = findings[_asks(findings)]
    told = _by_cell(_at_headings(asking, records.columns), records.cells)
    told = told[_is_a_cell(told, records.columns)]
    return told.sort_values(["file", "sheet", "row"], kind="stable", na_position="first")


def _asks(findings: pd.DataFrame) -> "pd.Series[bool]":
    serious = findings["severity"].isin(["error", "warning"])
    of_repairs = findings["rule"].str.startswith("repair_")
    return (serious | (findings["proposed_value"] != "")) & ~of_repairs


def _at_headings(findings: pd.DataFrame, columns: pd.DataFrame) -> pd.DataFrame:
    """The findings with `heading` where they are about a whole column, and with its sheet."""
    named = columns[columns["name"] != ""]
    keys = ["file", "sheet", "column"]
    texts = named.rename(columns={"name": "column"}).set_index(keys)["heading"]
    heading = texts.reindex(pd.MultiIndex.from_frame(findings[keys])).set_axis(findings.index)
    asked_there = findings["rule"].isin(OF_THE_HEADING) & heading.notna()
    whole = findings["record"] < 0
    told = findings.assign(
        heading=findings["value"].where(whole, "").mask(asked_there, heading),
        record=findings["record"].mask(asked_there, WHOLE_COLUMN),
        row=findings["row"].mask(asked_there, pd.NA),
    )
    return told.assign(sheet=told["sheet"].mask(whole, _lone_sheets(told, columns)))


def _lone_sheets(told: pd.DataFrame, columns: pd.DataFrame) -> pd.Series:
    """The sheet in which a heading stands, "" where it stands in several."""
    sheets = columns.groupby(["file", "heading"])["sheet"].agg(list)
    lone = sheets.map(lambda names: names[0] if len(names) == 1 else "")
    keys = pd.MultiIndex.from_frame(told[["file", "heading"]])
    return lone.reindex(keys).fillna("").set_axis(told.index)


def _by_cell(told: pd.DataFrame, cells: pd.DataFrame) -> pd.DataFrame:
    """A row for each cell that an answer could change.

    The proposal is for one cell; the finding's own cell and what is read together with it may
    be the wrong one just as well.
    """
    of_cell = told["record"] >= 0
    own = told.assign(target=told["column"].where(of_cell, ""))
    other = own["proposed_column"].where(of_cell & (own["proposed_column"] != ""), own["target"])
    elsewhere = own[other != own["target"]].assign(proposed_value="")
    partners = own.assign(target=own["target"].map(PARTNERS), proposed_value="")
    return pd.concat([own.assign(target=other), elsewhere, partners[_filled(partners, cells)]])


def _filled(told: pd.DataFrame, cells: pd.DataFrame) -> "pd.Series[bool]":
    """Whether the cell of `target` holds anything."""
    filled = pd.Series(False, index=told.index)
    for name in set(PARTNERS) & set(cells):
        of_column = told["target"] == name
        filled[of_column] = (cells[name].reindex(told["record"][of_column]) != "").to_numpy()
    return filled


def _is_a_cell(told: pd.DataFrame, columns: pd.DataFrame) -> "pd.Series[bool]":
    """Cells of records whose column is known, and headings that stand in their file."""
    headings = set(zip(columns["file"], columns["heading"], strict=True))
    keys = zip(told["file"], told["heading"], strict=True)
    heading = pd.Series([key in headings for key in keys], told.index, dtype=bool)
    cell = (told["record"] >= 0) & told["target"].map(is_known).astype(bool)
    return cell | ((told["record"] < 0) & heading)
