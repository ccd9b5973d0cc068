"""The working of age, growth and rough dry weight: numbers in, formula, result."""

import math
from collections.abc import Callable, Iterator
from typing import Any

import pandas as pd

from mapper import metrics
from mapper.language import later, say, say_count
from mapper.load.names import stem_values
from mapper.reference import growth, rows
from mapper.summarise.results import Step
from mapper.summarise.workings_equation import equation_text, figure
from mapper.summarise.workings_words import records, span

Tree = dict[Any, Any]

SINCE = {
    "planting": later("{low} to {high} years since planting"),
    "germination": later("{low} to {high} years since it grew from seed"),
    "ring height": later("{low} to {high} years since it was as high as the rings were counted"),
}
THUMB = later("A rule of thumb, without a percentage.")
SURE = later("The range holds 19 times in 20.")


def with_age_steps(
    workings: dict[str, tuple[Step, ...]], trees: pd.DataFrame
) -> dict[str, tuple[Step, ...]]:
    """The workings by tree, with the steps of age, growth and rough dry weight behind.

    `trees` are measured, with the columns of tree_ages, tree_growth and, where the survey asks
    for it, tree_biomass.
    """
    rows_ = records(trees)
    return {
        key: (*workings.get(key, ()), *_steps(tree))
        for tree in rows_
        for key in [str(tree["tree_key"])]
    }


def _steps(tree: Tree) -> Iterator[Step]:
    way = AGES.get(tree["age_method"])
    if way:
        yield way(tree)
    yield from _growth(tree, "girth", "cm")
    yield from _growth(tree, "height", "m")
    if not pd.isna(tree.get("biomass_kg", math.nan)):
        yield from _biomass(tree)


MEASURED_AT = later("planted in {planted}, measured at {first:.2f} (the year with decimals)")
MEASURED_BETWEEN = later(
    "planted in {planted}, measured between {first:.2f} and {last:.2f} (the year with decimals)"
)
NURSERY = later("A tree from a nursery was some years old when it was planted.")
OWN_TREES = later("Trees of the same species and setting in this survey.")
ONE_CITY = later("For street and park trees of one city; elsewhere the range is too narrow.")
WOODLAND = later(
    "Nobody said how it grew: taken as a woodland tree. In the open it would be younger."
)


def _age(tree: Tree, inputs: str, formula: str, method: str, *notes: str) -> Step:
    low, high = (round(tree[f"age_{end}_years"], 6) for end in ("low", "high"))
    result = say(SINCE[tree["age_since"]]).format(low=math.floor(low), high=math.ceil(high))
    note = " ".join(say(note) for note in notes if note)
    return Step(say("Age"), inputs, formula, result, method, note)


def _later(tree: Tree, column: str) -> str:
    """What a living tree has aged since its stem was measured or its rings counted."""
    years = tree[column]
    return say(", and {years:.1f} years since then").format(years=years) if years >= 0.05 else ""


def _planted(tree: Tree) -> Step:
    first, last = tree["age_measured_from"], tree["age_measured_to"]
    planted = f"{tree['age_planted']:.0f}"
    told = say(MEASURED_AT if first == last else MEASURED_BETWEEN)
    return _age(
        tree,
        told.format(planted=planted, first=first, last=last),
        span(f"{first:.2f} − {planted} − 1", f"{last:.2f} − {planted}"),
        "age_from_planting_year",
        NURSERY,
    )


def _rings(tree: Tree) -> Step:
    slow, fast = growth.age_rule("height of the ring count")
    rings, missing = tree["age_rings"], tree["age_ring_years_missing"]
    height = tree["age_ring_height_m"]
    inputs = say("{rings:g} rings").format(rings=rings)
    low, high = f"{rings:g} − 1", f"{rings:g} + 1"
    if not pd.isna(missing) and missing > 0:
        inputs += say(", {years:g} years missing in the middle").format(years=missing)
        high += f" + 2 × {missing:g}"
    if not pd.isna(height):
        inputs += say(", counted {height:g} m above the ground").format(height=height)
        low += f" + {height:g} / {fast:g}"
        high += f" + {height:g} / {slow:g}"
        grew = say("It grew up to there by {slow:g} to {fast:g} m a year.").format(
            slow=slow, fast=fast
        )
    else:
        grew = say("At what height they were counted nobody said.")
    formula = span(low, high) + _later(tree, "age_years_since_rings")
    return _age(tree, inputs, formula, "age_from_rings", THUMB, grew)


def _calibration(tree: Tree) -> Step:
    low_cm, high_cm, low, high = (
        tree[f"age_line_{end}"] for end in ("low_cm", "high_cm", "low_years", "high_years")
    )
    size = tree["diameter_cm"]
    inputs = say(
        "diameter {size:.1f} cm; the line through {trees:.0f} trees of known age goes from "
        "{low:.1f} years at {low_cm:.1f} cm to {high:.1f} years at {high_cm:.1f} cm"
    ).format(
        size=size,
        trees=tree["age_line_trees"],
        low=low,
        low_cm=low_cm,
        high=high,
        high_cm=high_cm,
    )
    slope = f"({high:.1f} − {low:.1f}) / ({high_cm:.1f} − {low_cm:.1f})"
    line = f"{low:.1f} + ({size:.1f} − {low_cm:.1f}) × {slope}"
    formula = _more_or_less(line) + _later(tree, "age_years_since_size")
    return _age(tree, inputs, formula, "age_from_calibration_range", SURE, OWN_TREES)


def _more_or_less(formula: str) -> str:
    return say("{formula}, more or less").format(formula=formula)


def _urban(tree: Tree) -> Step:
    size = tree["diameter_cm"]
    species, setting = tree["species_name"], tree["age_setting"]
    inputs = say("diameter {size:.1f} cm, {species}, {setting}, region {region}").format(
        size=size, species=species, setting=say(setting), region=tree["age_region"]
    )
    formula = _more_or_less(equation_text(tree, size)) + _later(tree, "age_years_since_size")
    return _age(tree, inputs, formula, "urban_prediction", SURE, ONE_CITY)


def _growth_factor(tree: Tree) -> Step:
    low, high = growth.age_rule("growth factor")
    size, factor = tree["diameter_cm"], tree["age_years_per_inch"]
    inputs = say("diameter {size:.1f} cm, {factor:g} years an inch for {species}").format(
        size=size, factor=factor, species=tree["species_name"]
    )
    formula = say("{formula}, times {low:g} to {high:g}").format(
        formula=f"{size:.1f} / 2.54 × {factor:g}", low=low, high=high
    )
    formula += _later(tree, "age_years_since_size")
    unsaid = "" if tree["age_setting_given"] else WOODLAND
    return _age(tree, inputs, formula, "age_from_growth_factor", THUMB, unsaid)


AGES: dict[str, Callable[[Tree], Step]] = {
    "planted": _planted,
    "rings": _rings,
    "own calibration": _calibration,
    "urban equation": _urban,
    "growth factor": _growth_factor,
}


GROWTH = {"girth": later("Growth in girth"), "height": later("Growth in height")}


def _growth(tree: Tree, what: str, unit: str) -> Iterator[Step]:
    name = f"growth_{what}_{unit}_per_year"
    grown, sd = tree[name], tree[f"{name}_sd"]
    if pd.isna(grown):
        return
    first, last, days = (tree[f"{name}_{part}"] for part in ("first", "last", "days"))
    within = not pd.isna(sd) and abs(grown) <= 2 * sd
    yield Step(
        say(GROWTH[what]),
        say(
            "{first:.1f} {unit} at the first visit, {last:.1f} {unit} {days:.0f} days later"
        ).format(first=first, last=last, days=days, unit=unit),
        f"({last:.1f} − {first:.1f}) × 365.25 / {days:.0f}",
        say("{growth} {unit} a year").format(
            growth=f"{figure(grown, 2)}{_doubt(sd, 2)}", unit=unit
        ),
        "increment_per_year",
        say("So little that it may be the measuring.") if within else "",
    )


def _biomass(tree: Tree) -> Iterator[Step]:
    yield _dry_weight(tree)
    share = next(float(row["share"]) for row in rows("carbon_shares") if row["material"] == DRY)
    weight = tree["biomass_kg"]
    carbon = float(metrics.carbon_from_biomass(weight, share))
    yield Step(
        say("Carbon in the rough dry weight"),
        say("rough dry weight {weight:.5g} kg, before rounding").format(weight=weight),
        f"{weight:.5g} × {share:g}",
        f"{carbon:.0f} kg",
        "carbon_from_biomass",
        say("As rough as the dry weight."),
    )
    yield Step(
        say("Carbon dioxide taken from the air for it"),
        say("carbon {carbon:.5g} kg, before rounding").format(carbon=carbon),
        f"{carbon:.5g} × 44 / 12",
        f"{float(metrics.carbon_dioxide_from_carbon(carbon)):.0f} kg",
        "carbon_dioxide_from_carbon",
        say("As rough as the dry weight. What the tree holds now, not what it takes up in a year."),
    )


DRY = "dry wood"
FOREST_TREES = later("For forest trees of the United States.")


def _dry_weight(tree: Tree) -> Step:
    sizes = _stems(tree)
    start, slope = tree["biomass_intercept"], tree["biomass_slope"]
    formula = " + ".join(f"exp({figure(start)} + {slope:g} × ln {size:.1f})" for size in sizes)
    sd = tree["biomass_sd_kg"]
    stems = say_count(
        "stem {sizes} cm thick; {group}", "stems {sizes} cm thick; {group}", len(sizes)
    )
    return Step(
        say("Rough dry weight"),
        stems.format(
            sizes=", ".join(f"{size:.1f}" for size in sizes), group=say(tree["biomass_group"])
        ),
        formula,
        f"{tree['biomass_kg']:.0f}{_doubt(sd, 0)} kg",
        "biomass_from_stems",
        f"{say(FOREST_TREES)} {_range_note(tree, max(sizes))}".strip(),
    )


def _doubt(sd: float, decimals: int) -> str:
    return "" if math.isnan(sd) else f" ± {2 * sd:.{decimals}f}"


def _range_note(tree: Tree, thickest: float) -> str:
    largest = tree["biomass_largest_cm"]
    if pd.isna(largest):
        return say("Up to what thickness the equation holds is not known here.")
    if thickest > largest:
        return say(
            "Thicker than the {largest:g} cm up to which the equation was made: very rough."
        ).format(largest=largest)
    return ""


def _stems(tree: Tree) -> list[float]:
    if tree["diameter_method"] != "stems":
        return [float(tree["diameter_cm"])]
    girths = [float(tree[name]) for name in stem_values(tree) if not pd.isna(tree[name])]
    return [float(metrics.diameter_from_girth(girth)) for girth in girths if girth > 0]
