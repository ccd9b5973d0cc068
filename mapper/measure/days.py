"""Days as years with decimals, no finer than the survey publishes them."""

import numpy as np
import pandas as pd

from mapper.measure.inputs import Floats

DAYS_PER_YEAR = 365.25
PERIODS = {"day": "D", "month": "M", "year": "Y"}


def coarse_days(dates: "pd.Series[pd.Timestamp]", precision: str) -> "pd.Series[pd.Timestamp]":
    """The first day of the period that is published: an age must not tell the day of a visit."""
    return dates.dt.to_period(PERIODS[precision]).dt.start_time.astype(dates.dtype)


def year_ends(dates: "pd.Series[pd.Timestamp]", precision: str) -> tuple[Floats, Floats]:
    """First and last moment that a published day may mean, as years; equal for whole days."""
    first = dates.dt.to_period(PERIODS[precision]).dt.start_time
    if precision == "day":
        return _year(first), _year(first)
    return _year(first), _year(dates.dt.to_period(PERIODS[precision]).dt.end_time.dt.floor("D"))


def years_between(
    first: "pd.Series[pd.Timestamp]", second: "pd.Series[pd.Timestamp]", precision: str
) -> Floats:
    """Years from the first day to the second; NaN without both."""
    apart = coarse_days(second, precision) - coarse_days(first, precision)
    return np.asarray(apart.dt.days.to_numpy(dtype=float) / DAYS_PER_YEAR)


def _year(days: "pd.Series[pd.Timestamp]") -> Floats:
    """The middle of 2026 is 2026.5."""
    length = np.where(days.dt.is_leap_year, 366, 365)
    return np.asarray(days.dt.year + (days.dt.day_of_year - 1) / length, dtype=float)
