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
SAMPLE, FEW = 2_000, 1_800
SPACES = (b"\t", b"\n", b"\v", b"\f", b"\r")
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
    try:
        numbers = pc.cast(_or_nothing(texts, pc.not_equal(texts, "")), pa.float64())
    except pa.ArrowInvalid:
        coded = texts.dictionary_encode() if _are_few(texts) else None
        apart = coded.dictionary if coded else texts
        plain = pc.match_substring_regex(apart, PLAIN_NUMBER)
        numbers = pc.cast(_or_nothing(apart, plain), pa.float64())
        numbers = numbers.take(coded.indices) if coded else numbers
    found = numbers.to_numpy(zero_copy_only=False)
    return np.where(np.isfinite(found), found, np.nan)


def tidied(cells: pd.Series) -> pd.Series:
    """Every cell without invisible signs and with single spaces."""
    import pyarrow as pa
    import pyarrow.compute as pc

    texts = arrow_texts(cells)
    if _are_few(texts):
        codes, words = distinct(cells)
        tidy_words = list(map(tidy, words))
        return cells if tidy_words == words else spread(tidy_words, codes, cells.index)
    if _surely_tidy(texts):
        return cells
    untidy = pc.match_substring_regex(texts, UNTIDY)
    odd = texts.filter(untidy).dictionary_encode()
    words = pa.array(map(tidy, odd.dictionary.to_pylist()), type=texts.type)
    texts = pc.replace_with_mask(texts, untidy, words.take(odd.indices))
    return pd.Series(texts.to_pandas().array, index=cells.index, dtype=str)


def _or_nothing(texts: Any, kept: Any) -> Any:
    import pyarrow as pa
    import pyarrow.compute as pc

    return pc.if_else(kept, texts, pa.scalar(None, texts.type))


def _are_few(texts: Any) -> bool:
    """Whether a column seems to hold the same few texts again and again."""
    import pyarrow.compute as pc

    return bool(pc.count_distinct(texts.slice(0, SAMPLE)).as_py() < FEW)


def _surely_tidy(texts: Any) -> bool:
    """A quick look at all texts as one: where it says no, each of them is looked at."""
    import pyarrow.compute as pc

    outside = pc.or_(pc.starts_with(texts, " "), pc.ends_with(texts, " "))
    if pc.any(outside).as_py() or not pc.all(pc.string_is_ascii(texts)).as_py():
        return False
    letters = memoryview(texts.buffers()[2] or b"").tobytes()
    return b"  " not in letters and not any(sign in letters for sign in SPACES)


def begins(cells: pd.Series, *signs: str) -> bool:
    """Whether any cell begins with one of those signs."""
    import pyarrow.compute as pc

    texts = arrow_texts(cells)
    return any(pc.any(pc.starts_with(texts, sign)).as_py() for sign in signs)


def contains(cells: pd.Series, sign: str) -> bool:
    """Whether any cell has that sign in it."""
    import pyarrow.compute as pc

    return bool(pc.any(pc.match_substring(arrow_texts(cells), sign)).as_py())
