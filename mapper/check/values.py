"""Rules about single cells: what is missing, unreadable, impossible or very rare."""

from collections.abc import Sequence

import numpy as np
import pandas as pd

from mapper.check.findings import Rule, findings, joined, worded
from mapper.load.names import is_stem, value_name
from mapper.load.records import Records
from mapper.reference import rows

# Closer than this to breast height is breast height: 1.37 and 1.30 m are two conventions.
SAME_HEIGHT_M = 0.035
STEM_MEASURES = ("girth", "diameter")


def unreadable(records: Records) -> pd.DataFrame:
    """What the readers could not make out: the cell stays as handed in and leaves the figures."""
    problems = records.problems
    places = records.values.reindex(problems["record"])
    at = pd.DataFrame(
        {
            "file": problems["file"].to_numpy(),
            "sheet": places["sheet"].fillna("").to_numpy(),
            "row": places["row"].astype("Int64").to_numpy(),
            "tree": places["tree"].fillna("").to_numpy(),
            "cell": problems["value"].to_numpy(),
        },
        index=problems["record"],
    )
    whole = findings(Rule("", "", ""), at, "")
    proposed = problems["proposed"].fillna("").to_numpy()
    return whole.assign(
        rule=problems["rule"].to_numpy(),
        severity=problems["severity"].to_numpy(),
        column=problems["column"].to_numpy(),
        message=problems["reason"].to_numpy(),
        proposed_column=problems["column"].where(proposed != "", "").to_numpy(),
        proposed_value=proposed,
        bars=(problems["severity"] == "error").to_numpy(),
    )


def not_read(names: Sequence[str]) -> pd.DataFrame:
    """One finding about the files among the records that no reader knows."""
    at = pd.DataFrame({"file": [1], "row": [pd.NA], "tree": [""]}, index=[-1])
    listed = ", ".join(names)
    advice = "Save tables as xlsx or csv, or name the file in survey.toml under [records] files."
    return findings(
        Rule("file_not_read", "warning", "", advice),
        at if names else at.iloc[:0],
        f"Among the records and not read: {listed}.",
    )


def missing(records: Records, values: pd.DataFrame) -> pd.DataFrame:
    """Records without any stem measure, without a species, or without a place."""
    cells = records.cells
    measured = [name for name in cells if name in STEM_MEASURES or is_stem(str(name))]
    sized = values["file"].isin(_files_with_sizes(records))
    lying = values["status"].isin(["fallen", "stump"])
    empty = (cells[measured] == "").all(axis=1)
    # Whoever sights a height a second time puts no second tape round the stem.
    visit = [values["tree_key"], values["date"]]
    no_stem = sized & empty.groupby(visit, dropna=False).transform("all") & ~lying
    # One file may know the places of the trees, and another what they are.
    no_species = _of_all_records(
        _empty(cells, ["species"]) & ~values["file"].isin(list(records.photos)), values
    )
    no_place = _of_all_records(
        _empty(cells, ["lat", "lon", "x", "y"]) & values["lat"].isna(), values
    )
    return joined(
        [
            findings(
                Rule("missing", "warning", "girth", "Put a tape round it at breast height."),
                values[no_stem],
                "No girth and no diameter. The tree is counted, without a size.",
            ),
            findings(
                Rule("missing", "note", "species", "Name it, or leave it."),
                values[no_species],
                "No species.",
            ),
            findings(
                Rule("missing", "note", "lat", "Give latitude and longitude."),
                values[no_place],
                "No place. The tree is listed and not on the map.",
            ),
            _no_size_column(records, values),
        ]
    )


def _files_with_sizes(records: Records) -> set[int]:
    """Numbers of the files that have a column of girths, diameters or stems."""
    names = records.columns["name"]
    known = names.isin(STEM_MEASURES) | names.map(is_stem)
    return set(records.columns["file"][known])


def _of_all_records(lacking: "pd.Series[bool]", values: pd.DataFrame) -> "pd.Series[bool]":
    """Those whose tree has it on no other record either."""
    return lacking & lacking.groupby(values["tree_key"]).transform("all")


def _no_size_column(records: Records, values: pd.DataFrame) -> pd.DataFrame:
    """One finding a file, not one a tree, where no heading was understood as a size."""
    numbers = sorted(set(records.columns["file"]))  # of a file without any record nothing is said
    measured = _files_with_sizes(records) | set(records.photos)  # nobody looks for one in a photo
    without = [number for number in numbers if number not in measured]
    if without:  # a file of places alone may be about trees that another one measured
        elsewhere = values["tree_key"].isin(values["tree_key"][values["file"].isin(measured)])
        only_here = set(values["file"][~elsewhere])
        without = [number for number in without if number in only_here]
    at = pd.DataFrame({"file": without, "row": pd.NA, "tree": ""}, index=[-1] * len(without))
    return findings(
        Rule("no_size", "warning", "girth", "Name the column girth_cm or diameter_cm."),
        at,
        "No column of this file was understood as a girth or a diameter.",
    )


def _empty(cells: pd.DataFrame, names: list[str]) -> "pd.Series[bool]":
    """Records that leave all of these empty; a column nobody handed in is not held against them."""
    given = [name for name in names if name in cells.columns]
    return (cells[given] == "").all(axis=1) & bool(given)


def impossible(values: pd.DataFrame, cells: pd.DataFrame) -> pd.DataFrame:
    """Values beyond a limit of reference/limits.csv: errors leave the figures, warnings stay."""
    found = []
    for limit in rows("limits"):
        if limit["column"] == "slenderness":  # known only once both are measured
            continue
        stems = [name for name in cells.columns if is_stem(name)]
        for column in stems if limit["column"] == "stem" else [limit["column"]]:
            found.append(_beyond(values, cells, column, limit))
    found += [_upside_down(values, cells), _parts_of_trees(values, cells)]
    return _without_repeats(joined(found))


def _beyond(
    values: pd.DataFrame, cells: pd.DataFrame, column: str, limit: dict[str, str]
) -> pd.DataFrame:
    amount = values[value_name(column)].to_numpy(dtype=float)
    lower, upper = float(limit["lower"]), float(limit["upper"])
    low = amount < lower if limit["included"] == "both" else amount <= lower
    high = amount >= upper if limit["included"] == "none" else amount > upper
    bad = np.where(np.isnan(amount), False, low | high)
    at = values[bad].assign(cell=cells[column][bad] if column in cells else "")
    words = {"both": "from {} to {}", "upper": "above {} to {}", "none": "above {} to below {}"}
    limits = words[limit["included"]].format(f"{lower:g}", f"{upper:g}")
    allowed = f"Allowed: {limits} {limit['unit']}".rstrip()
    what, unit = column.replace("_", " "), f" {limit['unit']}" if limit["unit"] else ""
    shown = pd.Series(amount[bad], index=at.index)
    why = pd.Series(np.where(amount[bad] >= upper, limit["why"], "that is too little"), at.index)
    message = worded(f"{what} {{:g}}{unit}: {{}}. {allowed}.", shown, why)
    error = limit["severity"] == "error"
    return findings(
        Rule(
            "impossible" if error else "rare",
            limit["severity"],
            column,
            "Look at the record sheet, or measure again.",
            bars=error,
        ),
        at,
        message,
    )


def _upside_down(values: pd.DataFrame, cells: pd.DataFrame) -> pd.DataFrame:
    bad = values["angle_top_deg"] <= values["angle_base_deg"]
    at = values[bad].assign(cell=cells["angle_top"][bad] if "angle_top" in cells else "")
    return findings(
        Rule(
            "impossible",
            "error",
            "angle_top",
            "Angles below the eye are negative.",
            "The two were probably exchanged, or a sign was lost.",
            bars=True,
        ),
        at,
        "The angle to the top is not above the angle to the base. No height from these angles.",
    )


def no_such_stem(values: pd.DataFrame) -> pd.DataFrame:
    """A stem of 0 cm: how people write that there is none."""
    stems = [name for name in values.columns if is_stem(str(name).removesuffix("_cm"))]
    return joined(
        [
            findings(
                Rule("no_such_stem", "note", str(name).removesuffix("_cm")),
                values[values[name] == 0],
                "0 is read as: there is no such stem.",
            )
            for name in stems
        ]
    )


def _parts_of_trees(values: pd.DataFrame, cells: pd.DataFrame) -> pd.DataFrame:
    """Half trees, but for those on the borderline of an angle count."""
    part = values["tally"] % 1
    bad = (part > 0) & ~((part == 0.5) & values["by_angle"])
    at = values[bad].assign(cell=cells["tally"][bad] if "tally" in cells else "")
    return findings(
        Rule("impossible", "error", "tally", "Half trees are for angle counts.", bars=True),
        at,
        "Where every tree is counted a tally is a whole number. The row is counted as one tree.",
    )


def measured_elsewhere(values: pd.DataFrame, breast_height_m: float) -> pd.DataFrame:
    """Stems measured at another height than the survey's breast height: never mixed in silence."""
    over_snow = values["above_snow_m"] + values["snow_depth_cm"] / 100
    tape = values["measured_at_m"].fillna(over_snow)
    bad = (tape - breast_height_m).abs() > SAME_HEIGHT_M
    template = "Measured at {:g} m and not at the survey's {:g} m. The size is used as it is."
    usual = pd.Series(breast_height_m, index=values.index[bad])
    message = worded(template, tape[bad].round(3), usual)
    return findings(Rule("other_height", "note", "measured_at"), values[bad], message)


def _without_repeats(found: pd.DataFrame) -> pd.DataFrame:
    """A value beyond both the rare and the impossible limit is reported once, as impossible."""
    return found.drop_duplicates(["record", "column"], keep="first").reset_index(drop=True)


# What slips make of girth / (pi x diameter).
CAUSES = (
    (1 / np.pi, " Both hold the same number: one stands in the wrong column."),
    (2.54, " The diameter looks like inches beside a girth in centimetres."),
    (1 / 2.54, " The girth looks like inches beside a diameter in centimetres."),
    (10.0, " A factor of ten: millimetres beside centimetres?"),
    (0.1, " A factor of ten: millimetres beside centimetres?"),
)


def _likely_causes(ratio: pd.Series) -> pd.Series:
    near = [np.isclose(ratio, slip, rtol=0.05) for slip, _ in CAUSES]
    return pd.Series(np.select(near, [words for _, words in CAUSES], ""), ratio.index, dtype=str)


def disagreeing(values: pd.DataFrame, cells: pd.DataFrame) -> pd.DataFrame:
    """A girth and a diameter of one stem that do not fit: the girth is used."""
    ratio = values["girth_cm"] / values["diameter_cm"] / np.pi
    bad = (ratio < 1 / 1.05) | (ratio > 1.05)
    at = values[bad].assign(cell=cells["diameter"][bad] if "diameter" in cells else "")
    template = "Girth divided by diameter is {:.2f}, not 3.14.{} The girth is used."
    message = worded(template, ratio[bad] * np.pi, _likely_causes(ratio[bad]))
    return findings(
        Rule("disagree", "warning", "diameter", "One of the two is wrong: measure again."),
        at,
        message,
    )
