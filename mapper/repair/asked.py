"""What the workbook asks: one row a doubtful cell, with everything that is said about it."""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from typing import Any

import pandas as pd

from mapper.check.kept import OF_THE_HEADING
from mapper.load.columns import known_columns
from mapper.load.decisions import EMPTY, HEADING_ROW
from mapper.load.layer import CHANGED
from mapper.load.repairs import shown_path
from mapper.load.shown import as_shown
from mapper.repair.doubts import doubtful_cells
from mapper.summarise import Line

# What helps most to judge a cell of the same record.
CONTEXT = (
    "species", "local_name", "date", "status", "girth", "diameter", "height", "baseline",
    "angle_top", "angle_base", "stand", "lat", "lon", "observer", "note",
)  # fmt: skip
LONGEST_CONTEXT = 200
MOST_SENTENCES = 4
ORDER = {"error": 0, "warning": 1, "note": 2}
DAY_ORDERS = ("dd/mm/yyyy", "mm/dd/yyyy")

Found = dict[Any, Any]  # a row of the findings
Earlier = Mapping[tuple[int, int, str], str]


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
    choices: tuple[str, ...]  # what the new value may be, where there are but a few
    context: str
    concerns: str


def cells_to_decide(line: Line, most: int) -> tuple[list[Asked], int]:
    """The first doubtful cells in the order of the files, and how many there are in all."""
    records = line.observations.records
    told = doubtful_cells(line.findings, records)
    number = told.groupby(["file", "record", "target", "heading"], sort=False).ngroup()
    first = told[number < most]
    groups: dict[int, list[Found]] = {}
    for at, row in zip(number[number < most], first.to_dict("records"), strict=True):
        groups.setdefault(at, []).append(row)
    names = [shown_path(file, line.survey.folder) for file in records.files]
    own = records.cells.loc[[n for n in first["record"].unique() if n >= 0]].to_dict("index")
    earlier = _repaired(records.history)
    asked = [
        _asked(rows, names, own.get(rows[0]["record"], {}), earlier) for rows in groups.values()
    ]
    return asked, int(number.max()) + 1 if len(number) else 0


def _repaired(history: pd.DataFrame) -> Earlier:
    """What the file says in the cells that were repaired; a heading is named by what it is now."""
    changed = history[history["state"] == CHANGED] if len(history) else history
    return {
        (row["file"], row["record"], _name(row["record"], row["column"], row["value"])): row[
            "found"
        ]
        for row in changed.to_dict("records")
    }


def _name(record: int, column: str, heading: str) -> str:
    return column if record >= 0 else as_shown(heading)


def _asked(rows: list[Found], names: list[str], own: Mapping[Any, str], earlier: Earlier) -> Asked:
    """All that was found about one cell, the worst first."""
    rows = sorted(rows, key=lambda row: ORDER[row["severity"]])
    first = rows[0]
    record, target = first["record"], first["target"]
    of_record = record >= 0
    present = as_shown(own.get(target, "") if of_record else first["heading"])
    most = MOST_SENTENCES if of_record else 1
    found = earlier.get((first["file"], record, _name(record, target, present)), present)
    return Asked(
        severity=first["severity"],
        file=as_shown(names[first["file"] - 1]),
        sheet=as_shown(first["sheet"]),
        row=int(first["row"]) if of_record else HEADING_ROW,
        tree=as_shown(own.get("tree", "")),
        column=target,
        found=found,
        now="" if present == found else present or EMPTY,
        doubt=as_shown(_in_all(_each(rows, "message", "cause"), most)),
        advice=as_shown(_in_all(_each(rows, "suggestion"), most)),
        proposal=as_shown(next(iter(_each(rows, "proposed_value")), "")),
        choices=_cell_choices(target) if of_record else _heading_choices(present, rows),
        context=as_shown(_context(own, target)),
        concerns="; ".join(dict.fromkeys(f"{row['rule']} {row['column']}" for row in rows)),
    )


def _each(rows: list[Found], *names: str) -> list[str]:
    """Every text once, in the order of the rows."""
    return list(dict.fromkeys(row[name] for row in rows for name in names if row[name]))


def _in_all(sentences: list[str], most: int) -> str:
    more = len(sentences) - most
    told = sentences[:most] + ([f"And {more:,} more like it."] if more > 0 else [])
    return " ".join(told)


def _cell_choices(target: str) -> tuple[str, ...]:
    column = known_columns().get(target)
    if column is None:
        return ()
    choices = ("yes", "no") if column.kind == "flag" else column.choices
    return (*choices, EMPTY) if choices else ()


def _heading_choices(heading: str, rows: list[Found]) -> tuple[str, ...]:
    if not any(row["rule"] in OF_THE_HEADING for row in rows):
        return ()
    return tuple(f"{heading} ({order})" for order in DAY_ORDERS)


def _context(cells: Mapping[Any, str], target: str) -> str:
    text = ", ".join(_context_parts(cells, target))
    return text if len(text) <= LONGEST_CONTEXT else text[:LONGEST_CONTEXT] + "…"


def _context_parts(cells: Mapping[Any, str], target: str) -> Iterator[str]:
    for name in CONTEXT:
        text = cells.get(name, "").strip()
        if text and name != target:
            yield f"{name} {text}"
