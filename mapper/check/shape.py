"""Rules about a tree's shape, which show only once diameter and height are measured."""

import pandas as pd

from mapper.check.findings import Rule, findings, joined, worded
from mapper.reference import rows
from mapper.reference.height_methods import METHODS

SAPLING_M = 5.0  # a young tree may well be a long whip
STEM_COLUMNS = {"stems": "stem_1", "girth": "girth", "diameter": "diameter"}
# The heading that tells of each formula: without it that height falls.
HEIGHT_COLUMNS = {method.formula: method.needs[0] for method in reversed(METHODS)}


def impossible_shape(records: pd.DataFrame) -> pd.DataFrame:
    """A height that no stem so thin can carry: both leave the figures, for one is wrong.

    `records` are measured: diameter_cm, diameter_method, height_m, height_formula.
    """
    (limit,) = (row for row in rows("limits") if row["column"] == "slenderness")
    ratio = records["height_m"] / (records["diameter_cm"] / 100)
    at = records[(ratio > float(limit["upper"])) & (records["height_m"] >= SAPLING_M)]
    template = (
        "{:.1f} m high and {:.1f} cm thick do not go together. Both are left out of the figures. "
        f"Allowed: height up to {limit['upper']} times the diameter."
    )
    message = worded(template, at["height_m"], at["diameter_cm"])
    stem = at["diameter_method"].str.split(",").str[0].map(STEM_COLUMNS)
    height = at["height_formula"].map(HEIGHT_COLUMNS)
    advice = "Perhaps a unit is wrong: centimetres or metres, feet or inches?"
    columns = pd.concat([stem, height])
    both = pd.concat([message, message])
    return joined(
        [
            findings(
                Rule("impossible_shape", "error", str(column), advice, bars=True),
                records.loc[group.index],
                both[columns == column],
            )
            for column, group in columns.groupby(columns)
        ]
    )


def short_for_its_stem(records: pd.DataFrame) -> pd.DataFrame:
    """Very short for the thickness: a slip, or a broken or hollow veteran. Nothing is left out."""
    (limit,) = (row for row in rows("limits") if row["column"] == "slenderness")
    ratio = records["height_m"] / (records["diameter_cm"] / 100)
    at = records[(ratio < float(limit["lower"])) & records["status"].isin(["", "alive"])]
    template = "{:.1f} m high and {:.1f} cm thick: very short for so thick a stem. Both are used."
    return findings(
        Rule("short_for_its_stem", "warning", "height", "Is it broken or cut, or is a unit wrong?"),
        at,
        worded(template, at["height_m"], at["diameter_cm"]),
    )
