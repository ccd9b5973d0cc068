"""Which cells need a decision: one row a doubtful cell, with everything that is said about it."""

from collections.abc import Iterator
from dataclasses import dataclass
from typing import Any

import pandas as pd

from mapper.load.decisions import EMPTY, HEADING_ROW
from mapper.load.layer import CHANGED
from mapper.load.names import is_known
from mapper.load.records import Records
from mapper.load.repairs import shown_path
from mapper.load.shown import as_shown
from mapper.summarise import Line

# What helps most to judge a cell of the same record.
CONTEXT = (
    "species", "local_name", "date", "status", "girth", "diameter", "height", "baseline",
    "angle_top", "angle_base", "stand", "lat", "lon", "observer", "note",
)  # fmt: skip
LONGEST_CONTEXT = 200
# Read together: if one looks wrong, the other may be, or both were swapped.
PARTNERS = {"angle_top": "angle_base", "angle_base": "angle_top", "lat": "lon", "lon": "lat"}
ORDER = {"error": 0, "warning": 1, "note": 2}


@dataclass(frozen=True)
class Asked:
    """One cell that somebody should look at; texts as a workbook can show them."""

    severity: str
    file: str
    sheet: str
    row: int | str
    tree: str
    column: str
    found: str
    now: str
    doubt: str
    advice: str
    proposal: str
    context: str
    concerns: str


def cells_to_decide(line: Line) -> list[Asked]:
    """Doubtful cells in the order of the files, headings before the rows below them.

    A note asks nothing unless it proposes something. What is said of a whole table is no cell.
    """
    records = line.observations.records
    told = _by_cell(line.findings[_asks(line.findings)], records.cells)
    told = told[_is_a_cell(told, records)]
    told = told.sort_values(["file", "sheet", "row"], kind="stable", na_position="first")
    groups = told.groupby(["file", "record", "target", "heading"], sort=False)
    names = [shown_path(file, line.survey.folder) for file in records.files]
    earlier = _repaired(records.history)
    return [_asked(group.to_dict("records"), names, records.cells, earlier) for _, group in groups]


def _asks(findings: pd.DataFrame) -> "pd.Series[bool]":
    serious = findings["severity"].isin(["error", "warning"])
    of_repairs = findings["rule"].str.startswith("repair_")
    return (serious | (findings["proposed_value"] != "")) & ~of_repairs


def _by_cell(findings: pd.DataFrame, cells: pd.DataFrame) -> pd.DataFrame:
    """A row for each cell that an answer could change: `target`, or `heading` of a column.

    The proposal is for one cell; the finding's own cell and what is read together with it may
    be the wrong one just as well.
    """
    whole = findings["record"] < 0
    own = findings.assign(target=findings["column"], heading=findings["value"].where(whole, ""))
    other = own["proposed_column"].where(own["proposed_column"] != "", own["target"])
    at_proposal = own.assign(target=other)
    elsewhere = own[other != own["target"]].assign(proposed_value="")
    partners = own.assign(target=own["column"].map(PARTNERS), proposed_value="")
    filled = [
        name in cells and record >= 0 and cells.at[record, name] != ""
        for name, record in zip(partners["target"], partners["record"], strict=True)
    ]
    told = pd.concat([at_proposal, elsewhere, partners[pd.Series(filled, own.index, dtype=bool)]])
    return told.assign(target=told["target"].where(told["record"] >= 0, ""))


def _is_a_cell(told: pd.DataFrame, records: Records) -> "pd.Series[bool]":
    """Cells of records whose column is known, and headings that stand in their file."""
    headings = set(zip(records.columns["file"], records.columns["heading"], strict=True))
    keys = zip(told["file"], told["heading"], strict=True)
    heading = pd.Series([key in headings for key in keys], told.index, dtype=bool)
    cell = (told["record"] >= 0) & told["target"].map(is_known).astype(bool)
    return cell | ((told["record"] < 0) & heading)


def _repaired(history: pd.DataFrame) -> dict[tuple[int, str], str]:
    """What the file says in the cells that were repaired."""
    if history.empty:
        return {}
    changed = history[(history["state"] == CHANGED) & (history["record"] >= 0)]
    keys = zip(changed["record"], changed["column"], strict=True)
    return dict(zip(keys, changed["found"], strict=True))


def _asked(
    rows: list[dict[Any, Any]],
    names: list[str],
    cells: pd.DataFrame,
    earlier: dict[tuple[int, str], str],
) -> Asked:
    """All that was found about one cell, the worst first."""
    rows = sorted(rows, key=lambda row: ORDER[row["severity"]])
    first = rows[0]
    record, target = first["record"], first["target"]
    own = cells.loc[record] if record >= 0 else pd.Series(dtype=str)
    present = as_shown(str(own.get(target, "")) if record >= 0 else first["heading"])
    found = earlier.get((record, target), present)
    return Asked(
        severity=first["severity"],
        file=as_shown(names[first["file"] - 1]),
        sheet=as_shown(first["sheet"]),
        row=int(first["row"]) if record >= 0 else HEADING_ROW,
        tree=as_shown(str(own.get("tree", ""))),
        column=target,
        found=found,
        now="" if present == found else present or EMPTY,
        doubt=as_shown(" ".join(_each(rows, "message", "cause"))),
        advice=as_shown(" ".join(_each(rows, "suggestion"))),
        proposal=as_shown(next(iter(_each(rows, "proposed_value")), "")),
        context=as_shown(_context(own, target)),
        concerns="; ".join(f"{row['rule']} {row['column']}" for row in rows),
    )


def _each(rows: list[dict[Any, Any]], *names: str) -> list[str]:
    """Every text once, in the order of the rows."""
    return list(dict.fromkeys(row[name] for row in rows for name in names if row[name]))


def _context(cells: pd.Series, target: str) -> str:
    text = ", ".join(_context_parts(cells, target))
    return text if len(text) <= LONGEST_CONTEXT else text[:LONGEST_CONTEXT] + "…"


def _context_parts(cells: pd.Series, target: str) -> Iterator[str]:
    for name in CONTEXT:
        text = str(cells.get(name, "")).strip()
        if text and name != target:
            yield f"{name} {text}"
