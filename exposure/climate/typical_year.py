"""The clock of a typical year: one nominal year in local standard time, whose hour 24 ends the day."""

import numpy as np
import pandas as pd

from exposure.checks import RefusalError
from exposure.climate.station_times import whole_utc_hours
from exposure.doubts import doubt

TYPICAL_YEAR = "typical year"
NOMINAL_YEAR, NOMINAL_LEAP_YEAR = 2001, 2004  # which the stamps carry; they mean no real year
MOST_ROWS = 8784


def nominal_time(
    year: np.ndarray,
    month: np.ndarray,
    day: np.ndarray,
    hour: np.ndarray,
    *,
    kind: str,
    time_zone: float,
    flags: list[str],
) -> pd.DatetimeIndex:
    """Stamps of rows numbered by month, day and hour 1 to 24.

    Parameters
    ----------
    year
        Years the rows were taken from; they only matter when ``kind`` is not a typical year.
    time_zone
        Local standard time ahead of UTC, to bring a real year to UTC. [h]
    flags
        List that gets a sentence when the years of the rows were used.

    Raises
    ------
    RefusalError
        For impossible dates, or more rows than a year has.

    Examples
    --------
    >>> rows = np.array([1999, 1999]), np.array([1, 12]), np.array([1, 31]), np.array([1, 24])
    >>> nominal_time(*rows, kind="typical year", time_zone=-8, flags=[]).astype(str).tolist()
    ['2001-01-01 01:00:00', '2002-01-01 00:00:00']
    """
    parts = np.stack([year, month, day, hour])
    if not np.all(np.isfinite(parts)) or np.any(parts != np.round(parts)):
        row = int(np.argmax(~np.all(np.isfinite(parts) & (parts == np.round(parts)), axis=0)))
        raise RefusalError(
            f"data row {row + 1} has no whole date", "year, month, day, hour", "Get the file again."
        )
    typical = kind == TYPICAL_YEAR
    if typical and hour.size > MOST_ROWS:
        raise RefusalError(
            f"the file has {hour.size} rows",
            "one year of hours",
            "If it holds real years, say so: gauge, reanalysis or model.",
            parameter="kind",
        )
    leap = np.any((month == 2) & (day == 29))
    nominal = np.full_like(year, NOMINAL_LEAP_YEAR if leap else NOMINAL_YEAR) if typical else year
    dates = pd.to_datetime({"year": nominal, "month": month, "day": day}, errors="coerce")
    wrong = (dates.isna() | (hour < 1) | (hour > 24)).to_numpy(dtype=bool)
    if wrong.any():
        row = int(np.argmax(wrong))
        raise RefusalError(
            f"data row {row + 1} is dated {month[row]:g}/{day[row]:g} hour {hour[row]:g}",
            "a date, and an hour from 1 to 24",
            "Get the file again.",
        )
    time = pd.DatetimeIndex(dates + pd.to_timedelta(hour, unit="h"))
    if typical:
        return time
    flags.append(doubt("climate.own_years", zone=time_zone))
    return whole_utc_hours(time - pd.Timedelta(hours=time_zone), time, flags)
