"""The second set of sheets: the same survey in the other units, everything else shared."""

import re
import sys
from collections.abc import Callable
from pathlib import Path

import pytest

from mapper.render import build_site
from mapper.render.units_switch import to_shared, units_switch
from mapper.summarise import Results
from tests.test_render import HEADING, OAKS, PINES, broken_links, tags_of

TREES = {"records/trees.csv": HEADING + OAKS + PINES}
US = {"survey.toml": 'units = "us"\n[records]\n'}
CM_PER_INCH, M_PER_FOOT = 2.54, 0.3048  # exact since 1959: NIST SP 811, appendix B


@pytest.fixture
def site(results_of: Callable[..., Results], tmp_path: Path) -> Path:
    build_site(results_of(TREES), tmp_path / "site")
    return tmp_path / "site"


def cells(page: Path, column: int) -> list[float]:
    """The numbers of a column of trees.html, without what stands behind ±."""
    rows = re.findall(r"<tr data-tree=.*?</tr>", page.read_text("utf-8"))
    found = [re.findall(r"<t[dh].*?</t[dh]>", row)[column] for row in rows]
    return [float(re.search(r">([\d.]+)", cell)[1]) for cell in found]  # type: ignore[index]


def test_every_sheet_stands_in_both_units_and_every_link_resolves(site: Path) -> None:
    first = {page.name for page in site.glob("*.html")}
    assert first == {page.name for page in (site / "us").glob("*.html")}
    assert len(first) == 9
    assert broken_links(site) == []


def test_the_numbers_are_the_same_in_other_units(site: Path) -> None:
    girth, height = 2, 4
    for column, factor, step in ((girth, 1 / CM_PER_INCH, 0.1), (height, 1 / M_PER_FOOT, 1)):
        metric, us = (cells(site / name, column) for name in ("trees.html", "us/trees.html"))
        assert len(metric) == 14
        assert us == [pytest.approx(number * factor, abs=0.51 * step) for number in metric]


def test_the_panel_of_each_set_has_its_units(site: Path) -> None:
    for folder, units in (("", "metric"), ("us/", "us")):
        script = (site / f"{folder}data/map.js").read_text("utf-8")
        assert f'"units":"{units}"' in script
    metric, us = (
        (site / f"{folder}data/workings-0.js").read_text("utf-8") for folder in ("", "us/")
    )
    assert "67 cm" in metric
    assert "67 cm (26.4 in)" in us
    assert " in)" not in metric


def test_classes_are_whole_in_the_units_of_their_set(site: Path) -> None:
    chart = (site / "us" / "stand-old-grove.html").read_text("utf-8")
    rows = re.findall(r'<th scope="row">(\d+) to (\d+)</th>', chart)
    assert ("40", "50") in rows  # heights in classes of 10 ft
    assert all(int(high) - int(low) in (2, 10) for low, high in rows)


def test_the_switch_leads_to_the_same_sheet_and_back(site: Path) -> None:
    for page in site.glob("*.html"):
        if page.name == "poster.html":  # made for paper: nothing on it can be switched
            continue
        for file, href, kind in (
            (page, f"us/{page.name}", "alternate"),
            (site / "us" / page.name, f"../{page.name}", "canonical"),
        ):
            tags = tags_of(file).tags
            assert [found["href"] for tag, found in tags if "data-keep-place" in found] == [href]
            assert [found["href"] for tag, found in tags if found.get("rel") == kind] == [href]


def test_a_survey_in_us_units_has_its_second_set_in_metric(
    results_of: Callable[..., Results], tmp_path: Path
) -> None:
    build_site(results_of(TREES | US), tmp_path / "site")
    assert not (tmp_path / "site" / "us").exists()
    assert "Girth, cm" in (tmp_path / "site" / "metric" / "trees.html").read_text("utf-8")
    assert "Girth, in" in (tmp_path / "site" / "trees.html").read_text("utf-8")
    assert broken_links(tmp_path / "site") == []


def test_what_is_shared_is_there_once(site: Path) -> None:
    below = {path.relative_to(site / "us").parts[0] for path in (site / "us").rglob("*.*")}
    assert {name for name in below if not name.endswith(".html")} == {"data", "tree"}
    assert {path.suffix for path in (site / "us" / "data").iterdir()} == {".js"}


def test_a_very_large_survey_has_one_set(
    results_of: Callable[..., Results], tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sys.modules["mapper.summarise.publish"], "MOST_TWICE", 13)
    results = results_of(TREES)
    assert results.other_units is None
    build_site(results, tmp_path / "site")
    assert not (tmp_path / "site" / "us").exists()
    assert "units-switch" not in (tmp_path / "site" / "index.html").read_text("utf-8")


def test_shared_links_lead_one_folder_further_up() -> None:
    page = '<a href="../photos/1.jpg">href="maps/</a><script src="data/map.js">'
    assert to_shared(page) == page.replace("../photos", "../../photos").replace(
        'href="maps/', 'href="../maps/'
    )
    assert 'src="../assets/a.js"' in to_shared('<script src="assets/a.js">')


def test_the_switch_of_a_page_in_a_folder() -> None:
    assert units_switch("metric", "tree/1.html", second=False).href == "../us/tree/1.html"
    assert units_switch("us", "tree/1.html", second=True).href == "../../tree/1.html"


def test_words_tell_the_photo_in_the_units_of_the_set(
    results_of: Callable[..., Results], put_photo: Callable[..., Path], tmp_path: Path
) -> None:
    table = (
        "tree,lat,lon,girth_cm,date,photo,photo_consent\n7,45.3,-71.4,254,2026-05-03,a.jpg,yes\n"
    )
    put_photo(tmp_path / "survey" / "photos" / "a.jpg")
    build_site(results_of({"records/trees.csv": table}), tmp_path / "site")
    for folder, alt in (("", "girth 254 cm"), ("us/", "girth 100 in")):
        script = (tmp_path / "site" / f"{folder}data/workings-0.js").read_text("utf-8")
        assert alt in script
        assert f'"{"../" if folder else ""}photos/1-' in script
