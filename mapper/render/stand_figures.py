"""The figures of a stand as a ledger: number, uncertainty, meaning, and how we got it."""

import math
from dataclasses import dataclass

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
    Kind("stems_per_ha", "How many trees", "stem density",
         "The trees on {square}.",
         "per_ha", "stems_per_ha"),
    Kind("basal_area_m2_per_ha", "Stem cross-section", "basal area",
         "If every stem were cut at chest height, the area of all the cut faces.",
         "m2_per_ha", "basal_area_per_ha"),
    Kind("mean_diameter_cm", "Average thickness", "mean diameter",
         "All diameters added up and shared out evenly.", "cm", "mean_diameter"),
    Kind("quadratic_mean_diameter_cm", "Thickness of the average stem", "quadratic mean diameter",
         "The diameter of a stem whose cut face has the average area. Thick stems weigh more.",
         "cm", "quadratic_mean_diameter"),
    Kind("mean_height_m", "Average height", "mean height",
         "All measured heights added up and shared out evenly.", "m", "mean_height"),
    Kind("lorey_height_m", "Height by stem size", "Lorey's height",
         "The average height when thick stems weigh more than thin ones.", "m", "lorey_height"),
)  # fmt: skip


SQUARES = {
    "ha": "one hectare, a square of 100 m by 100 m",
    "acres": "one acre, a square of about 209 ft by 209 ft",
}


def stand_figures(row: Row, scales: dict[str, Scale]) -> tuple[Figure, ...]:
    """The figures that exist for one row of the stands table."""
    found = []
    for kind in KINDS:
        value = measured(number(row, kind.column), half_width(row, kind.column), scales[kind.scale])
        if value is not None:
            least = kind.scale == "m2_per_ha" and row.get("design") != "angle count"
            prefix = "at least" if least and some_lack(row) else ""
            meaning = kind.meaning.format(square=SQUARES[scales["ha"].unit])
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
        return words.HOW_TO_COMPLETE_COUNT
    return words.NO_AREA


def some_lack(row: Row) -> bool:
    """Whether a sum over the trees is too low, because some have no diameter."""
    return number(row, "trees_with_diameter") < number(row, "trees")


def _working(kind: Kind, row: Row, value: Measured, scales: dict[str, Scale]) -> str:
    if math.isfinite(number(row, "plots")):
        return _working_by_plots(kind, row, value)
    trees = words.counted(_count(row, "trees"), "living tree")
    stems = words.whole(_count(row, "trees_with_diameter"))
    tall = words.counted(_count(row, "trees_with_height"), "height")
    area = plain(number(row, "area_ha"), scales["ha"])
    return {
        "stems_per_ha": f"{trees} ÷ {area} = {value.number}",
        "basal_area_m2_per_ha": f"{stems} cut faces added up ÷ {area} = {value.number}",
        "mean_diameter_cm": f"{stems} diameters added up ÷ {stems} = {value.number}",
        "quadratic_mean_diameter_cm": f"each of {stems} diameters squared, averaged, "
        f"then the square root = {value.number}",
        "mean_height_m": f"{tall} added up ÷ {_count(row, 'trees_with_height')} = {value.number}",
        "lorey_height_m": "heights added up in proportion to each stem's cut face "
        f"= {value.number}",
    }[kind.column]


def _working_by_plots(kind: Kind, row: Row, value: Measured) -> str:
    """How plots and points make a figure of the stand: each tree stands for so many."""
    plots = _count(row, "plots")
    trees = words.counted(_count(row, "trees"), "tree")
    if row.get("design") == "angle count" and kind.column == "basal_area_m2_per_ha":
        return f"{trees} × the factor ÷ {words.counted(plots, 'point')} = {value.number}"
    if kind.column in ("stems_per_ha", "basal_area_m2_per_ha"):
        return (
            f"{trees} on {words.counted(plots, 'plot')}, by the ground they cover = {value.number}"
        )
    return f"each of {trees} weighed by how many it stands for = {value.number}"


def _count(row: Row, column: str) -> int:
    value = number(row, column)
    return int(value) if math.isfinite(value) else 0
