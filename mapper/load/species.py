"""Species as written → the name a reader looks up, its common name, and what kind of tree it is."""

from functools import cache

import pandas as pd

from mapper.load.text import MISSING_WORDS
from mapper.reference import rows

NO_SPECIES = MISSING_WORDS | {"?", "??", "unknown", "not known", "don't know", "unidentified"}


def with_species_names(values: pd.DataFrame) -> pd.DataFrame:
    """The records with species_name, common_name and leaf_kind (broadleaf, conifer or "").

    A botanical or common name of reference/species.csv is recognised whatever its case and
    spacing; any other name is kept as written.
    """
    told = values["species"].astype(str).str.split().str.join(" ")
    written = told.where(~told.str.casefold().isin(NO_SPECIES), "")
    known = _known_names()
    unique = pd.Series(written.unique(), dtype=str)
    named = unique.map(lambda name: known.get(_key(name), ("", "")))
    # An unknown name is kept as first written: "silver Birch" is no second kind.
    as_first_written = unique.groupby(unique.map(_key)).transform("first")
    botanical = named.str[0].where(named.str[0] != "", as_first_written)
    table = pd.DataFrame(
        {
            "species_name": botanical.to_numpy(),
            "common_name": named.str[1].to_numpy(),
            "leaf_kind": _leaf_kinds(botanical).to_numpy(),
        },
        index=unique.to_numpy(),
    )
    found = table.reindex(written.to_numpy()).set_index(values.index)
    return values.join(found)


def _key(name: str) -> str:
    return name.casefold().replace("_", " ").replace("-", " ")


@cache
def _known_names() -> dict[str, tuple[str, str]]:
    """Botanical and common names, without case; a common name of two species names neither."""
    table = [(row["species"], row["common_name"]) for row in rows("species")]
    common: dict[str, list[tuple[str, str]]] = {}
    for names in table:
        common.setdefault(_key(names[1]), []).append(names)
    single = {key: names[0] for key, names in common.items() if len(names) == 1 and key}
    return single | {_key(names[0]): names for names in table}


def _leaf_kinds(names: pd.Series) -> pd.Series:
    species = {_key(row["species"]): row["group"] for row in rows("species")}
    genera = {_key(row["genus"]): row["group"] for row in rows("genera")}
    return names.map(
        lambda name: (
            species.get(_key(name)) or genera.get(_key(name.split(" ")[0]) if name else "", "")
        )
    )


def is_species_name(text: str) -> bool:
    """Whether a text is a species, a common name or a genus of the reference tables."""
    key = _key(" ".join(text.split()))
    words = key.split(" ")
    return key in _known_names() or words[0] in _genera() or words[-1] in _last_words()


@cache
def _genera() -> frozenset[str]:
    return frozenset(_key(row["genus"]) for row in rows("genera"))


@cache
def _last_words() -> frozenset[str]:
    """`oak`, `birch`: what common names end with."""
    return frozenset(_key(row["common_name"]).split(" ")[-1] for row in rows("species")) - {""}
