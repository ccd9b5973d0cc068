"""A tree's place among others, never surer than their uncertainties."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

Numbers = NDArray[np.int64]


def rank_limits(values: pd.Series, half_widths: pd.Series) -> tuple[Numbers, Numbers]:
    """The best and the worst place that each of some trees can have, the largest first.

    Another tree is surely larger only where its whole range lies above this one's whole range.
    That asks for more than two ranges of 95 % need: two trees whose ranges just touch differ at
    about 99.5 %, which leaves room for the many pairs that a rank rests on.

    Parameters
    ----------
    values
        Sizes, in any one unit; none missing.
    half_widths
        Two standard uncertainties of each; NaN where none is known: such a tree may have any place.
    """
    half = half_widths.fillna(np.inf).to_numpy(dtype=float)
    size = values.to_numpy(dtype=float)
    low, high = size - half, size + half
    surely_larger = len(size) - np.searchsorted(np.sort(low), high, side="right")
    surely_smaller = np.searchsorted(np.sort(high), low, side="left")
    return 1 + surely_larger, len(size) - surely_smaller
