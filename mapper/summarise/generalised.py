"""What was made coarser or kept back of each tree, in the words of Darwin Core's two fields."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mapper.language import figure, later, say
from mapper.summarise.places import DECIMALS, place_levels
from mapper.survey import Survey

DATE_CUT = {
    "day": "",
    "month": later("Date cut to the month."),
    "year": later("Date cut to the year."),
}
PLACE_HIDDEN = later("Place withheld.")


def place_cut(level: str) -> str:
    """What is said of a place cut to `0.01 deg`."""
    degrees = figure(float(level.removesuffix(" deg")))
    return say("Coordinates cut to {degrees} degree: further decimals dropped.").format(
        degrees=degrees
    )


def is_cut(trees: pd.DataFrame, level: str) -> "pd.Series[bool]":
    """Which places were cut to `0.01 deg`."""
    return trees["data_generalizations"].str.startswith(place_cut(level))


def is_hidden(trees: pd.DataFrame) -> "pd.Series[bool]":
    """Which places are kept back, of those that are known."""
    return trees["information_withheld"].str.startswith(say(PLACE_HIDDEN))


def with_generalisations(trees: pd.DataFrame, survey: Survey) -> pd.DataFrame:
    """The trees with data_generalizations and information_withheld; empty where all is told.

    Expects the trees as they were measured, with `privacy` and `secret`.
    """
    levels = place_levels(trees, survey.publish.positions)
    placed = trees["lat"].notna().to_numpy()
    told = {level: place_cut(level) for level in DECIMALS}
    cut = np.array([told.get(level, "") for level in levels], dtype=object)
    dated = trees["date"].notna().to_numpy()
    hidden = placed & np.isin(levels, ["hidden", "withheld"])
    stand = trees["secret"].to_numpy(dtype=bool) & (trees["stand"] != "").to_numpy()
    return trees.assign(
        data_generalizations=_sentences(
            np.where(placed, cut, ""), np.where(dated, say(DATE_CUT[survey.publish.dates]), "")
        ),
        information_withheld=_sentences(
            np.where(hidden, say(PLACE_HIDDEN), ""),
            np.where(stand, say("Stand withheld: it would tell the place."), ""),
        ),
    )


def _sentences(one: NDArray[np.object_], other: NDArray[np.object_]) -> list[str]:
    pairs = pd.Series(one, dtype=str).str.cat(pd.Series(other, dtype=str), sep=" ")
    return list(pairs.str.strip())
