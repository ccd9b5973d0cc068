"""The rough dry weight of every living tree, stem by stem; only for surveys that ask for it."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mapper import metrics
from mapper.language import later, say
from mapper.load.names import stem_values
from mapper.measure.inputs import Floats
from mapper.metrics.biomass import SMALLEST_CM
from mapper.reference import growth

NUMBERS = ["intercept", "slope", "log_sd", "largest_cm"]


def tree_biomass(trees: pd.DataFrame) -> pd.DataFrame:
    """Rough dry weight above the ground of each tree that has a group of species.

    `trees` are those of `Measured`. Columns: biomass_kg, biomass_sd_kg, biomass_reason (why there
    is none), and for the working biomass_group, biomass_intercept, biomass_slope, biomass_log_sd,
    biomass_largest_cm.
    """
    group = _groups(trees["species_name"])
    living = (trees["status"] == "alive").to_numpy()
    stems = np.where(living[:, None], stem_diameters(trees), np.nan)
    numbers = [group[name].to_numpy(dtype=float) for name in ("intercept", "slope", "log_sd")]
    # All stems of a tree were measured alike, and then each is as sure as all together.
    sds = np.where(np.isnan(stems), np.nan, trees["diameter_sd_cm"].to_numpy(dtype=float)[:, None])
    biomass = metrics.biomass_from_stems(stems, *numbers[:2])
    table = pd.DataFrame(
        {
            "biomass_kg": biomass,
            "biomass_sd_kg": metrics.biomass_from_stems_sd(stems, sds, *numbers),
            "biomass_group": group["name"].fillna("").astype(str).to_numpy(),
            "biomass_reason": _reasons(trees, group, stems, np.isnan(biomass)),
        },
        index=trees.index,
    )
    values = {f"biomass_{name}": group[name].to_numpy(dtype=float) for name in NUMBERS}
    return table.assign(**values)


def stem_diameters(trees: pd.DataFrame) -> Floats:
    """Diameters of a tree's stems along the last axis; its one diameter where it has one stem."""
    names = stem_values(trees.columns)
    whole = trees["diameter_cm"].to_numpy(dtype=float)[:, None]
    if not names:
        return whole
    girths = trees[names].to_numpy(dtype=float)
    several = metrics.diameter_from_girth(np.where(girths > 0, girths, np.nan))
    by_stems = (trees["diameter_method"] == "stems").to_numpy()
    one = np.where(np.arange(len(names)) == 0, whole, np.nan)
    return np.asarray(np.where(by_stems[:, None], several, one))


def _groups(species: "pd.Series[str]") -> pd.DataFrame:
    """One row a tree, empty where the group of its species is not clear."""
    found = {name: growth.biomass_group(name) for name in species.unique()}
    rows = {
        name: [group.name, *(getattr(group, number) for number in NUMBERS)]
        for name, group in found.items()
        if group
    }
    table = pd.DataFrame.from_dict(rows, orient="index", columns=["name", *NUMBERS])
    return table.reindex(species)


TOO_THIN = later("a stem is thinner than {least} cm, where the equations begin")


def _reasons(
    trees: pd.DataFrame, group: pd.DataFrame, stems: Floats, empty: NDArray[np.bool_]
) -> NDArray[np.object_]:
    thin = (stems < SMALLEST_CM).any(axis=1)
    cases = [
        (~empty, ""),
        ((trees["status"] != "alive").to_numpy(), say("the tree is not alive")),
        ((trees["species_name"] == "").to_numpy(), say("no species was named")),
        (group["slope"].isna().to_numpy(), say("no equation is known to hold for the species")),
        (trees["diameter_cm"].isna().to_numpy(), say("no girth or diameter that can be used")),
        (thin, say(TOO_THIN).format(least=SMALLEST_CM)),
    ]
    conditions, words = zip(*cases, strict=True)
    otherwise = str(say("the equation gives no weight"))
    reason: NDArray[np.object_] = np.select(list(conditions), list(words), otherwise).astype(object)
    return reason
