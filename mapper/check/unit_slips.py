"""Sizes that fit everything else once a slip is undone: inches, feet, pi, a decimal point."""

import numpy as np
import pandas as pd

from mapper.check.findings import Rule, findings, joined, worded
from mapper.check.slip_evidence import (
    Evidence,
    Floats,
    Places,
    Sizes,
    all_evidence,
    sizes_of,
)
from mapper.load.names import value_name
from mapper.reference import rows

# How much better the undone slip must fit, in minus twice the log likelihood. With one record in
# 500 for each kind of slip 12 would leave it even; 11 was chosen on 40 invented surveys and the
# real forest (tests/slips.py, UFC1991). 30 is as good as certain.
DOUBTFUL, CERTAIN = 11.0, 30.0
CLEAR = 3.0  # so much better than the second best: one of five would be wrong
FITS = 5.5  # the surprise of 2.6 standard deviations: what is left must be quite usual
UNITS = {"girth": "cm", "diameter": "cm", "height": "m", "baseline": "m"}
MOVES = {"girth": "log_d", "diameter": "log_d", "height": "log_h", "baseline": "log_h"}
OTHER_STEM = {
    "the girth beside it": "the diameter beside it",
    "the diameter beside it": "the girth beside it",
}
# What each kind of evidence but the first and the last holds a size against.
AGAINST = ("the other trees of its species",) * 2 + ("the tree's other visits",) * 2
UNCLEAR = "One of the sizes of this tree is wrong; which one cannot be told from here."
ADVICE = "Look at the record sheet, or measure again."


def unit_slips(records: pd.DataFrame, values: pd.DataFrame, copied: pd.Index) -> pd.DataFrame:
    """Girths, diameters, heights and baselines that are off by a factor people slip by.

    `records` are measured, `values` as handed in: also what is impossible may be explained.
    Records that were `copied` from another row are no evidence, and get no second finding. Each
    size is held against the tree's other size, its other visits and the trees of its species; the
    slip is found when undoing it makes all of them fit, and nothing else does so well.
    """
    sizes = sizes_of(records, values)
    sizes.loc[sizes.index.isin(copied), [*Sizes._fields]] = np.nan
    best = _best_slips(sizes, _columns(records, values))
    groups = best.groupby(["column", "sure"]).groups.values()
    return joined([_said(values.loc[at], best.loc[at], sizes.loc[at]) for at in groups])


def _columns(records: pd.DataFrame, values: pd.DataFrame) -> pd.DataFrame:
    """Which heading holds the stem, the diameter beside it and the height of each record."""
    girth, diameter = values["girth_cm"].notna(), values["diameter_cm"].notna()
    computed = (records["height_formula"] != "") & records["baseline_m"].notna()
    typed = values["height_m"].notna() & ~computed
    return pd.DataFrame(
        {
            "log_d": np.select([girth, diameter], ["girth", "diameter"], ""),
            "log_beside": np.where(girth & diameter, "diameter", ""),
            "log_h": np.select([typed, computed], ["height", "baseline"], ""),
        },
        index=values.index,
    )


def _best_slips(sizes: pd.DataFrame, headings: pd.DataFrame) -> pd.DataFrame:
    """For each doubtful record the slip that explains most.

    Columns: column, factor, cause, gain, second (the best gain of another column or visit), why
    (the number of the evidence that speaks loudest) and sure.
    """
    evidence = all_evidence(sizes)
    whole = Sizes(*(sizes[name].to_numpy(dtype=float) for name in Sizes._fields))
    everywhere = np.arange(len(sizes))
    # Undoing a slip can take away no more surprise than there is: few records need a trial.
    at = np.flatnonzero(_surprises(evidence, everywhere, whole).sum(axis=0) >= DOUBTFUL)
    written = Sizes(*(amounts[at] for amounts in whole))
    before = _surprises(evidence, at, written)
    found = pd.DataFrame({"column": "", "cause": ""}, index=sizes.index[at])
    found = found.assign(factor=1.0, gain=0.0, second=0.0, why=0)
    for name in Sizes._fields:
        for slip in rows("slips"):
            moved = getattr(written, name) + np.log(float(slip["factor"]))
            left = _surprises(evidence, at, written._replace(**{name: moved}))
            meant = (headings[name].iloc[at] == slip["column"]) & (left.max(axis=0) <= FITS)
            found = _better(found, slip, np.where(meant, before - left, 0.0))
    return _one_a_tree(found, sizes.loc[found.index])


def _surprises(evidence: list[Evidence], at: Places, sizes: Sizes) -> Floats:
    """A row for each kind of evidence, a column for each record."""
    return np.array([told(at, sizes) for told in evidence])


def _better(found: pd.DataFrame, slip: dict[str, str], gains: Floats) -> pd.DataFrame:
    """The table with this slip where it explains more than those before; `gains` by evidence."""
    gain = gains.sum(axis=0)
    wins = gain > found["gain"]
    other = found["column"] != slip["column"]
    loser = pd.Series(np.where(wins, found["gain"], gain), index=found.index)
    return found.assign(
        second=np.where(other, np.fmax(found["second"], loser), found["second"]),
        column=found["column"].mask(wins, slip["column"]),
        factor=found["factor"].mask(wins, float(slip["factor"])),
        cause=found["cause"].mask(wins, slip["cause"]),
        gain=found["gain"].mask(wins, gain),
        why=np.where(wins, gains.argmax(axis=0), found["why"]),
    )


def _one_a_tree(found: pd.DataFrame, sizes: pd.DataFrame) -> pd.DataFrame:
    """Of two visits that contradict each other the one that fits worse, the later if equal."""
    told = found[found["gain"] >= DOUBTFUL]
    told = told.assign(tree=sizes["tree"], day=sizes["day"], quantity=told["column"].map(MOVES))
    told = told.sort_values(["gain", "day"], kind="stable")
    rival = told.groupby(["tree", "quantity"])["gain"].shift()
    second = np.fmax(told["second"], rival)
    last = told.drop_duplicates(["tree", "quantity"], keep="last").index
    sure = (told["gain"] >= CERTAIN) & (told["gain"] - second >= DOUBTFUL)
    best = told.assign(sure=sure).loc[last].sort_index()
    # A girth and a diameter that disagree are told as such: here only if one of them is at fault.
    unknown = (best["why"] == len(AGAINST) + 1) & (best["gain"] - best["second"] < CLEAR)
    return best[~unknown]


def _said(at: pd.DataFrame, slip: pd.DataFrame, sizes: pd.DataFrame) -> pd.DataFrame:
    """Findings of one column, all sure or all not."""
    column, sure = str(slip["column"].iloc[0]), bool(slip["sure"].iloc[0])
    written, unit = at[value_name(column)], UNITS[column]
    meant = (written * slip["factor"]).map(lambda amount: f"{float(f'{amount:.4g}'):g} {unit}")
    clear = slip["gain"] - slip["second"] >= CLEAR
    shown = at.assign(
        cell=written.map("{:g}".format),
        cause=slip["cause"].where(clear, UNCLEAR),
        proposed_value=meant.where(clear, ""),
    )
    left = "It is left out of the figures." if sure else "It is used as it is."
    template = f"{column.capitalize()} {{:g}} {unit} does not go with {{}}; {{}} would. {left}"
    message = worded(template, written, _against(slip, sizes), meant)
    rule = Rule("unit_slip", "error" if sure else "warning", column, ADVICE, bars=sure)
    return findings(rule, shown, message)


def _against(slip: pd.DataFrame, sizes: pd.DataFrame) -> "pd.Series[str]":
    """What speaks loudest against each size, in the order of all_evidence."""
    thick = worded("a stem {:.1f} cm thick", np.exp(sizes["log_d"]))
    high = worded("a height of {:.1f} m", np.exp(sizes["log_h"]))
    of_stem = slip["column"].isin(["girth", "diameter"])
    beside = ("the " + slip["column"] + " beside it").replace(OTHER_STEM)
    told = pd.concat([high.where(of_stem, thick), beside], axis=1).to_numpy(dtype=object)
    first, last = slip["why"] == 0, slip["why"] == len(AGAINST) + 1
    words = slip["why"].map(dict(enumerate(AGAINST, start=1))).astype(object)
    words = words.mask(first, pd.Series(told[:, 0], slip.index))
    return words.mask(last, pd.Series(told[:, 1], slip.index))
