"""Typical years in the TMY3 format, whose rain column holds tenths of the unit its header states.

Tried on a real file (723170TYA.CSV).
"""

import csv

import numpy as np
import pandas as pd

from exposure.checks import RefusalError
from exposure.climate.formats.delimited import as_file, check_widths
from exposure.climate.record import Columns
from exposure.climate.request import Request
from exposure.climate.source_file import Source
from exposure.climate.typical_year import TYPICAL_YEAR, nominal_time
from exposure.doubts import doubt

DATE, TIME = "Date (MM/DD/YYYY)", "Time (HH:MM)"
RAIN, RAIN_HOURS = "Lprecip depth (mm)", "Lprecip quantity (hr)"
NUMBERS = {
    "wind_speed": "Wspd (m/s)",
    "wind_from_direction": "Wdir (degrees)",
    "air_temperature": "Dry-bulb (C)",
    "relative_humidity": "RHum (%)",
}
MISSING = -9900
HUNDREDTH_OF_AN_INCH = 0.254  # mm, the step of the gauges the format was made from


def recognises(source: Source) -> bool:
    """Whether the second line is the TMY3 header."""
    return len(source.first_lines) > 1 and source.first_lines[1].startswith(f"{DATE},{TIME}")


def read_columns(source: Source, request: Request) -> Columns:
    """Take wind and rain out of a TMY3 file, as one nominal year in local standard time.

    The header says mm, the numbers are tenths of a mm: 3, 5, 8, 10, 13 are the hundredths of an inch of the
    gauges. Numbers that are no such steps are read as tenths too, and flagged.

    Raises
    ------
    RefusalError
        For a file without rain, or rows of another form.
    """
    text = source.text()
    first, _, rest = text.partition("\n")
    station = next(csv.reader([first]))
    wanted = [DATE, TIME, RAIN, RAIN_HOURS, *NUMBERS.values()]
    header = next(csv.reader([rest.partition("\n")[0]]))
    lacking = [name for name in wanted if name not in header]
    if lacking or len(station) < 7:
        raise RefusalError(
            f"the file lacks {', '.join(lacking) or 'its line about the station'}",
            "a whole TMY3 file",
            "Get it again.",
        )
    check_widths(rest.partition("\n")[2], ",", len(header), first_row=3)
    frame = pd.read_csv(as_file(rest), usecols=wanted, low_memory=False, dtype={DATE: str, TIME: str})
    date = frame[DATE].str.extract(r"^\s*(\d{1,2})/(\d{1,2})/(\d{4})\s*$").astype(float).to_numpy()
    hour = frame[TIME].str.extract(r"^\s*(\d{1,2}):00\s*$").astype(float).to_numpy()[:, 0]
    values = {term: _number(frame[name]) for term, name in NUMBERS.items()}
    raw = _number(frame[RAIN])
    steps = _looks_like_gauge_steps(raw)
    flags: list[str] = [doubt("climate.tmy3_tenths" if steps else "climate.tmy3_tenths_unsure")]
    values["rain"] = raw / 10
    hours = _number(frame[RAIN_HOURS])
    period = np.where(np.isfinite(hours) & (hours > 1) & (values["rain"] > 0), hours, 1.0)
    zone = _station_number(station[3], "time zone")
    kind = request.kind or TYPICAL_YEAR
    time = nominal_time(date[:, 2], date[:, 0], date[:, 1], hour, kind=kind, time_zone=zone, flags=flags)
    return Columns(
        time,
        values,
        kind=TYPICAL_YEAR,
        source=f"TMY3 {station[0]} {station[1].strip()} {station[2].strip()}",
        licence="US government work, free to use",
        rain_period=period if np.any(period > 1) else None,
        attrs={
            "latitude": _station_number(station[4], "latitude"),
            "longitude": _station_number(station[5], "longitude"),
            "ground_height": _station_number(station[6], "ground height"),
            "time_zone": zone if kind == TYPICAL_YEAR else 0.0,
        },
        flags=flags,
    )


def _looks_like_gauge_steps(tenths: np.ndarray) -> bool:
    """Whether wet values are hundredths of an inch rounded to tenths of a mm."""
    wet = tenths[np.isfinite(tenths) & (tenths > 0)]
    steps = np.round(wet / (10 * HUNDREDTH_OF_AN_INCH))
    return bool(wet.size and np.mean(np.abs(steps * 10 * HUNDREDTH_OF_AN_INCH - wet) <= 0.51) > 0.98)


def _number(column: pd.Series) -> np.ndarray:
    numbers = pd.to_numeric(column, errors="coerce")
    bad = (numbers.isna() & column.notna()).to_numpy(dtype=bool)
    if bad.any():
        row = int(np.argmax(bad))
        raise RefusalError(
            f"row {row + 1} holds {str(column.iloc[row])[:30]!r} in {column.name}",
            "a number",
            "Get the file again.",
        )
    value = numbers.to_numpy(dtype=float)
    return np.where((value == MISSING) | (value == -99) | (value == -999), np.nan, value)


def _station_number(text: str, name: str) -> float:
    try:
        value = float(text)
    except ValueError:
        value = np.nan
    if not np.isfinite(value):
        raise RefusalError(f"the station's {name} is {text[:30]!r}", "a number", "Get the file again.")
    return value
