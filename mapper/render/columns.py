"""What the columns of the open data mean: their unit, label and sentence."""

from dataclasses import dataclass
from functools import cache

import pandas as pd

from mapper.load.columns import known_columns
from mapper.load.names import is_stem
from mapper.reference import rows

OWN = "A column of the survey's own, as it was handed in."
RECORD = {
    "file": "Number of the record file",
    "row": "Row of the record file",
}
# A stand's estimate carries its interval and its uncertainty in columns of their own.
ENDINGS = {
    "_low": ("from", "Lower end of the range that holds 19 times in 20"),
    "_high": ("to", "Upper end of the range that holds 19 times in 20"),
    "_se_sampling": ("sampling error", "Standard uncertainty from choosing some trees of many"),
    "_se_measurement": ("measurement error", "Standard uncertainty from measuring"),
}


@dataclass(frozen=True)
class Column:
    """One column of a download."""

    name: str
    unit: str
    label: str
    meaning: str


def columns_of_table(table_name: str, table: pd.DataFrame) -> tuple[Column, ...]:
    """The columns of one published table, each with what is known of it."""
    return tuple(_column(table_name, str(name)) for name in table.columns)


def _column(table_name: str, name: str) -> Column:
    known = _known()
    places = [(table_name, name), ("record", name)] if table_name == "observations" else []
    for place in [*places, (table_name, name), ("trees", name)]:
        if place in known:
            return known[place]
    for ending, (label, meaning) in ENDINGS.items():
        base = known.get((table_name, name.removesuffix(ending)))
        if name.endswith(ending) and base:
            return Column(name, base.unit, f"{base.label}, {label}", f"{meaning}: {base.meaning}")
    if is_stem(name.removesuffix("_cm")):
        return Column(name, "cm", name.removesuffix("_cm").replace("_", " "), "Girth of one stem")
    return Column(name, "", "", OWN)


@cache
def _known() -> dict[tuple[str, str], Column]:
    published = {
        (row["table"], row["column"]): Column(
            row["column"], row["unit"], row["label"], row["meaning"]
        )
        for row in rows("published")
    }
    names = {name: column.value_name for name, column in known_columns().items()}
    records = {
        ("record", names[row["name"]]): Column(
            names[row["name"]], row["unit"], row["label"], row["meaning"]
        )
        for row in rows("columns")
    }
    own = {("record", name): Column(name, "", name, text) for name, text in RECORD.items()}
    return published | records | own
