"""Angles that the record says are not in degrees: kept as handed in, not used."""

import pandas as pd

ANGLES = ("angle_top", "angle_base", "angle_mark", "angle_top_2")
REASON = (
    "angle_unit is not 'degrees', and only degrees are read. "
    "Convert the angle to degrees above the horizontal."
)


def refuse_other_units(
    values: pd.DataFrame, cells: pd.DataFrame
) -> tuple[pd.DataFrame, pd.DataFrame]:
    """The values without those angles, and a problem for each (column, severity, rule, reason)."""
    if "angle_unit" not in cells:
        return values, pd.DataFrame(columns=["column", "severity", "rule", "reason"])
    # A unit that could not be read may be anything, so it is not taken for degrees.
    other = (cells["angle_unit"].str.strip() != "") & (values["angle_unit"] != "degrees")
    kept = values.copy()
    problems = []
    for name in ANGLES:
        angle = kept[f"{name}_deg"]
        problems.append(
            pd.DataFrame(
                {"column": name, "severity": "error", "rule": "unknown_unit", "reason": REASON},
                index=values.index[other & angle.notna()],
            )
        )
        kept[f"{name}_deg"] = angle.mask(other)
    return kept, pd.concat(problems)
