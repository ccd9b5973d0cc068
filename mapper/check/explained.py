"""One blunder, one finding: what a slip explains is not reported a second time."""

import pandas as pd

# Rules that see the same blunder from another side: these say more than the slip does,
KEPT = ("impossible", "impossible_shape", "duplicate_id", "disagree")
WHOLE = ("duplicate_id", "disagree")  # these whatever the column,
SEEN_TWICE = ("rare", "short_for_its_stem", "heights_disagree")  # and these less.


def explained(found: pd.DataFrame) -> pd.DataFrame:
    """The findings, with each slip merged into what it explains.

    An impossible value, two sizes of one stem that disagree and a number used for what looks like
    another tree keep their own finding and get the slip's cause and proposal; lesser doubts that
    the slip explains are left to the slip.
    """
    slips = found[found["rule"] == "unit_slip"].drop_duplicates("record").set_index("record")
    if slips.empty:
        return found
    of_slipped = found["record"].isin(slips.index)
    kept = of_slipped & found["rule"].isin(KEPT)
    told = found.copy()
    for name in ("cause", "proposed_column", "proposed_value"):
        told.loc[kept, name] = found["record"][kept].map(slips[name])
    same_cell = found["column"] == found["record"].map(slips["column"])
    whole = found["rule"].isin(WHOLE)
    told_already = found["record"].isin(found["record"][kept & (same_cell | whole)])
    doubled = (of_slipped & found["rule"].isin(SEEN_TWICE)) | (
        told_already & (found["rule"] == "unit_slip")
    )
    return told[~doubled].reset_index(drop=True)


def without_slips(records: pd.DataFrame, found: pd.DataFrame) -> pd.DataFrame:
    """Measured records without the sizes that a slip explains: growth cannot be told from them."""
    slips = found[found["rule"] == "unit_slip"]
    stems = slips["record"][slips["column"].isin(["girth", "diameter"])]
    heights = slips["record"][slips["column"].isin(["height", "baseline"])]
    return records.assign(
        diameter_cm=records["diameter_cm"].mask(records.index.isin(stems)),
        height_m=records["height_m"].mask(records.index.isin(heights)),
    )
