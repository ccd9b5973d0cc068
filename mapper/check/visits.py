"""Rules about days and what became of a tree between them."""

import pandas as pd

from mapper.check.findings import Rule, findings, joined, worded

# Nobody measured trees for this before, nor will for a while: a slip of the century.
EARLIEST, LATEST = pd.Timestamp("1800-01-01"), pd.Timestamp("2100-01-01")
GONE = ("dead", "fallen", "stump")


def doubtful_visits(values: pd.DataFrame, cells: pd.DataFrame) -> pd.DataFrame:
    """Days that cannot be, and trees that came back to life."""
    return joined(
        [
            _no_such_day(values, cells),
            _back_to_life(values),
            _years_mixed(values),
            _undated(values),
        ]
    )


def _no_such_day(values: pd.DataFrame, cells: pd.DataFrame) -> pd.DataFrame:
    bad = (values["date"] < EARLIEST) | (values["date"] >= LATEST)
    at = values[bad].assign(cell=cells["date"][bad] if "date" in cells else "")
    return findings(
        Rule("impossible_date", "error", "date", "Look at the record sheet.", bars=True),
        at,
        "No survey was made on that day. Allowed: from 1800-01-01 to 2099-12-31.",
    )


def _back_to_life(values: pd.DataFrame) -> pd.DataFrame:
    ordered = values.sort_values("date", na_position="first", kind="stable")
    gone = ordered["status"].isin(GONE)
    before = gone.astype(int).groupby(ordered["tree_key"]).cumsum() > gone.astype(int)
    other_day = ordered.duplicated("tree_key") & ~ordered.duplicated(["tree_key", "date"])
    return findings(
        Rule("back_to_life", "warning", "status", "Write dead, fallen or stump if it still is."),
        ordered[before & ~gone & other_day].sort_index(),
        "An earlier record says that this tree was gone; this one does not. It counts as alive.",
    )


def _years_mixed(values: pd.DataFrame) -> pd.DataFrame:
    """One note a stand that was measured in several years."""
    dated = values[(values["stand"] != "") & values["date"].between(EARLIEST, LATEST)]
    years = dated["date"].dt.year.groupby(dated["stand"])
    first, last = years.transform("min"), years.transform("max")
    at = dated[first != last].drop_duplicates("stand")
    template = (
        "Stand {} was measured from {} to {}: each year is figured alone. "
        "A complete count must count every tree in each year."
    )
    message = worded(template, at["stand"], first[at.index], last[at.index])
    return findings(Rule("years_mixed", "note", "date"), at, message)


def _undated(values: pd.DataFrame) -> pd.DataFrame:
    """Records without a day in a stand that was measured in several years."""
    year = values["date"].dt.year.where(values["date"].between(EARLIEST, LATEST))
    years = year.groupby(values["stand"])
    newest = years.transform("max")
    several = (values["stand"] != "") & (years.transform("min") != newest) & newest.notna()
    at = values[several & values["date"].isna()]
    message = worded(
        "Stand {} was measured in several years, and this record has no date: it is taken for one "
        "of {:.0f}.",
        at["stand"],
        newest[at.index],
    )
    rule = Rule("undated_in_years", "warning", "date", "Fill in the day, or the year.")
    return findings(rule, at, message)
