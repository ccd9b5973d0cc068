"""The records as they are published: white-listed columns, what people wrote without contacts."""

from collections.abc import Mapping

import numpy as np
import pandas as pd

from mapper.errors import InputError
from mapper.load.contacts import masked, tells_place, without_names_in, without_places_in
from mapper.load.membership import among
from mapper.load.names import stem_values, value_name
from mapper.load.observers import people_in, split_names
from mapper.load.records import Records
from mapper.reference import rows
from mapper.summarise.observers import published_observers
from mapper.summarise.places import published_places
from mapper.survey import Survey

NAMES_OF_PEOPLE = ("observer", "identified_by", "photo_credit")
# A tree's own place, in other words.
OF_ITS_PLACE = {value_name(name) for name in ("x", "y", "crs", "plot", "edge_double")}
# From one tree to another: with these the place of either could be worked out.
OFFSETS = {
    value_name(name)
    for name in (
        "from_point", "bearing", "bearing_from", "distance", "distance_kind", "slope",
        "distance_to", "from_point_2", "distance_2", "side",
    )
}  # fmt: skip


def public_records(
    records: Records, values: pd.DataFrame, trees: pd.DataFrame, survey: Survey,
    codes: Mapping[str, str],
) -> pd.DataFrame:  # fmt: skip
    """Each record of a published tree as it was read.

    `values` are all records, with `asked`, the privacy of their tree; `trees` those that are shown.
    """
    told = _told(values[among(values["tree_key"], trees["tree_key"])], values, survey)
    shown = published_observers(values, survey, codes)
    told = told.assign(observer=shown.reindex(told.index))
    written = _Written(survey, people_in(_names(values)), _exact(told, survey), shown)
    columns = _columns_told(values, survey)
    if "note" in columns:
        told = told.assign(note=written.published(told["note"].fillna("").astype(str)))
    own = records.cells[own_columns(records, survey)].reindex(told.index)
    own = own.apply(lambda cells: written.published(cells, str(cells.name)))
    own = own.add_suffix(" (handed in)").rename(columns=lambda name: _free(name, told))
    table = told[["file", "row", *columns]].join(own)
    exact = bool(_exact(told, survey).all())
    return table.sort_values(["file", "row"] if exact else ["tree"], kind="stable").reset_index(
        drop=True
    )


def own_columns(records: Records, survey: Survey) -> list[str]:
    """Columns of the records' own that the survey names for publishing, each once."""
    known = {row["name"]: row["private"] for row in rows("columns")}
    own = [str(name) for name in records.cells if str(name) not in known]
    for name in survey.publish.columns:
        if known.get(name) == "yes":
            raise InputError(
                f"survey.toml: publish.columns names '{name}', which is never published so. "
                "Notes are published with notes = true, observers with observers = "
                '"codes" or "names".'
            )
        if name not in known and name not in own:
            shown = ", ".join(own) or "none"
            raise InputError(
                f"survey.toml: publish.columns names '{name}', a column that no record file has. "
                f"Columns that can be named: {shown}."
            )
    return [name for name in dict.fromkeys(survey.publish.columns) if name in own]


class _Written:
    """How what people wrote is published, in a note or in a column of the survey's own."""

    def __init__(
        self, survey: Survey, people: list[str], exact: "pd.Series[bool]", shown: "pd.Series[str]"
    ) -> None:
        named = {name for cell in shown.unique() for name in split_names(cell)}
        may_be_named = named if survey.publish.observers == "names" else set()
        self.unnamed = [name for name in people if name not in may_be_named]
        self.exact = exact

    def published(self, cells: "pd.Series[str]", heading: str = "") -> "pd.Series[str]":
        """The cells without contacts and names; places only of trees that are shown exactly."""
        clean = masked(without_names_in(cells, self.unnamed))
        if heading and tells_place(heading, cells):
            return clean.where(self.exact, "")
        return clean.where(self.exact, masked(without_names_in(without_places_in(cells),
                                                               self.unnamed)))  # fmt: skip


def _told(kept: pd.DataFrame, values: pd.DataFrame, survey: Survey) -> pd.DataFrame:
    """The records with places, stands, dates and rows as the survey and each tree allow."""
    positions = survey.publish.positions
    placed = published_places(kept.assign(privacy=kept["asked"]), positions)
    exact = _exact(kept, survey)
    device = kept["position_accuracy_m"].where(exact, placed["position_accuracy_m"])
    # Rows tell the order of the walk, and with it the places.
    told = placed.assign(
        privacy=kept["privacy"],
        species=kept["species_name"],
        tree=kept["tree_key"],
        stand=kept["stand"].where(exact | (kept["stand_from"] != "outline"), ""),
        date=published_dates(kept["date"], survey),
        position_accuracy_m=device,
        row=kept["row"].astype("Int64").where(exact),
    )
    # A tree that hangs on a hidden one by tape and compass would tell where that one stands.
    all_exact = exact & bool(_exact(values, survey).all())
    own = {name: _blank_unless(told[name], exact) for name in OF_ITS_PLACE & set(told)}
    offsets = {name: _blank_unless(told[name], all_exact) for name in OFFSETS & set(told)}
    return told.assign(**own, **offsets)


def _exact(values: pd.DataFrame, survey: Survey) -> "pd.Series[bool]":
    return (values["asked"] == "exact") & (survey.publish.positions == "exact")


DATE_FORMATS = {"day": "%Y-%m-%d", "month": "%Y-%m", "year": "%Y"}


def published_dates(dates: "pd.Series[pd.Timestamp]", survey: Survey) -> "pd.Series[str]":
    """Days as texts, no finer than the survey publishes them."""
    return dates.dt.strftime(DATE_FORMATS[survey.publish.dates]).fillna("")


def _names(values: pd.DataFrame) -> "list[str]":
    cells = [values[name].fillna("").astype(str) for name in NAMES_OF_PEOPLE if name in values]
    return [str(cell) for column in cells for cell in column.unique()]


def _free(name: str, told: pd.DataFrame) -> str:
    """A leader's own heading as it is, unless a published column has that name."""
    bare = name.removesuffix(" (handed in)")
    return name if bare in told.columns else bare


def _blank_unless(cells: pd.Series, allowed: "pd.Series[bool]") -> pd.Series:
    return cells.where(allowed, "" if pd.api.types.is_string_dtype(cells) else np.nan)


def _columns_told(values: pd.DataFrame, survey: Survey) -> list[str]:
    """Known columns that are not private, as far as this survey uses them."""
    open_ = {"note"} if survey.publish.notes else set()
    open_ |= {"observer"} if survey.publish.observers != "hidden" else set()
    names = [
        value_name(row["name"])
        for row in rows("columns")
        if row["private"] == "no" or row["name"] in open_
    ]
    stems = stem_values(values.columns)
    used = [
        name for name in names if name in values and values[name].replace("", pd.NA).notna().any()
    ]
    return list(dict.fromkeys(["tree", *used, *stems]))
