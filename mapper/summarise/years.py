"""Several years of one stand: each is figured alone, and the sheet shows one of them."""

from dataclasses import dataclass

import pandas as pd

from mapper.load.plot_centres import CENTRE_PART
from mapper.load.plot_sizes import no_plot_sizes
from mapper.measure.trees import trees_of_visits
from mapper.summarise.classing import with_classes
from mapper.summarise.ground import Ground
from mapper.summarise.kept_back import countable, without_found_stands
from mapper.summarise.natural_order import natural
from mapper.summarise.stands import summarise_stands
from mapper.summarise.tables import summarise_classes
from mapper.survey import Survey

# A year in which only some trees were measured again does not stand for the stand.
LEAST_OF_THE_FULLEST_YEAR = 0.5


@dataclass(frozen=True)
class Yearly:
    """Figures of stands, whatever number of years they were measured in."""

    stands: pd.DataFrame  # a row a stand: the year that its sheet shows
    by_year: pd.DataFrame  # a row a stand and year
    shown: pd.DataFrame  # the trees as measured in that year
    plots: pd.DataFrame  # the plots of that year
    classes: pd.DataFrame  # by stand and period, of stands of several years


def figures_by_year(
    trees: pd.DataFrame, visits: pd.DataFrame, ground: Ground, survey: Survey
) -> Yearly:
    """Stand figures per calendar year; a stand of one year has one row, as has one without dates.

    The sheet shows the newest year with at least half as many trees as the fullest one. `trees`
    are the measured trees with their classes and privacy.
    """
    dated = _with_years(visits, trees)
    years = dated.groupby("stand")["year"].nunique()
    several = set(years.index[years > 1]) - {""}
    once = trees[~trees["stand"].isin(several)]
    single = summarise_stands(countable(once, survey), ground.of(ground.stands - several), survey)
    if not several:
        return Yearly(single, single, trees, ground.plots, _no_classes(trees, survey))
    by_year = {
        int(str(year)): _trees_of_year(group, trees, survey)
        for year, group in dated[dated["stand"].isin(several)].groupby("year")
    }
    rows = pd.concat(
        [_rows_of_year(year, trees_then, ground, survey) for year, trees_then in by_year.items()],
        ignore_index=True,
    )
    chosen = _shown_years(rows)
    shown = [
        by_year[int(period)][by_year[int(period)]["stand"] == stand]
        for stand, period in zip(chosen["stand"], chosen["period"], strict=True)
    ]
    return Yearly(
        stands=_ordered(pd.concat([single, chosen])),
        by_year=_ordered(pd.concat([single, rows])),
        shown=pd.concat([once, *shown]),
        plots=ground.in_periods(dict(zip(chosen["stand"], chosen["period"], strict=True))).plots,
        classes=pd.concat(
            [
                _classes_of_year(year, trees_then, rows, ground, survey)
                for year, trees_then in by_year.items()
            ],
            ignore_index=True,
        ),
    )


def _classes_of_year(
    year: int, measured: pd.DataFrame, rows: pd.DataFrame, ground: Ground, survey: Survey
) -> pd.DataFrame:
    """How thick and tall the trees were in a year, by the plots of that year."""
    stands = rows[rows["period"] == str(year)]
    shown = without_found_stands(countable(measured, survey))
    plots = ground.of(set(stands["stand"])).in_year(year).plots
    table = summarise_classes(shown, stands, survey, plots).assign(period=str(year))
    return table[table["stand"] != ""]


def _no_classes(trees: pd.DataFrame, survey: Survey) -> pd.DataFrame:
    nobody = trees.iloc[:0]
    stands = pd.DataFrame({"stand": [], "design": [], "area_ha": []}).astype({"stand": str})
    table = summarise_classes(nobody, stands, survey, no_plot_sizes())
    return table.iloc[:0].assign(period=pd.Series(dtype=str))


def _rows_of_year(
    year: int, measured: pd.DataFrame, ground: Ground, survey: Survey
) -> pd.DataFrame:
    then = ground.of(set(measured["stand"])).in_year(year)
    # Named here: records without a day belong to a year, too.
    return summarise_stands(countable(measured, survey), then, survey).assign(period=str(year))


def _with_years(visits: pd.DataFrame, trees: pd.DataFrame) -> pd.DataFrame:
    """The visits with their tree's stand and their year; without a date, the stand's newest."""
    stand = visits["tree_key"].map(trees.set_index("tree_key")["stand"]).fillna("")
    year = visits["date"].dt.year
    newest = year.groupby(stand).transform("max")
    return visits.assign(stand=stand, year=year.fillna(newest).fillna(0).astype(int))


def _trees_of_year(visits: pd.DataFrame, trees: pd.DataFrame, survey: Survey) -> pd.DataFrame:
    known = trees.set_index("tree_key")
    measured = with_classes(trees_of_visits(visits).reset_index(), survey)
    # A tree stays where it is: a visit without a place has that of the others.
    kept = (
        "stand", "plot", "privacy", "secret", "lat", "lon", "position_accuracy_m", "edge_double",
        *CENTRE_PART,
    )  # fmt: skip
    return measured.assign(**{name: measured["tree_key"].map(known[name]) for name in kept})


def _shown_years(rows: pd.DataFrame) -> pd.DataFrame:
    fullest = rows.groupby("stand")["trees"].transform("max")
    enough = rows[rows["trees"] >= LEAST_OF_THE_FULLEST_YEAR * fullest]
    return enough.sort_values("period").drop_duplicates("stand", keep="last")


def _ordered(rows: pd.DataFrame) -> pd.DataFrame:
    order = sorted(
        range(len(rows)), key=lambda n: (natural(rows["stand"].iloc[n]), rows["period"].iloc[n])
    )
    return rows.iloc[order].reset_index(drop=True)
