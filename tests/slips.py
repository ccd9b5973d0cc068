"""A believable survey without a blunder, and known blunders planted into it. All invented.

Sizes and their scatter are like those of real trees: heights scatter about the height curve by 18
per cent (the middle of the town equations, UTD2016), one tree in fifty lost its top, two tapes
round one stem differ as volunteers' do (BUTT2013), phones place trees within some metres. What is
planted is what people do: another unit, a lost point, a cell filled down, two numbers exchanged.
"""

from collections.abc import Callable
from dataclasses import dataclass

import numpy as np
import pandas as pd

TREES = 160
MIDDLE = (45.31, -71.44)  # an invented place
DEGREE_M = 111_132.0
# species, share, middle girth [cm], start and slope of its height curve
KINDS = (
    ("Quercus rubra", 0.25, 120.0, 2.2, 0.21),
    ("Acer saccharum", 0.25, 95.0, 1.9, 0.20),
    ("Tilia americana", 0.15, 110.0, 2.0, 0.21),
    ("Pinus strobus", 0.20, 105.0, 1.9, 0.19),
    ("Picea glauca", 0.15, 85.0, 1.7, 0.20),
)
TEAMS = ("Heron", "Kestrel", "Otter", "Wren")
BY_ANGLES = ("Otter", "Wren")  # the other teams type the height that their instrument shows
SCATTER, LOST_TOPS, TAPE_CM, PHONE_M = 0.18, 0.02, 0.64, 4.0


@dataclass(frozen=True)
class Slip:
    """One blunder: its kind, the rows that carry it, and what the cell should say."""

    kind: str
    rows: tuple[int, ...]
    column: str
    meant: float = np.nan


def clean_survey(rng: np.random.Generator) -> pd.DataFrame:
    """Two visits three years apart, the second of three trees in five; one row a visit."""
    trees = _trees(rng)
    first = _visit(trees, rng, "2021-05-10", 0.0)
    again = trees[rng.random(TREES) < 0.6]
    second = _visit(again, rng, "2024-05-13", 3.0)
    return pd.concat([first, second], ignore_index=True)


def _trees(rng: np.random.Generator) -> pd.DataFrame:
    kinds = np.array(KINDS, dtype=object)
    kind = kinds[rng.choice(len(KINDS), TREES, p=[row[1] for row in KINDS])]
    girth = kind[:, 2].astype(float) * np.exp(rng.normal(0, 0.4, TREES))
    tops = np.where(rng.random(TREES) < LOST_TOPS, rng.uniform(0.5, 0.8, TREES), 1.0)
    north, east = _spots(rng)
    return pd.DataFrame(
        {
            "tree": [f"{number:03d}" for number in range(1, TREES + 1)],
            "species": kind[:, 0],
            "girth": girth,
            "start": kind[:, 3].astype(float),
            "slope": kind[:, 4].astype(float),
            "own": np.exp(rng.normal(0, SCATTER, TREES)) * tops,
            "growth": np.exp(rng.normal(0.5, 0.5, TREES)),  # girth, cm a year
            "north": north,
            "east": east,
            "observer": np.repeat(TEAMS, TREES // len(TEAMS)),
        }
    )


def _spots(rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray]:
    """Trees on 250 by 250 m, in the order of a walk, no two within 3 m."""
    spots: list[np.ndarray] = []
    while len(spots) < TREES:
        spot = rng.uniform(0, 250, 2)
        if all(np.hypot(*(spot - other)) > 3 for other in spots):
            spots.append(spot)
    walk = np.array(sorted(spots, key=lambda spot: (spot[0] // 25, spot[1])))
    return walk[:, 0], walk[:, 1]


def _visit(trees: pd.DataFrame, rng: np.random.Generator, day: str, years: float) -> pd.DataFrame:
    count = len(trees)
    true_girth = trees["girth"] + trees["growth"] * years
    diameter = true_girth / np.pi
    curve = 1.3 + (diameter / (trees["start"] + trees["slope"] * diameter)) ** 2
    height = 1.3 + (curve - 1.3) * trees["own"]
    angled = trees["observer"].isin(BY_ANGLES).to_numpy()
    baseline = np.round(np.clip(height + rng.normal(2, 2, count), 8, 40))
    base = np.degrees(np.arctan2(-1.6 + rng.normal(0, 0.4, count), baseline))
    top = np.degrees(np.arctan(height / baseline + np.tan(np.radians(base))))
    read = np.maximum(height * (1 + rng.normal(0, 0.03, count)), 1.5)
    off = rng.normal(0, PHONE_M / 1.18, (2, count))
    return pd.DataFrame(
        {
            "tree": trees["tree"],
            "species": trees["species"],
            "date": day,
            "observer": trees["observer"],
            "girth_cm": np.round(true_girth + rng.normal(0, TAPE_CM, count), 0),
            "height_m": np.where(angled, np.nan, np.round(read, 1)),
            "baseline_m": np.where(angled, baseline, np.nan),
            "angle_top": np.where(angled, _to_half(top + rng.normal(0, 0.5, count)), np.nan),
            "angle_base": np.where(angled, _to_half(base + rng.normal(0, 0.5, count)), np.nan),
            "lat": np.round(MIDDLE[0] + (trees["north"] + off[0]) / DEGREE_M, 6),
            "lon": np.round(
                MIDDLE[1]
                + (trees["east"] + off[1]) / (DEGREE_M * np.cos(np.radians(MIDDLE[0]))),
                6,
            ),
            "position_accuracy_m": PHONE_M,
            "leaf": np.where(
                trees["species"].isin(["Pinus strobus"]), "needles in bundles",
                np.where(trees["species"] == "Picea glauca", "needles single", ""),
            ),
        }
    )  # fmt: skip


def _to_half(degrees: np.ndarray) -> np.ndarray:
    return np.round(2 * degrees) / 2


Planter = Callable[[pd.DataFrame, int, np.random.Generator], Slip]


def _factor(kind: str, column: str, factor: float, decimals: int) -> Planter:
    def plant(table: pd.DataFrame, row: int, rng: np.random.Generator) -> Slip:
        meant = float(table.at[row, column])
        table.at[row, column] = round(meant * factor, decimals)
        return Slip(kind, (row,), column, meant)

    return plant


def _filled_down(table: pd.DataFrame, row: int, rng: np.random.Generator) -> Slip:
    rows = tuple(range(row, row + 4))
    columns = ["girth_cm", "height_m", "baseline_m", "angle_top", "angle_base"]
    for other in rows[1:]:
        table.loc[other, columns] = table.loc[row, columns]
    return Slip("cells filled down", rows, "girth_cm")


def _stuck(table: pd.DataFrame, row: int, rng: np.random.Generator) -> Slip:
    rows = tuple(range(row, row + 6))
    column = "height_m" if pd.notna(table.at[row, "height_m"]) else "angle_top"
    table.loc[list(rows), column] = table.at[row, column]
    return Slip("stuck instrument", rows, column)


def _twice(table: pd.DataFrame, row: int, rng: np.random.Generator) -> Slip:
    """The tree once more under a number of its own, measured and placed anew."""
    again = table.loc[row].copy()
    again["tree"] = f"{900 + len(table) % 100}"
    again["girth_cm"] = round(float(again["girth_cm"]) + rng.normal(0, 2**0.5 * TAPE_CM))
    for name in ("lat", "lon"):
        step = rng.normal(0, 2**0.5 * PHONE_M / 1.18) / DEGREE_M
        again[name] = round(float(again[name]) + step, 6)
    if pd.notna(again["height_m"]):
        again["height_m"] = round(float(again["height_m"]) * (1 + rng.normal(0, 0.04)), 1)
    else:
        again["angle_top"] = round(float(again["angle_top"]) + rng.normal(0, 0.7), 1)
    table.loc[len(table)] = again
    return Slip("one tree, two names", (row, len(table) - 1), "tree")


def _exchanged(table: pd.DataFrame, row: int, rng: np.random.Generator) -> Slip:
    table.loc[[row, row + 1], "tree"] = table.loc[[row + 1, row], "tree"].to_numpy()
    return Slip("numbers exchanged", (row, row + 1), "tree")


def _place_copied(table: pd.DataFrame, row: int, rng: np.random.Generator) -> Slip:
    table.loc[row + 1, ["lat", "lon"]] = table.loc[row, ["lat", "lon"]]
    return Slip("place copied", (row, row + 1), "lat")


def _angles_swapped(table: pd.DataFrame, row: int, rng: np.random.Generator) -> Slip:
    both = ["angle_top", "angle_base"]
    table.loc[row, both] = table.loc[row, both[::-1]].to_numpy()
    return Slip("angles exchanged", (row,), "angle_top")


def _wrong_leaves(table: pd.DataFrame, row: int, rng: np.random.Generator) -> Slip:
    conifer = table.at[row, "leaf"] != ""
    table.at[row, "species"] = "Quercus rubra" if conifer else table.at[row, "species"]
    table.at[row, "leaf"] = table.at[row, "leaf"] if conifer else "needles single"
    return Slip("leaves of another tree", (row,), "leaf")


def _rounded(table: pd.DataFrame, row: int, rng: np.random.Generator) -> Slip:
    """A whole team reads its tape to 5 cm."""
    rows = table.index[table["observer"] == table.at[row, "observer"]]
    table.loc[rows, "girth_cm"] = (table.loc[rows, "girth_cm"] / 5).round() * 5
    return Slip("rounded to fives", tuple(rows), "girth_cm")


# kind: how to plant it, and which rows can carry it
TYPED, ANGLED = "height_m", "baseline_m"
PLANTERS: dict[str, tuple[Planter, str]] = {
    "girth in inches": (_factor("girth in inches", "girth_cm", 1 / 2.54, 1), "girth_cm"),
    "diameter as girth": (_factor("diameter as girth", "girth_cm", 1 / np.pi, 1), "girth_cm"),
    "girth in metres": (_factor("girth in metres", "girth_cm", 0.01, 2), "girth_cm"),
    "girth times 10": (_factor("girth times 10", "girth_cm", 10.0, 0), "girth_cm"),
    "girth by 10": (_factor("girth by 10", "girth_cm", 0.1, 1), "girth_cm"),
    "height in feet": (_factor("height in feet", "height_m", 1 / 0.3048, 0), TYPED),
    "height times 10": (_factor("height times 10", "height_m", 10.0, 0), TYPED),
    "height by 10": (_factor("height by 10", "height_m", 0.1, 2), TYPED),
    "baseline in feet": (_factor("baseline in feet", "baseline_m", 1 / 0.3048, 0), ANGLED),
    "cells filled down": (_filled_down, "girth_cm"),
    "stuck instrument": (_stuck, "girth_cm"),
    "one tree, two names": (_twice, "girth_cm"),
    "numbers exchanged": (_exchanged, "second visit"),
    "place copied": (_place_copied, "girth_cm"),
    "angles exchanged": (_angles_swapped, ANGLED),
    "leaves of another tree": (_wrong_leaves, "girth_cm"),
}
ONE_A_SURVEY = {"rounded to fives": (_rounded, "girth_cm")}


def planted_survey(rng: np.random.Generator, blunders: int = 12) -> tuple[pd.DataFrame, list[Slip]]:
    """A survey with blunders of random kinds on trees of their own, and what was planted."""
    table = clean_survey(rng)
    slips = [_rounded(table, int(rng.integers(len(table))), rng)] if rng.random() < 0.5 else []
    free = set(table.index)
    for kind in rng.choice(list(PLANTERS), blunders):
        plant, where = PLANTERS[str(kind)]
        able = _able(table, where, free)
        if not able:  # no room left for this kind
            continue
        slip = plant(table, int(rng.choice(able)), rng)
        slips.append(slip)
        trees = table.loc[list(slip.rows), "tree"]
        free -= set(table.index[table["tree"].isin(trees)]) | _near(slip.rows)
    return table, slips


def _near(rows: tuple[int, ...]) -> set[int]:
    return set(range(min(rows) - 6, max(rows) + 7)) if len(rows) < 10 else set()


def _able(table: pd.DataFrame, where: str, free: set[int]) -> list[int]:
    """Rows that can carry a slip and whose next rows, of the same team and day, are free too."""
    second = table["date"] != table["date"].iloc[0]
    can = second if where == "second visit" else table[where].notna()
    same = (table["observer"] == table["observer"].shift(-5)) & (
        table["date"] == table["date"].shift(-5)
    )
    rows = table.index[can & same]
    return [row for row in rows if all(row + step in free for step in range(6))]
