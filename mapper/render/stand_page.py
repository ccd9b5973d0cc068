"""A sheet for each stand: its figures, its distributions, its kinds of trees, its map."""

import math
from dataclasses import dataclass

import pandas as pd

from mapper.language import figure, later, say
from mapper.render import words
from mapper.render.distributions import Distribution, distributions
from mapper.render.further_pairs import FurtherPair, kind_pairs, year_pairs
from mapper.render.index_page import Key, TreeNote, key_of, tree_notes
from mapper.render.kinds_chart import KindsChart, kinds_chart
from mapper.render.quantities import Measured, Scale, measured, plain, scales
from mapper.render.rows import Row, number, rows_of, text
from mapper.render.scatter import Scatter, height_scatter
from mapper.render.sheets import Page, Site, has_places, page_of
from mapper.render.spread_chart import SpreadChart, spread_chart
from mapper.render.stand_figures import Figure, stand_figures, why_no_area_figures
from mapper.render.structure_figures import gaps, missing_words, structure_figures
from mapper.summarise import Results

DESIGNS = {
    "complete count": later("Those who measured say that they counted every tree."),
    "plots": later("Its trees were measured on {plots} sample plots, which stand for the rest."),
    "angle count": later(
        "Its trees were counted at {plots} points by an angle: thick trees from farther away than "
        "thin ones."
    ),
    "chosen trees": later(
        "Nobody said that every tree was counted: the figures are of these trees only."
    ),
}
SAMPLED = ("plots", "angle count")
BY_HAND = later(
    "They were chosen by hand, not by chance: how near the figures are, nobody can say."
)
# With so many plots the intervals of averages hold the truth nearly as often as they say.
ENOUGH_PLOTS = 40
GUESSED = later(
    "Nobody drew the edge of this stand, so its ground is a guess: straight lines around the "
    "outermost trees, and half the space between two trees beyond. Without that margin the number "
    "of trees is {without}, with twice as much {wide}. All numbers on a piece of ground lean on "
    "this guess."
)
FEW_PLOTS = later(
    "From few plots the averages of thickness are less sure than they look: tried on a mapped wood "
    "with 5 to 30 plots, their ranges held the truth only 83 to 92 times in 100, not 95."
)


@dataclass(frozen=True)
class SpeciesRow:
    """A kind of tree in one stand."""

    name: str
    common: str
    trees: str
    share: str
    area_share: str
    importance: str
    stoutest: Measured | None
    tallest: Measured | None


@dataclass(frozen=True)
class StandPage:
    """What a stand's page shows."""

    page: Page
    stand: str
    lede: str
    design: str
    facts: tuple[tuple[str, str], ...]
    figures: tuple[Figure, ...]
    structure: tuple[Figure, ...]
    few_plots: str
    guessed: str
    missing: str
    gaps: tuple[tuple[str, str], ...]
    no_area: str
    distributions: tuple[Distribution, ...]
    kinds_chart: KindsChart | None
    scatter: Scatter | None
    spread: SpreadChart | None
    species: tuple[SpeciesRow, ...]
    years: tuple[FurtherPair, ...]
    kinds: tuple[FurtherPair, ...]  # by pairs
    has_map: bool
    tree_notes: tuple[TreeNote, ...]
    key: Key
    units: tuple[str, str]
    confidence: str


def stand_page(results: Results, site: Site, row: Row) -> StandPage:
    """Gather one stand's sheet."""
    stand = text(row, "stand")
    shown = scales(results.survey.units)
    trees = site.trees_in(stand, results.trees)
    has_map = has_places(trees)
    file = site.stand_files[stand]
    lede = words.opening(trees)
    return StandPage(
        page=page_of(site, file, f"{stand}: {lede}", map_file(file) if has_map else ""),
        stand=stand,
        lede=lede,
        design=_design(row),
        facts=_facts(row, shown),
        figures=stand_figures(row, shown),
        structure=structure_figures(row, shown),
        few_plots=_few_plots(row),
        guessed=_guessed(row, shown),
        missing=missing_words(row),
        gaps=gaps(row, results.reasons),
        no_area=why_no_area_figures(row),
        distributions=distributions(results.classes, [stand], shown, alike=False)[stand],
        kinds_chart=_kinds_chart(results, site, stand, shown),
        spread=spread_chart(results.spread[results.spread["stand"] == stand], shown["m"]),
        scatter=height_scatter(
            trees, shown, _curve(results, stand), results.survey.measure.breast_height
        ),
        species=species_rows(results.species, stand, shown),
        years=year_pairs(results, shown, stand),
        kinds=kind_pairs(results, shown, stand),
        has_map=has_map,
        tree_notes=tree_notes(trees, shown),
        key=key_of(trees, site),
        units=(shown["cm"].unit, shown["m"].unit),
        confidence=words.confidence(trees),
    )


def _curve(results: Results, stand: str) -> Row:
    """The height curve of the stand, empty where none was fitted."""
    curves = results.height_curves
    return next(iter(rows_of(curves[curves["stand"] == stand])), {})


def _kinds_chart(
    results: Results, site: Site, stand: str, shown: dict[str, Scale]
) -> KindsChart | None:
    table, classes = results.species_classes, results.classes
    thick = (classes["stand"] == stand) & (classes["quantity"] == "diameter")
    mine = table[table["stand"] == stand]
    title: str = say("Thickness by kind: trees in each class")
    if results.stands.set_index("stand")["plots"].notna()[stand]:  # the trees stand for others
        per_area = shown["per_ha"]
        title = say("Thickness by kind: trees {per_area}").format(per_area=per_area.unit)
        mine = mine.assign(trees=mine["per_ha"] * per_area.factor)
    return kinds_chart(mine, classes[thick], site.groups, shown["cm"], title)


def _design(row: Row) -> str:
    """How the trees came into the survey, and what that means for the figures."""
    design = text(row, "design")
    plots = number(row, "plots")
    counted = words.whole(int(plots)) if math.isfinite(plots) else say("some")
    told = say(DESIGNS.get(design, "")).format(plots=counted)
    if design in SAMPLED and text(row, "selection") == "by hand":
        return f"{told} {say(BY_HAND)}"
    return told


def _few_plots(row: Row) -> str:
    """What ranges of averages from few plots are worth."""
    drawn = text(row, "design") == "plots" and text(row, "selection") != "by hand"
    return say(FEW_PLOTS) if drawn and 1 < number(row, "plots") < ENOUGH_PLOTS else ""


def _guessed(row: Row, shown: dict[str, Scale]) -> str:
    """That the area is a guess, and what another guess would make of the number of trees."""
    if text(row, "area_from") != "trees":
        return ""
    stems, area = number(row, "stems_per_ha"), number(row, "area_ha")
    other = [
        plain(stems * area / number(row, name), shown["per_ha"])
        for name in ("area_without_margin_ha", "area_with_twice_margin_ha")
    ]
    return say(GUESSED).format(without=other[0], wide=other[1])


def map_file(page_file: str) -> str:
    """Where the map script of a page lies."""
    return f"maps/{page_file.removesuffix('.html')}.js"


def _facts(row: Row, shown: dict[str, Scale]) -> tuple[tuple[str, str], ...]:
    dead = number(row, "dead_trees")
    facts = [
        (say("Living trees"), words.whole(int(number(row, "trees")))),
        (say("Dead, standing"), words.whole(int(dead)) if math.isfinite(dead) and dead else ""),
        (_plots_label(row), _plots_count(row)),
        (say("Ground"), plain(number(row, "area_ha"), shown["ha"])),
        (say("Kinds of trees"), words.whole(int(number(row, "species_count")))),
        (say("Year"), text(row, "period")),
    ]
    return tuple((label, value) for label, value in facts if value)


def _plots_label(row: Row) -> str:
    return say("Points") if text(row, "design") == "angle count" else say("Plots")


def _plots_count(row: Row) -> str:
    plots = number(row, "plots")
    return words.whole(int(plots)) if math.isfinite(plots) else ""


def species_rows(
    species: pd.DataFrame, stand: str, shown: dict[str, Scale]
) -> tuple[SpeciesRow, ...]:
    """The kinds of one stand, commonest first."""
    chosen = species[species["stand"] == stand].sort_values(
        ["trees", "species"], ascending=[False, True]
    )
    return tuple(_species_row(row, shown) for row in rows_of(chosen))


def _species_row(row: Row, shown: dict[str, Scale]) -> SpeciesRow:
    return SpeciesRow(
        name=text(row, "species"),
        common=text(row, "common_name"),
        trees=words.whole(int(number(row, "trees"))),
        share=percent(number(row, "share_stems")),
        area_share=percent(number(row, "share_basal_area")),
        importance=_importance(number(row, "importance_value")),
        stoutest=measured(number(row, "stoutest_cm"), math.nan, shown["cm"]),
        tallest=measured(number(row, "tallest_m"), math.nan, shown["m"]),
    )


def _importance(value: float) -> str:
    return figure(value, ".0f") if math.isfinite(value) else ""


def percent(share: float) -> str:
    """A share of 1 as per cent; never 0 for something that is there."""
    if not math.isfinite(share):
        return ""
    return "<1 %" if 0 < share < 0.005 else f"{figure(share * 100, '.0f')} %"
