"""How a stand is built: crowding, inequality, mixture, spacing; and what could not be said."""

import math

import pandas as pd

from mapper.render import words
from mapper.render.quantities import Scale, measured
from mapper.render.rows import Row, number, rows_of, text
from mapper.render.stand_figures import KINDS, SQUARES, Figure, Kind, half_width, some_lack

SLENDER = {"ha": "25.4 cm", "acres": "10 in"}
RATIO = Scale(1.0, "", 2)

STRUCTURE = (
    Kind("top_height_m", "Height of the thickest trees", "top height",
         "The average height of the thickest trees, as many as would be {top} on {square}.",
         "m", "top_height"),
    Kind("stand_density_index", "Crowding", "stand density index",
         "As crowded as this many trees of {slender} on {square}.",
         "per_ha", "stand_density_index"),
    Kind("stand_density_index_summed", "Crowding, tree by tree", "summed stand density index",
         "The same, added up tree by tree: lower where thin and thick trees stand together.",
         "per_ha", "stand_density_index_summed"),
    Kind("relative_spacing", "Room between the trees", "relative spacing",
         "The average way from tree to tree, in parts of the height of the thickest.",
         "ratio", "relative_spacing"),
    Kind("gini_basal_area", "Thick and thin together", "Gini coefficient of basal area",
         "0 when all stems are alike, near 1 when a few hold nearly all of the wood.",
         "ratio", "gini_basal_area"),
    Kind("shannon", "Mixture of kinds", "Shannon index",
         "0 with one kind alone; it grows with the kinds and with how alike their numbers are.",
         "ratio", "shannon"),
    Kind("evenness", "Balance of the kinds", "evenness",
         "1 when every kind has as many trees as the next, near 0 when one outnumbers all.",
         "ratio", "evenness"),
    Kind("simpson", "Two trees of two kinds", "Simpson index",
         "How likely two trees, picked blindly, are of different kinds: 0 never, 1 always.",
         "ratio", "simpson"),
    Kind("clark_evans", "Spread over the ground", "Clark-Evans index",
         "1 as if strewn by chance, below it in clumps, above it in even steps. Uncorrected: trees "
         "past the edge were not looked at, which lifts it a little.",
         "ratio", "clark_evans"),
    Kind("clark_evans_donnelly", "Spread, allowing for the edge", "Clark-Evans after Donnelly",
         "The same with an allowance for the edge, made for rectangles.",
         "ratio", "clark_evans_donnelly"),
    Kind("clark_evans_edge", "Spread, within the edge", "Clark-Evans, edge-corrected",
         "The same, where each tree looks only as far as the edge of the stand.",
         "ratio", "clark_evans"),
)  # fmt: skip
# The page says once, above, why a stand has no figure per hectare.
TOLD_ABOVE = ("the trees were chosen", "its area is not known", "trees chosen by hand")


def structure_figures(row: Row, scales: dict[str, Scale]) -> tuple[Figure, ...]:
    """The figures of structure that exist for one row of the stands table."""
    shown = {**scales, "ratio": RATIO}
    found = []
    for kind in STRUCTURE:
        value = measured(number(row, kind.column), half_width(row, kind.column), shown[kind.scale])
        if value is not None:
            meaning = kind.meaning.format(**_words(scales))
            least = kind.column == "stand_density_index_summed" and some_lack(row)
            prefix = "at least" if least else ""
            found.append(Figure(kind, meaning, value, prefix, _working(kind, row, value.number)))
    return tuple(found)


def _words(scales: dict[str, Scale]) -> dict[str, str]:
    unit = scales["ha"].unit
    top = 100 * scales["per_ha"].factor
    return {"square": SQUARES[unit], "slender": SLENDER[unit], "top": f"{top:.0f}"}


def _working(kind: Kind, row: Row, value: str) -> str:
    """Where the number comes from, in a line."""
    trees = words.counted(_count(row, "trees"), "tree")
    sized = words.counted(_count(row, "trees_with_diameter"), "diameter")
    species = words.counted(_count(row, "species_count"), "kind")
    of_kinds = f"the shares of {species} among {trees}"
    to_nearest = f"the way from each of {trees} to its nearest, against what chance would give"
    origin = {
        "top_height_m": "the thickest stems put first, their heights averaged",
        "stand_density_index": "stems on the ground and the thickness of the average stem",
        "stand_density_index_summed": f"a part for each of {sized}, added up",
        "relative_spacing": "the square root of the ground of one tree, through the top height",
        "gini_basal_area": f"the cut faces of {sized}, each against every other",
        "shannon": of_kinds,
        "evenness": "the Shannon index, through the greatest that so many kinds allow",
        "simpson": of_kinds,
    }.get(kind.column, to_nearest)
    return f"{origin} = {value}"


def missing_words(row: Row) -> str:
    """How many living trees lack a size, and where the dead ones are."""
    trees, sized = _count(row, "trees"), _count(row, "trees_with_diameter")
    tall = _count(row, "trees_with_height")
    counts = []
    if min(sized, tall) < trees:
        counts.append(
            f"Of {words.counted(trees, 'living tree')}, {words.whole(sized)} have a thickness that "
            f"can be used and {words.whole(tall)} a height."
        )
    dead = _count(row, "dead_trees")
    if dead:
        still = "dead tree still stands" if dead == 1 else "dead trees still stand"
        they = "it is" if dead == 1 else "they are"
        counts.append(f"{words.whole(dead)} {still}; {they} in none of these figures.")
    return " ".join(counts)


def gaps(row: Row, reasons: pd.DataFrame) -> tuple[tuple[str, str], ...]:
    """The figures that the stand does not have, each with the reason, alike reasons together."""
    labels = {kind.column: kind.label for kind in (*KINDS, *STRUCTURE)}
    of_stand = reasons[(reasons["table"] == "stands") & (reasons["id"] == text(row, "stand"))]
    found: dict[str, list[str]] = {}
    for gap in rows_of(of_stand.drop_duplicates("column")):
        column, reason = text(gap, "column"), text(gap, "reason")
        empty = math.isnan(number(row, column))
        if column in labels and empty and not reason.startswith(TOLD_ABOVE):
            found.setdefault(reason, []).append(labels[column])
    return tuple((", ".join(names), reason) for reason, names in found.items())


def _count(row: Row, column: str) -> int:
    value = number(row, column)
    return int(value) if math.isfinite(value) else 0
