"""The page for phones, from an empty list to a built site: tilt, place, photo, hand-over."""

import datetime
import functools
import http.server
import json
import subprocess
import sys
import threading
import zipfile
from collections.abc import Iterator
from pathlib import Path

import pytest
from PIL import Image
from playwright.sync_api import Browser, BrowserContext, Page

from mapper.fieldwork import write_outing
from mapper.line import run_checks, survey_results
from mapper.survey import read_survey

DEMO = Path(__file__).parents[2] / "demo"
SENSORS = ["accelerometer", "gyroscope", "magnetometer"]
PLACE = {"latitude": 45.3112, "longitude": -71.4431, "accuracy": 6}
TODAY = datetime.date.today()


class Quiet(http.server.SimpleHTTPRequestHandler):
    def log_message(self, *_: object) -> None:
        """The test log is for the tests."""


@pytest.fixture(scope="module")
def address(tmp_path_factory: pytest.TempPathFactory) -> Iterator[str]:
    folder = tmp_path_factory.mktemp("outing")
    survey = read_survey([DEMO])
    write_outing(survey, run_checks(survey), folder, TODAY)
    handler = functools.partial(Quiet, directory=str(folder))
    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), handler)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield f"http://127.0.0.1:{server.server_port}/"
    server.shutdown()
    server.server_close()


@pytest.fixture
def phone(browser: Browser) -> Iterator[BrowserContext]:
    context = browser.new_context(
        viewport={"width": 390, "height": 844}, accept_downloads=True,
        geolocation=PLACE, permissions=["geolocation", *SENSORS],
    )  # fmt: skip
    yield context
    context.close()


def opened(phone: BrowserContext, address: str) -> tuple[Page, list[str]]:
    page, errors = phone.new_page(), []
    page.on("pageerror", lambda error: errors.append(str(error)))
    page.on("console", lambda said: errors.append(said.text) if said.type == "error" else None)
    page.goto(address)
    page.locator("#list").wait_for()
    return page, errors


def aim(page: Page, elevation_deg: float) -> None:
    """The phone upright in the hand, its back tilted up by so much: beta is 90 and that much."""
    page.evaluate(
        """(beta) => { for (let n = 0; n < 15; n++) dispatchEvent(
        new DeviceOrientationEvent("deviceorientation", { alpha: 40, beta, gamma: 0 })) }""",
        90 + elevation_deg,
    )


def measure(page: Page, tree: str, girth: str = "157") -> None:
    page.click("#measure")
    page.fill("#tree", tree)
    page.fill("#girth", girth)


def handed_over(page: Page, folder: Path) -> Path:
    with page.expect_download() as waiting:
        page.click("#give")
    file = folder / waiting.value.suggested_filename
    waiting.value.save_as(file)
    return file


def sight(page: Page, top_deg: float, base_deg: float) -> None:
    page.click("#aim")
    page.get_by_text("Aim at the tip and take").wait_for()
    aim(page, top_deg)
    page.click("#take")
    aim(page, base_deg)
    page.click("#take")


@pytest.mark.slow
def test_from_the_phone_into_a_site(phone: BrowserContext, address: str, tmp_path: Path) -> None:
    page, errors = opened(phone, address)
    page.fill("#team", "Team Wren")
    measure(page, "W1")
    page.fill("#species", "sugar map")
    page.click("#suggestions button >> nth=0")
    page.fill("#baseline", "20")
    sight(page, 38, -5)
    assert page.text_content("#height") == "17.4 m, from one sighting"
    sight(page, 40, -5)
    assert "middle of 2 sightings" in str(page.text_content("#height"))
    page.click("#locate")
    page.get_by_text("45.3112, -71.4431").wait_for()
    page.set_input_files("#photo", str(picture(tmp_path / "tree.jpg")))
    page.get_by_text("Photo kept").wait_for()
    page.select_option("#photo_consent", "yes")
    page.click("#done")
    records = tmp_path / "survey" / "records"
    records.mkdir(parents=True)
    file = handed_over(page, records)
    assert errors == []

    line = run_checks(read_survey([tmp_path / "survey"]))
    assert line.findings[["rule", "column", "message"]].to_dict("records") == []
    tree = line.measured.trees.loc["W1"]
    assert tree["species_name"] == "Acer saccharum"
    assert tree["girth_cm"] == 157
    assert (tree["lat"], tree["lon"]) == (45.3112, -71.4431)
    assert tree["height_readings"] == 2
    assert file.name == f"outing-{TODAY}-Team-Wren.zip"
    results = survey_results(read_survey([tmp_path / "survey"]))
    assert len(results.photos) == 1


@pytest.mark.slow
def test_the_phone_and_the_command_agree(phone: BrowserContext, address: str) -> None:
    """38° and −5° at 20 m: 17.38 m by hand (20 (tan 38° + tan 5°))."""
    page, _ = opened(phone, address)
    measure(page, "A")
    page.fill("#baseline", "20")
    sight(page, 38, -5)
    command = [sys.executable, "-m", "mapper", "tree", "--girth", "157 cm", "--baseline", "20 m",
               "--angle-top", "38", "--angle-base", "-5", "--json"]  # fmt: skip
    told = subprocess.run(command, capture_output=True, encoding="utf-8", check=True).stdout
    height_m = json.loads(told)["height_m"]
    assert height_m == pytest.approx(17.375, abs=0.001)
    assert page.text_content("#height") == f"{height_m:.1f} m, from one sighting"


@pytest.mark.slow
def test_reload_and_no_network_lose_nothing(phone: BrowserContext, address: str) -> None:
    page, _ = opened(phone, address)
    page.evaluate("() => navigator.serviceWorker.ready.then(() => true)")
    measure(page, "W2", "99")
    page.get_by_label("Number or name of the tree").press("Tab")
    page.wait_for_timeout(100)
    phone.set_offline(True)
    page.reload()
    page.locator("#list").wait_for()
    assert "W2: 99 cm" in str(page.text_content("#kept"))
    phone.set_offline(False)


@pytest.mark.slow
def test_warnings_are_those_of_the_checks(phone: BrowserContext, address: str) -> None:
    page, _ = opened(phone, address)
    measure(page, "W3", "5000")
    assert "45 m round" in str(page.text_content("#warnings"))
    page.fill("#girth", "about two")
    assert "not a number" in str(page.text_content("#warnings"))
    page.fill("#tree", "G001")
    page.fill("#girth", "20")
    assert "do not shrink" in str(page.text_content("#warnings"))
    page.fill("#day", "2001-01-01")
    assert "clock" in str(page.text_content("#day-doubt"))
    page.fill("#day", TODAY.isoformat())
    assert page.text_content("#day-doubt") == ""


@pytest.mark.slow
def test_denied_sensor_position_and_storage_are_said(browser: Browser, address: str) -> None:
    context = browser.new_context(permissions=[])
    context.add_init_script(
        "delete window.DeviceOrientationEvent; delete window.ondeviceorientation;"
        "Object.defineProperty(window, 'indexedDB', {get() { throw new Error('denied') }});"
    )
    page, _ = opened(context, address)
    assert "keeps nothing" in str(page.text_content("#saved"))
    measure(page, "W4")
    page.click("#aim")
    assert "type the angles" in str(page.text_content("#aim-told"))
    page.click("#locate")
    page.get_by_text("No place").wait_for()
    page.fill("#baseline", "20")
    page.fill("#typed_top", "38")
    page.fill("#typed_base", "-5")
    page.click("#add-typed")
    assert "17.4 m" in str(page.text_content("#height"))
    context.close()


@pytest.mark.slow
def test_a_full_device_says_so(phone: BrowserContext, address: str) -> None:
    page, _ = opened(phone, address)
    page.evaluate(
        "() => { IDBObjectStore.prototype.put = () => "
        "{ throw new DOMException('full', 'QuotaExceededError') } }"
    )
    measure(page, "W5")
    page.get_by_text("This device is full").wait_for()


@pytest.mark.slow
def test_two_phones_with_one_tree_merge(browser: Browser, address: str, tmp_path: Path) -> None:
    records = tmp_path / "records"
    records.mkdir()
    for team, girth in (("Wren", "157"), ("Finch", "158")):
        context = browser.new_context(accept_downloads=True)
        page, _ = opened(context, address)
        page.fill("#team", team)
        measure(page, "G001", girth)
        page.click("#done")
        handed_over(page, records)
        context.close()
    trees = run_checks(read_survey([tmp_path])).measured.trees
    assert list(trees.index) == ["G001"]
    assert trees["girth_cm"].tolist() == pytest.approx([157.5])
    assert trees["diameter_readings"].tolist() == [2]


@pytest.mark.slow
def test_a_file_cut_off_keeps_what_is_whole(
    phone: BrowserContext, address: str, tmp_path: Path
) -> None:
    page, _ = opened(phone, address)
    for tree in ("A1", "A2", "A3"):
        measure(page, tree)
        page.click("#done")
    file = handed_over(page, tmp_path)
    content = file.read_bytes()
    with zipfile.ZipFile(file) as archive:
        table = archive.read("outing-records.csv")
    start = content.index(table)
    for lost, trees in ((len(content) - 10, 3), (start + len(table) - 5, 2)):
        file.write_bytes(content[:lost])
        line = run_checks(read_survey([file]))
        assert len(line.measured.trees) == trees
        assert "cut_short" in set(line.findings["rule"])


@pytest.mark.slow
def test_the_page_is_for_everyone(phone: BrowserContext, address: str, packages: Path) -> None:
    axe = (packages / "axe-core" / "axe.min.js").read_text("utf-8")
    page, _ = opened(phone, address)
    for view in ("#list", "#form"):
        if view == "#form":
            measure(page, "G001")
        found = page.evaluate(f"{axe}; axe.run().then(r => r.violations)")
        assert [(one["id"], one["nodes"][0]["html"]) for one in found] == []
        small = page.evaluate(
            "() => [...document.querySelectorAll('button, input, select, textarea')]"
            ".filter((e) => e.offsetParent && e.getBoundingClientRect().height < 44)"
            ".map((e) => e.id)"
        )
        assert small == []


def picture(path: Path) -> Path:
    Image.new("RGB", (3000, 2000), "#6a8f4d").save(path)
    return path
