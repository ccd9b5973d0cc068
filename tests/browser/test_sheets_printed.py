"""The sheets of an outing on paper: true to scale, on the page they were made for."""

import io
from pathlib import Path

import numpy as np
import pypdfium2
import pytest
import zxingcpp
from PIL import Image
from playwright.sync_api import Browser

from mapper.fieldwork import Outing, write_sheets
from mapper.line import run_checks
from mapper.survey import read_survey

DEMO = Path(__file__).parents[2] / "demo"
POINTS_PER_MM = 72 / 25.4
DPI = 600
PAGES = {"leader": 2, "record-new": 2, "record-again": 2, "walk": 1, "tags": 1, "angles": 2,
         "shadows": 1}  # fmt: skip
# ISO 216 and ANSI/ASME Y14.1, in mm
SIZES = {"a4": (210, 297), "letter": (215.9, 279.4)}


@pytest.mark.slow
@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_each_sheet_fits_its_paper(browser: Browser, tmp_path: Path, paper: str) -> None:
    survey = read_survey([DEMO])
    files = write_sheets(survey, run_checks(survey), tmp_path, Outing(most=10, paper=paper))  # type: ignore[arg-type]
    for file in files:
        printed = print_to_pdf(browser, file)
        assert len(printed) == PAGES[file.stem], file.name
        wanted = sorted(SIZES[paper], reverse=file.stem.startswith("record"))
        for page in printed:
            assert np.allclose(np.array(page.get_size()) / POINTS_PER_MM, wanted, atol=0.6)


@pytest.mark.slow
def test_the_check_ruler_is_100_mm_long(browser: Browser, tmp_path: Path) -> None:
    survey = read_survey([DEMO])
    write_sheets(survey, None, tmp_path, Outing())
    page = print_to_pdf(browser, tmp_path / "angles.html")[0]
    ink = np.asarray(page.render(scale=DPI / 72, grayscale=True).to_pil()) < 128
    assert longest_level_line(ink[ink.shape[0] // 2 :]) * 25.4 / DPI == pytest.approx(100, abs=0.2)


def longest_level_line(ink: np.ndarray) -> int:
    """Length of the longest run of ink in one row that stands alone in it. [px]

    The caution's frame is longer, so rows that reach beyond 120 mm are left out.
    """
    best = 0
    for row in ink:
        edges = np.flatnonzero(np.diff(np.concatenate([[0], row.astype(int), [0]])))
        runs = edges[1::2] - edges[::2]
        if len(runs) and runs.max() < 120 / 25.4 * DPI:
            best = max(best, int(runs.max()))
    return best


@pytest.mark.slow
def test_a_tag_leads_to_its_tree(browser: Browser, tmp_path: Path) -> None:
    """Read by another library than the one that drew the code."""
    survey = read_survey([DEMO]).model_copy(update={"address": "https://trees.example/park/"})
    write_sheets(survey, run_checks(survey), tmp_path, Outing(trees=("G002",)))
    page = browser.new_page()
    page.goto((tmp_path / "tags.html").as_uri())
    picture = Image.open(io.BytesIO(page.locator(".tag").first.screenshot()))
    page.close()
    (code,) = zxingcpp.read_barcodes(picture)
    assert code.text == "https://trees.example/park/index.html#tree=G002"


def print_to_pdf(browser: Browser, file: Path) -> pypdfium2.PdfDocument:
    page = browser.new_page()
    page.goto(file.as_uri())
    printed = page.pdf(prefer_css_page_size=True)
    page.close()
    return pypdfium2.PdfDocument(printed)
