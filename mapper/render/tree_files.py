"""Which file a tree's page is: readable, plain ASCII, the same however many trees there are."""

import hashlib
import re
import unicodedata
from collections import Counter
from collections.abc import Sequence

MOST_TREES = 2000  # beyond, a folder of pages is more than anybody would open
LONGEST = 40
FOLDER = "tree"
# Windows opens no file of these names, whatever its ending.
RESERVED = {"con", "prn", "aux", "nul"} | {f"{x}{n}" for x in ("com", "lpt") for n in range(10)}


def tree_files(ids: Sequence[str]) -> dict[str, str]:
    """File by tree; empty where there are too many trees for a page each.

    Trees whose names read alike in plain letters (`a/1`, `A 1`) all carry a mark made from their
    own name, so that a link never leads to another tree when one is added.
    """
    if len(ids) >= MOST_TREES:
        return {}
    plain = {tree: _plain(tree) for tree in ids}
    alike = Counter(plain.values())
    return {
        tree: f"{FOLDER}/{name if name and alike[name] == 1 else _marked(name, tree)}.html"
        for tree, name in plain.items()
    }


def _plain(tree: str) -> str:
    letters = unicodedata.normalize("NFKD", tree).encode("ascii", "ignore").decode()
    name = re.sub(r"[^a-z0-9]+", "-", letters.lower()).strip("-")
    return "" if name in RESERVED or len(name) > LONGEST else name


def _marked(name: str, tree: str) -> str:
    mark = hashlib.sha256(tree.encode()).hexdigest()[:8]
    return f"{name}-{mark}".lstrip("-")
