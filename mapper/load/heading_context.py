"""Headings that mean one thing alone and another beside their neighbours."""

import re

from mapper.load.columns import heading_key, known_columns
from mapper.load.heading import Heading
from mapper.load.records import Remark, Sheet
from mapper.load.species import is_species_name

# Of two headings for the species, the one that says so holds the botanical names.
BOTANICAL = re.compile("cientifi|wissenschaft|botan|latin|latein|taxon|binomial")
TRIED = 200  # cells that are looked at to tell words from numbers


def distance_to_the_tree(headings: list[Heading]) -> list[Heading]:
    """A distance beside an angle to the top is the baseline; from a known point it is an offset."""
    names = {heading.column.name for heading in headings if heading.column}
    if "angle_top" not in names or names & {"baseline", "from_point", "bearing"}:
        return headings
    return [
        _as(heading, "baseline", "the distance from which the angle was read")
        if heading.column and heading.column.name == "distance"
        else heading
        for heading in headings
    ]


def names_apart(headings: list[Heading]) -> list[Heading]:
    """Of two columns for the species, one said to be botanical: the other holds common names."""
    of_species = [one for one in headings if one.column and one.column.name == "species"]
    botanical = [one for one in of_species if BOTANICAL.search(heading_key(one.text))]
    taken = any(one.column and one.column.name == "local_name" for one in headings)
    if (len(of_species), len(botanical)) != (2, 1) or taken:
        return headings
    return [
        _as(heading, "local_name", f"'{botanical[0].text}' holds the botanical names")
        if heading in of_species and heading is not botanical[0]
        else heading
        for heading in headings
    ]


def species_of_words(sheet: Sheet, headings: list[Heading]) -> list[Heading]:
    """Of two columns for the tree, one that holds kinds of trees is the species."""
    names = [heading.column.name if heading.column else "" for heading in headings]
    if names.count("tree") != 2 or "species" in names:
        return headings
    return [
        _as(heading, "species", "the kind of tree, because the cells name kinds")
        if name == "tree" and _names_kinds(sheet, position)
        else heading
        for position, (heading, name) in enumerate(zip(headings, names, strict=True))
    ]


def _names_kinds(sheet: Sheet, position: int) -> bool:
    cells = [cell for cell in sheet.cells.iloc[:TRIED, position].astype(str) if cell.strip()]
    return sum(map(is_species_name, cells)) * 2 >= len(cells) > 0


def _as(heading: Heading, name: str, why: str) -> Heading:
    reason = f"'{heading.text}' is read as {name}: {why}."
    remark = Remark("read_beside_others", "note", reason, name, heading.text)
    return heading._replace(column=known_columns()[name], remark=remark)
