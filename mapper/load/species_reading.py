"""One name as a person wrote it → the taxon meant, or the taxa it could mean."""

import re
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from mapper.load.species_names import (
    SHOWN,
    SYNONYM,
    closed_up,
    endings,
    epithets,
    genus_names,
    known_names,
    name_key,
    symbols,
)

# How a name was read. AS_WRITTEN needs no remark.
AS_WRITTEN, UNCLEAR, UNKNOWN = "as written", "unclear", "unknown"
NO_NAME, IN_PARTS = "as no name", "from a part of it"
MOST_CANDIDATES = 6  # that a person will read in one message
NO_SPECIES = frozenset({"sp", "spp", "species", "indet"})
DOUBT = frozenset({"cf", "aff"})
NO_NAMES = frozenset(
    {"", "unknown", "unidentified", "not known", "na", "n a", "none", "nan", "null", "desconocido"}
)
HYBRID_SIGNS = frozenset("xX×✕")
TREE_WORDS = frozenset({"tree", "trees", "arbol", "arboles", "sp", "spp"})
PLURALS = (("ies", "y"), ("es", ""), ("s", ""))
AUTHORITY = re.compile(
    r"[(\[]*(?:[^\W\d_a-zà-ÿ][^\s()]*|ex|et|and|in|non|f\.?|fil\.?|de|von|van|&|\d{4})[)\],.;]*"
)


@dataclass(frozen=True)
class Reading:
    """What a name was taken for; no taxon where that would be a guess."""

    taxon: str
    how: str
    candidates: tuple[str, ...] = ()


UNREAD = Reading("", UNKNOWN)


def read_exactly(text: str) -> Reading:
    """The reading of a name that is in the tables, spelt as there but for case and marks."""
    if name_key(text) in NO_NAMES:
        return Reading("", NO_NAME)
    whole = _read_part(text)
    if whole != UNREAD:
        asked = "?" in text and whole.taxon
        return Reading(whole.taxon, "without its question mark") if asked else whole
    found = [_read_part(part) for part in _turned(text)]
    return _first_read(found) or _from_parts(text) or _by_ending(name_key(text))


def taxon_of(name: str) -> str:
    """The name by which the species table knows a botanical name, or the name itself.

    Examples
    --------
    >>> taxon_of("Platanus x acerifolia"), taxon_of("Prunus yedoensis")
    ('Platanus x hispanica', 'Prunus x yedoensis')
    """
    return read_exactly(name).taxon or name


def one_of(names: Iterable[str], how: str) -> Reading:
    """A reading where the names agree: one taxon, or a genus and species of it."""
    several = tuple(dict.fromkeys(names))
    if len(several) == 1:
        return Reading(several[0], how)
    genera = {name.split()[0] for name in several}
    if len(genera) == 1 and genera & set(several):
        return Reading(genera.pop(), how)
    return Reading("", UNCLEAR, several)


def binomial_key(text: str) -> str:
    """What to compare letter by letter: genus and epithet alone where an authority follows."""
    words = text.split()
    if len(words) > 2 and words[0][:1].isupper() and words[1].islower() and _authority(words[2:]):
        return name_key(" ".join(words[:2]))
    return name_key(text)


def _read_part(text: str) -> Reading:
    key = name_key(text)
    key = key if key in known_names() else closed_up().get(key.replace(" ", ""), key)
    if key in known_names():
        return _meant(key)
    symbol = text.upper() if any(sign.isdigit() for sign in text) else text
    if symbol in symbols():
        return Reading(symbols()[symbol], "from a symbol")
    botanical = _read_botanical(text.split())
    return botanical if botanical != UNREAD else _read_common(key)


def _meant(key: str) -> Reading:
    meant = known_names()[key]
    kinds = set(meant.values())
    if SHOWN in kinds:
        how = AS_WRITTEN
    else:
        how = "from an older name" if SYNONYM in kinds else "from a common name"
    return one_of(meant, how)


def _read_botanical(words: Sequence[str]) -> Reading:
    """Quercus robur L., Q. robur, Quercus sp., Quercus rubra var. borealis."""
    words = [word for word in words if word not in HYBRID_SIGNS]
    if len(words) < 2:
        return UNREAD
    first, second = name_key(words[0]), name_key(words[1])
    if first in genus_names():
        if second in NO_SPECIES or _authority(words[1:]):
            return Reading(genus_names()[first], AS_WRITTEN)
        if second in DOUBT:
            return Reading(genus_names()[first], "as the genus alone")
        return _below(f"{first} {second}", words[2:])
    if words[0].endswith(".") or len(first) == 1:
        return _abbreviated(first, second, words[2:])
    return UNREAD


def _below(key: str, rest: Sequence[str]) -> Reading:
    if key not in known_names():
        return UNREAD
    reading = _meant(key)
    if not rest or _authority(rest) or not reading.taxon:
        return reading
    return Reading(reading.taxon, "without the variety or form") if _form(rest) else UNREAD


def _abbreviated(start: str, epithet: str, rest: Sequence[str]) -> Reading:
    keys = [key for key in epithets().get(epithet, ()) if key.startswith(start)]
    if not keys or not (_authority(rest) or not rest):
        return UNREAD
    return one_of((name for key in keys for name in known_names()[key]), "from a short form")


def _read_common(key: str) -> Reading:
    """Oak tree, oaks, pinos."""
    words = key.split()
    if len(words) > 1 and words[-1] in TREE_WORDS:
        return _read_part(" ".join(words[:-1]))
    for ending, single in PLURALS:
        shorter = key.removesuffix(ending) + single
        if key.endswith(ending) and shorter in known_names():
            return _meant(shorter)
    return UNREAD


def _turned(text: str) -> list[str]:
    """Oak, white → white Oak; Maple - Norway and Oak (English) likewise."""
    found = re.fullmatch(r"([^,(]+?)\s*(?:,| [-–] |\()\s*([^,()]+)\)?", text)
    return [f"{found[2].strip()} {found[1].strip()}"] if found else []


def _first_read(readings: Sequence[Reading]) -> Reading | None:
    return next((reading for reading in readings if reading != UNREAD), None)


def _from_parts(text: str) -> Reading | None:
    """English oak (Quercus robur), Betula pendula / silver birch: the finer of names that agree."""
    parts = [part.strip() for part in re.split(r"[()\[\]/=;]", text) if part.strip()]
    readings = [_read_part(part) for part in parts] if len(parts) > 1 else []
    names = [name for read in readings for name in (read.candidates or (read.taxon,)) if name]
    if not names:
        return None
    finest = [name for name in names if not any(other.startswith(f"{name} ") for other in names)]
    plain = all(reading.how == AS_WRITTEN for reading in readings)
    return one_of(finest, AS_WRITTEN if plain else IN_PARTS)


def _by_ending(key: str) -> Reading:
    candidates = endings().get(key, ())
    return Reading("", UNCLEAR, candidates) if candidates else UNREAD


def _authority(words: Sequence[str]) -> bool:
    return bool(words) and all(AUTHORITY.fullmatch(word) for word in words)


def _form(words: Sequence[str]) -> bool:
    """Whether the words name something below a species: a variety, a form, a cultivar."""
    first = words[0].casefold().rstrip(".")
    return words[0][0] in "'\"‘“" or first in {
        "ssp", "subsp", "subspecies", "var", "variety", "f", "forma", "form", "cv", "cultivar",
    }  # fmt: skip
