"""The poster: the map large on A3, with key, scale and title block beside it."""

from dataclasses import dataclass, replace

from mapper.language import say
from mapper.render import words
from mapper.render.folium_map import Ground
from mapper.render.index_page import Key, key_of
from mapper.render.poster import MOST_TREES, Poster, draw_poster
from mapper.render.quantities import scales
from mapper.render.sheets import Page, Site, page_of
from mapper.summarise import Results

POSTER = "poster.html"


@dataclass(frozen=True)
class PosterPage:
    """What poster.html shows."""

    page: Page
    poster: Poster
    key: Key
    unnamed: str


def has_poster(results: Results, site: Site) -> bool:
    """Whether there is a map, of no more trees than paper can show."""
    return site.has_map and len(results.trees) <= MOST_TREES


def poster_page(results: Results, site: Site, ground: Ground) -> PosterPage:
    """Draw the poster and gather the words beside it."""
    about = say("{title}: the map as a poster, A3.").format(title=site.title)
    page = replace(page_of(site, "index.html", about), name=say("Poster"))
    colours = {str(entry["name"]): rank for rank, entry in enumerate(site.groups.species)}
    unit_m = 1 / scales(results.survey.units)["m"].factor
    poster = draw_poster(results.trees, ground, colours, unit_m)
    return PosterPage(page, poster, key_of(results.trees, site), _unnamed(poster.unnamed))


def _unnamed(count: int) -> str:
    if not count:
        return ""
    return words.counted(
        count,
        "{n} tree stands too close to its neighbours to be named here; Trees lists it.",
        "{n} trees stand too close to their neighbours to be named here; Trees lists them.",
    )
