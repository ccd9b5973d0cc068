"""The working of a diameter: round the stem, across it, or stem by stem."""

from collections.abc import Iterator

import pandas as pd

from mapper import metrics
from mapper.load.names import stem_values
from mapper.summarise.results import Step
from mapper.summarise.workings_words import Tree, reading


def stem_steps(tree: Tree) -> Iterator[Step]:
    """Where the tape sat, where snow lay, and the diameter."""
    if not pd.isna(tree["above_snow_m"]):
        yield _over_snow(tree)
    yield _diameter(tree)


def _over_snow(tree: Tree) -> Step:
    above, depth = tree["above_snow_m"], tree["snow_depth_cm"]
    return Step(
        "Height of the tape",
        f"{above:.4g} m above the snow, snow {depth:.4g} cm deep",
        f"{above:.4g} + {depth:.4g} / 100",
        f"{tree['measured_at_m']:.2f} m above the ground",
        "tape_height_over_snow",
    )


def _diameter(tree: Tree) -> Step:
    result = reading(tree, "diameter", "cm")
    what, _, how = tree["diameter_method"].partition(", ")
    if what == "stems":
        girths = [float(tree[name]) for name in stem_values(tree) if not pd.isna(tree[name])]
        squares = " + ".join(f"({girth:g} / π)²" for girth in girths)
        inputs = "stems " + ", ".join(f"{girth:g}" for girth in girths) + " cm round"
        return Step("Diameter", inputs, f"√({squares})", result, "diameter_from_stems")
    if what == "diameter":
        return _across(tree, how, result)
    girth = metrics.girth_from_diameter(tree["diameter_reading"])
    inputs = f"girth {girth:.5g} cm ({how or 'no method given, taken as a tape'})"
    return Step("Diameter", inputs, f"{girth:.5g} / π", result, "diameter_from_girth")


def _across(tree: Tree, how: str, result: str) -> Step:
    first, second = tree["handed_diameter_cm"], tree["diameter_2_cm"]
    if pd.isna(second):
        tool = f", by {how}" if how not in ("", "by eye") else f", {how}" if how else ""
        inputs = f"diameter {tree['diameter_reading']:.4g} cm{tool}, as handed in"
        return Step("Diameter", inputs, "", result, "")
    inputs = f"{first:.4g} cm one way, {second:.4g} cm at right angles to it ({how})"
    formula = f"√({first:.4g} × {second:.4g})"
    return Step("Diameter", inputs, formula, result, "diameter_from_calipers")
