"""Folders to start from: an empty survey, and the demo."""

import shutil
from pathlib import Path

from mapper.errors import InputError
from mapper.render.site_files import shipped
from mapper.workbooks import write_record_sheet

DEMO_MARK = ".groveplat-demo"
SURVEY_TOML = """\
# Every key may be left out. What `groveplat build` may publish stands under [publish].
title = "Trees of our park"
place = ""
publisher = ""
units = "metric"          # or "us": what a number without a unit means

[records]
files = ["records/*.csv", "records/*.xlsx"]

[measure]
breast_height = "1.30 m"

[site]
# boundaries = "stands.geojson"     # the outline of each stand; its name is the property `stand`
# backdrop = ["paths.geojson"]      # drawn under the trees; property kind: path, building, water

[publish]
positions = "exact"       # or "0.001 deg", "0.01 deg", "hidden"
dates = "day"             # or "month", "year"
licence = "CC-BY-4.0"     # printed on every sheet

# [[stand]]
# name = "Old Grove"
# design = "complete count"         # only if every tree of the stand was counted
"""
READ_ME = """\
A survey for Groveplat
======================

1. Fill in records/records.xlsx, one row a tree, or put your own tables (csv, xlsx) in that folder.
2. groveplat check .       says what looks wrong, row by row. It changes nothing.
                           Decide in findings.xlsx and save it in the folder `repairs`: the next
                           run lays your decisions over the tables, which stay as they are.
3. groveplat build .       makes the folder `site`. Open site/index.html.

Before going out: look up first. No measuring under dead or hanging branches, in wind or thunder.
Never walk backwards while sighting. Keep clear of traffic, water and overhead lines.
Local rules come first.
A size record is not a safety assessment.
"""


def start_survey(folder: Path) -> None:
    """Write survey.toml, records/records.xlsx and README.txt into a new or empty folder."""
    _refuse_full(folder)
    (folder / "records").mkdir(parents=True, exist_ok=True)
    (folder / "survey.toml").write_text(SURVEY_TOML, encoding="utf-8")
    (folder / "README.txt").write_text(READ_ME, encoding="utf-8")
    write_record_sheet(folder / "records" / "records.xlsx")


def put_demo(folder: Path) -> None:
    """Copy the demo survey into a new or empty folder, or over an unchanged earlier copy of it."""
    source = shipped("demo")
    if not (folder / DEMO_MARK).exists():
        _refuse_full(folder)
    for path in source.rglob("*"):
        _refuse_changed(path, folder / path.relative_to(source))
    folder.mkdir(parents=True, exist_ok=True)
    mark = "Copied by `groveplat demo`; run it again to build it anew.\n"
    (folder / DEMO_MARK).write_text(mark, encoding="utf-8")
    without = shutil.ignore_patterns("*.py", "__pycache__", "site", "findings*.xlsx")
    shutil.copytree(source, folder, dirs_exist_ok=True, ignore=without)


def _refuse_changed(ours: Path, theirs: Path) -> None:
    if ours.is_file() and theirs.is_file() and ours.read_bytes() != theirs.read_bytes():
        raise InputError(
            f"{theirs}: was changed since the demo was copied, and would be overwritten. "
            f"Build it with `groveplat build {theirs.parent}`, or give the demo another folder."
        )


def _refuse_full(folder: Path) -> None:
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise InputError(f"{folder}: holds something already. Name a new or empty folder.")
