"""A build that is killed, or finds the disk full, leaves the published site whole."""

import os
import subprocess
import sys
from pathlib import Path

import pytest

from mapper.render import swap
from mapper.render.swap import BUILDING, MARKER, replaced_site

KILLS = Path(__file__).parent / "benchmarks" / "kill.py"


@pytest.mark.skipif(not hasattr(os, "fork"), reason="the script forks")
def test_builds_killed_at_random_leave_a_whole_site() -> None:
    ran = subprocess.run(
        [sys.executable, str(KILLS), "10"], capture_output=True, text=True, check=False
    )
    assert ran.returncode == 0, ran.stderr
    assert ran.stdout.startswith("10 kills, no broken site")


def _site(out: Path, words: str) -> None:
    with replaced_site(out) as folder:
        (folder / "index.html").write_text(words, encoding="utf-8")


@pytest.mark.parametrize("can_exchange", [True, False])
def test_the_new_site_takes_the_place_of_the_old(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, can_exchange: bool
) -> None:
    if not can_exchange:
        monkeypatch.setattr(swap, "exchanged", lambda one, other: False)
    out = tmp_path / "site"
    for words in ("old", "new"):
        _site(out, words)
    assert (out / "index.html").read_text(encoding="utf-8") == "new"
    assert [path.name for path in tmp_path.iterdir()] == ["site"]


def test_a_site_moved_aside_by_a_killed_build_comes_back(tmp_path: Path) -> None:
    out, left = tmp_path / "site", tmp_path / f".site-x1{BUILDING}"
    _site(out, "old")
    left.mkdir()
    out.rename(left / "old")  # as far as a build came on a system that cannot exchange folders
    with pytest.raises(RuntimeError, match="stop"), replaced_site(out):
        raise RuntimeError("stop")
    assert (out / "index.html").read_text(encoding="utf-8") == "old"


def test_what_a_killed_build_left_is_cleared_after_a_day(tmp_path: Path) -> None:
    fresh, stale, foreign = (
        tmp_path / name for name in (f".site-a{BUILDING}", f".site-b{BUILDING}", ".site-notes")
    )
    for folder in (fresh, stale, foreign):
        (folder / "site").mkdir(parents=True)
    os.utime(stale, (0, 0))
    os.utime(foreign, (0, 0))
    _site(tmp_path / "site", "new")
    assert {path.name for path in tmp_path.iterdir()} == {fresh.name, foreign.name, "site"}


LIMITED = """
import resource, sys
resource.setrlimit(resource.RLIMIT_{kind}, ({size}, {size}))
sys.argv = ["groveplat", "build", *sys.argv[1:]]
from mapper.cli import main
main()
"""


@pytest.mark.skipif(sys.platform != "linux", reason="limits as Linux sets them")
def test_a_disk_that_takes_no_more_leaves_the_old_site(tmp_path: Path) -> None:
    table, out = tmp_path / "trees.csv", tmp_path / "site"
    table.write_text("tree,girth_cm,lat,lon\n1,90,48.1,16.1\n", encoding="utf-8")
    _site(out, "old")
    code = LIMITED.format(kind="FSIZE", size=20_000)
    ran = subprocess.run(
        [sys.executable, "-c", code, str(table), "--out", str(out)],
        capture_output=True, text=True, check=False, cwd=tmp_path,
    )  # fmt: skip
    assert ran.returncode == 2
    assert "Nothing was published" in ran.stderr
    assert "Traceback" not in ran.stderr
    assert (out / "index.html").read_text(encoding="utf-8") == "old"
    assert (out / MARKER).is_file()
    assert {path.name for path in tmp_path.iterdir()} == {"trees.csv", "site"}


def test_too_little_memory_is_said_plainly(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    from mapper import cli, together

    def too_much(*_: object) -> None:
        raise MemoryError

    table = tmp_path / "trees.csv"
    table.write_text("tree,girth_cm\n1,90\n", encoding="utf-8")
    monkeypatch.setattr(together, "run_checks", too_much)
    monkeypatch.setattr(sys, "argv", ["groveplat", "build", str(table), "--out", "site"])
    monkeypatch.chdir(tmp_path)
    with pytest.raises(SystemExit) as stopped:
        cli.main()
    assert stopped.value.code == cli.UNUSABLE
    assert "too little memory" in capsys.readouterr().err
    assert not (tmp_path / "site").exists()
