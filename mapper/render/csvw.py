"""Metadata beside each CSV, in the W3C's vocabulary for tabular data: units, types, meaning."""

import json
from collections.abc import Sequence

import pandas as pd

from mapper.reference import rows
from mapper.reference.licences import licence_of
from mapper.render.columns import Column
from mapper.render.darwin_core import DARWIN_CORE
from mapper.survey import Survey

DATE_TYPES = {"day": "date", "month": "gYearMonth", "year": "gYear"}
TERMS = {
    "lat": "decimalLatitude",
    "lon": "decimalLongitude",
    "position_accuracy_m": "coordinateUncertaintyInMeters",
    "common_name": "vernacularName",
    "date": "eventDate",
    "data_generalizations": "dataGeneralizations",
    "information_withheld": "informationWithheld",
}
KEYS = {"trees": "tree"}


def metadata_text(
    name: str, about: str, columns: Sequence[Column], table: pd.DataFrame, survey: Survey
) -> str:
    """The metadata file of one table."""
    licence = licence_of(survey.publish.licence)
    schema: dict[str, object] = {
        "columns": [
            _column(number, column, _datatype(name, column.name, table[column.name], survey))
            for number, column in enumerate(columns, start=1)
        ]
    }
    if name in KEYS:
        schema["primaryKey"] = KEYS[name]
    described = {
        "@context": ["http://www.w3.org/ns/csvw", {"@language": survey.language}],
        "url": f"{name}.csv",
        "dc:title": f"{survey.title}: {name}",
        "dc:description": about,
        "dc:license": {"@id": licence.link} if licence.link else licence.code,
        "dialect": {"encoding": "utf-8", "header": True, "lineTerminators": ["\n"]},
        "tableSchema": schema,
    }
    return json.dumps(described, ensure_ascii=False, indent=1) + "\n"


def _column(number: int, column: Column, datatype: str) -> dict[str, object]:
    titles = list(dict.fromkeys(filter(None, [column.name, column.label])))
    described: dict[str, object] = {
        "name": column.name if _plain(column.name) else f"own_column_{number}",
        "titles": titles,
        "datatype": datatype,
    }
    if column.meaning:
        described["dc:description"] = column.meaning
    if column.unit:
        described["schema:unitText"] = column.unit
    if column.name in TERMS:
        described["propertyUrl"] = DARWIN_CORE + TERMS[column.name]
    return described


def _plain(name: str) -> bool:
    """Whether a heading may be used in the address of a column as it is."""
    return name.isascii() and name.isidentifier() and not name.startswith("_")


def _datatype(name: str, column: str, cells: pd.Series, survey: Survey) -> str:
    if column == "date":
        return DATE_TYPES[survey.publish.dates]
    known = {(row["table"], row["column"]): row["datatype"] for row in rows("published")}
    if (name, column) in known:
        return known[name, column]
    if pd.api.types.is_bool_dtype(cells):
        return "boolean"
    if pd.api.types.is_integer_dtype(cells):
        return "integer"
    return "number" if pd.api.types.is_numeric_dtype(cells) else "string"
