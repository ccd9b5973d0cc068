"""What is known of each tree that can tell its age: one row a tree."""

import numpy as np
import pandas as pd

from mapper.load.membership import among
from mapper.measure.days import year_ends, years_between
from mapper.survey import Survey

GONE = ("dead", "fallen", "stump")
RINGS = ["rings", "ring_height_m", "ring_years_missing"]


def age_evidence(trees: pd.DataFrame, records: pd.DataFrame, survey: Survey) -> pd.DataFrame:
    """Planting year, rings, setting and size of each tree, with the days they belong to.

    `years_since_rings` and `years_since_size` are the years from the ring count or the diameter
    to the tree's newest visit, 0 where a day is unknown or the tree no longer grows.
    """
    precision = survey.publish.dates
    ordered = records.sort_values("date", na_position="first", kind="stable")
    ordered = ordered[among(ordered["tree_key"], trees.index)]
    first, last = year_ends(trees["date"], precision)
    told = {
        "planted": _newest(ordered, "planted", ["planted"])["planted"],
        "setting_told": _newest(ordered[ordered["setting"] != ""], "setting", ["setting"])[
            "setting"
        ],
        "ring_date": _newest(ordered, "rings", ["date"])["date"],
        "size_date": _newest(ordered, "diameter_cm", ["date"])["date"],
    }
    names = ["species_name", "status", "stand", "stems", "diameter_cm", "diameter_method", "date"]
    known = trees[names].join(pd.DataFrame(told)).join(_newest(ordered, "rings", RINGS))
    known = known.reindex(trees.index)
    gone = known["status"].isin(GONE).to_numpy()
    return known.assign(
        gone=gone,
        region=survey.measure.growth_region,
        measured_from=first,
        measured_to=last,
        setting=_settings(known, survey),
        setting_given=_setting_given(known, survey),
        years_since_rings=_since(known, "ring_date", precision),
        years_since_size=_since(known, "size_date", precision),
    ).drop(columns=["setting_told", "ring_date", "size_date"])


def _newest(ordered: pd.DataFrame, quantity: str, columns: list[str]) -> pd.DataFrame:
    """A quantity and what belongs to it from the newest record that has it, by tree."""
    given = ordered[ordered[quantity].notna()]
    return given.drop_duplicates("tree_key", keep="last").set_index("tree_key")[columns]


def _since(known: pd.DataFrame, column: str, precision: str) -> pd.Series:
    """Years that a living tree has grown since its evidence was taken."""
    years = np.nan_to_num(years_between(known[column], known["date"], precision))
    return pd.Series(np.where(known["status"].isin(GONE), 0.0, years), index=known.index)


def _settings(known: pd.DataFrame, survey: Survey) -> "pd.Series[str]":
    """How the tree grew: its own cell > its stand's > the survey's."""
    stands = {
        name: survey.stand_called(name).setting or survey.measure.setting
        for name in known["stand"].unique()
    }
    own = known["setting_told"].fillna("").astype(str)
    return own.where(own != "", known["stand"].map(stands))


def _setting_given(known: pd.DataFrame, survey: Survey) -> "pd.Series[bool]":
    """Whether anybody said how the tree grew; else it is taken as a woodland tree."""
    stands = {
        name: survey.stand_called(name).setting is not None for name in known["stand"].unique()
    }
    by_survey = "setting" in survey.measure.model_fields_set
    return known["setting_told"].notna() | known["stand"].map(stands).astype(bool) | by_survey
