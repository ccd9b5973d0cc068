"""Parquet tables, with places where they are GeoParquet."""

import json
from pathlib import Path
from typing import Any

from mapper.errors import InputError
from mapper.load.arrow_text import is_utf8
from mapper.load.guards import MOST_BYTES, MOST_CELLS, in_short, refuse_unfit
from mapper.load.records import Sheet
from mapper.load.shapes import Features, sheet_from_features


def read_parquet(file: Path) -> list[Sheet]:
    """The one table of a Parquet file.

    Raises
    ------
    InputError
        When it cannot be read, unpacks to more than memory bears, or no shape is a point.
    """
    refuse_unfit(file)
    try:
        features = _features(file)
    except InputError:
        raise
    except Exception as error:  # a damaged file can make the library fail in any way
        raise InputError(
            f"{file}: cannot be read as a Parquet table ({in_short(error)})."
        ) from error
    return [sheet_from_features(features)]


def _features(file: Path) -> Features:
    import pyarrow.parquet as pq

    with pq.ParquetFile(file) as opened:
        about = opened.metadata
        _refuse_bomb(file, about)
        geo = json.loads((about.metadata or {}).get(b"geo", b"{}"))
        table = opened.read()
    if not is_utf8(table):
        raise ValueError("its texts are not UTF-8")
    name = str(geo.get("primary_column", ""))
    if not name:
        return Features(file, "", table, "", "", {})
    shapes, crs = _shapes(file, name)
    position = table.column_names.index(name)
    return Features(file, "", table.set_column(position, name, shapes), name, crs, {})


def _refuse_bomb(file: Path, about: Any) -> None:
    size = sum(about.row_group(number).total_byte_size for number in range(about.num_row_groups))
    if size > MOST_BYTES or about.num_rows * about.num_columns > MOST_CELLS:
        raise InputError(
            f"{file}: unpacks to {about.num_rows} rows of {about.num_columns} columns, more than "
            "is read at once. Hand it in as several files."
        )


def _shapes(file: Path, name: str) -> tuple[Any, str]:
    """The shapes as well-known binary, whatever their encoding, and their coordinate system."""
    import geopandas as gpd
    import pyarrow as pa

    shapes = gpd.read_parquet(file, columns=[name]).geometry
    crs = shapes.crs
    code = crs.to_authority() if crs is not None else None
    text = ":".join(code) if code else crs.to_wkt() if crs is not None else ""
    return pa.array(shapes.to_wkb(), type=pa.binary()), text
