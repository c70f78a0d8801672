"""NOAA ISD-Lite: twelve columns of fixed width, one station and year a file.

Taken from the format's documentation (20 June 2006); not tried on a file of the service.
"""

import re

import numpy as np
import pandas as pd

from exposure.checks import RefusalError
from exposure.climate.formats.delimited import as_file
from exposure.climate.humidity import relative_humidity
from exposure.climate.record import Columns
from exposure.climate.request import Request
from exposure.climate.source_file import Source
from exposure.doubts import doubt
from exposure.figures import counted

MISSING, TRACE = -9999, -1
NAMES = [
    "year",
    "month",
    "day",
    "hour",
    "temperature",
    "dew",
    "pressure",
    "direction",
    "speed",
    "sky",
    "rain",
    "rain_6",
]
_ROW = re.compile(r"^\d{4} [ \d]\d [ \d]\d +[ \d]\d(?: +-?\d+){8}\s*$")
MOSTLY = 0.5  # share of hours with hourly rain from which six-hour totals are left out; our choice


def recognises(source: Source) -> bool:
    """Whether the first lines are a date, an hour and eight whole numbers."""
    lines = [line for line in source.first_lines[:5] if line.strip()]
    return bool(lines) and all(_ROW.match(line) for line in lines[:4])


def read_columns(source: Source, request: Request) -> Columns:
    """Take wind, rain and temperature out: tenths of m/s, mm and degC; -9999 missing, -1 a trace.

    Raises
    ------
    RefusalError
        For rows of another form or impossible dates.
    """
    frame = pd.read_csv(as_file(source.text()), sep=r"\s+", header=None, names=NAMES, dtype=float)
    if frame.isna().any(axis=None):
        row = int(np.argmax(frame.isna().any(axis=1))) + 1
        raise RefusalError(
            f"row {row} has fewer than {len(NAMES)} numbers", "whole rows", "Get the file again."
        )
    time = pd.to_datetime(frame[["year", "month", "day", "hour"]], errors="coerce")
    if time.isna().any():
        row = int(np.argmax(time.isna().to_numpy())) + 1
        raise RefusalError(f"row {row} has no possible date", "year, month, day, hour", "Get the file again.")
    flags: list[str] = [doubt("climate.wind_of_minutes")]
    tenths = {name: _tenths(frame[name]) for name in ("temperature", "dew", "speed")}
    direction = frame["direction"].to_numpy()
    rain, trace = _rain(frame["rain"])
    rain_6, trace_6 = _rain(frame["rain_6"])
    period = None
    if np.isfinite(rain).mean() < MOSTLY and np.isfinite(rain_6).any():
        use = np.isfinite(rain_6) & ~np.isfinite(rain)
        rain = np.where(use, rain_6, rain)
        period, trace = np.where(use, 6.0, 1.0), trace + trace_6
    if trace:
        flags.append(doubt("climate.trace_rain", hours=trace, spell=counted(trace, "hour")))
    values = {
        "rain": rain,
        "wind_speed": tenths["speed"],
        "wind_from_direction": np.where(direction == MISSING, np.nan, direction),
        "air_temperature": tenths["temperature"],
        "relative_humidity": relative_humidity(
            air_temperature=tenths["temperature"], dew_point_temperature=tenths["dew"]
        ),
    }
    return Columns(
        pd.DatetimeIndex(time),
        values,
        kind="gauge",
        source=f"NOAA ISD-Lite ({source.name})",
        licence="US government work, free to use",
        rain_period=period,
        flags=flags,
    )


def _tenths(column: pd.Series) -> np.ndarray:
    value = column.to_numpy()
    return np.where(value == MISSING, np.nan, value / 10)


def _rain(column: pd.Series) -> tuple[np.ndarray, int]:
    value = column.to_numpy()
    trace = value == TRACE
    return np.where(trace, 0.0, np.where(value == MISSING, np.nan, value / 10)), int(trace.sum())
