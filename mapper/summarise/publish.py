"""What leaves the survey folder: a white list. What is not named here is not published."""

from dataclasses import dataclass

import numpy as np
import pandas as pd

from mapper.errors import InputError
from mapper.load.names import stem_values, value_name
from mapper.load.survey_records import Observations
from mapper.measure import Measured, agreement
from mapper.measure.grown import with_ages
from mapper.measure.growth import stand_increment
from mapper.reference import rows
from mapper.summarise.classing import with_classes
from mapper.summarise.comparison import compare_stands
from mapper.summarise.generalised import with_generalisations
from mapper.summarise.kept_back import with_kept_back, without_found_stands, without_places
from mapper.summarise.photos import public_photos
from mapper.summarise.places import careful_privacy, published_places
from mapper.summarise.public_findings import public_findings
from mapper.summarise.public_repairs import public_repairs
from mapper.summarise.reasons import give_reasons, size_reasons
from mapper.summarise.reasons_age import age_reasons
from mapper.summarise.results import Results
from mapper.summarise.stands import natural
from mapper.summarise.tables import summarise_classes, summarise_species
from mapper.summarise.workings import tree_workings
from mapper.summarise.workings_age import with_age_steps
from mapper.summarise.years import figures_by_year
from mapper.survey import Survey

DATE_FORMATS = {"day": "%Y-%m-%d", "month": "%Y-%m", "year": "%Y"}
DRAWING_COLUMNS = ["symbol"]
TOLD_AS_REASONS = "spacing_reason"


@dataclass(frozen=True)
class Line:
    """What the stages before made of a survey."""

    survey: Survey
    observations: Observations
    findings: pd.DataFrame
    measured: Measured


def publish(line: Line) -> Results:
    """Stand figures, and the white-listed tables the site is made of."""
    survey, boundaries = line.survey, line.observations.boundaries
    extra = _extra_columns(line)
    trees = with_classes(line.measured.trees.reset_index(), survey)
    asked = careful_privacy(line.measured.records, trees["tree_key"], _privacy_unread(line))
    trees = trees.assign(privacy=asked)
    trees = with_generalisations(with_kept_back(trees, survey.publish.positions), survey)
    yearly = figures_by_year(trees, line.measured.visits, boundaries, survey)
    stands = yearly.stands
    open_trees, shown = (without_found_stands(table) for table in (trees, yearly.shown))
    open_trees = with_ages(open_trees, line.measured, survey)
    public = _public_trees(open_trees, line)
    return Results(
        survey=survey,
        trees=public,
        visits=_public_visits(line, open_trees),
        observations=_public_observations(line, open_trees, extra),
        stands=stands.drop(columns=TOLD_AS_REASONS),
        stands_by_year=yearly.by_year.drop(columns=TOLD_AS_REASONS),
        classes=summarise_classes(shown, stands, survey),
        species=summarise_species(shown, stands, survey),
        comparison=compare_stands(stands),
        increments=_increments(_of_trees(line.measured.visits, open_trees), stands, survey),
        agreement=agreement(_of_trees(line.measured.records, open_trees)),
        findings=public_findings(_open_findings(line, open_trees), survey.publish.findings),
        repairs=public_repairs(line.observations, open_trees, survey),
        reasons=pd.concat(
            [give_reasons(public, stands), size_reasons(open_trees), age_reasons(open_trees)],
            ignore_index=True,
        ),
        workings=with_age_steps(tree_workings(open_trees), open_trees),
        boundaries=boundaries if survey.publish.boundaries else boundaries.iloc[:0],
        backdrop=line.observations.backdrop,
        withheld=int((trees["privacy"] == "withheld").sum()),
        photos=public_photos(line.observations, open_trees, survey),
    )


def _increments(visits: pd.DataFrame, stands: pd.DataFrame, survey: Survey) -> pd.DataFrame:
    """Growth of completely counted stands in which trees were measured in two years."""
    counted = stands[stands["design"] == "complete count"].set_index("stand")["area_ha"].dropna()
    table = stand_increment(visits, counted, survey.publish.dates).reset_index()
    return table[table["trees_measured_twice"] > 0].reset_index(drop=True)


def _of_trees(records: pd.DataFrame, trees: pd.DataFrame) -> pd.DataFrame:
    return records[records["tree_key"].isin(trees["tree_key"])]


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
        date=_dates(trees["date"], line.survey),
        finding_count=trees["tree_key"].map(counts).fillna(0).astype(int),
        symbol=_symbols(trees),
    )
    table = named[[*columns_of("trees"), *DRAWING_COLUMNS]]
    order = sorted(range(len(table)), key=lambda number: natural(table["tree"].iloc[number]))
    return table.take(np.array(order, dtype=int)).reset_index(drop=True)


def _open_findings(line: Line, trees: pd.DataFrame) -> pd.DataFrame:
    """Findings about whole columns, and about records of trees that are published."""
    keys = line.observations.values["tree_key"].reindex(line.findings["record"]).to_numpy()
    privacy = pd.Series(keys).map(trees.set_index("tree_key")["privacy"]).to_numpy()
    whole = (line.findings["record"] < 0).to_numpy()
    exact = whole | ((privacy == "exact") & (line.survey.publish.positions == "exact"))
    open_ = line.findings[(whole | pd.Series(keys).isin(trees["tree_key"]).to_numpy())]
    return without_places(open_, pd.Series(exact, index=line.findings.index).reindex(open_.index))


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


def _dates(dates: "pd.Series[pd.Timestamp]", survey: Survey) -> "pd.Series[str]":
    return dates.dt.strftime(DATE_FORMATS[survey.publish.dates]).fillna("")


def _public_visits(line: Line, trees: pd.DataFrame) -> pd.DataFrame:
    visits = line.measured.visits
    open_visits = visits[visits["tree_key"].isin(trees["tree_key"])]
    named = open_visits.assign(
        tree=open_visits["tree_key"], date=_dates(open_visits["date"], line.survey)
    )
    table = named[columns_of("visits")]
    keys = [(natural(tree), date) for tree, date in zip(table["tree"], table["date"], strict=True)]
    order = sorted(range(len(table)), key=keys.__getitem__)
    return table.take(np.array(order, dtype=int)).reset_index(drop=True)


def _public_observations(line: Line, trees: pd.DataFrame, extra: list[str]) -> pd.DataFrame:
    """Each record as it was read, in the white-listed columns; text cells as the columns allow."""
    publish_ = line.survey.publish
    values = line.observations.values
    kept = values[values["tree_key"].isin(trees["tree_key"])]
    privacy = kept["tree_key"].map(trees.set_index("tree_key")["privacy"])
    placed = published_places(kept.assign(privacy=privacy), publish_.positions)
    exact = (privacy == "exact") & (publish_.positions == "exact")
    exact = (privacy == "exact") & (publish_.positions == "exact")
    device = kept["position_accuracy_m"].where(exact, placed["position_accuracy_m"])
    # Rows tell the order of the walk, and with it the places.
    told = placed.assign(
        species=kept["species_name"],
        tree=kept["tree_key"],
        stand=kept["stand"].where(exact | (kept["stand_from"] != "outline"), ""),
        date=_dates(kept["date"], line.survey),
        position_accuracy_m=device,
        row=kept["row"].astype("Int64").where(exact),
    )
    columns = _observation_columns(line)
    revealing = [name for name in columns if name in REVEALING]
    told = told.assign(**{name: _blank_unless(told[name], exact) for name in revealing})
    cells = line.observations.records.cells
    own = cells[extra].add_suffix(" (handed in)").rename(columns=lambda name: _free(name, told))
    table = told[["file", "row", *columns]].join(own)
    order = ["file", "row"] if bool(exact.all()) else ["tree"]
    return table.sort_values(order, kind="stable").reset_index(drop=True)


def _free(name: str, told: pd.DataFrame) -> str:
    """A leader's own heading as it is, unless a published column has that name."""
    bare = name.removesuffix(" (handed in)")
    return name if bare in told.columns else bare


def _extra_columns(line: Line) -> list[str]:
    """Columns of the records' own that the survey names for publishing, each once."""
    known = {row["name"]: row["private"] for row in rows("columns")}
    own = [str(name) for name in line.observations.records.cells if str(name) not in known]
    for name in line.survey.publish.columns:
        if known.get(name) == "yes":
            raise InputError(
                f"survey.toml: publish.columns names '{name}', which is never published so. "
                "Notes are published with notes = true."
            )
        if name not in known and name not in own:
            shown = ", ".join(own) or "none"
            raise InputError(
                f"survey.toml: publish.columns names '{name}', a column that no record file has. "
                f"Columns that can be named: {shown}."
            )
    return [name for name in dict.fromkeys(line.survey.publish.columns) if name in own]


def _blank_unless(cells: pd.Series, allowed: "pd.Series[bool]") -> pd.Series:
    return cells.where(allowed, "" if pd.api.types.is_string_dtype(cells) else np.nan)


# With these a place could be worked out again.
REVEALING = {
    value_name(name)
    for name in (
        "x", "y", "crs", "from_point", "bearing", "bearing_from", "distance", "distance_kind",
        "slope", "distance_to", "from_point_2", "distance_2", "side", "plot", "edge_double",
    )
}  # fmt: skip


def _observation_columns(line: Line) -> list[str]:
    """Known columns that are not private, as far as this survey uses them."""
    values = line.observations.values
    notes = {"note"} if line.survey.publish.notes else set()
    names = [
        value_name(row["name"])
        for row in rows("columns")
        if row["private"] == "no" or row["name"] in notes
    ]
    stems = stem_values(values.columns)
    used = [
        name for name in names if name in values and values[name].replace("", pd.NA).notna().any()
    ]
    return list(dict.fromkeys(["tree", *used, *stems]))
