"""The code's own rules: lint, format, types, and nothing at the top level that nobody agreed on."""

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1]
TOP_LEVEL = {
    "README.md", "DEVELOPERS.md", "CHANGELOG.md", "LICENSE", "pyproject.toml",
    "mapper", "tests", "demo", "site_template",
}  # fmt: skip


@pytest.mark.parametrize("command", [["ruff", "check"], ["ruff", "format", "--check"], ["mypy"]])
def test_tools_find_nothing(command: list[str]) -> None:
    done = subprocess.run(
        [sys.executable, "-m", *command],
        cwd=ROOT,
        capture_output=True,
        encoding="utf-8",
        check=False,
    )
    assert done.returncode == 0, done.stdout + done.stderr


def test_top_level_is_as_agreed() -> None:
    listed = subprocess.run(
        ["git", "ls-files"], cwd=ROOT, capture_output=True, encoding="utf-8", check=False
    )
    if listed.returncode:
        pytest.skip("not a git checkout")
    tops = {name.split("/")[0] for name in listed.stdout.splitlines()}
    assert "mapper" in tops
    assert {name for name in tops if not name.startswith(".")} <= TOP_LEVEL
