"""How fast trees grew between their first and their newest visit, and the stand with them."""

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mapper import metrics
from mapper.language import say
from mapper.measure.days import coarse_days

GONE = ("dead", "fallen", "stump")
# About one growing season: less says nothing about a year.
SHORTEST_DAYS = 300.0
# Breast height, where the record does not say otherwise, is the same at both visits.
USUAL_HEIGHT = -1.0


def tree_growth(visits: pd.DataFrame, dates: str = "day") -> pd.DataFrame:
    """Growth in a year of each tree's girth and height, with its uncertainty.

    `visits` are those of `Measured`; `dates` is how exactly days are published. Columns:
    growth_girth_cm_per_year, growth_height_m_per_year, with _sd, _first, _last, _days each, and
    growth_reason (why there is none).
    """
    standing = _standing(visits, dates)
    girth, height = _girths(standing), _heights(standing)
    trees = pd.Index(visits["tree_key"].unique(), name="tree_key")
    whole = girth.join(height, how="outer").reindex(trees)
    return whole.assign(growth_reason=_reasons(standing, whole))


def stand_increment(visits: pd.DataFrame, area_ha: pd.Series, dates: str = "day") -> pd.DataFrame:
    """Growth in a year of each stand's basal area on a hectare, by its trees measured twice.

    `area_ha` has the area of each completely counted stand. Columns: trees_measured_twice,
    basal_area_increment_m2_per_ha (at least so much: young trees that came in add nothing), _sd.
    """
    standing = _standing(visits, dates)
    single = standing[standing["tally"].fillna(1.0) == 1]
    pairs = _pairs(single, "diameter_cm", ["measured_at", "stems"])
    pairs = pairs.join(single.groupby("tree_key")["stand"].last())
    rows = {name: _increment(pairs[pairs["stand"] == name], area) for name, area in area_ha.items()}
    columns = [
        "trees_measured_twice",
        "basal_area_increment_m2_per_ha",
        "basal_area_increment_m2_per_ha_sd",
    ]
    table = pd.DataFrame.from_dict(rows, orient="index", columns=columns)
    return table.rename_axis("stand")


def _increment(pairs: pd.DataFrame, area_ha: float) -> tuple[int, float, float]:
    size, size_sd = metrics.basal_area_from_diameter, metrics.basal_area_from_diameter_sd
    first, last = pairs["diameter_cm_first"], pairs["diameter_cm_last"]
    first_sd, last_sd = size_sd(first, pairs["sd_first"]), size_sd(last, pairs["sd_last"])
    days = pairs["days"]
    grown = metrics.basal_area_increment_per_ha(size(first), size(last), days, area_ha)
    sd = metrics.basal_area_increment_per_ha_sd(first_sd, last_sd, days, area_ha)
    known = not np.isnan([first_sd, last_sd]).any()
    return len(pairs), float(grown), float(sd) if known else np.nan


def _standing(visits: pd.DataFrame, dates: str) -> pd.DataFrame:
    """Dated visits of living trees, in their order."""
    kept = visits[visits["date"].notna() & ~visits["status"].isin(GONE)]
    kept = kept.assign(
        date=coarse_days(kept["date"], dates),
        measured_at=kept["measured_at_m"].fillna(USUAL_HEIGHT).round(2),
    )
    return kept.sort_values("date", kind="stable")


def _girths(standing: pd.DataFrame) -> pd.DataFrame:
    # The girth of several stems is that of one stem as thick as all of them together.
    girths = standing.assign(
        girth=metrics.girth_from_diameter(standing["diameter_cm"]),
        diameter_sd_cm=metrics.girth_from_diameter(standing["diameter_sd_cm"]),
    )
    pairs = _pairs(girths, "girth", ["measured_at", "stems"], "diameter_sd_cm")
    return _per_year(pairs, "girth", "growth_girth_cm_per_year")


def _heights(standing: pd.DataFrame) -> pd.DataFrame:
    pairs = _pairs(standing, "height_m", [], "height_sd_m")
    return _per_year(pairs, "height_m", "growth_height_m_per_year")


def _pairs(
    standing: pd.DataFrame, quantity: str, alike: list[str], sd: str = "diameter_sd_cm"
) -> pd.DataFrame:
    """First and newest visit of each tree with the quantity, measured alike, days apart."""
    columns = ["tree_key", "date", quantity, sd, *alike]
    given = standing.loc[standing[quantity].notna(), columns].rename(columns={sd: "sd"})
    last = given.drop_duplicates("tree_key", keep="last").set_index("tree_key")
    newest = last.reindex(given["tree_key"])
    same = (given[alike].to_numpy() == newest[alike].to_numpy()).all(axis=1)
    first = given[same].drop_duplicates("tree_key").set_index("tree_key")
    pairs: pd.DataFrame = first.add_suffix("_first").join(last.add_suffix("_last"))
    pairs["days"] = (pairs["date_last"] - pairs["date_first"]).dt.days.astype(float)
    return pairs[pairs["days"] >= SHORTEST_DAYS]


def _per_year(pairs: pd.DataFrame, quantity: str, name: str) -> pd.DataFrame:
    first, last = pairs[f"{quantity}_first"], pairs[f"{quantity}_last"]
    days = pairs["days"]
    return pd.DataFrame(
        {
            name: metrics.increment_per_year(first, last, days),
            f"{name}_sd": metrics.increment_per_year_sd(pairs["sd_first"], pairs["sd_last"], days),
            f"{name}_first": first,
            f"{name}_last": last,
            f"{name}_days": days,
        },
        index=pairs.index,
    )


def _reasons(standing: pd.DataFrame, whole: pd.DataFrame) -> NDArray[np.object_]:
    visits = standing.groupby("tree_key").size().reindex(whole.index).fillna(0)
    none = whole["growth_girth_cm_per_year"].isna() & whole["growth_height_m_per_year"].isna()
    reason: NDArray[np.object_] = np.select(
        [~none.to_numpy(), (visits < 2).to_numpy()],
        ["", str(say("not measured on two days while it stood"))],
        str(say("no two visits about a year or more apart measured the same in the same way")),
    ).astype(object)
    return reason
