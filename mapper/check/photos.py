"""Rules about photographs: missing, damaged, nobody's, not agreed to. All are notes: no number."""

import pandas as pd

from mapper.check.findings import Rule, findings, joined, worded
from mapper.load.photos import Photos, consents
from mapper.load.places import BY_PHOTO

MOST_NAMED = 12
DAYS_APART = 1  # clocks of cameras stay in another time zone
DOUBTS = {
    "missing": Rule(
        "photo_missing", "note", "photo", "Put it into the photos folder, or correct the name."
    ),
    "several": Rule(
        "photo_not_clear", "note", "photo", "Write the name with its folder and its ending."
    ),
    "outside": Rule(
        "photo_outside", "note", "photo",
        "Put the photo into the photos folder and write its name alone.",
    ),
}  # fmt: skip
DOUBTED = {
    "missing": "No photo of this name was handed in.",
    "several": "More than one photo of this name was handed in: none is shown.",
    "outside": "This leads out of the photos folder: it was not looked for.",
}


def doubtful_photos(photos: Photos, values: pd.DataFrame, cells: pd.DataFrame) -> pd.DataFrame:
    """Findings on photos; `values` has tree_key."""
    asked = [_without_consent(photos, values, cells)] if photos.wanted else []
    return joined(
        [
            *(_doubted(photos, values, doubt) for doubt in DOUBTS),
            _unreadable(photos, values),
            *asked,
            _of_several(photos, values),
            _other_day(photos, values),
            _by_place(photos, values),
            _nobodys(photos, values),
            _placed(values),
        ]
    )


def _doubted(photos: Photos, values: pd.DataFrame, doubt: str) -> pd.DataFrame:
    named = photos.named[photos.named["doubt"] == doubt]
    if doubt == "missing" and photos.files.empty and len(named) > 1:
        message = (
            f"{named['record'].nunique()} records name photos, and no photo was handed in. "
            "The photos folder is missing or empty."
        )
        return _once(DOUBTS[doubt], values, message)
    at = values.loc[named["record"]].assign(cell=named["name"].to_numpy())
    return findings(DOUBTS[doubt], at, DOUBTED[doubt])


def _unreadable(photos: Photos, values: pd.DataFrame) -> pd.DataFrame:
    problems = photos.files["problem"]
    broken = problems[problems != ""]
    links = photos.links[photos.links["photo"].isin(broken.index)].drop_duplicates("photo")
    at = values.loc[links["record"]].assign(cell=photos.files["name"][links["photo"]].to_numpy())
    rule = Rule("photo_unreadable", "note", "photo")
    whole = [_once(rule, values, message) for message in broken.drop(links["photo"])]
    return joined([findings(rule, at, broken[links["photo"]]), *whole])


def _without_consent(photos: Photos, values: pd.DataFrame, cells: pd.DataFrame) -> pd.DataFrame:
    """A record each whose photo nobody agreed to show; one note where no record could say so."""
    said = consents(photos, values)
    links = photos.links[photos.links["found_by"] != "place"].drop_duplicates("photo")
    silent = links[links["photo"].map(said) == ""]
    if silent.empty:
        return joined([])
    rule = Rule(
        "photo_without_consent", "note", "photo_consent",
        "Ask whoever took it and whoever is in it, and write yes or no.",
    )  # fmt: skip
    if "photo_consent" not in cells:
        counted = "1 photo" if len(silent) == 1 else f"{len(silent)} photos"
        lacking = f"There is no column photo_consent. Without a yes none is shown ({counted})."
        return _once(rule, values, lacking)
    at = values.loc[silent["record"]]
    names = photos.files["name"][silent["photo"]].set_axis(at.index)
    message = worded("Nobody says that {} may be shown, so it is not.", names)
    return findings(rule, at, message)


def _of_several(photos: Photos, values: pd.DataFrame) -> pd.DataFrame:
    links = photos.links[photos.links["found_by"] == "cell"]
    trees = values["tree_key"].reindex(links["record"]).set_axis(links.index)
    shared = links[trees.groupby(links["photo"]).transform("nunique") > 1]
    at = values.loc[shared["record"]].assign(cell=photos.files["name"][shared["photo"]].to_numpy())
    return findings(
        Rule("photo_of_several", "note", "photo", "Was the name copied down?"),
        at,
        "This photo is named for more than one tree: shown with each, if all say yes.",
    )


def _other_day(photos: Photos, values: pd.DataFrame) -> pd.DataFrame:
    links = photos.links[photos.links["found_by"] == "cell"]
    taken = photos.files["taken"].reindex(links["photo"]).set_axis(links.index)
    day = values["date"].reindex(links["record"]).set_axis(links.index)
    apart = links[(taken - day).abs().dt.days > DAYS_APART]
    at = values.loc[apart["record"]].assign(cell=photos.files["name"][apart["photo"]].to_numpy())
    days = taken[apart.index].dt.strftime("%Y-%m-%d").set_axis(at.index)
    message = worded("The camera says {}, the record another day.", days)
    rule = Rule("photo_of_another_day", "note", "photo", "Is it this tree, and this visit?")
    return findings(rule, at, message)


def _by_place(photos: Photos, values: pd.DataFrame) -> pd.DataFrame:
    """A guess that somebody must confirm: nobody agreed to a photo that a guess has found."""
    links = photos.links[photos.links["found_by"] == "place"]
    names = photos.files["name"][links["photo"]].set_axis(links["record"])
    handed_in = photos.named.groupby("record")["name"].agg("; ".join)
    before = handed_in.reindex(names.index).fillna("")
    whole = names.where(before == "", before + "; " + names)
    at = values.loc[links["record"]].assign(
        proposed_value=whole.to_numpy(),
        cause="The name of the photo was not written down.",
    )
    message = worded(
        "The photo {} was taken here on that day, and no other tree of that day is near. "
        "It is not shown until a record names it.",
        names,
    )
    rule = Rule("photo_by_place", "note", "photo", "Write its name into the photo cell.")
    return findings(rule, at, message)


def _nobodys(photos: Photos, values: pd.DataFrame) -> pd.DataFrame:
    """One note for all photos that fit no record, one for files that are no photos."""
    alone = photos.files["name"].drop(photos.links["photo"].unique())
    lone, odd = _listed(alone.tolist()), _listed(list(photos.others))
    rule = Rule("photo_of_no_tree", "note", "photo", "Name them in the photo cells of their trees.")
    other = Rule("not_a_photo", "note", "photo", "Hand in photos as JPEG, PNG or HEIC.")
    found = [_once(rule, values, f"Photos that fit no record: {lone}.")] if lone else []
    strange = [_once(other, values, f"In the photos folder and no photo: {odd}.")] if odd else []
    return joined([*found, *strange])


def _listed(names: list[str]) -> str:
    more = len(names) - MOST_NAMED
    return ", ".join(names[:MOST_NAMED]) + (f" and {more} more" if more > 0 else "")


def _placed(values: pd.DataFrame) -> pd.DataFrame:
    return findings(
        Rule("placed_by_photo", "note", "lat", "Give the tree's own place if you know it."),
        values[values["place_from"] == BY_PHOTO],
        "Nobody wrote where the tree is: the place of its photo was taken, some steps away.",
    )


def _once(rule: Rule, values: pd.DataFrame, message: str) -> pd.DataFrame:
    """A finding about all photos, and no record in particular."""
    at = values.iloc[[0]].assign(tree="", row=float("nan")).set_axis([-1])
    return findings(rule, at, message)
