"""The corpus of damaged files: every one is refused with the message it deserves."""

import csv
import sys
from pathlib import Path

import pytest

from mapper.cli import main

DAMAGED = Path(__file__).parent / "damaged"
OWN = {"damaged.csv", "README.md"}


def cases() -> list[dict[str, str]]:
    with (DAMAGED / "damaged.csv").open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file))


def test_every_file_of_the_corpus_is_listed() -> None:
    listed = {case["file"] for case in cases()}
    assert listed == {path.name for path in DAMAGED.iterdir()} - OWN


@pytest.mark.parametrize("case", cases(), ids=lambda case: case["file"])
def test_a_damaged_file(
    tmp_path: Path,
    case: dict[str, str],
    monkeypatch: pytest.MonkeyPatch,
    capsys: pytest.CaptureFixture[str],
) -> None:
    file, site = DAMAGED / case["file"], tmp_path / "site"
    monkeypatch.setattr(sys, "argv", ["groveplat", "build", str(file), "--out", str(site)])
    with pytest.raises(SystemExit) as left:
        main()
    said = capsys.readouterr()
    assert left.value.code == 2
    assert said.err.startswith(f"groveplat: {file}")
    assert case["message"] in said.err
    assert said.err.count("\n") == 1
    assert not said.out
    assert not site.exists()
