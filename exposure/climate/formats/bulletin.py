"""Irregular weather reports (routine, special, six-hourly) brought to one value an hour."""

from typing import NamedTuple

import numpy as np
import pandas as pd

from exposure.checks import RefusalError
from exposure.doubts import doubt
from exposure.figures import counted

LONGEST_SHARED = 6  # h of a total that may be shared among its hours on request; our choice
MOSTLY = 0.5  # share of hours with hourly rain from which totals over several hours are left out; our choice
HOUR = 60  # minutes
SPECIAL, ROUTINE, METAR = 0, 1, 2  # rank of a report: the higher speaks for its hour
SPECIALS = ("FM16", "SAOSP")  # specials by the codes of the Integrated Surface Data; anything else is routine
METARS = ("FM15", "SYMT", "SAO", "SYSA")  # hourly airport reports, alone or merged with a synoptic one
USUAL_MINUTE = 0.5  # of the commonest minute's count, from which a minute is a routine one; our choice


def report_rank(kind: pd.Series, time: pd.DatetimeIndex) -> np.ndarray:
    """Rank of each report by its type, such as ``FM-15``; without any type by whether its minute is a usual one.

    Examples
    --------
    >>> stamps = pd.DatetimeIndex(["2020-01-01T00:20", "2020-01-01T00:51", "2020-01-01T01:51"])
    >>> report_rank(pd.Series(["FM-16", "FM-15", "FM-12"]), stamps).tolist()
    [0, 2, 1]
    >>> report_rank(pd.Series(["", "", ""]), stamps).tolist()
    [0, 2, 2]
    """
    plain = kind.fillna("").str.upper().str.replace(r"[^A-Z0-9]", "", regex=True)
    if (plain == "").all():
        minute = time.minute.to_numpy()
        counts = np.bincount(minute, minlength=HOUR)
        return np.where(counts[minute] >= USUAL_MINUTE * counts.max() + 0.5, METAR, SPECIAL)
    special, metar = plain.str.startswith(SPECIALS), plain.str.startswith(METARS)
    return np.where(special, SPECIAL, np.where(metar, METAR, ROUTINE))


class Reports(NamedTuple):
    """The reports of a station, a row each.

    Parameters
    ----------
    time
        Stamps, in any order; several may share one.
    rank
        As :func:`report_rank`: the highest that has a value speaks for the hour.
    wind_speed, wind_from_direction
        [m s-1, degree]
    rain, rain_period
        Rain of each report [mm] and the hours it fell in [h]; NaN where a report has none.
    rain_dropped
        Rain of an hour that its source marks as suspect or wrong and that is not in ``rain`` [mm]; NaN elsewhere.
    others
        Further terms.
    """

    time: pd.DatetimeIndex
    rank: np.ndarray
    wind_speed: np.ndarray
    wind_from_direction: np.ndarray
    rain: np.ndarray
    rain_period: np.ndarray
    rain_dropped: np.ndarray
    others: dict[str, np.ndarray]


def hourly_from_reports(
    reports: Reports, flags: list[str]
) -> tuple[pd.DatetimeIndex, dict[str, np.ndarray], np.ndarray | None]:
    """One value an hour from the reports made in (h - 1, h].

    Parameters
    ----------
    flags
        List that gets a doubt for each thing done.

    Returns
    -------
    time, values, rain_period
        Whole hours; term -> values; hours of each hour's rain, None when all are one.

    Notes
    -----
    The routine report speaks for its hour. A special report holds a running total since the routine report before
    it, so one made after the routine report belongs to the hour of the next routine report, which holds its rain
    too: specials only fill hours without a routine value. Totals over several hours are left out where hourly
    rain is mostly there, and otherwise handed on to be refused or shared.

    Examples
    --------
    >>> stamps = pd.DatetimeIndex(["2020-01-01T00:20", "2020-01-01T00:51", "2020-01-01T00:57", "2020-01-01T01:51"])
    >>> time, values, period = hourly_from_reports(Reports(
    ...     stamps, rank=np.array([0, 2, 0, 2]), wind_speed=np.full(4, 4.0), wind_from_direction=np.full(4, 240.0),
    ...     rain=np.array([0.3, 0.8, 0.1, 0.5]), rain_period=np.ones(4), rain_dropped=np.full(4, np.nan), others={}),
    ...     flags=[])
    >>> time.hour.tolist(), values["rain"].tolist()
    ([1, 2], [0.8, 0.5])
    """
    time, rank, rain, rain_period = reports.time, reports.rank, reports.rain, reports.rain_period
    if len(time) == 0 or time.hasnans:
        raise RefusalError("a report has no time", "a time on every report", "Get the file again.")
    minutes = time.values.astype("datetime64[m]").astype(np.int64)
    hour_of = _hour_of(minutes, rank)
    order = np.lexsort((minutes, rank, hour_of))  # the last row of each hour is the one that speaks
    hours, place = np.unique(hour_of[order], return_inverse=True)

    def chosen(values: np.ndarray, usable: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        """The value that speaks for each hour, and the rank of its report (-1 for none)."""
        found, of_rank = np.full(hours.size, np.nan), np.full(hours.size, -1)
        rows = np.flatnonzero(usable[order])
        found[place[rows]] = values[order][rows]
        of_rank[place[rows]] = rank[order][rows]
        return found, of_rank

    windy = np.isfinite(reports.wind_speed)
    values = {
        "wind_speed": chosen(reports.wind_speed, windy)[0],
        "wind_from_direction": chosen(reports.wind_from_direction, windy)[0],
    }
    for term, value in reports.others.items():
        values[term] = chosen(value, np.isfinite(value))[0]
    single = np.isfinite(rain) & (rain_period <= 1)
    values["rain"], spoken_by = chosen(rain, single)
    if np.any(spoken_by > SPECIAL) and (filled := int(np.count_nonzero(spoken_by == SPECIAL))):
        flags.append(doubt("climate.filled_from_specials", hours=filled, spell=counted(filled, "hour")))
    period = np.ones(hours.size)
    long = np.isfinite(rain) & (rain_period > 1) & (rain_period <= LONGEST_SHARED)
    left_out = int(np.count_nonzero(np.isfinite(rain) & (rain_period > LONGEST_SHARED)))
    if left_out:
        flags.append(doubt("climate.long_totals_left_out", totals=left_out, longest=LONGEST_SHARED))
    known = np.isfinite(values["rain"])
    if long.any() and known.mean() >= MOSTLY:
        flags.append(doubt("climate.totals_left_out", totals=int(long.sum())))
    elif long.any():
        total, span = chosen(rain, long)[0], chosen(rain_period, long)[0]
        use = np.isfinite(total) & ~known
        values["rain"] = np.where(use, total, values["rain"])
        period = np.where(use, span, 1.0)
    lost = chosen(reports.rain_dropped, np.isfinite(reports.rain_dropped))[0]
    lost = lost[(lost > 0) & ~np.isfinite(values["rain"])]
    if lost.size:
        flags.append(
            doubt(
                "climate.rain_dropped",
                hours=lost.size,
                spell=counted(lost.size, "hour"),
                amount=float(lost.sum()),
            )
        )
    if len(time) > hours.size:
        flags.append(doubt("climate.reports_gathered", reports=len(time), hours=hours.size))
    stamps = pd.DatetimeIndex((hours * 3600).astype("datetime64[s]"))
    return stamps, values, period if np.any(period > 1) else None


def _hour_of(minutes: np.ndarray, rank: np.ndarray) -> np.ndarray:
    """The hour each report belongs to, numbered as its end: a special's is that of the routine report after it."""
    hour = -(-minutes // HOUR)
    main = np.unique(minutes[rank == METAR] if np.any(rank == METAR) else minutes[rank > SPECIAL])
    special = rank == SPECIAL
    if main.size == 0 or not special.any():
        return hour
    usual = int(np.argmax(np.bincount(main % HOUR, minlength=HOUR)))
    late = -usual % HOUR  # minutes from the usual routine report to the hour it ends
    made = minutes[special]
    following = main[np.minimum(np.searchsorted(main, made), main.size - 1)]
    near = (following >= made) & (following - made < HOUR)
    hour[special] = np.where(near, -(-following // HOUR), -(-(made + late) // HOUR))
    return hour
