"""Why a tree has no age, no growth or no rough dry weight."""

import pandas as pd

from mapper.language import later, say
from mapper.summarise.reasons import COLUMNS

NOT_ASKED = later("rough dry weight was not asked for: biomass = true in survey.toml asks for it")
WHOLE_COLUMN = ""  # as id: the reason holds for every row of the table
APART = later("no two visits about a year or more apart measured it in the same way")


def age_reasons(trees: pd.DataFrame) -> pd.DataFrame:
    """A row for each empty cell, or one for a whole column that is empty for one reason.

    `trees` are measured, with the columns of tree_ages, tree_growth and, where the survey asks
    for it, tree_biomass.
    """
    tables = [_column(trees, "age_years", trees["age_reason"])]
    for column in ("growth_girth_cm_per_year", "growth_height_m_per_year"):
        why = trees["growth_reason"].where(trees["growth_reason"] != "", str(say(APART)))
        tables.append(_column(trees, column, why))
    asked = trees.get("biomass_reason", str(say(NOT_ASKED)))
    tables.append(_column(trees, "biomass_kg", pd.Series(asked, index=trees.index)))
    return pd.concat(tables, ignore_index=True)


def _column(trees: pd.DataFrame, column: str, why: "pd.Series[str]") -> pd.DataFrame:
    empty = trees[column].isna()
    ids, told = trees.loc[empty, "tree_key"], why[empty]
    if empty.all() and told.nunique() == 1:
        ids, told = pd.Series([WHOLE_COLUMN]), told.iloc[:1]
    return pd.DataFrame(
        {"table": "trees", "id": ids.to_numpy(), "column": column, "reason": told.to_numpy()},
        columns=COLUMNS,
    )
