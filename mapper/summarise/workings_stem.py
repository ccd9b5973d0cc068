"""The working of a diameter: round the stem, across it, or stem by stem."""

from collections.abc import Iterator

import pandas as pd

from mapper import metrics
from mapper.language import say
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
        say("Height of the tape"),
        say("{above:.4g} m above the snow, snow {depth:.4g} cm deep").format(
            above=above, depth=depth
        ),
        f"{above:.4g} + {depth:.4g} / 100",
        say("{height:.2f} m above the ground").format(height=tree["measured_at_m"]),
        "tape_height_over_snow",
    )


def _diameter(tree: Tree) -> Step:
    result = reading(tree, "diameter", "cm")
    what, _, how = tree["diameter_method"].partition(", ")
    if what == "stems":
        girths = [float(tree[name]) for name in stem_values(tree) if not pd.isna(tree[name])]
        squares = " + ".join(f"({girth:g} / π)²" for girth in girths)
        round_each = ", ".join(f"{girth:g}" for girth in girths)
        inputs = say("stems {girths} cm round").format(girths=round_each)
        return Step(say("Diameter"), inputs, f"√({squares})", result, "diameter_from_stems")
    if what == "diameter":
        return _across(tree, how, result)
    girth = metrics.girth_from_diameter(tree["diameter_reading"])
    known = say(how) if how else say("no method given, taken as a tape")
    inputs = say("girth {girth:.5g} cm ({how})").format(girth=girth, how=known)
    return Step(say("Diameter"), inputs, f"{girth:.5g} / π", result, "diameter_from_girth")


def _across(tree: Tree, how: str, result: str) -> Step:
    first, second = tree["handed_diameter_cm"], tree["diameter_2_cm"]
    if pd.isna(second):
        told = say("diameter {diameter:.4g} cm, measured: {how}; as handed in")
        if not how:
            told = say("diameter {diameter:.4g} cm, as handed in")
        inputs = told.format(diameter=tree["diameter_reading"], how=say(how))
        return Step(say("Diameter"), inputs, "", result, "")
    inputs = say("{first:.4g} cm one way, {second:.4g} cm at right angles to it ({how})").format(
        first=first, second=second, how=say(how)
    )
    formula = f"√({first:.4g} × {second:.4g})"
    return Step(say("Diameter"), inputs, formula, result, "diameter_from_calipers")
