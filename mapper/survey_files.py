"""Which files of a survey folder hold records, which hold repairs, and which are our own."""

import zipfile
from pathlib import Path

# By these the program knows what it wrote itself.
SITE_MARK = ".groveplat-site"
FINDINGS_MARK = "groveplat check"
FINDINGS_NAME = "groveplat_check"  # a named range: some spreadsheet programs keep no other mark
DECIDABLE = ("xl/workbook.xml", FINDINGS_NAME)
LARGEST_PART = 1_000_000  # bytes; the parts that are looked at have a few thousand

REPAIRS = "repairs"
PRIVATE = "private"  # what is kept for good in the survey folder, and never published


def repair_files(folder: Path) -> tuple[Path, ...]:
    """Filled-in workbooks: all in the folder for them, and one that was saved where it lay."""
    inside = folder.glob(f"{REPAIRS}/*")
    saved = sorted(path for path in inside if path.is_file() and not _is_lock(path))
    left = sorted(path for path in folder.glob("*.xlsx") if is_decidable(path))
    return (*saved, *left)


def holds_records(path: Path, folder: Path) -> bool:
    """Not the lock file of an open spreadsheet, nor repairs, nor what this program wrote itself."""
    if path.parent in (folder / REPAIRS, folder / PRIVATE):
        return False
    if _is_lock(path) or is_findings(path):
        return False
    return not any((parent / SITE_MARK).exists() for parent in path.parents)


def is_findings(path: Path) -> bool:
    """Whether a workbook is the list of findings that `check` wrote, perhaps filled in since."""
    return is_decidable(path) or _holds(path, "docProps/core.xml", FINDINGS_MARK)


def is_decidable(path: Path) -> bool:
    """Whether a workbook of `check` has a sheet to be filled in."""
    return _holds(path, *DECIDABLE)


def _is_lock(path: Path) -> bool:
    return path.name.startswith(("~$", "."))


def _holds(path: Path, part: str, mark: str) -> bool:
    """Whether a part of a workbook holds a mark."""
    if path.suffix.lower() != ".xlsx" or _is_lock(path):
        return False
    try:
        with zipfile.ZipFile(path) as archive, archive.open(part) as file:
            return mark.encode() in file.read(LARGEST_PART)
    except (OSError, KeyError, RuntimeError, NotImplementedError, zipfile.BadZipFile):
        return False
