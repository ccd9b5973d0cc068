"""Species as written → the name a reader looks up, its common names, and its kind of tree."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mapper.load.records import PROBLEM_COLUMNS
from mapper.load.species_names import genus_names, name_key, taxa
from mapper.load.species_reading import (
    AS_WRITTEN,
    MOST_CANDIDATES,
    NO_NAME,
    UNCLEAR,
    UNKNOWN,
    UNREAD,
    Reading,
    binomial_key,
    read_exactly,
)
from mapper.load.species_spelling import read_nearly
from mapper.load.text import tidy

EMPTY = Reading("", AS_WRITTEN)
NAME_COLUMNS = ["species_name", "common_name", "common_name_es", "leaf_kind"]


@dataclass(frozen=True)
class NamedSpecies:
    """The records with their species named, and what has to be said about the names."""

    values: pd.DataFrame
    problems: pd.DataFrame  # PROBLEM_COLUMNS, one row a spelling


def with_species_names(values: pd.DataFrame) -> pd.DataFrame:
    """The records with species_name, common_name, common_name_es and leaf_kind.

    leaf_kind is broadleaf, conifer or "". A name that could mean several trees, or that is in no
    table, is kept as written.
    """
    return name_species(values).values


def name_species(values: pd.DataFrame) -> NamedSpecies:
    """Read each different spelling once.

    What was read from another name, another spelling or a short form is a note, what could mean
    several trees a warning, what is in no table a note: one a spelling, at its first record.
    """
    codes, spellings = _spellings(values["species"])
    readings = _read_all(spellings)
    first: dict[str, str] = {}  # "silver Birch" and "Silver birch" are one unknown kind
    shown = [first.setdefault(name_key(text), text) for text in spellings]
    table = pd.DataFrame(
        [_names(text, read) for text, read in zip(shown, readings, strict=True)],
        columns=NAME_COLUMNS,
        dtype=str,
    )
    found = table.take(codes).set_index(values.index)
    return NamedSpecies(values.join(found), _problems(values, codes, readings))


def _spellings(written: pd.Series) -> tuple[NDArray[np.intp], list[str]]:
    """The different spellings, spaces tidied, and which one each record has."""
    codes, raw = pd.factorize(written.astype(str))
    tidied, spellings = pd.factorize(np.array([tidy(str(text)) for text in raw], dtype=object))
    return tidied[codes], [str(text) for text in spellings]


def _read_all(spellings: list[str]) -> list[Reading]:
    readings = [read_exactly(text) if text else EMPTY for text in spellings]
    unread = [index for index, reading in enumerate(readings) if reading == UNREAD]
    nearly = read_nearly([binomial_key(spellings[index]) for index in unread])
    for index, reading in zip(unread, nearly, strict=True):
        readings[index] = reading
    return readings


def _names(text: str, reading: Reading) -> tuple[str, str, str, str]:
    if reading.taxon:
        taxon = taxa()[reading.taxon]
        return taxon.name, taxon.common_name, taxon.common_name_es, taxon.kind
    if reading.how == NO_NAME:
        return "", "", "", ""
    kinds = {taxa()[name].kind for name in reading.candidates or _genus_of(text)}
    return text, "", "", kinds.pop() if len(kinds) == 1 else ""


def _genus_of(text: str) -> tuple[str, ...]:
    """The genus a name begins with, when it is a known one."""
    words = name_key(text).split()
    return (genus_names()[words[0]],) if words and words[0] in genus_names() else ()


def _problems(
    values: pd.DataFrame, codes: NDArray[np.intp], readings: list[Reading]
) -> pd.DataFrame:
    told = pd.Series([reading.how != AS_WRITTEN for reading in readings], dtype=bool)
    of_record = pd.Series(codes, index=values.index)
    first = of_record[told.reindex(codes).to_numpy()].drop_duplicates()
    counts = of_record.value_counts()
    said = [_said(readings[code], int(counts[code])) for code in first]
    rows = values.loc[first.index]
    only_common = rows["species"] == rows.get("local_name", "")
    return pd.DataFrame(
        {
            "record": first.index,
            "file": rows["file"].to_numpy(),
            "column": only_common.map({True: "local_name", False: "species"}).to_numpy(),
            "value": rows["species"].to_numpy(),
            "severity": [severity for severity, _, _ in said],
            "rule": [rule for _, rule, _ in said],
            "reason": [reason for _, _, reason in said],
        },
        columns=PROBLEM_COLUMNS,
    )


def _said(reading: Reading, records: int) -> tuple[str, str, str]:
    """Severity, rule and sentence. The cell's own words are never in the sentence."""
    where = f" {records} records." if records > 1 else ""
    if reading.how == UNCLEAR:
        shown = ", ".join(reading.candidates[:MOST_CANDIDATES])
        more = " and others" if len(reading.candidates) > MOST_CANDIDATES else ""
        text = f"This name can mean several trees: {shown}{more}. It is kept as written."
        return "warning", "species_unclear", f"{text} Write which one is meant.{where}"
    if reading.how == UNKNOWN:
        text = "This name is not in the table of species. It is kept as written."
        return "note", "species_unknown", f"{text} Check the spelling.{where}"
    if reading.how == NO_NAME:
        return "note", "species_read_as", f"Read as no name: the tree counts as unnamed.{where}"
    text = f"Read as {reading.taxon}, {reading.how}."
    return "note", "species_read_as", f"{text} If that is wrong, write the botanical name.{where}"


def is_species_name(text: str) -> bool:
    """Whether a text names a kind of tree, or one of several."""
    return read_exactly(tidy(text)).how not in (UNREAD.how, NO_NAME)
