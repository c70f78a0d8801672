"""Time stamps of a station's record: ISO 8601 in one column, or joined from several."""

import numpy as np
import pandas as pd

from exposure.checks import RefusalError
from exposure.climate.request import Request
from exposure.doubts import doubt

ZONE = r"(?:Z|z|[+-]\d\d:?\d\d)$"


def station_times(
    frame: pd.DataFrame, columns: list[str], request: Request, flags: list[str]
) -> pd.DatetimeIndex:
    """Stamps in UTC out of one column of ISO 8601, or of date and time, or of year, month, day and hour.

    Parameters
    ----------
    frame
        The record as read, the columns of time as text.
    columns
        Names of those columns.
    flags
        List that gets a sentence where the zone had to be assumed or was told.

    Raises
    ------
    RefusalError
        For a stamp that is none, or zones in some rows only.
    """
    text = frame[columns[0]].str.strip() if len(columns) == 1 else _joined(frame, columns)
    in_utc = text.str.endswith(("Z", "z"))
    zoned = in_utc if in_utc.all() else text.str.contains(ZONE, regex=True, na=False)
    if zoned.any() and not zoned[text.notna()].all():
        row = int(np.argmax((~zoned & text.notna()).to_numpy()))
        raise RefusalError(
            f"row {int(frame.index[row]) + 1} has the time {str(text.iloc[row])[:40]!r} without a zone, others have one",
            "one way of writing time, ISO 8601 such as 2013-01-01T06:00Z",
            "Make them alike, or correct the row.",
        )
    try:
        stamps = pd.to_datetime(text, format="ISO8601", utc=True)
    except (ValueError, OverflowError, TypeError) as error:
        bad = pd.to_datetime(text, format="ISO8601", utc=True, errors="coerce").isna() & text.notna()
        row = int(np.argmax(bad.to_numpy())) if bad.any() else 0
        raise RefusalError(
            f"row {int(frame.index[row]) + 1} has the time {str(text.iloc[row])[:40]!r}",
            "ISO 8601, such as 2013-01-01T06:00Z",
            'Write the stamps that way, or join columns: "time=year+month+day+hour".',
            parameter="columns",
        ) from error
    time = pd.DatetimeIndex(stamps).tz_localize(None)
    if zoned.any():
        if in_utc.all():
            return time
        local = pd.DatetimeIndex(pd.to_datetime(text.str.replace(ZONE, "", regex=True), format="ISO8601"))
        return whole_utc_hours(time, local, flags)
    if request.time_zone:
        flags.append(doubt("climate.stamps_local", zone=request.time_zone))
        return whole_utc_hours(time - pd.Timedelta(hours=request.time_zone), time, flags)
    if request.time_zone is None:
        flags.append(doubt("climate.stamps_without_zone"))
    return time


def whole_utc_hours(utc: pd.DatetimeIndex, local: pd.DatetimeIndex, flags: list[str]) -> pd.DatetimeIndex:
    """Stamps of whole local hours of a zone that is not whole hours from UTC, moved to whole hours of UTC.

    By rule each goes to the nearest whole hour, a half to the later one, so that wind and rain stay together and no
    hour is counted twice. Any other stamps are given back as they are.

    Parameters
    ----------
    utc, local
        The stamps in UTC, and as the clock on the wall showed them; without zone.
    flags
        List that gets a doubt when they were moved.

    Examples
    --------
    >>> wall = pd.DatetimeIndex(["2020-01-01T00:00", "2020-01-01T01:00"])
    >>> whole_utc_hours(wall - pd.Timedelta(hours=5.5), wall, []).astype(str).tolist()
    ['2019-12-31 19:00:00', '2019-12-31 20:00:00']
    >>> whole_utc_hours(wall - pd.Timedelta(hours=5.75), wall, []).astype(str).tolist()
    ['2019-12-31 18:00:00', '2019-12-31 19:00:00']
    """
    if utc.hasnans or local.hasnans or len(utc) == 0:
        return utc
    past = utc.to_numpy().astype("datetime64[s]").astype(np.int64) % 3600
    on_the_wall = local.to_numpy().astype("datetime64[s]").astype(np.int64) % 3600
    if on_the_wall.any() or not past.any():
        return utc
    flags.append(
        doubt("climate.half_hour_zone", minutes=" or ".join(str(m // 60) for m in np.unique(past[past > 0])))
    )
    return utc + pd.to_timedelta(np.where(past >= 1800, 3600 - past, -past), unit="s")


def _joined(frame: pd.DataFrame, columns: list[str]) -> pd.Series:
    """Stamps from a date and a time column, or from year, month, day and hour (and minute)."""
    parts = [frame[name].str.strip() for name in columns]
    if len(parts) == 2:
        return parts[0] + "T" + parts[1]
    if not 4 <= len(parts) <= 5:
        raise RefusalError(
            f"time is joined from {len(parts)} columns",
            "date+time, or year+month+day+hour(+minute)",
            "Correct the columns of time.",
        )
    numbers = [pd.to_numeric(part, errors="coerce") for part in parts]
    whole = np.all([(n.notna() & (n % 1 == 0)).to_numpy() for n in numbers], axis=0)
    if not whole.all():
        row = int(np.argmax(~whole))
        raise RefusalError(
            f"row {int(frame.index[row]) + 1} has the time {[str(part.iloc[row])[:10] for part in parts]}",
            "whole numbers of year, month, day and hour",
            "Correct the row.",
        )
    year, month, day, hour = (n.astype(int) for n in numbers[:4])
    minute = numbers[4].astype(int) if len(numbers) == 5 else 0 * hour
    date = pd.to_datetime({"year": year, "month": month, "day": day}, errors="coerce")
    wrong = (date.isna() | ~hour.between(0, 24) | ~minute.between(0, 59)).to_numpy()
    if wrong.any():
        row = int(np.argmax(wrong))
        raise RefusalError(
            f"row {int(frame.index[row]) + 1} has the time {[str(part.iloc[row])[:10] for part in parts]}",
            "a date and an hour from 0 to 24",
            "Correct the row.",
        )
    stamps = date + pd.to_timedelta(hour, unit="h") + pd.to_timedelta(minute, unit="min")
    return stamps.dt.strftime("%Y-%m-%dT%H:%M")
