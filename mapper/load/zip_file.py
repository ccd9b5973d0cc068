"""Zip archives (a shapefile and its companions, an export, KMZ): the tables in them."""

import tempfile
import zipfile
from collections.abc import Callable, Mapping
from dataclasses import replace
from pathlib import Path, PurePosixPath

from mapper.errors import InputError
from mapper.load.guards import in_short, open_zip, refuse_unfit
from mapper.load.records import Remark, Sheet
from mapper.load.salvage import is_hand_over, salvaged
from mapper.survey import PHOTO_ENDINGS

Reader = Callable[[Path], list[Sheet]]

BESIDE = (".shx", ".dbf", ".prj", ".cpg", ".qpj", ".sbn", ".sbx")  # read with their shapefile
HIDDEN = ("__MACOSX", ".")
SHOWN = 10


def read_zip(file: Path, readers: Mapping[str, Reader]) -> list[Sheet]:
    """The tables in an archive, each read by its own ending, in the order of their names.

    Raises
    ------
    InputError
        When the archive is damaged, has a password, unpacks to too much, or no table in it can be
        read.
    """
    refuse_unfit(file)
    opened, remarks = opened_archive(file)
    with opened as archive, tempfile.TemporaryDirectory() as folder:
        members = [name for name in sorted(archive.namelist()) if not name.endswith("/")]
        _refuse_climbing(file, members)
        shown = [name for name in members if not PurePosixPath(name).parts[0].startswith(HIDDEN)]
        tables = [name for name in shown if PurePosixPath(name).suffix.lower() in readers]
        if not tables:
            raise InputError(
                f"{file}: holds no table of records. Known endings in it: {', '.join(readers)}."
            )
        _unpack(file, archive, Path(folder), shown)
        sheets, refused = _read_all(file, Path(folder), tables, readers)
    beside = (*BESIDE, *PHOTO_ENDINGS)  # photos are found by their records
    rest = [name for name in shown if name not in tables and not name.lower().endswith(beside)]
    first = replace(sheets[0], remarks=(*sheets[0].remarks, *remarks))
    return [_with_skipped(first, rest, refused), *sheets[1:]]


def opened_archive(file: Path) -> tuple[zipfile.ZipFile, list[Remark]]:
    """An archive, or what is whole of a phone's hand-over that was cut off, and a remark on it."""
    try:
        return open_zip(file), []
    except InputError:
        if not is_hand_over(file):
            raise
        found = salvaged(file)
    lost = f" Cut: {found.cut}." if found.cut else " Photos may be missing."
    reason = (
        f"This file was cut off on its way. What is whole was read: {found.whole} files.{lost} "
        "Hand it over again from the phone, and put it in the place of this one."
    )
    return found.archive, [Remark("cut_short", "warning", reason)]


def photos_in(file: Path) -> list[zipfile.Path]:
    """The photos in an archive of records, in the order of their names; none in a damaged one."""
    try:
        archive, _ = opened_archive(file)
    except InputError:  # said when its tables were read
        return []
    names = [name for name in sorted(archive.namelist()) if name.lower().endswith(PHOTO_ENDINGS)]
    shown = [name for name in names if not PurePosixPath(name).parts[0].startswith(HIDDEN)]
    return [zipfile.Path(archive, name) for name in shown]


def _read_all(
    file: Path, folder: Path, tables: list[str], readers: Mapping[str, Reader]
) -> tuple[list[Sheet], list[str]]:
    """The sheets of the tables that can be read, and why the others cannot: there may be a read-me
    among them. The first reason is an error where no table can be read.
    """
    sheets, refused = [], []
    for name in tables:
        try:
            sheets += _read(file, folder, name, readers)
        except InputError as error:
            refused.append(str(error))
    if not sheets:
        raise InputError(refused[0])
    return sheets, refused


def _refuse_climbing(file: Path, members: list[str]) -> None:
    for name in members:
        path = PurePosixPath(name.replace("\\", "/"))
        if path.is_absolute() or ".." in path.parts or ":" in path.parts[0]:
            raise InputError(
                f"{file}: the name '{name}' in it leads out of the archive. Pack it again."
            )


def _unpack(file: Path, archive: zipfile.ZipFile, folder: Path, members: list[str]) -> None:
    try:
        archive.extractall(folder, members)
    except (OSError, RuntimeError, ValueError) as error:
        raise InputError(
            f"{file}: cannot be unpacked ({in_short(error)}). Pack it again."
        ) from error


def _read(file: Path, folder: Path, name: str, readers: Mapping[str, Reader]) -> list[Sheet]:
    path = folder / name
    try:
        sheets = readers[path.suffix.lower()](path)
    except InputError as error:
        # The reader of the message knows the archive, and not where it was unpacked to.
        raise InputError(str(error).replace(str(folder), str(file))) from error
    return [
        replace(sheet, file=file, name=f"{name}, {sheet.name}" if sheet.name else name)
        for sheet in sheets
    ]


def _with_skipped(sheet: Sheet, names: list[str], refused: list[str]) -> Sheet:
    remarks = [Remark("sheet_not_read", "warning", f"Not read: {reason}") for reason in refused]
    if names:
        more = f" and {len(names) - SHOWN} more" if len(names) > SHOWN else ""
        listed = ", ".join(f"'{name}'" for name in names[:SHOWN])
        reason = f"Not read in the archive: {listed}{more}."
        remarks.append(Remark("sheet_not_read", "note", reason))
    return replace(sheet, remarks=(*sheet.remarks, *remarks))
