"""The workbook a leader starts with: an empty record sheet."""

from pathlib import Path

from openpyxl import Workbook
from openpyxl.styles import Font

from mapper.reference import rows

FIRST_HEADINGS = (
    "tree", "stand", "species", "date", "observer", "girth_cm", "height_m", "baseline_m",
    "angle_top", "angle_base", "eye_height_m", "lat", "lon", "position_accuracy_m",
    "status", "note",
)  # fmt: skip


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


def _finish(sheet: object, widths: tuple[int, ...]) -> None:
    for cell in sheet[1]:  # type: ignore[index]
        cell.font = Font(bold=True)
    for number, width in enumerate(widths, start=1):
        letter = sheet.cell(row=1, column=number).column_letter  # type: ignore[attr-defined]
        sheet.column_dimensions[letter].width = width  # type: ignore[attr-defined]
    sheet.freeze_panes = "A2"  # type: ignore[attr-defined]
