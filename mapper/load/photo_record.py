"""A geotagged photo as a record: the tree in its name, the day and place the camera wrote."""

import math
from pathlib import Path

import numpy as np
import pandas as pd

from mapper.load.photo_files import PhotoError, read_tags
from mapper.load.photo_names import tree_in
from mapper.load.photos import tree_accuracy_m
from mapper.load.records import Sheet


def read_photo(file: Path) -> list[Sheet]:
    """The one record that a geotagged photo is; none for a photo that knows no place.

    A scan of a record sheet is no tree. It stays among the photos, and `check` says what of it.
    """
    try:
        tags = read_tags(file)
    except PhotoError:
        return []
    if math.isnan(tags.lat):
        return []
    cells = {
        "tree": tree_in(file.name),
        "date": tags.taken.isoformat() if tags.taken else "",
        "lat": repr(tags.lat),
        "lon": repr(tags.lon),
        "position_accuracy": f"{tree_accuracy_m(pd.Series([tags.accuracy_m]))[0]} m",
        "photo": file.name,
    }
    return [
        Sheet(
            file=file,
            name="",
            headings=tuple(cells),
            cells=pd.DataFrame([list(cells.values())], dtype=str),
            rows=np.array([1]),
            given=dict(enumerate(cells)),
        )
    ]
