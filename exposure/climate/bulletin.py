"""Irregular weather reports (routine, special, six-hourly) brought to one value an hour."""

import numpy as np
import pandas as pd

from exposure.checks import RefusalError

LONGEST_SHARED = 6  # h of a total that may be shared among its hours on request; our choice
MOSTLY = 0.5  # share of hours with hourly rain from which totals over several hours are left out; our choice


def hourly_from_reports(
    time: pd.DatetimeIndex,
    *,
    wind_speed: np.ndarray,
    wind_from_direction: np.ndarray,
    rain: np.ndarray,
    rain_period: np.ndarray,
    others: dict[str, np.ndarray],
    flags: list[str],
) -> tuple[pd.DatetimeIndex, dict[str, np.ndarray], np.ndarray | None]:
    """One value an hour from the reports made in (h - 1, h].

    Parameters
    ----------
    time
        Stamps of the reports, in any order; several may share one.
    wind_speed, wind_from_direction
        Wind of each report. [m s-1, degree]
    rain, rain_period
        Rain of each report [mm] and the hours it fell in [h]; NaN where a report has none.
    others
        Further terms.
    flags
        List that gets a sentence for each thing done.

    Returns
    -------
    time, values, rain_period
        Whole hours; term -> values; hours of each hour's rain, None when all are one.

    Notes
    -----
    The last report of the hour speaks for it: routine reports come at its end, and special reports before
    them hold running totals that must not be added up. Totals over several hours are left out where hourly
    rain is mostly there, and otherwise handed on to be refused or shared.

    Examples
    --------
    >>> reports = pd.DatetimeIndex(["2020-01-01T00:20", "2020-01-01T00:51", "2020-01-01T01:51"])
    >>> time, values, period = hourly_from_reports(
    ...     reports, wind_speed=np.array([3.0, 4.0, 5.0]), wind_from_direction=np.full(3, 240.0),
    ...     rain=np.array([0.3, 0.8, 0.0]), rain_period=np.ones(3), others={}, flags=[])
    >>> time.hour.tolist(), values["rain"].tolist()
    ([1, 2], [0.8, 0.0])
    """
    if len(time) == 0 or time.hasnans:
        raise RefusalError("a report has no time", "a time on every report", "Get the file again.")
    order = np.argsort(time.values, kind="stable")
    minutes = time.values[order].astype("datetime64[m]").astype(np.int64)
    hour_of = -(-minutes // 60)
    hours = np.unique(hour_of)
    place = np.searchsorted(hours, hour_of)

    def last_known(values: np.ndarray, usable: np.ndarray) -> np.ndarray:
        chosen = np.full(hours.size, np.nan)
        rows = np.flatnonzero(usable[order])
        chosen[place[rows]] = values[order][rows]
        return chosen

    windy = np.isfinite(wind_speed)
    values = {
        "wind_speed": last_known(wind_speed, windy),
        "wind_from_direction": last_known(wind_from_direction, windy),
    }
    for term, value in others.items():
        values[term] = last_known(value, np.isfinite(value))
    single = np.isfinite(rain) & (rain_period <= 1)
    values["rain"] = last_known(rain, single)
    period = np.ones(hours.size)
    long = np.isfinite(rain) & (rain_period > 1) & (rain_period <= LONGEST_SHARED)
    left_out = int(np.count_nonzero(np.isfinite(rain) & (rain_period > LONGEST_SHARED)))
    if left_out:
        flags.append(f"{left_out} totals of rain over more than {LONGEST_SHARED} h were left out.")
    known = np.isfinite(values["rain"])
    if long.any() and known.mean() >= MOSTLY:
        flags.append(
            f"{int(long.sum())} totals of rain over several hours were left out: hourly rain is there."
        )
    elif long.any():
        total, span = last_known(rain, long), last_known(rain_period, long)
        use = np.isfinite(total) & ~known
        values["rain"] = np.where(use, total, values["rain"])
        period = np.where(use, span, 1.0)
    if len(time) > hours.size:
        flags.append(
            f"{len(time)} reports were brought to {hours.size} hours; the last of each hour speaks for it."
        )
    stamps = pd.DatetimeIndex((hours * 3600).astype("datetime64[s]"))
    return stamps, values, period if np.any(period > 1) else None
