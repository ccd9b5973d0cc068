"""What the survey is about to publish and may not want to: contacts, names, places."""

from collections.abc import Iterator

import pandas as pd

from mapper.check.findings import Rule, findings, joined
from mapper.load.contacts import kinds_in_names, kinds_of_contact, tells_people, tells_place
from mapper.load.survey_records import Observations
from mapper.survey import Survey

# Text cells that are published wherever a record has them.
ALWAYS_PUBLISHED = ("tree", "stand", "plot", "stratum", "visit", "species", "local_name")
NUMBERED = ("tree", "stand", "plot", "stratum")
SHOWN = {
    "e-mail": "an e-mail address",
    "link": "an address on the web",
    "handle": "a name in a network",
    "phone": "a phone number",
}


def private_matters(observations: Observations, survey: Survey) -> pd.DataFrame:
    """Findings about what this survey's [publish] settings would show."""
    tables = [_contacts(observations, name) for name in _texts(observations, survey)]
    return joined(
        [
            *tables,
            _unnamed(observations.values, survey),
            *_own_columns(observations, survey),
            _outlines(observations, survey),
        ]
    )


def _texts(observations: Observations, survey: Survey) -> Iterator[str]:
    """The columns with what people wrote that this survey publishes."""
    publish = survey.publish
    asked = [*ALWAYS_PUBLISHED, *publish.columns]
    asked += ["note"] if publish.notes else []
    asked += ["observer"] if publish.observers == "names" else []
    yield from (name for name in dict.fromkeys(asked) if name in observations.records.cells)


def _contacts(observations: Observations, name: str) -> pd.DataFrame:
    cells = observations.records.cells[name]
    kinds = kinds_in_names(cells) if name in NUMBERED else kinds_of_contact(cells)
    found = kinds[kinds != ""]
    rule = Rule(
        "contact_in_text", "warning", name, "It is masked on the site. Take it out of the record."
    )
    at = observations.values.loc[found.index, ["file", "sheet", "row", "tree"]]
    return findings(rule, at.assign(cell=cells[found.index]),
                    "Holds " + found.map(SHOWN) + ".")  # fmt: skip


def _unnamed(values: pd.DataFrame, survey: Survey) -> pd.DataFrame:
    """Observers who would be named if they had agreed."""
    named = values["observer"].fillna("").astype(str).str.strip() != ""
    waiting = named & (values["observer_consent"] != "yes") & (survey.publish.observers == "names")
    at = values.loc[waiting, ["file", "sheet", "row", "tree"]]
    rule = Rule(
        "no_consent_to_name", "note", "observer_consent",
        "Write yes once the person, or a child's parent, has agreed.",
    )  # fmt: skip
    return findings(rule, at, "The observer has not agreed to be named: the name is not shown.")


def _own_columns(observations: Observations, survey: Survey) -> Iterator[pd.DataFrame]:
    """Columns named in [publish] columns that seem to speak of people or places."""
    cells = observations.records.cells
    for name in dict.fromkeys(survey.publish.columns):
        if name not in cells:
            continue
        if tells_place(name, cells[name]):
            yield _whole(name, "seems to hold places. It is left empty for every tree whose place "
                               "is not shown exactly.")  # fmt: skip
        elif tells_people(name):
            yield _whole(name, "seems to speak of people, and is published as it is.")


def _whole(name: str, said: str) -> pd.DataFrame:
    rule = Rule("named_column", "warning", name, "Take it out of [publish] columns if unsure.")
    return findings(rule, _nowhere(), f"The column '{name}' {said}")


def _outlines(observations: Observations, survey: Survey) -> pd.DataFrame:
    """Exact outlines around trees whose places are cut or hidden."""
    publish = survey.publish
    shapes = len(observations.boundaries) if publish.boundaries is True else 0
    shapes += len(observations.backdrop) if publish.boundaries != "cut" else 0
    rule = Rule(
        "outlines_tell_places", "warning", "",
        'Write boundaries = "cut" under [publish], if the place is to stay unknown.',
    )  # fmt: skip
    at = _nowhere() if shapes and publish.positions != "exact" else _nowhere().iloc[:0]
    return findings(rule, at, "The places of the trees are kept back, but outlines, paths or "
                              "buildings on the map still show where they stand.")  # fmt: skip


def _nowhere() -> pd.DataFrame:
    """A finding about the survey as a whole belongs to no record."""
    return pd.DataFrame({"file": [0], "sheet": "", "row": pd.NA, "tree": ""}, index=[-1])
