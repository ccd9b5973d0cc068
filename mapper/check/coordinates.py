"""Coordinates that were swapped, flipped, typed without their point, or put in the wrong zone."""

from collections.abc import Iterable

import geopandas as gpd
import numpy as np
import pandas as pd
from numpy.typing import NDArray

from mapper.check.findings import Rule, findings, joined, worded
from mapper.check.grids import misread_grids
from mapper.check.sites import Site, site_of
from mapper.load.places import BY_LATLON, BY_XY

Floats = NDArray[np.float64]
Pair = tuple[Floats, Floats]

ADVICE = "Look at the record sheet or the device."
# Alone and farther off than this, a tree is on another journey or misread.
FAR_M = 50_000.0
MOST_ALONE = 0.02  # of all places: where more of them are near one another the survey has two sites
POWERS_OF_TEN = 10.0 ** np.arange(-8, 2)  # a spreadsheet swallows the point, a hand moves it
DECIMALS = 9

# What the tree's place looks like, and whether landing at the site makes it certain.
SLIPS = {
    "swapped": ("Latitude and longitude look swapped", True),
    "sign_flipped": ("The sign of a coordinate looks wrong", True),
    "point_lost": ("A decimal point looks lost or moved", True),
    "minutes_as_decimals": ("Minutes and seconds look written behind a decimal point", False),
    "degree_digit": ("A digit of the whole degrees looks wrong", False),
}


def misread_places(
    values: pd.DataFrame, cells: pd.DataFrame, boundaries: gpd.GeoDataFrame, crs: str
) -> pd.DataFrame:
    """Findings on coordinates that cannot be those of the tree, with what was probably meant.

    Held against the outlines, else against the middle of the other trees. A slip that undone lands
    there leaves the map; what is merely far is asked about. `crs` is the survey's own.
    """
    site = site_of(values, boundaries)
    told = values[(values["place_from"] == BY_LATLON)]
    nothing = (told["lat"] == 0) & (told["lon"] == 0)
    rest = told[~nothing]
    if site is None:
        turned = rest[(rest["lat"].abs() > 90) & (rest["lon"].abs() <= 90)]
        meant = turned["lon"].to_numpy(), turned["lat"].to_numpy()
        return joined([_nothing(told[nothing], cells), _told(turned, cells, "swapped", meant, "")])
    found = [_nothing(told[nothing], cells), *_slips(rest, cells, site)]
    found.append(misread_grids(values[values["place_from"] == BY_XY], cells, site, crs))
    return joined([*found, *_hanging(values, found), _far(values, found, site)])


def _slips(rest: pd.DataFrame, cells: pd.DataFrame, site: Site) -> Iterable[pd.DataFrame]:
    """Findings of every slip in its order; what one explains is not asked of the next."""
    stray = rest[~site.holds(rest["lat"].to_numpy(), rest["lon"].to_numpy())]
    for rule, meanings in MEANINGS.items():
        for number in range(len(meanings(np.zeros(0), np.zeros(0), site))):
            lat, lon = stray["lat"].to_numpy(dtype=float), stray["lon"].to_numpy(dtype=float)
            meant = meanings(lat, lon, site)[number]
            lands = site.holds(*meant)
            yield _told(stray[lands], cells, rule, (meant[0][lands], meant[1][lands]), site.of)
            stray = stray[~lands]


def _swapped(lat: Floats, lon: Floats, _: Site) -> list[Pair]:
    return [(lon, lat), (-lon, lat), (lon, -lat), (-lon, -lat)]


def _flipped(lat: Floats, lon: Floats, _: Site) -> list[Pair]:
    return [(lat, -lon), (-lat, lon), (-lat, -lon)]


def _with_point(lat: Floats, lon: Floats, site: Site) -> list[Pair]:
    return [(_nearest_scale(lat, site.lat), _nearest_scale(lon, site.lon))]


def _nearest_scale(degrees: Floats, target: float) -> Floats:
    scaled = degrees[:, None] * POWERS_OF_TEN
    nearest = abs(scaled - target).argmin(axis=1)
    return np.take_along_axis(scaled, nearest[:, None], axis=1)[:, 0]


def _as_minutes(lat: Floats, lon: Floats, _: Site) -> list[Pair]:
    both = _sexagesimal(lat), _sexagesimal(lon)
    return [both, (both[0], lon), (lat, both[1])]


def _sexagesimal(degrees: Floats) -> Floats:
    """48.1230 as 48° 12' 30"; NaN where the decimals are no minutes and seconds."""
    size = abs(degrees)
    whole = np.floor(size)
    minutes = np.floor(np.round((size - whole) * 100, DECIMALS))
    seconds = np.round((size - whole) * 10_000 - minutes * 100, 5)
    sound = (minutes < 60) & (seconds < 60)
    return np.where(sound, np.sign(degrees) * (whole + minutes / 60 + seconds / 3600), np.nan)


def _other_degrees(lat: Floats, lon: Floats, site: Site) -> list[Pair]:
    return [(_with_degrees(lat, site.lat), lon), (lat, _with_degrees(lon, site.lon))]


def _with_degrees(degrees: Floats, target: float) -> Floats:
    """The decimals as they are behind the whole degrees that come nearest to the site."""
    turned = degrees + np.round(target - degrees)
    return np.where(np.sign(turned) == np.sign(degrees), turned, np.nan)


MEANINGS = {
    "swapped": _swapped,
    "sign_flipped": _flipped,
    "point_lost": _with_point,
    "minutes_as_decimals": _as_minutes,
    "degree_digit": _other_degrees,
}


def _told(at: pd.DataFrame, cells: pd.DataFrame, rule: str, meant: Pair, of: str) -> pd.DataFrame:
    """A finding for each cell that has to change."""
    what, sure = SLIPS[rule]
    sure = sure and bool(of)  # without a site nothing bears it out
    as_meant = f": as meant the tree stands near {of}" if of else ""
    if at.empty:
        return joined([])
    tables = []
    for column, degrees, other in (("lat", meant[0], "lon"), ("lon", meant[1], "lat")):
        changed = degrees != at[column].to_numpy()
        some = at[changed]
        proposed = pd.Series(degrees[changed], some.index).round(DECIMALS).map(_text)
        if rule == "swapped":  # a plain swap moves the texts as they were written
            plain = degrees[changed] == some[other].to_numpy()
            proposed = proposed.where(~plain, cells.reindex(some.index)[other])
        shown = some.assign(cell=cells[column].reindex(some.index), proposed_value=proposed)
        tables.append(
            findings(
                Rule(rule, "error" if sure else "warning", column, ADVICE, what + ".", bars=sure),
                shown,
                what + as_meant + ".",
            )
        )
    return joined(tables)


def _text(degrees: float) -> str:
    return repr(float(degrees))


def _nothing(at: pd.DataFrame, cells: pd.DataFrame) -> pd.DataFrame:
    if at.empty:
        return joined([])
    shown = at.assign(cell=cells["lat"].reindex(at.index))
    cause = "A device without a fix writes zeros."
    return findings(
        Rule(
            "zero_place", "error", "lat", "Give the place, or leave both cells empty.", cause, True
        ),
        shown,
        "0, 0 lies in the sea off Africa: no tree stands there.",
    )


def _hanging(values: pd.DataFrame, found: list[pd.DataFrame]) -> list[pd.DataFrame]:
    """Trees measured by tape from a tree whose own coordinates left the map."""
    barred = joined(found)
    roots = values["place_root"].reindex(barred["record"][barred["bars"]].unique())
    taped = values["place_from"].isin(["bearing and distance", "two tapes"])
    at = values[taped & values["place_root"].isin(roots[roots >= 0])]
    return [
        findings(
            Rule("known_point_misplaced", "error", "lat", "Mend that point's place.", bars=True),
            at,
            "The known point that this tree's place hangs on is misplaced.",
        )
    ]


def _far(values: pd.DataFrame, found: list[pd.DataFrame], site: Site) -> pd.DataFrame:
    """Places far from all others and near no few of their own."""
    known = values[values["lat"].between(-90, 90) & values["lon"].between(-180, 180)]
    rest = known[~known.index.isin(joined(found)["record"])]
    away_m = site.distance_m(rest["lat"].to_numpy(), rest["lon"].to_numpy())
    company = rest.groupby([rest["lat"].floordiv(1), rest["lon"].floordiv(1)])["lat"].transform(
        "size"
    )
    alone = company <= max(1.0, MOST_ALONE * len(rest))
    far = (away_m > max(FAR_M, site.reach_m)) & alone.to_numpy()
    distance = pd.Series(np.round(away_m[far] / 1000), rest.index[far])
    return findings(
        Rule("far_from_site", "warning", "lat", "Check the digits, or tell of the second site."),
        rest[far],
        worded(f"This place is {{:,.0f}} km from {site.of}.", distance),
    )


# What a misread place brings about by itself.
CONSEQUENCES = ("impossible", "outside_every_stand", "in_no_stand", "near_an_edge")


def without_misread(found: pd.DataFrame, misread: pd.DataFrame) -> pd.DataFrame:
    """The other findings, less those about places that only follow from a misread one."""
    of_places = found["column"].isin(["lat", "lon", "stand"])
    follows = of_places & found["rule"].isin(CONSEQUENCES)
    sure = misread[misread["bars"].astype(bool)]
    return found[~(follows & found["record"].isin(sure["record"]))]
