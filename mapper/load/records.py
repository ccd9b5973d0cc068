"""What loading gives: the records as written and as read, and what could not be read."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np
import pandas as pd
from numpy.typing import NDArray

PROBLEM_COLUMNS = [
    "record", "file", "column", "value", "severity", "rule", "reason", "proposed"
]  # fmt: skip
WHOLE_COLUMN = -1  # in `record`: the remark is about a column or a file, not about one cell


@dataclass(frozen=True)
class Records:
    """Every record of the files handed in, in their order."""

    # As handed in, with the repairs laid over; "" where empty: a column a heading, known or not.
    cells: pd.DataFrame
    values: pd.DataFrame  # as read: file, row, sheet and every known column, units in the names
    columns: pd.DataFrame  # file, sheet, heading, name, unit, unit_from, cells
    problems: pd.DataFrame  # PROBLEM_COLUMNS
    files: tuple[Path, ...]  # tables, and folders whose photos are records
    photos: Mapping[int, tuple[Path, ...]] = field(default_factory=dict)  # of such a folder, by row
    history: pd.DataFrame = field(default_factory=pd.DataFrame)  # what became of each repair


@dataclass(frozen=True)
class Remark:
    """Something worth saying about a column or a file, before its number is known."""

    rule: str
    severity: str
    reason: str
    column: str = ""
    value: str = ""
    proposed: str = ""  # the heading that was perhaps meant


@dataclass(frozen=True)
class Sheet:
    """One table as a reader found it: text in cells, blank rows and blank columns gone."""

    file: Path
    name: str  # of the sheet in a workbook, else ""
    headings: tuple[str, ...]
    cells: pd.DataFrame  # one column a heading, numbered from 0
    rows: NDArray[np.int64]  # as a spreadsheet numbers them
    remarks: tuple[Remark, ...] = ()
    given: Mapping[int, str] = field(default_factory=dict)  # columns the file format itself names

    @property
    def place(self) -> str:
        """The file, with the sheet where there are several, for messages."""
        return f"{self.file}, sheet '{self.name}'" if self.name else str(self.file)


def with_remark(sheet: Sheet, remark: Remark) -> Sheet:
    """The same sheet with one more remark."""
    return replace(sheet, remarks=(*sheet.remarks, remark))


def cell_problems(found: pd.DataFrame, file: int, column: str) -> pd.DataFrame:
    """Problem rows of single cells; `found` has the rest by record number."""
    whole = found.assign(record=found.index, file=file, column=column)
    return whole.reset_index(drop=True).reindex(columns=PROBLEM_COLUMNS, fill_value="")


def remark_problems(remarks: list[Remark], file: int) -> pd.DataFrame:
    """Problem rows of remarks about whole columns."""
    rows = [
        (WHOLE_COLUMN, file, note.column, note.value, note.severity, note.rule, note.reason,
         note.proposed)
        for note in remarks
    ]  # fmt: skip
    return pd.DataFrame(rows, columns=PROBLEM_COLUMNS)
