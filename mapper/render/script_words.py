"""The words of the page's scripts, in the language of the survey."""

import json
from pathlib import Path

from mapper.language import say
from mapper.render.site_files import as_script, shipped, write_text

MAIN_SCRIPT, WORDS_SCRIPT = "assets/groveplat.js", "assets/words.js"


def with_words(scripts: tuple[str, ...]) -> tuple[str, ...]:
    """A page's scripts, the words right behind the script that needs them.

    The English ones are in that script already.
    """
    if not script_words():
        return scripts
    position = scripts.index(MAIN_SCRIPT) + 1 if MAIN_SCRIPT in scripts else 0
    return (*scripts[:position], *[WORDS_SCRIPT] * bool(position), *scripts[position:])


def write_script_words(folder: Path) -> None:
    """Write words.js, which a site in English does not need."""
    words = script_words()
    if words:
        write_text(folder / WORDS_SCRIPT, f"groveplat.receiveWords({as_script(words)});\n")


def script_words() -> dict[str, str]:
    """Each label in the running language; empty where all are as the scripts bring them."""
    labels = json.loads((shipped("site_template") / "bundle" / "labels.json").read_text("utf-8"))
    said = {name: str(say(text)) for name, text in labels.items()}
    return {} if said == labels else said
