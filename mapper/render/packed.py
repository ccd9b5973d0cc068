"""Columns of whole numbers as a script carries them: bytes, deflated, in base64."""

import base64
import zlib
from collections.abc import Mapping

import numpy as np
import pandas as pd
from numpy.typing import ArrayLike, NDArray

from mapper.errors import MapperError

DEFLATE_LEVEL = 6
WIDTHS = (np.uint8, np.uint16, np.uint32)


def packed(columns: Mapping[str, NDArray[np.int64]]) -> dict[str, object]:
    """Columns of equal length, each in the narrowest type that holds it, widest first.

    Raises
    ------
    MapperError
        When a number is below 0 or needs more than 32 bits.
    """
    narrow = {name: _narrowest(name, values) for name, values in columns.items()}
    # Widest first: a browser reads a column in place only where its bytes are aligned.
    ordered = sorted(narrow.items(), key=lambda each: -each[1].itemsize)
    content = b"".join(values.tobytes() for _, values in ordered)
    return {
        "rows": max((len(values) for _, values in ordered), default=0),
        "columns": [[name, values.itemsize] for name, values in ordered],
        "data": base64.b64encode(zlib.compress(content, DEFLATE_LEVEL)).decode("ascii"),
    }


def _narrowest(name: str, values: NDArray[np.int64]) -> NDArray[np.unsignedinteger]:
    low, high = (int(values.min()), int(values.max())) if len(values) else (0, 0)
    fitting = [width for width in WIDTHS if high <= np.iinfo(width).max]
    if low < 0 or not fitting:
        raise MapperError(
            f"the map cannot carry the column '{name}': its numbers run from {low} to {high}, and "
            f"it has room for 0 to {np.iinfo(WIDTHS[-1]).max}. Check that column for slips."
        )
    return values.astype(np.dtype(fitting[0]).newbyteorder("<"))


def steps(values: ArrayLike, per_unit: float) -> NDArray[np.int64]:
    """Measures in steps of 1 / per_unit, from 1 up; 0 where nothing was measured."""
    numbers = np.asarray(values, dtype=float) * per_unit
    return np.where(np.isnan(numbers), 0, np.rint(numbers) + 1).astype(np.int64)


def listed_once(texts: pd.Series) -> tuple[list[str], NDArray[np.int64]]:
    """The different texts, sorted, and for every row which of them it has."""
    codes, different = pd.factorize(texts, sort=True)
    return [str(text) for text in different], np.asarray(codes, dtype=np.int64)
