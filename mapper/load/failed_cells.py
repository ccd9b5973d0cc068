"""What spreadsheets write where a value should be: #DIV/0! where a formula fails, ##### where a
column is too narrow. Neither is what anyone measured, in whatever column it stands.
"""

import re

import numpy as np
import pandas as pd

from mapper.load.cell_arrays import begins, distinct

FOUND = ["value", "severity", "rule", "reason", "proposed"]
FORMULA_ERROR = "formula_error"
# In any language: #DIV/0!, #N/A, #NAME?, #WERT!, #NV, Err:502.
FAILED = re.compile(r"(?:#[^\W_][\w/]*[!?]|#(?:N/A|NV|N/D)|#¡.*!|#¿.*\?|Err:\d{3}|#{3,})\s*")
NARROW = "is what a spreadsheet shows where a column is too narrow. Widen it and save again."
WRONG = "is what a spreadsheet writes where a formula fails. Write the value itself."


def without_failed(cells: pd.Series) -> tuple[pd.Series, pd.DataFrame]:
    """The cells with those left empty, and a problem for each, with the columns FOUND."""
    if not begins(cells, "#", "Err:"):
        return cells, pd.DataFrame(columns=FOUND, dtype=str)
    codes, texts = distinct(cells)
    said = [_said(text) for text in texts]
    reasons = pd.Series(np.array(said, dtype=object)[codes], index=cells.index)
    found = reasons[reasons != ""]
    problems = pd.DataFrame(
        {
            "value": cells[found.index],
            "severity": "error",
            "rule": FORMULA_ERROR,
            "reason": found,
            "proposed": "",
        }
    )
    return cells.where(reasons == "", ""), problems


def _said(text: str) -> str:
    """Why a text is no value; "" where it is one."""
    if FAILED.fullmatch(text) is None:
        return ""
    return f"'{text}' {NARROW if set(text.strip()) == {'#'} else WRONG}"
