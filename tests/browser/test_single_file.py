"""One html file alone in an empty folder: sheets, map, panel, photos, small files."""

import re
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
PANEL_IS_OPEN = "!document.querySelector('#tree-panel').hidden"
MAP_IS_READY = "document.querySelectorAll('.tick-label').length > 0"


@pytest.fixture(scope="module")
def alone(demo_site: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """An empty folder with nothing but the file."""
    out = tmp_path_factory.mktemp("alone") / "trees of our park.html"
    command = [sys.executable, "-m", "mapper", "build", str(demo_site.parent), "--single-file"]
    done = subprocess.run([*command, "--out", str(out)], cwd=ROOT, capture_output=True, text=True)
    assert done.returncode == 0, done.stderr
    assert [path.name for path in out.parent.iterdir()] == [out.name]
    assert str(out) in done.stdout
    assert "Not in this one file" in done.stdout
    return out


@pytest.fixture
def one(visit, alone: Path):
    """Open the file, at an address in it."""
    return lambda address="": visit(f"trees%20of%20our%20park.html{address}", site=alone.parent)


def test_it_opens_on_the_map_and_a_tree_opens_its_panel(one):
    seen = one()
    seen.until(MAP_IS_READY)
    seen.page.locator("#map").focus()
    seen.page.keyboard.press("ArrowRight")
    seen.page.keyboard.press("Enter")
    seen.until(PANEL_IS_OPEN)
    seen.until("document.querySelectorAll('#tree-panel .working li').length > 0")


def test_a_photo_travels_inside(one):
    seen = one("#tree=S19")
    shown = "document.querySelector('.panel-photo img')"
    seen.until(f"{shown}?.complete && {shown}.naturalWidth > 100")
    seen.page.locator(".panel-photo a").first.click()
    seen.until(PANEL_IS_OPEN)


def test_every_sheet_is_reached_from_the_first(one, demo_site: Path):
    seen = one()
    names = sorted(path.name for path in demo_site.glob("*.html"))
    linked = seen.page.evaluate(
        "[...document.querySelectorAll('a[href^=\"?\"]')]"
        ".map((a) => a.getAttribute('href').slice(1))"
    )
    assert {name.split("#")[0] for name in linked} == set(names)
    for name in names:
        seen.page.locator(f'a[href="?{name}"]').first.evaluate("(a) => a.click()")
        seen.page.wait_for_url(lambda url, name=name: url.endswith(f"?{name}"))
        seen.until("document.querySelectorAll('main h1').length === 1")
        seen.until(f"document.querySelectorAll('.map').length === 0 || {MAP_IS_READY}")
        dead = seen.page.evaluate(
            "[...document.querySelectorAll('[href], [src]')]"
            ".map((each) => each.getAttribute('href') ?? each.getAttribute('src'))"
            ".filter((link) => !/^([?#]|data:|https?:|mailto:)/.test(link))"
        )
        assert dead == [], name
        seen.go("trees%20of%20our%20park.html")


def test_a_link_to_a_tree_on_another_sheet_opens_it(one, demo_site: Path):
    seen = one("?stand-old-grove.html")
    seen.until(MAP_IS_READY)
    link = seen.page.locator("a.note-tree").first
    link.click()
    seen.page.wait_for_url(lambda url: "?index.html#tree=" in url)
    seen.until(PANEL_IS_OPEN)


def test_its_policy_allows_its_own_scripts_by_their_digest_alone(alone: Path):
    text = alone.read_text("utf-8")
    policy = re.findall(r'Content-Security-Policy" content="([^"]+)"', text)
    assert len(policy) == 1
    assert "unsafe" not in policy[0] and "self" not in policy[0] and "http" not in policy[0]
    assert len(re.findall("'sha256-", policy[0])) == text.count("<script>") + 1
    body = text[text.index("<body>") :]
    bare = re.sub(r"<script>.*?</script>", "", body, flags=re.DOTALL)
    assert not re.search(r"<[a-z][^>]*\s(on[a-z]+|style)=", bare)


def test_small_downloads_are_in_it_and_a_second_build_is_the_same(
    alone: Path, demo_site: Path, tmp_path: Path
):
    text = alone.read_text("utf-8")
    assert 'download="stands.csv"' in text
    again = tmp_path / "again.html"
    command = [sys.executable, "-m", "mapper", "build", str(demo_site.parent), "--single-file"]
    subprocess.run([*command, "--out", str(again)], cwd=ROOT, check=True, capture_output=True)
    assert again.read_bytes() == alone.read_bytes()


def test_a_file_of_somebody_else_is_left_alone(demo_site: Path, tmp_path: Path):
    mine = tmp_path / "mine.html"
    mine.write_text("<p>mine</p>")
    command = [sys.executable, "-m", "mapper", "build", str(demo_site.parent), "--single-file"]
    done = subprocess.run(
        [*command, "--out", str(mine)], cwd=ROOT, capture_output=True, encoding="utf-8"
    )
    assert done.returncode == 2
    assert "mine.html" in done.stderr
    assert mine.read_text() == "<p>mine</p>"
