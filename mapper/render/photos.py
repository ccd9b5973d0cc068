"""Photos as the site shows them: drawn anew in two widths, with words for who cannot see them."""

import math
from collections import Counter
from dataclasses import dataclass, replace
from pathlib import Path

from mapper.language import say
from mapper.load.photo_files import PhotoFile, redrawn
from mapper.render import words
from mapper.render.quantities import Scale, scales
from mapper.render.rows import Row, number, rows_of, text
from mapper.summarise import Results
from mapper.summarise.results import PublicPhoto

WIDTHS = (1200, 480)
QUALITY = 82  # common practice, no source: no blocks to be seen in bark and leaves


@dataclass(frozen=True)
class Picture:
    """One photo in the site."""

    sizes: tuple[tuple[str, int, int], ...]  # file, width, height; the widest first
    alt: str
    caption: str


def write_photos(results: Results, folder: Path) -> dict[str, tuple[Picture, ...]]:
    """Write every photo that may be shown into a folder `photos`; returns them tree by tree.

    Raises
    ------
    InputError
        When a photo that was whole a moment ago cannot be read.
    """
    shown = scales(results.survey.units)
    trees = {text(row, "tree"): row for row in _rows_of(results)}
    many = Counter(photo.tree for photo in results.photos)
    found: dict[str, tuple[Picture, ...]] = {}
    for count, photo in enumerate(results.photos, start=1):
        before = found.get(photo.tree, ())
        order = _order(len(before) + 1, many[photo.tree])
        alt = _alt(trees[photo.tree], photo, order, shown)
        picture = Picture(_write(photo.file, folder, count), alt, _caption(photo))
        found[photo.tree] = (*before, picture)
    return found


def retold(
    results: Results, pictures: dict[str, tuple[Picture, ...]]
) -> dict[str, tuple[Picture, ...]]:
    """The same pictures with their words in the units of these results."""
    shown = scales(results.survey.units)
    trees = {text(row, "tree"): row for row in _rows_of(results)}
    of_tree: dict[str, list[PublicPhoto]] = {}
    for photo in results.photos:
        of_tree.setdefault(photo.tree, []).append(photo)
    return {
        tree: tuple(
            replace(picture, alt=_alt(trees[tree], photo, _order(n, len(pictures[tree])), shown))
            for n, (picture, photo) in enumerate(zip(pictures[tree], photos, strict=True), 1)
        )
        for tree, photos in of_tree.items()
    }


def _order(number: int, many: int) -> str:
    if many < 2:
        return ""
    return say("photo {number} of {many}").format(number=number, many=many)


def _rows_of(results: Results) -> list[Row]:
    named = {photo.tree for photo in results.photos}
    return list(rows_of(results.trees[results.trees["tree"].isin(named)]))


def _write(file: PhotoFile, folder: Path, count: int) -> tuple[tuple[str, int, int], ...]:
    (folder / "photos").mkdir(exist_ok=True)
    sizes = []
    for picture in redrawn(file, WIDTHS):
        name = f"photos/{count}-{picture.width}.jpg"
        picture.save(folder / name, "JPEG", quality=QUALITY, optimize=True, progressive=True)
        sizes.append((name, picture.width, picture.height))
    return tuple(sizes)


def _alt(tree: Row, photo: PublicPhoto, order: str, shown: dict[str, Scale]) -> str:
    """`Sessile oak 14, girth 212 cm, photographed 3 May 2026`."""
    girth = number(tree, "girth_cm") * shown["cm"].factor
    kind = words.kind(text(tree, "species"), text(tree, "common_name"))
    parts = [
        f"{kind[:1].upper()}{kind[1:]} {photo.tree}",
        say("girth {girth:.0f} {unit}").format(girth=girth, unit=shown["cm"].unit)
        if math.isfinite(girth)
        else "",
        say("photographed {day}").format(day=words.day(photo.day)) if photo.day else "",
        order,
    ]
    return ", ".join(filter(None, parts))


def _caption(photo: PublicPhoto) -> str:
    day = say("Photographed {day}.").format(day=words.day(photo.day)) if photo.day else ""
    credit = say("Photo: {name}").format(name=photo.credit) if photo.credit else ""
    return " ".join(filter(None, [day, credit]))
