"""One tree typed on the command line, through the same stages as a whole survey."""

import csv
import tempfile
from collections.abc import Iterator
from pathlib import Path

from mapper.errors import InputError
from mapper.line import run_checks
from mapper.screen import to_json
from mapper.summarise import Line, Results, publish
from mapper.survey import Survey


def other_cells(options: list[str]) -> dict[str, str]:
    """Cells of --also: "rings=80" is a heading and its cell."""
    cells = {}
    for option in options:
        heading, sign, text = option.partition("=")
        if not sign or not heading.strip():
            raise InputError(f"--also {option!r}: write a heading and its cell, as in rings=80.")
        cells[heading.strip()] = text.strip()
    return cells


def tree_results(cells: dict[str, str]) -> tuple[Results, tuple[str, ...]]:
    """The published tables of a survey of one tree, and what is doubtful about it.

    Raises
    ------
    InputError
        When nothing is given or a value cannot be used; the message names the option.
    """
    if not cells:
        raise InputError('Give at least a size, for example --girth "157 cm".')
    with tempfile.TemporaryDirectory() as folder:
        table = Path(folder) / "tree.csv"
        with table.open("w", encoding="utf-8", newline="") as file:
            csv.writer(file).writerows([[*cells, "tree"], [*cells.values(), "1"]])
        line = run_checks(Survey(title="One tree", record_files=(table,)))
    for row in line.findings.to_dict("records"):
        option = "--" + str(row["column"]).replace("_", "-")
        said = f"{option}: {row['message']} {row['suggestion']}".strip()
        if row["severity"] == "error" or row["rule"] == "incomplete":
            raise InputError(said)
    results = publish(line)
    if not any(results.workings.values()):
        raise InputError('Give at least a size, for example --girth "157 cm".')
    return results, tuple(_warnings(line))


def _warnings(line: Line) -> Iterator[str]:
    shown = line.findings[line.findings["severity"] == "warning"]
    for row in shown.to_dict("records"):
        if row["rule"] not in ("missing", "no_size"):
            yield f"{row['message']} {row['suggestion']}".strip()


def tree_text(results: Results, warnings: tuple[str, ...]) -> str:
    """The working, a step a paragraph."""
    lines = []
    species = results.trees["species"].iloc[0]
    common = results.trees["common_name"].iloc[0]
    if species:
        lines.append(f"{species}" + (f" ({common})" if common else ""))
    for steps in results.workings.values():
        for step in steps:
            middle = f" = {step.formula}" if step.formula else ""
            lines.append(f"{step.title}{middle} = {step.result}")
            lines.append(f"    from {step.inputs}" + (f". {step.note}" if step.note else ""))
    lines += [f"Doubtful: {warning}" for warning in warnings]
    lines.append("± is two standard uncertainties: right 19 times in 20.")
    lines.append("A size record is not a safety assessment.")
    return "\n".join(lines)


def tree_json(results: Results) -> str:
    """The tree's published values."""
    return to_json(results.trees.drop(columns="symbol").iloc[0].to_dict())
