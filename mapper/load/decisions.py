"""Filled-in repair workbooks → the decisions in them, oldest first."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path

from mapper.load.records import Remark
from mapper.load.repair_book import ENDINGS, Row, read_book
from mapper.load.shown import same_text, without_guard

HEADING_ROW = "heading"
EMPTY = "(empty)"
EMPTY_WORDS = (EMPTY, "(vacío)", "(vacio)", "(vide)", "(leer)")
ACCEPT, KEEP, NEW = "accept", "keep", "new value"
WORDS: Mapping[str, str] = {
    **dict.fromkeys((ACCEPT, "accepted", "yes", "y", "ok", "oui", "accepter", "ja"), ACCEPT),
    **dict.fromkeys(("übernehmen", "annehmen", "sí", "aceptar"), ACCEPT),
    **dict.fromkeys((KEEP, "kept", "leave", "behalten", "garder", "conservar"), KEEP),
    **dict.fromkeys((NEW, "new", "change", "neuer wert"), NEW),
    **dict.fromkeys(("nouvelle valeur", "nuevo valor", "valor nuevo"), NEW),
}


@dataclass(frozen=True)
class Decision:
    """What a leader decided about one cell: `value` is what it is to say from now on."""

    workbook: str
    line: int  # row of the workbook
    file: str
    sheet: str
    row: str  # a number, or HEADING_ROW
    tree: str
    column: str
    found: str  # in the record file, as a workbook shows it
    now: str  # what earlier repairs had made of it
    concerns: frozenset[tuple[str, str]]  # rule and column of the findings it answers
    keeps: bool
    value: str
    reason: str

    @property
    def place(self) -> str:
        """Where the decision stands, for messages."""
        return f"{self.workbook}, row {self.line}"


@dataclass(frozen=True)
class Unclear:
    """An answer that could mean several things: it is not applied."""

    file: str
    remark: Remark


@dataclass(frozen=True)
class Decisions:
    """Every decision, oldest first, and the answers that were not understood."""

    made: tuple[Decision, ...] = ()
    unclear: tuple[Unclear, ...] = ()


NO_DECISIONS = Decisions()


def read_decisions(files: Sequence[Path]) -> Decisions:
    """The decisions in some workbooks, those of the workbook that was saved last at the end.

    Raises
    ------
    InputError
        When a workbook cannot be opened, or has no sheet with the headings of a repair workbook.
    """
    known = [file for file in files if file.suffix.lower() in ENDINGS]
    books = sorted(map(read_book, known), key=lambda book: (book.saved, book.file.name))
    answers = [_answer(book.file.name, row) for book in books for row in book.rows]
    answers += [_no_book(file) for file in files if file not in known]
    return Decisions(
        made=tuple(answer for answer in answers if isinstance(answer, Decision)),
        unclear=tuple(answer for answer in answers if isinstance(answer, Unclear)),
    )


def holds_decisions(file: Path) -> bool:
    """Whether anybody filled in a workbook that `check` wrote."""
    return bool(read_book(file).rows)


def _no_book(file: Path) -> Unclear:
    reason = f"{file.name}: no workbook, so no repair in it is applied. Save it as .xlsx."
    return Unclear("", Remark("repair_unclear", "warning", reason))


def _answer(workbook: str, row: Row) -> Decision | Unclear:
    word, new = WORDS.get(_plain_word(row.decision), ""), row.new_value
    wrong = _objection(row, word)
    if wrong:
        reason = f"{workbook}, row {row.line}: {wrong} The cell stays as it was."
        return Unclear(row.file, Remark("repair_unclear", "warning", reason, row.column))
    keeps = word == KEEP
    meant = row.found if keeps else new or row.proposal
    return Decision(
        workbook=workbook,
        line=row.line,
        file=row.file,
        sheet=row.sheet,
        row=HEADING_ROW if _plain_word(row.row) == HEADING_ROW else row.row,
        tree=row.tree,
        column=row.column,
        found=row.found,
        now=_now(row),
        concerns=frozenset(_pairs(row.concerns)),
        keeps=keeps,
        value=_meant(meant),
        reason=row.reason,
    )


def _objection(row: Row, word: str) -> str:
    """What is wrong with an answer, "" if nothing is."""
    if row.decision and not word:
        return f"the decision '{row.decision}' is none of {ACCEPT}, {KEEP} and {NEW}."
    if word == ACCEPT and not row.proposal:
        return f"there is no proposal to accept. Write {KEEP}, or give a new value."
    if word == ACCEPT and row.new_value and not same_text(row.new_value, row.proposal):
        return "the proposal is accepted, and another new value is given. Keep one."
    if word == KEEP and row.new_value and not same_text(row.new_value, row.now or row.found):
        return "the cell is to be kept, and a new value is given. Keep one."
    if word == NEW and not row.new_value:
        return f"the new value is missing. Write it, or {EMPTY} to clear the cell."
    return ""


def _plain_word(text: str) -> str:
    return " ".join(text.split()).casefold().strip(" .!")


def _now(row: Row) -> str:
    """What the cell said when it was decided; an empty cell of the workbook means: as found."""
    return ("" if row.now.casefold() in EMPTY_WORDS else row.now) if row.now else row.found


def _meant(text: str) -> str:
    return "" if text.casefold() in EMPTY_WORDS else without_guard(text)


def _pairs(text: str) -> list[tuple[str, str]]:
    """`impossible girth; rare girth` as rules with their columns."""
    parts = [part.strip().partition(" ") for part in text.split(";") if part.strip()]
    return [(rule, column.strip()) for rule, _, column in parts]
