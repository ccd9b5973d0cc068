"""Columns of typed tables as the text a person would have written."""

import json
from typing import Any

import numpy as np
import pandas as pd

MOST_WHOLE = 2.0**53  # up to here every whole number has its own float


def as_texts(table: Any, positions: list[int]) -> pd.DataFrame:
    """Those columns of an Arrow table as text, numbered from 0; nothing is an empty text."""
    texts = {number: _texts(table.column(position)) for number, position in enumerate(positions)}
    return pd.DataFrame(texts, index=range(table.num_rows), dtype=str)


def is_utf8(table: Any) -> bool:
    """Whether all texts of a table are what they say: some formats name a wrong encoding."""
    import pyarrow as pa
    import pyarrow.compute as pc

    try:
        for column in table.columns:
            if pa.types.is_string(column.type) or pa.types.is_large_string(column.type):
                pc.cast(pc.cast(column, pa.large_binary()), pa.large_string())
    except pa.ArrowInvalid:
        return False
    return True


def float_texts(numbers: Any) -> Any:
    """Floats as the shortest text that reads back to them; whole ones without a point."""
    import pyarrow as pa
    import pyarrow.compute as pc

    values = pc.cast(numbers, pa.float64()).to_numpy(zero_copy_only=False)
    whole = (np.trunc(values) == values) & (np.abs(values) < MOST_WHOLE)
    digits = pa.array(np.where(whole, values, 0).astype(np.int64)).cast(pa.large_string())
    shortest = pc.cast(numbers, pa.large_string())
    text = pc.if_else(pa.array(whole), digits, shortest)
    return pc.if_else(pa.array(np.isfinite(values)), text, "")


def _texts(column: Any) -> pd.Series:
    import pyarrow as pa
    import pyarrow.compute as pc

    values = column.combine_chunks() if isinstance(column, pa.ChunkedArray) else column
    if pa.types.is_dictionary(values.type):
        values = values.dictionary_decode()
    if pa.types.is_floating(values.type):
        texts = float_texts(values)
    elif pa.types.is_nested(values.type) or pa.types.is_binary(values.type):
        texts = pa.array(map(_json, values.to_pylist()), type=pa.large_string())
    else:
        texts = pc.cast(values, pa.large_string())
    return pd.Series(pc.fill_null(texts, "").to_pandas())


def _json(value: object) -> str:
    return "" if value is None else json.dumps(value, ensure_ascii=False, default=str)
