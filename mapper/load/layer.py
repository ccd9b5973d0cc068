"""Decisions laid over one sheet: what each cell says in the end, and what became of each."""

from collections import defaultdict
from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from typing import TypeVar

import pandas as pd

from mapper.errors import InputError
from mapper.load.decisions import HEADING_ROW, Decision
from mapper.load.find_rows import NOWHERE, find_rows
from mapper.load.headings import understand
from mapper.load.names import is_known
from mapper.load.records import Sheet
from mapper.load.shown import as_shown, same_text, without_guard

CHANGED, KEPT, SUPERSEDED, OUTDATED = "changed", "kept", "superseded", "not applied"

Key = TypeVar("Key")


@dataclass(frozen=True)
class Outcome:
    """What became of one decision."""

    decision: Decision
    state: str
    value: str = ""  # what the cell says now
    at: int = NOWHERE  # place of the record in its sheet
    why: str = ""  # why it was not applied, or which other decision it contradicts


@dataclass(frozen=True)
class Layered:
    """A sheet with the decisions laid over it; the file itself stays as it is."""

    sheet: Sheet
    outcomes: tuple[Outcome, ...] = ()


def lay_over(sheet: Sheet, decisions: Sequence[Decision]) -> Layered:
    """Change the cells that were decided on, unless they hold something else by now."""
    if not decisions:
        return Layered(sheet)
    renamed = _over_headings(sheet, [one for one in decisions if one.row == HEADING_ROW])
    laid = _over_cells(renamed.sheet, [one for one in decisions if one.row != HEADING_ROW])
    return Layered(laid.sheet, (*renamed.outcomes, *laid.outcomes))


def unplaced(decisions: Sequence[Decision], why: str) -> tuple[Outcome, ...]:
    """Decisions whose file or sheet is gone."""
    return tuple(Outcome(one, OUTDATED, why=why) for one in decisions)


def _over_headings(sheet: Sheet, decisions: Sequence[Decision]) -> Layered:
    headings = list(sheet.headings)
    outcomes: list[Outcome] = []
    for found, group in _grouped(decisions, lambda one: one.found):
        at = [number for number, text in enumerate(sheet.headings) if as_shown(text) == found]
        if len(at) != 1:
            outcomes += unplaced(group, f"no single column has the heading '{found}' any more")
            continue
        text, settled = settle(sheet.headings[at[0]], group)
        changed = [*headings[: at[0]], text, *headings[at[0] + 1 :]]
        if _has_twins(replace(sheet, headings=tuple(changed))):
            outcomes += unplaced(group, f"with '{text}' two columns would mean the same")
            continue
        headings = changed
        outcomes += settled
    return Layered(replace(sheet, headings=tuple(headings)), tuple(outcomes))


def _has_twins(sheet: Sheet) -> bool:
    try:
        understand(sheet)
    except InputError:
        return True
    return False


def _over_cells(sheet: Sheet, decisions: Sequence[Decision]) -> Layered:
    wide = _with_columns(sheet, decisions)
    names = {heading.name: number for number, heading in enumerate(understand(wide))}
    trees = wide.cells[names["tree"]] if "tree" in names else None
    rows = find_rows(wide.rows, trees, decisions)
    outcomes: list[Outcome] = []
    changed: dict[int, dict[int, str]] = defaultdict(dict)
    for (at, column), group in _grouped(decisions, lambda one: (rows[one], one.column)):
        if at == NOWHERE or column not in names:
            what = f"record in row {group[0].row}" if at == NOWHERE else f"column '{column}'"
            outcomes += unplaced(group, f"there is no {what} any more")
            continue
        tree = "" if trees is None else as_shown(str(trees.iloc[at]))
        original = str(wide.cells[names[column]].iloc[at])
        changed[names[column]][at], settled = settle(original, group, tree)
        outcomes += [replace(one, at=at) for one in settled]
    return Layered(_with_cells(wide, changed), tuple(outcomes))


def _grouped(
    decisions: Sequence[Decision], key: Callable[[Decision], Key]
) -> list[tuple[Key, list[Decision]]]:
    groups: dict[Key, list[Decision]] = defaultdict(list)
    for one in decisions:
        groups[key(one)].append(one)
    return list(groups.items())


def _with_columns(sheet: Sheet, decisions: Sequence[Decision]) -> Sheet:
    """The sheet with the columns that decisions fill for the first time."""
    present = {heading.name for heading in understand(sheet)}
    wanted = dict.fromkeys(one.column for one in decisions if not one.found)
    new = [name for name in wanted if name not in present and is_known(name)]
    if not new:
        return sheet
    positions = range(len(sheet.headings), len(sheet.headings) + len(new))
    empty = pd.DataFrame("", index=sheet.cells.index, columns=positions, dtype=str)
    cells = pd.concat([sheet.cells, empty], axis=1)
    return replace(sheet, headings=(*sheet.headings, *new), cells=cells)


def _with_cells(sheet: Sheet, changed: Mapping[int, Mapping[int, str]]) -> Sheet:
    cells = sheet.cells.copy()
    for position, texts in changed.items():
        column = cells[position].copy()
        column.iloc[list(texts)] = list(texts.values())
        cells[position] = column
    return replace(sheet, cells=cells)


def settle(
    original: str, decisions: Sequence[Decision], tree: str = ""
) -> tuple[str, list[Outcome]]:
    """What one cell says after its decisions in their order, and what became of each.

    A decision that did not know what the cell said by then contradicts the one before: the later
    one holds.
    """
    value, outcomes = original, []
    for one in decisions:
        why = _changed_since(one, original, tree)
        if why:
            outcomes.append(Outcome(one, OUTDATED, why=why))
            continue
        before = value
        knew = same_text(as_shown(value), one.now)
        if not one.keeps:
            value = one.value
        elif not knew:
            value = original if same_text(one.now, one.found) else without_guard(one.now)
        clash = not knew and not same_text(as_shown(before), as_shown(value))
        why = f"an earlier decision had made it '{before}'" if clash else ""
        outcomes.append(Outcome(one, KEPT if one.keeps else CHANGED, value, why=why))
    return value, [_in_the_end(one, value) for one in outcomes]


def _changed_since(one: Decision, original: str, tree: str) -> str:
    if one.tree and tree and not same_text(one.tree, tree):
        return f"the row was tree {one.tree} when it was decided, and is tree {tree}"
    if not same_text(one.found, as_shown(original)):
        return f"the cell held '{one.found}' when it was decided, and holds '{original}'"
    return ""


def _in_the_end(outcome: Outcome, value: str) -> Outcome:
    holds = same_text(as_shown(outcome.value), as_shown(value))
    if outcome.state == KEPT:
        holds = same_text(outcome.decision.now, as_shown(value))
    return outcome if outcome.state == OUTDATED or holds else replace(outcome, state=SUPERSEDED)
