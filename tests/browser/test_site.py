"""Whole sites in a real browser: the demo, a hostile survey, a sheet without stands or places."""

import csv
from pathlib import Path

import pytest

from mapper.line import survey_results
from mapper.render import build_site
from mapper.survey import read_survey

HOSTILE = "<img src=x onerror=alert(1)><script>alert(2)</script>{{7*7}}`${1}`"


@pytest.mark.parametrize("width", [390, 1280])
def test_every_page_opens_clean_and_does_not_scroll_sideways(visit, demo_site: Path, width: int):
    names = sorted(path.name for path in demo_site.glob("*.html"))
    names += ["tree/g002.html", "tree/s19.html"]  # worked out of angles; with a photo
    assert {"index.html", "compare.html", "trees.html", "methods.html", "data.html"} <= set(names)
    for name in names:
        page = visit(name, width=width).page
        overflow = page.evaluate("document.documentElement.scrollWidth - window.innerWidth")
        assert overflow <= 0, f"{name} at {width} px"
        assert page.locator("h1").count() == 1, name
        assert "not a safety assessment" in page.inner_text("body"), name


def test_the_panel_shows_the_published_numbers(visit, demo_site: Path):
    with (demo_site / "data" / "trees.csv").open(encoding="utf-8", newline="") as file:
        trees = {row["tree"]: row for row in csv.DictReader(file)}
    opened = visit("index.html#tree=G002")
    opened.until("!document.getElementById('tree-panel').hidden")
    opened.until("document.querySelectorAll('#tree-panel .step-result').length >= 3")
    text = opened.text("#tree-panel")
    tree = trees["G002"]
    assert f"{float(tree['diameter_cm']):.1f}" in text
    assert f"{float(tree['height_m']):.1f}" in text
    assert "20 × (tan 42.5° − tan (−3.5°))" in text
    assert f"Place within {float(tree['position_accuracy_m']):.1f}\u00a0m" in text
    links = opened.page.locator("#tree-panel a.step-method")
    assert links.count() >= 3
    links.first.click()
    opened.until("location.pathname.endsWith('methods.html')")
    assert opened.page.evaluate("document.querySelector(location.hash) !== null")


def test_a_photo_stands_in_the_panel_with_words_and_its_larger_self(visit, demo_site: Path):
    opened = visit("index.html")
    assert opened.page.locator("img[src^='photos/']").count() == 0  # none before a tree is chosen
    opened = visit("index.html#tree=S19")
    shown = "document.querySelector('.panel-photo img')"
    opened.until(f"{shown}?.complete && {shown}.naturalWidth > 0")
    image = opened.page.locator(".panel-photo img")
    assert (
        image.get_attribute("alt") == "Horse chestnut S19, girth 334 cm, photographed 14 May 2026"
    )
    width, height = opened.page.evaluate(f"[{shown}.clientWidth, {shown}.clientHeight]")
    assert height / width == pytest.approx(1280 / 960, abs=0.02)  # the drawing lay on its side
    large = demo_site / str(opened.page.locator(".panel-photo a").get_attribute("href"))
    assert large.is_file()
    opened.page.locator("#tree-panel .panel-close").click()
    opened.page.evaluate("location.hash = 'tree=S36'")  # nobody agreed to its photo
    opened.until("document.querySelectorAll('#tree-panel .step-result').length >= 1")
    assert opened.page.locator(".panel-photo").count() == 0


@pytest.mark.parametrize("tree", ["g002", "s19"])
def test_a_tree_is_printed_on_one_sheet(visit, tree: str):
    """Of A4, and the title block with its caution is on it: with a drawing, and with a photo."""
    opened = visit(f"tree/{tree}.html")
    sheets = opened.page.pdf(format="A4").count(b"/Type /Page\n")
    assert sheets == 1


def test_who_drags_one_stand_drags_both(visit):
    opened = visit("compare.html")
    places = (
        "['map-left', 'map-right'].map(id => { const pane = document.querySelector("
        "`#${id} .leaflet-map-pane`)._leaflet_pos; return [pane.x, pane.y]; })"
    )
    opened.until("document.querySelectorAll('.leaflet-map-pane').length === 2")
    before = opened.page.evaluate(places)
    opened.page.locator("#map-left").scroll_into_view_if_needed()
    box = opened.page.locator("#map-left").bounding_box()
    opened.page.mouse.move(box["x"] + 100, box["y"] + 150)
    opened.page.mouse.down()
    opened.page.mouse.move(box["x"] + 130, box["y"] + 170, steps=4)
    opened.page.wait_for_timeout(200)  # at rest: no throw
    opened.page.mouse.up()
    after = opened.page.evaluate(places)
    moved = [
        [b - a for a, b in zip(*pair, strict=True)] for pair in zip(before, after, strict=True)
    ]
    assert moved == [[30, 20], [30, 20]]


def test_two_trees_stand_at_one_scale_with_what_can_be_said_of_both(visit, demo_site: Path):
    with (demo_site / "data" / "trees.csv").open(encoding="utf-8", newline="") as file:
        trees = {row["tree"]: row for row in csv.DictReader(file)}
    opened = visit("two-trees.html#G002&G014")
    opened.until("document.querySelector('[data-side=right] rect').getAttribute('height') > 0")
    left, right = (
        opened.page.evaluate(
            f"['width', 'height'].map(name => "
            f"Number(document.querySelector('[data-side={side}] rect').getAttribute(name)))"
        )
        for side in ("left", "right")
    )
    high = float(trees["G002"]["height_m"]) / float(trees["G014"]["height_m"])
    wide = float(trees["G002"]["diameter_cm"]) / float(trees["G014"]["diameter_cm"])
    assert left[1] / right[1] == pytest.approx(high, rel=1e-3)
    assert left[0] / right[0] == pytest.approx(wide, rel=1e-3)
    assert right[0] / right[1] == pytest.approx(
        float(trees["G014"]["diameter_cm"]) / 100 / float(trees["G014"]["height_m"]), rel=1e-3
    )
    assert "Tree G014 is taller than Tree G002 by" in opened.text("#comparison-sentences")
    opened.page.locator("#left-tree").fill("nobody")
    opened.page.locator("#left-tree").press("Tab")
    opened.until("location.hash === '#nobody&G014'")
    assert "There is no tree nobody" in opened.text("#comparison-sentences")


def test_an_open_tree_is_printed_alone(visit):
    opened = visit("index.html#tree=G002")
    opened.until("document.querySelectorAll('#tree-panel .step-result').length >= 3")
    opened.page.emulate_media(media="print")
    assert opened.page.locator("#tree-panel .step-formula").last.is_visible()
    assert opened.page.locator(".title-block").is_visible()
    assert not opened.page.locator("#map").is_visible()
    assert not opened.page.locator(".panel-close").is_visible()


def test_a_method_that_a_working_names_lies_open(visit):
    opened = visit("methods.html#height_from_angles")
    terms = opened.page.locator("#height_from_angles .terms").first
    assert terms.is_visible()
    assert not opened.page.locator("#height_from_mark .terms").first.is_visible()


def test_text_from_the_records_is_never_run(visit, tmp_path: Path):
    table = tmp_path / "trees.csv"
    with table.open("w", encoding="utf-8", newline="") as file:
        writer = csv.writer(file)
        writer.writerow(["tree", "stand", "species", "girth_cm", "lat", "lon"])
        writer.writerow([HOSTILE, HOSTILE, HOSTILE, "100", "45.1", "7.1"])
        writer.writerow(["2", HOSTILE + "2", "oak", "90", "45.1001", "7.1001"])
    build_site(survey_results(read_survey([table], title=HOSTILE)), tmp_path / "site")
    alerts: list[str] = []
    for name in sorted(path.name for path in (tmp_path / "site").glob("*.html")):
        opened = visit(name, site=tmp_path / "site")
        opened.page.on("dialog", lambda dialog: alerts.append(dialog.message))
        assert opened.page.locator("img[src='x']").count() == 0
        assert "onerror=alert(1)" in opened.page.inner_text("body"), name
    opened = visit("trees.html", site=tmp_path / "site")
    opened.page.locator("#tree-table tbody a").last.click()
    opened.until("document.querySelector('.page-tree') !== null")
    assert "onerror=alert(1)" in opened.text("h1")
    opened = visit("index.html", site=tmp_path / "site")
    opened.page.locator(".note-tree").first.click()
    opened.until("!document.getElementById('tree-panel').hidden")
    assert alerts == []


def test_a_sheet_without_stand_and_place_is_whole(visit, tmp_path: Path):
    table = tmp_path / "ten.csv"
    rows = "".join(f"{n},oak,{90 + n} cm,{10 + n} m\n" for n in range(1, 11))
    table.write_text("tree,species,girth,height\n" + rows, encoding="utf-8")
    build_site(survey_results(read_survey([table])), tmp_path / "site")
    names = {path.name for path in (tmp_path / "site").glob("*.html")}
    assert names == {"index.html", "two-trees.html", "trees.html", "methods.html", "data.html"}
    for width in (390, 1280):
        page = visit("index.html", width=width, site=tmp_path / "site").page
        assert page.locator(".map").count() == 0
        assert "per ha" not in page.inner_text("body")
        assert page.locator("figure:not(:has(*))").count() == 0
    opened = visit("trees.html", site=tmp_path / "site")
    assert opened.page.locator("#tree-table tbody tr").count() == 10
    opened.page.locator("#tree-table tbody a").first.click()
    opened.until("document.querySelectorAll('.step-result').length >= 1")
    assert "91 / π" in opened.text("main")


def test_places_without_stands_make_a_map_of_their_own(visit, tmp_path: Path):
    table = tmp_path / "ten.csv"
    rows = "".join(f"{n},oak,{90 + n},45.00{n:02d},7.00{n:02d}\n" for n in range(1, 11))
    table.write_text("tree,species,girth_cm,lat,lon\n" + rows, encoding="utf-8")
    build_site(survey_results(read_survey([table])), tmp_path / "site")
    opened = visit("index.html", site=tmp_path / "site")
    assert opened.page.locator(".map canvas").count() >= 1
    assert "per ha" not in opened.page.inner_text("body")
    assert opened.page.locator("a[href='compare.html']").count() == 0
