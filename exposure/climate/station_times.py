"""Time stamps of a station's record: ISO 8601 in one column, or joined from several."""

import numpy as np
import pandas as pd

from exposure.checks import RefusalError
from exposure.climate.request import Request


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
    zoned = text.str.contains(r"(?:Z|z|[+-]\d\d:?\d\d)$", regex=True, na=False)
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
            'Write the stamps that way, or join columns: --columns "time=year+month+day+hour".',
        ) from error
    time = pd.DatetimeIndex(stamps).tz_localize(None)
    if not zoned.any():
        if request.time_zone:
            time = time - pd.Timedelta(hours=request.time_zone)
            flags.append(
                f"Stamps are local time, {request.time_zone:+g} h from UTC, as told; they were moved to UTC."
            )
        elif request.time_zone is None:
            flags.append("Stamps carry no zone and are taken as UTC.")
    return time


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
