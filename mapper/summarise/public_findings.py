"""Findings for the public: how many of each kind, or each one without what a person wrote."""

import pandas as pd

COLUMNS = [
    "rule",
    "severity",
    "file",
    "row",
    "tree",
    "other_tree",
    "column",
    "message",
    "suggestion",
]

# Findings about headings would publish the words of the survey's own spreadsheets.
NEVER = (
    "unknown_column",
    "above_headings",
    "sheet_not_read",
    "named_column",
    "outlines_tell_places",
)
MEANINGS = {
    "no_size": "A file without a column of girths or diameters.",
    "missing": "A size, a species or a place is missing.",
    "not_a_number": "A cell holds words where a number belongs.",
    "not_a_date": "A cell holds no date that can be read.",
    "unknown_unit": "A cell has a unit that is not known.",
    "unknown_choice": "A cell holds a word that is not one of those allowed.",
    "approximate": "A number that its observer calls approximate.",
    "a_range": "Two numbers in a cell, from one to the other: the middle was read.",
    "a_bound": "A cell says only that a size is more or less than a number.",
    "day_number": "A spreadsheet's number of a day was read as that day.",
    "ambiguous_number": "A number can be read in two ways.",
    "ambiguous_date": "A date can be read in two ways.",
    "read_beside_others": "A column was read by what stands beside it.",
    "species_read_as": "A species was written in another way than it is shown.",
    "species_unclear": "A name that can mean several trees: kept as written.",
    "species_unknown": "A name that is in no table here: kept as written.",
    "leaves_disagree": "Leaves or needles that the named tree does not have.",
    "no_record": "A table with headings and no record yet.",
    "units_row": "A row of a table names the units of its columns.",
    "unit_assumed": "A column gives no unit: the survey's own was taken.",
    "read_as_paces": "Distances that were walked are read as numbers of paces.",
    "no_pace_length": "A distance in paces, and nobody says how long a pace is.",
    "not_paced": "A distance in paces that is said to be measured otherwise.",
    "scales_disagree": "An angle on one scale by its heading, on another by its record.",
    "half_a_place": "One coordinate of a place is missing.",
    "unknown_crs": "The name of a coordinate system is not known.",
    "not_in_crs": "Coordinates lie outside their coordinate system.",
    "no_crs": "Coordinates without a coordinate system were not used.",
    "impossible": "A value that no tree has: it is kept, and left out of the figures.",
    "impossible_date": "A day on which no survey was made.",
    "back_to_life": "A tree once recorded as gone, and later not.",
    "planted_later": "A year of planting that cannot be: it is left out.",
    "rings_before_planting": "More rings than years since planting.",
    "shrunk": "A tree smaller than at the visit before, by more than measuring explains.",
    "leapt": "A tree that grew faster between two visits than hardly any tree does.",
    "impossible_shape": "A thickness and a height that no tree has together: both left out.",
    "unit_slip": "A size that fits once a slip of unit or decimal point is undone.",
    "numbers_exchanged": "The numbers of two trees were probably exchanged on one day.",
    "species_changed": "A tree with another species than at the record before.",
    "copied_down": "Rows in a row that hold the same measurements.",
    "stuck": "One reading again and again, tree after tree.",
    "digits": "Readings that end in 0 or 5 more often than chance allows.",
    "same_tree_twice": "Two trees so alike and so near that they may be one.",
    "too_close": "Two stems nearer to each other than they are thick.",
    "same_place": "Two trees at one and the same place.",
    "rare": "A value that is very rare.",
    "no_such_stem": "A stem of 0 was read as no stem.",
    "short_for_its_stem": "A tree very short for its thickness.",
    "years_mixed": "A stand measured in several years: each year is figured alone.",
    "other_height": "A stem measured at another height than breast height.",
    "disagree": "Girth and diameter of one stem do not fit.",
    "heights_disagree": "A typed height does not fit the computed one.",
    "methods_disagree": "Two ways of measuring one height do not fit.",
    "no_tree": "Readings that no tree gives together: no height.",
    "lean_beyond_height": "A tree said to lean out farther than it is high.",
    "slip_among_readings": "A reading far from the others of its day: left out of the day's value.",
    "calipers_apart": "Two widths of one stem far apart.",
    "on_snow": "A tape placed above snow: the snow's depth is added.",
    "stations_swapped": "Of two stations the second was the nearer one.",
    "stations_near": "Two stations too near each other.",
    "short_tape": "A tape along the ground shorter than the eye is high.",
    "base_above_eye": "A stem base read above the eye: perhaps counted the other way.",
    "incomplete": "Part of what a height needs is missing.",
    "steep": "Sighted very steeply.",
    "outside_every_stand": "A tree outside every stand.",
    "in_no_stand": "A tree without place and stand: no stand counts it.",
    "empty_stand": "An outline in which no tree lies.",
    "in_two_stands": "A tree covered by two outlines.",
    "near_an_edge": "A tree nearer to the edge of its stand than its place is sure.",
    "formula_error": "A cell holds what a spreadsheet writes where a formula fails.",
    "not_a_point": "Lines or outlines among the trees: not read.",
    "crs_assumed": "A file without a coordinate system was read as longitude and latitude.",
    "mixed_encodings": "A file written in two ways at once: some letters may be wrong.",
    "handed_in_twice": "A record handed in a second time: it counts once.",
    "contact_in_text": "A cell holds an address, a phone number or the like: it is masked.",
    "no_consent_to_name": "An observer has not agreed to be named, and is not.",
    "duplicate_id": "One number for two trees.",
    "duplicate_row": "The same row came twice.",
    "undated_repeat": "A repeat without a date.",
    "photo_missing": "A photo that a record names was not handed in.",
    "photo_not_clear": "The name of a photo fits more than one file: none is shown.",
    "photo_outside": "The name of a photo leads out of the photos folder: it was not looked for.",
    "photo_unreadable": "A photo that is damaged or no picture.",
    "photo_without_consent": "A photo that nobody said may be shown: it is not.",
    "photo_of_several": "One photo named for several trees.",
    "photo_of_another_day": "A photo taken on another day than the tree was measured.",
    "photo_by_place": "A photo that fits a tree by day and place alone: not shown.",
    "photo_of_no_tree": "Photos that fit no record: not shown.",
    "not_a_photo": "Files among the photos that are none.",
    "placed_by_photo": "A tree placed where its photo was taken, some steps away from it.",
    "repair_outdated": "A repair whose record has changed since: it is not applied.",
    "repair_contradicts": "Two repairs of one cell: the later one holds.",
    "repair_unclear": "A repair that could not be understood: it is not applied.",
}

OTHER = "Something to look at."


def public_findings(findings: pd.DataFrame, how: str) -> pd.DataFrame:
    """Counts by rule and column, or every finding, with our own words in place of the cell's."""
    shown = findings[~findings["rule"].isin(NEVER)]
    worded = shown.assign(
        message=shown["rule"].map(MEANINGS).fillna(OTHER),
        file=shown["file"].astype("Int64").where(shown["file"] > 0),  # 0 is no record file
        row=shown["row"].astype("Int64"),
    )
    if how == "full":
        return worded[COLUMNS].assign(count=1).reset_index(drop=True)
    groups = worded.groupby(["rule", "severity", "column", "message"], sort=False)
    counted = groups.size().rename("count").reset_index()
    nowhere = pd.Series(pd.NA, index=counted.index, dtype="Int64")
    empty = counted.assign(tree="", other_tree="", suggestion="", file=nowhere, row=nowhere)
    return empty[[*COLUMNS, "count"]]
