"""The map's data of a large survey: blocks of neighbours, and details that come when asked for."""

import base64
import zlib
from pathlib import Path

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mapper.render.packed import DEFLATE_LEVEL, listed_once, packed, steps
from mapper.render.site_files import as_parsed, write_text

MANY_TREES = 20_000  # up to here one readable file carries them all
TREES_PER_BLOCK = 65_536
# A cell is the world's width halved this often: 76 m at the equator, fewer towards the poles.
CELL_BITS = 19
STEP_BITS = 16  # of a cell's side: steps of a millimetre
SIZES_PER_UNIT = {"diameter_cm": 10, "height_m": 100}
DETAILS_PER_UNIT = {
    "diameter_cm": 10_000,
    "height_m": 10_000,
    "girth_cm": 10_000,
    "diameter_sd_cm": 1_000,
    "height_sd_m": 1_000,
    "position_accuracy_m": 10,
}


def world_steps(trees: pd.DataFrame) -> NDArray[np.int64]:
    """Places in steps of 2^-35 of the Web Mercator world, one column for x and y; -1 for none."""
    lat, lon = (trees[name].to_numpy(dtype=float, na_value=np.nan) for name in ("lat", "lon"))
    sine = np.sin(np.radians(lat))
    with np.errstate(divide="ignore"):
        y = 0.5 - np.log((1 + sine) / (1 - sine)) / (4 * np.pi)
    world = np.column_stack([(lon + 180) / 360, y])
    missing = np.isnan(world).any(axis=1, keepdims=True)
    whole = np.floor(np.where(missing, 0, world) * 2.0 ** (CELL_BITS + STEP_BITS))
    inside = np.clip(whole, 0, 2 ** (CELL_BITS + STEP_BITS) - 1)
    return np.where(missing, -1, inside).astype(np.int64)


def curve_order(places: NDArray[np.int64]) -> NDArray[np.int64]:
    """Rows along a Hilbert curve through the cells, as they came within a cell, placeless last."""
    cells = places >> STEP_BITS
    along = hilbert(cells[:, 0], cells[:, 1])
    return np.argsort(np.where(places[:, 0] < 0, np.iinfo(np.int64).max, along), kind="stable")


def hilbert(x: NDArray[np.int64], y: NDArray[np.int64]) -> NDArray[np.int64]:
    """How far along Hilbert's curve each cell lies: cells in a row are neighbours on the ground."""
    x, y, along = x.copy(), y.copy(), np.zeros_like(x)
    for bit in range(CELL_BITS - 1, -1, -1):
        right, lower = (x >> bit) & 1, (y >> bit) & 1
        along = (along << 2) | ((3 * right) ^ lower)
        # The curve's quarter is turned so that it begins where the one before it ended.
        flip = (lower == 0) & (right == 1)
        x, y = (np.where(flip, ~side, side) for side in (x, y))
        x, y = np.where(lower == 0, y, x), np.where(lower == 0, x, y)
    return along


def write_blocks(columns: pd.DataFrame, places: NDArray[np.int64], folder: Path) -> None:
    """Write map-N.js with what the map draws; rows are in the order of the curve."""
    for number, start in enumerate(range(0, len(columns), TREES_PER_BLOCK)):
        rows = slice(start, start + TREES_PER_BLOCK)
        trees = {str(name): columns[name].to_numpy()[rows] for name in columns}
        cells, inside = _in_cells(places[rows])
        told = {"cells": packed(cells), "trees": packed(inside | trees)}
        script = f"groveplat.receiveBlock({number}, {as_parsed(told)});\n"
        write_text(folder / f"map-{number}.js", script)


def _in_cells(
    places: NDArray[np.int64],
) -> tuple[dict[str, NDArray[np.int64]], dict[str, NDArray[np.int64]]]:
    """The cells in a row with the number of trees in each, and every tree's place in its cell."""
    placed = places[places[:, 0] >= 0]
    cells = placed >> STEP_BITS
    first = np.ones(len(cells), dtype=bool)
    first[1:] = (cells[1:] != cells[:-1]).any(axis=1)
    starts = np.flatnonzero(first)
    table = {
        "x": cells[starts, 0],
        "y": cells[starts, 1],
        "trees": np.diff(np.append(starts, len(cells))),
    }
    inside = np.where(places < 0, 0, places & (2**STEP_BITS - 1))
    return table, {"x": inside[:, 0], "y": inside[:, 1]}


def drawn_columns(trees: pd.DataFrame, indexes: pd.DataFrame) -> pd.DataFrame:
    """What every tree is drawn and filtered by, as whole numbers; 0 is none."""
    sizes = {name: steps(trees[name], per) for name, per in SIZES_PER_UNIT.items()}
    # A place in a list is -1 for none; a symbol always is one.
    lists = {str(name): indexes[name].to_numpy() + int(name != "symbol") for name in indexes}
    return pd.DataFrame(sizes | lists)


def write_details(trees: pd.DataFrame, texts: pd.DataFrame, folder: Path) -> None:
    """Write details-N.js with what a tree's panel says, and names.js with every tree's name."""
    names = trees["tree"].astype(str)
    for number, start in enumerate(range(0, len(trees), TREES_PER_BLOCK)):
        rows = slice(start, start + TREES_PER_BLOCK)
        told = _details(trees.iloc[rows], texts.iloc[rows])
        script = f"groveplat.receiveDetails({number}, {as_parsed(told)});\n"
        write_text(folder / f"details-{number}.js", script)
    lines = zlib.compress("\n".join(names).encode("utf-8"), DEFLATE_LEVEL)
    script = f"groveplat.receiveNames('{base64.b64encode(lines).decode('ascii')}');\n"
    write_text(folder / "names.js", script)


def _details(trees: pd.DataFrame, texts: pd.DataFrame) -> dict[str, object]:
    numbers = {name: steps(trees[name], per) for name, per in DETAILS_PER_UNIT.items()}
    counts = trees["finding_count"].fillna(0).to_numpy(dtype=np.int64)
    words: dict[str, list[str]] = {}
    codes: dict[str, NDArray[np.int64]] = {}
    for name in texts:
        words[str(name)], codes[str(name)] = listed_once(texts[name])
    return {
        "id": trees["tree"].astype(str).tolist(),
        "words": words,
        "numbers": packed(numbers | codes | {"findings": counts}),
    }
