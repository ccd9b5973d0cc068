"""The workbook a survey starts with: a record sheet with drop-downs, units, examples."""

import datetime
from collections.abc import Mapping
from pathlib import Path
from typing import TYPE_CHECKING

from mapper.load.columns import Column, known_columns
from mapper.load.species_names import SHOWN, known_names, name_key, taxa
from mapper.load.workbook_file import NOT_READ, RECORDS
from mapper.reference import rows

if TYPE_CHECKING:
    from openpyxl.worksheet.datavalidation import DataValidation
    from openpyxl.worksheet.worksheet import Worksheet

HEADINGS = (
    "tree", "stand", "species", "date", "observer", "status", "girth", "measured_how", "height",
    "height_method", "baseline", "baseline_method", "angle_top", "angle_base", "eye_height",
    "lat", "lon", "position_accuracy", "photo", "photo_consent", "note",
)  # fmt: skip
WITHOUT_UNIT = ("lat", "lon")  # degrees by their nature
EXAMPLES, MEANINGS, LISTS = f"examples {NOT_READ}", f"headings {NOT_READ}", f"lists {NOT_READ}"
LAST_ROW = 2000  # drop-downs and hints reach so far; rows below are read all the same
OWN_COLUMNS = 20  # beside ours, for headings of the leader's own
WIDTH, WIDER = 13, {"species": 26, "measured_how": 16, "height_method": 16, "note": 40}
FILL = "E8EFE4"
FORMATS = {"text": "@", "date": "yyyy-mm-dd"}  # as text 007 and 3-5 stay what they are
BEYOND = {"lat": 90, "lon": 180}
IN_ANOTHER = {"cm": "1 m 57", "m": "56 ft", "in": "157 cm", "ft": "17.2 m"}
LONGEST_HINT = 255  # letters; spreadsheets allow no more

# Invented trees: two angles; a height from a phone, in units of its own; one angle, a dead tree.
EXAMPLE_TREES: tuple[Mapping[str, object], ...] = (
    {
        "tree": "1", "stand": "Old Grove", "species": "English oak",
        "date": datetime.date(2024, 5, 3), "observer": "Team Wren", "status": "alive",
        "girth": 157, "measured_how": "level", "height_method": "two angles", "baseline": 20,
        "baseline_method": "taped", "angle_top": 38, "angle_base": -5, "lat": 45.31295,
        "lon": -71.43872, "position_accuracy": 5, "photo_consent": "no",
    },
    {
        "tree": "2", "stand": "Old Grove", "species": "Betula pendula",
        "date": datetime.date(2024, 5, 3), "observer": "Team Wren", "girth": "80 cm",
        "height": "14.5 m", "height_method": "reported", "lat": 45.31315, "lon": -71.43891,
        "position_accuracy": 5, "note": "Height from a phone.",
    },
    {
        "tree": "3", "stand": "Old Grove", "species": "Fagus sylvatica",
        "date": datetime.date(2024, 5, 4), "observer": "Team Finch", "status": "dead",
        "girth": "2 m 30", "measured_how": "slope", "height_method": "one angle",
        "baseline": "24.5 m", "baseline_method": "taped", "angle_top": 41.5,
        "eye_height": "1.55 m", "lat": 45.31336, "lon": -71.43905, "position_accuracy": 5,
    },
)  # fmt: skip
IN_US_UNITS = {"girth": 62, "baseline": 66, "position_accuracy": 16}  # of the bare numbers


def write_record_book(path: Path, units: str) -> None:
    """Write an empty record workbook for a survey whose units are metric or us."""
    from openpyxl import Workbook

    book = Workbook()
    sheet: Worksheet = book.worksheets[0]
    sheet.title = RECORDS
    _headed(sheet, record_headings(units))
    _protect_headings(sheet)
    names = listed_names()
    for number, name in enumerate(HEADINGS, start=1):
        _add_help(sheet, number, known_columns()[name], units, len(names))
    _write_examples(book.create_sheet(EXAMPLES), units)
    _write_meanings(book.create_sheet(MEANINGS))
    lists = book.create_sheet(LISTS)
    for name in names:
        lists.append([name])
    lists.sheet_state = "hidden"
    book.save(path)


def record_headings(units: str) -> list[str]:
    """The headings of the record sheet, with the unit where there is one."""
    return [_heading(known_columns()[name], units) for name in HEADINGS]


def example_rows(units: str) -> list[list[object]]:
    """The invented trees of the example sheet, cell by cell under those headings."""
    return [[_example(tree, name, units) for name in HEADINGS] for tree in EXAMPLE_TREES]


def listed_names() -> list[str]:
    """The names that the drop-down of species offers: common ones, then botanical ones.

    A common name is offered if it can mean one tree only. Any other name may be typed.
    """
    known = known_names()
    common = {
        taxon.common_name
        for taxon in taxa().values()
        if list(known.get(name_key(taxon.common_name), {}).items()) == [(taxon.name, SHOWN)]
    }
    return sorted(common, key=str.casefold) + sorted(taxa())


def _heading(column: Column, units: str) -> str:
    unit = _unit(column, units)
    return f"{column.name}_{unit}" if unit else column.name


def _unit(column: Column, units: str) -> str:
    if column.name in WITHOUT_UNIT:
        return ""
    return column.unit if units == "metric" else column.us_unit


def _example(tree: Mapping[str, object], name: str, units: str) -> object:
    cell = tree.get(name)
    converted = units == "us" and isinstance(cell, int) and name in IN_US_UNITS
    return IN_US_UNITS[name] if converted else cell


def _headed(sheet: "Worksheet", headings: list[str]) -> None:
    """A first row of headings that stays in sight, and columns that keep texts and dates."""
    from openpyxl.styles import Alignment, Font, PatternFill

    sheet.append(headings)
    for number, name in enumerate(HEADINGS, start=1):
        cell = sheet.cell(row=1, column=number)
        cell.font = Font(bold=True)
        cell.fill = PatternFill("solid", start_color=FILL)
        cell.alignment = Alignment(wrap_text=True, vertical="top")
        whole = sheet.column_dimensions[cell.column_letter]
        whole.width = WIDER.get(name, WIDTH)
        whole.number_format = FORMATS.get(known_columns()[name].kind, "General")
    sheet.row_dimensions[1].height = 32
    sheet.freeze_panes = "B2"


def _protect_headings(sheet: "Worksheet") -> None:
    """Locks the headings and nothing else: no password, and columns of one's own may be added."""
    from openpyxl.styles import Protection
    from openpyxl.utils import get_column_letter

    for number in range(1, len(HEADINGS) + OWN_COLUMNS + 1):
        sheet.column_dimensions[get_column_letter(number)].protection = Protection(locked=False)
        if number > len(HEADINGS):
            sheet.cell(row=1, column=number).protection = Protection(locked=False)
    protection = sheet.protection
    protection.formatCells = protection.formatColumns = protection.formatRows = False
    protection.insertRows = protection.deleteRows = protection.sort = False
    protection.autoFilter = False
    protection.enable()


def _add_help(sheet: "Worksheet", number: int, column: Column, units: str, names: int) -> None:
    """The drop-down of a column, and the hint that shows when a cell of it is chosen."""
    from openpyxl.utils import get_column_letter

    rule = _validation(column, names)
    rule.promptTitle = column.name.replace("_", " ")
    rule.prompt = _hint(column, units)[:LONGEST_HINT]
    rule.showInputMessage = True
    rule.allow_blank = True
    letter = get_column_letter(number)
    rule.add(f"{letter}2:{letter}{LAST_ROW}")
    sheet.add_data_validation(rule)


def _validation(column: Column, names: int) -> "DataValidation":
    """What a cell offers or asks back about. Nothing is refused: a warning can be passed over."""
    from openpyxl.worksheet.datavalidation import DataValidation

    choices = column.choices or (("yes", "no") if column.kind == "flag" else ())
    if choices:
        listed = f'"{",".join(choices)}"'
        return DataValidation(
            type="list", formula1=listed, errorStyle="warning", showErrorMessage=True
        )
    if column.name == "species":
        return DataValidation(type="list", formula1=f"'{LISTS}'!$A$1:$A${names}")
    if column.kind == "date":
        span = {"formula1": "DATE(1900,1,1)", "formula2": "DATE(2199,12,31)"}
        return DataValidation(type="date", errorStyle="warning", showErrorMessage=True, **span)
    if column.name in BEYOND:
        most = BEYOND[column.name]
        span = {"formula1": str(-most), "formula2": str(most)}
        return DataValidation(type="decimal", errorStyle="warning", showErrorMessage=True, **span)
    return DataValidation()


def _hint(column: Column, units: str) -> str:
    (meaning,) = [row["meaning"] for row in rows("columns") if row["name"] == column.name]
    unit = _unit(column, units)
    if unit in IN_ANOTHER:
        other = IN_ANOTHER[unit]
        return f"{meaning} A bare number is in {unit}; or write the unit, as in {other}."
    return meaning


def _write_examples(sheet: "Worksheet", units: str) -> None:
    _headed(sheet, record_headings(units))
    for row in example_rows(units):
        sheet.append(row)
        for cell, name in zip(sheet[sheet.max_row], HEADINGS, strict=True):
            cell.number_format = FORMATS.get(known_columns()[name].kind, "General")


def _write_meanings(sheet: "Worksheet") -> None:
    """Every heading a record may have: any of them may be added to the record sheet."""
    from openpyxl.styles import Alignment, Font

    sheet.append(["heading", "unit", "meaning"])
    for row in rows("columns"):
        sheet.append([row["name"], row["unit"], row["meaning"]])
    for cell in sheet[1]:
        cell.font = Font(bold=True)
    for letter, width in (("A", 22), ("B", 8), ("C", 100)):
        sheet.column_dimensions[letter].width = width
        sheet.column_dimensions[letter].alignment = Alignment(wrap_text=True, vertical="top")
    sheet.freeze_panes = "A2"
