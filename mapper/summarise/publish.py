"""What leaves the survey folder: a white list. What is not named here is not published."""

from collections.abc import Mapping
from dataclasses import dataclass, field, replace

import numpy as np
import pandas as pd

from mapper.language import speaking
from mapper.load.membership import among
from mapper.load.survey_records import Observations
from mapper.measure import Measured, agreement
from mapper.measure.ground import guessed_areas
from mapper.measure.grown import with_ages
from mapper.measure.growth import stand_increment
from mapper.reference import rows
from mapper.summarise.classing import with_classes
from mapper.summarise.comparison import compare_stands
from mapper.summarise.further_pairs import compare_kinds, compare_years
from mapper.summarise.generalised import with_generalisations
from mapper.summarise.ground import Ground
from mapper.summarise.height_curves import height_curves
from mapper.summarise.kept_back import with_kept_back, without_found_stands, without_places
from mapper.summarise.natural_order import natural_ranks
from mapper.summarise.observers import observers_of_visits, published_observers
from mapper.summarise.outlines import published_backdrop, published_outlines
from mapper.summarise.photos import public_photos
from mapper.summarise.places import careful_privacy, published_places
from mapper.summarise.public_findings import public_findings
from mapper.summarise.public_records import own_columns, public_records, published_dates
from mapper.summarise.public_repairs import public_repairs
from mapper.summarise.reasons import give_reasons, size_reasons
from mapper.summarise.reasons_age import age_reasons
from mapper.summarise.results import PublicPhoto, Results
from mapper.summarise.species_classes import summarise_species_classes
from mapper.summarise.spread import summarise_spread
from mapper.summarise.stands import counting
from mapper.summarise.tables import summarise_classes, summarise_species
from mapper.summarise.told_workings import Workings
from mapper.summarise.totals import survey_totals
from mapper.summarise.years import Yearly, figures_by_year
from mapper.survey import Survey

DRAWING_COLUMNS = ["symbol"]
TOLD_AS_REASONS = "spacing_reason"
CLASS_NAMES = ["diameter_class", "height_class"]
OTHER_UNITS = {"metric": "us", "us": "metric"}
# At 20,000 trees a second set takes 51 MB more than 93, and half as long again to build.
MOST_TWICE = 10_000


@dataclass(frozen=True)
class Line:
    """What the stages before made of a survey."""

    survey: Survey
    observations: Observations
    findings: pd.DataFrame
    measured: Measured
    codes: Mapping[str, str] = field(default_factory=dict)  # of observers, by the key of the name


def publish(line: Line) -> Results:
    """Stand figures, and the white-listed tables the site is made of, in the survey's language."""
    with speaking(line.survey.language):
        return _published(line)


def _published(line: Line) -> Results:
    survey, boundaries = line.survey, line.observations.boundaries
    own_columns(line.observations.records, survey)  # what cannot be published is refused first
    trees = with_classes(line.measured.trees.reset_index(), survey)
    asked = careful_privacy(line.measured.records, trees["tree_key"], _privacy_unread(line))
    trees = trees.assign(privacy=asked)
    trees = with_generalisations(with_kept_back(trees, survey.publish.positions), survey)
    guessed = guessed_areas(trees, survey, set(boundaries["stand"]))
    ground = Ground(boundaries, line.observations.plots, guessed)
    yearly = figures_by_year(trees, line.measured.visits, ground, survey)
    stands = yearly.stands
    open_trees, shown = (without_found_stands(table) for table in (trees, yearly.shown))
    open_trees = with_ages(open_trees, line.measured, survey)
    public = _public_trees(open_trees, line)
    results = Results(
        survey=survey,
        trees=public,
        visits=_public_visits(line, open_trees),
        observations=public_records(
            line.observations.records, _with_asked(line, trees), open_trees, survey, line.codes
        ),
        stands=stands.drop(columns=TOLD_AS_REASONS),
        stands_by_year=yearly.by_year.drop(columns=TOLD_AS_REASONS),
        classes=summarise_classes(shown, stands, survey, yearly.plots),
        classes_by_year=yearly.classes[columns_of("classes_by_year")],
        species=summarise_species(shown, stands, survey, yearly.plots),
        species_classes=summarise_species_classes(shown, stands, survey, yearly.plots),
        height_curves=height_curves(shown[counting(shown, survey)], survey.measure.breast_height),
        spread=summarise_spread(shown[counting(shown, survey)], stands, ground.shapes),
        comparison=_comparison(yearly, open_trees, ground, survey),
        totals=survey_totals(stands),
        increments=_increments(_of_trees(line.measured.visits, open_trees), stands, survey),
        agreement=agreement(_of_trees(line.measured.records, open_trees)),
        findings=public_findings(_open_findings(line, open_trees), survey.publish.findings),
        repairs=public_repairs(line.observations, open_trees, survey),
        reasons=pd.concat(
            [give_reasons(public, stands), size_reasons(open_trees), age_reasons(open_trees)],
            ignore_index=True,
        ),
        workings=Workings(open_trees, public["tree"], survey),
        boundaries=published_outlines(boundaries, survey),
        backdrop=published_backdrop(line.observations.backdrop, survey),
        withheld=int((trees["privacy"] == "withheld").sum()),
        photos=_photos(line, open_trees),
    )
    return replace(results, other_units=_in_other_units(results, open_trees, shown, ground.plots))


def _in_other_units(
    results: Results, trees: pd.DataFrame, shown: pd.DataFrame, plots: pd.DataFrame
) -> Results | None:
    """The survey with its classes and workings in the other units; None where it is too large."""
    if len(trees) > MOST_TWICE:
        return None
    survey = results.survey.model_copy(update={"units": OTHER_UNITS[results.survey.units]})
    classed = with_classes(trees, survey).set_index("tree_key")
    names = {name: results.trees["tree"].map(classed[name]) for name in CLASS_NAMES}
    shown, stands = with_classes(shown, survey), results.stands
    return replace(
        results,
        survey=survey,
        trees=results.trees.assign(**names),
        classes=summarise_classes(shown, stands, survey, plots),
        species_classes=summarise_species_classes(shown, stands, survey, plots),
        workings=Workings(trees, results.trees["tree"], survey),
    )


def _comparison(
    yearly: Yearly, trees: pd.DataFrame, ground: Ground, survey: Survey
) -> pd.DataFrame:
    """Pairs of stands, of years, of kinds, one table under the other."""
    pairs = [
        compare_stands(yearly.stands),
        compare_years(yearly.by_year),
        compare_kinds(trees, ground, survey),
    ]
    full = [table for table in pairs if len(table)]
    return pd.concat(full, ignore_index=True) if full else pairs[0]


def _photos(line: Line, trees: pd.DataFrame) -> tuple[PublicPhoto, ...]:
    days = published_dates(line.observations.photos.files["taken"], line.survey)
    return public_photos(line.observations, trees, days, line.survey)


def _increments(visits: pd.DataFrame, stands: pd.DataFrame, survey: Survey) -> pd.DataFrame:
    """Growth of completely counted stands in which trees were measured in two years."""
    counted = stands[stands["design"] == "complete count"].set_index("stand")["area_ha"].dropna()
    table = stand_increment(visits, counted, survey.publish.dates).reset_index()
    return table[table["trees_measured_twice"] > 0].reset_index(drop=True)


def _of_trees(records: pd.DataFrame, trees: pd.DataFrame) -> pd.DataFrame:
    return records[among(records["tree_key"], trees["tree_key"])]


def _with_asked(line: Line, trees: pd.DataFrame) -> pd.DataFrame:
    """All records, each with what its tree asks for."""
    values = line.observations.values
    asked = trees.set_index("tree_key")["privacy"]
    return values.assign(asked=values["tree_key"].map(asked).fillna("exact"))


def _privacy_unread(line: Line) -> "pd.Series[bool]":
    cells, values = line.observations.records.cells, line.observations.values
    if "privacy" not in cells:
        return pd.Series(False, index=values.index)
    return (cells["privacy"].str.strip() != "") & (values["privacy"] == "")


def columns_of(table: str) -> list[str]:
    """The published columns of a table, as reference/published.csv lists them."""
    return [row["column"] for row in rows("published") if row["table"] == table]


def _public_trees(trees: pd.DataFrame, line: Line) -> pd.DataFrame:
    counts = _finding_counts(line)
    named = published_places(trees, line.survey.publish.positions).assign(
        tree=trees["tree_key"],
        species=trees["species_name"],
        date=published_dates(trees["date"], line.survey),
        finding_count=trees["tree_key"].map(counts).fillna(0).astype(int),
        symbol=_symbols(trees),
    )
    table = named[[*columns_of("trees"), *DRAWING_COLUMNS]]
    order = np.argsort(natural_ranks(table["tree"]), kind="stable")
    return table.take(order).reset_index(drop=True)


def _open_findings(line: Line, trees: pd.DataFrame) -> pd.DataFrame:
    """Findings about whole columns, and about records of trees that are published."""
    values = line.observations.values
    keys = values["tree_key"].reindex(line.findings["record"]).to_numpy()
    privacy = pd.Series(keys).map(trees.set_index("tree_key")["privacy"]).to_numpy()
    whole = (line.findings["record"] < 0).to_numpy()
    exact = whole | ((privacy == "exact") & (line.survey.publish.positions == "exact"))
    open_ = line.findings[(whole | among(pd.Series(keys), trees["tree_key"]))]
    shown = trees["tree_key"][trees["privacy"] == "exact"]
    of_shown = values[among(values["tree_key"], shown)]
    return without_places(
        open_,
        pd.Series(exact, index=line.findings.index).reindex(open_.index),
        {*of_shown["tree"].astype(str), *of_shown["tree_key"].astype(str)},
    )


def _symbols(trees: pd.DataFrame) -> "pd.Series[str]":
    kind = trees["leaf_kind"].replace("", "unknown")
    return kind.where(trees["status"] == "alive", "dead")


def _finding_counts(line: Line) -> "pd.Series[int]":
    """Errors and warnings by tree; notes ask nothing of anybody."""
    found = line.findings[
        (line.findings["record"] >= 0) & line.findings["severity"].isin(["error", "warning"])
    ]
    keys = line.observations.values["tree_key"].reindex(found["record"])
    return keys.value_counts()


def _public_visits(line: Line, trees: pd.DataFrame) -> pd.DataFrame:
    visits = line.measured.visits
    shown = published_observers(line.observations.values, line.survey, line.codes)
    open_visits = visits[among(visits["tree_key"], trees["tree_key"])]
    named = open_visits.assign(
        tree=open_visits["tree_key"],
        date=published_dates(open_visits["date"], line.survey),
        observers=observers_of_visits(line.measured.records, shown, open_visits),
    )
    table = named[columns_of("visits")]
    days = pd.factorize(table["date"], sort=True)[0]
    return table.take(np.lexsort((days, natural_ranks(table["tree"])))).reset_index(drop=True)
