"""Which photo belongs to which record: by its name, by the tree's name, by day and place."""

import numpy as np
import pandas as pd

from mapper.load.identity import FAR_ANY_DAY_M, distance_m
from mapper.load.photo_names import (
    file_key,
    leads_outside,
    names_in,
    tree_key_of,
    tree_keys_in,
    without_ending,
)

NO_PHOTO = -1
LINKS = ["photo", "record", "found_by"]


def by_cell(cells: pd.Series, names: pd.Series) -> pd.DataFrame:
    """Every name in a photo cell: record, name, photo (-1 for none) and what speaks against it.

    `doubt` is missing, several (more than one file fits) or outside (the name leaves the folder).
    """
    filled = cells[cells != ""].map(names_in).explode().dropna()
    indexes = _indexes(names)
    answers = {name: _looked_up(file_key(name), indexes) for name in filled.unique()}
    photo = filled.map({name: number for name, (number, _) in answers.items()})
    doubt = filled.map({name: word for name, (_, word) in answers.items()})
    table = pd.DataFrame({"record": filled.index, "name": filled, "photo": photo, "doubt": doubt})
    return table.astype({"record": int, "photo": int}).reset_index(drop=True)


def _indexes(names: pd.Series) -> tuple[dict[str, list[int]], ...]:
    """Photos by whole name, by name without folder, and both without ending."""
    keys = names.map(file_key)
    bare = keys.str.rpartition("/")[2] if len(keys) else keys
    forms = (keys, bare, keys.map(without_ending), bare.map(without_ending))
    return tuple(
        {str(key): list(at) for key, at in form.groupby(form).groups.items()} for form in forms
    )


def _looked_up(key: str, indexes: tuple[dict[str, list[int]], ...]) -> tuple[int, str]:
    """The photo that a name means, or none and why."""
    if leads_outside(key):
        return NO_PHOTO, "outside"
    bare = key.rpartition("/")[2]
    forms = (key, bare, without_ending(key), without_ending(bare))
    for form, index in zip(forms, indexes, strict=True):
        found = index.get(form, [])
        if found:
            return (found[0], "") if len(found) == 1 else (NO_PHOTO, "several")
    return NO_PHOTO, "missing"


def by_tree_name(names: pd.Series, trees: pd.Series) -> pd.DataFrame:
    """Links from photos whose file name speaks of a tree to all records of that number."""
    if names.empty:
        return pd.DataFrame(columns=LINKS)
    keys = trees.map({tree: tree_key_of(tree) for tree in trees.unique()})
    records = keys[keys != ""].groupby(keys).groups
    found = []
    for photo, name in names.items():
        key = next((key for key in tree_keys_in(name) if key in records), None)
        if key is not None:
            found += [(photo, record, "name") for record in records[key]]
    return pd.DataFrame(found, columns=LINKS)


def by_day_and_place(files: pd.DataFrame, values: pd.DataFrame) -> pd.DataFrame:
    """Links from photos to the one tree measured near them on the day they were taken.

    Near is what phones miss by under trees; no other tree of that day may lie within twice that.
    """
    known = files[files["taken"].notna() & files["lat"].notna()]
    placed = values[values["lat"].notna() & values["date"].isin(known["taken"])]
    days = dict(list(placed.groupby("date")))
    found = []
    for photo, taken, lat, lon in known[["taken", "lat", "lon"]].itertuples():
        record = _only_near(days[taken], lat, lon) if taken in days else None
        if record is not None:
            found.append((photo, record, "place"))
    return pd.DataFrame(found, columns=LINKS)


def _only_near(placed: pd.DataFrame, lat: float, lon: float) -> int | None:
    here = pd.DataFrame({"lat": lat, "lon": lon}, index=placed.index)
    apart_m = distance_m(here, placed).to_numpy()
    around = apart_m <= 2 * FAR_ANY_DAY_M
    nearest = int(np.argmin(apart_m))
    alone = placed["tree_key"][around].nunique() == 1
    return int(placed.index[nearest]) if alone and apart_m[nearest] <= FAR_ANY_DAY_M else None
