"""Which cells need a decision: one row a doubtful cell, with everything that is said about it."""

from collections.abc import Iterator, Mapping
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


def cells_to_decide(line: Line, most: int) -> tuple[list[Asked], int]:
    """The first doubtful cells in the order of the files, and how many there are in all.

    Headings come before the rows below them. A note asks nothing unless it proposes something,
    and what is said of a whole table is no cell.
    """
    records = line.observations.records
    told = _by_cell(line.findings[_asks(line.findings)], records.cells)
    told = told[_is_a_cell(told, records)]
    told = told.sort_values(["file", "sheet", "row"], kind="stable", na_position="first")
    number = told.groupby(["file", "record", "target", "heading"], sort=False).ngroup()
    first = told[number < most]
    groups: dict[int, list[dict[Any, Any]]] = {}
    for at, row in zip(number[number < most], first.to_dict("records"), strict=True):
        groups.setdefault(at, []).append(row)
    names = [shown_path(file, line.survey.folder) for file in records.files]
    own = records.cells.loc[[n for n in first["record"].unique() if n >= 0]].to_dict("index")
    earlier = _repaired(records.history)
    asked = [
        _asked(rows, names, own.get(rows[0]["record"], {}), earlier) for rows in groups.values()
    ]
    return asked, int(number.max()) + 1 if len(number) else 0


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
    told = pd.concat([at_proposal, elsewhere, partners[_filled(partners, cells)]])
    return told.assign(target=told["target"].where(told["record"] >= 0, ""))


def _filled(told: pd.DataFrame, cells: pd.DataFrame) -> "pd.Series[bool]":
    """Whether the cell of `target` holds anything."""
    filled = pd.Series(False, index=told.index)
    for name in set(PARTNERS) & set(cells):
        of_column = (told["target"] == name) & (told["record"] >= 0)
        filled[of_column] = (cells[name].reindex(told["record"][of_column]) != "").to_numpy()
    return filled


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
    own: Mapping[Any, str],
    earlier: dict[tuple[int, str], str],
) -> Asked:
    """All that was found about one cell, the worst first."""
    rows = sorted(rows, key=lambda row: ORDER[row["severity"]])
    first = rows[0]
    record, target = first["record"], first["target"]
    present = as_shown(own.get(target, "") if record >= 0 else first["heading"])
    found = earlier.get((record, target), present)
    return Asked(
        severity=first["severity"],
        file=as_shown(names[first["file"] - 1]),
        sheet=as_shown(first["sheet"]),
        row=int(first["row"]) if record >= 0 else HEADING_ROW,
        tree=as_shown(own.get("tree", "")),
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


def _context(cells: Mapping[Any, str], target: str) -> str:
    text = ", ".join(_context_parts(cells, target))
    return text if len(text) <= LONGEST_CONTEXT else text[:LONGEST_CONTEXT] + "…"


def _context_parts(cells: Mapping[Any, str], target: str) -> Iterator[str]:
    for name in CONTEXT:
        text = cells.get(name, "").strip()
        if text and name != target:
            yield f"{name} {text}"
