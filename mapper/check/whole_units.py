"""A whole file in another unit: nothing in it contradicts itself, but no trees are shaped so."""

import numpy as np
import pandas as pd

from mapper.check.findings import Rule, findings, joined
from mapper.check.slip_evidence import sizes_of
from mapper.check.trend import FEWEST_ALIKE, town_log_height
from mapper.reference import rows

# The middle tree of a forest is some 2.3 times as high as a town tree of its thickness (UFC1991),
# 0.83 in logarithms. Beyond 1.05 no kind of stand is usual; within -0.7 to 0.95 all kinds are.
UNUSUAL, USUAL = 1.05, (-0.7, 0.95)
# cm and m, of the middle tree; of 118 young pines (tests/open_data/finpines_126.csv) it is 2 cm.
MIDDLE_SIZES = {"log_d": (1.5, 200.0), "log_h": (1.5, 60.0)}
MOVES = {"girth": "log_d", "diameter": "log_d", "height": "log_h"}


def units_of_files(records: pd.DataFrame, values: pd.DataFrame) -> pd.DataFrame:
    """One warning for each file whose middle tree is far too high or too low for its stem."""
    sizes = sizes_of(records, values)
    both = sizes[sizes["upright"] & sizes["log_d"].notna() & sizes["log_h"].notna()]
    both = both.assign(file=values["file"][both.index])
    middle = both.groupby("file")[["log_d", "log_h"]].median()
    middle = middle[both.groupby("file").size() >= FEWEST_ALIKE]
    off = middle["log_h"] - town_log_height(middle["log_d"].to_numpy())
    odd = middle[(off.abs() > UNUSUAL) | ~_of_trees(middle)]
    return joined([_said(values, int(str(file)), sizes) for file, sizes in odd.iterrows()])


def _of_trees(middle: pd.DataFrame) -> "pd.Series[bool]":
    """Whether the middle sizes are those of trees at all."""
    told = pd.Series(True, index=middle.index)
    for name, (low, high) in MIDDLE_SIZES.items():
        told &= middle[name].between(np.log(low), np.log(high))
    return told


def _said(values: pd.DataFrame, file: int, middle: "pd.Series[float]") -> pd.DataFrame:
    told = values[values["file"] == file]
    stem = "girth" if told["girth_cm"].notna().any() else "diameter"
    causes = [
        f"{slip['column']}: {slip['cause']}"
        for slip in rows("slips")
        if slip["column"] in (stem, "height") and _usual(middle, slip)
    ]
    at = told.head(1).assign(row=np.nan, tree="", cause=" Or ".join(causes)).set_axis([-1])
    message = (
        f"The middle tree of this file is {np.exp(middle['log_d']):.0f} cm thick and "
        f"{np.exp(middle['log_h']):.1f} m high: hardly any stand is like that."
    )
    rule = Rule("units_of_file", "warning", "height", "Write the unit in the headings.")
    return findings(rule, at, message)


def _usual(middle: "pd.Series[float]", slip: dict[str, str]) -> bool:
    """Whether the middle tree is a usual one with this slip undone."""
    undone = middle.copy()
    undone[MOVES[slip["column"]]] += np.log(float(slip["factor"]))
    off = float(undone["log_h"] - town_log_height(np.array([undone["log_d"]]))[0])
    sound = bool(_of_trees(undone.to_frame().T).iloc[0])
    return sound and USUAL[0] <= off <= USUAL[1]
