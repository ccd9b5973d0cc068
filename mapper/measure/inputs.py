"""How sure each input is, by the way it was measured: reference/uncertainties.csv as arrays."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mapper.reference import rows

Floats = NDArray[np.float64]

# What a girth or a baseline is when the record does not say: the usual tool, and the page says so.
ASSUMED = {"girth": "tape", "diameter": "tape", "baseline": "taped"}


@dataclass(frozen=True)
class Spread:
    """Standard uncertainty of one input by one method."""

    sd: float
    relative: bool
    shared: bool


def spreads() -> dict[tuple[str, str], Spread]:
    """The rows of reference/uncertainties.csv by input and method."""
    return {
        (row["input"], row["method"]): Spread(
            float(row["sd"]), row["kind"] == "relative", row["shared"] == "yes"
        )
        for row in rows("uncertainties")
    }


def input_sd(quantity: str, methods: "pd.Series[str]", amounts: Floats) -> Floats:
    """Standard uncertainty of each amount; NaN for a method that the reference table lacks."""
    known = spreads()
    codes, names = pd.factorize(methods)
    found = [known.get((quantity, name)) for name in names]
    sds = np.array([one.sd if one else np.nan for one in found])
    shares = np.array([one is not None and one.relative for one in found], dtype=bool)
    if not shares.any():
        return np.asarray(sds[codes])
    return np.asarray(sds[codes] * np.where(shares[codes], amounts, 1.0))


def input_sds(quantity: str, methods: "pd.Series[str]", amounts: Floats) -> tuple[Floats, Floats]:
    """Standard uncertainty of each amount, and of it the part that all trees have in common."""
    total = input_sd(quantity, methods, amounts)
    common = [
        method for (name, method), one in spreads().items() if name == quantity and one.shared
    ]
    if not common:
        return total, np.zeros(len(total))
    return total, np.where(methods.isin(common).to_numpy(), total, 0.0)
