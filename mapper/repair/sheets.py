"""The other sheets: what to do, every finding, what became of the decisions."""

from collections.abc import Mapping, Sequence
from pathlib import Path
from typing import Any

import pandas as pd
from openpyxl.styles import Alignment, Font
from openpyxl.utils import get_column_letter

from mapper.load.layer import CHANGED, KEPT, OUTDATED, SUPERSEDED
from mapper.load.shown import as_shown
from mapper.summarise import Line

TEXT = "@"
WRAPPED = Alignment(wrap_text=True, vertical="top")
BOLD = Font(bold=True)
MOST_ROWS = 100_000  # beyond it a spreadsheet program grows slow, and so does writing one

FINDINGS = {
    "severity": 10, "rule": 20, "file name": 20, "file": 6, "sheet": 12, "row": 6, "tree": 12,
    "column": 16, "value": 18, "message": 70, "cause": 40, "suggestion": 50,
    "proposed_column": 16, "proposed_value": 18,
}  # fmt: skip
HISTORY = {
    "state": 12, "file name": 20, "sheet": 12, "row": 8, "tree": 12, "column": 16, "found": 18,
    "value": 18, "reason": 36, "why": 50, "place": 28,
}  # fmt: skip
STATES = {
    CHANGED: "cells changed",
    KEPT: "cells kept as they are",
    SUPERSEDED: "decisions that a later one replaced",
    OUTDATED: "decisions not applied",
}
TO_DO = (
    "1. Open the sheet `decide`: a row for each cell that somebody should look at. "
    "The comment on a coloured cell says why.",
    "2. Choose a decision: accept (write the proposal), keep (leave the cell and ask no more) or "
    "new value (write it beside; (empty) clears the cell). What you leave open is asked again.",
    "Any other cell of the records goes into the open lines at the end of that sheet.",
    "3. Save the workbook in the folder `repairs` of the survey, under any name.",
    "4. Run `groveplat check` again. Your record files stay as they are: repairs are laid over "
    "them each time, and one whose cell has changed since is not applied.",
    "A value that no tree can have stays out of the figures even if it is kept.",
    "This workbook holds names and notes as they were handed in. Do not pass it on.",
)


def head(sheet: Any, widths: Mapping[str, float]) -> None:
    """A bold first row that stays in sight and is printed on every page."""
    sheet.append(list(widths))
    for number, width in enumerate(widths.values(), start=1):
        sheet.cell(row=1, column=number).font = BOLD
        sheet.column_dimensions[get_column_letter(number)].width = width
    sheet.freeze_panes = "A2"
    sheet.print_title_rows = "1:1"
    sheet.page_setup.orientation = "landscape"
    sheet.page_setup.fitToHeight = 0
    sheet.sheet_properties.pageSetUpPr.fitToPage = True


def write_overview(sheet: Any, line: Line, to_decide: int, shown: int) -> None:
    """What this workbook is for, and how much there is of everything."""
    sheet.column_dimensions["A"].width = 44
    sheet.column_dimensions["B"].width = 14
    rows: list[Sequence[object]] = [[as_shown(f"Findings: {line.survey.title}")], []]
    rows += [[text] for text in TO_DO]
    rows += [[], ["cells to decide on", to_decide]]
    if shown < to_decide:
        rows.append([f"The first {shown:,} are listed; run check again once they are decided."])
    if len(line.findings) > MOST_ROWS:
        rows.append([f"The first {MOST_ROWS:,} findings are listed; check --json tells all."])
    counts = line.findings["severity"].value_counts()
    rows += [[f"{name}s found", int(counts.get(name, 0))] for name in ("error", "warning", "note")]
    states = line.observations.records.history.get("state", pd.Series(dtype=str)).value_counts()
    rows += [[words, int(states.get(state, 0))] for state, words in STATES.items()]
    rows += [[], ["record file", "records"], *_files(line)]
    for row in rows:
        sheet.append(list(row))
    sheet["A1"].font = Font(bold=True, size=14)


def _files(line: Line) -> list[list[object]]:
    records = line.observations.values["file"].value_counts()
    files = line.observations.records.files
    return [[as_shown(file.name), int(records.get(n, 0))] for n, file in enumerate(files, start=1)]


def write_all_findings(sheet: Any, line: Line) -> None:
    """Every finding, private cells included."""
    head(sheet, FINDINGS)
    _append(sheet, line.findings, FINDINGS, line.observations.records.files)


def write_history(sheet: Any, line: Line) -> None:
    """What became of every decision, private cells included."""
    head(sheet, HISTORY)
    history = line.observations.records.history
    if len(history):
        _append(sheet, history, HISTORY, line.observations.records.files)


def _append(
    sheet: Any, table: pd.DataFrame, columns: Mapping[str, float], files: Sequence[Path]
) -> None:
    names = {number: file.name for number, file in enumerate(files, start=1)}
    told = table.head(MOST_ROWS).assign(**{"file name": table["file"].map(names).fillna("")})
    for row in told[list(columns)].itertuples(index=False):
        sheet.append([_cell(value) for value in row])


def _cell(value: Any) -> object:
    if isinstance(value, str):
        return as_shown(value)
    return "" if pd.isna(value) else int(value)
