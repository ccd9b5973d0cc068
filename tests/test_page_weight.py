"""Pages are light: what a browser loads of each before anyone clicks.

A site grows with its trees, each of which has a page in two sets of units; a reader loads pages.
"""

import gzip
import re
from pathlib import Path

import pytest

from mapper.line import survey_results
from mapper.render import build_site
from mapper.survey import read_survey

DEMO = Path(__file__).parents[1] / "demo"
# The first sheet as it lies on a stick; the others as a host sends them, each file packed.
MOST_FIRST, MOST_PACKED, MOST_OF_A_TREE = 600_000, 200_000, 15_000
ASKED = re.compile(r'<(?:script defer src|link rel="stylesheet" href)="([^"]+)"')


@pytest.fixture(scope="module")
def site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    folder = tmp_path_factory.mktemp("weight") / "site"
    build_site(survey_results(read_survey([DEMO])), folder)
    return folder


def loaded(page: Path) -> list[bytes]:
    asked = ASKED.findall(page.read_text("utf-8"))
    assert any(one.endswith("groveplat.css") for one in asked)
    return [page.read_bytes(), *((page.parent / one).read_bytes() for one in asked)]


def test_the_first_sheet_of_the_demo_is_below_its_budget(site: Path) -> None:
    """Some 400 trees: page, styles, scripts and the map's data."""
    files = loaded(site / "index.html")
    assert len(files) > 5
    assert sum(map(len, files)) < MOST_FIRST


def test_every_sheet_of_the_demo_is_below_its_budget(site: Path) -> None:
    sheets = [*site.glob("*.html"), *site.glob("us/*.html")]
    assert len(sheets) > 15
    packed = {page.name: sum(len(gzip.compress(file)) for file in loaded(page)) for page in sheets}
    assert {name: size for name, size in packed.items() if size >= MOST_PACKED} == {}


def test_every_page_of_a_tree_is_small(site: Path) -> None:
    pages = [*site.glob("tree/*.html"), *site.glob("us/tree/*.html")]
    assert len(pages) > 600
    assert max(page.stat().st_size for page in pages) < MOST_OF_A_TREE
