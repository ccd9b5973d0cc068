"""The working of each tree: the numbers in, the formula with the numbers put in, the result."""

from collections.abc import Iterator

import pandas as pd

from mapper.language import later, say
from mapper.summarise.results import Step
from mapper.summarise.workings_height import height_steps, lean_step
from mapper.summarise.workings_stem import stem_steps
from mapper.summarise.workings_words import Tree, records, sure

HALFWAY = later("halfway between the two middle ones")
OF_THAT_DAY = {
    "diameter": later("Diameter of that day"),
    "height": later("Height of that day"),
}


def tree_workings(trees: pd.DataFrame) -> dict[str, tuple[Step, ...]]:
    """Steps by tree, for every tree that has a diameter or a height."""
    return {str(tree["tree_key"]): tuple(_steps(tree)) for tree in records(trees)}


def _steps(tree: Tree) -> Iterator[Step]:
    if not pd.isna(tree["diameter_cm"]):
        yield from stem_steps(tree)
        yield from _of_the_day(tree, "diameter", "cm")
        yield _basal_area(tree)
    if not pd.isna(tree["height_m"]):
        yield from height_steps(tree)
        yield from _of_the_day(tree, "height", "m")
        if not pd.isna(tree["stem_length_m"]):
            yield lean_step(tree)
    if not pd.isna(tree["slenderness"]):
        yield _slenderness(tree)


def _of_the_day(tree: Tree, name: str, unit: str) -> Iterator[Step]:
    """Several readings of one day: the one in their middle, slips left out."""
    count = int(tree[f"{name}_readings"])
    if count < 2:
        return
    slips = tree[f"{name}_slips"]
    kept = count - len(slips.split(", ")) if slips else count
    middle = say("the middle one") if kept % 2 else say(HALFWAY)
    inputs = say("{n} readings of one day: {readings} {unit}").format(
        n=count, readings=tree[f"{name}_told"], unit=unit
    )
    if slips:
        left_out = say("without {readings} {unit}, too far from the others")
        inputs += "; " + left_out.format(readings=slips, unit=unit)
    result = sure(tree, tree[f"{name}_{unit}"], tree[f"{name}_sd_{unit}"], unit)
    yield Step(say(OF_THAT_DAY[name]), inputs, middle, result, "consensus_value")


def _basal_area(tree: Tree) -> Step:
    diameter = tree["diameter_cm"]
    return Step(
        say("Basal area"),
        say("diameter {diameter:.2f} cm, before rounding").format(diameter=diameter),
        f"π / 4 × ({diameter:.2f} / 100)²",
        f"{tree['basal_area_m2']:.3g} m²",
        "basal_area_from_diameter",
        say("The area of the stem cut across at breast height."),
    )


def _slenderness(tree: Tree) -> Step:
    height, diameter = tree["height_m"], tree["diameter_cm"]
    return Step(
        say("Slenderness"),
        say("height {height:.2f} m, diameter {diameter:.2f} cm, before rounding").format(
            height=height, diameter=diameter
        ),
        f"{height:.2f} / ({diameter:.2f} / 100)",
        f"{tree['slenderness']:.0f}",
        "slenderness",
        say("How many of its own diameters the tree is high."),
    )
