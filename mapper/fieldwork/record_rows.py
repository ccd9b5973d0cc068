"""Rows of the printed record sheets; their headings are ones that the reader of tables knows."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from mapper.fieldwork.stops import Stop

# Heading as printed; width in mm. What is typed in under these headings reads back as it is.
RECORD_COLUMNS = {
    "metric": (
        ("tree", 18), ("species", 42), ("girth (cm)", 22), ("measured how", 25),
        ("baseline (m)", 24), ("angle top (°)", 23), ("angle base (°)", 24),
        ("height (m)", 22), ("note", 70),
    ),
    "us": (
        ("tree", 18), ("species", 42), ("girth (in)", 22), ("measured how", 25),
        ("baseline (ft)", 24), ("angle top (°)", 23), ("angle base (°)", 24),
        ("height (ft)", 22), ("note", 70),
    ),
}  # fmt: skip
ROWS_A_PAGE = 10
BLANK_PAGES = 2
CM_PER_INCH = 2.54


@dataclass(frozen=True)
class Row:
    """A printed row: what stands in it already."""

    stop: str
    tree: str
    species: str
    last_girth: str
    where: str


def heading_cells(units: str) -> tuple[tuple[str, int], ...]:
    """Headings of the record sheet with the widths of their columns in mm."""
    return RECORD_COLUMNS[units]


def blank_pages() -> list[list[Row]]:
    """Empty rows for trees that nobody recorded before."""
    return [[Row("", "", "", "", "")] * ROWS_A_PAGE] * BLANK_PAGES


def prefilled_pages(stops: Sequence[Stop], units: str, show_last: bool) -> list[list[Row]]:
    """Two rows a tree, in the order of the walk: every height is sighted twice."""
    rows = [row for stop in stops for row in _two_rows(stop, units, show_last)]
    return [rows[at : at + ROWS_A_PAGE] for at in range(0, len(rows), ROWS_A_PAGE)]


def _two_rows(stop: Stop, units: str, show_last: bool) -> tuple[Row, Row]:
    last = last_girth(stop.girth_cm, units) if show_last else ""
    where = " · ".join(part for part in (stop.stand, stop.why) if part)
    first = Row(str(stop.number or ""), stop.tree, stop.name, last, where)
    return first, Row("", stop.tree, "", "", "second height, from another side")


def last_girth(girth_cm: float, units: str) -> str:
    """A girth as it was last found, `157 cm` or `61.8 in`; empty if it never was."""
    if math.isnan(girth_cm):
        return ""
    return f"{girth_cm / CM_PER_INCH:.1f} in" if units == "us" else f"{girth_cm:.0f} cm"
