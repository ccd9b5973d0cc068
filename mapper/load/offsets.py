"""Records measured by tape from known points: which way each was measured, and what is missing."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mapper import metrics
from mapper.load.bearings import compass_point
from mapper.load.known_points import NO_POINT, UNCLEAR, Points, find_points
from mapper.load.network import Steps
from mapper.load.norths import MODEL_YEARS, decimal_years, declination_deg
from mapper.reference import rows

Floats = NDArray[np.float64]
Flags = NDArray[np.bool_]

LEFT = ("left", "l", "links", "izquierda", "gauche")
RIGHT = ("right", "r", "rechts", "derecha", "droite")
FULL_TURN = 360


@dataclass(frozen=True)
class Offsets:
    """The steps of the records that have one, and what was found on the way."""

    records: NDArray[np.int64]  # positions in the table of values, one a step
    steps: Steps
    unclear: Flags  # records that name a point which may be several
    unknown: Flags  # records that name a point which is none
    second_at_fault: Flags  # of the two points it is the second that is unclear or unknown
    incomplete: Flags  # records with part of a way
    without_slope: Flags
    without_stem: Flags
    declination_deg: float  # in the middle of the survey


def has_offsets(values: pd.DataFrame) -> bool:
    """Whether any record says that it was measured from somewhere."""
    return bool((values["from_point"] != "").any() or values["bearing_deg"].notna().any())


def read_offsets(values: pd.DataFrame, plots: pd.DataFrame, points: Points) -> Offsets:
    """How each record was measured from its known point or points."""
    declination = usual_declination(values, plots)
    first = _first_points(values, points)
    second = find_points(values, "from_point_2", points)
    distance, distance_2, without_slope = _level(values)
    distance, distance_2, without_stem = _to_centre(values, distance, distance_2)
    turned = values["bearing_deg"].to_numpy(dtype=float)
    by_tapes = (first >= 0) & (second >= 0) & (distance > 0) & (distance_2 > 0)
    by_bearing = (first >= 0) & (turned >= 0) & (turned <= FULL_TURN) & (distance >= 0) & ~by_tapes
    complete = by_tapes | by_bearing
    told = (values["from_point"] != "").to_numpy() | ~np.isnan(turned)
    unclear = (first == UNCLEAR) | (second == UNCLEAR)
    unknown = ((first < NO_POINT) | (second < NO_POINT)) & ~unclear
    records = np.flatnonzero(complete)
    return Offsets(
        records=records,
        steps=Steps(
            own=points.of_record[records],
            defines=_first_of_each(points.of_record[records]),
            point=first[records],
            point_2=np.where(by_tapes, second, NO_POINT)[records],
            distance_m=distance[records],
            distance_2_m=distance_2[records],
            bearing_deg=turned[records],
            hand=_hands(values["side"].iloc[records]),
            side_deg=_directions(values["side"].iloc[records]),
            tape_sd_m=np.full(len(records), _sd("offset")),
            bearing_sd_deg=_bearing_sds(values["bearing_from"].iloc[records], declination),
        ),
        unclear=unclear,
        unknown=unknown,
        second_at_fault=(first >= NO_POINT) & (second < NO_POINT),
        incomplete=told & ~complete & ~unclear & ~unknown,
        without_slope=without_slope & complete,
        without_stem=without_stem & complete,
        declination_deg=declination,
    )


def _first_points(values: pd.DataFrame, points: Points) -> NDArray[np.int64]:
    """The point that is named, else the centre of the record's own plot."""
    named = find_points(values, "from_point", points)
    own_plot = find_points(values.assign(centre="plot centre"), "centre", points)
    implied = (named == NO_POINT) & values["bearing_deg"].notna().to_numpy() & (own_plot >= 0)
    return np.where(implied, own_plot, named)


def _level(values: pd.DataFrame) -> tuple[Floats, Floats, Flags]:
    """Level distances, and which records say slope without telling it: those stay as they are."""
    on_slope = (values["distance_kind"] == "slope").to_numpy()
    known = values["slope_deg"].notna().to_numpy()
    slope = values["slope_deg"].to_numpy(dtype=float)
    level = []
    for name in ("distance_m", "distance_2_m"):
        distance = values[name].to_numpy(dtype=float)
        flat = metrics.distance_from_slope(distance, slope)
        level.append(np.where(on_slope & known, flat, distance))
    return level[0], level[1], on_slope & ~known


def _to_centre(
    values: pd.DataFrame, distance: Floats, distance_2: Floats
) -> tuple[Floats, Floats, Flags]:
    """Distances to the middle of the stem, and which ones lack the stem for it."""
    to_face = (values["distance_to"] == "face").to_numpy()
    girth = metrics.diameter_from_girth(values["girth_cm"].to_numpy(dtype=float))
    diameter = np.where(np.isnan(girth), values["diameter_cm"].to_numpy(dtype=float), girth)
    sized = to_face & (diameter > 0)
    first, second = (metrics.distance_to_centre(one, diameter) for one in (distance, distance_2))
    return np.where(sized, first, distance), np.where(sized, second, distance_2), to_face & ~sized


def _first_of_each(own: NDArray[np.int64]) -> Flags:
    """The first step of every point; trees without a name are no point."""
    return (own >= 0) & ~pd.Series(own).duplicated().to_numpy()


def _hands(sides: pd.Series) -> Floats:
    words = sides.str.casefold().str.strip()
    return np.select([words.isin(LEFT), words.isin(RIGHT)], [-1.0, 1.0], 0.0)


def _directions(sides: pd.Series) -> Floats:
    known = {text: compass_point(str(text)) for text in sides.unique() if str(text).strip()}
    # A lone r or l is a hand, and none of them is a point of the compass.
    return sides.map(known).to_numpy(dtype=float)


def _bearing_sds(norths: pd.Series, declination: float) -> Floats:
    """What a compass is off by; without its north the needle's direction besides."""
    sd = _sd("bearing")
    return np.where((norths == "").to_numpy(), np.hypot(sd, declination), sd)


def usual_declination(values: pd.DataFrame, plots: pd.DataFrame) -> float:
    """Declination in the middle of the places and days that are told, else 0. [deg]"""
    year = np.nanmedian(np.append(decimal_years(values["date"]), MODEL_YEARS[-1]))
    places = pd.concat([values[["lat", "lon"]], plots[["lat", "lon"]]]).astype(float).dropna()
    if places.empty:
        return 0.0
    lat, lon = places.median().to_numpy().reshape(2, 1)
    return float(np.nan_to_num(declination_deg(lat, lon, np.array([year])))[0])


def _sd(quantity: str) -> float:
    return next(float(row["sd"]) for row in rows("uncertainties") if row["input"] == quantity)
