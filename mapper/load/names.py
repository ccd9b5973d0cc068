"""From a canonical heading to the name of its value."""

import re
from collections.abc import Iterable

from mapper.load.columns import known_columns


def value_name(name: str) -> str:
    """The name in `values` of a canonical heading: girth_cm for girth, stem_2_cm for stem_2."""
    columns = known_columns()
    return columns[name].value_name if name in columns else f"{name}_cm"


def is_stem(name: str) -> bool:
    """Whether a canonical heading is stem_1, stem_2 and so on."""
    return re.fullmatch(r"stem_\d+", name) is not None


def is_known(name: str) -> bool:
    """Whether a name is canonical, stem_2 and the like included."""
    return name in known_columns() or is_stem(name)


def stem_values(names: Iterable[object]) -> list[str]:
    """The values of single stems among some names, in their order: stem_1_cm, stem_2_cm, …"""
    found = [name for name in map(str, names) if re.fullmatch(r"stem_\d+_cm", name)]
    return sorted(found, key=lambda name: int(name.split("_")[1]))
