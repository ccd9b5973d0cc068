"""Whole columns of text at once: their distinct texts, the plain numbers in them, tidy spaces."""

from collections.abc import Sequence
from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mapper.load.text import tidy

# What can be read as a number without asking what it may mean.
PLAIN_NUMBER = r"^[+-]?(?:[0-9]+\.?[0-9]*|\.[0-9]+)(?:[eE][+-]?[0-9]{1,3})?$"
# Letters beyond ASCII may be spaces too.
UNTIDY = r"^[ \t\n\v\f\r]|[ \t\n\v\f\r]$|[\t\n\v\f\r]|  |[^ -~]"


def arrow_texts(cells: pd.Series) -> Any:
    """The same texts as one Arrow array."""
    import pyarrow as pa

    texts = pa.array(cells, type=pa.large_string())
    return texts.combine_chunks() if isinstance(texts, pa.ChunkedArray) else texts


def distinct(cells: pd.Series) -> tuple[NDArray[np.intp], list[str]]:
    """The distinct texts of a column, and where each stands: parsing them is the slow part."""
    coded = arrow_texts(cells).dictionary_encode()
    codes = coded.indices.to_numpy(zero_copy_only=False).astype(np.intp)
    return codes, coded.dictionary.to_pylist()


def spread(words: Sequence[str], codes: NDArray[np.intp], index: pd.Index) -> pd.Series:
    """One word a distinct text back onto all the cells."""
    import pyarrow as pa

    whole = pa.array(words, type=pa.large_string()).take(pa.array(codes))
    return pd.Series(whole.to_pandas().array, index=index, dtype=str)


def plain_numbers(cells: pd.Series) -> NDArray[np.float64]:
    """The numbers of the cells that hold nothing but a finite one, NaN for all others."""
    import pyarrow as pa
    import pyarrow.compute as pc

    texts = arrow_texts(cells)
    filled = pc.if_else(pc.equal(texts, ""), pa.scalar(None, texts.type), texts)
    try:
        numbers = pc.cast(filled, pa.float64())
    except pa.ArrowInvalid:
        plain = pc.match_substring_regex(texts, PLAIN_NUMBER)
        filled = pc.if_else(plain, texts, pa.scalar(None, texts.type))
        numbers = pc.cast(filled, pa.float64())
    found = numbers.to_numpy(zero_copy_only=False)
    return np.where(np.isfinite(found), found, np.nan)


def tidied(cells: pd.Series) -> pd.Series:
    """Every cell without invisible signs and with single spaces."""
    import pyarrow as pa
    import pyarrow.compute as pc

    texts = arrow_texts(cells)
    untidy = pc.match_substring_regex(texts, UNTIDY)
    if pc.any(untidy).as_py():
        odd = texts.filter(untidy).dictionary_encode()
        words = pa.array(map(tidy, odd.dictionary.to_pylist()), type=texts.type)
        texts = pc.replace_with_mask(texts, untidy, words.take(odd.indices))
    return pd.Series(texts.to_pandas().array, index=cells.index, dtype=str)


def contains(cells: pd.Series, sign: str) -> bool:
    """Whether any cell has that sign in it."""
    import pyarrow.compute as pc

    return bool(pc.any(pc.match_substring(arrow_texts(cells), sign)).as_py())
