"""Any two trees side by side: the reader names them, a script fills the sheet."""

from dataclasses import dataclass

from mapper.render import words
from mapper.render.sheets import Page, Site, page_of
from mapper.summarise import Results


@dataclass(frozen=True)
class TwoTreesPage:
    """What two-trees.html shows; `first` are the trees that it opens with."""

    page: Page
    first: tuple[str, str]
    confidence: str


def two_trees_page(results: Results, site: Site) -> TwoTreesPage:
    """Begins with the stoutest and the tallest tree, or with the two stoutest where that is one."""
    sized = results.trees.astype({"girth_cm": float, "height_m": float})
    stoutest = sized.sort_values("girth_cm", ascending=False, kind="stable")["tree"].tolist()
    tallest = sized.sort_values("height_m", ascending=False, kind="stable")["tree"].tolist()
    other = next(tree for tree in (tallest[0], stoutest[1]) if tree != stoutest[0])
    scripts = ("assets/groveplat.js", "data/map.js")
    about = f"{site.title}."
    return TwoTreesPage(
        page=page_of(site, "two-trees.html", about, scripts=scripts),
        first=(str(stoutest[0]), str(other)),
        confidence=words.confidence(results.trees),
    )
