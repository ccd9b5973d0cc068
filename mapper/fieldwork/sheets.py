"""The printed sheets of an outing: pages of their own, each one file that prints as it is."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Literal
from urllib.parse import quote

import numpy as np
from jinja2 import Environment, FileSystemLoader, StrictUndefined
from shapely.geometry.base import BaseGeometry

from mapper.errors import InputError
from mapper.fieldwork.hand_tables import STICK, angle_table, shadow_table, unit_of
from mapper.fieldwork.paper_drawings import (
    EDGE_MM,
    HOLE_MM,
    RULER_MM,
    protractor_ticks,
    ruler_marks,
    walk_map,
)
from mapper.fieldwork.record_rows import blank_pages, heading_cells, prefilled_pages
from mapper.fieldwork.stops import MOST_STOPS, Stop, Walk, chosen_trees, unplaced_stops, walk_of
from mapper.render.site_files import shipped, write_text
from mapper.summarise import Line
from mapper.survey import Survey

PAPERS = {"a4": "A4", "letter": "letter"}
MINUTES_A_TREE = 8  # girth, height twice, writing it down; common practice, no source
METRES_A_MINUTE = 50  # a group that looks about it; common practice, no source
TAGS_A_PAGE = 10


@dataclass(frozen=True)
class Outing:
    """What to print."""

    trees: tuple[str, ...] = ()
    stand: str = ""
    most: int = MOST_STOPS
    paper: Literal["a4", "letter"] = "a4"
    show_last: bool = False


@dataclass(frozen=True)
class Tag:
    """A label for one tree; `code` is a QR code as SVG, empty without an address."""

    tree: str
    name: str
    link: str
    code: str


def write_sheets(survey: Survey, line: Line | None, out: Path, outing: Outing) -> list[Path]:
    """Write the sheets into the folder `out` and return their files, the leader's page first.

    `line` is None while the survey has no record: then the sheets that need trees are left out.

    Raises
    ------
    InputError
        When a tree or the stand of `outing` is not in the survey, or `out` is a file.
    """
    if out.exists() and not out.is_dir():
        raise InputError(f"{out}: is a file. Name a folder for the sheets.")
    walk = _walk(line, outing)
    templates = paper_templates()
    written = []
    for name, content in _contents(survey, line, walk, outing):
        text = templates.get_template(f"{name}.html").render(
            survey=survey, paper=PAPERS[outing.paper], units=survey.units, **content
        )
        write_text(out / f"{name}.html", text)
        written.append(out / f"{name}.html")
    return written


def _walk(line: Line | None, outing: Outing) -> Walk:
    if line is None:
        if outing.trees or outing.stand:
            raise InputError("The survey has no tree yet. Print the sheets without naming any.")
        return Walk((), np.nan, np.nan, ())
    trees = line.measured.trees
    return walk_of(chosen_trees(trees, line.findings, outing.trees, outing.stand, outing.most))


def _contents(
    survey: Survey, line: Line | None, walk: Walk, outing: Outing
) -> Iterator[tuple[str, dict[str, object]]]:
    yield "leader", {"walk": walk, "minutes": _minutes(walk), "breast": breast_height(survey)}
    columns = heading_cells(survey.units)
    yield "record-new", {"columns": columns, "pages": blank_pages()}
    if line is not None:
        pages = prefilled_pages(_rows(line, walk), survey.units, outing.show_last)
        yield "record-again", {"columns": columns, "pages": pages, "show_last": outing.show_last}
        shapes = _outlines(line, walk)
        yield "walk", {"walk": walk, "map": walk_map(walk, shapes, 180, 150)}
        yield "tags", {"tag_pages": _tag_pages(survey.address, walk)}
    yield (
        "angles",
        {
            "ticks": protractor_ticks(),
            "ruler": ruler_marks(),
            "ruler_mm": RULER_MM,
            "edge": EDGE_MM,
            "hole": HOLE_MM,
            "table": angle_table(survey.units),
            "unit": unit_of(survey.units),
        },
    )
    yield (
        "shadows",
        {
            "table": shadow_table(survey.units),
            "stick": STICK[survey.units],
            "unit": unit_of(survey.units),
        },
    )


def _rows(line: Line, walk: Walk) -> list[Stop]:
    """The stops, then the chosen trees that have no place."""
    trees = line.measured.trees
    return [*walk.stops, *unplaced_stops(trees.loc[list(walk.without_place)])]


def _minutes(walk: Walk) -> int:
    """How long the walk takes, to the next quarter of an hour. [min]"""
    measuring = MINUTES_A_TREE * (len(walk.stops) + len(walk.without_place))
    return -(-round(measuring + walk.length_m / METRES_A_MINUTE) // 15) * 15


def breast_height(survey: Survey) -> str:
    """The height at which the tape goes round, in the survey's unit."""
    metres = survey.measure.breast_height
    return f"{metres / 0.3048:.2g} ft" if survey.units == "us" else f"{metres:.2f} m"


def _outlines(line: Line, walk: Walk) -> Sequence[BaseGeometry]:
    shapes = line.observations.boundaries
    if shapes.empty or not walk.stops:
        return []
    local = f"+proj=laea +lat_0={walk.lat} +lon_0={walk.lon} +datum=WGS84 +units=m"
    return list(shapes.to_crs(local).geometry)


def _tag_pages(address: str, walk: Walk) -> list[list[Tag]]:
    tags = [_tag(address, stop.tree, stop.name) for stop in walk.stops]
    tags += [_tag(address, tree, "") for tree in walk.without_place]
    return [tags[at : at + TAGS_A_PAGE] for at in range(0, len(tags), TAGS_A_PAGE)]


def _tag(address: str, tree: str, name: str) -> Tag:
    if not address:
        return Tag(tree, name, "", "")
    import segno

    link = f"{address.rstrip('/')}/index.html#tree={quote(tree, safe='')}"
    code = segno.make(link, error="m", micro=False).svg_inline(border=4, omitsize=True)
    return Tag(tree, name, link, code)


def paper_templates() -> Environment:
    """Templates of what is printed."""
    return Environment(
        loader=FileSystemLoader(shipped("site_template") / "pages" / "paper"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
    )
