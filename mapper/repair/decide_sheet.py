"""The sheet to be filled in: doubtful cells coloured, the proposal beside them, drop-downs."""

from collections.abc import Sequence
from typing import Any

from openpyxl.comments import Comment
from openpyxl.formatting.rule import FormulaRule
from openpyxl.styles import Border, PatternFill, Protection, Side
from openpyxl.utils import get_column_letter
from openpyxl.worksheet.datavalidation import DataValidation

from mapper.load.decisions import ACCEPT, KEEP, NEW
from mapper.repair.asked import Asked
from mapper.repair.sheets import TEXT, WRAPPED, head

NAME = "decide"
COLUMNS = {
    "file": 18, "sheet": 9, "row": 8, "tree": 9, "column": 12, "found": 16, "now": 12,
    "what is doubtful": 56, "proposal": 14, "decision": 12, "new value": 14, "reason": 26,
    "the same record": 44, "concerns": 24,
}  # fmt: skip
WRITTEN_BY_HAND = ("file", "sheet", "row", "tree", "column", "found")
ANSWERS = ("decision", "new value", "reason")
FILLS = {"error": "F9D5CC", "warning": "FCEBC2", "note": "DCE8F2"}
DECIDED = PatternFill("solid", bgColor="DDEEDC")
LINE = Side(style="thin", color="9AA5A0")
LONGEST_LIST = 250  # letters that a spreadsheet allows in a list of choices
AUTHOR = "groveplat check"
OPEN_LINES = 10  # for cells that nobody asked about
HIGHEST_COMMENT, LETTERS_A_LINE, LINE_HEIGHT = 400, 45, 18


def write_decide(sheet: Any, asked: Sequence[Asked]) -> None:
    """Fill the sheet: a row a cell to decide on."""
    head(sheet, COLUMNS)
    for number, one in enumerate(asked, start=2):
        sheet.append(
            [one.file, one.sheet, one.row, one.tree, one.column, one.found, one.now, one.doubt,
             one.proposal, "", "", "", one.context, one.concerns]
        )  # fmt: skip
        _dress(sheet, number, one)
    last = len(asked) + 1 + OPEN_LINES
    for number in range(len(asked) + 2, last + 1):
        _open(sheet, number)
    _offer_words(sheet, asked)
    _offer_choices(sheet, asked)
    _mark_decided(sheet, last)
    sheet.column_dimensions[_letter("now")].hidden = not any(one.now for one in asked)
    sheet.freeze_panes = f"{_letter('column')}2"
    sheet.auto_filter.ref = f"A1:{get_column_letter(len(COLUMNS))}{last}"
    _protect(sheet)


def _dress(sheet: Any, number: int, one: Asked) -> None:
    """Colour and comment on the doubtful cell; the answers may be written in."""
    for name in COLUMNS:
        cell = sheet[f"{_letter(name)}{number}"]
        cell.alignment = WRAPPED
        if name != "row":
            cell.number_format = TEXT
    for name in ("found", "now") if one.now else ("found",):
        sheet[f"{_letter(name)}{number}"].fill = PatternFill("solid", fgColor=FILLS[one.severity])
    said = f"{one.severity}: {one.doubt}\n{one.advice}".strip()
    comment = Comment(said, AUTHOR, width=340)
    comment.height = min(HIGHEST_COMMENT, LINE_HEIGHT * (2 + len(said) // LETTERS_A_LINE))
    sheet[f"{_letter('found')}{number}"].comment = comment
    _unlock(sheet, number, ANSWERS)


def _open(sheet: Any, number: int) -> None:
    """A line in which any cell of the records may be named and given a new value."""
    _unlock(sheet, number, (*WRITTEN_BY_HAND, *ANSWERS))


def _unlock(sheet: Any, number: int, names: Sequence[str]) -> None:
    for name in names:
        cell = sheet[f"{_letter(name)}{number}"]
        cell.protection = Protection(locked=False)
        cell.number_format = TEXT  # so that 3/4 stays what was typed
        cell.border = Border(LINE, LINE, LINE, LINE)


def _offer_words(sheet: Any, asked: Sequence[Asked]) -> None:
    """accept only where there is something to accept."""
    letter = _letter("decision")
    for words, proposed in (((ACCEPT, KEEP, NEW), True), ((KEEP, NEW), False)):
        at = [n for n, one in enumerate(asked, start=2) if bool(one.proposal) == proposed]
        _offer(sheet, letter, at, words)


def _offer_choices(sheet: Any, asked: Sequence[Asked]) -> None:
    """The words that a column allows, where it allows but a few."""
    letter = _letter("new value")
    for choices in dict.fromkeys(one.choices for one in asked if one.choices):
        at = [number for number, one in enumerate(asked, start=2) if one.choices == choices]
        _offer(sheet, letter, at, choices)


def _offer(sheet: Any, letter: str, rows: Sequence[int], words: Sequence[str]) -> None:
    listed = ",".join(words)
    unlistable = any("," in word or '"' in word for word in words)
    if not rows or unlistable or len(listed) > LONGEST_LIST:
        return
    menu = DataValidation("list", formula1=f'"{listed}"', allow_blank=True, errorStyle="warning")
    menu.error = f"Not one of: {', '.join(words)}."
    for first, last in _runs(rows):
        menu.add(f"{letter}{first}:{letter}{last}")
    sheet.add_data_validation(menu)


def _runs(rows: Sequence[int]) -> list[tuple[int, int]]:
    """Ascending numbers as runs without a gap: one range each."""
    known = set(rows)
    starts = [number for number in rows if number - 1 not in known]
    ends = [number for number in rows if number + 1 not in known]
    return list(zip(starts, ends, strict=True))


def _mark_decided(sheet: Any, last: int) -> None:
    decision, new, reason = (_letter(name) for name in ANSWERS)
    rule = FormulaRule([f'OR(${decision}2<>"",${new}2<>"")'], fill=DECIDED)
    sheet.conditional_formatting.add(f"{decision}2:{reason}{last}", rule)


def _protect(sheet: Any) -> None:
    """Against slips only: there is no password, and columns may be made wider."""
    sheet.protection.enable()
    sheet.protection.formatColumns = False
    sheet.protection.formatRows = False
    sheet.protection.autoFilter = False


def _letter(name: str) -> str:
    letter: str = get_column_letter(list(COLUMNS).index(name) + 1)
    return letter
