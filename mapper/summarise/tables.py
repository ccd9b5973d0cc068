"""trees → class counts and species composition."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mapper import metrics
from mapper.load.plot_sizes import SAMPLED
from mapper.summarise.classing import (
    Limits,
    class_index,
    diameter_limits,
    height_limits,
    in_group,
    size_limits,
)
from mapper.summarise.stands import counting
from mapper.summarise.weighing import weigh
from mapper.survey import Survey

WHOLE_SURVEY = ""


def summarise_classes(
    trees: pd.DataFrame, stands: pd.DataFrame, survey: Survey, plots: pd.DataFrame
) -> pd.DataFrame:
    """How many living trees are in each class: its stand, quantity, group, limits and name.

    All stands have the same classes, so that they can be laid side by side. `group` is softwood or
    hardwood where a scheme has limits of its own for either.
    """
    living = weighed(trees[counting(trees, survey)], stands, plots)
    diameter = living["classed_diameter_cm"].to_numpy(dtype=float)
    height = living["classed_height_m"].to_numpy(dtype=float)
    kinds = [
        ("diameter", "classed_diameter_cm", {"": diameter_limits(diameter, survey)}),
        ("height", "classed_height_m", {"": height_limits(height, survey)}),
        ("size", "classed_diameter_cm", size_limits(survey)),
    ]
    tables = [
        _class_counts(living[in_group(living, group)], limits, column, stands).assign(
            quantity=quantity, group=group, kind=number
        )
        for number, (quantity, column, by_group) in enumerate(kinds)
        for group, limits in by_group.items()
    ]
    whole = pd.concat(tables, ignore_index=True)
    ordered = whole.sort_values(["number", "kind"], kind="stable", ignore_index=True)
    return ordered[["stand", "quantity", "group", "lower", "upper", "name", "trees", "per_ha"]]


def weighed(living: pd.DataFrame, stands: pd.DataFrame, plots: pd.DataFrame) -> pd.DataFrame:
    """The trees with `weight`, `basal_per_ha` and the number of their stand, 0 for none."""
    number = pd.Index(stands["stand"]).get_indexer(living["stand"]) + 1
    return weigh(living, stands, plots).trees.assign(number=number)


def _class_counts(
    living: pd.DataFrame, limits: Limits, column: str, stands: pd.DataFrame
) -> pd.DataFrame:
    """Every class of all trees, then of stand after stand; empty classes are 0."""
    classes = len(limits.lower)
    index = class_index(living[column].to_numpy(dtype=float), limits)
    shape = (len(stands) + 1, classes + 1)
    at = living["number"].to_numpy() * shape[1] + index
    tally = np.bincount(at, living["tally"], minlength=shape[0] * shape[1]).reshape(shape)
    weight = np.bincount(at, living["weight"].fillna(0), minlength=tally.size).reshape(shape)
    trees = tally.copy()
    trees[0] = tally.sum(axis=0)
    base = np.append(np.nan, base_ha(stands))
    names = [WHOLE_SURVEY, *stands["stand"]]
    return pd.DataFrame(
        {
            "number": np.repeat(np.arange(shape[0]), classes),
            "stand": np.repeat(np.array(names, dtype=object), classes),
            "lower": np.tile(limits.lower, shape[0]),
            "upper": np.tile(np.where(np.isinf(limits.upper), np.nan, limits.upper), shape[0]),
            "name": list(limits.names) * shape[0],
            "trees": trees[:, :classes].ravel().astype(int),
            "per_ha": (weight[:, :classes] / base[:, None]).ravel(),
        }
    ).astype({"stand": str})


def base_ha(stands: pd.DataFrame) -> NDArray[np.float64]:
    """What weights are divided by for a figure per hectare, NaN where there is none."""
    design = stands["design"]
    complete = stands["area_ha"].where(design == "complete count")
    return complete.mask(design.isin(SAMPLED), 1.0).to_numpy(dtype=float)


def summarise_species(
    trees: pd.DataFrame, stands: pd.DataFrame, survey: Survey, plots: pd.DataFrame
) -> pd.DataFrame:
    """Which species make up each stand, and all trees together (stand ""), the commonest first.

    In a sampled stand the shares are those of the stand, not of the trees on the plots.
    """
    living = weighed(trees[counting(trees, survey)], stands, plots)
    basal = living["basal_area_m2"] * living["tally"]
    sampled = living["stand"].map(stands.set_index("stand")["design"]).isin(SAMPLED)
    told = living.assign(basal=basal, stems=living["weight"], thick=basal)
    told["thick"] = told["basal_per_ha"].where(sampled, basal)
    everyone = told.assign(number=0, stems=told["tally"], thick=basal)
    here = told[told["number"] > 0]
    base = np.append(np.nan, base_ha(stands))
    table = _composition(pd.concat([everyone, here]), base)
    names = np.array([WHOLE_SURVEY, *stands["stand"]], dtype=object)
    return table.assign(stand=pd.Series(names[table["number"]], dtype=str))[
        [
            "stand", "species", "common_name", "trees", "basal_area_m2", "share_stems",
            "share_basal_area", "importance_value", "stems_per_ha", "basal_area_m2_per_ha",
            "stoutest_cm", "tallest_m",
        ]
    ]  # fmt: skip


def _composition(living: pd.DataFrame, base_ha: NDArray[np.float64]) -> pd.DataFrame:
    groups = living.groupby(["number", "species_name"])
    table = groups.agg(
        common_name=("common_name", "first"),
        trees=("tally", "sum"),
        stems=("stems", "sum"),
        stoutest_cm=("diameter_cm", "max"),
        tallest_m=("height_m", "max"),
    ).join(groups[["basal", "thick"]].sum(min_count=1))
    table = table.rename_axis(["number", "species"]).reset_index()
    of_stand = table.groupby("number")[["stems", "thick"]].transform("sum")
    shares = table[["stems", "thick"]] / of_stand
    base = base_ha[table["number"]]
    table = table.assign(
        trees=table["trees"].astype(int),
        basal_area_m2=table["basal"],
        share_stems=shares["stems"],
        share_basal_area=shares["thick"],
        importance_value=metrics.importance_value(shares["stems"], shares["thick"]),
        stems_per_ha=table["stems"] / base,
        basal_area_m2_per_ha=table["thick"] / base,
    )
    order = ["number", "trees", "species"]
    return table.sort_values(order, ascending=[True, False, True], ignore_index=True)
