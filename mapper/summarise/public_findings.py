"""Findings for the public: how many of each kind, or each one without what a person wrote."""

import pandas as pd

from mapper.language import later, say

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
    "plot_heading_not_read",
    "above_headings",
    "sheet_not_read",
    "named_column",
    "outlines_tell_places",
)
MEANINGS = {
    "no_size": later("A file without a column of girths or diameters."),
    "missing": later("A size, a species or a place is missing."),
    "not_a_number": later("A cell holds words where a number belongs."),
    "not_a_date": later("A cell holds no date that can be read."),
    "unknown_unit": later("A cell has a unit that is not known."),
    "unknown_choice": later("A cell holds a word that is not one of those allowed."),
    "approximate": later("A number that its observer calls approximate."),
    "a_range": later("Two numbers in a cell, from one to the other: the middle was read."),
    "a_bound": later("A cell says only that a size is more or less than a number."),
    "day_number": later("A spreadsheet's number of a day was read as that day."),
    "ambiguous_number": later("A number can be read in two ways."),
    "ambiguous_date": later("A date can be read in two ways."),
    "read_beside_others": later("A column was read by what stands beside it."),
    "species_read_as": later("A species was written in another way than it is shown."),
    "species_unclear": later("A name that can mean several trees: kept as written."),
    "species_unknown": later("A name that is in no table here: kept as written."),
    "leaves_disagree": later("Leaves or needles that the named tree does not have."),
    "cut_short": later("A phone's file was cut off on its way: what is whole was read."),
    "no_record": later("A table with headings and no record yet."),
    "units_row": later("A row of a table names the units of its columns."),
    "unit_assumed": later("A column gives no unit: the survey's own was taken."),
    "read_as_paces": later("Distances that were walked are read as numbers of paces."),
    "no_pace_length": later("A distance in paces, and nobody says how long a pace is."),
    "not_paced": later("A distance in paces that is said to be measured otherwise."),
    "scales_disagree": later("An angle on one scale by its heading, on another by its record."),
    "half_a_place": later("One coordinate of a place is missing."),
    "unknown_crs": later("The name of a coordinate system is not known."),
    "not_in_crs": later("Coordinates lie outside their coordinate system."),
    "unclear_point": later("A known point that may be one of several."),
    "unknown_point": later("A known point that is neither a tree nor a plot."),
    "point_not_placed": later("A tree measured from a point that has no place."),
    "measured_in_a_circle": later("Trees measured from one another in a circle: no place by tape."),
    "incomplete_offset": later("Part of a place by tape is missing."),
    "tapes_do_not_meet": later("Two tapes that meet nowhere."),
    "side_not_told": later("Two tapes without the side of the line: two places are left."),
    "north_not_known": later("A bearing whose north cannot be known."),
    "north_not_told": later("Bearings that name no north were read from true north."),
    "undated_bearing": later("A magnetic bearing without a date."),
    "slope_missing": later("A distance along a slope that is not told: taken as level."),
    "stem_missing": later("A distance to the face of a stem without a size."),
    "places_disagree": later("Coordinates far from the place by tape, which is used."),
    "swapped": later("Two coordinates look swapped."),
    "sign_flipped": later("The sign of a coordinate looks wrong."),
    "point_lost": later("A decimal point of a coordinate looks lost or moved."),
    "minutes_as_decimals": later("Minutes and seconds look written behind a decimal point."),
    "degree_digit": later("A digit of the whole degrees looks wrong."),
    "zero_place": later("The place 0, 0: a device without a fix."),
    "other_zone": later("Coordinates that belong to another zone of their grid."),
    "far_from_site": later("A place far from all others."),
    "known_point_misplaced": later("A tree measured from a point that is misplaced."),
    "no_crs": later("Coordinates without a coordinate system were not used."),
    "impossible": later("A value that no tree has: it is kept, and left out of the figures."),
    "impossible_date": later("A day on which no survey was made."),
    "back_to_life": later("A tree once recorded as gone, and later not."),
    "planted_later": later("A year of planting that cannot be: it is left out."),
    "rings_before_planting": later("More rings than years since planting."),
    "shrunk": later("A tree smaller than at the visit before, by more than measuring explains."),
    "leapt": later("A tree that grew faster between two visits than hardly any tree does."),
    "impossible_shape": later("A thickness and a height that no tree has together: both left out."),
    "unit_slip": later("A size that fits once a slip of unit or decimal point is undone."),
    "units_of_file": later(
        "A file whose trees are far too high or too low for their stems: a unit?"
    ),
    "numbers_exchanged": later("The numbers of two trees were probably exchanged on one day."),
    "species_changed": later("A tree with another species than at the record before."),
    "copied_down": later("Rows in a row that hold the same measurements."),
    "stuck": later("One reading again and again, tree after tree."),
    "digits": later("Readings that end in 0 or 5 more often than chance allows."),
    "same_tree_twice": later("Two trees so alike and so near that they may be one."),
    "too_close": later("Two stems nearer to each other than they are thick."),
    "same_place": later("Two trees at one and the same place."),
    "rare": later("A value that is very rare."),
    "no_such_plot": later("A tree on a plot that nobody listed: it enters no figure per hectare."),
    "no_plot_size": later(
        "A tree for which its plot has no size: it enters no figure per hectare."
    ),
    "no_plot": later("A tree of a sampled stand without a plot: it enters no figure per hectare."),
    "beyond_its_plot": later("A tree farther from the middle of its plot than the plot reaches."),
    "edge_place_unknown": later("A tree near the edge that may count twice: it counts once."),
    "beyond_the_edge": later("A tree that stands beyond the edge of its stand."),
    "edge_not_made_up": later("Plots that reach over the edge, and nothing makes up for it."),
    "edge_not_told": later("A stand said to make up for its edge, where no edge is told."),
    "plots_beyond_stand": later("Plots that cover more ground than their stand has."),
    "strata_beside_stand": later("Strata that are not as large together as their stand."),
    "other_stratum": later("A tree that names another stratum than its plot does."),
    "area_guessed": later("A stand that nobody drew: its area was guessed from its trees."),
    "stems_at_an_angle": later("Several stems at an angle count, counted once together."),
    "undated_in_years": later("A record without a date in a stand measured in several years."),
    "no_such_stem": later("A stem of 0 was read as no stem."),
    "short_for_its_stem": later("A tree very short for its thickness."),
    "years_mixed": later("A stand measured in several years: each year is figured alone."),
    "other_height": later("A stem measured at another height than breast height."),
    "disagree": later("Girth and diameter of one stem do not fit."),
    "heights_disagree": later("A typed height does not fit the computed one."),
    "methods_disagree": later("Two ways of measuring one height do not fit."),
    "no_tree": later("Readings that no tree gives together: no height."),
    "lean_beyond_height": later("A tree said to lean out farther than it is high."),
    "slip_among_readings": later(
        "A reading far from the others of its day: left out of the day's value."
    ),
    "calipers_apart": later("Two widths of one stem far apart."),
    "on_snow": later("A tape placed above snow: the snow's depth is added."),
    "stations_swapped": later("Of two stations the second was the nearer one."),
    "stations_near": later("Two stations too near each other."),
    "short_tape": later("A tape along the ground shorter than the eye is high."),
    "base_above_eye": later("A stem base read above the eye: perhaps counted the other way."),
    "incomplete": later("Part of what a height needs is missing."),
    "steep": later("Sighted very steeply."),
    "outside_every_stand": later("A tree outside every stand."),
    "in_no_stand": later("A tree without place and stand: no stand counts it."),
    "overlapping_stands": later("Outlines of two stands share ground."),
    "empty_stand": later("An outline in which no tree lies."),
    "in_two_stands": later("A tree covered by two outlines."),
    "near_an_edge": later("A tree nearer to the edge of its stand than its place is sure."),
    "formula_error": later("A cell holds what a spreadsheet writes where a formula fails."),
    "file_not_read": later("A file among the records is of no kind that is read."),
    "not_a_point": later("Lines or outlines among the trees: not read."),
    "crs_assumed": later("A file without a coordinate system was read as longitude and latitude."),
    "mixed_encodings": later("A file written in two ways at once: some letters may be wrong."),
    "handed_in_twice": later("A record handed in a second time: it counts once."),
    "contact_in_text": later("A cell holds an address, a phone number or the like: it is masked."),
    "no_consent_to_name": later("An observer has not agreed to be named, and is not."),
    "duplicate_id": later("One number for two trees."),
    "duplicate_row": later("The same row came twice."),
    "undated_repeat": later("A repeat without a date."),
    "photo_missing": later("A photo that a record names was not handed in."),
    "photo_not_clear": later("The name of a photo fits more than one file: none is shown."),
    "photo_outside": later(
        "The name of a photo leads out of the photos folder: it was not looked for."
    ),
    "photo_unreadable": later("A photo that is damaged or no picture."),
    "photo_without_consent": later("A photo that nobody said may be shown: it is not."),
    "photo_of_several": later("One photo named for several trees."),
    "photo_of_another_day": later("A photo taken on another day than the tree was measured."),
    "photo_by_place": later("A photo that fits a tree by day and place alone: not shown."),
    "photo_of_no_tree": later("Photos that fit no record: not shown."),
    "not_a_photo": later("Files among the photos that are none."),
    "placed_by_photo": later("A tree placed where its photo was taken, some steps away from it."),
    "repair_outdated": later("A repair whose record has changed since: it is not applied."),
    "repair_contradicts": later("Two repairs of one cell: the later one holds."),
    "repair_unclear": later("A repair that could not be understood: it is not applied."),
}

OTHER = later("Something to look at.")


def public_findings(findings: pd.DataFrame, how: str) -> pd.DataFrame:
    """Counts by rule and column, or every finding, with our own words in place of the cell's."""
    shown = findings[~findings["rule"].isin(NEVER)]
    worded = shown.assign(
        message=shown["rule"]
        .map({rule: say(text) for rule, text in MEANINGS.items()})
        .fillna(say(OTHER)),
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
