"""Which photos may be shown: agreed to, whole, and of a tree whose place is no secret."""

import pandas as pd

from mapper.load.contacts import without_contacts
from mapper.load.observers import name_key, split_names
from mapper.load.photos import consents
from mapper.load.survey_records import Observations
from mapper.summarise.observers import refusing
from mapper.summarise.results import PublicPhoto
from mapper.summarise.stands import natural
from mapper.survey import Survey


def public_photos(
    observations: Observations, trees: pd.DataFrame, days: pd.Series, survey: Survey
) -> tuple[PublicPhoto, ...]:
    """The photos of the published trees, tree by tree.

    `trees` has tree_key and privacy; `days` are the photos' days as exact as dates are published.
    A photo can show where a tree stands: without an exact place there is none.
    """
    photos, values = observations.photos, observations.values
    if not photos.wanted or survey.publish.positions != "exact":
        return ()
    files = photos.files[(consents(photos, values) == "yes") & (photos.files["problem"] == "")]
    links = photos.links[photos.links["photo"].isin(files.index)]
    tree = values["tree_key"].reindex(links["record"]).set_axis(links.index)
    shown = links.assign(tree=tree).drop_duplicates(["photo", "tree"])
    shown = shown[shown["tree"].isin(trees["tree_key"][trees["privacy"] == "exact"])]
    credit = _credits(values.loc[shown["record"].unique()], refusing(values), survey)
    made = [
        PublicPhoto(
            tree=str(tree), file=files["file"][photo], day=days[photo], credit=credit[record]
        )
        for photo, record, tree in shown[["photo", "record", "tree"]].itertuples(index=False)
    ]
    return tuple(sorted(made, key=lambda photo: natural(photo.tree)))


def _credits(values: pd.DataFrame, refused: set[str], survey: Survey) -> dict[int, str]:
    """By record who took its photos: where observers are named, and this record agrees to it."""
    named = (values["observer_consent"] == "yes") & (survey.publish.observers == "names")
    shown = {}
    for record, cell in values["photo_credit"].where(named, "").items():
        names = [name for name in split_names(str(cell)) if name_key(name) not in refused]
        shown[int(str(record))] = without_contacts("; ".join(names))
    return shown
