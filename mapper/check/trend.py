"""How high trees of a survey are for their thickness: a curve that a few slips cannot bend."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mapper.reference import rows

Floats = NDArray[np.float64]
Places = NDArray[np.intp]
BREAST_HEIGHT_M = 1.3  # where the curve starts; other conventions move it by centimetres
FEWEST = 12  # trees with both sizes before a survey has a curve of its own
MOST = 400  # trees the curve is drawn through: pairs grow with the square
FEWEST_ALIKE = 8  # trees of a kind before it has its own level
MAD_TO_SD = 1.4826  # median absolute deviation to sd, normal distribution
# From wide to narrow. Trees of the open and of a forest differ more than two species do.
PLACES = (["place"],)
KINDS = (["leaf_kind"], ["species_name"], ["place"], ["place", "species_name"])
# Heights of one species in one forest scatter by some 15 % about their curve (UFC1991); a very
# even plantation gets no sharper limit than this.
LEAST_SD = 0.10
TOWN_SD = 0.33  # a quarter of the way from 1 in 100 to 99 in 100 trees, in logarithms (UTD2016)


@dataclass(frozen=True)
class Curve:
    """Näslund's height curve, with the level of each kind of tree and the scatter about it."""

    start: float
    slope: float
    levels: Floats  # of each record's kind, in logarithms
    sd: Floats  # scatter about them, likewise

    def log_height(self, log_diameter: Floats, at: Places) -> Floats:
        """Logarithm of the height that trees so thick have, in the records `at`. [ln m]"""
        diameter = np.exp(log_diameter)
        root = diameter / np.maximum(self.start + self.slope * diameter, 1e-6)
        return np.asarray(np.log(BREAST_HEIGHT_M + root**2) + self.levels[at])


@dataclass(frozen=True)
class TownTrees:
    """Street trees of many towns: the curve of a survey too small for its own."""

    sd: Floats

    def log_height(self, log_diameter: Floats, at: Places) -> Floats:
        """Logarithm of the height that trees so thick have, wherever they stand. [ln m]"""
        return town_log_height(log_diameter)


def town_log_height(log_diameter: Floats) -> Floats:
    """Logarithm of the height that half the town trees so thick exceed. [ln m]"""
    table = rows("slenderness")
    middle = [np.log(float(row["lower_cm"]) * float(row["upper_cm"])) / 2 for row in table[:-1]]
    middle += [np.log(120.0)]  # of the open class
    ratio = [np.log(float(row["middle"]) / 100) for row in table]
    return np.asarray(log_diameter + np.interp(log_diameter, middle, ratio))


def height_curve(sizes: pd.DataFrame) -> Curve | TownTrees:
    """The curve through `sizes`: log_d, log_h, upright, place, species_name, leaf_kind."""
    both = sizes[sizes["log_d"].notna() & sizes["log_h"].notna() & sizes["upright"]]
    both = both[np.exp(both["log_h"]) > BREAST_HEIGHT_M]
    town = TownTrees(np.full(len(sizes), TOWN_SD))
    if len(both) < FEWEST:
        return town
    thinned = both.iloc[np.linspace(0, len(both) - 1, min(len(both), MOST)).astype(int)]
    diameter = np.exp(thinned["log_d"].to_numpy())
    root = np.sqrt(np.exp(thinned["log_h"].to_numpy()) - BREAST_HEIGHT_M)
    start, slope = robust_line(diameter, diameter / root)
    if not (start >= 0 and slope > 0):  # no curve of a tree: as in a survey of one size
        return town
    nothing: Floats = np.zeros(len(sizes), dtype=np.float64)
    bare = Curve(start, slope, nothing, nothing)
    everywhere = np.arange(len(sizes))
    off = sizes["log_h"] - bare.log_height(sizes["log_d"].to_numpy(), everywhere)
    levels = levels_of_kinds(off.where(sizes["upright"]), sizes)
    left = (off - levels).abs().where(sizes["upright"])
    # A place whose trees scatter more than others gets its own measure, never a smaller one.
    scatter = np.fmax(levels_of_kinds(left, sizes, PLACES), left.median())
    sd = np.maximum(MAD_TO_SD * scatter, LEAST_SD)
    return Curve(start, slope, np.asarray(levels, dtype=float), np.asarray(sd, dtype=float))


def robust_line(x: Floats, y: Floats) -> tuple[float, float]:
    """Intercept and slope: medians over all pairs of points, so that outliers do not count."""
    first, second = np.triu_indices(len(x), 1)
    run, rise = x[second] - x[first], y[second] - y[first]
    apart = np.abs(run) > 1e-9 * np.abs(x).max()
    if not apart.any():
        return np.nan, np.nan
    slope = float(np.median(rise[apart] / run[apart]))
    return float(np.median(y - slope * x)), slope


def levels_of_kinds(
    amounts: "pd.Series[float]", sizes: pd.DataFrame, kinds: tuple[list[str], ...] = KINDS
) -> "pd.Series[float]":
    """The median of the narrowest kind each record shares with enough others, else of all."""
    level = pd.Series(amounts.median(), index=amounts.index, dtype=float)
    for kind in kinds:
        groups = amounts.groupby([sizes[name] for name in kind])
        told = (sizes[kind] != "").all(axis=1)
        enough = (groups.transform("count") >= FEWEST_ALIKE) & told
        level = groups.transform("median").where(enough, level)
    return level
