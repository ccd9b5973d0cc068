"""Which of many names are among many others."""

from typing import Any

import numpy as np
import pandas as pd
from numpy.typing import NDArray


def among(names: pd.Series, others: "pd.Series | pd.Index[Any]") -> NDArray[np.bool_]:
    """For each name whether it is one of the others; Series.isin walks through text one by one.

    Examples
    --------
    >>> among(pd.Series(["a", "b"]), pd.Series(["b"])).tolist()
    [False, True]
    """
    known = pd.Index(others).unique()
    return np.asarray(known.get_indexer(pd.Index(names)) >= 0)
