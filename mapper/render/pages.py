"""Page dataclasses through templates into files."""

from collections.abc import Iterator
from dataclasses import replace
from pathlib import Path

from jinja2 import Environment, FileSystemLoader, StrictUndefined

from mapper.language import figure, say, say_count
from mapper.render.compare_page import compare_page
from mapper.render.data_page import data_page
from mapper.render.downloads import Download
from mapper.render.folium_map import Ground, MapSpec, bounds_of, map_script
from mapper.render.index_page import index_page, tree_notes
from mapper.render.map_data import write_map_data
from mapper.render.methods import methods_page
from mapper.render.photos import Picture, retold
from mapper.render.poster_page import POSTER, has_poster, poster_page
from mapper.render.quantities import scales
from mapper.render.rows import rows_of, text
from mapper.render.sheets import Site, has_places, site_of
from mapper.render.site_files import shipped, write_text
from mapper.render.stand_page import map_file, stand_page
from mapper.render.tree_page import TreePages
from mapper.render.trees_page import trees_pages
from mapper.render.two_trees_page import two_trees_page
from mapper.render.units_switch import pictures_from_below, to_shared, units_switch
from mapper.summarise import Results


def template_environment() -> Environment:
    """Templates where every text is escaped and every missing name is an error."""
    environment = Environment(
        loader=FileSystemLoader(shipped("site_template") / "pages"),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        keep_trailing_newline=True,
        extensions=["jinja2.ext.i18n"],
    )
    environment.policies["ext.i18n.trimmed"] = True
    environment.install_gettext_callables(say, say_count, newstyle=True)  # type: ignore[attr-defined]
    environment.filters["figure"] = figure
    return environment


def write_pages(
    results: Results,
    site: Site,
    downloads: tuple[Download, ...],
    pictures: dict[str, tuple[Picture, ...]],
    folder: Path,
    second: bool = False,
) -> None:
    """Write every sheet of the set, or of the second one in the other units."""
    templates = template_environment()
    switched = second or results.other_units is not None

    def write(file: str, template: str, content: object) -> None:
        switch = units_switch(results.survey.units, file, second) if switched else None
        page = templates.get_template(template).render(sheet=content, switch=switch)
        write_text(folder / file, to_shared(page) if second else page)

    write("index.html", "index.html", index_page(results, site))
    for row in rows_of(results.stands):
        write(site.stand_files[text(row, "stand")], "stand.html", stand_page(results, site, row))
    if len(results.stands) > 1:
        write("compare.html", "compare.html", compare_page(results, site))
    if len(results.trees) > 1:
        write("two-trees.html", "two-trees.html", two_trees_page(results, site))
    for part in trees_pages(results, site):
        write(part.file, "trees.html", part)
    for file, tree in TreePages(results, site, pictures).pages():
        write(file, "tree.html", tree)
    if has_poster(results, site):
        write(POSTER, POSTER, poster_page(results, site, ground_of(results)))
    write("methods.html", "methods.html", methods_page(site))
    write("data.html", "data.html", data_page(results, site, downloads))


def write_second_set(
    results: Results,
    downloads: tuple[Download, ...],
    pictures: dict[str, tuple[Picture, ...]],
    folder: Path,
) -> None:
    """The sheets again in the other units, with what the panel says; all else is shared."""
    site, below = site_of(results), folder / results.survey.units
    told = retold(results, pictures)
    named = pictures_from_below(told)
    write_map_data(results, site, below / "data", named)
    write_pages(results, site, downloads, told, below, second=True)


def write_maps(results: Results, site: Site, folder: Path) -> None:
    """Write the map script of every sheet that has a map."""
    if not site.has_map:
        return
    ground = ground_of(results)
    for file, maps in _maps(results, site, ground):
        write_text(folder / map_file(file), map_script(maps, ground))


def ground_of(results: Results) -> Ground:
    """The outlines that may be shown, and what else lies under the trees."""
    shown = results.survey.publish.boundaries
    boundaries = results.boundaries if shown else results.boundaries.iloc[:0]
    return Ground(boundaries, results.backdrop)


def _maps(results: Results, site: Site, ground: Ground) -> Iterator[tuple[str, list[MapSpec]]]:
    whole = _spec(results, site, ground, "")
    if whole is None:
        return
    yield "index.html", [whole]
    stands = {stand: _spec(results, site, ground, stand) for stand in site.stand_files}
    for stand, spec in stands.items():
        if spec:
            yield site.stand_files[stand], [spec]
    if len(stands) > 1:
        left, right, *_ = stands
        # A stand without any place still has its empty map: the reader may choose another stand.
        sides = (("map-left", left), ("map-right", right))
        yield (
            "compare.html",
            [
                replace(stands[stand] or whole, element_id=side, stand=stand, marks=())
                for side, stand in sides
            ],
        )


def _spec(results: Results, site: Site, ground: Ground, stand: str) -> MapSpec | None:
    """None where nothing of this stand has a place."""
    trees, boundaries = results.trees, ground.boundaries
    if stand:
        trees = site.trees_in(stand, trees)
        boundaries = boundaries[boundaries["stand"] == stand]
    bounds = bounds_of(trees, boundaries)
    if bounds is None or not has_places(trees):
        return None
    notes = tree_notes(trees, scales(results.survey.units))
    marks = tuple((note.tree, note.letter) for note in notes if note.placed)
    return MapSpec("map", stand, bounds, marks)
