"""The map of N made-up trees in a browser: `python tests/benchmarks/map_layer.py 1000000`.

The pages are those of a small survey; its published table is replaced by a made-up one, so that
only the map's data are written anew. Prints what the files weigh and what the reader waits for.
"""

import argparse
import dataclasses
import os
import shutil
import statistics
import tempfile
import time
from pathlib import Path

import numpy as np
import pandas as pd
from playwright.sync_api import Page, sync_playwright

from mapper.line import survey_results
from mapper.render import build_site
from mapper.render.map_data import write_map_data
from mapper.render.pages import write_maps
from mapper.render.sheets import site_of
from mapper.summarise import Results
from mapper.survey import read_survey

SEED = 20261128
SPECIES = ("Quercus robur", "Fagus sylvatica", "Pinus sylvestris", "Tilia cordata", "Acer rubrum")
FLAGS = "--headless --no-sandbox --disable-gpu --disable-quic --no-first-run --disable-sync"
ZOOM = """(levels) => {
  const map = groveplat.layers.get("map").map;
  const [first] = (groveplat.firstZoom ??= [map.getZoom()]);
  map.setZoom(first + levels, { animate: false });
}"""
FILTER = """(species) => {
  const start = performance.now();
  groveplat.sheet.setFilter({ ...groveplat.sheet.filter, species });
  return performance.now() - start;
}"""
PAN = """async () => {
  const map = window.groveplat.layers.get("map").map;
  const times = [];
  let before = performance.now();
  for (let i = 0; i < 120; i++) {
    map.panBy([6, 3], { animate: false });
    await new Promise(requestAnimationFrame);
    times.push(performance.now() - before);
    before = performance.now();
  }
  return times;
}"""


def small_survey(folder: Path) -> Results:
    rows = "".join(
        f"S{i % 2},{i},{kind},100,20,{45 + i * 1e-4},7.1\n" for i, kind in enumerate(SPECIES)
    )
    folder.mkdir(parents=True)
    table = folder / "trees.csv"
    table.write_text(f"stand,tree,species,girth_cm,height_m,lat,lon\n{rows}", encoding="utf-8")
    return survey_results(read_survey([table]))


def many_trees(small: Results, count: int) -> Results:
    """The published table with `count` rows in a square of 400 trees a hectare."""
    draw = np.random.default_rng([SEED, count])
    rows = draw.integers(0, len(small.trees), count)
    side = np.sqrt(count / 400 * 10_000) / 111_320
    diameter = 6 + draw.gamma(2.5, 10.0, count).clip(0, 140)
    trees = small.trees.iloc[rows].reset_index(drop=True)
    places = {
        "lat": (45 + draw.uniform(0, side, count)).round(7),
        "lon": (7 + draw.uniform(0, side * 1.41, count)).round(7),
    }
    sizes = {
        "diameter_cm": diameter,
        "girth_cm": diameter * np.pi,
        "height_m": 1.3 + (diameter / (1.5 + 0.18 * diameter)) ** 2,
    }
    names = pd.Series(np.arange(1, count + 1)).astype(str)
    return dataclasses.replace(
        small, trees=trees.assign(tree=names, **places, **sizes), workings={}
    )


def measure(site: Path) -> dict[str, float]:
    with sync_playwright() as playwright:
        chromium = os.environ.get("GROVEPLAT_CHROMIUM") or shutil.which("chromium")
        browser = playwright.chromium.launch(executable_path=chromium, args=FLAGS.split())
        page = browser.new_page(viewport={"width": 1280, "height": 900})
        page.on("pageerror", lambda error: print("page error:", error))
        page.on("console", lambda message: print("console:", message.text))
        page.goto((site / "index.html").as_uri())
        found = {"ready_ms": wait(page)}
        found["filter_ms"] = page.evaluate(FILTER, 1)
        found["no_filter_ms"] = page.evaluate(FILTER, -1)
        found["panel_ms"] = page.evaluate(PANEL, 12345)
        found["next_panel_ms"] = page.evaluate(PANEL, 12346)
        for name, zoom in (("far", 0), ("near", 3), ("close", 6)):
            page.evaluate(ZOOM, zoom)
            frames = page.evaluate(PAN)
            found[f"{name}_frame_ms"] = statistics.median(frames)
            found[f"{name}_worst_ms"] = max(frames[2:])
        browser.close()
    return found


PANEL = """async (tree) => {
  const start = performance.now();
  groveplat.sheet.select(tree);
  const panel = document.querySelector("#tree-panel");
  while (groveplat.sheet.selected !== tree) await new Promise((done) => setTimeout(done, 1));
  await new Promise(requestAnimationFrame);
  return performance.now() - start;
}"""


def wait(page: Page) -> float:
    while not (
        at := page.evaluate("performance.getEntriesByName('trees-drawn')[0]?.startTime ?? 0")
    ):
        time.sleep(0.05)
    return float(at)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("trees", type=int)
    parser.add_argument("--keep", type=Path, help="leave the site in this folder")
    asked = parser.parse_args()
    with tempfile.TemporaryDirectory() as folder:
        home = asked.keep or Path(folder)
        small = small_survey(home / "survey")
        site = home / "site"
        build_site(small, site)
        many = many_trees(small, asked.trees)
        for old in [*(site / "data").glob("map*.js"), *(site / "data").glob("workings-*.js")]:
            old.unlink()
        start = time.perf_counter()
        write_map_data(many, site_of(small), site / "data", {})
        write_maps(many, site_of(small), site)
        print(f"write_s {time.perf_counter() - start:.2f}")
        for kind in ("map*.js", "details-*.js", "names.js", "workings-*.js"):
            size = sum(path.stat().st_size for path in (site / "data").glob(kind))
            print(f"{kind} {size / 1e6:.2f} MB")
        for name, value in measure(site).items():
            print(f"{name} {value:.0f}")


if __name__ == "__main__":
    main()
