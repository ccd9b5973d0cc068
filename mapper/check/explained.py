"""One blunder, one finding: what a slip explains is not reported a second time."""

import pandas as pd

EXPLAIN = ("numbers_exchanged", "unit_slip")  # the first of them wins
# Rules that see the same blunder from another side: these say more than the slip does,
KEPT = ("impossible", "impossible_shape", "duplicate_id", "disagree")
WHOLE = ("duplicate_id", "disagree")  # these whatever the column,
SEEN_TWICE = ("rare", "short_for_its_stem", "heights_disagree", "shrunk", "leapt")  # these less.
TOLD = ["cause", "proposed_column", "proposed_value"]


def explained(found: pd.DataFrame) -> pd.DataFrame:
    """The findings, with each slip merged into what it explains.

    An impossible value, two sizes of one stem that disagree and a number used for what looks like
    another tree keep their own finding and get the slip's cause and proposal; lesser doubts that
    the slip explains are left to the slip.
    """
    rank = found["rule"].map({rule: number for number, rule in enumerate(EXPLAIN)})
    slips = found[rank.notna()].assign(rank=rank).sort_values("rank", kind="stable")
    slips = slips.drop_duplicates("record").set_index("record")
    if slips.empty:
        return found
    exchanged = found["tree"][found["rule"] == "numbers_exchanged"]
    of_slipped = found["record"].isin(slips.index)
    kept = of_slipped & found["rule"].isin(KEPT)
    told = found.copy()
    for name in TOLD:
        told.loc[kept, name] = found["record"][kept].map(slips[name])
    same_cell = found["column"] == found["record"].map(slips["column"])
    whole = found["rule"].isin(WHOLE)
    told_already = found["record"].isin(found["record"][kept & (same_cell | whole)])
    is_slip = found["rule"].isin(EXPLAIN)
    beaten = is_slip & (found["rule"] != found["record"].map(slips["rule"]))
    # The right visit of an exchanged tree contradicts the wrong one no less than that does it.
    of_exchanged = found["tree"].isin(exchanged) & (found["tree"] != "")
    beaten |= of_exchanged & found["rule"].isin(["unit_slip", "shrunk", "leapt"])
    seen_twice = of_slipped & found["rule"].isin(SEEN_TWICE)
    return told[~(seen_twice | beaten | (told_already & is_slip))].reset_index(drop=True)


def without_slips(records: pd.DataFrame, found: pd.DataFrame) -> pd.DataFrame:
    """Measured records without sizes that slipped or were copied: they tell nothing of growth."""
    slips = found[found["rule"].isin(["unit_slip", "copied_down"])]
    copied = slips["rule"] == "copied_down"
    stems = slips["record"][copied | slips["column"].isin(["girth", "diameter"])]
    heights = slips["record"][copied | slips["column"].isin(["height", "baseline"])]
    return records.assign(
        diameter_cm=records["diameter_cm"].mask(records.index.isin(stems)),
        height_m=records["height_m"].mask(records.index.isin(heights)),
    )
