"""A size that the record calls approximate is an estimate by eye, unless a method is named."""

import pandas as pd

from mapper.load.names import is_stem
from mapper.load.reading import A_RANGE, APPROXIMATE

METHODS = {"girth": "girth_method", "diameter": "girth_method", "height": "height_method"}
BY_EYE = "by eye"


def as_estimates(values: pd.DataFrame, problems: pd.DataFrame) -> pd.DataFrame:
    """The values; `~80` and `80-82` have the method by eye: no tape's accuracy holds there."""
    rough = problems[
        problems["rule"].isin([APPROXIMATE, A_RANGE]) & (problems["severity"] != "error")
    ]
    method = rough["column"].map(
        lambda name: METHODS["girth"] if is_stem(name) else METHODS.get(name)
    )
    kept = values.copy(deep=False)
    for name, group in rough.groupby(method):
        records = group["record"].unique()
        unsaid = kept.loc[records, name] == ""
        kept[name] = kept[name].mask(kept.index.isin(records[unsaid]), BY_EYE)
    return kept
