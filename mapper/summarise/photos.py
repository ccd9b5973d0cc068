"""Which photos may be shown: agreed to, whole, and of a tree whose place is no secret."""

import pandas as pd

from mapper.load.photos import consents
from mapper.load.survey_records import Observations
from mapper.summarise.natural_order import natural
from mapper.summarise.observers import photo_credits
from mapper.summarise.results import PublicPhoto
from mapper.survey import Survey


def public_photos(
    observations: Observations, trees: pd.DataFrame, days: pd.Series, survey: Survey
) -> tuple[PublicPhoto, ...]:
    """The photos of the published trees, tree by tree.

    `trees` has tree_key and privacy; `days` are the photos' days as exact as dates are published.
    A photo can show where a tree stands: without an exact place there is none. The photographer is
    named where observers are.
    """
    photos, values = observations.photos, observations.values
    if not photos.wanted or photos.files.empty or survey.publish.positions != "exact":
        return ()
    files = photos.files[(consents(photos, values) == "yes") & (photos.files["problem"] == "")]
    links = photos.links[photos.links["photo"].isin(files.index)]
    tree = values["tree_key"].reindex(links["record"]).set_axis(links.index)
    shown = links.assign(tree=tree).drop_duplicates(["photo", "tree"])
    shown = shown[shown["tree"].isin(trees["tree_key"][trees["privacy"] == "exact"])]
    credit = photo_credits(values) if survey.publish.observers == "names" else None
    made = [
        PublicPhoto(
            tree=str(tree),
            file=files["file"][photo],
            day=days[photo],
            credit="" if credit is None else str(credit[record]),
        )
        for photo, record, tree in shown[["photo", "record", "tree"]].itertuples(index=False)
    ]
    return tuple(sorted(made, key=lambda photo: natural(photo.tree)))
