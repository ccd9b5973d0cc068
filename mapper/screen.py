"""What the commands say: one line when a site is published, the findings of a check."""

import json
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import pandas as pd

from mapper.check.findings import OF_PLOTS
from mapper.summarise import Line, Results
from mapper.survey_files import REPAIRS

SHOWN = 20
LONGEST_VALUE, LONGEST_MESSAGE = 60, 400
MOST_NAMED = 6
ORDERS = {"d/m/y": "day first", "m/d/y": "month first", "y-m-d": "year first"}
POSITIONS = {
    "exact": "exact places",
    "0.001 deg": "places cut to 0.001 degrees",
    "0.01 deg": "places cut to 0.01 degrees",
    "hidden": "no places",
}
OBSERVERS = {"hidden": "", "codes": "observers by code", "names": "names of observers who agreed"}


def published_line(results: Results, page: Path) -> str:
    """Where the site is and what became public."""
    publish = results.survey.publish
    placed = results.trees["lat"].notna().any()
    what = [POSITIONS[publish.positions if placed else "hidden"], f"dates by {publish.dates}"]
    what += [_count(len(results.photos), "photo")] if results.photos else []
    what += filter(None, [OBSERVERS[publish.observers], "notes" if publish.notes else ""])
    what += list(dict.fromkeys(publish.columns))
    own_title = results.survey.title_given
    title = "" if own_title else "the file's name as title (--title changes it), "
    return (
        f"{page} shows {_count(len(results.trees), 'tree')} in "
        f"{_count(len(results.stands), 'stand')}. "
        f"Public: {title}sizes, species, {', '.join(what)} (licence {publish.licence}). "
        + _withheld(results.withheld)
        + ("Not public: " if publish.observers == "names" else "Not public: names of people, ")
        + "file names, "
        + ("" if publish.notes else "notes, ")
        + "other columns."
    )


def left_out_line(names: Sequence[str]) -> str:
    """The downloads that one file does not carry; nothing where it carries all."""
    if not names:
        return ""
    return (
        f"Not in this one file, because they are large: {', '.join(names)}. "
        "Build without --single-file for these."
    )


def attention_line(line: Line) -> str:
    """What a build left out or doubts, in one line; empty where there is nothing."""
    counts = line.findings["severity"].value_counts()
    told = [_count(int(counts[name]), name) for name in ("error", "warning") if name in counts]
    columns = line.observations.records.columns
    named = line.survey.publish.columns
    unknown = columns["heading"][columns["name"] == ""]
    unused = [name for name in dict.fromkeys(unknown) if name not in named]
    if unused:
        told.append("columns not used: " + ", ".join(_short(name) for name in unused[:MOST_NAMED]))
    parts = "; ".join(told)
    return f"To look at: {parts}. `groveplat check` tells each one." if parts else ""


def _withheld(number: int) -> str:
    return f"Withheld: {_count(number, 'tree')}. " if number else ""


def _count(number: int, word: str) -> str:
    return f"{number:,} {word}" + ("" if number == 1 else "s")


def findings_text(line: Line) -> str:
    """How the columns were understood, then the findings, errors first."""
    parts = [_columns_text(line), _counts_text(line.findings)]
    parts += [_finding_text(row) for row in line.findings.head(SHOWN).to_dict("records")]
    if len(line.findings) > SHOWN:
        parts.append(f"… and {len(line.findings) - SHOWN} more in the workbook.")
    return "\n".join(parts)


def _columns_text(line: Line) -> str:
    """Every heading with what it was taken for, file by file and sheet by sheet."""
    files = line.observations.records.files
    columns = line.observations.records.columns
    lines = []
    for _, group in columns.groupby(["file", "sheet"], sort=False):
        number, sheet = group[["file", "sheet"]].iloc[0]
        photos = len(line.observations.records.photos.get(number, ()))
        part = f": {_count(photos, 'photo')}" if photos else f", sheet '{sheet}'" if sheet else ""
        lines.append(files[number - 1].name + part)
        lines += [f"    {_column_text(row)}" for row in group.to_dict("records")]
    return "\n".join(lines)


def _column_text(row: dict[Any, Any]) -> str:
    if not row["name"]:
        return f"{row['heading']} → not known: kept, not published"
    read, cells = int(row["read"]), int(row["cells"])
    said = [f"{row['heading']} → {row['name']}{_unit_text(row)}"]
    if row["became"].partition(" ")[0] != row["example"].partition(" ")[0]:
        said.append(f"'{row['example']}' is {row['became']}")
    if read < cells:
        said.append(f"{read:,} of {_count(cells, 'cell')} read")
    return "; ".join(said)


def _unit_text(row: dict[Any, Any]) -> str:
    """The unit of a column, or the order of its dates, and how it is known."""
    if row["unit"] in ORDERS:
        how = "one above 12 shows it" if row["unit_from"] == "cells" else "as the heading says"
        return f", {ORDERS[row['unit']]} ({how})"
    if row["unit_from"] == "cell":
        return ", the unit in each cell"
    told = row["unit_from"] != "survey" or row["name"] in ("lat", "lon")
    return (f" in {row['unit']}" if row["unit"] else "") + ("" if told else " (unit not given)")


def _counts_text(findings: pd.DataFrame) -> str:
    counts = findings["severity"].value_counts()
    told = [_count(int(counts.get(name, 0)), name) for name in ("error", "warning", "note")]
    return f"\n{', '.join(told)}"


def _finding_text(row: dict[Any, Any]) -> str:
    sheet = f", sheet '{row['sheet']}'" if row["sheet"] else ""
    file = {0: "repairs", OF_PLOTS: "plots"}.get(row["file"], f"file {row['file']}")
    place = f"{file}{sheet}" + ("" if pd.isna(row["row"]) else f", row {row['row']}")
    tree = f", tree {row['tree']}" if row["tree"] else ""
    value = f" '{_short(row['value'])}'" if row["value"] else ""
    column = f", {row['column']}{value}" if row["column"] else ""
    told = [row["message"], row["cause"], row["suggestion"], _proposal(row)]
    said = _short(" ".join(text for text in told if text), LONGEST_MESSAGE)
    return f"{row['severity']}: {place}{tree}{column}: {said}"


def _proposal(row: dict[Any, Any]) -> str:
    """What the cell was probably meant to be."""
    if not row["proposed_value"]:
        return ""
    return f"Proposed: {row['proposed_column']} '{_short(row['proposed_value'])}'."


def _short(text: str, longest: int = LONGEST_VALUE) -> str:
    return text if len(text) <= longest else text[:longest] + "…"


def repairs_text(line: Line, to_decide: int) -> str:
    """What became of the repairs, and what still waits for one."""
    history = line.observations.records.history
    states = history["state"] if len(history) else pd.Series(dtype=str)
    told = [f"{number:,} {state}" for state, number in states.value_counts().items()]
    lines = [f"Repairs: {', '.join(told)}."] if told else []
    if to_decide:
        where = line.survey.folder / REPAIRS
        lines.append(
            f"To decide: {_count(to_decide, 'cell')}, in the workbook's sheet `decide`. "
            f"Fill it in and save it in {where}; the next run lays it over your records."
        )
    return "\n".join(lines or ["Nothing to decide."])


def findings_json(line: Line) -> str:
    """The findings as a JSON list."""
    table = line.findings.drop(columns=["record", "bars"])
    return str(table.to_json(orient="records", force_ascii=False))


def to_json(values: dict[Any, Any]) -> str:
    """JSON in which a missing number is null."""
    clean = {key: None if pd.isna(value) else value for key, value in values.items()}
    return json.dumps(clean, ensure_ascii=False, default=float)
