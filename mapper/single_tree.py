"""One tree typed on the command line, through the same stages as a whole survey."""

import csv
import tempfile
from pathlib import Path

from mapper.errors import InputError
from mapper.line import run_checks
from mapper.screen import to_json
from mapper.summarise import Results, publish
from mapper.survey import Survey


def tree_results(cells: dict[str, str]) -> Results:
    """The published tables of a survey of one tree.

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
    errors = line.findings[line.findings["severity"] == "error"]
    for row in errors.to_dict("records"):
        option = "--" + str(row["column"]).replace("_", "-")
        raise InputError(f"{option}: {row['message']} {row['suggestion']}".strip())
    return publish(line)


def tree_text(results: Results) -> str:
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
    lines.append("± is two standard uncertainties: right 19 times in 20.")
    lines.append("A size record is not a safety assessment.")
    return "\n".join(lines)


def tree_json(results: Results) -> str:
    """The tree's published values."""
    return to_json(results.trees.drop(columns="symbol").iloc[0].to_dict())
