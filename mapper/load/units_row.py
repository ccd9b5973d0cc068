"""A row of units below the headings: `cm`, `(m)`, `°`, `dd/mm/yyyy`."""

from dataclasses import replace

from mapper.errors import NoRecordsError
from mapper.load.heading import Heading
from mapper.load.headings import unit_of
from mapper.load.records import Remark, Sheet
from mapper.load.text import is_missing, plain

MEASURED = ("quantity", "number", "date")


def with_units_row(sheet: Sheet, headings: list[Heading]) -> tuple[Sheet, list[Heading]]:
    """The sheet without its row of units and the headings with them, where the first row is one.

    Raises
    ------
    InputError
        When nothing stands below that row.
    """
    first = [plain(str(text)) for text in sheet.cells.iloc[0]]
    units = [
        _unit(heading, text) if heading.column else None
        for heading, text in zip(headings, first, strict=True)
    ]
    if not any(units) or not _only_units(headings, first, units):
        return sheet, headings
    row = int(sheet.rows[0])
    if len(sheet.cells) == 1:
        raise NoRecordsError(f"{sheet.place}: there is no record below the units in row {row}.")
    reason = f"Row {row} names the units of the columns and was not read as a record."
    whole = [
        _with_unit(heading, unit, row, text)
        for heading, unit, text in zip(headings, units, first, strict=True)
    ]
    below = sheet.cells.iloc[1:].reset_index(drop=True)
    remark = Remark("units_row", "note", reason)
    rest = replace(sheet, cells=below, rows=sheet.rows[1:], remarks=(*sheet.remarks, remark))
    return rest, whole


def _unit(heading: Heading, text: str) -> str | None:
    """The unit a cell names for its column; "" for none, None where it is something else."""
    column = heading.column
    if column is None or column.kind not in MEASURED:
        return None
    return "" if is_missing(text) else unit_of(column, text.strip("()[]{} "), heading.text)


def _only_units(headings: list[Heading], texts: list[str], units: list[str | None]) -> bool:
    """Whether no measured column holds anything else, and no other cell a number."""
    measured = [
        unit is not None
        for heading, unit in zip(headings, units, strict=True)
        if heading.column and heading.column.kind in MEASURED
    ]
    others = (text for text, unit in zip(texts, units, strict=True) if unit is None)
    return all(measured) and not any(letter.isdigit() for text in others for letter in text)


def _with_unit(heading: Heading, unit: str | None, row: int, text: str) -> Heading:
    if not unit or heading.column is None:
        return heading
    if heading.unit in ("", unit):
        return heading._replace(unit=unit)
    reason = (
        f"The heading '{heading.text}' and row {row} ('{text}') name two units, so the column is "
        "not read. Keep one."
    )
    remark = Remark("unknown_unit", "warning", reason, heading.column.name, heading.text)
    return Heading(heading.text, remark=remark)
