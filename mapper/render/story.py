"""What a survey says at first sight: how big its trees are, and what changed since last time."""

import math

import pandas as pd

from mapper.language import say, say_count
from mapper.render.quantities import Scale, measured, plain
from mapper.render.visits_chart import decimal_year

LEAST_TREES = 8  # a middle half of fewer says little


def how_big(trees: pd.DataFrame, shown: dict[str, Scale]) -> str:
    """Between what girths the middle half of the living trees lies; "" for few trees."""
    girths = trees.loc[trees["status"] == "alive", "girth_cm"].dropna().astype(float)
    if len(girths) < LEAST_TREES:
        return ""
    scale = Scale(shown["cm"].factor, shown["cm"].unit, 0)
    low, high = (plain(float(girths.quantile(part)), scale) for part in (0.25, 0.75))
    if low == high:
        return ""
    return say("Half of them are between {low} and {high} round.").format(low=low, high=high)


def what_changed(visits: pd.DataFrame, shown: dict[str, Scale]) -> str:
    """Trees of the newest year that were measured in an earlier one; "" where none was."""
    dated = visits[visits["date"].fillna("") != ""]
    years = dated["date"].str[:4]
    if years.nunique() < 2:
        return ""
    newest = years.max()
    last = dated[years == newest].drop_duplicates("tree", keep="last")
    before = dated[years < newest].drop_duplicates("tree", keep="last")
    both = before.merge(last, on="tree", suffixes=("_before", ""))
    told = [
        _growth(both[both["status"].isin(["", "alive"])], shown),
        _died(both),
    ]
    return " ".join(sentence for sentence in told if sentence)


def _growth(both: pd.DataFrame, shown: dict[str, Scale]) -> str:
    sized = both.dropna(subset=["diameter_cm", "diameter_cm_before"])
    if sized.empty:
        return ""
    # A year or a month alone counts as its middle; two visits are never less than a day apart.
    span = (sized["date"].map(decimal_year) - sized["date_before"].map(decimal_year)).clip(1 / 366)
    rate = math.pi * (sized["diameter_cm"] - sized["diameter_cm_before"]).astype(float) / span
    errors = sized[["diameter_sd_cm", "diameter_sd_cm_before"]].astype(float)
    # Each tape errs on its own; of what all readings share the difference is free.
    sd = math.pi * (errors.pow(2).sum(axis=1, skipna=False).pow(0.5) / span)
    half = 2 * float(sd.pow(2).sum(skipna=False)) ** 0.5 / len(sized)
    mean = float(rate.mean())
    fine = Scale(shown["cm"].factor, shown["cm"].unit, shown["cm"].decimals + 1)
    grown = measured(mean, half, fine)
    if grown is None:
        return ""
    trees = say_count("{n} tree", "{n} trees", len(sized)).format(n=len(sized))
    if math.isfinite(half) and abs(mean) <= half:
        text = say("We measured {trees} again: whether they grew we cannot tell yet.")
    elif mean < 0:
        text = say("We measured {trees} again: on average the tape read {growth} a year.")
    else:
        text = say("We measured {trees} again: on average they grew {growth} a year round.")
    return text.format(trees=trees, growth=grown.text)


def _died(both: pd.DataFrame) -> str:
    lived = both["status_before"].isin(["", "alive"])
    died = int((lived & ~both["status"].isin(["", "alive"])).sum())
    if not died:
        return ""
    return say_count(
        "{n} that lived last time is dead or gone.",
        "{n} that lived last time are dead or gone.",
        died,
    ).format(n=died)
