"""A page for each tree: its figures, how they came about, what it is like, how to cite it."""

import math
from collections.abc import Iterator
from dataclasses import dataclass, replace
from urllib.parse import quote

from markupsafe import Markup

from mapper.language import say, say_count
from mapper.reference.licences import licence_of
from mapper.render import words
from mapper.render.age_words import age_text, growth_in_girth
from mapper.render.height_drawing import height_drawing
from mapper.render.likeness import Likeness, likenesses
from mapper.render.photos import Picture
from mapper.render.quantities import Measured, Scale, measured, scales
from mapper.render.rows import Row, number, rows_of, text
from mapper.render.sheets import Page, Sheet, Site
from mapper.render.tree_data import date_texts
from mapper.render.tree_ranks import rank_sentences
from mapper.render.visits_chart import Visit, visits_chart
from mapper.summarise import Results
from mapper.summarise.results import Step

UP = "../"  # from the folder of the pages to the rest of the site


@dataclass(frozen=True)
class TreeSheet(Page):
    """The common part of a tree's page: its neighbours are trees, not sheets."""

    neighbours: tuple[Sheet | None, Sheet | None]
    count: int

    @property
    def previous(self) -> Sheet | None:
        """The tree before this one."""
        return self.neighbours[0]

    @property
    def following(self) -> Sheet | None:
        """The tree after this one."""
        return self.neighbours[1]

    @property
    def place_in_set(self) -> str:
        """`Tree 3 of 336`."""
        return say("Tree {number} of {count}").format(number=self.sheet.number, count=self.count)


@dataclass(frozen=True)
class WorkedStep:
    """A step with its drawing."""

    step: Step
    drawing: Markup


@dataclass(frozen=True)
class TreePage:
    """What a tree's page shows."""

    page: TreeSheet
    tree: str
    species: str
    common: str
    lede: str
    figures: tuple[tuple[str, Measured], ...]
    facts: tuple[tuple[str, str], ...]
    on_map: str
    pictures: tuple[Picture, ...]
    steps: tuple[WorkedStep, ...]
    likenesses: tuple[Likeness, ...]
    ranks: tuple[str, ...]
    visits: tuple[Visit, ...]
    units: tuple[str, str]
    chart: Markup
    findings: tuple[str, ...]
    cite: str
    address: str
    confidence: str


class TreePages:
    """Everything that the pages share, gathered once."""

    def __init__(
        self, results: Results, site: Site, pictures: dict[str, tuple[Picture, ...]]
    ) -> None:
        self.results, self.site, self.pictures = results, site, pictures
        self.shown = scales(results.survey.units)
        self.ranks = rank_sentences(results.trees)
        self.visits = _visits_by_tree(results, self.shown)
        self.findings = _findings_by_tree(results)
        self.confidence = words.confidence(results.trees)
        self.licence = licence_of(results.survey.publish.licence).name

    def pages(self) -> Iterator[tuple[str, TreePage]]:
        """File and content of every page, in the order of the trees' table."""
        files = self.site.tree_files
        if not files:
            return
        rows = rows_of(self.results.trees)
        dates = date_texts(self.results.trees["date"])
        sheets = [
            Sheet(files[tree].rpartition("/")[2], say("Tree {id}").format(id=tree), place)
            for place, tree in enumerate(files, 1)
        ]
        for index, (row, day, sheet) in enumerate(zip(rows, dates, sheets, strict=True)):
            before = sheets[index - 1] if index else None
            after = sheets[index + 1] if index + 1 < len(sheets) else None
            yield files[text(row, "tree")], self._page(row, day, sheet, (before, after))

    def _page(
        self, row: Row, day: str, sheet: Sheet, neighbours: tuple[Sheet | None, Sheet | None]
    ) -> TreePage:
        tree = text(row, "tree")
        visits = self.visits.get(tree, ())
        height, half = number(row, "height_m"), 2 * number(row, "height_sd_m")
        named = words.kind(text(row, "species"), text(row, "common_name"))
        figures = _figures(row, self.shown)
        common = self._common(text(row, "stand"), sheet, neighbours, f"{sheet.name}, {named}")
        return TreePage(
            page=common,
            tree=tree,
            species=text(row, "species"),
            common=text(row, "common_name"),
            lede=_lede(row, day),
            figures=figures,
            facts=_facts(row, self.shown),
            on_map=_map_link(row),
            pictures=self.pictures.get(tree, ()),
            steps=tuple(
                WorkedStep(step, height_drawing(step))
                for step in self.results.workings.get(tree, ())
            ),
            likenesses=likenesses(height, half),
            ranks=self.ranks.get(tree, ()),
            visits=visits,
            units=(self.shown["cm"].unit, self.shown["m"].unit),
            chart=visits_chart(visits, self.shown["cm"].unit),
            findings=self._doubts(tree, row),
            cite=self._cite(sheet.name, named, day),
            address=_address(self.results.survey.address, self.site.tree_files[tree]),
            confidence=self.confidence if any(value.plus_minus for _, value in figures) else "",
        )

    def _common(
        self, stand: str, sheet: Sheet, neighbours: tuple[Sheet | None, Sheet | None], about: str
    ) -> TreeSheet:
        own = self.site.stand_files.get(stand)
        kept = [
            replace(other, file=UP + other.file)
            for other in self.site.sheets
            if other.file == own or other.file not in self.site.stand_files.values()
        ]
        return TreeSheet(
            site=replace(self.site, sheets=tuple(kept)),
            sheet=sheet,
            name=sheet.name,
            description=f"{self.site.title}: {about}.",
            scripts=(f"{UP}assets/groveplat.js",),
            styles=(f"{UP}assets/groveplat.css",),
            neighbours=neighbours,
            count=len(self.site.tree_files),
        )

    def _doubts(self, tree: str, row: Row) -> tuple[str, ...]:
        told = self.findings.get(tree, ())
        count = int(number(row, "finding_count") or 0)
        if told or not count:
            return told
        text_ = say_count(
            "{n} value in its records needs a second look.",
            "{n} values in its records need a second look.",
            count,
        )
        return (text_.format(n=count),)

    def _cite(self, name: str, named: str, day: str) -> str:
        survey = self.results.survey
        measured_on = say("measured {date}").format(date=words.day(day)) if day else ""
        about = ", ".join(filter(None, [f"{name} ({named})", measured_on]))
        within = ", ".join(filter(None, [self.site.title, survey.place]))
        told = [about, within, survey.publisher, self.licence]
        return " ".join(f"{part.rstrip('.')}." for part in told if part)


def _address(site: str, file: str) -> str:
    return f"{site.rstrip('/')}/{file}" if site else ""


def _map_link(row: Row) -> str:
    placed = math.isfinite(number(row, "lat")) and math.isfinite(number(row, "lon"))
    return f"{UP}index.html#tree={quote(text(row, 'tree'), safe='')}" if placed else ""


def _lede(row: Row, day: str) -> str:
    status = {
        "dead": say("It was dead, and still standing, when it was measured."),
        "fallen": say("It had fallen when it was measured."),
        "stump": say("Only its stump was left when it was measured."),
    }.get(text(row, "status"), "")
    where = text(row, "stand")
    dated = words.day(day) if day else ""
    if where and dated:
        seen = say("Measured in {stand} on {date}.") if len(day) == 10 else say(
            "Measured in {stand} in {date}."
        )  # fmt: skip
        return f"{seen.format(stand=where, date=dated)} {status}".strip()
    if where:
        measured_in = say("Measured in {stand}.").format(stand=where)
        return f"{measured_in} {status}".strip()
    if dated:
        measured_on = say("Measured {date}.").format(date=dated)
        return f"{measured_on} {status}".strip()
    return status


def _figures(row: Row, shown: dict[str, Scale]) -> tuple[tuple[str, Measured], ...]:
    sd_cm, sd_m = number(row, "diameter_sd_cm"), number(row, "height_sd_m")
    named = [
        (say("Girth"), measured(number(row, "girth_cm"), 2 * math.pi * sd_cm, shown["cm"])),
        (say("Diameter"), measured(number(row, "diameter_cm"), 2 * sd_cm, shown["cm"])),
        (say("Height"), measured(number(row, "height_m"), 2 * sd_m, shown["m"])),
    ]
    return tuple((name, value) for name, value in named if value)


def _facts(row: Row, shown: dict[str, Scale]) -> tuple[tuple[str, str], ...]:
    grown = growth_in_girth(row, shown["cm"])
    within = measured(number(row, "position_accuracy_m"), math.nan, shown["m"])
    told = [
        (say("Age"), age_text(row)),
        (say("Girth grew"), say("{growth} a year").format(growth=grown.text) if grown else ""),
        (say("Place known within"), within.text if within else ""),
    ]
    return tuple((name, value) for name, value in told if value)


def _visits_by_tree(results: Results, shown: dict[str, Scale]) -> dict[str, tuple[Visit, ...]]:
    visits = results.visits
    many = visits[visits.duplicated("tree", keep=False)]
    found: dict[str, list[Visit]] = {}
    for row, day in zip(rows_of(many), date_texts(many["date"]), strict=True):
        sd_cm, sd_m = number(row, "diameter_sd_cm"), number(row, "height_sd_m")
        girth = math.pi * number(row, "diameter_cm")
        visit = Visit(
            day,
            words.day(day),
            measured(girth, 2 * math.pi * sd_cm, shown["cm"]),
            measured(number(row, "height_m"), 2 * sd_m, shown["m"]),
            girth * shown["cm"].factor,
            2 * math.pi * sd_cm * shown["cm"].factor,
        )
        found.setdefault(text(row, "tree"), []).append(visit)
    return {tree: tuple(all_) for tree, all_ in found.items()}


def _findings_by_tree(results: Results) -> dict[str, tuple[str, ...]]:
    found: dict[str, dict[str, None]] = {}
    for row in rows_of(results.findings):
        if text(row, "severity") != "note":
            for tree in (text(row, "tree"), text(row, "other_tree")):
                if tree:
                    found.setdefault(tree, {})[say(text(row, "message"))] = None
    return {tree: tuple(messages) for tree, messages in found.items()}
