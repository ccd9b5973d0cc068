"""The workbooks a leader gets: the findings of a check, an empty record sheet."""

from pathlib import Path

from openpyxl import Workbook
from openpyxl.cell.cell import ILLEGAL_CHARACTERS_RE
from openpyxl.styles import Font

from mapper.reference import rows
from mapper.summarise import Line
from mapper.survey_files import FINDINGS_MARK, is_findings

FINDINGS = [
    "severity",
    "rule",
    "file",
    "sheet",
    "row",
    "tree",
    "column",
    "value",
    "message",
    "cause",
    "suggestion",
    "proposed_column",
    "proposed_value",
]
FIRST_HEADINGS = (
    "tree", "stand", "species", "date", "observer", "girth_cm", "height_m", "baseline_m",
    "angle_top", "angle_base", "eye_height_m", "lat", "lon", "position_accuracy_m",
    "status", "note",
)  # fmt: skip


def write_findings(line: Line) -> Path:
    """Write every finding, private cells included, into the survey folder; returns the file."""
    book = Workbook()
    sheet = book.active
    sheet.title = "findings"
    sheet.append([*FINDINGS[:2], "file name", *FINDINGS[2:]])
    files = line.observations.records.files
    for row in line.findings.to_dict("records"):
        told = [_plain(row[name]) for name in FINDINGS]
        sheet.append([*told[:2], files[int(row["file"]) - 1].name, *told[2:]])
    _finish(sheet, (10, 20, 20, 6, 12, 6, 12, 16, 18, 70, 40, 50, 16, 18))
    book.properties.creator = FINDINGS_MARK
    path = _free(line.survey.folder)
    book.save(path)
    return path


def _free(folder: Path) -> Path:
    """findings.xlsx, unless a file of that name is the leader's own."""
    path, number = folder / "findings.xlsx", 1
    while path.exists() and not is_findings(path):
        number += 1
        path = folder / f"findings-{number}.xlsx"
    return path


def write_record_sheet(path: Path) -> None:
    """Write an empty record workbook: the headings, and a sheet that says what they mean."""
    book = Workbook()
    sheet = book.active
    sheet.title = "records"
    sheet.append(list(FIRST_HEADINGS))
    _finish(sheet, (14,) * len(FIRST_HEADINGS))
    meaning = book.create_sheet("headings")
    meaning.append(["heading", "unit", "meaning"])
    for row in rows("columns"):
        meaning.append([row["name"], row["unit"], row["meaning"]])
    _finish(meaning, (22, 8, 100))
    book.save(path)


def _plain(value: object) -> object:
    """A cell that a spreadsheet does not run as a formula."""
    text = "" if value is None or value != value else value
    if isinstance(text, str):
        harmless = ILLEGAL_CHARACTERS_RE.sub("\ufffd", text)
        return "'" + harmless if harmless.startswith(("=", "+", "-", "@")) else harmless
    return text if isinstance(text, (int, float)) else str(text)


def _finish(sheet: object, widths: tuple[int, ...]) -> None:
    for cell in sheet[1]:  # type: ignore[index]
        cell.font = Font(bold=True)
    for number, width in enumerate(widths, start=1):
        letter = sheet.cell(row=1, column=number).column_letter  # type: ignore[attr-defined]
        sheet.column_dimensions[letter].width = width  # type: ignore[attr-defined]
    sheet.freeze_panes = "A2"  # type: ignore[attr-defined]
