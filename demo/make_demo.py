"""Write the demo survey: an invented school and park, as volunteers would hand them in.

    python demo/make_demo.py [DIR]

The same bytes every time: one seed, `random()` only, and a workbook without the hour of its making.
Nothing here was measured. The README beside this file says what is invented.
"""

import csv
import datetime as dt
import io
import json
import re
import sys
import zipfile
from collections.abc import Sequence
from pathlib import Path
from random import Random

from grounds import school_trees
from growing import Tree, grove, nearest_in_size, plantation, with_status
from measuring import Cell, Record, grove_record, plantation_record, school_record
from openpyxl import Workbook
from pictures import PHOTOS, photo_bytes
from plots_drawn import wood_records
from site_plan import Feature, backdrop, stands
from slips import HABITS, SLIPS, Slip

SEED, WOOD_SEED = 2026, 2027
GROVE_TREES = 132
# A workbook carries the time it was saved; the survey's last day stands in for it.
SAVED = dt.datetime(2026, 5, 15, 16, 0, 0)


def grove_records(rng: Random) -> list[Record]:
    """The grove, numbered as it was walked, with a dead beech, a fallen hemlock and a stump."""
    trees = walking_order(grove(rng, GROVE_TREES))
    for species, size_cm, status in (
        ("Fagus grandifolia", 34, "dead"),
        ("Tsuga canadensis", 30, "fallen"),
        ("Acer saccharum", 45, "stump"),
    ):
        trees = with_status(trees, nearest_in_size(trees, species, size_cm), status)
    return [grove_record(rng, tree, number) for number, tree in enumerate(trees, start=1)]


def walking_order(trees: Sequence[Tree]) -> list[Tree]:
    """Up one strip of 14 m, down the next."""

    def step(tree: Tree) -> tuple[int, float]:
        strip = int(tree.place[0] // 14)
        return strip, tree.place[1] if strip % 2 else -tree.place[1]

    return sorted(trees, key=step)


def plantation_records(rng: Random) -> list[Record]:
    """The plantation row by row, with one pine that died standing."""
    trees = plantation(rng)
    trees = with_status(trees, nearest_in_size(trees, "Pinus resinosa", 21), "dead")
    return [plantation_record(rng, tree, number) for number, tree in enumerate(trees, start=1)]


def school_records(rng: Random) -> list[Record]:
    trees = school_trees(rng)
    return [school_record(rng, tree, number) for number, tree in enumerate(trees, start=1)]


def with_slips(records: Sequence[Record], file: str) -> list[Record]:
    """The records with the slips planted in this file."""
    slips = {slip.tree: slip for slip in SLIPS + HABITS if slip.file == file}
    return [_slipped(record, slips.get(str(next(iter(record.values()))))) for record in records]


def _slipped(record: Record, slip: Slip | None) -> Record:
    return record | slip.change(record) if slip else record


def with_photos(records: Sequence[Record], headings: tuple[str, str, str]) -> list[Record]:
    """The records with columns for photo, consent and credit; a name in the file needs no cell."""
    told = {photo.tree: photo for photo in PHOTOS}
    rows = []
    for record in records:
        photo = told.get(str(next(iter(record.values()))))
        cells = (photo.file, photo.consent, photo.credit) if photo else ("", "", "")
        named = "" if photo and photo.tree in photo.file else cells[0]
        given = zip(headings, (named, *cells[1:]), strict=True)
        rows.append(record | {heading: cell or None for heading, cell in given})
    return rows


def as_text(cell: Cell, day: str, decimal: str) -> str:
    if cell is None:
        return ""
    if isinstance(cell, dt.date):
        return cell.strftime(day)
    return cell if isinstance(cell, str) else f"{cell:.9g}".replace(".", decimal)


def csv_text(records: Sequence[Record], delimiter: str, decimal: str, day: str) -> str:
    text = io.StringIO()
    writer = csv.writer(text, delimiter=delimiter, lineterminator="\n")
    writer.writerow(records[0])
    writer.writerows(
        [as_text(cell, day, decimal) for cell in record.values()] for record in records
    )
    return text.getvalue()


def workbook_bytes(records: Sequence[Record]) -> bytes:
    book = Workbook()
    sheet = book.active
    assert sheet is not None
    sheet.title = "Trees"
    sheet.append(list(records[0]))
    for record in records:
        sheet.append(list(record.values()))
    sheet.freeze_panes = "B2"
    saved = io.BytesIO()
    book.save(saved)
    return without_clock(saved.getvalue())


def without_clock(workbook: bytes) -> bytes:
    """The same workbook with fixed times, stored and not packed: zlib versions pack differently."""
    steady = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(workbook)) as old, zipfile.ZipFile(steady, "w") as new:
        for name in sorted(old.namelist()):
            part = old.read(name)
            if name == "docProps/core.xml":
                stamp = SAVED.strftime("%Y-%m-%dT%H:%M:%SZ").encode()
                part = re.sub(rb"(?<=>)\d{4}-\d\d-\d\dT[\d:.]+Z", stamp, part)
            new.writestr(zipfile.ZipInfo(name, SAVED.timetuple()[:6]), part)
    return steady.getvalue()


def geojson_text(features: Sequence[Feature]) -> str:
    """One feature a line, so that a change is easy to read."""
    lines = ",\n".join(json.dumps(feature) for feature in features)
    return f'{{"type": "FeatureCollection", "features": [\n{lines}\n]}}\n'


def make_demo(folder: Path) -> None:
    rng = Random(SEED)
    records = folder / "records"
    records.mkdir(parents=True, exist_ok=True)
    grove_rows = with_photos(
        with_slips(grove_records(rng), "grove.csv"), ("photo", "photo_consent", "photo_credit")
    )
    pine_rows = with_slips(plantation_records(rng), "plantation.csv")
    school_rows = with_photos(
        with_slips(school_records(rng), "campus.xlsx"), ("Photo", "Photo consent", "Photo credit")
    )
    # Dice of its own: what was there before stays as it was.
    plot_rows, wood_rows = wood_records(Random(WOOD_SEED))
    texts = {
        folder / "plots.csv": csv_text(plot_rows, ",", ".", "%Y-%m-%d"),
        records / "brook_wood.csv": csv_text(wood_rows, ",", ".", "%Y-%m-%d"),
        records / "grove.csv": csv_text(grove_rows, ",", ".", "%Y-%m-%d"),
        records / "plantation.csv": csv_text(pine_rows, ";", ",", "%d/%m/%Y"),
        folder / "stands.geojson": geojson_text(stands()),
        folder / "backdrop.geojson": geojson_text(backdrop()),
    }
    for path, text in texts.items():
        path.write_bytes(text.encode())
    (records / "campus.xlsx").write_bytes(workbook_bytes(school_rows))
    (folder / "photos").mkdir(exist_ok=True)
    for number, photo in enumerate(PHOTOS):
        (folder / "photos" / photo.file).write_bytes(photo_bytes(photo, Random(SEED + number)))


if __name__ == "__main__":
    make_demo(Path(sys.argv[1]) if len(sys.argv) > 1 else Path(__file__).parent)
