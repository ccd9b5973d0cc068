"""For translators: gather every text of the site and bring the catalogues up to date.

    python -m mapper.catalogue          # after a text was changed or added: updates every language
    python -m mapper.catalogue fr       # begins a new language

It needs a checkout: an installed package has no page scripts to read.
"""

import csv
import json
import sys
from collections.abc import Collection, Iterator
from io import BytesIO
from pathlib import Path

from babel.messages.catalog import Catalog, Message
from babel.messages.extract import extract_from_dir
from babel.messages.pofile import read_po, write_po

from mapper.language import CATALOGUES, FILE, OWN, languages

CHECKOUT = Path(__file__).parents[1]
KEYWORDS = {
    "_": None,
    "gettext": None,
    "say": None,
    "later": None,
    "say_count": (1, 2),
    "counted": (2, 3),
    "ngettext": (1, 2),
}
TEXTS = {
    "mapper/**.py": "python",
    "site_template/pages/**.html": "jinja2",
    "site_template/scripts/labels.json": "mapper.catalogue:labels_of",
    "mapper/reference/licences.csv": "mapper.catalogue:column_of",
    "mapper/reference/size_classes.csv": "mapper.catalogue:column_of",
}
OPTIONS = {
    "site_template/pages/**.html": {"trimmed": "true", "silent": "false"},
    "mapper/reference/licences.csv": {"column": "asks"},
    "mapper/reference/size_classes.csv": {"column": "name"},
}
LINE = 100


def labels_of(
    file: BytesIO, keywords: Collection[str], comments: Collection[str], options: object
) -> Iterator[tuple[int, str, str, list[str]]]:
    """The words of the page's scripts, for Babel: line, function, text, comments."""
    labels = json.loads(file.read().decode("utf-8"))
    yield from ((line, "_", text, [f"{name} (script)"]) for line, (name, text) in
                enumerate(labels.items(), 2))  # fmt: skip


def column_of(
    file: BytesIO, keywords: Collection[str], comments: Collection[str], options: dict[str, str]
) -> Iterator[tuple[int, str, str, list[str]]]:
    """The texts in a column of a reference table, for Babel."""
    table = csv.DictReader(file.read().decode("utf-8").splitlines())
    yield from ((line, "_", row[options["column"]], []) for line, row in enumerate(table, 2))


def template() -> Catalog:
    """Every text of the site, each with the files it stands in."""
    found = Catalog(project="groveplat", charset="utf-8")
    for file, _, text, comments, context in extract_from_dir(
        CHECKOUT, list(TEXTS.items()), OPTIONS, KEYWORDS, ["Translators:"],
        directory_filter=lambda folder: Path(folder).name not in {"node_modules", "tests", "demo"},
    ):  # fmt: skip
        if text:
            found.add(text, None, [(file, 0)], auto_comments=comments, context=context)
    return found


def catalogue(language: str) -> Catalog:
    """The catalogue of a language as its translators left it."""
    with (CATALOGUES / language / FILE).open("rb") as lines:
        return read_po(lines, locale=language)


def update(language: str, texts: Catalog) -> Catalog:
    """Add new texts to a catalogue, with nothing beside them, and drop what is no longer said."""
    file = CATALOGUES / language / FILE
    known = catalogue(language) if file.exists() else Catalog(language, project="groveplat")
    made = known.creation_date
    known.update(texts, no_fuzzy_matching=True, update_header_comment=False)
    known.creation_date = made  # a date that changes at each update tells nobody anything
    known.fuzzy = False
    known.obsolete.clear()
    file.parent.mkdir(parents=True, exist_ok=True)
    with file.open("wb") as lines:
        write_po(lines, known, width=LINE, sort_by_file=True, include_lineno=False)
    return known


def missing(known: Catalog) -> list[str]:
    """Texts without a translation that is finished, in English."""
    return [
        message.id if isinstance(message.id, str) else message.id[0]
        for message in known
        if message.id and (message.fuzzy or not all(forms(message)))
    ]


def forms(message: Message) -> tuple[str, ...]:
    """What is said: one text, or one for each number; empty ones for those not translated yet."""
    said = message.string or ""
    return (said,) if isinstance(said, str) else tuple(form or "" for form in said)


def main(wanted: list[str]) -> None:
    """Update the named languages, or all."""
    texts = template()
    for language in wanted or [tag for tag in languages() if tag != OWN]:
        left = missing(update(language, texts))
        print(f"{CATALOGUES / language / FILE}: {len(texts)} texts, {len(left)} to translate")


if __name__ == "__main__":
    main(sys.argv[1:])
