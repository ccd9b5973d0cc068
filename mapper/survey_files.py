"""Which files of a survey folder hold records, which hold repairs, and which are our own."""

import zipfile
from collections.abc import Sequence
from pathlib import Path

from mapper.errors import InputError

# By these the program knows what it wrote itself.
SITE_MARK = ".groveplat-site"
FINDINGS_MARK = "groveplat check"
FINDINGS_NAME = "groveplat_check"  # a named range: some spreadsheet programs keep no other mark
DECIDABLE = ("xl/workbook.xml", FINDINGS_NAME)
LARGEST_PART = 1_000_000  # bytes; the parts that are looked at have a few thousand

RECORDS = "records"
# Read with their shapefile, or for people to read.
NO_RECORDS = (".shx", ".dbf", ".prj", ".cpg", ".qpj", ".qix", ".sbn", ".sbx", ".md", ".pdf")
REPAIRS = "repairs"
PRIVATE = "private"  # what is kept for good in the survey folder, and never published


def repair_files(folder: Path) -> tuple[Path, ...]:
    """Filled-in workbooks: all in the folder for them, and one that was saved where it lay."""
    inside = folder.glob(f"{REPAIRS}/*")
    saved = sorted(path for path in inside if path.is_file() and not _is_lock(path))
    left = sorted(path for path in folder.glob("*.xlsx") if is_decidable(path))
    return (*saved, *left)


def matching(folder: Path, pattern: str) -> list[Path]:
    """The files of a survey folder that a pattern of survey.toml names.

    Raises
    ------
    InputError
        When the pattern leads out of the folder.
    """
    stem, dot, ending = pattern.rpartition(".")
    # TREES.CSV is a table too, where the file system tells the two apart.
    loud = f"{stem}{dot}{ending.upper()}" if ending.isalpha() else pattern
    try:
        patterns = dict.fromkeys([pattern, loud])
        return sorted(path for one in patterns for path in folder.glob(one) if path.is_file())
    except (ValueError, NotImplementedError) as error:
        raise InputError(
            f"{folder / 'survey.toml'}: records.files names '{pattern}'. Name files inside the "
            'survey folder, as in "records/*.csv".'
        ) from error


def unread_beside(known: set[Path], files: Sequence[Path]) -> tuple[Path, ...]:
    """Files that lie among the records and are neither records nor known for something else."""
    folders = {file.parent for file in files if file.parent.name == RECORDS}
    beside = sorted(path for folder in folders for path in folder.iterdir() if path.is_file())
    return tuple(
        path
        for path in beside
        if not (path in known or _is_lock(path) or path.suffix.lower() in NO_RECORDS)
    )


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
