"""Folders to start from: an empty survey, and the demo."""

import json
import shutil
from pathlib import Path

from mapper.errors import InputError
from mapper.record_book import write_record_book
from mapper.render.site_files import shipped

DEMO_MARK = ".groveplat-demo"
SURVEY_TOML = """\
# Every key may be left out. What `groveplat build` may publish stands under [publish].
title = {title}
place = {place}
publisher = ""            # who answers for the map: a school, a club, a park
units = "{units}"          # or "{others}": what a number without a unit means

[records]
# files = ["records/*.csv"]         # without this line every table in the folder records is read

[measure]
breast_height = "{breast_height}"

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
# The breast heights of the two conventions: 4.5 ft is 1.37 m.
BREAST_HEIGHTS = {"metric": "1.30 m", "us": "4.5 ft"}
OTHER_UNITS = {"metric": "us", "us": "metric"}
READ_ME = """\
A survey for Groveplat
======================

1. Fill in records/records.xlsx, one row a tree. Its sheet of examples shows how; nothing there is
   read. Cells take a number in the heading's unit, or another unit beside it: 2 m 30, 7' 6".
   A column may stay empty, and columns of your own may be added on the right.
   Or put tables you have (csv, xlsx and others) in the folder records, as they are.
2. groveplat check .       says how each column was understood and what looks wrong, row by row.
                           Decide in findings.xlsx and save it in the folder `repairs`: the next
                           run lays your decisions over the tables, which stay as they are.
3. groveplat build .       makes the folder `site`. Open site/index.html.

Before going out: look up first. No measuring under dead or hanging branches, in wind or thunder.
Never walk backwards while sighting. Keep clear of traffic, water and overhead lines.
Local rules come first.
A size record is not a safety assessment.
"""


def start_survey(folder: Path, title: str = "", place: str = "", units: str = "metric") -> Path:
    """Start a survey in a new or empty folder; returns the workbook to fill in.

    Writes survey.toml, records/records.xlsx and README.txt. Without a title it is the folder's
    name.
    """
    refuse_full(folder)
    book = folder / "records" / "records.xlsx"
    book.parent.mkdir(parents=True, exist_ok=True)
    write_record_book(book, units)
    settings = settings_text(title or folder.resolve().name, place, units)
    (folder / "survey.toml").write_text(settings, encoding="utf-8")
    (folder / "README.txt").write_text(READ_ME, encoding="utf-8")
    return book


def settings_text(title: str, place: str, units: str) -> str:
    """What survey.toml says at first."""
    return SURVEY_TOML.format(
        title=_quoted(title),
        place=_quoted(place),
        units=units,
        others=OTHER_UNITS[units],
        breast_height=BREAST_HEIGHTS[units],
    )


def _quoted(text: str) -> str:
    """A text as a settings file writes it: what JSON escapes, TOML reads."""
    seen = text.replace("\x7f", " ").encode("utf-8", "replace").decode("utf-8")
    return json.dumps(seen, ensure_ascii=False)


def put_demo(folder: Path) -> None:
    """Copy the demo survey into a new or empty folder, or over an unchanged earlier copy of it."""
    source = shipped("demo")
    if not (folder / DEMO_MARK).exists():
        refuse_full(folder)
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


def refuse_full(folder: Path) -> None:
    """Refuse a folder that holds something already."""
    if folder.exists() and (not folder.is_dir() or any(folder.iterdir())):
        raise InputError(f"{folder}: holds something already. Name a new or empty folder.")
