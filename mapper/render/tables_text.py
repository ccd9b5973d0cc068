"""Tables as CSV: the same floats, the same bytes, no cell that a spreadsheet would run."""

import io
from typing import BinaryIO

import numpy as np
import pandas as pd
import pyarrow as pa
import pyarrow.compute as pc

# A spreadsheet runs a cell that begins so. Only text is touched: a negative number is a number.
FORMULA_STARTS = ("=", "+", "-", "@", "\t")
ROWS_AT_ONCE = 50_000
# Between these Arrow and Python write the shortest form of a float with the same digits.
PLAIN_FROM, PLAIN_TO = 1e-4, 1e10
TO_QUOTE = '[",\n]'


def csv_text(table: pd.DataFrame) -> str:
    """Numbers read back to the same float; text cannot start a formula."""
    file = io.BytesIO()
    write_csv(table, file)
    return file.getvalue().decode("utf-8")


def write_csv(table: pd.DataFrame, file: BinaryIO) -> None:
    """The same, some thousand rows at a time; columns are joined without a loop over rows."""
    names = pd.Series([str(name) for name in table.columns], dtype=object)
    file.write((",".join(_quoted(pa.array(names, pa.string())).to_pylist()) + "\n").encode())
    for start in range(0, len(table), ROWS_AT_ONCE):
        rows = table.iloc[start : start + ROWS_AT_ONCE]
        cells = [_cells(rows.iloc[:, number]) for number in range(rows.shape[1])]
        if len(cells) == 1:  # a lone empty cell would be an empty line
            cells = [pc.if_else(pc.equal(cells[0], ""), '""', cells[0])]
        lines = pc.binary_join_element_wise(*map(_in_one_piece, cells), ",")
        file.write(memoryview(_ended(lines)))


def _ended(lines: pa.Array) -> pa.Buffer:
    """All lines in one piece of memory, each with its end."""
    whole = pc.binary_join_element_wise(lines, "", "\n")
    _, places, letters = whole.buffers()
    ends = np.frombuffer(places, dtype=np.int32)[whole.offset : whole.offset + len(whole) + 1]
    return letters.slice(int(ends[0]), int(ends[-1] - ends[0]))


def _in_one_piece(cells: pa.Array | pa.ChunkedArray) -> pa.Array:
    return cells.combine_chunks() if isinstance(cells, pa.ChunkedArray) else cells


def _cells(column: pd.Series) -> pa.Array:
    """The cells of a column as they stand in the file."""
    types = pd.api.types
    if types.is_bool_dtype(column):
        return pa.array(column.astype(object).map(str, na_action="ignore").fillna(""), pa.string())
    if isinstance(column.dtype, np.dtype) and column.dtype == np.float64:
        return _floats(column)
    if types.is_integer_dtype(column):
        return pc.fill_null(pc.cast(pa.array(column), pa.string()), "")
    if types.is_datetime64_any_dtype(column):
        return pa.array(column.dt.strftime("%Y-%m-%d").fillna("").astype(str), pa.string())
    if types.is_string_dtype(column) and column.dtype != object:
        return _quoted(_harmless(pc.fill_null(pa.array(column, pa.string()), "")))
    texts = ["" if pd.isna(cell) else str(cell) for cell in column]
    spoken = [isinstance(cell, str) for cell in column]
    cells = pa.array(texts, pa.string())
    return _quoted(pc.if_else(pa.array(spoken, pa.bool_()), _harmless(cells), cells))


def _floats(column: pd.Series) -> pa.Array:
    """Each float in its shortest form; an endless limit as W3C tables write it."""
    numbers = column.to_numpy()
    texts = pc.cast(pa.array(numbers, from_pandas=True), pa.string())
    whole = pa.array(np.isfinite(numbers) & (numbers == np.trunc(numbers)))
    texts = pc.if_else(whole, pc.binary_join_element_wise(texts, ".0", ""), texts)
    size = np.abs(numbers)
    odd = np.flatnonzero((size != 0) & ~((size >= PLAIN_FROM) & (size < PLAIN_TO)) & (size == size))
    if len(odd):
        spelt = ["INF" if number == np.inf else repr(float(number)) for number in numbers[odd]]
        marked = np.zeros(len(numbers), dtype=bool)
        marked[odd] = True
        texts = pc.replace_with_mask(texts, pa.array(marked), pa.array(spelt, pa.string()))
    return pc.fill_null(texts, "")


def _quoted(texts: pa.Array) -> pa.Array:
    """Text that holds a comma, a quotation mark or a line's end is set in quotation marks."""
    needed = pc.match_substring_regex(texts, TO_QUOTE)
    if not pc.any(needed).as_py():
        return texts
    doubled = pc.replace_substring(texts, '"', '""')
    return pc.if_else(needed, pc.binary_join_element_wise('"', doubled, '"', ""), texts)


def _harmless(texts: pa.Array) -> pa.Array:
    """The same cells; the few that a spreadsheet would run, or that would end a row, changed."""
    # A lone carriage return would end the row.
    if pc.any(pc.match_substring(texts, "\r")).as_py():
        texts = pc.replace_substring(pc.replace_substring(texts, "\r\n", "\n"), "\r", "\n")
    starts = pc.is_in(pc.utf8_slice_codeunits(texts, 0, 1), pa.array(FORMULA_STARTS))
    if not pc.any(starts).as_py():
        return texts
    return pc.if_else(starts, pc.binary_join_element_wise("'", texts, ""), texts)
