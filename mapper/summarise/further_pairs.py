"""Two years of one stand, and two kinds of trees: differences that claim no more than is known."""

import math
from itertools import combinations, pairwise

import numpy as np
import pandas as pd

from mapper.language import say
from mapper.summarise.comparison import SILENT, WORDS, Stand, difference_of, table_of
from mapper.summarise.ground import Ground
from mapper.summarise.stands import Z95, counting, summarise_stands
from mapper.survey import Survey

MOST_STANDS = 40  # whose kinds are compared: those with the most trees
SEPARATOR = "\n"  # in no name of a stand or kind
MOST_YEARS = 6  # beyond, not every two are paired
MOST_KINDS = 6  # the commonest: more pairs nobody reads
LEAST_TREES = 5  # of a kind, before its average says anything of it
OF_KINDS = (
    "mean_diameter_cm", "quadratic_mean_diameter_cm", "mean_height_m", "lorey_height_m",
)  # fmt: skip
# What rests on how many trees were found.
OF_NUMBERS = ("stems_per_ha", "basal_area_m2_per_ha", "stand_density_index", "top_height_m")

OF_YEARS = [
    "stand", "period", "design", "selection", "trees", "trees_with_diameter", "dead_trees",
    *(f"{quantity}{end}" for quantity in WORDS for end in ("", "_low", "_high")),
    *SILENT,
]  # fmt: skip


def compare_years(by_year: pd.DataFrame) -> pd.DataFrame:
    """Any two years of a stand; of very many, each with the next one and the first with the last.

    Where two complete counts differ in their trees, nobody knows whether the others are gone or
    were left out: then there is no interval, and the sentence says so.
    """
    rows: list[dict[str, object]] = []
    # Only of stands with a pair, and in one go: thousands of small tables take minutes.
    several = by_year[by_year["stand"].duplicated(keep=False)]
    by_stand: dict[str, list[Stand]] = {}
    for year in several[OF_YEARS].to_dict("records"):
        by_stand.setdefault(year["stand"], []).append(year)
    for years in by_stand.values():
        pairs = list(combinations(years, 2))
        if len(years) > MOST_YEARS:
            pairs = [*pairwise(years), (years[0], years[-1])]
        rows += [row for one, other in pairs for row in _of_years(one, other)]
    return table_of(rows)


def _of_years(one: Stand, other: Stand) -> list[dict[str, object]]:
    alike = one["design"] != "complete count" or _found(one) == _found(other)
    sides = [
        (year if alike else _unsure(year))
        | {"stand": say("{stand} in {year}").format(stand=year["stand"], year=year["period"])}
        for year in (one, other)
    ]
    own = {"kind": "years", "stand": one["stand"], "other_stand": other["stand"]}
    rows = [
        difference_of(sides[0], sides[1], quantity) | own
        for quantity in (*WORDS, *SILENT)
        if not math.isnan(one[quantity] + other[quantity])
    ]
    for row in rows:
        if not alike and row["quantity"] in OF_NUMBERS:
            row["sentence"] = _not_alike(one, other)
    return rows


def _found(year: Stand) -> int:
    """Trees that have a record in that year, those that had died included."""
    return int(year["trees"] + year["dead_trees"])


def _unsure(year: Stand) -> Stand:
    ends = {f"{quantity}_{end}": np.nan for quantity in WORDS for end in ("low", "high")}
    return year | ends


def _not_alike(one: Stand, other: Stand) -> str:
    return say(
        "{stand} has records of {some} trees from {year} and of {others} from {other_year}: "
        "whether the others were there, the records do not say."
    ).format(
        stand=one["stand"],
        some=_found(one),
        year=one["period"],
        others=_found(other),
        other_year=other["period"],
    )


def compare_kinds(trees: pd.DataFrame, ground: Ground, survey: Survey) -> pd.DataFrame:
    """The commonest kinds of living trees by pairs: sizes of the trees measured.

    First those of the whole survey, wherever they are (stand ""), then those of each of the
    largest stands. The interval is of measuring alone; it says nothing of trees that nobody
    measured. `trees` are those that are shown, with their classes.
    """
    living = trees[counting(trees, survey) & (trees["species_name"] != "")]
    grouped = _by_stand(living)
    counts = grouped.groupby(["of", "species_name"]).size()
    orders = {str(of): _commonest(kinds.droplevel(0)) for of, kinds in counts.groupby(level=0)}
    keys = {_key(of, kind) for of, order in orders.items() for kind in order}
    group = grouped["of"] + SEPARATOR + grouped["species_name"]
    chosen = grouped.assign(stand=group)[group.isin(keys)]
    if chosen.empty:
        return table_of([])
    common = chosen.groupby("species_name")["common_name"].first()
    figures = _figures(chosen, ground, survey)
    kinds = figures.assign(**_by_measuring(figures)).set_index("stand").to_dict("index")
    rows = []
    for of, order in orders.items():
        for one, other in combinations(order, 2):
            sides = [
                kinds[_key(of, name)] | {"stand": common[name] or name} for name in (one, other)
            ]
            rows += [
                difference_of(sides[0], sides[1], quantity, among=True)
                | _about_kinds(of, one, other)
                for quantity in OF_KINDS
                if not np.isnan([side[quantity] for side in sides]).any()
            ]
    return table_of(rows)


def _by_stand(living: pd.DataFrame) -> pd.DataFrame:
    """Every tree for the whole survey, and again for its stand if that is one of the largest."""
    stands = living.loc[living["stand"] != "", "stand"].value_counts()
    inside = living[living["stand"].isin(stands.index[:MOST_STANDS])]
    return pd.concat([living.assign(of=""), inside.assign(of=inside["stand"])], ignore_index=True)


def _commonest(counts: "pd.Series[int]") -> list[str]:
    order = sorted(counts.index[counts >= LEAST_TREES], key=lambda name: (-counts[name], name))
    return order[:MOST_KINDS]


def _key(of: str, kind: str) -> str:
    return f"{of}{SEPARATOR}{kind}"


def _figures(trees: pd.DataFrame, ground: Ground, survey: Survey) -> pd.DataFrame:
    """Each kind as if it were a stand without ground, of which the trees at hand are all."""
    alone = survey.model_copy(update={"stand": (), "complete_count": True})
    everywhere = trees.assign(plot="", stand_from="", secret=False)
    return summarise_stands(everywhere, ground.of(()), alone)


def _by_measuring(figures: pd.DataFrame) -> dict[str, pd.Series]:
    """Ends of the intervals for the trees measured: what the others are, is not asked."""
    half = {name: Z95 * figures[f"{name}_se_measurement"] for name in OF_KINDS}
    return {f"{name}_low": figures[name] - half[name] for name in OF_KINDS} | {
        f"{name}_high": figures[name] + half[name] for name in OF_KINDS
    }


def _about_kinds(of: str, one: str, other: str) -> dict[str, object]:
    of_stand = {"stand": of, "other_stand": of, "period": "", "other_period": ""}
    return {"kind": "species", "species": one, "other_species": other, **of_stand}
