"""The workbook that `check` writes into the survey folder."""

from dataclasses import dataclass
from pathlib import Path

from openpyxl import Workbook
from openpyxl.workbook.defined_name import DefinedName

from mapper.load.decisions import holds_decisions
from mapper.repair.asked import cells_to_decide
from mapper.repair.decide_sheet import NAME, write_decide
from mapper.repair.sheets import write_all_findings, write_history, write_overview
from mapper.summarise import Line
from mapper.survey_files import FINDINGS_MARK, FINDINGS_NAME, is_decidable, is_findings

# More than anybody decides in one sitting; a spreadsheet grows slow with comments.
MOST_ASKED = 2000


@dataclass(frozen=True)
class Written:
    """The workbook, and how many cells in it wait for a decision."""

    path: Path
    to_decide: int


def write_findings(line: Line) -> Written:
    """Write what needs a decision, every finding and the history into the survey folder.

    Private cells are in it, and it never leaves the survey folder. A workbook that somebody
    filled in, or a file of that name that is not ours, is left alone: the answer says which name
    was taken.
    """
    asked, in_all = cells_to_decide(line, MOST_ASKED)
    book = Workbook()
    overview = book.active
    overview.title = "overview"
    write_overview(overview, line, in_all, len(asked))
    write_decide(book.create_sheet(NAME), asked)
    write_all_findings(book.create_sheet("findings"), line)
    write_history(book.create_sheet("history"), line)
    book.properties.creator = FINDINGS_MARK
    book.defined_names[FINDINGS_NAME] = DefinedName(FINDINGS_NAME, attr_text="overview!$A$1")
    path = _free(line.survey.folder)
    _save(book, path)
    return Written(path, in_all)


def _save(book: Workbook, path: Path) -> None:
    """In one step: a full disk leaves the earlier workbook whole."""
    beside = path.with_name(f".{path.name}.part")
    try:
        book.save(beside)
        beside.replace(path)
    finally:
        beside.unlink(missing_ok=True)


def _free(folder: Path) -> Path:
    """findings.xlsx, unless it is the leader's own or was filled in."""
    path, number = folder / "findings.xlsx", 1
    while path.exists() and not _replaceable(path):
        number += 1
        path = folder / f"findings-{number}.xlsx"
    return path


def _replaceable(path: Path) -> bool:
    return is_findings(path) and not (is_decidable(path) and holds_decisions(path))
