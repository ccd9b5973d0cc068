"""Who measured: the names in the records, and the codes that stand for them on the site."""

import csv
import io
import re
import secrets
from collections.abc import Iterable, Mapping
from pathlib import Path

import pandas as pd

from mapper.errors import InputError
from mapper.survey import stand_key
from mapper.survey_files import PRIVATE

CODES_FILE = f"{PRIVATE}/codes.csv"
HEADING = ["observer", "code"]
# No letters that are taken for digits, and no vowels: a code is never a word.
LETTERS = "BCDFGHJKMNPQRSTVWXZ23456789"
LENGTH = 4
ADVICE = "Mend the file, or delete it: new codes are drawn then, and old ones are lost."


def split_names(cell: str) -> list[str]:
    """The people of one cell: they are set apart by ; or |, as two names may share a comma."""
    return [name for name in (" ".join(part.split()) for part in re.split(r"[;|]", cell)) if name]


def name_key(name: str) -> str:
    """By this two spellings of a name are one person: case and spaces do not count."""
    return stand_key(name)


def people_in(cells: Iterable[str]) -> list[str]:
    """Everyone named in some cells, each once, in their order."""
    known: dict[str, str] = {}
    for cell in dict.fromkeys(cells):
        for name in split_names(cell):
            known.setdefault(name_key(name), name)
    return list(known.values())


def observer_codes(folder: Path, observers: "pd.Series[str]") -> dict[str, str]:
    """A code for each observer, by the key of the name.

    Codes are drawn by chance, once, and kept in private/codes.csv of the survey folder: nobody can
    work a name out of its code, and a person keeps the same code. The file is never published.
    """
    file = folder / CODES_FILE
    known = _read(file) if file.exists() else {}
    codes = {name_key(name): code for name, code in known.items()}
    new = [name for name in people_in(observers) if name_key(name) not in codes]
    if new:
        drawn = _drawn(new, set(codes.values()))
        _write(file, {**known, **drawn})
        codes |= {name_key(name): code for name, code in drawn.items()}
    return codes


def _drawn(names: Iterable[str], taken: set[str]) -> dict[str, str]:
    drawn: dict[str, str] = {}
    for name in names:
        code = _draw()
        while code in taken:
            code = _draw()
        taken.add(code)
        drawn[name] = code
    return drawn


def _draw() -> str:
    return "".join(secrets.choice(LETTERS) for _ in range(LENGTH))


def _read(file: Path) -> dict[str, str]:
    try:
        table = list(csv.reader(io.StringIO(file.read_text("utf-8-sig"), newline="")))
    except (UnicodeDecodeError, csv.Error) as error:
        raise InputError(f"{file}: cannot be read as csv in UTF-8 ({error}). {ADVICE}") from error
    if not table or [cell.strip() for cell in table[0]] != HEADING:
        raise InputError(f"{file}: the first row is not 'observer,code'. {ADVICE}")
    known: dict[str, str] = {}
    for line, cells in enumerate(table[1:], start=2):
        if not any(cell.strip() for cell in cells):
            continue
        if len(cells) != len(HEADING) or not all(cell.strip() for cell in cells):
            raise InputError(f"{file}, row {line}: wants an observer and a code. {ADVICE}")
        known[cells[0].strip()] = cells[1].strip()
    _refuse_names(file, known)
    return known


def _refuse_names(file: Path, known: Mapping[str, str]) -> None:
    names = {name_key(name) for name in known}
    for name, code in known.items():
        if name_key(code) in names:
            raise InputError(
                f"{file}: the code of '{name}' is '{code}', the name of an observer. "
                "A code is published: write something that names nobody."
            )


def _write(file: Path, codes: Mapping[str, str]) -> None:
    """Write beside the old file and exchange them: a code once drawn must not be lost."""
    file.parent.mkdir(exist_ok=True)
    fresh = file.with_suffix(".new")
    with fresh.open("w", encoding="utf-8", newline="") as out:
        csv.writer(out, lineterminator="\n").writerows([HEADING, *codes.items()])
    fresh.replace(file)
