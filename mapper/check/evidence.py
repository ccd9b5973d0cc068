"""Leaves and needles against the named tree: a pine with five needles is no Scots pine."""

from dataclasses import dataclass
from functools import cache

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mapper.check.findings import Rule, findings, joined
from mapper.reference import rows

ON_CONIFERS = frozenset({"needles single", "needles in bundles", "scales"})
ON_BROADLEAVES = frozenset({"opposite", "alternate", "whorled"})
AS_LEAVES = {
    "needles single": "single needles",
    "needles in bundles": "needles in bundles",
    "scales": "scales",
    "opposite": "opposite leaves",
    "alternate": "alternate leaves",
    "whorled": "whorled leaves",
}


@dataclass(frozen=True)
class Leaves:
    """What a tree shows: the words that fit, and how many needles stand in a bundle."""

    taxon: str
    words: frozenset[str]
    fewest: float  # NaN where needles are not counted
    most: float

    def needles(self) -> str:
        """The number of needles in words."""
        least, most = f"{self.fewest:g}", f"{self.most:g}"
        return least if least == most else f"{least} to {most}"


def contradicted(values: pd.DataFrame) -> pd.DataFrame:
    """Which records show other leaves than the named tree has.

    Columns needles and leaf (True where contradicted), and shows: what that tree should show. A
    tree that reference/leaves.csv does not know contradicts only when a broadleaf has needles.
    """
    codes, names = pd.factorize(values["species_name"])
    kinds = values["leaf_kind"].to_numpy()[_first_of_each(codes)]
    known = [_leaves_of(str(name), str(kind)) for name, kind in zip(names, kinds, strict=True)]
    fewest = np.array([leaves.fewest for leaves in known])[codes]
    most = np.array([leaves.most for leaves in known])[codes]
    count = values["needles_per_bundle"].to_numpy(dtype=float)
    return pd.DataFrame(
        {
            "needles": (count < fewest) | (count > most),
            "leaf": _other_words(values["leaf"], codes, known),
            "shows": np.array([_shown(leaves) for leaves in known], dtype=object)[codes],
        },
        index=values.index,
    )


def contradicting(values: pd.DataFrame) -> pd.DataFrame:
    """Findings for every record whose needles or leaves speak against its species."""
    seen = contradicted(values)
    needles, leaf = values[seen["needles"]], values[seen["leaf"]]
    counts = needles["needles_per_bundle"].map("{:g}".format).astype(str)
    said = {
        "needles_per_bundle": (needles, counts, counts + " needles in a bundle"),
        "leaf": (leaf, leaf["leaf"], leaf["leaf"].map(AS_LEAVES)),
    }
    advice = "Look again at a few twigs. If they stay so, it is another species."
    return joined(
        [
            findings(
                Rule("leaves_disagree", "warning", column, advice),
                at.assign(cell=cell),
                "Seen: " + what + ". " + seen.loc[at.index, "shows"],
            )
            for column, (at, cell, what) in said.items()
        ]
    )


def _first_of_each(codes: NDArray[np.intp]) -> NDArray[np.intp]:
    """Position of the first record of each code."""
    return np.unique(codes, return_index=True)[1]


def _other_words(
    written: pd.Series, codes: NDArray[np.intp], known: list[Leaves]
) -> NDArray[np.bool_]:
    """Whether each record's word is none of those that fit its tree."""
    word_codes, words = pd.factorize(written)
    wrong = [
        [bool(word and leaves.words) and word not in leaves.words for leaves in known]
        for word in map(str, words)
    ]
    return np.array(wrong, dtype=bool).reshape(len(words), len(known))[word_codes, codes]


def _shown(leaves: Leaves) -> str:
    """One sentence: Pinus sylvestris has 2 needles in a bundle."""
    if not leaves.words:
        return ""
    if leaves.words == ON_BROADLEAVES:
        return f"{leaves.taxon} is a broadleaf: no needles, no scales."
    own = leaves.words & ON_CONIFERS or leaves.words
    counted = f"{leaves.needles()} needles in a bundle"
    parts = [AS_LEAVES[word] for word in sorted(own) if word != "needles in bundles"]
    parts += [counted] if "needles in bundles" in own else []
    return f"{leaves.taxon} has {' or '.join(parts)}."


def _leaves_of(name: str, kind: str) -> Leaves:
    """The row of the species, else of its genus, else of all broadleaves."""
    words = name.split()
    binomial = " ".join(words[:3] if words[1:2] == ["x"] else words[:2])
    for taxon in (name, binomial, *words[:1]):
        if taxon in _table():
            return _table()[taxon]
    if kind == "broadleaf":
        return Leaves(name, ON_BROADLEAVES, 0.0, 0.0)
    return Leaves(name, frozenset(), np.nan, np.nan)


@cache
def _table() -> dict[str, Leaves]:
    found = {}
    for row in rows("leaves"):
        words = frozenset(row["leaf"].split("|"))
        counted = row["needles_low"] != ""
        none = np.nan if words & ON_CONIFERS else 0.0  # a broadleaf has no needles to count
        low, high = (float(row[f"needles_{side}"]) if counted else none for side in ("low", "high"))
        found[row["taxon"]] = Leaves(row["taxon"], words, low, high)
    return found
