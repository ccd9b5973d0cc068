"""Photographs of a survey: which files there are, and which record each one belongs to."""

from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import pandas as pd

from mapper.errors import InputError
from mapper.load.photo_files import PhotoError, PhotoFile, read_tags, refuse_damaged
from mapper.load.photo_matches import by_cell, by_day_and_place, by_tree_name
from mapper.load.places import BY_PHOTO
from mapper.load.records import Records
from mapper.load.zip_file import photos_in
from mapper.survey import PHOTO_ENDINGS, Survey

PLACE = ("lat", "lon", "position_accuracy_m")
FILES = ["file", "name", "taken", "lat", "lon", "accuracy_m", "problem"]
# Common practice, no source: whoever wants a whole tree in the picture stands back from it.
STANDS_OFF_M = 10.0
PHONE_ACCURACY_M = 12.0  # where a phone does not say: what it may miss by under trees


@dataclass(frozen=True)
class Photos:
    """The photographs handed in, and the records they belong to."""

    files: pd.DataFrame  # a row a photo: FILES
    named: pd.DataFrame  # a row a name in a photo cell: record, name, photo, doubt
    links: pd.DataFrame  # photo, record, found_by: cell, own (the photo is the record), name, place
    others: tuple[str, ...] = ()  # files in the photos folder that are no photographs
    wanted: bool = True  # whether the survey publishes photos at all


def find_photos(survey: Survey, records: Records) -> Photos:
    """The photos of a survey's folder and records, matched by name: in a cell or in the file's own.

    Raises
    ------
    InputError
        When the photos folder that survey.toml names is not inside the survey's.
    """
    inside, others = _in_folder(survey)
    zips = [file for file in survey.record_files if file.suffix.lower() == ".zip"]
    inside += [(photo.at, photo) for file in zips for photo in photos_in(file)]
    own = [
        (number, row, file)
        for number, photos in records.photos.items()
        for row, file in enumerate(photos, start=1)
    ]
    files = _read([*inside, *((file.name, file) for _, _, file in own)])
    mine = _own_links(records, own, len(inside))
    cells = records.cells.get("photo", pd.Series("", index=records.cells.index))
    named = by_cell(cells.drop(mine["record"]), files["name"])
    found = named.loc[named["photo"] >= 0, ["photo", "record"]].assign(found_by="cell")
    trees = records.values["tree"].drop(mine["record"])
    unnamed = files["name"].drop(found["photo"].unique())
    links = pd.concat([found, mine, by_tree_name(unnamed, trees)], ignore_index=True)
    links = links.astype({"photo": int, "record": int})
    return Photos(files, named, links, others, survey.publish.photos != "none")


def _own_links(records: Records, own: list[tuple[int, int, Path]], first: int) -> pd.DataFrame:
    """Photos that are records themselves; they come behind the folder's."""
    places = pd.MultiIndex.from_tuples([place[:2] for place in own], names=["file", "row"])
    at = records.values.loc[records.values["file"].isin(list(records.photos)), ["file", "row"]]
    photo = first + places.get_indexer(pd.MultiIndex.from_frame(at))
    return pd.DataFrame({"photo": photo, "record": at.index, "found_by": "own"})


def settled(photos: Photos, values: pd.DataFrame) -> Photos:
    """The photos once every record's tree is known, with those that fit by day and place alone.

    A tree's name in a file name that two trees bear says nothing; of several visits it means the
    one of its day. `values` has tree_key.
    """
    links = photos.links
    told = links[links["found_by"] == "name"]
    trees = values["tree_key"].reindex(told["record"]).set_axis(told.index)
    sure = trees.groupby(told["photo"]).transform("nunique") == 1
    days = values["date"].reindex(told["record"]).set_axis(told.index)
    same_day = days == photos.files["taken"].reindex(told["photo"]).set_axis(told.index)
    any_day = same_day.groupby(told["photo"]).transform("any")
    kept = links.drop(told.index[~(sure & (same_day | ~any_day))])
    by_place = by_day_and_place(photos.files.drop(kept["photo"].unique()), values)
    found = replace(photos, links=pd.concat([kept, by_place], ignore_index=True))
    return _decoded(found, values) if photos.wanted else found


def _decoded(photos: Photos, values: pd.DataFrame) -> Photos:
    """What would be shown is looked through: a picture may end before it is whole."""
    problems = photos.files["problem"].tolist()
    agreed = consents(photos, values) == "yes"
    for photo in photos.files.index[agreed & (photos.files["problem"] == "")].tolist():
        try:
            refuse_damaged(photos.files["file"][photo])
        except PhotoError as error:
            problems[photo] = str(error)
    return replace(photos, files=photos.files.assign(problem=problems))


def with_photo_places(values: pd.DataFrame, photos: Photos) -> pd.DataFrame:
    """The records with the place of their photo, where nothing else says where the tree is."""
    links = photos.links
    single = ~links.duplicated("photo", keep=False) | (links["found_by"] != "name")
    shown = links[single].join(photos.files[["lat", "lon", "accuracy_m"]], on="photo")
    best = shown.dropna(subset="lat").sort_values("accuracy_m", kind="stable")
    best = best.drop_duplicates("record").set_index("record")
    best = best[values["lat"].reindex(best.index).isna().to_numpy()]
    known = values["position_accuracy_m"].reindex(best.index)
    told = best.assign(position_accuracy_m=known.fillna(tree_accuracy_m(best["accuracy_m"])))
    placed = {name: _filled(values[name], told) for name in PLACE}
    by_photo = values["place_from"].mask(values.index.isin(best.index), BY_PHOTO)
    return values.assign(**placed, place_from=by_photo)


def _filled(column: pd.Series, told: pd.DataFrame) -> pd.Series:
    filled = column.copy()
    filled[told.index] = told[str(column.name)]
    return filled


def tree_accuracy_m(camera_m: pd.Series) -> pd.Series:
    """How near a camera's place is to the tree's: the camera's own accuracy and the step back."""
    known_m = camera_m.fillna(PHONE_ACCURACY_M)
    return ((known_m**2 + STANDS_OFF_M**2) ** 0.5).round(1)


def consents(photos: Photos, values: pd.DataFrame) -> pd.Series:
    """For every photo yes, no or "" (nobody said): only what all of its records allow is a yes.

    A record's consent is about the photos that its cell names; where the cell is empty, about
    those that bear the tree's name. A photo that fits by day and place alone has nobody's.
    """
    links = photos.links[photos.links["found_by"].isin(["cell", "name"])]
    word = values["photo_consent"].reindex(links["record"]).set_axis(links.index)
    other = links["record"].isin(photos.named["record"]) & (links["found_by"] == "name")
    word = word.where(~other | (word == "no"), "")
    refused = (word == "no").groupby(links["photo"]).any()
    agreed = (word == "yes").groupby(links["photo"]).all()
    said = pd.Series("", index=photos.files.index, dtype=str)
    said[agreed.index[agreed]] = "yes"
    said[refused.index[refused]] = "no"
    return said


def _in_folder(survey: Survey) -> tuple[list[tuple[str, PhotoFile]], tuple[str, ...]]:
    """Photos in the survey's photos folder by their name in it, and the files that are none."""
    folder = survey.folder / survey.records.photos
    _refuse_outside(survey, folder)
    root = folder.resolve()
    found = sorted(path for path in folder.rglob("*") if path.is_file())
    shown = [path for path in found if not path.name.startswith((".", "~$", "Thumbs.db"))]
    # A link to a file elsewhere would publish what nobody put here.
    good = [path for path in shown if is_photo(path) and path.resolve().is_relative_to(root)]
    others = tuple(path.relative_to(folder).as_posix() for path in shown if path not in set(good))
    return [(path.relative_to(folder).as_posix(), path) for path in good], others


def _refuse_outside(survey: Survey, folder: Path) -> None:
    named = survey.records.photos
    if survey.folder.resolve() not in folder.resolve().parents:
        raise InputError(
            f"{survey.folder / 'survey.toml'}: records.photos names '{named}'. Name a folder "
            'inside the survey folder, as in photos = "photos".'
        )
    if not folder.is_dir() and named != type(survey.records)().photos:
        raise InputError(
            f"{survey.folder / 'survey.toml'}: records.photos names '{named}', and there is no "
            "such folder. Check the spelling."
        )


def is_photo(path: Path) -> bool:
    """Whether a file is named as a photograph."""
    return path.suffix.lower() in PHOTO_ENDINGS


def _read(found: list[tuple[str, PhotoFile]]) -> pd.DataFrame:
    """What each camera wrote; `problem` says why a file cannot be used."""
    rows = []
    for name, path in found:
        try:
            rows.append((path, name, *read_tags(path), ""))
        except PhotoError as error:
            rows.append((path, name, None, np.nan, np.nan, np.nan, str(error)))
    files = pd.DataFrame(rows, columns=FILES)
    numbers = dict.fromkeys(("lat", "lon", "accuracy_m"), float)
    return files.astype(numbers).assign(taken=pd.to_datetime(files["taken"]).astype("M8[s]"))
