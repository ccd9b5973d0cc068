"""The whole first sheet and the table by keyboard alone; what eyes, fingers and heads need."""

import csv
from pathlib import Path

import pytest

MAP_IS_READY = "document.querySelectorAll('.tick-label').length > 0"
PANEL_IS_OPEN = "!document.querySelector('#tree-panel').hidden"
# Who has the focus, whether it is in sight, and whether that can be seen (WCAG 2.4.7, 2.4.11).
FOCUSED = """(() => {
    const at = document.activeElement;
    const style = getComputedStyle(at);
    const box = at.getBoundingClientRect();
    return {
        name: at.id || at.getAttribute("class") || at.tagName, tag: at.tagName,
        part: at.closest("#filters, nav, .neatline, .key, .notes, #tree-panel, .title-block")
            ?.className ?? "",
        ringed: style.outlineStyle !== "none" && parseFloat(style.outlineWidth) >= 2,
        seen: box.width > 0 && box.bottom > 0 && box.top < innerHeight,
    };
})()"""


def tab_through(seen, most: int = 120) -> list[dict]:
    """Every stop of the tab key from the top of the page to its end."""
    stops = []
    for _ in range(most):
        seen.page.keyboard.press("Tab")
        stop = seen.page.evaluate(FOCUSED)
        if stop["tag"] == "BODY":
            return stops
        stops.append(stop)
    return stops


def test_tab_reaches_everything_in_order_and_shows_where_it_is(visit):
    seen = visit("index.html")
    seen.until(MAP_IS_READY)
    stops = tab_through(seen)
    assert [stop["name"] for stop in stops if not stop["ringed"]] == []
    assert [stop["name"] for stop in stops if not stop["seen"]] == []
    assert stops[0]["name"] == "skip"
    parts = list(dict.fromkeys(stop["part"] for stop in stops))
    wanted = ["sheet-tabs", "filters", "neatline", "notes", "key", "title-block"]
    assert [part for part in parts if part in wanted] == wanted
    assert "map" in " ".join(stop["name"] for stop in stops)


def test_the_skip_link_leads_past_the_tabs(visit):
    seen = visit("index.html")
    seen.until(MAP_IS_READY)
    seen.page.keyboard.press("Tab")
    seen.page.keyboard.press("Enter")
    seen.page.keyboard.press("Tab")
    assert seen.page.evaluate("document.activeElement.closest('main') !== null")


def test_the_open_panel_is_read_by_keyboard_and_left_with_escape(visit):
    seen = visit("index.html")
    seen.until(MAP_IS_READY)
    seen.page.locator("#map").focus()
    for key in ("ArrowRight", "ArrowDown", "Enter"):
        seen.page.keyboard.press(key)
    seen.until(PANEL_IS_OPEN)
    seen.until("document.querySelectorAll('#tree-panel .working li').length > 0")
    seen.page.keyboard.press("Tab")
    stop = seen.page.evaluate(FOCUSED)
    assert "tree-panel" in stop["part"] and stop["ringed"] and stop["seen"]
    seen.page.keyboard.press("Escape")
    assert not seen.page.evaluate(PANEL_IS_OPEN)
    assert seen.page.evaluate("document.activeElement.id") == "map"


@pytest.mark.parametrize("name", ["index.html", "trees.html"])
def test_the_filter_works_by_keyboard(visit, name):
    seen = visit(name)
    seen.page.locator("#filter-search").focus()
    seen.page.keyboard.type("red pine")
    seen.until("document.querySelector('#filter-count').textContent.includes(' of ')")


def test_the_table_sorts_by_keyboard(visit):
    seen = visit("trees.html")
    head = seen.page.locator("#tree-table th[data-sort]").first
    head.locator("button").focus()
    seen.page.keyboard.press("Enter")
    assert head.get_attribute("aria-sort") == "ascending"
    seen.page.keyboard.press("Space")
    assert head.get_attribute("aria-sort") == "descending"


def test_the_table_holds_the_trees_of_the_map_and_filters_alike(visit, demo_site: Path):
    """Who cannot see the canvas reads the table: it must be the same survey."""
    with (demo_site / "data" / "trees.csv").open(encoding="utf-8", newline="") as file:
        published = sorted(row["tree"] for row in csv.DictReader(file))
    sheet, table = visit("index.html"), visit("trees.html")
    sheet.until(MAP_IS_READY)
    rows = "[...document.querySelectorAll('#tree-table tbody tr')]"
    names = table.page.evaluate(f"{rows}.map((row) => row.cells[0].textContent.trim())")
    assert sorted(names) == published
    for search in ("oak", "old grove", "G002", "palm"):
        counts = []
        for seen in (sheet, table):
            seen.page.fill("#filters [name=search]", search)
            counts.append(seen.text("#filter-count"))
        assert counts[0] == counts[1], search
        left = table.page.evaluate(f"{rows}.filter((row) => !row.hidden).length")
        assert counts[1].startswith(str(left) if left else "No tree"), search
    for field in ("species", "stand", "size"):
        counts = []
        for seen in (sheet, table):
            seen.page.locator("#filters [type=reset]").click()
            seen.page.select_option(f"#filters [name={field}]", index=2)
            seen.until("document.querySelector('#filter-count').textContent.includes(' of ')")
            counts.append(seen.text("#filter-count"))
        assert counts[0] == counts[1], field


def test_nothing_moves_for_who_asks_for_calm(visit):
    seen = visit("data.html")
    seen.page.emulate_media(reduced_motion="reduce")
    seen.go("index.html#tree=G002")
    seen.until(PANEL_IS_OPEN)
    moving = "document.getAnimations().map((each) => each.effect.getTiming().duration)"
    assert all(duration <= 1 for duration in seen.page.evaluate(moving))
    assert seen.page.evaluate("matchMedia('(prefers-reduced-motion: reduce)').matches")
    for selector in ("#tree-panel", ".leaflet-zoom-animated"):
        style = f"getComputedStyle(document.querySelector('{selector}'))"
        lasts = seen.page.evaluate(f"[{style}.animationDuration, {style}.transitionDuration]")
        assert all(float(each.rstrip("ms")) <= 0.01 for each in ", ".join(lasts).split(", "))


@pytest.mark.parametrize("width", [640, 320])  # 200 % and 400 % of a window of 1280 (WCAG 1.4.10)
def test_zoomed_in_pages_do_not_scroll_sideways(visit, demo_site: Path, width):
    seen = visit("data.html", width=width, height=450)
    for name in sorted(path.name for path in demo_site.glob("*.html")):
        seen.go(name)
        over = seen.page.evaluate("document.documentElement.scrollWidth - innerWidth")
        assert over <= 0, name


@pytest.mark.parametrize(("width", "least_px"), [(390, 44), (1280, 24)])
def test_controls_are_large_enough_for_fingers(visit, width, least_px):
    """WCAG 2.5.8 asks for 24 px; 44 px is its stricter rule 2.5.5, kept on phones."""
    seen = visit("index.html", width=width)
    seen.until(MAP_IS_READY)
    small = seen.page.evaluate(
        """(least) => [...document.querySelectorAll(
            "button, select, input, summary, .turn a, .leaflet-control a, .block-turn a")]
        .map((each) => [each, each.getBoundingClientRect()])
        .filter(([each, box]) => box.width > 0 && Math.min(box.width, box.height) < least - 0.5)
        .map(([each, box]) => `${each.tagName}.${each.className} ${box.width} x ${box.height}`)""",
        least_px,
    )
    assert small == []
