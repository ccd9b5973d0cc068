"""A second set of the sheets in the other units, in a folder of its own; the rest is shared."""

import re
from dataclasses import dataclass, replace

from mapper.language import later, say
from mapper.render.photos import Picture

NAMES = {
    "metric": later("metres and centimetres"),
    "us": later("feet and inches"),
}
SIGNS = {"metric": later("cm, m"), "us": later("in, ft")}
OTHER = {"metric": "us", "us": "metric"}
# A text never holds this: its quotes are escaped.
SHARED = re.compile(r'((?:href|src|srcset)=")((?:\.\./)*(?:assets|maps|photos|data)/)(?!map\.js")')


@dataclass(frozen=True)
class UnitsSwitch:
    """What leads from a page to the same page in the other units."""

    here: str
    there: str
    name: str  # of the other units, in words
    href: str
    second: bool  # the page is of the second set


def units_switch(units: str, file: str, second: bool) -> UnitsSwitch:
    """For the page `file` of the set that is written in `units`."""
    other = OTHER[units]
    up = "../" * file.count("/")
    href = f"{up}../{file}" if second else f"{up}{folder(other)}{file}"
    return UnitsSwitch(say(SIGNS[units]), say(SIGNS[other]), say(NAMES[other]), href, second)


def folder(units: str) -> str:
    """Where the second set lies, as a link from the first."""
    return f"{units}/"


def to_shared(page: str) -> str:
    """A page of the second set, its links to what both sets share one folder further up."""
    return SHARED.sub(r"\1../\2", page)


def pictures_from_below(
    pictures: dict[str, tuple[Picture, ...]],
) -> dict[str, tuple[Picture, ...]]:
    """The pictures as the second set's scripts name them: theirs is a folder of its own."""
    return {
        tree: tuple(
            replace(one, sizes=tuple((f"../{file}", wide, high) for file, wide, high in one.sizes))
            for one in those
        )
        for tree, those in pictures.items()
    }
