"""Rules about tree numbers: one number for two trees, one tree handed in twice."""

import pandas as pd

from mapper.check.findings import Rule, findings, joined, worded

MOST_NAMED = 3  # of one table; of more than these the table is named
ONCE = "Counted once."
PAIR = ["file", "sheet", "first_file"]
TWICE = Rule("handed_in_twice", "warning", "tree", "Take one of the two away.")


def repeated(values: pd.DataFrame) -> pd.DataFrame:
    """Numbers used for another tree, rows handed in twice, repeats without a date."""
    return joined([_used_again(values), _same_row(values), _undated(values)])


def handed_in_twice(values: pd.DataFrame) -> pd.DataFrame:
    """Records that another table has too: one finding where there are many of a table."""
    copies = values[values["copy_of"] >= 0]
    if copies.empty:
        return joined([])
    firsts = values.loc[copies["copy_of"]]
    paired = copies.assign(first_file=firsts["file"].to_numpy(), first_row=firsts["row"].to_numpy())
    many = paired.groupby(PAIR)["row"].transform("size") > MOST_NAMED
    few = paired[~many]
    said = worded("The same as row {1} of file {0}. " + ONCE, few["first_file"], few["first_row"])
    return joined([findings(TWICE, few, said), _of_tables(paired[many])])


def _of_tables(paired: pd.DataFrame) -> pd.DataFrame:
    rows = paired.groupby(PAIR)["row"].agg(["size", "min", "max"]).reset_index()
    template = "{} records (rows {} to {}) are in file {} too. " + ONCE
    said = worded(template, rows["size"], rows["min"], rows["max"], rows["first_file"])
    at = rows.assign(row=pd.Series(pd.NA, rows.index), tree="").set_axis([-1] * len(rows), axis=0)
    return findings(TWICE, at, said)


def _used_again(values: pd.DataFrame) -> pd.DataFrame:
    again = values[values["use"] > 1]
    first = values[values["use"] == 1].drop_duplicates("tree_key")
    numbers = first["tree"].astype(str).str.strip().str.casefold()
    where = worded("file {}, row {}", first["file"], first["row"])
    earlier = again["tree"].str.strip().str.casefold().map(dict(zip(numbers, where, strict=True)))
    message = worded(
        "The number {} was used before ({}) for what looks like another tree. "
        "This one is kept as {}.",
        again["tree"],
        earlier,
        again["tree_key"],
    )
    found = findings(
        Rule("duplicate_id", "error", "tree", "Give it a number of its own."), again, message
    )
    return found.assign(other_tree=again["tree"].to_numpy())


def _same_row(values: pd.DataFrame) -> pd.DataFrame:
    # A row that came twice has a tree's number twice: only those are held against each other.
    again = values[values.duplicated("tree", keep=False) & (values["tree"] != "")]
    told = [name for name in values.columns if name not in ("file", "row", "edge_m", "outlines")]
    twice = again.index[again[told].astype(str).duplicated()]
    return findings(
        Rule("duplicate_row", "note", "tree"),
        values.loc[twice],
        "The same row came twice: counted once.",
    )


def _undated(values: pd.DataFrame) -> pd.DataFrame:
    repeat = values.duplicated("tree_key") & values["date"].isna()
    return findings(
        Rule(
            "undated_repeat",
            "warning",
            "date",
            "Give the day, so that growth is not taken for a repeat.",
        ),
        values[repeat & (values["tree"] != "")],
        "This tree was handed in before and this row has no date: taken as the same visit.",
    )
