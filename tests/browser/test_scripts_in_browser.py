"""What the scripts do to a page, by mouse, by keyboard and by address."""

import pytest

MAP_IS_READY = "document.querySelectorAll('.tick-label').length > 0"
PANEL_IS_OPEN = "!document.querySelector('#tree-panel').hidden"
WORKING_IS_THERE = "document.querySelectorAll('#tree-panel .working li').length > 0"
FOCUS = "document.activeElement.id"


def painted(selector: str) -> str:
    """How many pixels of a map's canvas are painted."""
    return f"""(() => {{
        const {{ width, height }} = document.querySelector("{selector} canvas");
        const copy = Object.assign(document.createElement("canvas"), {{ width, height }});
        const pen = copy.getContext("2d", {{ willReadFrequently: true }});
        pen.drawImage(document.querySelector("{selector} canvas"), 0, 0);
        const {{ data }} = pen.getImageData(0, 0, width, height);
        return data.filter((value, index) => index % 4 === 3 && value > 200).length;
    }})()"""


@pytest.mark.parametrize("width", [390, 1280])
def test_map_draws_trees_frame_and_scale(visit, width):
    seen = visit("index.html", width=width)
    seen.until(MAP_IS_READY)

    assert seen.page.evaluate(painted("#map")) > 500
    assert "life size" in seen.text(".stem-scale")
    assert seen.text(".scale-bar-label >> nth=2").endswith("m")
    assert seen.text(".north-arrow") == "N"


def test_arrow_keys_reach_a_tree_enter_opens_it_escape_comes_back(visit):
    seen = visit("index.html")
    seen.until(MAP_IS_READY)
    seen.page.locator("#map").focus()
    seen.page.keyboard.press("ArrowRight")
    first = seen.text(".map-status")
    seen.page.keyboard.press("ArrowRight")
    second = seen.text(".map-status")
    assert first.startswith("Tree ")
    assert second.startswith("Tree ")
    assert second != first

    seen.page.keyboard.press("Enter")
    seen.until(PANEL_IS_OPEN)
    assert second.startswith(seen.text("#tree-panel-title"))
    assert seen.page.evaluate(FOCUS) == "tree-panel-title"
    seen.until(WORKING_IS_THERE)

    seen.page.keyboard.press("Escape")
    seen.until(f"!({PANEL_IS_OPEN})")
    assert seen.page.evaluate(FOCUS) == "map"


def test_click_on_a_tree_opens_its_panel_and_its_address(visit):
    seen = visit("index.html")
    seen.until(MAP_IS_READY)
    seen.page.locator("#map").focus()
    seen.page.keyboard.press("ArrowRight")
    name = seen.text(".map-status").split(",")[0]
    place = seen.page.evaluate(
        "(({left, top}) => [left, top])(document.querySelector('.tree-hint').style)"
    )
    left, top = (float(each.removesuffix("px")) for each in place)
    seen.page.locator("#map").click(position={"x": left, "y": top})
    seen.until(PANEL_IS_OPEN)

    assert seen.text("#tree-panel-title") == name
    address = seen.page.url
    assert address.endswith(f"index.html#tree={name.removeprefix('Tree ')}")

    again = visit(address.rsplit("/", 1)[1])
    again.until(PANEL_IS_OPEN)
    assert again.text("#tree-panel-title") == name


@pytest.mark.parametrize("address", ["#tree=no-such-tree", "#tree=%E0%A4%A", "#tree=", "#other"])
def test_an_address_of_no_tree_opens_nothing(visit, address):
    seen = visit(f"index.html{address}")
    seen.until(MAP_IS_READY)
    assert not seen.page.evaluate(PANEL_IS_OPEN)


def test_filter_fades_the_other_trees_and_counts(visit):
    seen = visit("index.html")
    seen.until(MAP_IS_READY)
    everything = seen.page.evaluate(painted("#map"))
    total = int(seen.text("#filter-count").split()[0])

    seen.page.select_option("#filters [name=species]", value="0")
    seen.until(f"{painted('#map')} < {everything}")
    shown, of = seen.text("#filter-count").split()[0:3:2]
    assert 0 < int(shown) < int(of) == total

    seen.page.locator("#filters [type=reset]").click()
    seen.until(f"{painted('#map')} === {everything}")
    assert seen.text("#filter-count") == f"{total} trees"


def test_legend_rows_are_buttons_that_keep_only_their_species(visit):
    seen = visit("index.html")
    seen.until(MAP_IS_READY)
    total = seen.text("#filter-count")
    row = seen.page.locator(".legend-toggle").first
    row.click()
    assert row.get_attribute("aria-pressed") == "true"
    assert " of " in seen.text("#filter-count")
    row.click()
    assert row.get_attribute("aria-pressed") == "false"
    assert seen.text("#filter-count") == total


def test_table_filters_and_sorts(visit):
    seen = visit("trees.html")
    shown = "[...document.querySelectorAll('#tree-table tbody tr')].filter((row) => !row.hidden)"
    rows = seen.page.evaluate(f"{shown}.length")
    seen.page.fill("#filters [name=search]", "red pine")
    found = seen.page.evaluate(f"{shown}.length")
    assert 0 < found < rows

    heads = seen.page.locator("#tree-table th")
    column = heads.all_text_contents().index("Diameter, cm")
    cells = f"{shown}.map((row) => parseFloat(row.cells[{column}].textContent))"
    heads.nth(column).locator("button").click()
    values = [value for value in seen.page.evaluate(cells) if value is not None]
    assert heads.nth(column).get_attribute("aria-sort") == "ascending"
    assert len(values) > 10
    assert values == sorted(values)


def test_comparison_follows_the_choice_at_one_scale(visit):
    seen = visit("compare.html")
    seen.until(MAP_IS_READY)
    bars = "[...document.querySelectorAll('.scale-bar svg')]"
    words = f"{bars}.map((bar) => bar.textContent)"
    widths = f"{bars}.map((bar) => Number(bar.getAttribute('width')))"
    options = seen.page.locator("#left-stand option").all_text_contents()
    chosen = options[-1]
    seen.page.select_option("#left-stand", label=chosen)

    assert seen.text("[data-stand-name=left]") == chosen
    left, right = seen.page.evaluate(words)
    assert left == right
    left_width, right_width = seen.page.evaluate(widths)
    assert left_width == pytest.approx(right_width, rel=1e-3)


def test_on_a_phone_the_open_tree_stays_in_sight(visit):
    seen = visit("index.html", width=390, height=844)
    seen.until(MAP_IS_READY)
    seen.page.locator("#map").focus()
    seen.page.keyboard.press("ArrowRight")
    seen.page.keyboard.press("Enter")
    seen.until(WORKING_IS_THERE)
    seen.until("document.querySelector('#tree-panel').getAnimations().length === 0")
    map_top, panel_top = (
        seen.page.locator(name).bounding_box()["y"] for name in ("#map", "#tree-panel")
    )
    assert map_top >= 0
    assert panel_top - map_top > 150
