"""The first sheet is light: what a browser loads before anyone clicks."""

import re
from pathlib import Path

from mapper.line import survey_results
from mapper.render import build_site
from mapper.survey import read_survey

DEMO = Path(__file__).parents[1] / "demo"
MOST_BYTES = 600_000  # uncompressed; a host that packs files sends about a quarter of it


def test_first_sheet_of_the_demo_is_below_its_budget(tmp_path: Path) -> None:
    """Some 400 trees: page, styles, scripts and the map's data."""
    results = survey_results(read_survey([DEMO]))
    assert len(results.trees) > 300
    build_site(results, tmp_path / "site")
    page = (tmp_path / "site" / "index.html").read_text("utf-8")
    asked = re.findall(r'<(?:script defer src|link rel="stylesheet" href)="([^"]+)"', page)
    assert {"data/map.js", "assets/groveplat.js"} <= set(asked)
    weight = len(page.encode()) + sum((tmp_path / "site" / one).stat().st_size for one in asked)
    assert weight < MOST_BYTES
