"""Who measured, as the survey publishes it: nobody, a code, or a name with consent."""

from collections.abc import Callable, Iterable, Mapping

import numpy as np
import pandas as pd

from mapper.load.contacts import masked
from mapper.load.observers import name_key, people_in, split_names
from mapper.survey import Survey


def published_observers(
    values: pd.DataFrame, survey: Survey, codes: Mapping[str, str]
) -> "pd.Series[str]":
    """For each record the observers as they may be shown, "" for nobody."""
    observers = values["observer"].fillna("").astype(str)
    if survey.publish.observers == "codes":
        return _shown(observers, lambda name: codes.get(name_key(name), ""))
    if survey.publish.observers == "names":
        refused = refusing(values)
        agreed = observers.where(values["observer_consent"] == "yes", "")
        return masked(_shown(agreed, lambda name: "" if name_key(name) in refused else name))
    return pd.Series("", index=values.index, dtype=str)


def refusing(values: pd.DataFrame) -> set[str]:
    """Everyone who says no in one record or more: one no counts for all."""
    refused = values["observer"][values["observer_consent"] == "no"].fillna("").astype(str)
    return {name_key(name) for cell in refused.unique() for name in split_names(cell)}


def photo_credits(values: pd.DataFrame) -> "pd.Series[str]":
    """Who took a photograph, where the record agrees to names; nobody who refuses, no address."""
    refused = refusing(values)
    agreed = values["photo_credit"].where(values["observer_consent"] == "yes", "")
    return masked(
        _shown(
            agreed.fillna("").astype(str), lambda name: "" if name_key(name) in refused else name
        )
    )


def observers_of_visits(
    records: pd.DataFrame, shown: "pd.Series[str]", visits: pd.DataFrame
) -> "pd.Series[str]":
    """For each visit everyone who measured on it, in the order of the alphabet."""
    if not (shown != "").any():
        return pd.Series("", index=visits.index, dtype=str)
    table = records[["tree_key", "date"]].assign(shown=shown.reindex(records.index))
    told = table[table["shown"] != ""].drop_duplicates()
    visit = ["tree_key", "date"]
    several = told.duplicated(visit, keep=False)
    together = told[several].groupby(visit, dropna=False)["shown"].agg(_together)
    one = told[~several].set_index(visit)["shown"]
    people = pd.concat([one.map({text: _together([text]) for text in one.unique()}), together])
    wanted = pd.MultiIndex.from_frame(visits[visit])
    return pd.Series(people.reindex(wanted).fillna("").to_numpy(), index=visits.index, dtype=str)


def _shown(cells: "pd.Series[str]", show: Callable[[str], str]) -> "pd.Series[str]":
    """Each different cell shown once."""
    codes, spellings = pd.factorize(cells)
    shown = [_joined(map(show, split_names(str(cell)))) for cell in spellings]
    return pd.Series(np.array([*shown, ""], dtype=object)[codes], index=cells.index, dtype=str)


def _together(cells: Iterable[str]) -> str:
    return _joined(sorted(people_in(cells)))


def _joined(names: "map[str] | list[str]") -> str:
    return "; ".join(dict.fromkeys(filter(None, names)))
