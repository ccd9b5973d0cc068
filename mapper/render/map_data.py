"""What the map's script reads: the trees, all at once or in blocks, and their workings."""

from dataclasses import asdict
from pathlib import Path

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mapper.language import say
from mapper.render.age_words import NO_START, age_columns, oldest
from mapper.render.colourings import class_columns
from mapper.render.height_drawing import height_drawing
from mapper.render.photos import Picture
from mapper.render.quantities import Scale, scales
from mapper.render.sheets import Site
from mapper.render.site_files import as_parsed, write_text
from mapper.render.tree_blocks import (
    MANY_TREES,
    TREES_PER_BLOCK,
    curve_order,
    drawn_columns,
    world_steps,
    write_blocks,
    write_details,
)
from mapper.render.tree_data import (
    TREES_PER_CHUNK,
    Groups,
    date_texts,
    group_indexes,
    symbols,
    tree_columns,
)
from mapper.summarise import Results
from mapper.summarise.results import Step
from mapper.summarise.told_workings import Workings

AGED_BY = ["age_low_years", "age_high_years", "growth_girth_cm_per_year"]


def write_map_data(
    results: Results,
    site: Site,
    folder: Path,
    pictures: dict[str, tuple[Picture, ...]],
) -> None:
    """Write map.js and workings-N.js; the photos of a tree go with its working."""
    found = site.groups
    lists = {
        "species": list(found.species),
        "stands": [{"name": name, "href": site.stand_files[name]} for name in found.stands],
        "sizes": [{**size, "name": say(size["name"])} for size in found.sizes],
        "units": results.survey.units,
        "colourings": {
            each.name: [shade for _, shade in each.classes] for each in found.colourings
        },
    }
    ids = results.trees["tree"].astype(str).tolist()
    if len(ids) > MANY_TREES:
        ids = _write_many(results, found, lists, folder)
    else:
        told = tree_columns(results.trees, found) | {"page": list(site.tree_files.values())}
        ages = age_columns(results.trees, scales(results.survey.units)["cm"])
        shades = {name: codes.tolist() for name, codes in _classes(results, results.trees).items()}
        payload = lists | {"trees": told | ages | shades}
        write_text(folder / "map.js", f"groveplat.receiveTrees({as_parsed(payload)});\n")
    _write_workings(results, ids, pictures, folder)


def _write_workings(
    results: Results, ids: list[str], pictures: dict[str, tuple[Picture, ...]], folder: Path
) -> None:
    workings = results.workings
    if isinstance(workings, Workings):  # asked out of their order each would be made many times
        workings = workings.along(ids)
    for number, start in enumerate(range(0, len(ids), TREES_PER_CHUNK)):
        chunk = ids[start : start + TREES_PER_CHUNK]
        steps = {tree: [_told(step) for step in workings.get(tree, ())] for tree in chunk}
        shown = {tree: [asdict(one) for one in pictures.get(tree, ())] for tree in chunk}
        photos = {tree: those for tree, those in shown.items() if those}
        parsed = f"{as_parsed(steps)}, {as_parsed(photos)}"
        script = f"groveplat.receiveWorkings({number}, {parsed});\n"
        write_text(folder / f"workings-{number}.js", script)


def _told(step: Step) -> dict[str, object]:
    """A step as the script shows it: what was sighted is drawn here, once for pages and panel."""
    told: dict[str, object] = {name: text for name, text in vars(step).items() if name != "sight"}
    drawing = height_drawing(step)
    return told | {"drawing": drawing} if drawing else told


def _write_many(
    results: Results, found: Groups, lists: dict[str, object], folder: Path
) -> list[str]:
    """The same in blocks along a curve through the ground; the trees' ids in their new order."""
    places = world_steps(results.trees)
    order = curve_order(places)
    trees, places = results.trees.iloc[order].reset_index(drop=True), places[order]
    indexes = group_indexes(trees, found)
    blocks = np.arange(len(trees)) // TREES_PER_BLOCK
    at = pd.Series(blocks).groupby(indexes["stand"]).unique()
    header = lists | {
        "count": len(trees),
        "block": TREES_PER_BLOCK,
        "chunk": TREES_PER_CHUNK,
        "stand_blocks": [list(map(int, at.get(each, ()))) for each in range(len(found.stands))],
        "noted": _noted(trees),
    }
    write_text(folder / "map.js", f"groveplat.receiveTrees({as_parsed(header)});\n")
    drawn = indexes.assign(symbol=symbols(trees), **_classes(results, trees))
    write_blocks(drawn_columns(trees, drawn), places, folder)
    write_details(trees, _texts(trees, scales(results.survey.units)["cm"]), folder)
    return trees["tree"].astype(str).tolist()


def _classes(results: Results, trees: pd.DataFrame) -> dict[str, NDArray[np.int64]]:
    classed = class_columns(trees, scales(results.survey.units)["m"])
    return {name: each.codes for name, each in classed.items()}


def _noted(trees: pd.DataFrame) -> dict[str, int]:
    """The rows of trees that the margins name: the largest of each stand and the oldest."""
    living = trees[trees["status"] == "alive"]
    sizes = living[["girth_cm", "height_m"]].apply(pd.to_numeric).fillna(-1.0)
    rows = {int(row) for row in sizes.idxmax()} if len(living) else set()
    for column in sizes:
        rows |= {int(row) for row in sizes[column].groupby(living["stand"]).idxmax()}
    aged = oldest(trees)
    names = {str(trees["tree"].iloc[row]): row for row in sorted(rows)}
    if aged is not None:
        name = str(aged["tree"])
        names[name] = int(np.flatnonzero(trees["tree"].astype(str) == name)[0])
    return names


def _texts(trees: pd.DataFrame, scale: Scale) -> pd.DataFrame:
    """Words of the panel; an age or a growth that many trees share is put into words once."""
    aged = trees.loc[trees[AGED_BY].notna().any(axis=1), [*AGED_BY, "age_method", "age_since"]]
    group = aged.groupby(list(aged), dropna=False, sort=False).ngroup().to_numpy()
    told = pd.DataFrame(age_columns(aged.drop_duplicates(), scale))
    ends = told.pop("age_ends").map(lambda pair: f"{pair[0]} {pair[1]}" if pair else "")
    told = told.assign(age_ends=ends, age_start=told["age_start"].astype(str))
    told = told.iloc[group].set_axis(aged.index).reindex(trees.index)
    told = told.fillna({"age_start": str(NO_START)}).fillna("")
    return told.assign(date=date_texts(trees["date"]))
