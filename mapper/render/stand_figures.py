"""The figures of a stand as a ledger: number, uncertainty, meaning, and how we got it."""

import math
from dataclasses import dataclass

from mapper.language import later, say
from mapper.render import words
from mapper.render.quantities import Measured, Scale, measured, plain
from mapper.render.rows import Row, number


@dataclass(frozen=True)
class Kind:
    """A figure that a stand may have."""

    column: str
    label: str  # plain words
    term: str  # the trade's word
    meaning: str
    scale: str
    method: str  # function of mapper.metrics, anchor on the methods page


@dataclass(frozen=True)
class Figure:
    """A figure that a stand has."""

    kind: Kind
    meaning: str
    value: Measured
    prefix: str  # "at least" while trees lack a measure
    working: str


KINDS = (
    Kind(
        "stems_per_ha",
        later("How many trees"),
        later("stem density"),
        later("The trees on {square}."),
        "per_ha",
        "stems_per_ha",
    ),
    Kind(
        "basal_area_m2_per_ha",
        later("Stem cross-section"),
        later("basal area"),
        later("If every stem were cut at chest height, the area of all the cut faces."),
        "m2_per_ha",
        "basal_area_per_ha",
    ),
    Kind(
        "mean_diameter_cm",
        later("Average thickness"),
        later("mean diameter"),
        later("All diameters added up and shared out evenly."),
        "cm",
        "mean_diameter",
    ),
    Kind(
        "quadratic_mean_diameter_cm",
        later("Thickness of the average stem"),
        later("quadratic mean diameter"),
        later(
            "The diameter of a stem whose cut face has the average area. Thick stems weigh more."
        ),
        "cm",
        "quadratic_mean_diameter",
    ),
    Kind(
        "mean_height_m",
        later("Average height"),
        later("mean height"),
        later("All measured heights added up and shared out evenly."),
        "m",
        "mean_height",
    ),
    Kind(
        "lorey_height_m",
        later("Height by stem size"),
        later("Lorey's height"),
        later("The average height when thick stems weigh more than thin ones."),
        "m",
        "lorey_height",
    ),
)


def square(scales: dict[str, Scale]) -> str:
    """The piece of ground that numbers of trees are told for."""
    if scales["ha"].factor == 1:
        return say("one hectare, a square of 100 m by 100 m")
    return say("one acre, a square of about 209 ft by 209 ft")


def stand_figures(row: Row, scales: dict[str, Scale]) -> tuple[Figure, ...]:
    """The figures that exist for one row of the stands table."""
    found = []
    for kind in KINDS:
        value = measured(number(row, kind.column), half_width(row, kind.column), scales[kind.scale])
        if value is not None:
            least = kind.scale == "m2_per_ha" and row.get("design") != "angle count"
            prefix = say("at least") if least and some_lack(row) else ""
            meaning = say(kind.meaning).format(square=square(scales))
            working = _working(kind, row, value, scales)
            found.append(Figure(kind, meaning, value, prefix, working))
    return tuple(found)


def half_width(row: Row, column: str) -> float:
    """Two standard deviations: half the published interval, else twice the measurement error."""
    low, high = number(row, f"{column}_low"), number(row, f"{column}_high")
    if math.isfinite(high - low):
        return (high - low) / 2
    return 2 * number(row, f"{column}_se_measurement")


def why_no_area_figures(row: Row) -> str:
    """What to do to get figures per hectare; empty where they exist."""
    if any(math.isfinite(number(row, name)) for name in ("stems_per_ha", "basal_area_m2_per_ha")):
        return ""
    if row.get("design") == "chosen trees":
        return say(words.HOW_TO_COMPLETE_COUNT)
    return say(words.NO_AREA)


def some_lack(row: Row) -> bool:
    """Whether a sum over the trees is too low, because some have no diameter."""
    return number(row, "trees_with_diameter") < number(row, "trees")


def _working(kind: Kind, row: Row, value: Measured, scales: dict[str, Scale]) -> str:
    if math.isfinite(number(row, "plots")):
        return _working_by_plots(kind, row, value)
    return say(WORKINGS[kind.column]).format(
        trees=words.living_trees(_count(row, "trees")),
        stems=words.whole(_count(row, "trees_with_diameter")),
        heights=words.whole(_count(row, "trees_with_height")),
        area=plain(number(row, "area_ha"), scales["ha"]),
        result=value.number,
    )


WORKINGS = {
    "stems_per_ha": later("{trees} ÷ {area} = {result}"),
    "basal_area_m2_per_ha": later("{stems} cut faces added up ÷ {area} = {result}"),
    "mean_diameter_cm": later("{stems} diameters added up ÷ {stems} = {result}"),
    "quadratic_mean_diameter_cm": later(
        "each of {stems} diameters squared, averaged, then the square root = {result}"
    ),
    "mean_height_m": later("{heights} heights added up ÷ {heights} = {result}"),
    "lorey_height_m": later("heights added up in proportion to each stem's cut face = {result}"),
}


def _working_by_plots(kind: Kind, row: Row, value: Measured) -> str:
    """How plots and points make a figure of the stand: each tree stands for so many."""
    trees, plots = words.trees(_count(row, "trees")), _count(row, "plots")
    if row.get("design") == "angle count" and kind.column == "basal_area_m2_per_ha":
        said = say("{trees} × the factor ÷ {points} = {result}")
        points = words.counted(plots, "{n} point", "{n} points")
        return said.format(trees=trees, points=points, result=value.number)
    if kind.column in ("stems_per_ha", "basal_area_m2_per_ha"):
        said = say("{trees} on {plots}, by the ground they cover = {result}")
        on_plots = words.counted(plots, "{n} plot", "{n} plots")
        return said.format(trees=trees, plots=on_plots, result=value.number)
    said = say("each of {trees} weighed by how many it stands for = {result}")
    return said.format(trees=trees, result=value.number)


def _count(row: Row, column: str) -> int:
    value = number(row, column)
    return int(value) if math.isfinite(value) else 0
