"""Spaces, signs and marks that look alike and are typed for one another, made one."""

import re
import unicodedata

INVISIBLE = "\u200b\u200c\u200d\u2060\ufeff\u00ad\u200e\u200f"
ZERO_WIDTH = dict.fromkeys(map(ord, INVISIBLE))
# What a cell may hold and still be empty.
BLANK = " \t\r\n\v\f\u00a0\u2000\u2001\u2002\u2003\u2007\u2009\u200a\u202f\u3000" + INVISIBLE
# The ordinal sign is typed for the degree sign, and NFKC would make it a letter.
MARKS = str.maketrans(
    {
        **dict.fromkeys("\u2212\u2010\u2011\u2012\u2013\u2014\ufe63\uff0d", "-"),
        **dict.fromkeys("\u2032\u2019\u2018\u02b9\u02bc\u00b4`", "'"),
        **dict.fromkeys("\u2033\u201d\u201c\u02ba\u201f", '"'),
        **dict.fromkeys("\u00ba\u02da", "°"),
    }
)
VULGAR_FRACTION = re.compile("[¼-¾⅐-⅞]")

# Words for an empty cell. Text columns keep them: a tree may be called NA.
MISSING_WORDS = frozenset(
    {"", "-", "--", "na", "n/a", "n.a.", "nan", "null", "none"}
    | {"n/d", "n.d.", "s/d", "sin dato", "sin datos", "k.a.", "k. a.", "keine angabe"}
)


def tidy(text: str) -> str:
    """Without zero-width signs, every run of white space one plain space."""
    seen = text if text.isascii() else text.translate(ZERO_WIDTH)
    return " ".join(seen.split())


def plain(text: str) -> str:
    """A number, date or heading in ASCII where possible: ’ becomes ', '' becomes ", − becomes -."""
    seen = text.translate(ZERO_WIDTH).translate(MARKS)
    seen = VULGAR_FRACTION.sub(lambda found: f" {found[0]}", seen)
    seen = unicodedata.normalize("NFKC", seen).replace("\u2044", "/").replace("''", '"')
    return " ".join(seen.split())


def unaccented(text: str) -> str:
    """Without accents: é becomes e."""
    if text.isascii():
        return text
    apart = unicodedata.normalize("NFD", text)
    return "".join(letter for letter in apart if not unicodedata.combining(letter))


def is_missing(text: str) -> bool:
    """Whether a plain text stands for an empty cell."""
    return text.casefold() in MISSING_WORDS
