"""What was made coarser or kept back of each tree, in the words of Darwin Core's two fields."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mapper.summarise.places import DECIMALS, place_levels
from mapper.survey import Survey

DATE_CUT = {"day": "", "month": "Date cut to the month.", "year": "Date cut to the year."}
PLACE_CUT = {
    name: f"Coordinates cut to {name.removesuffix(' deg')} degree: further decimals dropped."
    for name in DECIMALS
}


def with_generalisations(trees: pd.DataFrame, survey: Survey) -> pd.DataFrame:
    """The trees with data_generalizations and information_withheld; empty where all is told.

    Expects the trees as they were measured, with `privacy` and `secret`.
    """
    levels = place_levels(trees, survey.publish.positions)
    placed = trees["lat"].notna().to_numpy()
    cut = np.array([PLACE_CUT.get(name, "") for name in levels], dtype=object)
    dated = trees["date"].notna().to_numpy()
    hidden = placed & np.isin(levels, ["hidden", "withheld"])
    stand = trees["secret"].to_numpy(dtype=bool) & (trees["stand"] != "").to_numpy()
    return trees.assign(
        data_generalizations=_sentences(
            np.where(placed, cut, ""), np.where(dated, DATE_CUT[survey.publish.dates], "")
        ),
        information_withheld=_sentences(
            np.where(hidden, "Place withheld.", ""),
            np.where(stand, "Stand withheld: it would tell the place.", ""),
        ),
    )


def _sentences(one: NDArray[np.object_], other: NDArray[np.object_]) -> list[str]:
    pairs = pd.Series(one, dtype=str).str.cat(pd.Series(other, dtype=str), sep=" ")
    return list(pairs.str.strip())
