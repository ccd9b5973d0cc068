"""Rules about plots that reach over the edge of their stand."""

import numpy as np
import pandas as pd

from mapper.check.findings import Rule, about_plots, findings, joined
from mapper.check.plots import on_plots
from mapper.load.edges import MADE_UP, at_edge


def doubtful_edges(values: pd.DataFrame, plots: pd.DataFrame) -> pd.DataFrame:
    """Trees that may count twice and nobody knows, and edges that nothing makes up for."""
    if plots.empty:
        return joined([])
    return joined([_of_trees(values, plots), _not_made_up(plots), _not_told(values, plots)])


def _of_trees(values: pd.DataFrame, plots: pd.DataFrame) -> pd.DataFrame:
    """Trees on plots of a stand whose edge is made up for, where something is amiss."""
    told = _with_sizes(values, plots[plots["edge"].isin(MADE_UP)])
    trees = values.loc[told["record"]]
    seen = at_edge(trees, told, told["diameter"].to_numpy(dtype=float))
    unknown = Rule(
        "edge_place_unknown", "warning", "edge_double",
        "Fill in edge_double with yes or no. Or give bearing and distance of the tree from the "
        "middle of its plot, and edge_distance and edge_bearing of the plot.",
    )  # fmt: skip
    beyond = Rule(
        "beyond_the_edge", "warning", "distance",
        "Measure again. A tree outside the stand does not belong to it.",
    )  # fmt: skip
    return joined(
        [
            findings(
                unknown,
                trees[seen.unknown],
                "The edge of the stand is near this plot. Whether the tree counts twice cannot be "
                "worked out: it counts once.",
            ),
            findings(
                beyond,
                trees[seen.outside],
                "By bearing and distance it stands beyond the edge of its stand. It counts.",
            ),
        ]
    )


def _with_sizes(values: pd.DataFrame, plots: pd.DataFrame) -> pd.DataFrame:
    """The size of its plot that each tree is on: `record`, `diameter` and those of `plots`."""
    told = on_plots(values, plots)
    fits = told["fits"] | told["diameter"].isna()
    return told[fits].drop_duplicates("record").reset_index(drop=True)


def _not_made_up(plots: pd.DataFrame) -> pd.DataFrame:
    """Plots that reach over the edge in stands where nothing is done about it."""
    reach = plots["radius_m"].fillna(np.sqrt(plots["area_m2"] / np.pi))
    over = plots[~plots["edge"].isin(MADE_UP) & (plots["edge_distance_m"] < reach)]
    messages = [
        f"In {stand} the plots {', '.join(dict.fromkeys(names))} reach over the edge of the stand. "
        "Trees near the edge are met too rarely, and the figures come out too low."
        for stand, names in over.groupby("stand", sort=False)["plot"]
    ]
    advice = 'Say in survey.toml how the edge was made up for: edge = "mirage" or "walkthrough".'
    return about_plots(Rule("edge_not_made_up", "warning", "", advice), messages)


def _not_told(values: pd.DataFrame, plots: pd.DataFrame) -> pd.DataFrame:
    """Stands said to make up for their edge, where neither plot nor tree tells of one."""
    told_of = set(plots.loc[plots["edge_distance_m"].notna(), "stand"])
    said = set(values.loc[values["edge_double"] != "", "stand"])
    ways = plots.drop_duplicates("stand").set_index("stand")["edge"]
    messages = [
        f"{stand} is said to make up for its edge by {way}, and neither edge_distance of a plot "
        "nor edge_double of a tree is filled in: every tree counts once."
        for stand, way in ways.items()
        if way in MADE_UP and stand not in told_of and stand not in said
    ]
    advice = "Fill in edge_distance and edge_bearing of the plots near the edge, if there are any."
    return about_plots(Rule("edge_not_told", "warning", "", advice), messages)
