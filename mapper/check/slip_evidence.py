"""What speaks for and against a size: the tree's other size, its other visits, its neighbours."""

from collections.abc import Callable
from typing import NamedTuple

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mapper import metrics
from mapper.check.trend import FEWEST_ALIKE, MAD_TO_SD, height_curve, levels_of_kinds
from mapper.reference import rows

Floats = NDArray[np.float64]
Places = NDArray[np.intp]


class Sizes(NamedTuple):
    """Sizes of some records, as written or with a slip undone. [ln cm], [ln m]"""

    log_d: Floats
    log_h: Floats
    log_beside: Floats  # a diameter beside a girth


Evidence = Callable[[Places, Sizes], Floats]  # how surprising these sizes are in these records
SPECIES = (["species_name"],)
GONE = ("dead", "fallen", "stump")
# Sizes have more outliers than a normal distribution: broken tops, open-grown trees among forest
# trees. Student's t with so many degrees of freedom fits 385 heights of one forest (UFC1991).
TAIL = 10.0
PEERS_SD = {"log_d": 0.40, "log_h": 0.35}  # the least spread of sizes within a species
VISIT_SD = {"log_d": 0.04, "log_h": 0.08}  # the least error of one reading beside another
BESIDE_SD = 0.05  # a girth and a diameter of one stem
DAYS_PER_YEAR = 365.25


def surprise(deviation: Floats) -> Floats:
    """Minus twice the log likelihood of so many standard deviations; 0 where nothing is known."""
    told = (TAIL + 1) * np.log1p(np.square(deviation) / TAIL)
    return np.where(np.isnan(told), 0.0, told)


def sizes_of(records: pd.DataFrame, values: pd.DataFrame) -> pd.DataFrame:
    """Logarithms of the sizes of single stems, also of those that left the figures.

    Columns: log_d, log_h, log_beside (a diameter beside a girth), species_name, leaf_kind,
    place (the stand, else the file), upright, day, tree (the number within its stand), d_sd and
    h_sd (relative).
    """
    stem = values["girth_cm"] / np.pi
    stem = records["diameter_cm"].fillna(stem.fillna(values["diameter_cm"]))
    single = records["stems"] <= 1
    height = records["height_m"].fillna(values["height_m"])
    beside = values["diameter_cm"].where(values["girth_cm"].notna() & single)
    number = values["tree"].astype(str).str.strip().str.casefold()
    stand = values["stand"].astype(str).str.casefold()
    return pd.DataFrame(
        {
            "log_d": _logarithm(stem.where(single)),
            "log_h": _logarithm(height),
            "log_beside": _logarithm(beside),
            "species_name": values["species_name"],
            "leaf_kind": values["leaf_kind"],
            "place": stand.where(stand != "", "file " + values["file"].astype(str)),
            "upright": ~values["status"].isin(GONE) & single,
            "day": records["date"],
            "tree": (stand + "|" + number).where(number != "", values["tree_key"]),
            "d_sd": records["diameter_sd_cm"] / records["diameter_cm"],
            "h_sd": records["height_sd_m"] / records["height_m"],
        }
    )


def _logarithm(amounts: pd.Series) -> pd.Series:
    return pd.Series(np.log(amounts.where(amounts > 0).to_numpy(dtype=float)), amounts.index)


def all_evidence(sizes: pd.DataFrame) -> list[Evidence]:
    """Every kind of evidence that this survey has, one function each."""
    lone_heights = sizes.assign(log_h=sizes["log_h"].where(sizes["log_d"].isna()))
    return [
        _shape(sizes),
        _peers(sizes, "log_d"),
        _peers(lone_heights, "log_h"),
        _visits(sizes, "log_d"),
        _visits(sizes, "log_h"),
        lambda at, told: surprise((told.log_d - told.log_beside) / BESIDE_SD),
    ]


def _shape(sizes: pd.DataFrame) -> Evidence:
    curve = height_curve(sizes)
    upright = np.where(sizes["upright"], 1.0, np.nan)

    def evidence(at: Places, told: Sizes) -> Floats:
        off = told.log_h - curve.log_height(told.log_d, at)
        return surprise(upright[at] * off / curve.sd[at])

    return evidence


def _peers(sizes: pd.DataFrame, quantity: str) -> Evidence:
    """Other trees of the species; nothing where there are too few."""
    amounts = sizes[quantity]
    level = levels_of_kinds(amounts, sizes, SPECIES)
    spread = MAD_TO_SD * levels_of_kinds((amounts - level).abs(), sizes, SPECIES)
    enough = amounts.groupby(sizes["species_name"]).transform("count") >= FEWEST_ALIKE
    middle = level.where(enough).to_numpy(dtype=float)
    sd = spread.clip(lower=PEERS_SD[quantity]).to_numpy(dtype=float)

    def evidence(at: Places, told: Sizes) -> Floats:
        return surprise((getattr(told, quantity) - middle[at]) / sd[at])

    return evidence


def _visits(sizes: pd.DataFrame, quantity: str) -> Evidence:
    """The reading before and the one after of the same tree, and how far it may have grown."""
    sd = sizes["d_sd" if quantity == "log_d" else "h_sd"]
    given = sizes.assign(sd=sd.fillna(0.0))[sizes[quantity].notna() & sizes["day"].notna()]
    given = given[given.duplicated("tree", keep=False)].sort_values("day", kind="stable")
    limits = [_neighbour(given, quantity, step).reindex(sizes.index) for step in (1, -1)]
    near = [limit.to_numpy(dtype=float).T for limit in limits]

    def evidence(at: Places, told: Sizes) -> Floats:
        here = getattr(told, quantity)
        off = [
            np.maximum(np.maximum(low[at] - here, here - high[at]), 0) / sd[at]
            for low, high, sd in near
        ]
        return np.asarray(sum(surprise(one) for one in off))

    return evidence


def _neighbour(given: pd.DataFrame, quantity: str, step: int) -> pd.DataFrame:
    """Between which sizes the reading `step` before allows this one to lie, and its error."""
    other = given.groupby("tree")[[quantity, "day", "sd"]].shift(step)
    years = (given["day"] - other["day"]).dt.days / DAYS_PER_YEAR
    what = "girth" if quantity == "log_d" else "height"
    (most,) = (
        float(row["limit_per_year"]) for row in rows("growth_limits") if row["quantity"] == what
    )
    size = np.exp(other[quantity]) * (np.pi if quantity == "log_d" else 1.0)
    grown = np.log(np.maximum(size + most * years, 0.1 * size) / size)
    both = metrics.combined_sd(given["sd"], other["sd"])
    return pd.DataFrame(
        {
            "low": other[quantity] + np.minimum(grown, 0),
            "high": other[quantity] + np.maximum(grown, 0),
            "sd": np.maximum(both, VISIT_SD[quantity]),
        },
        index=given.index,
    )
