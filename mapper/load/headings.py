"""What the headings of a table mean: `girth_cm`, `Girth (in)`, `Tree #`, `height in feet`."""

import re
from collections.abc import Iterable

from mapper.errors import InputError
from mapper.load.columns import (
    STEM_PATTERN,
    Column,
    alias_of,
    heading_key,
    heading_keys,
    known_columns,
    language_of,
    units_for,
)
from mapper.load.dates import DATE_ORDERS
from mapper.load.heading import Heading
from mapper.load.heading_context import distance_to_the_tree, names_apart, species_of_words
from mapper.load.near import nearest
from mapper.load.records import Remark, Sheet
from mapper.load.text import plain, tidy

BRACKET = re.compile(r"(.*?)\s*[(\[{]\s*([^)\]}]*?)\s*[)\]}]")
WORD_TAIL = re.compile(r"(.*\w)[\W_]+([^\W\d_]+\.?)")
SIGN_TAIL = re.compile(r"(.*\w)\W*([%°\"'])")
# A sign that is a unit, and no apostrophe inside a word.
UNIT_SIGN = re.compile(r"[%°\"]|'(?!\w)")
# N° and nº, which plain text makes one, stand for number in three languages.
NUMBER_SIGN = re.compile(r"#|\bn°", re.IGNORECASE)
# Close to a heading in letters, and another thing.
NOT_MEANT = frozenset({"altitude", "altitud"})


def understand(sheet: Sheet) -> list[Heading]:
    """The meaning of every heading of a table.

    Raises
    ------
    InputError
        When two headings mean the same thing.
    """
    found = [_understand_given(sheet, position) for position in range(len(sheet.headings))]
    found = species_of_words(sheet, names_apart(distance_to_the_tree(found)))
    _refuse_twins(sheet, found)
    return _named_apart(found)


def read_heading(text: str) -> Heading:
    """The column a heading means and the unit it names, or a remark why it is not known."""
    return _known(tidy(text)) or Heading(tidy(text), remark=_remark(tidy(text)))


def count_known(cells: Iterable[str]) -> int:
    """How many of some cells are headings known here."""
    return sum(_known(text) is not None for text in map(tidy, cells) if text)


def _known(text: str) -> Heading | None:
    for name, rest in name_and_unit(text):
        column = _column(name)
        unit = unit_of(column, rest, name) if column else None
        if unit is not None:
            return Heading(text, column, unit)
    return None


def name_and_unit(text: str) -> list[tuple[str, str]]:
    """Every way to take a heading apart into what it names and the unit beside it."""
    return [*_bracketed(plain(text)), *_spaced(plain(text))]


def _understand_given(sheet: Sheet, position: int) -> Heading:
    """A heading of the file format itself wins over one of the user's that says the same."""
    text = sheet.headings[position]
    if position in sheet.given:
        return Heading(text, known_columns()[sheet.given[position]])
    if not tidy(text):
        name = f"column {position + 1}"
        reason = f"{name} has cells and no heading. They are kept, but not used."
        return Heading(name, remark=Remark("unknown_column", "note", reason, value=name))
    heading = read_heading(text)
    if heading.column and heading.column.name in sheet.given.values():
        reason = f"'{text}' is not read: the place is taken from the points themselves."
        return Heading(text, remark=Remark("unknown_column", "note", reason, value=text))
    return heading


def _bracketed(text: str) -> list[tuple[str, str]]:
    """The whole heading, then name and unit of `Girth (in)` or `Height [m]`."""
    found = BRACKET.fullmatch(text)
    if not found:
        return [(text, "")]
    column = _column(found[1])
    # What a bracket says beside a text, as in `Species (if known)`, changes nothing.
    comment = column is not None and column.kind != "date" and not column.quantity
    return [(text, ""), (found[1], "" if comment else found[2])]


def _spaced(text: str) -> list[tuple[str, str]]:
    """Name and unit of `girth_cm`, `girthCm`, `height in feet`."""
    spaced = re.sub(r"([a-z])([A-Z])", r"\1 \2", text)
    found = SIGN_TAIL.fullmatch(spaced) or WORD_TAIL.fullmatch(spaced)
    if not found:
        return []
    without_in = re.sub(r"[\W_]+(?:in|en)$", "", found[1], flags=re.IGNORECASE)
    return [(found[1], found[2]), (without_in, found[2])]


def _column(name: str) -> Column | None:
    named = NUMBER_SIGN.sub(" no ", name)
    if UNIT_SIGN.search(named):
        return None
    key = heading_key(named)
    if key in heading_keys():
        return known_columns()[heading_keys()[key]]
    return _stem(key)


def _stem(key: str) -> Column | None:
    """stem_1, stem 2 girth: the one heading that carries a number of its own."""
    numbers = re.findall(r"\d+", key)
    pattern = re.sub(r"\d+", "n", key)
    if len(numbers) == 1 and heading_keys().get(pattern) == STEM_PATTERN and int(numbers[0]) > 0:
        return known_columns()[STEM_PATTERN].numbered(int(numbers[0]))
    return None


def unit_of(column: Column, text: str, name: str = "") -> str | None:
    """The unit by its own name, "" for none; None where the column cannot have it."""
    if not text:
        return ""
    if column.kind == "date":
        return DATE_ORDERS.get(heading_key(text))
    units = units_for(column)
    spelling = text.casefold().rstrip(".")
    # Beside other words grad may be the 400th part of a circle; beside a German one it is not.
    if spelling == "grad" and language_of(heading_key(name)) == "de":
        spelling = "deg"
    unit = units.get(spelling)
    return unit.name if unit else None


def _remark(text: str) -> Remark:
    found = BRACKET.fullmatch(plain(text)) or SIGN_TAIL.fullmatch(plain(text))
    column = _column(found[1]) if found else None
    if found and column:
        reason = _unit_sentence(text, column, found[2])
        return Remark("unknown_unit", "warning", reason, column.name, text)
    meant = _meant(text)
    advice = f" Did you mean '{meant}'?" if meant else ""
    reason = f"'{text}' is not a heading known here. It is kept, but not used.{advice}"
    return Remark("unknown_column", "note", reason, value=text, proposed=meant)


def _meant(text: str) -> str:
    """The heading that was perhaps meant, with the unit that was written beside it."""
    for name, rest in name_and_unit(text):
        key = heading_key(name)
        if key in NOT_MEANT:
            continue
        numbered = re.sub(r"\d+", "n", key)
        near = nearest(key, heading_keys()) or nearest(numbered, heading_keys())
        if near and unit_of(known_columns()[heading_keys()[near]], rest, near) is not None:
            return _example(near) + (f" ({rest})" if rest else "")
    return ""


def _example(key: str) -> str:
    """How the heading of a key is written; a word of another language keeps that language."""
    named = heading_keys()[key] if language_of(key) == "en" else alias_of(key)
    return named.replace("N", "1")


def _unit_sentence(text: str, column: Column, unit: str) -> str:
    names = [known.name for known in units_for(column).values()]
    allowed = f"Write one of: {', '.join(dict.fromkeys(names))}." if names else "Leave it out."
    if column.kind == "date":
        allowed = "Write dd/mm/yyyy, mm/dd/yyyy or yyyy-mm-dd."
    sentence = f"'{unit}' in the heading '{text}' is not understood, so the column is not read."
    return f"{sentence} {allowed}"


def _refuse_twins(sheet: Sheet, headings: list[Heading]) -> None:
    first: dict[str, tuple[int, str]] = {}
    for position, heading in enumerate(headings):
        if heading.column is None:
            continue
        place, twin = first.setdefault(heading.column.name, (position, heading.text))
        if place != position:
            raise InputError(
                f"{sheet.place}: columns '{twin}' and '{heading.text}' both mean "
                f"'{heading.column.name}'. Keep one."
            )


def _named_apart(headings: list[Heading]) -> list[Heading]:
    """Unknown headings with a name of their own, so that no column of cells covers another."""
    taken = {heading.column.name for heading in headings if heading.column}
    apart = []
    for position, heading in enumerate(headings, start=1):
        text = heading.text
        if heading.column is None:
            text = text if text and text not in taken else f"{text or 'column'} ({position})"
            taken.add(text)
        apart.append(heading._replace(text=text))
    return apart
