"""Every tree as a row: for everyone, and for readers who cannot see the map."""

import math
from collections.abc import Iterator
from dataclasses import dataclass

from mapper.language import say
from mapper.render import words
from mapper.render.age_words import age_ends, age_span, growth_in_girth
from mapper.render.quantities import Measured, Scale, measured, scales
from mapper.render.rows import Row, number, rows_of, text
from mapper.render.sheets import Page, Site, page_of
from mapper.render.tree_data import date_texts, group_indexes, size_column
from mapper.summarise import Results

ROWS_PER_PAGE = 1000


@dataclass(frozen=True)
class TreeRow:
    """One tree."""

    tree: str
    species: str
    common: str
    stand: str
    girth: Measured | None
    diameter: Measured | None
    height: Measured | None
    size: str
    age: str
    age_low: int | None
    growth: Measured | None
    date: str
    doubts: int
    indexes: tuple[int, int, int]  # species, stand, size


@dataclass(frozen=True)
class TreesPage:
    """One part of the table."""

    page: Page
    file: str
    part: int
    files: tuple[str, ...]
    rows: tuple[TreeRow, ...]
    units: tuple[str, str]
    sure: tuple[bool, bool]  # whether any diameter, any height has a ±
    aged: tuple[bool, bool]  # whether any tree has an age, any a growth
    confidence: str


def trees_pages(results: Results, site: Site) -> Iterator[TreesPage]:
    """The table in parts that a phone can hold."""
    rows = _rows(results, site)
    shown = scales(results.survey.units)
    starts = range(0, max(len(rows), 1), ROWS_PER_PAGE)
    files = tuple("trees.html" if n == 0 else f"trees-{n + 1}.html" for n in range(len(starts)))
    about = say("{title}: all {trees}.").format(title=site.title, trees=words.trees(len(rows)))
    page = page_of(site, "trees.html", about, scripts=("assets/groveplat.js",))
    sure = (
        bool(results.trees["diameter_sd_cm"].notna().any()),
        bool(results.trees["height_sd_m"].notna().any()),
    )
    aged = (
        bool(results.trees["age_years"].notna().any()),
        bool(results.trees["growth_girth_cm_per_year"].notna().any()),
    )
    for part, start in enumerate(starts):
        yield TreesPage(
            page=page,
            file=files[part],
            part=part + 1,
            files=files,
            rows=tuple(rows[start : start + ROWS_PER_PAGE]),
            units=(shown["cm"].unit, shown["m"].unit),
            sure=sure,
            aged=aged,
            confidence=words.confidence(results.trees),
        )


def _rows(results: Results, site: Site) -> list[TreeRow]:
    shown = scales(results.survey.units)
    sizes = size_column(results.trees)
    dates = date_texts(results.trees["date"])
    indexes = group_indexes(results.trees, site.groups).itertuples(index=False, name=None)
    records = rows_of(results.trees)
    return [
        _row(record, shown, (text(record, sizes), date), index)
        for record, date, index in zip(records, dates, indexes, strict=True)
    ]


def _row(
    record: Row,
    shown: dict[str, Scale],
    texts: tuple[str, str],
    indexes: tuple[int, int, int],
) -> TreeRow:
    sd_cm, sd_m = number(record, "diameter_sd_cm"), number(record, "height_sd_m")
    ends = age_ends(record)
    return TreeRow(
        tree=text(record, "tree"),
        species=text(record, "species"),
        common=text(record, "common_name"),
        stand=text(record, "stand"),
        girth=measured(number(record, "girth_cm"), math.nan, shown["cm"]),
        diameter=measured(number(record, "diameter_cm"), 2 * sd_cm, shown["cm"]),
        height=measured(number(record, "height_m"), 2 * sd_m, shown["m"]),
        size=say(texts[0]),
        age=age_span(record),
        age_low=ends[0] if ends else None,
        growth=growth_in_girth(record, shown["cm"]),
        date=texts[1],
        doubts=int(number(record, "finding_count") or 0),
        indexes=indexes,
    )
