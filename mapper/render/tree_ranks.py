"""A tree's place among its kind and in the whole survey, in words."""

import numpy as np
import pandas as pd

from mapper.language import later, say
from mapper.render.words import kind
from mapper.summarise.ranks import rank_limits

LEAST_TREES = 3  # of two, the page of either says it by its numbers
FRONT = 10  # a place in the whole survey is told to this one only
# Girth is π times diameter: the order is the same, and the diameter carries the error.
ORDERS = (
    ("diameter_cm", "diameter_sd_cm", later("stoutest")),
    ("height_m", "height_sd_m", later("tallest")),
)
ORDINALS = (
    "", later("second"), later("third"), later("fourth"), later("fifth"), later("sixth"),
    later("seventh"), later("eighth"), later("ninth"), later("tenth"),
)  # fmt: skip


def rank_sentences(trees: pd.DataFrame) -> dict[str, tuple[str, ...]]:
    """What can be said of each living tree's place, by tree."""
    living = trees[trees["status"] == "alive"]
    told: dict[str, list[str]] = {}
    for value, sd, most in ORDERS:
        known = living.dropna(subset=[value])
        kinds = known[known["species"].fillna("") != ""]
        for _, group in kinds.groupby(["species", "stand"], sort=True, dropna=False):
            _add(told, group, (value, sd, most), _of_kind(group))
        _add(told, known, (value, sd, most), say("{n} trees measured in the survey"), FRONT)
    return {tree: tuple(sentences) for tree, sentences in told.items()}


def _of_kind(group: pd.DataFrame) -> str:
    first = group.iloc[0]
    name = kind(str(first["species"]), str(first["common_name"] or ""))
    if first["stand"]:
        text = say("{n} trees of its kind ({kind}) measured in {stand}")
        return text.replace("{kind}", name).replace("{stand}", str(first["stand"]))
    return say("{n} trees of its kind ({kind}) measured").replace("{kind}", name)


def _add(
    told: dict[str, list[str]],
    group: pd.DataFrame,
    order: tuple[str, str, str],
    among: str,
    last: float = np.inf,
) -> None:
    if len(group) < LEAST_TREES:
        return
    value, sd, most = order
    best, worst = rank_limits(group[value], 2 * group[sd])
    whole = among.replace("{n}", f"{len(group):,}")
    for tree, top, low in zip(group["tree"], best.tolist(), worst.tolist(), strict=True):
        if low <= last and low - top < len(group) / 2:
            told.setdefault(str(tree), []).append(_sentence((top, low), len(group), most, whole))


def _sentence(place: tuple[int, int], count: int, most: str, whole: str) -> str:
    top, low = place
    fields = {"most": say(most), "whole": whole, "low": low, "top": top}
    if top == low == 1:
        return say("The {most} of the {whole}.").format(**fields)
    if top == low <= len(ORDINALS):
        nth = say(ORDINALS[low - 1])
        return say("The {nth} {most} of the {whole}.").format(nth=nth, **fields)
    if top == 1:
        return say("Among the {low} {most} of the {whole}.").format(**fields)
    if top == low:
        return say("In place {low} of the {whole}, the {most} first.").format(**fields)
    return say("Between place {top} and place {low} of the {whole}, the {most} first.").format(
        **fields
    )
