"""Rules about the ground of sampled stands: plots, strata and the stand around them."""

from collections.abc import Sequence

import pandas as pd

from mapper.check.findings import Rule, about_plots, findings, joined, worded
from mapper.load.plot_files import plot_key

# Areas read off a map differ by so much without anybody's fault.
SAME_PART = 0.05
M2_PER_HA = 10_000.0


def doubtful_ground(
    values: pd.DataFrame,
    plots: pd.DataFrame,
    outlined_ha: "pd.Series[float]",
    unread: Sequence[str],
) -> pd.DataFrame:
    """Areas that do not fit together, and headings of plots that mean nothing.

    `outlined_ha` is the area of the stands that have an outline.
    """
    tables = [_unread(unread)]
    if len(plots):
        first = plots.drop_duplicates("stand").set_index("stand")
        area = first["stand_ha"].fillna(outlined_ha.reindex(first.index))
        tables += [
            _too_many_plots(plots, area),
            _strata_and_stand(plots, area),
            _other_stratum(values, plots),
            _stems_at_an_angle(values, plots),
        ]
    return joined(tables)


def _unread(unread: Sequence[str]) -> pd.DataFrame:
    listed = ", ".join(unread)
    advice = "Correct the heading if it was meant for the plots; README lists those that are read."
    messages = [f"Not read in the files of plots: the heading {listed}."] if unread else []
    return about_plots(Rule("plot_heading_not_read", "note", "", advice), messages)


def _too_many_plots(plots: pd.DataFrame, area_ha: "pd.Series[float]") -> pd.DataFrame:
    """Plots that together cover more ground than their stand has."""
    largest = plots.groupby(["stand", "plot_key"])["area_m2"].max()
    covered = largest.groupby("stand").sum() / M2_PER_HA
    stands = area_ha.index[covered.reindex(area_ha.index) > area_ha]
    messages = [
        f"The plots of {stand} cover {covered[stand]:.2f} ha together, and the stand has only "
        f"{area_ha[stand]:.2f} ha."
        for stand in stands
    ]
    advice = "Check the unit of area in survey.toml and of the plots' sizes."
    return about_plots(Rule("plots_beyond_stand", "error", "", advice), messages)


def _strata_and_stand(plots: pd.DataFrame, area_ha: "pd.Series[float]") -> pd.DataFrame:
    """Strata that together are not as large as their stand."""
    strata = plots.drop_duplicates(["stand", "stratum"])
    whole = strata.groupby("stand")["stratum_ha"].sum(min_count=1).reindex(area_ha.index)
    apart = (whole - area_ha).abs() > SAME_PART * area_ha
    messages = [
        f"The strata of {stand} are {whole[stand]:.2f} ha together, and the stand is "
        f"{area_ha[stand]:.2f} ha. Figures per hectare are of the strata."
        for stand in area_ha.index[apart]
    ]
    advice = "Check the areas in the file of strata and the stand's own."
    return about_plots(Rule("strata_beside_stand", "warning", "", advice), messages)


def _other_stratum(values: pd.DataFrame, plots: pd.DataFrame) -> pd.DataFrame:
    """Trees that name another stratum than their plot does."""
    keys = ["stand", "plot_key"]
    of_plot = plots[plots["stratum"] != ""].drop_duplicates(keys).set_index(keys)["stratum"]
    mine = pd.MultiIndex.from_arrays([values["stand"], plot_key(values["plot"])])
    told = pd.Series(of_plot.reindex(mine).to_numpy(), values.index).fillna("")
    own = plot_key(values["stratum"])
    at = values[(own != "") & (told != "") & (own != told)]
    message = worded(
        "Its plot lies in the stratum '{}', the record says '{}'. The plot's is used.",
        told[at.index],
        at["stratum"],
    )
    rule = Rule("other_stratum", "warning", "stratum", "Correct the stratum, or the plot.")
    return findings(rule, at.assign(cell=at["stratum"]), message)


def _stems_at_an_angle(values: pd.DataFrame, plots: pd.DataFrame) -> pd.DataFrame:
    """Trees with several stems at an angle count, where each stem is looked at by itself."""
    by_angle = values["stand"].isin(plots.loc[plots["basal_area_factor"] > 0, "stand"])
    stems = [name for name in values if str(name).startswith("stem_") and str(name).endswith("_cm")]
    several = values[stems].notna().sum(axis=1) > 1 if stems else pd.Series(False, values.index)
    at = values[by_angle & several]
    rule = Rule(
        "stems_at_an_angle", "warning", "stem_1",
        "Give each stem that fills the angle a record of its own, without the others.",
    )  # fmt: skip
    return findings(
        rule,
        at,
        "At an angle count each stem is looked at by itself and counts if it fills the angle. Here "
        "all stems together were counted once, by the diameter of one stem of the same "
        "cross-section: basal area and number may be too low.",
    )


def outlined_areas(boundaries: pd.DataFrame) -> "pd.Series[float]":
    """The area of each stand that has an outline. [ha]"""
    areas = boundaries.set_index("stand")["area_ha"].astype(float)
    return areas[~areas.index.duplicated()]


def guessed_ground(guessed: pd.DataFrame) -> pd.DataFrame:
    """Stands whose area nobody drew or wrote: one finding each."""
    messages = [
        f"{row['stand']} has no outline and no area. Its area was guessed: the hull around its "
        f"trees, widened by half their mean spacing ({row['margin_m']:.1f} m), "
        f"{row['area_ha']:.3f} ha. Without that margin it is {row['narrow_ha']:.3f} ha, and there "
        f"are {(row['area_ha'] / row['narrow_ha'] - 1) * 100:.0f} % more trees per hectare; with "
        f"twice as much {row['wide_ha']:.3f} ha, and "
        f"{(1 - row['area_ha'] / row['wide_ha']) * 100:.0f} % fewer."
        for row in guessed.to_dict("records")
    ]
    advice = "Draw its outline, or write its area in survey.toml."
    return about_plots(Rule("area_guessed", "warning", "", advice), messages)
