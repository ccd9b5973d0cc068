"""Rules about where a tree stands: outside, in two stands, too near an edge to say."""

import geopandas as gpd
import numpy as np
import pandas as pd
import shapely

from mapper.check.findings import Rule, findings, joined, worded

# Neighbours drawn by hand along one path overlap by a hair; beyond this part of the smaller
# outline one of the two is drawn wrong.
OVERLAP_PART = 0.01


def misplaced(values: pd.DataFrame, boundaries: gpd.GeoDataFrame) -> pd.DataFrame:
    """Findings on stands and their outlines."""
    outlined = set(boundaries["stand"])
    if not outlined:
        return joined([])
    return joined(
        [
            _outside(values, outlined),
            _in_two(values),
            _near_the_edge(values),
            _nowhere(values),
            _empty_outlines(values, outlined),
            _overlapping(values, boundaries),
        ]
    )


def _nowhere(values: pd.DataFrame) -> pd.DataFrame:
    """Trees that may stand in a stand or not: nobody wrote where they are."""
    placed = values["lat"].notna() & values["lon"].notna()
    return findings(
        Rule("in_no_stand", "warning", "stand", "Give its place, or name its stand."),
        values[~placed & (values["stand"] == "")],
        "No place and no stand: no stand counts this tree, though it may stand in one.",
    )


def _overlapping(values: pd.DataFrame, boundaries: gpd.GeoDataFrame) -> pd.DataFrame:
    """Outlines that share ground, which then counts for two stands."""
    # Parts of one place: the share is the same in any plane that keeps areas.
    plane = boundaries.to_crs("ESRI:54034").geometry
    shapes = plane.to_numpy()
    one, other = plane.sindex.query(plane, predicate="intersects")
    pairs = one < other
    one, other = one[pairs], other[pairs]
    shared = shapely.area(shapely.intersection(shapes[one], shapes[other]))
    smaller = np.minimum(shapely.area(shapes[one]), shapely.area(shapes[other]))
    part = shared / smaller
    wrong = part > OVERLAP_PART
    names = boundaries["stand"].to_numpy(dtype=object)
    at = _of_no_tree(values, int(wrong.sum()))
    message = worded(
        "The outlines of {} and {} overlap by {} % of the smaller one: that ground counts for "
        "both, and their figures per hectare are too low.",
        pd.Series(names[one[wrong]], at.index, dtype=str),
        pd.Series(names[other[wrong]], at.index, dtype=str),
        pd.Series(np.char.mod("%.0f", part[wrong] * 100), at.index, dtype=str),
    )
    suggestion = "Draw them again so that each piece of ground is in one stand."
    return findings(Rule("overlapping_stands", "warning", "stand", suggestion), at, message)


def _of_no_tree(values: pd.DataFrame, count: int) -> pd.DataFrame:
    """Rows for findings that are about no record."""
    return values.iloc[[0] * count].assign(tree="", row=np.nan).set_axis([-1] * count)


def _empty_outlines(values: pd.DataFrame, outlined: set[str]) -> pd.DataFrame:
    empty = sorted(outlined - set(values["stand"]))
    at = _of_no_tree(values, len(empty))
    message = worded("No tree lies in the outline of {}.", pd.Series(empty, at.index, dtype=str))
    return findings(
        Rule("empty_stand", "warning", "stand", "Is it drawn in the right place?"), at, message
    )


def _outside(values: pd.DataFrame, outlined: set[str]) -> pd.DataFrame:
    placed = values["lat"].notna() & values["lon"].notna()
    outside = placed & (values["outlines"] == 0)
    # In a file of street or garden trees most lie in no stand; one stray tree is likelier a slip.
    stray = (~outside).groupby(values["file"]).transform("mean") > 0.5
    cell = values["stand_from"] == "cell"
    drawn = values["stand"].isin(outlined)
    return joined(
        [
            findings(
                Rule("outside_every_stand", "warning", "lat", "Check the digits of the position."),
                values[outside & stray & ~cell],
                "Outside every stand, though most trees of this file are in one. "
                "It is on the map and in no stand's figures.",
            ),
            findings(
                Rule("outside_every_stand", "note", "lat"),
                values[outside & ~stray & ~cell],
                "In no stand: listed on its own.",
            ),
            findings(
                Rule("outside_every_stand", "warning", "lat", "Check the position."),
                values[outside & cell & drawn],
                "The stand cell names a stand, the position is outside every outline. "
                "The stand cell is used.",
            ),
        ]
    )


def _in_two(values: pd.DataFrame) -> pd.DataFrame:
    return findings(
        Rule(
            "in_two_stands",
            "error",
            "lat",
            "Draw the outlines so that they do not overlap, or name the stand in the record.",
        ),
        values[(values["outlines"] > 1) & (values["stand_from"] != "cell")],
        "Two outlines cover this tree. It is counted in the first.",
    )


def _near_the_edge(values: pd.DataFrame) -> pd.DataFrame:
    unsure = values["place_accuracy_m"] > values["edge_m"]
    return findings(
        Rule("near_an_edge", "note", "lat", "Name the stand in the record if you know it."),
        values[unsure & (values["stand_from"] == "outline")],
        "Nearer to the edge of its stand than its position is sure.",
    )
