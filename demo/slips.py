"""Rows written down wrong, or in another way, so that loading and checking have work to do.

`SLIPS` are mistakes of the kinds that volunteers really make: their values are no use, the trees
still stand. `HABITS` are good readings written as other people write them. Tree names are those of
the record before the slip.
"""

from collections.abc import Callable
from dataclasses import dataclass

from measuring import Record


@dataclass(frozen=True)
class Slip:
    """One row: where, what happened, and the cells it changes."""

    file: str
    tree: str
    story: str
    change: Callable[[Record], Record]


def swapped_decimals(value: object) -> float:
    """A latitude with its fourth and fifth decimals the wrong way round."""
    text = f"{value:.6f}"
    return float(text[:-3] + text[-2] + text[-3] + text[-1])


SLIPS = (
    Slip(
        "campus.xlsx", "S37", "girth read on the side of the millimetres: 95 inches became 2413",
        lambda record: {"Girth (in)": 2413},
    ),
    Slip(
        "campus.xlsx", "S50", "height 0 for 'not measured'",
        lambda record: {"Height (ft)": 0},
    ),
    Slip(
        "grove.csv", "G070", "text in place of a number: the tape had gone round the corner",
        lambda record: {"girth_cm": "about 2 armlengths"},
    ),
    Slip(
        "grove.csv", "G042", "name used twice: two trees carry G041, and none G042",
        lambda record: {"tree": "G041"},
    ),
    Slip(
        "grove.csv", "G050", "the two angles in each other's column: the top lies below the base",
        lambda record: {
            "angle_top_deg": record["angle_base_deg"],
            "angle_base_deg": record["angle_top_deg"],
        },
    ),
    Slip(
        "plantation.csv", "P061", "girth missing",
        lambda record: {"Circumference (cm)": None},
    ),
    Slip(
        "plantation.csv", "P101", "girth -1 for 'not measured'",
        lambda record: {"Circumference (cm)": -1},
    ),
    Slip(
        "plantation.csv", "P046", "two decimals of the latitude swapped: 40 m outside its stand",
        lambda record: {"Latitude": swapped_decimals(record["Latitude"])},
    ),
)  # fmt: skip

HABITS = (
    Slip(
        "campus.xlsx", "S14", "centimetres in a column of inches, and saying so",
        lambda record: {"Girth (in)": f"{float(str(record['Girth (in)'])) * 2.54:.0f} cm"},
    ),
    Slip(
        "campus.xlsx", "S38", "feet and inches in one cell",
        lambda record: {"Girth (in)": feet_and_inches(float(str(record["Girth (in)"])))},
    ),
)  # fmt: skip


def feet_and_inches(inches: float) -> str:
    return f"{int(inches // 12)}' {inches % 12:g}\""
