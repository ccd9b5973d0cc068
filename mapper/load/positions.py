"""The place of every record: by tape, else by x and y, else by lat and lon, else by its photo."""

from dataclasses import replace

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mapper.load.known_points import Points, number_points
from mapper.load.network import NO_ROOT, PLACED, Spots, grow, nowhere
from mapper.load.norths import convergence_deg, decimal_years, declination_deg, grid_systems
from mapper.load.offset_problems import offset_problems
from mapper.load.offsets import has_offsets, read_offsets
from mapper.load.places import BY_LATLON, BY_PHOTO, BY_XY, survey_crs
from mapper.load.plot_centres import (
    CENTRE_PART,
    nowhere_from_centre,
    placed_from_centre,
    taped_from_centre,
)
from mapper.load.records import Records

Floats = NDArray[np.float64]
Numbers = NDArray[np.int64]

BY_BEARING, BY_TAPES = "bearing and distance", "two tapes"
DIRECT = (BY_XY, BY_LATLON, BY_PHOTO)  # in the order of trust
# A device's own figure holds the true place about half the time: doubled, 95 %.
DOUBLED = 2.0


def no_plots() -> pd.DataFrame:
    """The table of plot centres of a survey that names none."""
    empty = pd.Series(dtype=float)
    return pd.DataFrame(
        {"plot": pd.Series(dtype=str), "lat": empty, "lon": empty, "position_accuracy_m": empty}
    )


def with_places(records: Records, plots: pd.DataFrame, crs: str) -> Records:
    """The records with the best place of each, how it was found and how sure it is.

    Adds to the values place_accuracy_m (a radius that holds the true place 19 times in 20),
    place_relative_m (the same, seen from the known point that the place hangs on in the end) and
    place_root (that point's number), from_centre_m and from_centre_deg (from the middle of the
    record's own plot, true north). `plots` has plot, lat, lon and position_accuracy_m.
    """
    values = records.values
    points = number_points(values, plots)
    direct = _direct(values, points)
    if not has_offsets(values):
        seen = nowhere_from_centre(values)
        if len(plots):
            anchors = _anchors(values, direct, plots, points)
            seen = placed_from_centre(values, direct, anchors, points)
        return replace(records, values=_written(values, direct, values["place_from"], seen))
    offsets = read_offsets(values, plots, points)
    anchors = _anchors(values, direct, plots, points)
    start = anchors.take(np.arange(points.count))
    defined = offsets.steps.own[offsets.steps.defines]
    start.put(defined, nowhere(len(defined)))
    norths = Norths(values.iloc[offsets.records], crs)
    found, why = grow(start, anchors, offsets.steps, norths.direction_deg)
    problems = offset_problems(records, offsets, found, why, start.placed)
    placed = offsets.records[why == PLACED]
    direct.put(placed, found.take(np.flatnonzero(why == PLACED)))
    middles = anchors.take(offsets.steps.point)
    turns = norths.direction_deg(np.arange(len(offsets.records)), middles.lat, middles.lon)
    seen = taped_from_centre(values, offsets, points, turns)
    seen = seen.fillna(placed_from_centre(values, direct, anchors, points))
    by_tapes = (offsets.steps.point_2 >= 0)[why == PLACED]
    place_from = values["place_from"].to_numpy(dtype=object, copy=True)
    place_from[placed] = np.where(by_tapes, BY_TAPES, BY_BEARING)
    return replace(
        records,
        values=_written(values, direct, pd.Series(place_from, values.index, dtype=str), seen),
        problems=pd.concat([records.problems, problems], ignore_index=True),
    )


class Norths:
    """The norths that the bearings of some records count from."""

    def __init__(self, values: pd.DataFrame, crs: str) -> None:
        self._kinds = values["bearing_from"].to_numpy(dtype=object)
        # A day that is not told is taken from the others: the needle moves slowly.
        dates = values["date"].fillna(values["date"].median())
        self._years = decimal_years(dates)
        self._codes = values["crs"].to_numpy(dtype=object)
        self._systems = grid_systems(values["crs"], survey_crs(crs))

    def direction_deg(self, numbers: Numbers, lat: Floats, lon: Floats) -> Floats:
        """Direction of each record's north at a place; NaN where it cannot be known."""
        kinds, directions = self._kinds[numbers], np.zeros(len(numbers))
        needle = kinds == "magnetic"
        directions[needle] = declination_deg(lat[needle], lon[needle], self._years[numbers[needle]])
        for code, system in self._systems.items():
            some = (kinds == "grid") & (self._codes[numbers] == code)
            known = system is not None and some.any()
            directions[some] = (
                convergence_deg(lat[some], lon[some], system) if known and system else np.nan
            )
        return directions


def _direct(values: pd.DataFrame, points: Points) -> Spots:
    """Places that need no other: each record is its own root."""
    spots = nowhere(len(values))
    spots.lon, spots.lat = (
        values[name].to_numpy(dtype=float, copy=True) for name in ("lon", "lat")
    )
    spots.radius_m = DOUBLED * values["position_accuracy_m"].to_numpy(dtype=float)
    placed = ~np.isnan(spots.lon)
    spots.relative_m = np.where(placed, 0.0, np.nan)
    spots.root = np.where(placed, points.of_record, NO_ROOT)
    nameless = placed & (points.of_record < 0)
    spots.relative_m[nameless] = spots.radius_m[nameless]
    return spots


def _anchors(values: pd.DataFrame, direct: Spots, plots: pd.DataFrame, points: Points) -> Spots:
    """Places of points that need no step: trees with coordinates, the first of the best kind."""
    anchors = nowhere(points.count)
    on_earth = values["lat"].between(-90, 90) & values["lon"].between(-180, 180)
    rank = values["place_from"].map({kind: number for number, kind in enumerate(DIRECT)})
    usable = on_earth.to_numpy() & (points.of_record >= 0)
    order = rank[usable].reset_index(drop=True).sort_values(kind="stable").index
    best = np.flatnonzero(usable)[order]
    best = best[~pd.Series(points.of_record[best]).duplicated().to_numpy()]
    anchors.put(points.of_record[best], direct.take(best))
    centres = np.arange(points.count - len(plots), points.count)
    radius = DOUBLED * plots["position_accuracy_m"].to_numpy(dtype=float)
    lon, lat = plots["lon"].to_numpy(dtype=float), plots["lat"].to_numpy(dtype=float)
    anchors.put(centres, Spots(lon, lat, radius, np.zeros(len(plots)), centres))
    return anchors


def _written(
    values: pd.DataFrame, spots: Spots, place_from: pd.Series, from_centre: pd.DataFrame
) -> pd.DataFrame:
    return values.assign(
        **{name: from_centre[name] for name in CENTRE_PART},
        lat=spots.lat,
        lon=spots.lon,
        place_from=place_from,
        place_accuracy_m=np.where(spots.placed, spots.accuracy_m, np.nan),
        place_relative_m=spots.relative_m,
        place_root=spots.root,
    )
