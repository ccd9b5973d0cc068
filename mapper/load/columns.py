"""The headings a record may have, from reference/columns.csv, and the units they may carry."""

import re
from collections.abc import Mapping
from dataclasses import dataclass
from fractions import Fraction
from functools import cache

from mapper.load.text import unaccented
from mapper.reference import rows

STEM_PATTERN = "stem_N"
# As German is typed where the keys are missing.
WITHOUT_UMLAUT = str.maketrans({"ä": "ae", "ö": "oe", "ü": "ue"})


@dataclass(frozen=True)
class Column:
    """One canonical heading."""

    name: str
    kind: str  # text, choice, number, quantity, date or flag
    quantity: str
    unit: str
    us_unit: str
    choices: tuple[str, ...]
    aliases: tuple[str, ...]

    @property
    def value_name(self) -> str:
        """The name in `values`, with the unit where there is one."""
        return f"{self.name}_{self.unit}" if self.unit else self.name

    def numbered(self, number: int) -> "Column":
        """This column for one stem: stem_N becomes stem_2."""
        name = self.name.replace("N", str(number))
        return Column(
            name, self.kind, self.quantity, self.unit, self.us_unit, self.choices, self.aliases
        )


@dataclass(frozen=True)
class Unit:
    """A unit and its size in the base unit of its quantity."""

    name: str
    factor: Fraction


@cache
def known_columns() -> dict[str, Column]:
    """Every canonical heading by name, in the order of the table."""
    return {
        row["name"]: Column(
            row["name"],
            row["kind"],
            row["quantity"],
            row["unit"],
            row["us_unit"],
            _split(row["choices"]),
            _split(row["aliases"]),
        )
        for row in rows("columns")
    }


@cache
def heading_keys() -> dict[str, str]:
    """What a heading may say, letters and digits only, and the canonical name it means."""
    return {key: name for key, (name, _, _) in _spellings().items()}


def alias_of(key: str) -> str:
    """The heading of a key as people write it: `höhe` for hohe and hoehe."""
    return _spellings()[key][1]


def language_of(key: str) -> str:
    """The language of the heading with this key: en, es, fr, de; "" where there is none."""
    return _spellings()[key][2] if key in _spellings() else ""


@cache
def _spellings() -> Mapping[str, tuple[str, str, str]]:
    """Canonical name, alias and language by key. A word of two languages is of the first."""
    found: dict[str, tuple[str, str, str]] = {}
    for column in known_columns().values():
        for alias in (column.name, *column.aliases):
            found.setdefault(heading_key(alias), (column.name, alias, "en"))
    for row in rows("headings_languages"):
        for alias in _split(row["aliases"]):
            for spelling in (alias, alias.translate(WITHOUT_UMLAUT)):
                found.setdefault(heading_key(spelling), (row["name"], alias, row["language"]))
    return found


def heading_key(text: str) -> str:
    """A heading without case, accents, spaces and punctuation."""
    return "".join(letter for letter in unaccented(text.casefold()) if letter.isalnum())


@cache
def units_of(quantity: str) -> Mapping[str, Unit]:
    """The units of a quantity by every spelling, lower case."""
    # These are angles whose degrees are read by their own rules.
    wanted = "angle" if quantity in ("latitude", "longitude", "bearing") else quantity
    return {
        spelling.casefold(): Unit(row["unit"], Fraction(row["factor"]))
        for row in rows("units")
        if row["quantity"] == wanted
        for spelling in (row["unit"], *_split(row["aliases"]))
    }


# Besides the units of their quantity: scales of instruments, and paces of the observer's length.
OWN_UNITS = {
    **dict.fromkeys(("angle_top", "angle_base", "angle_mark", "angle_top_2", "slope"), "elevation"),
    **dict.fromkeys(("baseline", "station_gap"), "stride"),
}


def units_for(column: Column) -> Mapping[str, Unit]:
    """The units that a column's heading may name, by every spelling."""
    own = OWN_UNITS.get(column.name)
    return {**units_of(column.quantity), **(units_of(own) if own else {})}


def stem_number(name: str) -> int:
    """2 for stem_2 and its value stem_2_cm, 0 for any other column."""
    found = re.fullmatch(r"stem_(\d+)(?:_cm)?", name)
    return int(found[1]) if found else 0


def _split(text: str) -> tuple[str, ...]:
    return tuple(part for part in text.split("|") if part)
