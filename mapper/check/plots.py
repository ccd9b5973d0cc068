"""Rules about trees on sample plots and at angle counts."""

import numpy as np
import pandas as pd

from mapper import metrics
from mapper.check.findings import Rule, findings, joined, worded
from mapper.load.plot_files import plot_key

# A tape read to the decimetre over rough ground.
ROUNDING_M = 0.1


def doubtful_plots(values: pd.DataFrame, plots: pd.DataFrame) -> pd.DataFrame:
    """Trees on no plot, on one that nobody listed, or too far from the middle of theirs."""
    if plots.empty:
        return joined([])
    in_sample = values[values["stand"].isin(plots["stand"])]
    # Of nested plots the largest tells how far a tree may be.
    largest = plots.sort_values("radius_m", na_position="first", kind="stable")
    known = largest.drop_duplicates(["stand", "plot_key"], keep="last").set_index(
        ["stand", "plot_key"]
    )
    keys = pd.MultiIndex.from_arrays([in_sample["stand"], plot_key(in_sample["plot"])])
    listed = pd.Series(keys.isin(known.index), index=in_sample.index)
    return joined(
        [
            _unlisted(in_sample, listed, plots),
            _of_nowhere(values, plots),
            _of_no_size(in_sample[listed], plots),
            _too_far(in_sample[listed], known.reindex(keys[listed.to_numpy()])),
        ]
    )


def _unlisted(values: pd.DataFrame, listed: "pd.Series[bool]", plots: pd.DataFrame) -> pd.DataFrame:
    named = plots.drop_duplicates(["stand", "plot_key"]).groupby("stand")["plot"].agg(_short)
    on_none = values["plot"].str.strip() == ""
    other = values[~listed & ~on_none]
    message = worded(
        "'{}' is none of the plots of {} ({}), so the tree enters no figure per hectare.",
        other["plot"],
        other["stand"],
        other["stand"].map(named),
    )
    return joined(
        [
            findings(
                Rule("no_such_plot", "error", "plot", "List the plot, or correct its name."),
                other.assign(cell=other["plot"]),
                message,
            ),
            findings(
                Rule("no_plot", "warning", "plot", "Name the plot that the tree stands on."),
                values[on_none],
                "The stand was sampled on plots, and this tree names none: it enters no figure "
                "per hectare.",
            ),
        ]
    )


def _of_nowhere(values: pd.DataFrame, plots: pd.DataFrame) -> pd.DataFrame:
    """Trees in no stand that name a plot which no stand has: nobody would miss them."""
    named = (values["stand"] == "") & (values["plot"].str.strip() != "")
    lost = values[named & ~plot_key(values["plot"]).isin(plots["plot_key"])]
    message = worded(
        "'{}' is none of the plots of this survey, so the tree is in no stand and enters no figure "
        "per hectare.",
        lost["plot"],
    )
    advice = "List the plot with its stand, or correct its name."
    return findings(
        Rule("no_such_plot", "error", "plot", advice), lost.assign(cell=lost["plot"]), message
    )


def on_plots(values: pd.DataFrame, plots: pd.DataFrame) -> pd.DataFrame:
    """A row for each tree and size of its plot: `record`, `diameter`, the columns of `plots`, and
    `fits`, whether that size is for so thick a tree.
    """
    told = pd.DataFrame(
        {
            "record": values.index,
            "stand": values["stand"],
            "plot_key": plot_key(values["plot"]),
            "diameter": values["diameter_cm"].fillna(values["girth_cm"] / np.pi),
        }
    ).merge(plots, on=["stand", "plot_key"])
    low, high = told["min_diameter_cm"].fillna(0), told["max_diameter_cm"].fillna(np.inf)
    return told.assign(fits=(told["diameter"] >= low) & (told["diameter"] < high))


def _of_no_size(values: pd.DataFrame, plots: pd.DataFrame) -> pd.DataFrame:
    """Trees whose diameter none of the nested sizes of their plot is for."""
    told = on_plots(values, plots)
    diameter = values["diameter_cm"].fillna(values["girth_cm"] / np.pi)
    in_one = told["fits"].groupby(told["record"]).any().reindex(values.index, fill_value=True)
    return findings(
        Rule("no_plot_size", "note", "diameter"),
        values[~in_one & diameter.notna()],
        "None of the sizes of its plot is for trees so thick: it enters no figure per hectare.",
    )


def _short(names: "pd.Series[str]") -> str:
    told = list(names.astype(str))
    return ", ".join(told[:6]) + (" …" if len(told) > 6 else "")


def _too_far(values: pd.DataFrame, plots: pd.DataFrame) -> pd.DataFrame:
    """Trees that the plot does not reach: beyond its radius, or beyond the limiting distance."""
    slope = values["slope_deg"].where(values["distance_kind"] == "slope", 0.0).fillna(0.0)
    flat = values["distance_m"] * np.cos(np.radians(slope))
    diameter = values["diameter_cm"].fillna(values["girth_cm"] / np.pi)
    face = (values["distance_to"] == "face") & diameter.notna()
    middle = flat + (diameter / 200).where(face, 0.0)
    from_middle = (values["from_point"].str.strip() == "") | (
        plot_key(values["from_point"]) == plot_key(values["plot"])
    )
    factor = plots["basal_area_factor"].to_numpy(dtype=float)
    limit = np.where(
        factor > 0,
        metrics.limiting_distance(factor, diameter.to_numpy(dtype=float)),
        plots["radius_m"].to_numpy(dtype=float),
    )
    bad = from_middle & (middle.to_numpy() > limit + ROUNDING_M)
    at = values[bad]
    message = worded(
        "Stands {:.1f} m from the middle of its plot, which reaches {:.1f} m for this tree.",
        middle[bad],
        pd.Series(limit, index=values.index)[bad],
    )
    rule = Rule(
        "beyond_its_plot", "warning", "distance",
        "Measure again; a tree whose middle lies beyond does not count.",
    )  # fmt: skip
    return findings(rule, at, message)
