"""Rules about readings beside each other: several of one day, two widths of one stem, snow."""

import pandas as pd

from mapper.check.findings import Rule, findings, joined, worded

APART = 1.10  # wider than this an oval stem is rare, and a slip or a bad place likely
STEM_HEADINGS = {"stems": "stem_1", "girth": "girth", "diameter": "diameter"}


def doubtful_readings(values: pd.DataFrame) -> pd.DataFrame:
    """Caliper readings far apart or alone, and snow under the tape."""
    return joined([_calipers_apart(values), _second_alone(values), _on_snow(values)])


def _calipers_apart(values: pd.DataFrame) -> pd.DataFrame:
    ratio = values["diameter_2_cm"] / values["diameter_cm"]
    at = values[(ratio > APART) | (ratio < 1 / APART)]
    template = "{:g} cm one way and {:g} cm the other: more than 10 % apart. Both are used."
    return findings(
        Rule("calipers_apart", "warning", "diameter_2", "Is it that oval? Measure again."),
        at,
        worded(template, at["diameter_cm"], at["diameter_2_cm"]),
    )


def _second_alone(values: pd.DataFrame) -> pd.DataFrame:
    at = values[values["diameter_2_cm"].notna() & values["diameter_cm"].isna()]
    return findings(
        Rule("incomplete", "warning", "diameter_2", "Add what is missing from the record sheet."),
        at,
        "A second diameter without a first: diameter is missing.",
    )


def _on_snow(values: pd.DataFrame) -> pd.DataFrame:
    at = values[values["above_snow_m"].notna()]
    template = "{:g} m above {:g} cm of snow is {:.2f} m above the ground."
    tape = at["above_snow_m"] + at["snow_depth_cm"] / 100
    return findings(
        Rule(
            "on_snow", "note", "snow_depth", "If not, write measured_at, counted from the ground."
        ),
        at,
        worded(template, at["above_snow_m"], at["snow_depth_cm"], tape),
    )


def slips(records: pd.DataFrame) -> pd.DataFrame:
    """Readings too far from the others of their day: left out of the day's value.

    `records` are measured: diameter_slip, diameter_of_day_cm, and so for heights.
    """
    stems = records["diameter_method"].str.split(",").str[0].map(STEM_HEADINGS)
    heights = pd.Series("height", index=records.index)
    return joined(
        [
            *_slips(records, "diameter", "cm", stems),
            *_slips(records, "height", "m", heights),
        ]
    )


def _slips(
    records: pd.DataFrame, name: str, unit: str, headings: "pd.Series[str]"
) -> list[pd.DataFrame]:
    at = records[records[f"{name}_slip"].astype(bool)]
    template = (
        f"{name.capitalize()} {{:.1f}} {unit}, where all readings of that day have {{:.1f}} {unit} "
        "in their middle. Left out of the day's value."
    )
    said = worded(template, at[f"{name}_{unit}"], at[f"{name}_of_day_{unit}"])
    advice = "Misread, miswritten, or another tree? Look at the record sheet."
    return [
        findings(
            Rule("slip_among_readings", "warning", str(heading), advice), at.loc[group], said[group]
        )
        for heading, group in at.groupby(headings[at.index]).groups.items()
    ]
