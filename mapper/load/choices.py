"""Cells with a fixed set of words: choices, and yes or no."""

from mapper.load.near import nearest
from mapper.load.words import FLAG, meanings, word_key

# One slip in a word of five letters, two in one of eight.
NEAR_ENOUGH = 0.75


def read_choice(text: str, choices: tuple[str, ...], heading: str = "") -> str | None:
    """The choice in the table's own spelling; None where it is none of them.

    With the heading, words that mean a choice are read too: `snag` is a dead tree.
    """
    key = word_key(text)
    known = {word_key(choice): choice for choice in choices}
    return known.get(key) or meanings(heading).get(key)


def read_flag(text: str) -> str | None:
    """yes or no; None where it is neither."""
    return meanings(FLAG).get(word_key(text))


def nearest_choice(text: str, choices: tuple[str, ...], heading: str = "") -> str:
    """The choice that a misspelt word was perhaps meant for; "" where none is near."""
    known = {word_key(choice): choice for choice in choices} | dict(meanings(heading))
    near = nearest(word_key(text), known, NEAR_ENOUGH)
    return known[near] if near else ""


def unknown_choice(text: str, choices: tuple[str, ...], near: str = "") -> str:
    """The sentence for a word that is none of the choices."""
    advice = f" Did you mean '{near}'?" if near else " Write one of these."
    return f"'{text}' is not one of: {', '.join(choices)}.{advice}"
