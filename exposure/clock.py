"""The record's own clock: hour numbers, years and their lengths in its own calendar."""

import cftime
import numpy as np
import xarray as xr

from exposure.checks import RefusalError

TYPICAL_YEAR = "typical year"
MILLISECONDS = 3_600_000.0  # in an hour
TICKS = {("h", 1): 1, ("m", 1): 60, ("s", 1): 3600} | {
    (unit, 1): 3600 * 1000**power for power, unit in enumerate(("ms", "us", "ns"), start=1)
}  # in an hour, by the unit of a stamp
NEAR_ENOUGH = 1e-3  # of an hour, 3.6 s; our choice


def hour_numbers(time: xr.DataArray) -> np.ndarray:
    """Whole hours since 1970 by the calendar of ``time`` (a ``noleap`` clock has no 29 February).

    A stamp a few seconds off its hour, as a file with time in days rounds it, is taken for that hour.

    Raises
    ------
    RefusalError
        When a stamp is missing or not on the hour.

    Examples
    --------
    >>> import pandas as pd
    >>> stamps = xr.DataArray(pd.to_datetime(["1970-01-01T05:00", "1970-01-02T00:00"]), dims="time")
    >>> hour_numbers(stamps).tolist()
    [5, 24]
    """
    if time.dtype == object:
        calendar = time.values[0].calendar
        exact = np.asarray(cftime.date2num(time.values, "hours since 1970-01-01", calendar), dtype=float)
    else:
        stamps = time.values
        if np.isnat(stamps).any():
            raise RefusalError("a time stamp is missing", "a time at every step", "Mend the record.")
        ticks = TICKS.get(np.datetime_data(stamps.dtype))
        if ticks is not None:  # whole numbers are divided in half the time that stamps are compared in
            counts = np.ascontiguousarray(stamps).view(np.int64)
            whole = counts // ticks
            if np.array_equal(whole * ticks, counts):
                return whole
        exact = stamps.astype("datetime64[ms]").astype(np.int64) / MILLISECONDS
    hours = np.round(exact).astype(np.int64)
    off = np.abs(exact - hours) > NEAR_ENOUGH
    if off.any():
        raise RefusalError(
            f"the stamp {time.values[int(np.argmax(off))]} is not on the hour",
            "one value for each whole hour",
            "Sum the rain and average the wind to whole hours first, stamped at the end of their hour.",
        )
    return hours


def ascending_hours(time: xr.DataArray) -> np.ndarray:
    """:func:`hour_numbers` of stamps that ascend, each once.

    Raises
    ------
    RefusalError
        As there, and when a stamp repeats or goes back.
    """
    hours = hour_numbers(time)
    back = np.diff(hours) <= 0
    if np.any(back):
        raise RefusalError(
            f"the stamp {time.values[int(np.argmax(back)) + 1]} repeats or goes back",
            "time that ascends, each hour once",
            "Sort the file by time and remove repeated hours.",
        )
    return hours


def year_numbers(time: xr.DataArray, *, kind: str) -> np.ndarray:
    """Year of each stamp; a typical year is all one year, whose last hour is stamped in the next.

    Examples
    --------
    >>> import pandas as pd
    >>> stamps = xr.DataArray(pd.to_datetime(["2001-12-31T23:00", "2002-01-01T00:00"]), dims="time")
    >>> year_numbers(stamps, kind="gauge").tolist(), year_numbers(stamps, kind="typical year").tolist()
    ([2001, 2002], [2001, 2001])
    """
    years = time.dt.year.values.astype(int)
    return np.full_like(years, years[0]) if kind == TYPICAL_YEAR else years


def month_numbers(time: xr.DataArray) -> np.ndarray:
    """Month of each stamp, 1 to 12."""
    return time.dt.month.values.astype(int)


def hours_in_year(year: int, calendar: str) -> int:
    """Hours in ``year`` of ``calendar``.

    Examples
    --------
    >>> hours_in_year(2012, "standard"), hours_in_year(2012, "noleap"), hours_in_year(2012, "360_day")
    (8784, 8760, 8640)
    """
    start = cftime.datetime(year, 1, 1, calendar=calendar)
    end = cftime.datetime(year + 1, 1, 1, calendar=calendar)
    return round((end - start).total_seconds() / 3600)


def calendar_of(time: xr.DataArray) -> str:
    """Name of the calendar of ``time``, as CF spells it."""
    return time.dt.calendar


def check_whole_time(value: xr.DataArray, name: str, axis: str = "time") -> None:
    """Stop if the ``axis`` of time is split into dask chunks: a spell, or a running total, may run across the split."""
    pieces = len(value.chunksizes.get(axis, ()))
    if pieces > 1:
        others = "".join(f", {dim}=1" for dim in value.dims if dim != axis)
        raise RefusalError(
            f"the time of {name} is split into {pieces} chunks",
            "all of time in one chunk, because a spell may run across a split",
            f"Split it by place instead: .chunk({axis}=-1{others}), or a few places more at a time.",
        )


def check_hourly(hours: np.ndarray) -> None:
    """Stop unless ``hours`` (whole numbers, the record's own clock) ascend, mostly in steps of one.

    Gaps of whole hours are missing hours, not an error; daily or three-hourly data is refused.
    """
    if hours.size < 2:
        raise RefusalError(
            f"the record has {hours.size} time stamps",
            "hourly weather for a year or more",
            "Use a longer record.",
        )
    steps = np.diff(hours)
    if np.any(steps <= 0):
        first = int(np.flatnonzero(steps <= 0)[0]) + 1
        kind = "twice" if steps[first - 1] == 0 else "out of order"
        raise RefusalError(
            f"row {first + 1} of the record comes {kind}",
            "time stamps that ascend, each once",
            "Sort the record by time and remove the repeated rows.",
        )
    if np.mean(steps == 1) < 0.5:
        usual = int(np.median(steps))
        raise RefusalError(
            f"time steps are {usual} h",
            "hourly data",
            "Daily and longer means hide the hours when wind and rain coincide: use an hourly source.",
        )
