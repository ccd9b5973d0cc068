"""Decisions of a leader → a layer over the record files, and the history of what it changed."""

import os
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field, replace
from pathlib import Path

import numpy as np
import pandas as pd

from mapper.load.decisions import HEADING_ROW, Decision, Decisions, Unclear
from mapper.load.find_rows import NOWHERE
from mapper.load.headings import understand
from mapper.load.layer import CHANGED, OUTDATED, Layered, Outcome, lay_over, unplaced
from mapper.load.names import is_known
from mapper.load.records import PROBLEM_COLUMNS, WHOLE_COLUMN, Sheet, remark_problems
from mapper.load.shown import as_shown
from mapper.load.table import Table, read_sheet

HISTORY_COLUMNS = [
    "record", "file", "sheet", "row", "tree", "column", "found", "value", "state", "why",
    "reason", "concerns", "place", "before", "before_word",
]  # fmt: skip
NO_FILE, WAITING = 0, -1


@dataclass(frozen=True)
class Layer:
    """The decisions on each file by its number, and those that no file can take."""

    decisions: Mapping[int, tuple[Decision, ...]] = field(default_factory=dict)
    lost: tuple[Outcome, ...] = ()
    unclear: tuple[tuple[int, Unclear], ...] = ()


NO_LAYER = Layer()


def layer_for(decisions: Decisions, files: Sequence[Path], folder: Path) -> Layer:
    """Which file each decision is about: by its path in the survey folder, else by its name.

    Decisions on a table of that folder that is not read this time wait for it in silence.
    """
    numbers = {shown_path(file, folder): number for number, file in enumerate(files, start=1)}
    names = [file.name for file in files]
    lone = {name: names.index(name) + 1 for name in names if names.count(name) == 1}

    def number_of(text: str) -> int:
        if text in numbers:
            return numbers[text]
        return WAITING if _is_file(folder, text) else lone.get(text.rpartition("/")[2], NO_FILE)

    placed = {text: number_of(text) for text in {one.file for one in decisions.made}}
    by_number: dict[int, list[Decision]] = {}
    for one in decisions.made:
        by_number.setdefault(placed[one.file], []).append(one)
    lost = by_number.pop(NO_FILE, [])
    by_number.pop(WAITING, None)
    unclear = [(number_of(one.file), one) for one in decisions.unclear]
    return Layer(
        {number: tuple(group) for number, group in by_number.items()},
        tuple(Outcome(one, OUTDATED, why=f"no record file is '{one.file}'") for one in lost),
        tuple((number, one) for number, one in unclear if number != WAITING),
    )


def _is_file(folder: Path, text: str) -> bool:
    try:
        return bool(text) and (folder / text).is_file()
    except (OSError, ValueError):  # a name that no file can have
        return False


def shown_path(file: Path, folder: Path) -> str:
    """A record file as the repair workbook names it."""
    try:
        return Path(os.path.relpath(file, folder)).as_posix()
    except ValueError:  # another drive
        return file.name


def lay_over_file(sheets: Sequence[Sheet], layer: Layer, number: int) -> list[Layered]:
    """The sheets of file `number` with the decisions on them."""
    decisions = layer.decisions.get(number, ())
    names = {sheet.name for sheet in sheets}
    alone = sheets[0].name if len(sheets) == 1 else ""
    placed = [one if one.sheet in names else replace(one, sheet=alone) for one in decisions]
    laid = [lay_over(sheet, [one for one in placed if _takes(sheet, one)]) for sheet in sheets]
    left = [one for one in placed if not any(_takes(sheet, one) for sheet in sheets)]
    gone = unplaced(left, "its sheet is gone")
    return [replace(laid[0], outcomes=(*laid[0].outcomes, *gone)), *laid[1:]]


def _takes(sheet: Sheet, one: Decision) -> bool:
    """Whether a decision is about a sheet; one on a heading without a sheet is about all."""
    if one.row == HEADING_ROW and not one.sheet:
        return one.found in map(as_shown, sheet.headings)
    return one.sheet == sheet.name


def history_of(original: Sheet, laid: Layered, table: Table, units: str) -> pd.DataFrame:
    """What became of the decisions on a sheet that was read as `table`."""
    file, first = int(table.values["file"].iloc[0]), int(table.cells.index[0])
    history = _history([_entry(one, file, first) for one in laid.outcomes])
    changed = history[(history["state"] == CHANGED) & (history["record"] >= 0)]
    if changed.empty:
        return history
    told = _as_read_before(original, laid.sheet, changed["record"] - first, units)
    places = zip(changed["record"] - first, changed["column"], strict=True)
    before = pd.Series([told.get(place) for place in places], changed.index, dtype=object)
    number = pd.to_numeric(before, errors="coerce").astype(float)
    word = before.where(number.isna() & before.notna(), "").astype(str)
    return history.assign(
        before=number.reindex(history.index), before_word=word.reindex(history.index, fill_value="")
    )


def _as_read_before(
    original: Sheet, repaired: Sheet, places: pd.Series, units: str
) -> dict[tuple[int, str], object]:
    """What numbers and words of choice the changed cells were read as, by place and column.

    Texts, days and names stay at home: they may be what was wrong with the cell.
    """
    rows = np.unique(places)
    cells = original.cells.iloc[rows].reindex(columns=repaired.cells.columns, fill_value="")
    sheet = replace(repaired, cells=cells.reset_index(drop=True), rows=repaired.rows[rows])
    values = read_sheet(sheet, 1, 0, units).values
    columns = [heading.column for heading in understand(sheet) if heading.column]
    return {
        (int(row), column.name): value
        for column in columns
        if column.kind in ("number", "quantity", "choice", "flag")
        for row, value in zip(rows, values[column.value_name], strict=True)
    }


def lost_history(layer: Layer) -> pd.DataFrame:
    """Decisions that no file could take."""
    return _history([_entry(one, NO_FILE, 0) for one in layer.lost])


def _history(entries: list[tuple[object, ...]]) -> pd.DataFrame:
    return pd.DataFrame(entries, columns=HISTORY_COLUMNS).astype({"record": int, "file": int})


def _entry(outcome: Outcome, file: int, first: int) -> tuple[object, ...]:
    one = outcome.decision
    return (
        WHOLE_COLUMN if outcome.at == NOWHERE else first + outcome.at,
        file,
        one.sheet,
        one.row,
        one.tree,
        one.column,
        one.found,
        outcome.value,
        outcome.state,
        outcome.why,
        one.reason,
        one.concerns,
        one.place,
        np.nan,
        "",
    )


def repair_problems(history: pd.DataFrame, layer: Layer) -> pd.DataFrame:
    """Findings about decisions: not applied, contradicting an earlier one, or not understood."""
    outdated = history[history["state"] == OUTDATED]
    # Once for a file that is gone, not once for each of its cells.
    gone = (outdated["file"] == NO_FILE) & outdated.duplicated(["file", "why"])
    outdated = outdated[~gone]
    clashing = history[(history["state"] != OUTDATED) & (history["why"] != "")]
    return pd.concat(
        [
            _told(outdated, "repair_outdated", "{place}: not applied: {why}. Decide again."),
            _told(clashing, "repair_contradicts", "{place}: {why}. The later decision holds."),
            *(remark_problems([one.remark], number) for number, one in layer.unclear),
        ]
    )  # fmt: skip


def _told(found: pd.DataFrame, rule: str, template: str) -> pd.DataFrame:
    rows = found.to_dict("records")
    reasons = [template.format(place=row["place"], why=row["why"]) for row in rows]
    # A heading of the leader's own may be private, and columns of findings are published.
    column = found["column"].where(found["column"].map(is_known), "")
    told = found.assign(
        column=column, value=found["found"], severity="warning", rule=rule, reason=reasons
    )
    return told.reindex(columns=PROBLEM_COLUMNS, fill_value="")
