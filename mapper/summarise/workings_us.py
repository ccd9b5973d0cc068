"""Workings of a survey in US units: every length and area in feet and inches as well."""

import re
from dataclasses import replace
from functools import cache

from mapper.language import figure
from mapper.summarise.results import Step
from mapper.summarise.workings_words import span, us_unit

NUMBER = r"−?\d+(?:[.,]\d+)?(?:e[+-]?\d+)?"
# One number, a range or a list of readings, and perhaps its uncertainty, before a metric unit.
METRIC = (
    rf"(?<![\w.])(?P<numbers>{NUMBER}(?:(?:, |BETWEEN){NUMBER})*)(?: ± (?P<spread>{NUMBER}))?"
    r" (?P<unit>cm|m²|m)(?![\w²])"
    rf"(?! \({NUMBER}(?: ± {NUMBER})? (?:in|ft))"  # a result has both units already
)


def in_both_units(step: Step) -> Step:
    """The step with what was put in and what came out in US units too; the formula stays metric."""
    metric = _metric(span("", ""))
    return replace(
        step,
        inputs=metric.sub(_both, step.inputs),
        result=metric.sub(_both, step.result),
        note=metric.sub(_both, step.note),
    )


@cache
def _metric(between: str) -> re.Pattern[str]:
    """The pattern, with the word that stands between the ends of a range."""
    return re.compile(METRIC.replace("BETWEEN", re.escape(between)))


def _both(found: re.Match[str]) -> str:
    unit, factor = us_unit(found["unit"])
    figures = re.sub(NUMBER, lambda one: _converted(one[0], factor), found["numbers"])
    more = f" ± {_converted(found['spread'], factor)}" if found["spread"] else ""
    return f"{found[0]} ({figures}{more} {unit})"


def _converted(number: str, factor: float) -> str:
    """No finer than what was rounded for the metric figure: 20.12 m are the 66 ft of a tape."""
    value = float(number.replace("−", "-").replace(",", ".")) * factor
    return figure(round(value, 1 if abs(value) >= 10 else 2), "g").replace("-", "−")
