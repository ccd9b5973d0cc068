"""The working of each tree: the numbers in, the formula with the numbers put in, the result."""

from collections.abc import Iterator
from typing import Any

import pandas as pd

from mapper import metrics
from mapper.load.names import stem_values
from mapper.summarise.results import Step


def tree_workings(trees: pd.DataFrame) -> dict[str, tuple[Step, ...]]:
    """Steps by tree, for every tree that has a diameter or a height."""
    return {str(tree["tree_key"]): tuple(_steps(tree)) for tree in trees.to_dict("records")}


def _steps(tree: dict[Any, Any]) -> Iterator[Step]:
    if not pd.isna(tree["diameter_cm"]):
        yield _diameter(tree)
        yield from _of_the_day(tree, "diameter", "cm")
        yield _basal_area(tree)
    if not pd.isna(tree["height_m"]):
        yield _height(tree)
        yield from _of_the_day(tree, "height", "m")
    if not pd.isna(tree["slenderness"]):
        yield _slenderness(tree)


def _diameter(tree: dict[Any, Any]) -> Step:
    result = _reading(tree, "diameter", "cm")
    if tree["diameter_method"] == "stems":
        girths = _stem_girths(tree)
        squares = " + ".join(f"({girth:g} / π)²" for girth in girths)
        inputs = "stems " + ", ".join(f"{girth:g}" for girth in girths) + " cm round"
        return Step("Diameter", inputs, f"√({squares})", result, "diameter_from_stems")
    if tree["diameter_method"] == "diameter":
        inputs = f"diameter {tree['diameter_reading']:.4g} cm, as handed in"
        return Step("Diameter", inputs, "", result, "")
    girth = metrics.girth_from_diameter(tree["diameter_reading"])
    how = tree["diameter_method"].partition(", ")[2] or "no method given, taken as a tape"
    inputs = f"girth {girth:.5g} cm ({how})"
    return Step("Diameter", inputs, f"{girth:.5g} / π", result, "diameter_from_girth")


def _reading(tree: dict[Any, Any], name: str, unit: str) -> str:
    """The result of one reading; of several, the day's value says how sure."""
    sd = tree[f"{name}_sd_{unit}"] if tree[f"{name}_readings"] == 1 else float("nan")
    return _sure(tree[f"{name}_reading"], sd, unit)


def _of_the_day(tree: dict[Any, Any], name: str, unit: str) -> Iterator[Step]:
    """Several readings of one day: their median."""
    count = int(tree[f"{name}_readings"])
    if count < 2:
        return
    middle = "the middle one" if count % 2 else "halfway between the two middle ones"
    result = _sure(tree[f"{name}_{unit}"], tree[f"{name}_sd_{unit}"], unit)
    inputs = f"{count} readings of one day: {tree[f'{name}_told']} {unit}"
    yield Step(f"{name.capitalize()} of that day", inputs, middle, result, "")


def _stem_girths(tree: dict[Any, Any]) -> list[float]:
    return [float(tree[name]) for name in stem_values(tree) if not pd.isna(tree[name])]


def _basal_area(tree: dict[Any, Any]) -> Step:
    diameter = tree["diameter_cm"]
    return Step(
        "Basal area",
        f"diameter {diameter:.2f} cm, before rounding",
        f"π / 4 × ({diameter:.2f} / 100)²",
        f"{tree['basal_area_m2']:.3g} m²",
        "basal_area_from_diameter",
        "The area of the stem cut across at breast height.",
    )


def _height(tree: dict[Any, Any]) -> Step:
    sure, note = _reading(tree, "height", "m"), ""
    if tree["height_method"] not in ("one angle", "two angles"):
        note = "How sure it is we cannot tell."
        return Step(
            "Height",
            f"height {tree['height_reading']:.3g} m, {tree['height_method']}",
            "",
            sure,
            "",
            note,
        )
    distance, top = tree["baseline_m"], tree["angle_top_deg"]
    how = tree["baseline_method"] or "no method given, taken as taped"
    start = f"distance {distance:.4g} m ({how}), top {top:g}°"
    if tree["height_method"] == "two angles":
        base = tree["angle_base_deg"]
        formula = f"{distance:.4g} × (tan {_angle(top)} − tan {_angle(base)})"
        inputs = f"{start}, base {_minus(base)}°"
        return Step("Height", inputs, formula, sure, "height_from_angles", note)
    eye = tree["eye_height_m"]
    formula = f"{distance:.4g} × tan {_angle(top)} + {eye:g}"
    inputs = f"{start}, eye {eye:g} m above the ground"
    return Step("Height", inputs, formula, sure, "height_from_top_angle", note)


def _slenderness(tree: dict[Any, Any]) -> Step:
    height, diameter = tree["height_m"], tree["diameter_cm"]
    return Step(
        "Slenderness",
        f"height {height:.2f} m, diameter {diameter:.2f} cm, before rounding",
        f"{height:.2f} / ({diameter:.2f} / 100)",
        f"{tree['slenderness']:.0f}",
        "slenderness",
        "How many of its own diameters the tree is high.",
    )


def _sure(value: float, sd: float, unit: str) -> str:
    """The result with two standard uncertainties, or alone where none is known."""
    if pd.isna(sd):
        return f"{value:.1f} {unit}"
    return f"{value:.1f} ± {2 * sd:.1f} {unit}"


def _angle(degrees: float) -> str:
    return f"{degrees:g}°" if degrees >= 0 else f"({_minus(degrees)}°)"


def _minus(number: float) -> str:
    return f"{number:g}".replace("-", "−")
