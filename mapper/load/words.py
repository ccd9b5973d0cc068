"""Words of cells in four languages, from reference/cell_words.csv."""

import re
from collections.abc import Mapping
from functools import cache

from mapper.load.columns import WITHOUT_UMLAUT
from mapper.load.text import plain, unaccented
from mapper.reference import rows

FLAG = "flag"  # yes or no
NUMBER = "number"  # what stands beside a number: about, more than, to
MONTH, WEEKDAY = "month", "weekday"
BETWEEN_WORDS = re.compile(r"[\s_-]+")


@cache
def meanings(kind: str) -> Mapping[str, str]:
    """What each word of a kind means, by its key. The kind of a choice is its heading."""
    found: dict[str, str] = {}
    for row in rows("cell_words"):
        if row["kind"] == kind:
            for word in row["words"].split("|"):
                for spelling in (word, word.translate(WITHOUT_UMLAUT)):
                    found[word_key(spelling)] = row["meaning"]
    return found


@cache
def words_for(kind: str, meaning: str) -> tuple[str, ...]:
    """Every word of a kind with one meaning, lower case and without accents, longest first."""
    written = [
        unaccented(spelling.casefold())
        for row in rows("cell_words")
        if (row["kind"], row["meaning"]) == (kind, meaning)
        for word in row["words"].split("|")
        for spelling in (word, word.translate(WITHOUT_UMLAUT))
    ]
    return tuple(sorted(dict.fromkeys(written), key=len, reverse=True))


def any_of(kind: str, meaning: str) -> str:
    """A pattern for any of those words."""
    return "|".join(map(re.escape, words_for(kind, meaning)))


def word_key(text: str) -> str:
    """A word without case, accents, spaces, hyphens and underscores."""
    return BETWEEN_WORDS.sub("", unaccented(plain(text).casefold()))
