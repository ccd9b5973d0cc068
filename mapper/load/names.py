"""From a canonical heading to the name of its value."""

import re

from mapper.load.columns import known_columns


def value_name(name: str) -> str:
    """The name in `values` of a canonical heading: girth_cm for girth, stem_2_cm for stem_2."""
    columns = known_columns()
    return columns[name].value_name if name in columns else f"{name}_cm"


def is_stem(name: str) -> bool:
    """Whether a canonical heading is stem_1, stem_2 and so on."""
    return re.fullmatch(r"stem_\d+", name) is not None
