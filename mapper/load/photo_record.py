"""A geotagged photo as a record: the tree in its name, the day and place the camera wrote."""

from pathlib import Path

import numpy as np
import pandas as pd

from mapper.load.photo_files import PhotoError, PhotoTags, read_tags
from mapper.load.photo_names import tree_in
from mapper.load.photos import tree_accuracy_m
from mapper.load.records import Sheet


def read_photo(file: Path) -> list[Sheet]:
    """The one record that a photo is. Of a damaged one the name is left; `check` says so."""
    try:
        tags = read_tags(file)
    except PhotoError:
        tags = PhotoTags(None, np.nan, np.nan, np.nan)
    accuracy_m = tree_accuracy_m(pd.Series([tags.accuracy_m]))[0]
    placed = not np.isnan(tags.lat)
    cells = {
        "tree": tree_in(file.name),
        "date": tags.taken.isoformat() if tags.taken else "",
        "lat": repr(tags.lat) if placed else "",
        "lon": repr(tags.lon) if placed else "",
        "position_accuracy": f"{accuracy_m} m" if placed else "",
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
