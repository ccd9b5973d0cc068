"""A real Chromium without a network, and the demo site to open in it."""

import os
import re
import shutil
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from dataclasses import dataclass, field
from pathlib import Path

import pytest
from playwright.sync_api import Browser, Page, Playwright, Route, sync_playwright

ROOT = Path(__file__).parents[2]
FLAGS = [
    "--no-sandbox",
    "--disable-gpu",
    "--disable-quic",
    "--no-first-run",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
]
NOT_A_FILE = re.compile(r"^(?!file:|data:|blob:|about:)")


@dataclass
class Visit:
    """One page in the browser, with what went wrong on it."""

    page: Page
    site: Path
    errors: list[str] = field(default_factory=list)
    outside: list[str] = field(default_factory=list)  # requests to other machines, all cut

    def go(self, name: str) -> None:
        self.page.goto(f"{self.site.as_uri()}/{name}")

    def until(self, condition: str, seconds: float = 5) -> None:
        """Wait for a JavaScript condition. (The pages forbid what wait_for_function does.)"""
        end = time.monotonic() + seconds
        while not self.page.evaluate(condition):
            assert time.monotonic() < end, f"never came true: {condition}"
            time.sleep(0.02)

    def text(self, selector: str) -> str:
        return (self.page.locator(selector).first.text_content() or "").strip()


@pytest.fixture(scope="session")
def browser() -> Iterator[Browser]:
    with sync_playwright() as playwright:
        path = chromium_path(playwright)
        if path is None:
            no_browser()
        browser = playwright.chromium.launch(executable_path=path, args=FLAGS)
        yield browser
        browser.close()


def chromium_path(playwright: Playwright) -> str | None:
    named = os.environ.get("GROVEPLAT_CHROMIUM")
    if named:
        return named
    for name in ("chromium", "chromium-browser", "google-chrome"):
        if found := shutil.which(name):
            return found
    own = playwright.chromium.executable_path
    return own if Path(own).is_file() else None


def no_browser() -> None:
    reason = (
        "No Chromium: looked at GROVEPLAT_CHROMIUM, then for chromium, chromium-browser and "
        "google-chrome on the PATH, then for playwright's own. Install one to run these tests."
    )
    if os.environ.get("GROVEPLAT_BROWSER_REQUIRED") == "1":
        pytest.fail(reason)
    pytest.skip(reason)


@pytest.fixture(scope="session")
def demo_site(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The demo survey's site, built once by the command as a user runs it."""
    folder = tmp_path_factory.mktemp("demo") / "survey"
    command = [sys.executable, "-m", "mapper", "demo", str(folder)]
    done = subprocess.run(command, cwd=ROOT, capture_output=True, encoding="utf-8")
    assert done.returncode == 0, done.stderr
    return folder / "site"


@pytest.fixture
def visit(browser: Browser, demo_site: Path) -> Iterator[Callable[..., Visit]]:
    """Open a page of the demo: visit("index.html", width=390). Every visit must end without an
    error on the console and without a request to another machine."""
    visits: list[Visit] = []

    def open_page(name: str, width: int = 1280, height: int = 900, site: Path = demo_site) -> Visit:
        context = browser.new_context(viewport={"width": width, "height": height}, offline=True)
        visits.append(Visit(context.new_page(), site))
        watch(visits[-1])
        visits[-1].go(name)
        return visits[-1]

    yield open_page
    for each in visits:
        each.page.context.close()
    assert [error for each in visits for error in each.errors] == []
    assert [url for each in visits for url in each.outside] == []


def watch(visit: Visit) -> None:
    def cut(route: Route) -> None:
        visit.outside.append(route.request.url)
        route.abort()

    page = visit.page
    page.context.route(NOT_A_FILE, cut)
    page.on("pageerror", lambda error: visit.errors.append(str(error)))
    page.on("requestfailed", lambda request: visit.errors.append(f"failed: {request.url}"))
    page.on(
        "console",
        lambda said: visit.errors.append(said.text) if said.type in ("error", "warning") else None,
    )
