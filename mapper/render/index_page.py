"""Sheet 1: the map with the survey's figures in its margin."""

import collections
import math
from dataclasses import dataclass, replace

import numpy as np
import pandas as pd

from mapper.language import later, say
from mapper.render import words
from mapper.render.age_words import age_span, is_thumb, oldest
from mapper.render.distributions import Distribution, distributions
from mapper.render.poster import MOST_TREES
from mapper.render.quantities import Measured, Scale, measured, scales
from mapper.render.rows import Row, number, rows_of, text
from mapper.render.sheets import Page, Site, page_of
from mapper.render.story import how_big, what_changed
from mapper.render.tree_data import OTHER_COLOUR
from mapper.summarise import Results
from mapper.summarise.generalised import is_hidden

LETTERS = "abc"
# What a note about a tree needs of its row.
NOTED = [
    "tree", "species", "common_name", "status", "girth_cm", "diameter_sd_cm", "height_m",
    "height_sd_m", "lat", "lon",
]  # fmt: skip
COUNTED_FROM = {
    "planting": later("since planting"),
    "germination": "",
    "ring height": later("since it was as high as the rings were counted"),
}


@dataclass(frozen=True)
class TreeNote:
    """A margin note about one tree, tied to the map by its letter."""

    letter: str
    lead: str
    tree: str
    kind: str
    values: tuple[tuple[Measured, str], ...]  # with the word that follows
    placed: bool


@dataclass(frozen=True)
class StandNote:
    """A margin note about one stand."""

    name: str
    file: str
    text: str


@dataclass(frozen=True)
class KeyRow:
    """A species in the key; its place in the list of species is also its colour."""

    index: int
    name: str
    common: str
    trees: int


@dataclass(frozen=True)
class Key:
    """What the signs and colours of a map mean."""

    rows: tuple[KeyRow, ...]
    others: str
    other_indexes: str
    signs: tuple[tuple[str, str], ...]


@dataclass(frozen=True)
class IndexPage:
    """What index.html shows."""

    page: Page
    lede: str
    story: str
    tree_notes: tuple[TreeNote, ...]
    stand_notes: tuple[StandNote, ...]
    no_stands: str
    distributions: tuple[Distribution, ...]
    key: Key
    no_map: str
    doubts: str
    confidence: str
    poster: bool


def index_page(results: Results, site: Site) -> IndexPage:
    """Gather the words and numbers around the map."""
    survey = results.survey
    map_file = "maps/index.js" if site.has_map else ""
    # Without a map a tree's working is still one click away.
    scripts = ("assets/groveplat.js", "data/map.js")
    lede = words.opening(results.trees)
    hidden = survey.publish.positions == "hidden" or bool(is_hidden(results.trees).any())
    return IndexPage(
        page=page_of(site, "index.html", f"{site.title}. {lede}", map_file, scripts),
        lede=lede,
        story=_story(results),
        tree_notes=tree_notes(results.trees, scales(survey.units)),
        stand_notes=_stand_notes(results.stands, site, scales(survey.units)),
        no_stands="" if site.stand_files else say(words.NO_STANDS),
        distributions=_whole(results),
        key=key_of(results.trees, site),
        no_map="" if site.has_map else say(words.PLACES_HIDDEN if hidden else words.NO_PLACES),
        doubts=words.findings(results.findings),
        confidence=words.confidence(results.trees),
        poster=site.has_map and len(results.trees) <= MOST_TREES,
    )


def _story(results: Results) -> str:
    shown = scales(results.survey.units)
    told = (how_big(results.trees, shown), what_changed(results.visits, shown))
    return " ".join(filter(None, told))


def _whole(results: Results) -> tuple[Distribution, ...]:
    """The sizes of the whole survey; a survey of one stand has them on the sheet of the stand."""
    if len(results.stands) == 1:
        return ()
    whole = ""
    return distributions(results.classes, [whole], scales(results.survey.units), alike=False)[whole]


def tree_notes(trees: pd.DataFrame, shown: dict[str, Scale]) -> tuple[TreeNote, ...]:
    """The stoutest and the tallest living tree, and the one with the oldest range of age."""
    notes = _largest_notes(trees, shown)
    aged = oldest(trees)
    if aged is None:
        return notes
    years = Measured(age_span(aged), "", "", say("years"))
    worth = say("by a rule of thumb" if is_thumb(aged) else COUNTED_FROM[text(aged, "age_since")])
    same = [note for note in notes if note.tree == text(aged, "tree")]
    if same:  # a tree has one letter on the map
        lead = say("{lead}, and oldest range of age").format(lead=same[0].lead)
        both = replace(same[0], lead=lead, values=(*same[0].values, (years, worth)))
        return tuple(both if note is same[0] else note for note in notes)
    note = _tree_note(LETTERS[len(notes)], say("Oldest range of age"), aged, ((years, worth),))
    return (*notes, note)


def _largest_notes(trees: pd.DataFrame, shown: dict[str, Scale]) -> tuple[TreeNote, ...]:
    """One note when the stoutest is the tallest as well."""
    living = trees.loc[trees["status"] == "alive", NOTED]
    stoutest, tallest = _largest(living, "girth_cm"), _largest(living, "height_m")
    alone = say("The tree we measured")
    if stoutest and tallest and stoutest["tree"] == tallest["tree"]:
        values = (_girth(stoutest, shown), _height(tallest, shown))
        lead = say("Stoutest, and tallest measured") if len(living) > 1 else alone
        return (_tree_note("a", lead, stoutest, values),)
    notes = []
    if stoutest:
        lead = say("Stoutest") if len(living) > 1 else alone
        notes.append(_tree_note("a", lead, stoutest, (_girth(stoutest, shown),)))
    if tallest:
        letter = LETTERS[len(notes)]
        height = (_height(tallest, shown),)
        lead = say("Tallest measured") if len(living) > 1 else alone
        notes.append(_tree_note(letter, lead, tallest, height))
    return tuple(notes)


def _largest(trees: pd.DataFrame, column: str) -> Row | None:
    sizes = trees[column].to_numpy(dtype=float, na_value=np.nan)
    if np.isnan(sizes).all():
        return None
    # Among equals the first by tree id, so that the same input gives the same note.
    at = int(np.nanargmax(sizes))
    return next(iter(rows_of(trees.iloc[at : at + 1])), None)


def _girth(row: Row, shown: dict[str, Scale]) -> tuple[Measured | None, str]:
    # A girth has no column of its own for its error: it is π times the diameter's.
    half = 2 * math.pi * number(row, "diameter_sd_cm")
    return measured(number(row, "girth_cm"), half, shown["cm"]), say("round")


def _height(row: Row, shown: dict[str, Scale]) -> tuple[Measured | None, str]:
    height = measured(number(row, "height_m"), 2 * number(row, "height_sd_m"), shown["m"])
    return height, say("tall")


def _tree_note(
    letter: str,
    lead: str,
    row: Row,
    values: tuple[tuple[Measured | None, str], ...],
) -> TreeNote:
    return TreeNote(
        letter=letter,
        lead=lead,
        tree=text(row, "tree"),
        kind=words.kind(text(row, "species"), text(row, "common_name")),
        values=tuple((value, word) for value, word in values if value),
        placed=math.isfinite(number(row, "lat")) and math.isfinite(number(row, "lon")),
    )


def _stand_notes(
    stands: pd.DataFrame, site: Site, shown: dict[str, Scale]
) -> tuple[StandNote, ...]:
    notes = []
    for row in rows_of(stands):
        name = text(row, "stand")
        per_ha = measured(number(row, "stems_per_ha"), math.nan, shown["per_ha"])
        about = words.living_trees(int(number(row, "trees")))
        about += f", {per_ha.text}" if per_ha else ""
        notes.append(StandNote(name, site.stand_files[name], about))
    return tuple(notes)


def key_of(trees: pd.DataFrame, site: Site) -> Key:
    """The kinds among these trees, each with its colour; the rare ones together."""
    counts = collections.Counter(trees["species"])
    rows = [
        KeyRow(index, str(entry["name"]), str(entry["common"]), counts[str(entry["name"])])
        for index, entry in enumerate(site.groups.species)
        if str(entry["name"]) in counts
    ]
    rare = [row for row in rows if row.index >= OTHER_COLOUR]
    return Key(
        rows=tuple(row for row in rows if row.index < OTHER_COLOUR),
        others=_others(rare),
        other_indexes=" ".join(str(row.index) for row in rare),
        signs=signs(trees),
    )


def _others(rare: list[KeyRow]) -> str:
    if not rare:
        return ""
    if len(rare) == 1:
        return f"{words.kind(rare[0].name, rare[0].common)}, {words.trees(rare[0].trees)}"
    kinds = words.counted(len(rare), "{n} other kind", "{n} other kinds")
    return f"{kinds}, {words.trees(sum(row.trees for row in rare))}"


def signs(trees: pd.DataFrame) -> tuple[tuple[str, str], ...]:
    """The plan symbols that occur, with what they mean."""
    down = trees["status"].isin(["fallen", "stump"]).any()
    meanings = {
        "broadleaf": say("broadleaf"),
        "conifer": say("conifer"),
        "dead": say("dead, fallen or stump") if down else say("dead, still standing"),
        "unknown": say("kind unknown"),
    }
    present = set(trees["symbol"])
    return tuple((sign, text) for sign, text in meanings.items() if sign in present)
