"""Trees of a large survey in blocks: what the script unpacks is what was published."""

import base64
import json
import zlib
from pathlib import Path

import numpy as np
import pandas as pd
import pytest
from pyproj import Transformer

from mapper.errors import MapperError
from mapper.render.packed import packed, steps
from mapper.render.tree_blocks import (
    CELL_BITS,
    STEP_BITS,
    curve_order,
    hilbert,
    world_steps,
    write_blocks,
)


def unpacked(told: dict) -> dict[str, np.ndarray]:
    content, start, columns = zlib.decompress(base64.b64decode(told["data"])), 0, {}
    for name, width in told["columns"]:
        columns[name] = np.frombuffer(content, f"<u{width}", told["rows"], start)
        start += width * told["rows"]
    assert start == len(content)
    return columns


def script_data(path: Path) -> dict:
    text = path.read_text("utf-8").partition("parse('")[2].rpartition("')")[0]
    return dict(json.loads(text.replace("\\\\", "\\")))


def test_a_column_takes_the_room_it_needs() -> None:
    wide = np.array([0, 70_000], dtype=np.int64)
    told = packed({"small": np.array([3, 255]), "wide": wide, "middle": np.array([1, 256])})
    assert told["columns"] == [["wide", 4], ["middle", 2], ["small", 1]]
    assert unpacked(told)["wide"].tolist() == [0, 70_000]
    assert unpacked(told)["small"].tolist() == [3, 255]


@pytest.mark.parametrize("number", [-1, 2**32])
def test_a_number_without_room_is_refused(number: int) -> None:
    with pytest.raises(MapperError, match=rf"'height_m'.*{number}"):
        packed({"height_m": np.array([number])})


def test_nothing_measured_is_not_nought() -> None:
    assert steps([np.nan, 0.0, 12.34], 100).tolist() == [0, 1, 1235]


def test_the_curve_goes_from_neighbour_to_neighbour() -> None:
    # D. Hilbert, Math. Ann. 38 (1891) 459: every cell once, each step to a cell that touches.
    y, x = np.divmod(np.arange(64 * 64), 64)
    along = hilbert(x, y)
    order = np.argsort(along)
    assert sorted(along - along.min()) == list(range(64 * 64))
    assert set(np.abs(np.diff(x[order])) + np.abs(np.diff(y[order]))) == {1}


def test_places_come_back_to_a_millimetre(tmp_path: Path) -> None:
    draw = np.random.default_rng(7)
    trees = pd.DataFrame(
        {"lat": draw.uniform(-33.91, -33.9, 500), "lon": 151 + draw.random(500) / 99}
    )
    trees.loc[[3, 77], "lat"] = np.nan
    places = world_steps(trees)
    order = curve_order(places)
    write_blocks(pd.DataFrame({"row": order}), places[order], tmp_path)
    told = script_data(tmp_path / "map-0.js")
    cells, inside = unpacked(told["cells"]), unpacked(told["trees"])

    assert inside["row"].tolist()[-2:] == [3, 77]
    assert cells["trees"].sum() == 498
    metres = 2 * 20037508.342789244 / 2 ** (CELL_BITS + STEP_BITS)  # EPSG:3857, width of the world
    world = [
        (
            np.repeat(cells[side].astype(np.int64), cells["trees"]) * 2**STEP_BITS
            + inside[side][:498]
        )
        for side in "xy"
    ]
    shown = trees.loc[inside["row"][:498]]
    east, north = Transformer.from_crs(4326, 3857, always_xy=True).transform(
        shown["lon"], shown["lat"]
    )
    assert np.abs((world[0] + 0.5) * metres - 20037508.342789244 - east).max() < 0.001
    assert np.abs(20037508.342789244 - (world[1] + 0.5) * metres - north).max() < 0.001
