"""What comes out of the printer: page sizes, page counts and words of the printed sheets."""

import io
import re
from pathlib import Path

import pytest
from pypdf import PdfReader

MM = 72 / 25.4  # points
# ISO 216 and ANSI/ASME Y14.1, in millimetres.
PAPER = {"A4": (210, 297), "Letter": (215.9, 279.4)}
A3_LANDSCAPE = (420, 297)


def printed(visit, name: str, paper: str) -> PdfReader:
    seen = visit(name)
    if seen.page.locator(".map").count():
        seen.until("document.querySelectorAll('.tick-label').length > 0")
    return PdfReader(io.BytesIO(seen.page.pdf(format=paper, prefer_css_page_size=True)))


def scale_of(seen) -> float:
    """2000 of `Scale 1 : 2,000 on A3`."""
    return float(re.findall(r": ([0-9,]+)", seen.text(".poster-scale"))[0].replace(",", ""))


def size_mm(pdf: PdfReader) -> tuple[float, float]:
    box = pdf.pages[0].mediabox
    return float(box.width) / MM, float(box.height) / MM


@pytest.mark.parametrize("paper", PAPER)
def test_the_sheet_of_a_stand_fits_the_paper(visit, paper):
    pdf = printed(visit, "stand-old-grove.html", paper)
    assert size_mm(pdf) == pytest.approx(PAPER[paper], abs=0.5)
    assert 1 <= len(pdf.pages) <= 4
    words = " ".join(" ".join(page.extract_text() for page in pdf.pages).split())
    for text in ("Old Grove", "not a safety assessment", "Larkwater", "Surveyed"):
        assert text.lower() in words.lower()
    assert "Filter" not in words and "Next sheet" not in words


@pytest.mark.parametrize("paper", PAPER)
def test_the_poster_is_one_a3_sheet_whatever_the_printer_is_loaded_with(visit, paper):
    pdf = printed(visit, "poster.html", paper)
    assert len(pdf.pages) == 1
    assert size_mm(pdf) == pytest.approx(A3_LANDSCAPE, abs=0.5)
    words = " ".join(pdf.pages[0].extract_text().split())
    for text in ("Trees of Larkwater School", "Old Grove", "S19", "red pine", "Scale 1 :", "N"):
        assert text in words


def test_the_posters_scale_bar_is_true_on_paper(visit):
    """On paper its length times the scale is the length it says."""
    seen = visit("poster.html")
    seen.page.emulate_media(media="print")
    seen.page.set_viewport_size({"width": 1527, "height": 1062})  # A3 less its margins, 96 dpi
    told = seen.page.locator(".poster-bar").get_attribute("aria-label") or ""
    metres = float(re.findall(r"[0-9.]+", told)[0])
    denominator = scale_of(seen)
    bars = [each.bounding_box() for each in seen.page.locator(".poster-bar rect").all()]
    length_mm = (bars[-1]["x"] + bars[-1]["width"] - bars[0]["x"]) / 96 * 25.4
    stroke_mm = 0.2
    assert length_mm - stroke_mm == pytest.approx(metres * 1000 / denominator, abs=0.15)
    plate = seen.page.locator(".poster-map").bounding_box()
    assert plate["width"] / 96 * 25.4 == pytest.approx(300, abs=0.3)


def test_trees_on_the_poster_are_as_far_apart_as_in_the_records(visit, demo_site: Path):
    """Against geodesic distances on the ellipsoid (pyproj), not against the drawing's own sums."""
    import pandas as pd
    from pyproj import Geod

    trees = pd.read_csv(demo_site / "data" / "trees.csv").set_index("tree")
    seen = visit("poster.html")
    denominator = scale_of(seen)
    circles = seen.page.evaluate(
        "[...document.querySelectorAll('.poster-map circle')]"
        ".map((c) => [Number(c.getAttribute('cx')), Number(c.getAttribute('cy'))])"
    )
    drawn = [name for name, row in trees.iterrows() if row["status"] == "alive" and row["lat"] > 0]
    assert len(circles) == len(drawn)
    first, last = trees.loc[drawn[0]], trees.loc[drawn[-1]]
    _, _, metres = Geod(ellps="WGS84").inv(first["lon"], first["lat"], last["lon"], last["lat"])
    across, down = (circles[-1][i] - circles[0][i] for i in (0, 1))
    assert (across**2 + down**2) ** 0.5 == pytest.approx(metres * 1000 / denominator, abs=0.03)
    assert (across > 0) == (last["lon"] > first["lon"])
    assert (down < 0) == (last["lat"] > first["lat"])
