"""Where in survey.toml a key stands, so that an error can name the line."""

import re


def line_of(text: str, keys: tuple[str | int, ...]) -> int | None:
    """Line of a key such as ("measure", "breast_height") or ("stand", 1, "area"), from 1."""
    section, number, key = _parted(keys)
    written = re.compile(rf"\s*[\"']?{re.escape(key)}[\"']?\s*=")
    current, seen = "", 0
    for line, content in enumerate(text.splitlines(), start=1):
        heading = re.match(r"\s*\[{1,2}\s*([^\]\s]+)\s*\]", content)
        if heading:
            current = heading[1]
            seen += current == section
            named_alone = not section and current == key
            if named_alone or (current == section and not key and seen == number + 1):
                return line
        elif current == section and (not section or seen == number + 1) and written.match(content):
            return line
    return None


def _parted(keys: tuple[str | int, ...]) -> tuple[str, int, str]:
    """Section, which one of its kind (from 0), key."""
    names = [str(key) for key in keys if not isinstance(key, int)]
    number = next((key for key in keys if isinstance(key, int)), 0)
    if len(names) == 1:
        return ("", 0, names[0]) if number == 0 and len(keys) == 1 else (names[0], number, "")
    return names[0], number, names[1]
