"""A large survey's map: every tree that the browser unpacks is the one that was published."""

import dataclasses

import numpy as np
import pandas as pd
import pytest

from mapper.line import survey_results
from mapper.render import build_site
from mapper.render.map_data import write_map_data
from mapper.render.pages import write_maps
from mapper.render.sheets import site_of
from mapper.render.tree_blocks import MANY_TREES
from mapper.survey import read_survey

COUNT = MANY_TREES + 1
KNOW = """async (picks) => {
  const { sheet, layers } = groveplat;
  const layer = layers.get("map");
  const told = [];
  for (const tree of picks) {
    await sheet.many.know(tree);
    const { id, girth_cm, height_m, species } = sheet.columns;
    const { lat, lng } = layer.latLng(tree);
    const found = layer.treeAt(layer.latLng(tree), 0.01);
    const kind = sheet.lists.species[species[tree]].name;
    told.push([id[tree], lat, lng, girth_cm[tree], height_m[tree], kind, found === tree]);
  }
  return told;
}"""


@pytest.fixture(scope="module")
def published(tmp_path_factory: pytest.TempPathFactory) -> tuple[pd.DataFrame, object]:
    """The pages of a small survey over the map's data of many trees."""
    folder = tmp_path_factory.mktemp("many")
    rows = "A,1,English oak,100,20,45.0,7.1\nB,2,Scots pine,90,18,45.0001,7.1\n"
    table = folder / "trees.csv"
    table.write_text(f"stand,tree,species,girth_cm,height_m,lat,lon\n{rows}", encoding="utf-8")
    small = survey_results(read_survey([table]))
    build_site(small, folder / "site")
    draw = np.random.default_rng(11)
    trees = small.trees.iloc[draw.integers(0, 2, COUNT)].reset_index(drop=True)
    trees = trees.assign(
        tree=pd.Series(draw.permutation(COUNT)).astype(str),
        lat=(45 + draw.uniform(0, 0.01, COUNT)).round(7),
        lon=(7.1 + draw.uniform(0, 0.01, COUNT)).round(7),
        girth_cm=draw.uniform(5, 400, COUNT).round(1),
        height_m=np.where(draw.random(COUNT) < 0.3, np.nan, draw.uniform(2, 40, COUNT).round(1)),
    )
    many = dataclasses.replace(small, trees=trees, workings={})
    (folder / "site" / "data" / "map.js").unlink()
    write_map_data(many, site_of(small), folder / "site" / "data", {})
    write_maps(many, site_of(small), folder / "site")
    return trees, folder / "site"


def test_random_trees_are_those_that_were_published(published, browser) -> None:
    trees, site = published
    page = browser.new_page(viewport={"width": 1280, "height": 900})
    errors: list[str] = []
    page.on("pageerror", lambda error: errors.append(str(error)))
    page.goto((site / "index.html").as_uri())
    picks = np.random.default_rng(5).integers(0, COUNT, 200).tolist()
    told = page.evaluate(KNOW, picks)
    by_name = trees.set_index("tree")
    for name, lat, lon, girth, height, kind, found in told:
        row = by_name.loc[name]
        # Half a step of the curve's cells is less than a millimetre: 1e-8 of a degree.
        assert (lat, lon) == pytest.approx((row["lat"], row["lon"]), abs=1e-8)
        assert girth == row["girth_cm"]
        assert height == (
            row["height_m"]
            if row["height_m"] == row["height_m"]
            else pytest.approx(np.nan, nan_ok=True)
        )
        assert kind == row["species"]
        assert found
    assert len({name for name, *_ in told}) > 190
    assert errors == []


def test_a_tree_is_opened_by_its_name_and_shown_with_its_size(published, browser) -> None:
    trees, site = published
    row = trees.iloc[777]
    page = browser.new_page()
    page.goto(f"{(site / 'index.html').as_uri()}#tree={row['tree']}")
    title = page.locator("#tree-panel-title")
    title.wait_for()
    assert title.text_content() == f"Tree {row['tree']}"
    assert f"{row['girth_cm']:.1f}" in page.locator("#tree-panel .panel-facts").text_content()


def test_a_filter_counts_all_trees_of_a_kind(published, browser) -> None:
    trees, site = published
    page = browser.new_page()
    page.goto((site / "index.html").as_uri())
    page.locator("#filter-species").select_option("1")
    name = page.evaluate("groveplat.sheet.lists.species[1].name")
    of_kind = int((trees["species"] == name).sum())
    assert 0 < of_kind < COUNT
    page.get_by_text(f"{of_kind} of {COUNT} trees").wait_for()
