"""Which way the north of a bearing points: compass needle, map grid or true north."""

from functools import cache
from typing import TYPE_CHECKING

import numpy as np
import pandas as pd
from numpy.typing import NDArray
from pyproj import CRS, Geod, Transformer
from pyproj.exceptions import ProjError

from mapper.load.places import WGS84, known_crs

if TYPE_CHECKING:
    from pygeomag import GeoMag

Floats = NDArray[np.float64]

ELLIPSOID = Geod(ellps="WGS84")
# Each World Magnetic Model holds for five years from its own.
MODEL_YEARS = (2010, 2015, 2020, 2025)
YEARS_OF_A_MODEL = 5
# Within 0.01 degrees and 0.1 years the needle moves by less than 0.05 degrees where people live.
PLACE_DECIMALS, YEAR_DECIMALS = 2, 1
GRID_STEP = 1000.0
DAYS_PER_YEAR = 365.25


def declination_deg(lat: Floats, lon: Floats, years: Floats, height_km: float = 0.0) -> Floats:
    """Direction of magnetic north by the World Magnetic Model of the year, east positive. [deg]

    NaN outside the years 2010 to 2030 and where the place is not known. `years` are decimal.
    """
    asked = pd.DataFrame({"lat": lat, "lon": lon, "year": years})
    asked = asked.round({"lat": PLACE_DECIMALS, "lon": PLACE_DECIMALS, "year": YEAR_DECIMALS})
    one_each = asked.dropna().drop_duplicates()
    degrees = [_declination(row, height_km) for row in one_each.itertuples(index=False, name=None)]
    found = one_each.assign(degrees=degrees)
    return np.asarray(asked.merge(found, how="left")["degrees"], dtype=float)


def decimal_years(dates: "pd.Series[pd.Timestamp]") -> Floats:
    """Days as decimal years, NaN where there is no day."""
    years = dates.dt.year + (dates.dt.day_of_year - 1) / DAYS_PER_YEAR
    return np.asarray(years, dtype=float)


def convergence_deg(lat: Floats, lon: Floats, system: CRS) -> Floats:
    """Direction of a grid's north from true north at each place, clockwise. [deg]

    Found by a step to grid north, so that no sign convention can be mistaken.
    """
    try:
        there = Transformer.from_crs(WGS84, system, always_xy=True)
        back = Transformer.from_crs(system, WGS84, always_xy=True)
    except ProjError:
        return np.full(len(lat), np.nan)
    east, north = there.transform(lon, lat)
    step_lon, step_lat = back.transform(east, np.asarray(north) + GRID_STEP)
    reached = np.isfinite(step_lon) & np.isfinite(step_lat)
    lon_0, lat_0, lon_1, lat_1 = (
        np.where(reached, part, 0.0) for part in (lon, lat, step_lon, step_lat)
    )
    return np.where(reached, ELLIPSOID.inv(lon_0, lat_0, lon_1, lat_1)[0], np.nan)


def grid_systems(codes: pd.Series, survey: CRS) -> dict[str, CRS | None]:
    """The projected system of each code in the records; "" stands for the survey's own."""
    found: dict[str, CRS | None] = {}
    for code in codes.unique():
        system = known_crs(str(code)) if code else survey
        found[str(code)] = system if system is not None and system.is_projected else None
    return found


def _declination(place: tuple[float, float, float], height_km: float) -> float:
    lat, lon, year = place
    epochs = [first for first in MODEL_YEARS if first <= year <= first + YEARS_OF_A_MODEL]
    if not epochs:
        return np.nan
    field = _model(epochs[-1]).calculate(glat=lat, glon=lon, alt=height_km, time=year)
    return float(field.d)


@cache
def _model(year: int) -> "GeoMag":
    from pygeomag import GeoMag

    return GeoMag(base_year=year)
