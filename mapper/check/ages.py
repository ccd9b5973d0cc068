"""Rules about years and growth: plantings and rings that do not fit, trees that shrank or leapt."""

import numpy as np
import pandas as pd

from mapper import metrics
from mapper.check.findings import Rule, findings, joined, worded
from mapper.reference import rows

GONE = ("dead", "fallen", "stump")
# Two standard uncertainties of a difference: what measuring explains, 19 times in 20.
SURE = 2.0
SPAN = ["tree_key", "measured_at", "stems"]


def doubtful_years(values: pd.DataFrame, cells: pd.DataFrame) -> pd.DataFrame:
    """Years of planting that cannot be, and rings that do not fit them."""
    return joined([_planted_later(values, cells), _part_of_a_year(values, cells), _rings(values)])


def _planted_later(values: pd.DataFrame, cells: pd.DataFrame) -> pd.DataFrame:
    bad = values["planted"] > values["date"].dt.year
    at = values[bad].assign(cell=cells["planted"][bad] if "planted" in cells else "")
    template = "Planted in {:g}, and measured in {:g} already. The year of planting is left out."
    return findings(
        Rule("planted_later", "error", "planted", "One of the two years is a slip.", bars=True),
        at,
        worded(template, at["planted"], at["date"].dt.year),
    )


def _part_of_a_year(values: pd.DataFrame, cells: pd.DataFrame) -> pd.DataFrame:
    bad = values["planted"] % 1 > 0
    at = values[bad].assign(cell=cells["planted"][bad] if "planted" in cells else "")
    return findings(
        Rule("planted_later", "error", "planted", "Write the year alone, as 1990.", bars=True),
        at,
        "A year of planting is a whole number. It is left out.",
    )


def _rings(values: pd.DataFrame) -> pd.DataFrame:
    """More rings than years: often the years in the nursery, sometimes a slip."""
    since = values["date"].dt.year - values["planted"]
    bad = (values["rings"] > since + 1) & (since >= 0)
    message = worded(
        "{:g} rings, and planted {:g} years before. The year of planting is used.",
        values["rings"][bad],
        since[bad],
    )
    return findings(
        Rule("rings_before_planting", "note", "rings", "It may have been so old when planted."),
        values[bad],
        message,
    )


def doubtful_growth(records: pd.DataFrame) -> pd.DataFrame:
    """Trees that shrank or leapt from one visit to the next, beyond what measuring explains.

    `records` are measured: diameter_cm, height_m and their uncertainties. Heights of one tree are
    compared whatever way they were found; girths only at one height of the stem.
    """
    limits = {row["quantity"]: float(row["limit_per_year"]) for row in rows("growth_limits")}
    dated = records[records["date"].notna() & ~records["status"].isin(GONE)]
    girths = dated.assign(
        size=metrics.girth_from_diameter(dated["diameter_cm"]),
        sd=metrics.girth_from_diameter(dated["diameter_sd_cm"]),
        measured_at=dated["measured_at_m"].fillna(-1.0).round(2),
    )
    heights = dated.assign(size=dated["height_m"], sd=dated["height_sd_m"])
    return joined(
        [
            *_jumps(_visits(girths, SPAN), "girth", "cm", limits["girth"]),
            *_jumps(_visits(heights, SPAN[:1]), "height", "m", limits["height"]),
        ]
    )


def _visits(readings: pd.DataFrame, alike: list[str]) -> pd.DataFrame:
    """The middle reading of each day, at its last record, beside that of the visit before."""
    given = readings[readings["size"].notna()].sort_values("date", kind="stable")
    given = given[given.duplicated(alike, keep=False)]
    days = given.groupby([*alike, "date"])["size"].transform("median")
    visits = given.assign(size=days).drop_duplicates([*alike, "date"], keep="last")
    before = visits.groupby(alike)[["size", "sd", "date"]].shift()
    return visits.assign(
        before=before["size"],
        days=(visits["date"] - before["date"]).dt.days.astype(float),
        tolerance=SURE * metrics.combined_sd(visits["sd"], before["sd"]),
    )


def _jumps(visits: pd.DataFrame, what: str, unit: str, limit: float) -> list[pd.DataFrame]:
    first, second, days, tolerance = (
        visits[name].to_numpy(dtype=float) for name in ("before", "size", "days", "tolerance")
    )
    shrunk = np.asarray(metrics.has_shrunk(first, second, tolerance))
    leapt = np.asarray(metrics.has_leapt(first, second, days, limit, tolerance))
    template = f"{what.capitalize()} {{:.1f}} {unit}, at the visit before {{:.1f}} {unit}."
    slip = "Was it the same tree, and the same place on the stem?"
    return [
        findings(
            Rule(rule, "warning", what, slip),
            visits[bad],
            worded(f"{template} {why}", visits["size"][bad], visits["before"][bad]),
        )
        for rule, bad, why in (
            ("shrunk", shrunk, "Trees do not shrink so much."),
            ("leapt", leapt, f"Hardly any tree grows more than {limit:g} {unit} in a year."),
        )
    ]
