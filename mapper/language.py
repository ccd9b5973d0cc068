"""The language a site is written in: one setting, one catalogue (gettext) a language.

English is what stands in the code. Another language is a file `LANGUAGE/LC_MESSAGES/groveplat.po`
in `mapper/locale`; numbers, dates and lists follow the language too (CLDR, through Babel). The
running language lives in a context variable: a thread of its own starts in English, so hand it
`contextvars.copy_context()`.
"""

import datetime
import gettext
import io
import numbers
import string
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from contextvars import ContextVar
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from babel import Locale, UnknownLocaleError
from babel.dates import format_date, format_skeleton
from babel.lists import format_list

CATALOGUES = Path(__file__).parent / "locale"
FILE = "LC_MESSAGES/groveplat.po"
# The code's own words and dates ("12 May 2026", "a, b and c") are British.
OWN, OWN_LOCALE = "en", "en_GB"


@dataclass(frozen=True)
class Language:
    """A language with its words and its way to write numbers."""

    tag: str
    locale: Locale
    words: gettext.NullTranslations
    signs: dict[int, str]  # decimal, thousands and per cent signs; empty where they are English

    def number(self, written: str) -> str:
        """A number written the English way (`1,234.5`, `12%`), as this language writes it."""
        return written.translate(self.signs) if self.signs else written


class Phrase(str):
    """A text of the running language; the numbers put into its gaps are written as it does."""

    __slots__ = ()

    def format(self, *values: object, **fields: object) -> str:
        """Fill the gaps: `say("{n:.1f} m").format(n=1.5)` reads `1,5 m` in Spanish."""
        if not running().signs:
            return str.format(self, *values, **fields)
        return _LocalNumbers().vformat(self, values, fields)


class _LocalNumbers(string.Formatter):
    def format_field(self, value: Any, format_spec: str) -> str:
        written = str(super().format_field(value, format_spec))
        return running().number(written) if isinstance(value, numbers.Number) else written


_running: ContextVar[Language | None] = ContextVar("language", default=None)


@contextmanager
def speaking(tag: str) -> Iterator[None]:
    """Inside, everything is said in this language."""
    token = _running.set(_language(tag, CATALOGUES))
    try:
        yield
    finally:
        _running.reset(token)


def running() -> Language:
    """The language that is spoken now: English where none was chosen."""
    return _running.get() or _language(OWN, CATALOGUES)


def say(text: str) -> Phrase:
    """A text in the running language. Gaps are filled afterwards: `say("{n} m").format(n=2)`."""
    return Phrase(running().words.gettext(text) if text else "")


def later(text: str) -> str:
    """Marks a text of a module for the catalogue; `say` translates it when it is used."""
    return text


def say_count(one: str, many: str, count: int) -> Phrase:
    """The form of a text that goes with a count, with its gaps still open."""
    return Phrase(running().words.ngettext(one, many, count))


def figure(value: float, form: str = "") -> str:
    """A number as the running language writes it, formatted as in `format(value, form)`."""
    return running().number(format(value, form))


def listed(parts: Sequence[str]) -> str:
    """`a`, `a and b`, `a, b and c`."""
    return format_list([part for part in parts if part], locale=running().locale)


def full_date(day: datetime.date) -> str:
    """`12 May 2026`."""
    return str(format_date(day, "long", locale=running().locale))


def part_of_date(day: datetime.date, skeleton: str) -> str:
    """`May 2026` (yMMMM) or `12 May` (MMMMd): skeletons of Unicode's date patterns."""
    return str(format_skeleton(skeleton, day, locale=running().locale))


def languages() -> tuple[str, ...]:
    """What a survey can be written in."""
    return (OWN, *sorted(path.parents[1].name for path in CATALOGUES.glob(f"*/{FILE}")))


def known_language(tag: str) -> str:
    """The tag, if there is a catalogue for it or for its language: `es`, and `es-MX` too.

    Raises
    ------
    ValueError
        When it is no language tag, or we have no words of that language.
    """
    try:
        locale = Locale.parse(tag, sep="-")
    except (ValueError, UnknownLocaleError, TypeError):
        locale = None
    if locale is None or not {str(locale), locale.language} & {*languages()}:
        raise ValueError(f"write one of {', '.join(map(repr, languages()))}")
    return tag


@cache
def _language(tag: str, catalogues: Path) -> Language:
    locale = Locale.parse(OWN_LOCALE if tag == OWN else tag, sep="_" if tag == OWN else "-")
    symbols = locale.number_symbols["latn"]
    per_cent = locale.percent_formats[None].pattern.rpartition("0")[2]
    signs = {".": symbols["decimal"], ",": symbols["group"], "%": per_cent}
    foreign = any(sign != said for sign, said in signs.items())
    return Language(
        tag=tag,
        locale=locale,
        words=_words(catalogues, locale),
        signs=str.maketrans(signs) if foreign else {},
    )


def _words(catalogues: Path, locale: Locale) -> gettext.NullTranslations:
    """The catalogue of a region or of its language, from the very file that translators edit.

    Reading it takes 0.04 s for 1,500 texts: less than a compiled copy that could be out of date.
    """
    files = [catalogues / name / FILE for name in (str(locale), locale.language)]
    file = next((file for file in files if file.is_file()), None)
    if file is None:
        return gettext.NullTranslations()
    from babel.messages.mofile import write_mo
    from babel.messages.pofile import read_po

    compiled = io.BytesIO()
    with file.open("rb") as lines:
        write_mo(compiled, read_po(lines))
    compiled.seek(0)
    return gettext.GNUTranslations(compiled)
