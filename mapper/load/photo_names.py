"""What a photo's name says: which file a cell means, which tree a file shows."""

import re
import unicodedata
from pathlib import PurePosixPath

from mapper.load.text import tidy
from mapper.survey import PHOTO_ENDINGS

# How cameras, phones and messengers number pictures: the digits are no tree.
CAMERA = re.compile(
    r"(img|dsc[a-z]{0,2}|dscn|pxl|mvimg|pict?|photo|foto|image|bild|screenshot|signal|whatsapp"
    r"|p?\d{6,}|\d{4}-\d\d-\d\d)([\s_\-.]|\d|$).*",
    re.IGNORECASE,
)
TREE_WORD = re.compile(
    r"(?:^|.*[\s_\-.])(?:tree|baum|arbre|árbol|arbol)(?![^\W\d_])[\s_\-.]*"
    r"(?:n[or](?![^\W\d_])[\s_\-.]*)?",
    re.IGNORECASE,
)
# 14, 14b, A14, T-14: a code with a number, then the end or a word about the picture.
CODE = re.compile(r"([a-z]{0,3}[\s_\-]?\d{1,5}[a-z]?)(?=$|[\s_\-.(])", re.IGNORECASE)
COPY = re.compile(r"(?:\s*\(\d+\)|[\s_-]+copy)+$", re.IGNORECASE)
SEPARATORS = re.compile(r"[\s_\-.]+")
LIST_SIGNS = re.compile(r"[;\n|]")
ELSEWHERE = re.compile(r"(/|[a-z][a-z0-9+.-]*:)")


def names_in(cell: str) -> list[str]:
    """The names in a cell: several stand apart by ; or a new line."""
    return [name for part in LIST_SIGNS.split(cell) if (name := tidy(part))]


def file_key(name: str) -> str:
    """By this a cell and a file mean the same: case, kind of slash and way of accents aside."""
    return unicodedata.normalize("NFC", name.replace("\\", "/")).casefold()


def leads_outside(key: str) -> bool:
    """Whether a name would leave the photos folder: a whole path, an address, or ../."""
    return ELSEWHERE.match(key) is not None or ".." in key.split("/")


def without_ending(key: str) -> str:
    """The key without an ending of pictures."""
    path = PurePosixPath(key)
    return str(path.with_suffix("")) if path.suffix in PHOTO_ENDINGS else key


def tree_in(file_name: str) -> str:
    """The tree that a file name speaks of, or "".

    Either a code with a number, alone or before a description, or after the word tree; or the
    whole name, where it is none of those that cameras give.
    """
    bare = _bare(file_name)
    told = TREE_WORD.match(bare)
    if told:
        bare = bare[told.end() :]
    elif CAMERA.fullmatch(bare):
        return ""
    code = CODE.match(bare)
    return code[1] if code else bare


def tree_keys_in(file_name: str) -> list[str]:
    """What a file name may call a tree, as `tree_key_of` writes it: the likeliest first."""
    return list(filter(None, map(tree_key_of, (_bare(file_name), tree_in(file_name)))))


def tree_key_of(name: str) -> str:
    """A tree's name without case and separators: T-14, t 14 and T14 are one."""
    return SEPARATORS.sub("", name).casefold()


def _bare(file_name: str) -> str:
    """The name alone: no folder, no ending, no mark of a copy."""
    name = unicodedata.normalize("NFC", file_name.replace("\\", "/")).rpartition("/")[2]
    stem, _, ending = name.rpartition(".")
    known = f".{ending.casefold()}" in PHOTO_ENDINGS
    return COPY.sub("", tidy(stem if known else name))
