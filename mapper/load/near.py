"""The known word that a misspelt one is nearest to: for advice, never for reading."""

from collections.abc import Iterable

# One slip in four letters: 'girht' is that near to 'girth', 'girth quality' to nothing.
CLOSE_ENOUGH = 0.75


def nearest(word: str, known: Iterable[str], least: float = CLOSE_ENOUGH) -> str | None:
    """The nearest of some known words; None where none is near enough.

    Slips are letters left out, added, changed, or two neighbours swapped.
    """
    from rapidfuzz import process
    from rapidfuzz.distance import OSA

    scorer = OSA.normalized_similarity
    found = process.extractOne(word, list(known), scorer=scorer, score_cutoff=least)
    return str(found[0]) if found else None
