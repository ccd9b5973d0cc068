"""How a stand is built: crowding, inequality, mixture, spacing; and what could not be said."""

import math

import pandas as pd

from mapper.language import figure, later, say, say_count
from mapper.render import words
from mapper.render.quantities import Scale, measured, plain
from mapper.render.rows import Row, number, rows_of, text
from mapper.render.stand_figures import KINDS, Figure, Kind, half_width, some_lack, square
from mapper.summarise import reasons as reasons_why

RATIO = Scale(1.0, "", 2)

STRUCTURE = (
    Kind(
        "top_height_m",
        later("Height of the thickest trees"),
        later("top height"),
        later("The average height of the thickest trees, as many as would be {top} on {square}."),
        "m",
        "top_height",
    ),
    Kind(
        "stand_density_index",
        later("Crowding"),
        later("stand density index"),
        later("As crowded as this many trees of {slender} on {square}."),
        "per_ha",
        "stand_density_index",
    ),
    Kind(
        "stand_density_index_summed",
        later("Crowding, tree by tree"),
        later("summed stand density index"),
        later("The same, added up tree by tree: lower where thin and thick trees stand together."),
        "per_ha",
        "stand_density_index_summed",
    ),
    Kind(
        "relative_spacing",
        later("Room between the trees"),
        later("relative spacing"),
        later("The average way from tree to tree, in parts of the height of the thickest."),
        "ratio",
        "relative_spacing",
    ),
    Kind(
        "gini_basal_area",
        later("Thick and thin together"),
        later("Gini coefficient of basal area"),
        later("0 when all stems are alike, near 1 when a few hold nearly all of the wood."),
        "ratio",
        "gini_basal_area",
    ),
    Kind(
        "shannon",
        later("Mixture of kinds"),
        later("Shannon index"),
        later(
            "0 with one kind alone; it grows with the kinds and with how alike their numbers are."
        ),
        "ratio",
        "shannon",
    ),
    Kind(
        "evenness",
        later("Balance of the kinds"),
        later("evenness"),
        later("1 when every kind has as many trees as the next, near 0 when one outnumbers all."),
        "ratio",
        "evenness",
    ),
    Kind(
        "simpson",
        later("Two trees of two kinds"),
        later("Simpson index"),
        later("How likely two trees, picked blindly, are of different kinds: 0 never, 1 always."),
        "ratio",
        "simpson",
    ),
    Kind(
        "clark_evans",
        later("Spread over the ground"),
        later("Clark-Evans index"),
        later(
            "1 as if strewn by chance, below it in clumps, above it in even steps. Uncorrected: "
            "trees past the edge were not looked at, which lifts it a little."
        ),
        "ratio",
        "clark_evans",
    ),
    Kind(
        "clark_evans_donnelly",
        later("Spread, allowing for the edge"),
        later("Clark-Evans after Donnelly"),
        later("The same with an allowance for the edge, made for rectangles."),
        "ratio",
        "clark_evans_donnelly",
    ),
    Kind(
        "clark_evans_edge",
        later("Spread, within the edge"),
        later("Clark-Evans, edge-corrected"),
        later("The same, where each tree looks only as far as the edge of the stand."),
        "ratio",
        "clark_evans",
    ),
)
# Those that are compared between stands and years, too.
COMPARED = tuple(
    kind
    for kind in STRUCTURE
    if kind.column
    in ("top_height_m", "stand_density_index", "gini_basal_area", "shannon", "simpson")
)
# The page says once, above, why a stand has no figure per hectare.
TOLD_ABOVE = (reasons_why.CHOSEN, reasons_why.NO_AREA, reasons_why.CHOSEN_BY_HAND)


def structure_figures(row: Row, scales: dict[str, Scale]) -> tuple[Figure, ...]:
    """The figures of structure that exist for one row of the stands table."""
    shown = {**scales, "ratio": RATIO}
    found = []
    for kind in STRUCTURE:
        value = measured(number(row, kind.column), half_width(row, kind.column), shown[kind.scale])
        if value is not None:
            meaning = say(kind.meaning).format(**_words(scales))
            least = kind.column == "stand_density_index_summed" and some_lack(row)
            prefix = say("at least") if least else ""
            found.append(Figure(kind, meaning, value, prefix, _working(kind, row, value.number)))
    return tuple(found)


def _words(scales: dict[str, Scale]) -> dict[str, str]:
    top = 100 * scales["per_ha"].factor
    metric = scales["ha"].factor == 1
    slender = plain(25.4, scales["cm"]) if metric else say("10 in")
    return {"square": square(scales), "slender": slender, "top": figure(top, ".0f")}


def _working(kind: Kind, row: Row, value: str) -> str:
    """Where the number comes from, in a line."""
    return say(WORKINGS.get(kind.column, TO_NEAREST)).format(
        trees=words.trees(_count(row, "trees")),
        diameters=words.counted(
            _count(row, "trees_with_diameter"), "{n} diameter", "{n} diameters"
        ),
        kinds=words.counted(_count(row, "species_count"), "{n} kind", "{n} kinds"),
        result=value,
    )


OF_KINDS = later("the shares of {kinds} among {trees} = {result}")
TO_NEAREST = later(
    "the way from each of {trees} to its nearest, against what chance would give = {result}"
)
WORKINGS = {
    "top_height_m": later("the thickest stems put first, their heights averaged = {result}"),
    "stand_density_index": later(
        "stems on the ground and the thickness of the average stem = {result}"
    ),
    "stand_density_index_summed": later("a part for each of {diameters}, added up = {result}"),
    "relative_spacing": later(
        "the square root of the ground of one tree, through the top height = {result}"
    ),
    "gini_basal_area": later("the cut faces of {diameters}, each against every other = {result}"),
    "shannon": OF_KINDS,
    "evenness": later(
        "the Shannon index, through the greatest that so many kinds allow = {result}"
    ),
    "simpson": OF_KINDS,
}


def missing_words(row: Row) -> str:
    """How many living trees lack a size, and where the dead ones are."""
    trees, sized = _count(row, "trees"), _count(row, "trees_with_diameter")
    tall = _count(row, "trees_with_height")
    counts = []
    if min(sized, tall) < trees:
        some = say(
            "Of {trees}, {sized} have a thickness that can be used and {tall} a height."
        ).format(trees=words.living_trees(trees), sized=words.whole(sized), tall=words.whole(tall))
        counts.append(some)
    dead = _count(row, "dead_trees")
    if dead:
        standing = say_count(
            "{n} dead tree still stands; it is in none of these figures.",
            "{n} dead trees still stand; they are in none of these figures.",
            dead,
        )
        counts.append(standing.format(n=words.whole(dead)))
    return " ".join(counts)


def gaps(row: Row, reasons: pd.DataFrame) -> tuple[tuple[str, str], ...]:
    """The figures that the stand does not have, each with the reason, alike reasons together."""
    labels = {kind.column: say(kind.label) for kind in (*KINDS, *STRUCTURE)}
    told_above = {say(text) for text in TOLD_ABOVE}
    of_stand = reasons[(reasons["table"] == "stands") & (reasons["id"] == text(row, "stand"))]
    found: dict[str, list[str]] = {}
    for gap in rows_of(of_stand.drop_duplicates("column")):
        column, reason = text(gap, "column"), text(gap, "reason")
        empty = math.isnan(number(row, column))
        if column in labels and empty and reason not in told_above:
            found.setdefault(reason, []).append(labels[column])
    return tuple((", ".join(names), reason) for reason, names in found.items())


def _count(row: Row, column: str) -> int:
    value = number(row, column)
    return int(value) if math.isfinite(value) else 0
