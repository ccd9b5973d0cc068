"""Sheet 1: the map with the survey's figures in its margin."""

import math
from dataclasses import dataclass

import pandas as pd

from mapper.render import words
from mapper.render.quantities import Measured, Scale, measured, scales
from mapper.render.sheets import Page, Site, page_of
from mapper.render.stand_figures import number
from mapper.render.tree_data import OTHER_COLOUR
from mapper.summarise import Results

LETTERS = "abcdefghij"


@dataclass(frozen=True)
class TreeNote:
    """A margin note about one tree, tied to the map by its letter."""

    letter: str
    lead: str
    tree: str
    kind: str
    value: Measured
    after: str
    placed: bool


@dataclass(frozen=True)
class StandNote:
    """A margin note about one stand."""

    name: str
    file: str
    text: str


@dataclass(frozen=True)
class KeyRow:
    """A species in the key."""

    index: int
    colour: int
    name: str
    common: str
    trees: str


@dataclass(frozen=True)
class IndexPage:
    """What index.html shows."""

    page: Page
    lede: str
    tree_notes: tuple[TreeNote, ...]
    stand_notes: tuple[StandNote, ...]
    no_stands: str
    key: tuple[KeyRow, ...]
    others: str
    signs: tuple[tuple[str, str], ...]
    no_map: str
    doubts: str
    confidence: str


def index_page(results: Results, site: Site) -> IndexPage:
    """Gather the words and numbers around the map."""
    survey = results.survey
    map_file = "maps/index.js" if site.has_map else ""
    lede = words.opening(results.trees)
    hidden = survey.publish.positions == "hidden"
    return IndexPage(
        page=page_of(site, "index.html", f"{site.title}. {lede}", map_file),
        lede=lede,
        tree_notes=tree_notes(results.trees, scales(survey.units)),
        stand_notes=_stand_notes(results.stands, site, scales(survey.units)),
        no_stands="" if site.stand_files else words.NO_STANDS,
        key=key_rows(site),
        others=_others(site),
        signs=signs(results.trees),
        no_map="" if site.has_map else words.PLACES_HIDDEN if hidden else words.NO_PLACES,
        doubts=words.findings(results.findings),
        confidence=words.CONFIDENCE,
    )


def tree_notes(trees: pd.DataFrame, shown: dict[str, Scale]) -> tuple[TreeNote, ...]:
    """The stoutest and the tallest living tree."""
    living = trees[trees["status"] == "alive"]
    notes = []
    for lead, column, scale in (
        ("Stoutest", "girth_cm", "cm"),
        ("Tallest measured", "height_m", "m"),
    ):
        values = pd.to_numeric(living[column])
        if values.notna().any():
            row = living.loc[values.idxmax()].to_dict()
            notes.append(_tree_note(LETTERS[len(notes)], lead, row, (column, shown[scale])))
    return tuple(notes)


def _tree_note(
    letter: str, lead: str, row: dict[str, object], what: tuple[str, Scale]
) -> TreeNote:
    column, scale = what
    # A girth has no column of its own for its error: it is π times the diameter's.
    around = math.pi * number(row, "diameter_sd_cm")
    sd = number(row, "height_sd_m") if column == "height_m" else around
    value = measured(number(row, column), 2 * sd, scale)
    assert value is not None  # the row was chosen because it has this value
    placed = math.isfinite(number(row, "lat"))
    kind = words.kind(str(row["species"]), str(row["common_name"]))
    after = " tall" if column == "height_m" else " round"
    return TreeNote(letter, lead, str(row["tree"]), kind, value, after, placed)


def _stand_notes(
    stands: pd.DataFrame, site: Site, shown: dict[str, Scale]
) -> tuple[StandNote, ...]:
    notes = []
    for row in stands.to_dict("records"):
        name = str(row["stand"])
        per_ha = measured(number(row, "stems_per_ha"), math.nan, shown["per_ha"])
        text = words.counted(int(number(row, "trees")), "living tree")
        text += f", {per_ha.text}" if per_ha else ""
        notes.append(StandNote(name, site.stand_files[name], text))
    return tuple(notes)


def key_rows(site: Site) -> tuple[KeyRow, ...]:
    """The commonest kinds, each with its colour."""
    return tuple(
        KeyRow(index, int(str(entry["colour"])), str(entry["name"]), str(entry["common"]),
               words.whole(int(str(entry["trees"]))))
        for index, entry in enumerate(site.groups.species)
        if index < OTHER_COLOUR
    )  # fmt: skip


def _others(site: Site) -> str:
    rest = site.groups.species[OTHER_COLOUR:]
    if not rest:
        return ""
    trees = sum(int(str(entry["trees"])) for entry in rest)
    return f"{words.counted(len(rest), 'other kind')}, {words.counted(trees, 'tree')}"


def signs(trees: pd.DataFrame) -> tuple[tuple[str, str], ...]:
    """The plan symbols that occur, with what they mean."""
    meanings = {
        "broadleaf": "broadleaf",
        "conifer": "conifer",
        "dead": "dead, still standing",
        "unknown": "kind unknown",
    }
    present = set(trees["symbol"])
    return tuple((sign, text) for sign, text in meanings.items() if sign in present)
