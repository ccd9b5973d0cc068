"""The stages in their order: files → observations → findings → measured → published tables."""

from collections.abc import Callable
from dataclasses import replace

from mapper.check import check_measured, check_records, usable
from mapper.check.findings import joined
from mapper.check.kept import without_kept
from mapper.check.plot_ground import guessed_ground
from mapper.check.privacy import private_matters
from mapper.load.observers import observer_codes
from mapper.load.survey_records import load_survey
from mapper.measure import measure_trees
from mapper.measure.ground import guessed_areas
from mapper.summarise import Line, Results, publish
from mapper.survey import Survey


def _silent(stage: str) -> None:
    """Nobody is watching."""


def run_checks(survey: Survey, tell: Callable[[str], None] = _silent) -> Line:
    """Read, check and measure a survey; `tell` hears the name of each stage as it begins."""
    tell("Reading the records")
    observations = load_survey(survey)
    tell("Checking")
    history = observations.records.history
    found = joined(
        [
            check_records(observations, survey.measure.breast_height, survey.records.crs),
            private_matters(observations, survey),
        ]
    )
    findings = without_kept(found, history)
    tell("Measuring")
    measured = measure_trees(usable(observations.values, findings))
    whole = check_measured(findings, measured.records, observations.counted.values)
    whole = without_kept(whole, history)
    if whole["bars"].sum() > findings["bars"].sum():  # some sizes were found impossible together
        measured = measure_trees(usable(observations.values, whole))
    outlined = set(observations.boundaries["stand"])
    guessed = guessed_areas(measured.trees.reset_index(), survey, outlined)
    return Line(survey, observations, joined([whole, guessed_ground(guessed)]), measured)


def survey_results(survey: Survey, tell: Callable[[str], None] = _silent) -> Results:
    """Everything that a survey's site is made of."""
    line = run_checks(survey, tell)
    tell("Summarising")
    return published(line)


def published(line: Line) -> Results:
    """The published tables of a line; observers who need a code are given one for good."""
    if line.survey.publish.observers != "codes":
        return publish(line)
    observers = line.observations.values["observer"].fillna("").astype(str)
    return publish(replace(line, codes=observer_codes(line.survey.folder, observers)))
