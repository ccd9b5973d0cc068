"""Bars of a chart choose trees on the map, and a filter of the map shades the bars."""

import re

import pytest

INK = """[...document.querySelectorAll('svg[data-fact="FACT"] .bin .bar')]
  .map((bar) => Number(bar.getAttribute("height")))"""


def ink(visit, fact: str) -> list[float]:
    return visit.page.evaluate(INK.replace("FACT", fact))


def count(visit) -> list[int]:
    return [int(number) for number in re.findall(r"\d+", visit.text("#filter-count"))]


def bars(visit, fact: str):
    return visit.page.locator(f'svg[data-fact="{fact}"] .bin:has(.bar)')


@pytest.mark.parametrize("page", ["index.html", "us/index.html", "stand-pine-rows.html"])
def test_a_bar_leaves_its_own_trees(visit, page: str):
    sheet = visit(page)
    sheet.until("document.querySelectorAll('.bin[role=button]').length > 5")
    bar = bars(sheet, "diameter_cm").nth(2)
    named = int(re.search(r"(\d+)$", bar.get_attribute("aria-label"))[1])
    bar.focus()
    sheet.page.keyboard.press("Enter")
    shown, total = count(sheet)
    # Dead trees are on the map, in no bar.
    assert named <= shown <= named + 6
    assert shown < total
    assert bar.get_attribute("aria-pressed") == "true"
    assert [tall > 0 for tall in ink(sheet, "diameter_cm")].count(True) == 1
    sheet.page.keyboard.press("Enter")
    assert count(sheet) == [total]


def test_drawing_across_bars_chooses_them_and_clear_takes_it_back(visit):
    sheet = visit("index.html")
    sheet.until("document.querySelectorAll('.bin[role=button]').length > 5")
    full = ink(sheet, "height_m")
    first, last = (bars(sheet, "height_m").nth(n) for n in (1, 3))
    first.scroll_into_view_if_needed()
    (one, other) = (each.bounding_box() for each in (first, last))
    sheet.page.mouse.move(one["x"] + one["width"] / 2, one["y"] + one["height"] - 3)
    sheet.page.mouse.down()
    sheet.page.mouse.move(other["x"] + other["width"] / 2, one["y"] + one["height"] - 3, steps=8)
    sheet.page.mouse.up()
    pressed = sheet.page.locator('svg[data-fact="height_m"] .bin[aria-pressed="true"]')
    assert pressed.count() == 3
    assert len(count(sheet)) == 2
    assert sum(tall > 0 for tall in ink(sheet, "height_m")) == 3
    assert sheet.page.locator("#filters button[type=reset]").is_visible()
    sheet.page.click("#filters button[type=reset]")
    sheet.until("document.querySelector('#filter-count').textContent === '396 trees'")
    assert ink(sheet, "height_m") == pytest.approx(full, abs=0.11)


def test_arrows_go_from_bar_to_bar_and_shift_takes_more(visit):
    sheet = visit("stand-old-grove.html")
    sheet.until("document.querySelectorAll('.bin[role=button]').length > 5")
    bars(sheet, "diameter_cm").first.focus()
    for key in ("Enter", "Shift+ArrowRight", "Shift+ArrowRight"):
        sheet.page.keyboard.press(key)
    assert sheet.page.locator('.bin[aria-pressed="true"]').count() == 3


def test_a_filter_of_the_map_shades_the_bars(visit):
    sheet = visit("index.html")
    sheet.until("document.querySelectorAll('.bin[role=button]').length > 5")
    full = ink(sheet, "diameter_cm")
    sheet.page.select_option("#filter-stand", label="Pine Rows")
    some = ink(sheet, "diameter_cm")
    assert all(0 <= part <= whole + 0.1 for part, whole in zip(some, full, strict=True))
    assert 0 < sum(some) < sum(full)
