"""Where records are: latitude and longitude on WGS 84, from x and y where their system is known."""

from dataclasses import dataclass

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from pyproj import CRS, Transformer
from pyproj.exceptions import CRSError, ProjError

from mapper.errors import InputError
from mapper.load.cell_arrays import distinct, spread
from mapper.load.records import Remark

WGS84 = CRS.from_epsg(4326)
# International and US survey foot differ by 2e-6: ft in a system of survey feet means those.
SAME_UNIT = 1e-4

CRS_PLEASE = "Name the system in a column crs or in survey.toml, such as EPSG:25832."
NOT_IN_CRS = "x and y lie outside the area of their coordinate system. Check both, and the system."

BY_XY, BY_LATLON, BY_PHOTO = "x and y", "lat and lon", "photo"

Floats = NDArray[np.float64]


@dataclass(frozen=True)
class Placed:
    """Coordinates by record, what could not be used, and remarks by file number."""

    lat: pd.Series
    lon: pd.Series
    place_from: pd.Series
    problems: pd.DataFrame  # column, severity, rule, reason by record
    remarks: dict[int, list[Remark]]


def survey_crs(text: str) -> CRS:
    """The coordinate system that the survey names for records that name none.

    Raises
    ------
    InputError
        When it is not known.
    """
    crs = known_crs(text)
    if crs is None:
        raise InputError(f"coordinate system '{text}' is not known. {CRS_PLEASE}")
    return crs


def place(values: pd.DataFrame, survey: CRS, unit_m: pd.Series) -> Placed:
    """Longitude and latitude of each record.

    `values` has file, lat, lon, x, y, crs; `unit_m` is the size of the unit that the heading of x
    or y names, else NaN. x and y win over lat and lon where their system is projected.
    """
    lat, lon = values["lat"].copy(), values["lon"].copy()
    problems = [_halves(values, "lat", "lon"), _halves(values, "x", "y")]
    placed = pd.Series(False, index=values.index)
    unreached = placed.copy()
    both = values["x"].notna() & values["y"].notna()
    for text in distinct(values["crs"])[1]:
        records = values["crs"] == text
        crs = known_crs(text) if text else survey
        if crs is None:
            problems.append(_found(values.index[records], "crs", "unknown_crs", CRS_PLEASE))
        elif crs.is_projected or (text and crs.is_geographic):
            usable = records & both
            east, north = _from_xy(crs, values[usable], unit_m[usable])
            unreached[usable] = np.isnan(east)
            reached = usable & ~unreached
            lon[reached], lat[reached] = east[~np.isnan(east)], north[~np.isnan(east)]
            placed |= reached
        elif crs.is_geographic and crs != WGS84:
            lon[records], lat[records] = _wgs84(crs, lon[records], lat[records])
    problems.append(_found(values.index[unreached], "x", "not_in_crs", NOT_IN_CRS))
    whole = lat.notna() & lon.notna()
    origin = np.select([~whole, placed], [0, 1], 2).astype(np.intp)
    return Placed(
        lat=lat.where(whole),
        lon=lon.where(whole),
        place_from=spread(("", BY_XY, BY_LATLON), origin, values.index),
        problems=pd.concat(problems),
        remarks=_without_crs(values, both & ~placed & ~unreached, whole),
    )


def known_crs(text: str) -> CRS | None:
    """A system by its code (EPSG:25832, or 25832 alone) or its definition; None where unknown."""
    try:
        return CRS.from_user_input(int(text) if text.isdecimal() else text)
    except (CRSError, ValueError):
        return None


def _from_xy(crs: CRS, values: pd.DataFrame, unit_m: pd.Series) -> tuple[Floats, Floats]:
    scale = pd.Series(1.0, index=values.index)
    if crs.is_projected:
        ratio = unit_m / crs.axis_info[0].unit_conversion_factor
        scale = ratio.where((ratio - 1).abs() > SAME_UNIT, 1.0)
    return _wgs84(crs, values["x"] * scale, values["y"] * scale)


def _wgs84(crs: CRS, east: pd.Series, north: pd.Series) -> tuple[Floats, Floats]:
    """Longitude and latitude; NaN where the system does not reach."""
    try:
        there = Transformer.from_crs(crs, WGS84, always_xy=True)
    except ProjError:  # no way leads there from another planet
        nowhere = np.full(len(east), np.nan)
        return nowhere, nowhere
    lon, lat = there.transform(east.to_numpy(), north.to_numpy())
    reached = np.isfinite(lon) & np.isfinite(lat)
    return np.where(reached, lon, np.nan), np.where(reached, lat, np.nan)


def _halves(values: pd.DataFrame, one: str, other: str) -> pd.DataFrame:
    """Records with one coordinate of two."""
    parts = []
    for given, missing in ((one, other), (other, one)):
        half = values.index[values[given].notna() & values[missing].isna()]
        reason = f"{given} is given, but no readable {missing}. Give both, or neither."
        parts.append(_found(half, given, "half_a_place", reason))
    return pd.concat(parts)


def _found(records: pd.Index, column: str, rule: str, reason: str) -> pd.DataFrame:
    return pd.DataFrame(
        {"column": column, "severity": "error", "rule": rule, "reason": reason}, index=records
    )


def _without_crs(
    values: pd.DataFrame, unplaced: "pd.Series[bool]", whole: "pd.Series[bool]"
) -> dict[int, list[Remark]]:
    """A remark for each file whose x and y stay unused."""
    remarks: dict[int, list[Remark]] = {}
    for severity, records, outcome in (
        ("note", unplaced & whole, "so lat and lon were used"),
        ("warning", unplaced & ~whole, "so these records have no place"),
    ):
        for file, count in values.loc[records, "file"].value_counts().sort_index().items():
            reason = f"x and y of {count} records name no projected coordinate system, {outcome}. "
            remark = Remark("no_crs", severity, reason + CRS_PLEASE, "x")
            remarks.setdefault(int(str(file)), []).append(remark)
    return remarks
