"""Tables for a group without a calculator: angles, shadows, sticks."""

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from mapper import metrics

ANGLES_DEG = tuple(range(10, 66, 5))
DISTANCES = {"metric": (10, 15, 20, 25, 30), "us": (30, 50, 66, 80, 100)}
SHADOWS = {"metric": (2, 4, 6, 8, 10, 15, 20, 25, 30), "us": (5, 10, 20, 30, 40, 50, 70, 90)}
STICK_SHADOWS = {"metric": (0.5, 0.75, 1.0, 1.25, 1.5, 2.0), "us": (1.5, 2, 3, 4, 5, 6)}
STICK = {"metric": 1.0, "us": 3.0}


@dataclass(frozen=True)
class Table:
    """A printed table: a head of columns, and rows that begin with their own head."""

    corner: str
    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


def angle_table(units: str) -> Table:
    """Height above the eye for an angle and a distance, by `height_from_angles`.

    The angle to the base is taken as 0, so that one table serves every eye.
    """
    distances = DISTANCES[units]
    above = metrics.height_from_angles(
        np.array(distances)[None, :], np.array(ANGLES_DEG)[:, None], 0.0
    )
    rows = zip((f"{angle}°" for angle in ANGLES_DEG), _tenths(above), strict=True)
    unit = unit_of(units)
    return Table("angle", tuple(f"{d} {unit}" for d in distances), _joined(rows))


def shadow_table(units: str) -> Table:
    """Height of a tree for its shadow and that of a stick, by `height_from_shadow`.

    Only the ratio of stick and shadow matters, so the table serves feet as it serves metres.
    """
    shadows, sticks = SHADOWS[units], STICK_SHADOWS[units]
    heights = metrics.height_from_shadow(
        np.array(shadows, dtype=float)[:, None], STICK[units] * 100, np.array(sticks)[None, :]
    )
    unit = unit_of(units)
    rows = zip((f"{shadow} {unit}" for shadow in shadows), _tenths(heights), strict=True)
    return Table("tree’s shadow", tuple(f"{s:g} {unit}" for s in sticks), _joined(rows))


def unit_of(units: str) -> str:
    """The unit of heights and distances."""
    return "ft" if units == "us" else "m"


def _tenths(values: object) -> list[list[str]]:
    return [[f"{value:.1f}" for value in row] for row in np.asarray(values, dtype=float)]


def _joined(rows: "zip[tuple[str, Sequence[str]]]") -> tuple[tuple[str, ...], ...]:
    return tuple((head, *cells) for head, cells in rows)
