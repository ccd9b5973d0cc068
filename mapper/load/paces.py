"""Distances walked: a number of paces, and how long one pace is."""

from dataclasses import dataclass

import pandas as pd

from mapper.load.columns import units_of
from mapper.load.heading_units import BARE, unit_above
from mapper.load.names import value_name
from mapper.load.records import Remark

WALKED = ("baseline", "station_gap")
PACE = "pace"
NO_LENGTH = "A distance in paces, and no length of a pace. Write pace_length, such as 0.75 m."
NOT_PACED = "A distance in paces, and baseline_method says '{}'. It was taken as paced."
TAKEN = (
    "Where the distance was paced and a pace_length stands beside it, the numbers of '{}' were "
    "read as paces. If they are metres or feet, write the unit in the heading."
)


@dataclass(frozen=True)
class Walked:
    """The values with every distance as a length, and what there is to say about paces."""

    values: pd.DataFrame
    problems: pd.DataFrame  # column, severity, rule, reason; the record as index
    remarks: dict[int, list[Remark]]  # by file


def read_paces(values: pd.DataFrame, cells: pd.DataFrame, columns: pd.DataFrame) -> Walked:
    """Paces become metres by the record's own pace_length."""
    problems = [pd.DataFrame(columns=["column", "severity", "rule", "reason"])]
    remarks: dict[int, list[Remark]] = {}
    for name in WALKED:
        if name not in cells:
            continue
        paces, assumed = _paces(name, values, cells[name], columns)
        told, length = paces.notna(), values["pace_length_m"]
        method = values["baseline_method"]
        otherwise = told & ~method.isin(["", "paced"])
        reasons = method[otherwise].map(NOT_PACED.format)
        problems += [
            _problems(name, "error", "no_pace_length", NO_LENGTH, told & length.isna()),
            _problems(name, "warning", "not_paced", reasons, otherwise),
        ]
        metres = values[value_name(name)].where(~told, paces * length)
        values = values.assign(
            **{value_name(name): metres, "baseline_method": method.mask(told, "paced")}
        )
        for file in values["file"][assumed].unique():
            note = Remark("read_as_paces", "note", TAKEN.format(name), name)
            remarks.setdefault(int(file), []).append(note)
    return Walked(values, pd.concat(problems), remarks)


def _paces(
    name: str, values: pd.DataFrame, cells: "pd.Series[str]", columns: pd.DataFrame
) -> tuple["pd.Series[float]", "pd.Series[bool]"]:
    """Numbers of paces, NaN where the distance is a length, and those nobody called paces."""
    amounts = values[value_name(name)]
    bare = cells.str.fullmatch(BARE)
    words = "|".join(spelling for spelling in units_of("stride"))
    in_cell = cells.str.contains(rf"\d\W*(?:{words})\W*$", case=False)
    in_heading = bare & (unit_above(name, values, columns) == PACE)
    # A bare number was read in the survey's own unit: what stood in the cell is that many of it.
    unit = unit_above(name, values, columns, said_by="survey")
    beside = (values["baseline_method"] == "paced") & values["pace_length_m"].notna()
    assumed = bare & (unit != "") & beside & amounts.notna()
    factors = {spelling: float(one.factor) for spelling, one in units_of("length").items()}
    counted = (amounts / unit.map(factors)).round(9)
    return amounts.where(in_cell | in_heading, counted.where(assumed)), assumed


def _problems(
    name: str, severity: str, rule: str, reason: "str | pd.Series[str]", at: "pd.Series[bool]"
) -> pd.DataFrame:
    told = {"column": name, "severity": severity, "rule": rule, "reason": reason}
    return pd.DataFrame(told, index=at.index[at])
