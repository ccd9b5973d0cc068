"""Which ways to a height a record holds whole, and what the others lack."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mapper.load.names import value_name
from mapper.reference.height_methods import METHODS, HeightMethod

Flags = NDArray[np.bool_]


def complete_sets(values: pd.DataFrame) -> Flags:
    """A row for each of METHODS, a column for each record: all that it needs is there."""
    return np.array([_fits(values, method) & _filled(values, method.needs) for method in METHODS])


def named_sets(values: pd.DataFrame) -> Flags:
    """A row for each of METHODS: the record's height_method names it."""
    return np.array([(values["height_method"] == method.name).to_numpy() for method in METHODS])


def missing_parts(values: pd.DataFrame, method: HeightMethod) -> pd.DataFrame:
    """A column for each thing the method asks for: whether the record lacks it."""
    lacks = {name: values[value_name(name)].isna().to_numpy() for name in method.needs}
    heading, words = method.only
    if heading:
        lacks[f"{heading} '{words[-1]}'"] = ~_fits(values, method)
    return pd.DataFrame(lacks, index=values.index)


def _filled(values: pd.DataFrame, names: tuple[str, ...]) -> Flags:
    whole = np.ones(len(values), dtype=bool)
    for name in names:
        whole &= values[value_name(name)].notna().to_numpy()
    return whole


def _fits(values: pd.DataFrame, method: HeightMethod) -> Flags:
    """The heading the method depends on allows it; who names the method says so as well."""
    heading, words = method.only
    if not heading:
        return np.ones(len(values), dtype=bool)
    fits = values[heading].isin(words)
    if heading == "status":
        fits |= values["height_method"] == method.name
    return fits.to_numpy(dtype=bool)
