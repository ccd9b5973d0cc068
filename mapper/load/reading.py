"""What a single cell says, as every parser of cells answers it."""

import math
from typing import NamedTuple

NOT_A_NUMBER = "not_a_number"
UNKNOWN_UNIT = "unknown_unit"
AMBIGUOUS_NUMBER = "ambiguous_number"
APPROXIMATE = "approximate"
A_RANGE = "a_range"
A_BOUND = "a_bound"


class Reading(NamedTuple):
    """A number read from a cell, or the rule it breaks and what to do."""

    value: float
    bare: bool = False  # no unit in the cell: the heading's or the survey's unit holds
    rule: str = ""
    reason: str = ""
    severity: str = ""
    proposed: str = ""  # the cell as it was probably meant


def refused(rule: str, reason: str) -> Reading:
    """A cell that gives no value."""
    return Reading(math.nan, rule=rule, reason=reason, severity="error")


def doubtful(value: float, bare: bool, reason: str, proposed: str = "") -> Reading:
    """A cell that gives a value, but could mean another."""
    return Reading(value, bare, AMBIGUOUS_NUMBER, reason, "warning", proposed)
