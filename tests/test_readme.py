"""The README tells the truth: its heading table, its lines of Python, its two commands.

`python tests/test_readme.py` writes the heading table anew.
"""

import csv
import re
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
README = ROOT / "README.md"
START = "<!-- headings: written by tests/test_readme.py -->\n"
END = "<!-- /headings -->"


def heading_table() -> str:
    with (ROOT / "mapper" / "reference" / "columns.csv").open(encoding="utf-8", newline="") as file:
        columns = list(csv.DictReader(file))
    lines = ["| heading | unit | what | also read as |", "|---|---|---|---|"]
    for column in columns:
        others = ", ".join(column["aliases"].split("|")[:3])
        lines.append(f"| `{column['name']}` | {column['unit']} | {column['meaning']} | {others} |")
    return "\n".join(lines) + "\n"


def test_heading_table_is_the_reference_table() -> None:
    text = README.read_text("utf-8")
    shown = text[text.index(START) + len(START) : text.index(END)]
    assert shown == heading_table(), "run: python tests/test_readme.py"


def test_lines_of_python_run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    (code,) = re.findall(r"```python\n(.*?)```", README.read_text("utf-8"), re.DOTALL)
    assert len([line for line in code.splitlines() if line]) == 5
    monkeypatch.chdir(tmp_path)
    (tmp_path / "demo").symlink_to(ROOT / "demo")
    exec(compile(code, "README.md", "exec"), {})
    assert (tmp_path / "site" / "index.html").exists()


def test_links_lead_to_files() -> None:
    text = README.read_text("utf-8")
    links = re.findall(r"\]\(([^)#]+)\)", text)
    assert len(links) >= 4
    missing = [link for link in links if not link.startswith("http") and not (ROOT / link).exists()]
    assert missing == []


def test_example_table_of_the_readme_builds(tmp_path: Path) -> None:
    from mapper.line import survey_results
    from mapper.survey import read_survey

    rows = re.findall(
        r"^\| (tree \| species .*|1 \| Quercus .*) \|$", README.read_text("utf-8"), re.M
    )
    table = tmp_path / "trees.csv"
    table.write_text("\n".join(",".join(map(str.strip, row.split("|"))) for row in rows), "utf-8")
    (tree,) = survey_results(read_survey([table])).trees.to_dict("records")
    assert tree["height_method"] == "one angle"
    # 20 m x tan 38° + 1.6 m = 17.23 m, worked by hand
    assert tree["height_m"] == pytest.approx(17.23, abs=0.005)


if __name__ == "__main__":
    whole = README.read_text("utf-8")
    before, rest = whole.split(START)
    README.write_text(before + START + heading_table() + END + rest.split(END)[1], "utf-8")
