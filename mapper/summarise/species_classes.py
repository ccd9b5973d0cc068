"""trees → how many of each species are in each class of diameter."""

import numpy as np
import pandas as pd

from mapper.summarise.classing import class_index, diameter_limits
from mapper.summarise.stands import counting
from mapper.summarise.tables import base_ha, weighed
from mapper.survey import Survey

KEYS = ["number", "species_name", "class"]


def summarise_species_classes(
    trees: pd.DataFrame, stands: pd.DataFrame, survey: Survey, plots: pd.DataFrame
) -> pd.DataFrame:
    """A row a stand, species and class of diameter in which there is a tree; "" is all trees.

    Withheld trees are left out: a class of one kind is often a single tree. So the counts may be
    less than those of all kinds together, whose limits these are.
    """
    living = weighed(trees[counting(trees, survey)], stands, plots)
    diameter = living["classed_diameter_cm"].to_numpy(dtype=float)
    limits = diameter_limits(diameter, survey)
    index = class_index(diameter, limits)
    told = (living["privacy"] != "withheld") & ~living["secret"]
    inside = living.assign(**{"class": index})[
        told.to_numpy(dtype=bool) & (index < len(limits.lower))
    ]
    whole = inside.assign(number=0, weight=np.nan)
    table = (
        pd.concat([whole, inside[inside["number"] > 0]])
        .groupby(KEYS, as_index=False)
        .agg(
            common_name=("common_name", "first"),
            trees=("tally", "sum"),
            weight=("weight", "sum"),
        )
    )
    at, number = table["class"].to_numpy(dtype=int), table["number"].to_numpy(dtype=int)
    names = np.array(["", *stands["stand"]], dtype=object)
    base = np.append(np.nan, base_ha(stands))
    return pd.DataFrame(
        {
            "stand": pd.Series(names[number], dtype=str),
            "species": table["species_name"],
            "common_name": table["common_name"],
            "lower": limits.lower[at],
            "upper": limits.upper[at],
            "trees": table["trees"].astype(int),
            "per_ha": table["weight"] / base[number],
        }
    )
