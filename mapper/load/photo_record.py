"""Geotagged photos as records: the tree in each name, the day and place the camera wrote."""

import math
from collections.abc import Mapping, Sequence
from pathlib import Path

import numpy as np
import pandas as pd

from mapper.load.photo_files import PhotoError, PhotoTags, read_tags
from mapper.load.photo_names import tree_in
from mapper.load.photos import is_photo, tree_accuracy_m
from mapper.load.records import Sheet

HEADINGS = ("tree", "date", "lat", "lon", "position_accuracy", "photo")
NOTHING = PhotoTags(None, math.nan, math.nan, math.nan)


def with_photo_folders(
    files: Sequence[Path],
) -> tuple[tuple[Path, ...], Mapping[int, tuple[Path, ...]]]:
    """The tables, then each folder of photos as one table more, with its photos by its number."""
    tables = [file for file in files if not is_photo(file)]
    folders: dict[Path, tuple[Path, ...]] = {}
    for file in filter(is_photo, files):
        folders[file.parent] = (*folders.get(file.parent, ()), file)
    photos = dict(enumerate(folders.values(), start=len(tables) + 1))
    return (*tables, *folders), photos


def read_photos(folder: Path, photos: Sequence[Path]) -> list[Sheet]:
    """A record for each photo that knows its place; its row is the photo's number in the folder.

    A photo without a place may be the scan of a record sheet, and is no tree. It stays among the
    photos, and `check` says what of it.
    """
    tags = [_tags(photo) for photo in photos]
    placed = np.array([not math.isnan(one.lat) for one in tags])
    if not placed.any():
        return []
    accuracy_m = tree_accuracy_m(pd.Series([one.accuracy_m for one in tags]))
    cells = [
        (
            tree_in(photo.name),
            one.taken.isoformat() if one.taken else "",
            repr(one.lat),
            repr(one.lon),
            f"{metres} m",
            photo.name,
        )
        for photo, one, metres in zip(photos, tags, accuracy_m, strict=True)
    ]
    return [
        Sheet(
            file=folder,
            name="",
            headings=HEADINGS,
            cells=pd.DataFrame(cells, dtype=str)[placed].reset_index(drop=True),
            rows=np.flatnonzero(placed) + 1,
            given=dict(enumerate(HEADINGS)),
        )
    ]


def _tags(photo: Path) -> PhotoTags:
    try:
        return read_tags(photo)
    except PhotoError:  # found again, and told, where photos are checked
        return NOTHING
