"""Cells with a fixed set of words: choices, and yes or no."""

import difflib
import re

YES = frozenset({"yes", "y", "true", "t", "1", "✓", "✔", "☑"})
NO = frozenset({"no", "n", "false", "f", "0", "✗", "✘", "☐"})


# What people write for a choice, letters only.
OTHER_WORDS = {
    "snag": "dead",
    "standingdead": "dead",
    "deadstanding": "dead",
    "live": "alive",
    "living": "alive",
    "felled": "stump",
    "down": "fallen",
    "app": "reported",
    "phone": "reported",
    "phoneapp": "reported",
    "instrument": "reported",
    "rangefinder": "reported",
    "laser": "reported",
    "guess": "by eye",
    "guessed": "by eye",
    "estimate": "by eye",
    "estimated": "by eye",
    "eye": "by eye",
}


def read_choice(text: str, choices: tuple[str, ...]) -> str | None:
    """The choice in the table's own spelling; None where it is none of them."""
    known = {_key(choice): choice for choice in choices}
    return known.get(_key(OTHER_WORDS.get(_key(text), text)))


def read_flag(text: str) -> str | None:
    """yes or no; None where it is neither."""
    word = text.casefold()
    return "yes" if word in YES else "no" if word in NO else None


def unknown_choice(text: str, choices: tuple[str, ...]) -> str:
    """The sentence for a word that is none of the choices."""
    near = difflib.get_close_matches(text.casefold(), choices, 1, 0.6)
    advice = f" Did you mean '{near[0]}'?" if near else ""
    return f"'{text}' is not one of: {', '.join(choices)}.{advice or ' Write one of these.'}"


def _key(text: str) -> str:
    return re.sub(r"[\s_-]+", "", text.casefold())
