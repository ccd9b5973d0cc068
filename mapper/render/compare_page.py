"""Any two stands side by side: figures, differences, distributions on one axis, both maps."""

import math
from dataclasses import asdict, dataclass

from markupsafe import Markup

from mapper.language import say
from mapper.render import words
from mapper.render.distributions import Distribution, distributions
from mapper.render.further_pairs import FurtherPair, kind_pairs, year_pairs
from mapper.render.quantities import Scale, measured, scales
from mapper.render.rows import Row as TableRow
from mapper.render.rows import number, rows_of, text
from mapper.render.sheets import Page, Site, page_of
from mapper.render.signed import change_texts
from mapper.render.site_files import as_script
from mapper.render.stand_figures import KINDS, Figure, Kind, half_width, stand_figures
from mapper.render.stands_table import StandsTable, stands_table
from mapper.render.structure_figures import COMPARED, RATIO
from mapper.summarise import Results
from mapper.summarise.comparison import SILENT

MOST_STANDS = 40


@dataclass(frozen=True)
class Row:
    """One figure of two stands."""

    label: str
    about: str  # the trade's word and the unit of the whole row
    left: str
    right: str
    difference: str
    range: str  # or why there is none


@dataclass(frozen=True)
class Pair:
    """Two stands, ready to read."""

    left: str
    right: str
    rows: tuple[Row, ...]
    sentences: tuple[str, ...]


@dataclass(frozen=True)
class Block:
    """One stand on one side."""

    stand: str
    file: str
    figures: tuple[Figure, ...]
    distributions: tuple[Distribution, ...]


@dataclass(frozen=True)
class ComparePage:
    """What compare.html shows."""

    page: Page
    stands: tuple[str, ...]
    not_all: str  # where some stands cannot be chosen, which can
    blocks: tuple[Block, ...]
    first: Pair
    pairs_json: Markup
    kinds: tuple[FurtherPair, ...]
    years: tuple[tuple[str, tuple[FurtherPair, ...]], ...]  # by stand
    table: StandsTable
    has_map: bool
    confidence: str


def compare_page(results: Results, site: Site) -> ComparePage:
    """Gather the comparison of every pair; a script shows the chosen one."""
    shown = scales(results.survey.units)
    pairs = _pairs(results, shown)
    stands = list(dict.fromkeys(pair.left for pair in pairs))
    about = say("{title}: stands side by side.").format(title=site.title)
    map_file, scripts = ("maps/compare.js", ()) if site.has_map else ("", ("assets/groveplat.js",))
    return ComparePage(
        page=page_of(site, "compare.html", about, map_file, scripts),
        stands=tuple(stands),
        not_all=_not_all(len(results.stands)),
        blocks=_blocks(results, site, shown, stands),
        first=pairs[0],
        # as_script leaves no < in the text, so nothing can end the data block.
        pairs_json=Markup(as_script({"pairs": [asdict(pair) for pair in pairs]})),
        kinds=kind_pairs(results, shown),
        years=_years(results, shown),
        table=stands_table(results, site, shown),
        has_map=site.has_map,
        confidence=words.confidence(results.trees),
    )


def _not_all(stands: int) -> str:
    if stands <= MOST_STANDS:
        return ""
    return say(
        "You can choose among the {most} stands with the most trees. All {stands} are in the table "
        "below."
    ).format(most=MOST_STANDS, stands=words.whole(stands))


def _years(
    results: Results, shown: dict[str, Scale]
) -> tuple[tuple[str, tuple[FurtherPair, ...]], ...]:
    told = results.comparison
    stands = told.loc[told["kind"] == "years", "stand"].drop_duplicates()
    return tuple((stand, year_pairs(results, shown, stand)) for stand in stands)


def _blocks(
    results: Results, site: Site, shown: dict[str, Scale], stands: list[str]
) -> tuple[Block, ...]:
    records = rows_of(results.stands)
    charts = distributions(results.classes, list(site.stand_files), shown, alike=True)
    return tuple(
        Block(text(row, "stand"), site.stand_files[text(row, "stand")], stand_figures(row, shown),
              charts[text(row, "stand")])
        for row in records
        if text(row, "stand") in stands
    )  # fmt: skip


def _pairs(results: Results, shown: dict[str, Scale]) -> tuple[Pair, ...]:
    rows = rows_of(results.stands)
    # Every pair is in the page; beyond this many stands no phone would open it.
    largest = sorted(rows, key=lambda row: -number(row, "trees"))[:MOST_STANDS]
    records = {text(row, "stand"): row for row in rows if row in largest}
    told: dict[frozenset[str], list[TableRow]] = {}
    for row in rows_of(results.comparison.query("kind == 'stands'")):
        told.setdefault(frozenset((text(row, "stand"), text(row, "other_stand"))), []).append(row)
    return tuple(
        _pair(told.get(frozenset((left, right)), []), (records[left], records[right]), shown)
        for left in records
        for right in records
        if left != right
    )


def _pair(
    comparison: list[TableRow],
    sides: tuple[TableRow, TableRow],
    shown: dict[str, Scale],
) -> Pair:
    left, right = (text(side, "stand") for side in sides)
    differences = _differences(comparison, left)
    rows = []
    for kind in (*KINDS, *COMPARED):
        change = differences.get(kind.column, (math.nan,) * 3)
        if row := _row(kind, sides, change, {**shown, "ratio": RATIO}[kind.scale]):
            rows.append(row)
    sentences = tuple(dict.fromkeys(filter(None, (text(row, "sentence") for row in comparison))))
    return Pair(left, right, tuple(rows), sentences)


def _row(
    kind: Kind,
    sides: tuple[TableRow, TableRow],
    change: tuple[float, float, float],
    scale: Scale,
) -> Row | None:
    """One figure of both stands; None where neither has it."""
    values = [
        measured(number(side, kind.column), half_width(side, kind.column), scale) for side in sides
    ]
    if not any(values):
        return None
    here, there = (value.bare if value else say("not known") for value in values)
    # No finer than the finer of the two figures, and no coarser.
    decimals = max(len(value.plain.partition(".")[2]) for value in values if value)
    difference, likely = change_texts(change, scale, decimals)
    about = ", ".join(filter(None, (say(kind.term), scale.unit)))
    return Row(
        say(kind.label), about, here, there, difference, likely or _why_no_range(kind, sides)
    )


def _why_no_range(kind: Kind, sides: tuple[TableRow, TableRow]) -> str:
    """Instead of an empty cell: what keeps us from saying how sure the difference is."""
    if kind.column in SILENT:
        return say("no range worked out")
    if not all(math.isfinite(number(side, kind.column)) for side in sides):
        return say("no difference known")
    if any(text(side, "design") == "chosen trees" for side in sides):
        return say("not known: not all trees counted")
    if any(text(side, "selection") == "by hand" for side in sides):
        return say("not known: plots chosen by hand")
    if kind.scale == "per_ha":
        return say("exact: trees were counted")
    counted = "trees_with_height" if kind.scale == "m" else "trees_with_diameter"
    missing = sum(number(side, "trees") - number(side, counted) for side in sides)
    if missing > 0:
        return words.counted(
            int(missing),
            "not known: {n} tree not measured",
            "not known: {n} trees not measured",
        )
    return say("not known")


def _differences(comparison: list[TableRow], left: str) -> dict[str, tuple[float, float, float]]:
    """Right less left; a pair that is listed the other way round is turned."""
    found = {}
    for row in comparison:
        difference, low, high = (number(row, name) for name in ("difference", "low", "high"))
        turned = text(row, "stand") != left
        change = (-difference, -high, -low) if turned else (difference, low, high)
        found[text(row, "quantity")] = change
    return found
