"""NOAA Global Historical Climatology Network hourly: one station, values joined by ``|``.

Taken from the documentation of the format; not tried on a file of the service.
"""

import numpy as np
import pandas as pd

from exposure.checks import RefusalError
from exposure.climate.formats.bulletin import Reports, hourly_from_reports, report_rank
from exposure.climate.formats.delimited import as_file, check_widths
from exposure.climate.record import Columns
from exposure.climate.request import Request
from exposure.climate.source_file import Source
from exposure.doubts import doubt
from exposure.figures import counted

BAD_QUALITY = ("2", "3", "6", "7")  # suspect or erroneous, as in the older database
TRACE = ("T", "2", "2-TRACE")
VARIABLE = 999.0  # direction of a variable wind
RAIN = {"precipitation": 1.0, "precipitation_3_hour": 3.0, "precipitation_6_hour": 6.0}
TERMS = {
    "wind_speed": "wind_speed",
    "wind_direction": "wind_from_direction",
    "temperature": "air_temperature",
    "relative_humidity": "relative_humidity",
}


def recognises(source: Source) -> bool:
    """Whether the header joins wind_direction, wind_speed and precipitation by ``|``."""
    header = source.first_lines[0].lower().split("|") if source.first_lines else []
    return {"wind_direction", "wind_speed", "precipitation"} <= set(header)


def read_columns(source: Source, request: Request) -> Columns:
    """Take wind, rain and temperature out; suspect and erroneous values are missing, traces count as no rain.

    Units are fixed by the format: m/s, degrees (999 variable), mm over the past hour (or 3, 6 h), degC, %.

    Raises
    ------
    RefusalError
        For several stations in one file, or rows without a time.
    """
    text = source.text()
    first, _, rows = text.partition("\n")
    check_widths(rows, "|", first.count("|") + 1)
    frame = pd.read_csv(as_file(text), sep="|", dtype=str, low_memory=False, index_col=False)
    frame.columns = [str(name).strip().lower() for name in frame.columns]
    station = next((name for name in ("station", "station_id") if name in frame), None)
    if station is not None and frame[station].nunique() > 1:
        raise RefusalError("the file holds several stations", "one station", "Use the file of one station.")
    flags: list[str] = []
    time = _times(frame)
    values, left_out = {}, 0
    for column, term in TERMS.items():
        if column in frame:
            values[term], bad = _values(frame, column)
            left_out += int(np.isfinite(bad).sum())
    direction = values["wind_from_direction"]
    values["wind_from_direction"] = np.where(direction == VARIABLE, np.nan, direction)
    rain, period, dropped = (np.full(len(frame), np.nan) for _ in range(3))
    trace = 0
    for column, span in RAIN.items():
        if column not in frame:
            continue
        amount, bad = _values(frame, column)
        if span == 1:
            dropped = bad
        code = (
            frame.get(f"{column}_measurement_code", pd.Series("", frame.index))
            .fillna("")
            .str.strip()
            .str.upper()
        )
        slight = code.isin(TRACE).to_numpy(dtype=bool)
        amount, trace = np.where(slight, 0.0, amount), trace + int(slight.sum())
        use = np.isfinite(amount) & ~np.isfinite(rain)
        rain, period = np.where(use, amount, rain), np.where(use, span, period)
    if trace:
        flags.append(doubt("climate.trace_rain", hours=trace, spell=counted(trace, "hour")))
    if left_out:
        flags.append(doubt("climate.values_dropped", values=left_out))
    others = {term: value for term, value in values.items() if not term.startswith("wind_")}
    hours, hourly, periods = hourly_from_reports(
        Reports(
            time,
            rank=report_rank(_report_type(frame), time),
            wind_speed=values["wind_speed"],
            wind_from_direction=values["wind_from_direction"],
            rain=rain,
            rain_period=period,
            rain_dropped=dropped,
            others=others,
        ),
        flags,
    )
    name = str(frame["station_name"].iloc[0]).strip() if "station_name" in frame else ""
    return Columns(
        hours,
        hourly,
        kind="gauge",
        source=f"NOAA GHCN hourly, station {frame[station].iloc[0] if station else ''} {name}".strip(),
        licence="US government work, free to use",
        rain_period=periods,
        attrs=_place(frame),
        flags=flags,
    )


def _times(frame: pd.DataFrame) -> pd.DatetimeIndex:
    if "date" in frame:
        stamps = pd.to_datetime(frame["date"].str.strip(), format="ISO8601", errors="coerce", utc=True)
        return pd.DatetimeIndex(stamps).tz_localize(None)
    parts = ("year", "month", "day", "hour", "minute")
    if not set(parts) <= set(frame.columns):
        raise RefusalError(
            "the file has no DATE and no Year to Minute", "a time on every row", "Get it again."
        )
    numbers = {name: pd.to_numeric(frame[name], errors="coerce") for name in parts}
    return pd.DatetimeIndex(pd.to_datetime(pd.DataFrame(numbers), errors="coerce"))


def _report_type(frame: pd.DataFrame) -> pd.Series:
    """Type of each report, such as ``FM-15``: that of its rain, or else of its wind, or of the row."""
    kind = pd.Series("", frame.index)
    for column in ("report_type", "wind_speed_report_type", "precipitation_report_type"):
        if column in frame:
            told = frame[column].fillna("").str.strip()
            kind = told.where(told != "", kind)
    return kind


def _values(frame: pd.DataFrame, column: str) -> tuple[np.ndarray, np.ndarray]:
    """Numbers of a column without those its quality rules out, and the ones ruled out; NaN elsewhere."""
    value = pd.to_numeric(frame[column].str.strip(), errors="coerce").to_numpy(dtype=float)
    quality = frame.get(f"{column}_quality_code")
    if quality is None:
        return value, np.full(value.size, np.nan)
    bad = quality.fillna("").str.strip().isin(BAD_QUALITY).to_numpy(dtype=bool)
    return np.where(bad, np.nan, value), np.where(bad, value, np.nan)


def _place(frame: pd.DataFrame) -> dict[str, object]:
    place: dict[str, object] = {}
    for column, name in (
        ("latitude", "latitude"),
        ("longitude", "longitude"),
        ("elevation", "ground_height"),
    ):
        if column in frame:
            value = pd.to_numeric(frame[column].iloc[0], errors="coerce")
            if pd.notna(value) and abs(value) < 9999:
                place[name] = float(value)
    return place
