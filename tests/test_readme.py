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

    lines = README.read_text("utf-8").splitlines()
    start = lines.index(next(line for line in lines if line.startswith("| tree | species |")))
    rows = [line[1:-1].split("|") for line in (lines[start], *lines[start + 2 : start + 4])]
    table = tmp_path / "trees.csv"
    text = "\n".join(",".join(cell.strip() for cell in row) for row in rows)
    table.write_text(text + "\n", encoding="utf-8")
    first, second = survey_results(read_survey([table])).trees.to_dict("records")
    assert (first["height_method"], second["height_method"]) == ("one angle", "reported")
    # 20 m x tan 38° + 1.6 m = 17.23 m; 2 ft 9 in = 83.82 cm, both worked by hand
    assert first["height_m"] == pytest.approx(17.23, abs=0.005)
    assert second["girth_cm"] == pytest.approx(83.82)
    assert first["lat"] == 45.3129


if __name__ == "__main__":
    whole = README.read_text("utf-8")
    before, rest = whole.split(START)
    README.write_text(before + START + heading_table() + END + rest.split(END)[1], "utf-8")
