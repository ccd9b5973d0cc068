"""Tables as CSV: the same floats, the same bytes, no cell that a spreadsheet would run."""

import numpy as np
import pandas as pd

# A spreadsheet runs a cell that begins so. Only text is touched: a negative number is a number.
FORMULA_STARTS = ("=", "+", "-", "@", "\t")


def csv_text(table: pd.DataFrame) -> str:
    """Numbers read back to the same float; text cannot start a formula."""
    safe = table.assign(**{name: _harmless(table[name]) for name in _text_columns(table)})
    open_ended = {name: _with_inf(table[name]) for name in table.select_dtypes("float").columns}
    text: str = safe.assign(**open_ended).to_csv(
        index=False, lineterminator="\n", date_format="%Y-%m-%d"
    )
    return text


def _with_inf(numbers: pd.Series) -> pd.Series:
    """An endless upper limit as W3C tables write it."""
    endless = np.isinf(numbers.to_numpy(dtype=float))
    if not endless.any():
        return numbers
    return numbers.astype(object).mask(endless & (numbers > 0), "INF")


def _text_columns(table: pd.DataFrame) -> list[str]:
    types = pd.api.types
    return [
        name
        for name in table.columns
        if not types.is_numeric_dtype(table[name])
        and not types.is_datetime64_any_dtype(table[name])
    ]


def _harmless(cells: pd.Series) -> pd.Series:
    """The same cells; the few that a spreadsheet would run, or that would end a row, changed."""
    if not pd.api.types.is_string_dtype(cells):
        return cells.map(lambda cell: _harmless_text(cell) if isinstance(cell, str) else cell)
    at_risk = cells.str.startswith(FORMULA_STARTS) | cells.str.contains("\r", regex=False)
    at_risk = at_risk.fillna(False).astype(bool)
    return cells.mask(at_risk, cells[at_risk].map(_harmless_text)) if at_risk.any() else cells


def _harmless_text(cell: str) -> str:
    # A lone carriage return would end the row.
    cell = cell.replace("\r\n", "\n").replace("\r", "\n")
    return f"'{cell}" if cell.startswith(FORMULA_STARTS) else cell
