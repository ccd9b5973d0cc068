"""Records handed in twice: the same table in two files, a row that came along in another one."""

import pandas as pd

from mapper.load.identity import NO_NUMBER
from mapper.load.table import ORIGIN

# What no two trees have in common by chance: a record without any of it is not called a copy.
TELLING = ("girth_cm", "diameter_cm", "stem_1_cm", "height_m", "lat")
FEW = 3  # so many equal records of two tables are no chance


def copies(values: pd.DataFrame) -> pd.Series:
    """For each record the earlier one of another table that it repeats, -1 where it is none.

    Equal records within one table may be readings taken twice, and stay. Of two tables they are
    one when they say which tree (number or place) and which day, or when there are several.
    """
    none = pd.Series(-1, index=values.index)
    tables = values.groupby(["file", "sheet"], sort=False).ngroup()
    if tables.nunique() < 2:
        return none
    told = values.drop(columns=list(ORIGIN))
    told = told.loc[:, [_holds_any(told[name]) for name in told]]
    first = _first_equal(told, tables)
    telling = told[[name for name in TELLING if name in told]].notna().any(axis=1)
    equal = telling & (tables != tables.reindex(first).to_numpy())
    number = values["tree"].str.strip().str.casefold()
    which = equal & (~number.isin(NO_NUMBER) | values["lat"].notna())
    several = which.groupby(tables).transform("sum") >= FEW
    whole = equal.groupby(tables).transform("all") & (tables.map(tables.value_counts()) >= FEW)
    copy = equal & (whole | (which & (several | values["date"].notna())))
    return first.where(copy, none)


def _first_equal(told: pd.DataFrame, tables: pd.Series) -> pd.Series:
    """The first record that says the same; the second of two alike matches the second there."""
    marks = pd.util.hash_pandas_object(told, index=False)
    counted = marks.groupby([tables, marks]).cumcount()
    first = pd.Series(told.index, index=told.index).groupby([marks, counted]).transform("first")
    # Equal marks are nearly always equal records: those that are not stand alone.
    there = told.loc[first].set_axis(told.index)
    same = ((told == there) | (told.isna() & there.isna())).all(axis=1)
    return first.where(same, told.index.to_series())


def _holds_any(column: pd.Series) -> bool:
    empty = column.isna()
    return not (empty | (column == "") if pd.api.types.is_string_dtype(column) else empty).all()


def with_keys_of_firsts(
    keyed: pd.DataFrame, values: pd.DataFrame, copy_of: pd.Series
) -> pd.DataFrame:
    """All records, with what was found out about those that are no copies: copies share it."""
    own = pd.Series(values.index, index=values.index)
    origin = copy_of.where(copy_of >= 0, own).to_numpy()
    found = [name for name in keyed.columns if name not in values.columns]
    shared = keyed[found].reindex(origin).set_axis(values.index)
    return pd.concat([values, shared], axis=1).assign(copy_of=copy_of)
