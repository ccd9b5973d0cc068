"""Cells filled down and instruments that stuck: the same values in row after row."""

import numpy as np
import pandas as pd

from mapper.check.findings import Rule, findings, joined, worded
from mapper.load.names import stem_values

# What is measured on each tree anew; a baseline or an eye height may well stay the same.
MEASURED = ["girth_cm", "diameter_cm", "height_m", "angle_top_deg", "slant_top_m", "tree_shadow_m"]
TOGETHER = ["angle_base_deg", "angle_mark_deg", "slant_base_m", "diameter_2_cm"]
# A run is named when chance makes one in a hundred surveys like this.
CHANCE = 0.01
SORTED = 0.9  # rows in the order of their sizes hold like beside like
FEWEST = 10


def same_again(values: pd.DataFrame) -> pd.DataFrame:
    """Rows that hold the measurements of the row above, though of another tree."""
    # A diameter beside a girth is often computed from it: one figure, not two.
    values = values.assign(diameter_cm=values["diameter_cm"].where(values["girth_cm"].isna()))
    columns = [name for name in (*MEASURED, *stem_values(values)) if values[name].notna().any()]
    together = [*columns, *(name for name in TOGETHER if values[name].notna().any())]
    runs = [_copied_run(values, together)] if len(together) > 1 else []
    copied = runs[0]["run"] > 0 if runs else pd.Series(False, index=values.index)
    found = [_said(values, run, together, COPIED, CAUSE_COPIED) for run in runs]
    for name in columns:
        run = _runs(values, values[[name]].where(~copied))
        found.append(_said(values, run, [name], STUCK, CAUSE_STUCK))
    return joined(found)


COPIED, STUCK = "copied_down", "stuck"
CAUSE_COPIED = "The cells were probably filled down from the first row."
CAUSE_STUCK = "An instrument that stuck, or a value carried on from tree to tree."


def _copied_run(values: pd.DataFrame, columns: list[str]) -> pd.DataFrame:
    """Runs of rows alike in all that was measured, at least two figures."""
    told = values[columns]
    return _runs(values, told.where(told.notna().sum(axis=1) >= 2))


def _runs(values: pd.DataFrame, told: pd.DataFrame) -> pd.DataFrame:
    """For each row the number of its run (0: none that chance does not make), and its place in it.

    A row goes on with a run when it has the measurements of the row above and another tree's name.
    """
    given = told.notna().any(axis=1)
    codes = told[given].fillna(-1e9).groupby(list(told.columns), sort=False).ngroup()
    whole = codes.reindex(values.index, fill_value=-1)
    place = values[["file", "sheet"]].ne(values[["file", "sheet"]].shift()).any(axis=1)
    again = given & (whole == whole.shift()) & ~place
    again &= values["tree_key"] != values["tree_key"].shift()
    number = (~again).cumsum()
    length = again.groupby(number).transform("sum")
    once = told[given & ~again]
    by_chance = given.sum() * _coincidence(once) ** length.to_numpy(dtype=float)
    enough = length >= (3 if told.shape[1] == 1 else 1)  # four trees in a row for a single figure
    odd = enough & (by_chance < CHANCE) & ~_in_order(once)
    return pd.DataFrame(
        {"run": number * odd, "step": again.groupby(number).cumsum(), "length": length}
    )


def _coincidence(told: pd.DataFrame) -> float:
    """How often two trees have the same figures by chance; more often than if independent."""
    count = len(told)
    if count < FEWEST:
        return 1.0
    shares = [told[name].value_counts().to_numpy() for name in told]
    single = [float(np.sum(n * (n - 1)) / max(n.sum() * (n.sum() - 1), 1)) for n in shares]
    least = 1.0 / (count * (count - 1))
    # Height goes with girth: beyond the first figure each tells only half as much.
    powers = [1.0, *(0.5 for _ in single[1:])]
    ordered = sorted(max(share, least) for share in single)
    together = float(np.prod([share**power for share, power in zip(ordered, powers, strict=True)]))
    same = told.groupby(list(told.columns), dropna=False).size().to_numpy()
    return max(together, float(np.sum(same * (same - 1)) / (count * (count - 1))))


def _in_order(told: pd.DataFrame) -> bool:
    """Whether the rows were sorted by one of the figures."""
    place = pd.Series(np.arange(len(told), dtype=float), index=told.index)
    ranks = [told[name].rank().corr(place) for name in told]
    return any(abs(rank) > SORTED for rank in ranks if not np.isnan(rank))


def _said(
    values: pd.DataFrame, run: pd.DataFrame, columns: list[str], rule: str, cause: str
) -> pd.DataFrame:
    """A finding for every row that repeats the one above."""
    at = values[(run["run"] > 0) & (run["step"] > 0)]
    length, step = run["length"][at.index], run["step"][at.index]
    first = values.iloc[values.index.get_indexer(at.index) - step].set_index(at.index)
    what = _named(at, columns)
    template = "{} rows in a row, of as many trees, hold the same {}: from row {} on."
    message = worded(template, length + 1, what, first["row"])
    heading = columns[0].rsplit("_", 1)[0]
    advice = "Look at the record sheet: was each tree measured?"
    shown = at.assign(cell=at[columns[0]].map("{:g}".format).replace("nan", ""))
    found = findings(Rule(rule, "warning", heading, advice, cause), shown, message)
    return found.assign(other_tree=first["tree"].to_numpy())


def _named(at: pd.DataFrame, columns: list[str]) -> "pd.Series[str]":
    """The figures that a row repeats, in words."""
    words = pd.Series("", index=at.index, dtype=str)
    for name in columns:
        heading = name.rsplit("_", 1)[0].replace("_", " ")
        joint = np.where(words == "", "", ", ")
        words = words.mask(at[name].notna(), words + joint + heading)
    return words
