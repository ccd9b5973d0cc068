"""Why a published cell is empty: no figure is missing without a word."""

import numpy as np
import pandas as pd

from mapper.language import later, say
from mapper.load.plot_sizes import SAMPLED
from mapper.summarise.estimates import ESTIMATES
from mapper.summarise.sampling_errors import BY_ANGLE
from mapper.summarise.spacing import NO_RECTANGLE, SPACING

# These rest on the area of the stand.
PER_HECTARE = (
    "stems_per_ha", "basal_area_m2_per_ha", "top_height_m", "relative_spacing",
    "stand_density_index", "stand_density_index_summed",
)  # fmt: skip
OF_THE_THICKEST = ("top_height_m", "relative_spacing")
LEAST_PLOTS = 2
RARELY_MET = later("an angle count meets thin trees too rarely to say how near this is")
NOT_WORKED_OUT = later(
    "no sampling error is worked out for it, too few plots have the measurement, or all plots "
    "gave the same, as a few may do by chance"
)
NONE_ON_PLOTS = later(
    "no living tree on any plot: how many the ground between them has, they cannot say"
)
MARGINS = ("area_without_margin_ha", "area_with_twice_margin_ha")
GUESSED = later("its area is only guessed from where its trees stand")
NO_FIGURE = later("there is no figure that could be near or far from the truth")
DIVERSITY = ("shannon", "simpson")
EDGE_NEAREST = later("for the most lonely tree the edge is nearer than the next tree")
CHOSEN = later(
    'the trees were chosen, not all counted: declare design = "complete count" in survey.toml if '
    "every tree was"
)
NO_AREA = later("its area is not known: draw its outline or give its area")
CHOSEN_BY_HAND = later("trees chosen by hand get no interval")
COLUMNS = ["table", "id", "column", "reason"]


def give_reasons(trees: pd.DataFrame, stands: pd.DataFrame) -> pd.DataFrame:
    """One row for each empty cell of trees and stands that a reader may miss."""
    return pd.concat([_joined(_tree_reasons(trees)), stand_reasons(stands)], ignore_index=True)


def stand_reasons(stands: pd.DataFrame) -> pd.DataFrame:
    """One row for each empty cell of stands."""
    return _joined(_stand_reasons(stands))


def _joined(tables: list[pd.DataFrame]) -> pd.DataFrame:
    filled = [table for table in tables if len(table)]
    if not filled:
        return pd.DataFrame(columns=COLUMNS)
    # The first reason says most.
    told = pd.concat(filled, ignore_index=True)[COLUMNS]
    return told.drop_duplicates(["table", "id", "column"], ignore_index=True)


def _tree_reasons(trees: pd.DataFrame) -> list[pd.DataFrame]:
    no_diameter, no_height = trees["diameter_cm"].isna(), trees["height_m"].isna()
    no_spread = trees["height_sd_m"].isna() & ~no_height
    by_eye = trees["height_method"] == "by eye"
    cases = [
        (no_diameter, "diameter_cm", later("no girth or diameter that can be used was handed in")),
        (trees["diameter_sd_cm"].isna() & ~no_diameter, "diameter_sd_cm",
         later("no published uncertainty for the way it was measured")),
        (no_height, "height_m", later("no height, and nothing to compute one from, was handed in")),
        (no_spread & by_eye, "height_sd_m", later("by eye: nobody knows how sure")),
        (no_spread & ~by_eye, "height_sd_m", later("how the height was measured is not known")),
        (no_diameter | no_height, "slenderness", later("needs both a diameter and a height")),
        (trees["lat"].isna(), "lat", later("no place was handed in, or it is not published")),
        (trees["species"] == "", "species", later("no species was named")),
        (trees["stand"] == "", "stand", later("in no stand")),
        (trees["date"] == "", "date", later("no date was handed in")),
    ]  # fmt: skip
    return [_rows("trees", trees.loc[empty, "tree"], column, why) for empty, column, why in cases]


def size_reasons(trees: pd.DataFrame) -> pd.DataFrame:
    """A row for each tree that was measured and is in no size class; `trees` are classed."""
    unsized = trees[trees["size_reason"] != ""]
    return _rows("trees", unsized["tree_key"], "size_class", unsized["size_reason"])


def _stand_reasons(stands: pd.DataFrame) -> list[pd.DataFrame]:
    chosen = stands["design"] == "chosen trees"
    no_area = stands["area_ha"].isna() & (stands["design"] == "complete count")
    by_angle = stands["design"] == "angle count"
    no_figure = (
        (chosen, CHOSEN),
        (no_area, NO_AREA),
        (by_angle, later("an angle count gives a number of trees only with every diameter")),
    )  # fmt: skip
    nobody = stands["trees"] == 0
    tables = [
        _rows(
            "stands",
            stands.loc[stands["area_ha"].isna(), "stand"],
            "area_ha",
            later("no outline and no area"),
        ),
        *_area_reasons(stands),
        _rows("stands", stands.loc[nobody, "stand"], "trees", later("no record of a living tree")),
    ]
    for column in PER_HECTARE:
        for empty, why in no_figure:
            tables.append(
                _rows("stands", stands.loc[empty & stands[column].isna(), "stand"], column, why)
            )
    tables += _structure_reasons(stands, ~chosen & ~no_area)
    for estimate in ("stems_per_ha", *ESTIMATES):
        tables += _interval_reasons(stands, estimate)
    return [*tables, *_spacing_reasons(stands)]


def _area_reasons(stands: pd.DataFrame) -> list[pd.DataFrame]:
    """Why it is not told where an area is from, and why none is guessed."""
    nowhere = stands["area_from"] == ""
    known = ~nowhere & (stands["area_from"] != "trees")
    tables = [
        _rows("stands", stands.loc[nowhere, "stand"], column, later("no outline and no area"))
        for column in ("area_from", *MARGINS)
    ]
    return tables + [
        _rows("stands", stands.loc[known, "stand"], column, later("its area is known"))
        for column in MARGINS
    ]


def _spacing_reasons(stands: pd.DataFrame) -> list[pd.DataFrame]:
    """Why nothing is said of how the trees are spread."""
    told = stands["spacing_reason"] != ""
    bent = ~told & stands["clark_evans_donnelly"].isna()
    cut = ~told & stands["clark_evans_edge"].isna()
    withheld = [
        _rows("stands", stands.loc[told, "stand"], column, stands.loc[told, "spacing_reason"])
        for column in SPACING
    ]
    return [
        *withheld,
        _rows("stands", stands.loc[bent, "stand"], "clark_evans_donnelly", NO_RECTANGLE),
        _rows("stands", stands.loc[cut, "stand"], "clark_evans_edge", EDGE_NEAREST),
    ]


def _structure_reasons(stands: pd.DataFrame, per_ha: "pd.Series[bool]") -> list[pd.DataFrame]:
    """Why a stand with figures per hectare has no top height, and one without species no index."""
    unnamed, alone = stands["species_count"] == 0, stands["species_count"] == 1
    short = [
        (stands[column].isna() & per_ha, column,
         later("the thickest trees, 100 on a hectare, do not all have a girth and a height"))
        for column in OF_THE_THICKEST
    ]  # fmt: skip
    mixed = [
        (unnamed, column, later("no tree has a species")) for column in (*DIVERSITY, "evenness")
    ]
    cases = [
        *short,
        *mixed,
        (alone, "evenness", later("one species alone is neither even nor uneven")),
    ]
    bare = [
        (stands[column].isna() & per_ha, column, later("no tree has a diameter"))
        for column in ("basal_area_m2_per_ha", "stand_density_index", "stand_density_index_summed")
    ]
    return [
        _rows("stands", stands.loc[empty, "stand"], column, why)
        for empty, column, why in [*cases, *bare]
    ]


def _interval_reasons(stands: pd.DataFrame, estimate: str) -> list[pd.DataFrame]:
    """Why an estimate, the ends of its interval or a part of its error is empty."""
    known, chosen = stands[estimate].notna(), stands["design"] == "chosen trees"
    sampled = stands["design"].isin(SAMPLED)
    by_angle = stands["design"] == "angle count"
    by_hand = sampled & (stands["selection"] == "by hand")
    unsure = stands[f"{estimate}_se_measurement"].isna()
    partial = stands[f"{estimate}_se_sampling"].isna()
    alone = sampled & (stands["plots"].fillna(0) < LEAST_PLOTS)
    bare = sampled & (stands[estimate] == 0)
    always = [
        (~known, NO_FIGURE),
        (chosen, CHOSEN_BY_HAND),
        (by_hand, later("plots chosen by hand get no interval")),
        (bare, NONE_ON_PLOTS),
    ]
    guess = (stands["area_from"] == "trees") & (estimate in PER_HECTARE)
    measuring = [(unsure, later("the uncertainty of some trees is not known"))]
    choosing = [
        (alone, later("one plot alone does not tell how much plots differ")),
        (by_angle & (estimate not in BY_ANGLE), RARELY_MET),
        (partial & sampled, NOT_WORKED_OUT),
        (partial, later("some trees of the stand lack the measurement")),
    ]
    whole = [*always, (guess, GUESSED), *choosing[:2], *measuring, *choosing[2:]]
    cases = {
        "low": whole,
        "high": whole,
        "se_sampling": [*always, *choosing],
        "se_measurement": [*always, *measuring],
    }
    tables = [_first(stands, f"{estimate}_{end}", why) for end, why in cases.items()]
    unmeasured = _rows(
        "stands", stands.loc[~known, "stand"], estimate, later("no tree was measured")
    )
    return [*tables, unmeasured]


def _first(
    stands: pd.DataFrame, column: str, cases: "list[tuple[pd.Series[bool], str]]"
) -> pd.DataFrame:
    """The first reason that holds, for every stand whose cell of the column is empty."""
    empty = stands[column].isna()
    why = np.select([case & empty for case, _ in cases], [str(say(why)) for _, why in cases], "")
    told = why != ""
    return _rows("stands", stands.loc[told, "stand"], column, pd.Series(why[told]))


def _rows(table: str, ids: pd.Series, column: str, reason: "str | pd.Series") -> pd.DataFrame:
    told = str(say(reason)) if isinstance(reason, str) else reason.to_numpy()
    return pd.DataFrame({"table": table, "id": ids.to_numpy(), "column": column, "reason": told})
