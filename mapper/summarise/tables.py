"""trees → class counts and species composition."""

from collections.abc import Iterator

import numpy as np
import pandas as pd

from mapper.summarise.classing import (
    Limits,
    class_index,
    diameter_limits,
    height_limits,
    in_group,
    size_limits,
)
from mapper.summarise.stands import counting
from mapper.survey import Survey

WHOLE_SURVEY = ""


def summarise_classes(trees: pd.DataFrame, stands: pd.DataFrame, survey: Survey) -> pd.DataFrame:
    """How many living trees are in each class: its stand, quantity, group, limits and name.

    All stands have the same classes, so that they can be laid side by side. `group` is softwood or
    hardwood where a scheme has limits of its own for either.
    """
    living = trees[counting(trees, survey)]
    diameter = living["classed_diameter_cm"].to_numpy(dtype=float)
    height = living["classed_height_m"].to_numpy(dtype=float)
    kinds = [
        ("diameter", "classed_diameter_cm", {"": diameter_limits(diameter, survey)}),
        ("height", "classed_height_m", {"": height_limits(height, survey)}),
        ("size", "classed_diameter_cm", size_limits(survey)),
    ]
    tables = [
        _class_counts(table[in_group(table, group)], limits, column).assign(
            stand=name, quantity=quantity, group=group, base=base_ha
        )
        for name, table, base_ha in _by_stand(living, stands)
        for quantity, column, by_group in kinds
        for group, limits in by_group.items()
    ]
    whole = pd.concat(tables, ignore_index=True)
    whole["per_ha"] = whole["trees"] / whole["base"]
    return whole[["stand", "quantity", "group", "lower", "upper", "name", "trees", "per_ha"]]


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
