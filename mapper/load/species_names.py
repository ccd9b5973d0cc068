"""What trees are called: botanical names, synonyms, common names and symbols, each → its taxa."""

import re
import unicodedata
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache

from mapper.reference import NO_SOURCE, rows

# Which name a reader sees needs no remark when it is written; any other name gets one.
SHOWN, SYNONYM, OTHER = "shown", "synonym", "other"
RANK_WORDS = frozenset({"ssp", "subsp", "subspecies", "var", "variety", "x"})


@dataclass(frozen=True)
class Taxon:
    """A species (or a variety listed by itself), or a genus where no more is known."""

    name: str
    common_name: str
    common_name_es: str
    kind: str  # broadleaf or conifer
    symbol: str

    @property
    def genus(self) -> str:
        """The first word of the name."""
        return self.name.split()[0]


def name_key(text: str) -> str:
    """A name without case, accents, punctuation, hybrid sign and words of rank.

    Examples
    --------
    >>> name_key("Populus × canadensis"), name_key("Álamo blanco"), name_key("DOUGLAS-FIR")
    ('populus canadensis', 'alamo blanco', 'douglas fir')
    """
    spaced = re.sub("[×✕]", " x ", text)
    plain = unicodedata.normalize("NFKD", spaced).casefold()
    letters = re.sub("[\u0300-\u036f'’‘`´]", "", plain)
    words = re.sub(r"[^\w]|_", " ", letters).split()
    return " ".join(word for word in words if word not in RANK_WORDS)


@cache
def taxa() -> dict[str, Taxon]:
    """Every taxon of reference/species.csv and genera.csv by its name.

    A Spanish name without a source is a reason to ask, and is never shown.
    """
    spanish: dict[str, str] = {}
    for row in rows("species_names"):
        if row["language"] == "es" and row["source"] != NO_SOURCE:
            spanish.setdefault(row["taxon"], row["name"])
    listed = [(row["genus"], row) for row in rows("genera")]
    listed += [(row["species"], row) for row in rows("species")]
    return {
        name: Taxon(
            name, row["common_name"], spanish.get(name, ""), row["group"], row["usda_symbol"]
        )
        for name, row in listed
    }


@cache
def names_in(language: str) -> dict[str, str]:
    """Taxon → its first common name in a language, of those that a source gives."""
    found: dict[str, str] = {}
    for row in rows("species_names"):
        if row["language"] == language and row["source"] != NO_SOURCE:
            found.setdefault(row["taxon"], row["name"])
    return found


@cache
def known_names() -> dict[str, dict[str, str]]:
    """Key of a name → the taxa it can mean → how each is called so (SHOWN, SYNONYM or OTHER).

    A botanical name in use means itself only; an old or a common name may mean several.
    """
    called: dict[str, dict[str, str]] = {}
    for row in rows("species_names"):
        kind = SYNONYM if row["language"] == "la" else OTHER
        called.setdefault(name_key(row["name"]), {}).setdefault(row["taxon"], kind)
    for key, names in _shown_common_names().items():
        called.setdefault(key, {}).update(dict.fromkeys(names, SHOWN))
    return called | {name_key(name): {name: SHOWN} for name in taxa()}


def _shown_common_names() -> dict[str, list[str]]:
    """Where a genus and one of its species share their common name, it is the species' name."""
    found: dict[str, list[str]] = {}
    for taxon in taxa().values():
        if taxon.common_name:
            found.setdefault(name_key(taxon.common_name), []).append(taxon.name)
    return {
        key: [name for name in names if not any(n.startswith(f"{name} ") for n in names)]
        for key, names in found.items()
    }


@cache
def closed_up() -> dict[str, str]:
    """A key without its spaces (honeylocust) → the key, where only one is written so."""
    found: dict[str, list[str]] = {}
    for key in known_names():
        found.setdefault(key.replace(" ", ""), []).append(key)
    return {closed: keys[0] for closed, keys in found.items() if len(keys) == 1}


@cache
def symbols() -> dict[str, str]:
    """USDA PLANTS symbol → taxon."""
    return {taxon.symbol: taxon.name for taxon in taxa().values() if taxon.symbol}


@cache
def genus_names() -> dict[str, str]:
    """Key of a genus → its name."""
    return {name_key(row["genus"]): row["genus"] for row in rows("genera")}


@cache
def epithets() -> dict[str, tuple[str, ...]]:
    """Second word of a botanical name → the botanical names that have it."""
    found: dict[str, list[str]] = {}
    for key, meant in known_names().items():
        words = key.split()
        if len(words) == 2 and words[0] in genus_names() and _botanical(meant):
            found.setdefault(words[1], []).append(key)
    return {epithet: tuple(keys) for epithet, keys in found.items()}


def _botanical(meant: dict[str, str]) -> bool:
    return SYNONYM in meant.values() or any(" " in name for name in meant)


@cache
def endings() -> dict[str, tuple[str, ...]]:
    """Last words of common names (cedar, red cedar) → the taxa whose common name ends so."""
    found: dict[str, list[str]] = {}
    for taxon in taxa().values():
        for ending in _endings_of(name_key(taxon.common_name)):
            found.setdefault(ending, []).append(taxon.name)
    return {ending: tuple(names) for ending, names in found.items()}


def _endings_of(key: str) -> Iterator[str]:
    words = key.split()
    return (" ".join(words[start:]) for start in range(1, len(words)))
