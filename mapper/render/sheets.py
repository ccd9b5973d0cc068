"""The set of sheets, and what every page of it carries: title block, neighbours, scripts."""

import re
import unicodedata
from collections.abc import Mapping, Sequence
from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mapper.language import figure, later, say
from mapper.render import words
from mapper.render.quantities import scales
from mapper.render.script_words import with_words
from mapper.render.tree_data import Groups, date_texts, groups
from mapper.render.tree_files import tree_files
from mapper.summarise import Results

NONE = np.empty(0, dtype=np.intp)


@dataclass(frozen=True)
class Sheet:
    """One sheet of the set."""

    file: str
    name: str
    number: int


@dataclass(frozen=True)
class TitleBlock:
    """The lower right corner of every sheet."""

    title: str
    place: str
    rows: tuple[tuple[str, str], ...]  # label, value


@dataclass(frozen=True)
class Site:
    """What all sheets share."""

    language: str
    title: str
    place: str
    block: TitleBlock
    sheets: tuple[Sheet, ...]
    stand_files: dict[str, str]
    tree_files: dict[str, str]  # empty where there are too many trees for a page each
    groups: Groups
    safety: str
    has_map: bool
    cut_places: str  # where the map's places are less exact than the records
    stand_rows: Mapping[str, NDArray[np.intp]]  # where in the table the trees of a stand are

    def trees_in(self, stand: str, trees: pd.DataFrame) -> pd.DataFrame:
        """The published trees of one stand; searched for once, not once a page."""
        return trees.take(self.stand_rows.get(stand, NONE))


@dataclass(frozen=True)
class Page:
    """What every template needs before its own content."""

    site: Site
    sheet: Sheet
    name: str
    description: str
    scripts: tuple[str, ...]
    styles: tuple[str, ...]

    @property
    def previous(self) -> Sheet | None:
        """The sheet before this one, if any."""
        return self._neighbour(-1)

    @property
    def following(self) -> Sheet | None:
        """The sheet after this one, if any."""
        return self._neighbour(1)

    @property
    def place_in_set(self) -> str:
        """`Sheet 2 of 5`."""
        return say("Sheet {number} of {count}").format(
            number=self.sheet.number, count=len(self.site.sheets)
        )

    def _neighbour(self, step: int) -> Sheet | None:
        index = self.sheet.number - 1 + step
        return self.site.sheets[index] if 0 <= index < len(self.site.sheets) else None


def site_of(results: Results) -> Site:
    """Number the sheets and fill the title block."""
    survey = results.survey
    stands = results.stands["stand"].astype(str).tolist()
    files = stand_files(stands)
    title = survey.title or say("Tree survey")
    first = say("Map") if has_places(results.trees) else say("Overview")
    return Site(
        language=survey.language,
        title=title,
        place=survey.place,
        block=TitleBlock(title, survey.place, _block_rows(results)),
        sheets=_sheets(files, first, several=len(results.trees) > 1),
        stand_files=files,
        tree_files=tree_files(results.trees["tree"].astype(str).tolist()),
        groups=groups(results),
        safety=say(words.SAFETY),
        has_map=has_places(results.trees),
        cut_places=words.cut_places(results.trees),
        stand_rows={
            str(stand): np.asarray(at, dtype=np.intp)
            for stand, at in results.trees.groupby("stand").indices.items()
        },
    )


def has_places(trees: pd.DataFrame) -> bool:
    """Whether any of the trees can be drawn."""
    return bool(trees[["lat", "lon"]].notna().all(axis=1).any())


def page_of(
    site: Site, file: str, description: str, map_file: str = "", scripts: tuple[str, ...] = ()
) -> Page:
    """The common part of one sheet; a sheet with a map needs the map's scripts."""
    sheet = next(sheet for sheet in site.sheets if sheet.file == file)
    if map_file:
        scripts = ("assets/leaflet.js", "assets/groveplat.js", "data/map.js", map_file)
    scripts = with_words(scripts)
    return Page(
        site=site,
        sheet=sheet,
        name=sheet.name,
        description=description,
        scripts=scripts,
        styles=("assets/leaflet.css",) * bool(map_file) + ("assets/groveplat.css",),
    )


def stand_files(stands: Sequence[str]) -> dict[str, str]:
    """A file name for each stand: readable, plain ASCII, never the same twice."""
    files: dict[str, str] = {}
    taken: set[str] = set()
    for number, stand in enumerate(stands, 1):
        slug = _slug(stand) or str(number)
        while slug in taken:
            slug = f"{slug}-{number}"
        taken.add(slug)
        files[stand] = f"stand-{slug}.html"
    return files


LAST_SHEETS = (
    ("trees.html", later("Trees")),
    ("methods.html", later("Methods")),
    ("data.html", later("Data")),
)
LONGEST_SLUG = 60  # file systems and links have an end


def _slug(text: str) -> str:
    ascii_text = unicodedata.normalize("NFKD", text).encode("ascii", "ignore").decode()
    return re.sub(r"[^a-z0-9]+", "-", ascii_text.lower()).strip("-")[:LONGEST_SLUG]


def _sheets(files: dict[str, str], first: str, several: bool) -> tuple[Sheet, ...]:
    names = [("index.html", first), *((file, stand) for stand, file in files.items())]
    if len(files) > 1:
        names.append(("compare.html", say("Comparison")))
    if several:
        names.append(("two-trees.html", say("Two trees")))
    names += [(file, say(name)) for file, name in LAST_SHEETS]
    return tuple(Sheet(file, name, number) for number, (file, name) in enumerate(names, 1))


def _block_rows(results: Results) -> tuple[tuple[str, str], ...]:
    survey = results.survey
    rows = [
        (say("Surveyed"), words.period(date_texts(results.trees["date"]))),
        (say("By"), survey.publisher),
        (say("Trees"), _tree_count(len(results.trees), len(results.stands))),
        (say("Grid"), _grid(results)),
        (say("Girth at"), _breast_height(results)),
        (say("Licence"), survey.publish.licence),
    ]
    return tuple((label, value) for label, value in rows if value)


def _tree_count(trees: int, stands: int) -> str:
    if stands < 2:
        return words.whole(trees)
    return say("{trees} in {stands} stands").format(trees=words.whole(trees), stands=stands)


def _grid(results: Results) -> str:
    positions = results.survey.publish.positions
    if not has_places(results.trees) and positions != "hidden":
        return ""
    if positions == "hidden":
        return say("places not published")
    if positions == "exact":
        return say("WGS 84, latitude and longitude")
    degrees = figure(float(positions.removesuffix(" deg")))
    return say("WGS 84, latitude and longitude, cut to {degrees}°").format(degrees=degrees)


def _breast_height(results: Results) -> str:
    """The height the survey declares; a tree's own, where it differs, stands with the tree."""
    units = results.survey.units
    height_m = results.survey.measure.breast_height
    if units == "us":
        height_ft = height_m * scales("us")["m"].factor
        return say("{height:.1f}\u00a0ft above ground").format(height=height_ft)
    return say("{height:.2f}\u00a0m above ground").format(height=height_m)
