"""trees → class counts, species composition, comparison of stands."""

from collections.abc import Iterator
from itertools import combinations
from typing import Any

import numpy as np
import pandas as pd

from mapper import metrics
from mapper.summarise.classing import (
    Limits,
    class_index,
    diameter_limits,
    height_limits,
    size_limits,
)
from mapper.summarise.stands import ESTIMATES, Z95, counting
from mapper.survey import Survey

WHOLE_SURVEY = ""
SE = "_se_measurement"


def summarise_classes(trees: pd.DataFrame, stands: pd.DataFrame, survey: Survey) -> pd.DataFrame:
    """How many living trees are in each class: stand, quantity, lower, upper, name, trees, per_ha.

    All stands have the same classes, so that they can be laid side by side.
    """
    living = trees[counting(trees, survey)]
    diameter = living["classed_diameter_cm"].to_numpy(dtype=float)
    height = living["classed_height_m"].to_numpy(dtype=float)
    kinds = [
        ("diameter", "classed_diameter_cm", diameter_limits(diameter, survey)),
        ("height", "classed_height_m", height_limits(height)),
        ("size", "classed_diameter_cm", size_limits(survey)),
    ]
    tables = [
        _class_counts(group, limits, column).assign(stand=name, quantity=quantity, base=base_ha)
        for name, group, base_ha in _by_stand(living, stands)
        for quantity, column, limits in kinds
    ]
    whole = pd.concat(tables, ignore_index=True)
    whole["per_ha"] = whole["trees"] / whole["base"]
    return whole[["stand", "quantity", "lower", "upper", "name", "trees", "per_ha"]]


def _by_stand(
    living: pd.DataFrame, stands: pd.DataFrame
) -> Iterator[tuple[str, pd.DataFrame, float]]:
    """All trees, then stand by stand, each with the area that its counts may be divided by."""
    yield WHOLE_SURVEY, living, np.nan
    for name, design, area_ha in zip(
        stands["stand"], stands["design"], stands["area_ha"], strict=True
    ):
        base = float(area_ha) if design == "complete count" else np.nan
        yield name, living[living["stand"] == name], base


def _class_counts(living: pd.DataFrame, limits: Limits, column: str) -> pd.DataFrame:
    index = class_index(living[column].to_numpy(dtype=float), limits)
    counts = np.bincount(index, weights=living["tally"], minlength=len(limits.lower) + 1)
    return pd.DataFrame(
        {
            "lower": limits.lower,
            "upper": np.where(np.isinf(limits.upper), np.nan, limits.upper),
            "name": list(limits.names),
            "trees": counts[: len(limits.lower)].astype(int),
        }
    )


def summarise_species(trees: pd.DataFrame, stands: pd.DataFrame, survey: Survey) -> pd.DataFrame:
    """Which species make up each stand, and all trees together (stand ""), the commonest first."""
    living = trees[counting(trees, survey)]
    weighed = living.assign(basal=living["basal_area_m2"] * living["tally"])
    return pd.concat(
        [_composition(group).assign(stand=name) for name, group, _ in _by_stand(weighed, stands)],
        ignore_index=True,
    )[
        [
            "stand", "species", "common_name", "trees", "basal_area_m2",
            "share_stems", "share_basal_area", "stoutest_cm", "tallest_m",
        ]
    ]  # fmt: skip


def _composition(living: pd.DataFrame) -> pd.DataFrame:
    groups = living.groupby("species_name")
    table = groups.agg(
        common_name=("common_name", "first"),
        trees=("tally", "sum"),
        stoutest_cm=("diameter_cm", "max"),
        tallest_m=("height_m", "max"),
    ).join(groups["basal"].sum(min_count=1).rename("basal_area_m2"))
    table = table.assign(
        trees=table["trees"].astype(int),
        share_stems=table["trees"] / table["trees"].sum(),
        share_basal_area=table["basal_area_m2"] / table["basal_area_m2"].sum(),
    )
    ordered = table.rename_axis("species").reset_index()
    return ordered.sort_values(["trees", "species"], ascending=[False, True], ignore_index=True)


def compare_stands(stands: pd.DataFrame) -> pd.DataFrame:
    """Every pair of stands, every figure both have: difference with its 95 % interval.

    Taking the two uncertainties as independent is the careful side: what both stands share (one
    tape, one pace) would partly cancel.
    """
    rows = [
        _difference(one, other, quantity)
        for one, other in combinations(stands.to_dict("records"), 2)
        for quantity in ("stems_per_ha", *ESTIMATES)
        if not np.isnan([one[quantity], other[quantity]]).any()
    ]
    columns = [
        "stand",
        "other_stand",
        "quantity",
        "value",
        "other_value",
        "difference",
        "low",
        "high",
    ]
    return pd.DataFrame(rows, columns=[*columns, "sentence"])


def _difference(one: dict[Any, Any], other: dict[Any, Any], quantity: str) -> dict[str, object]:
    value, other_value = (float(stand[quantity]) for stand in (one, other))
    errors = [float(stand.get(quantity + SE, np.nan)) for stand in (one, other)]
    half = Z95 * float(metrics.combined_sd(*errors))
    difference = other_value - value
    counted = one["design"] == other["design"] == "complete count"
    exact = quantity == "stems_per_ha" and counted
    return {
        "stand": one["stand"],
        "other_stand": other["stand"],
        "quantity": quantity,
        "value": value,
        "other_value": other_value,
        "difference": difference,
        "low": difference if exact else difference - half,
        "high": difference if exact else difference + half,
        "sentence": _sentence(one, other, quantity, (value, other_value, 0.0 if exact else half)),
    }


WORDS = {
    "stems_per_ha": "stems on a hectare",
    "basal_area_m2_per_ha": "basal area on a hectare",
    "mean_diameter_cm": "average diameter",
    "quadratic_mean_diameter_cm": "quadratic mean diameter",
    "mean_height_m": "average height",
    "lorey_height_m": "Lorey height",
}


def _sentence(
    one: dict[Any, Any],
    other: dict[Any, Any],
    quantity: str,
    numbers: tuple[float, float, float],
) -> str:
    """What the two figures say in plain words, and no more than their interval allows."""
    value, other_value, half = numbers
    what = WORDS[quantity]
    if not one["design"] == other["design"] == "complete count":
        return f"The {what} is of the trees measured; it says nothing of those that were not."
    if np.isnan(half):
        return f"We cannot tell how sure the {what} is: some trees were measured in other ways."
    if abs(other_value - value) <= half:
        return f"In {what} these measurements show no difference."
    more, less = (other, one) if other_value > value else (one, other)
    ratio = max(value, other_value) / min(value, other_value)
    if ratio < 1.1:
        return f"{more['stand']} has a slightly greater {what} than {less['stand']}."
    return f"{more['stand']} has {_times(ratio)} the {what} of {less['stand']}."


def _times(ratio: float) -> str:
    if abs(ratio - round(ratio)) <= 0.1 * ratio and round(ratio) >= 2:
        return "about twice" if round(ratio) == 2 else f"about {round(ratio)} times"
    return f"about {ratio:.1f} times"
