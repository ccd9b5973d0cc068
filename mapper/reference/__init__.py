"""Tables that ship with the package. Every row says where it was read, or that it was not."""

import csv
from dataclasses import dataclass
from functools import cache
from pathlib import Path

from mapper.errors import TableError

FOLDER = Path(__file__).parent
NO_SOURCE = "common practice, no source"


@dataclass(frozen=True)
class Source:
    """A publication, and how much of it was read."""

    key: str
    citation: str
    link: str
    read_on: str


@cache
def sources() -> dict[str, Source]:
    """All publications that tables, formulas and tests may name, by key."""
    found: dict[str, Source] = {}
    for line, row in _lines(FOLDER / "sources.csv"):
        if row["key"] in found:
            raise TableError(f"sources.csv line {line}: key '{row['key']}' stands twice. Keep one.")
        found[row["key"]] = Source(**row)
    return found


@cache
def rows(name: str) -> tuple[dict[str, str], ...]:
    """Rows of one reference table, for instance ``rows("units")``, as text."""
    return read_rows(FOLDER / f"{name}.csv")


def read_rows(path: Path) -> tuple[dict[str, str], ...]:
    """Rows of a table whose column ``source``, if it has one, must hold known keys."""
    table = _lines(path)
    for line, row in table:
        source = row.get("source", NO_SOURCE)
        if source != NO_SOURCE and source not in sources():
            raise TableError(
                f"{path.name} line {line}: source '{source}' is not a key in sources.csv. "
                f"Add it there first."
            )
    return tuple(row for _, row in table)


def _lines(path: Path) -> list[tuple[int, dict[str, str]]]:
    """Rows with the line each ends on; a row with a comma too many or too few is refused."""
    if not path.exists():
        known = ", ".join(sorted(file.stem for file in FOLDER.glob("*.csv")))
        raise TableError(f"there is no reference table '{path.stem}'. Known tables: {known}.")
    with path.open(encoding="utf-8", newline="") as file:
        reader = csv.reader(file)
        heading = next(reader)
        table = []
        for cells in reader:
            if len(cells) != len(heading):
                raise TableError(
                    f"{path.name} line {reader.line_num}: {len(cells)} cells where the heading "
                    f"has {len(heading)}. Check its commas and quotes."
                )
            table.append((reader.line_num, dict(zip(heading, cells, strict=True))))
    return table
