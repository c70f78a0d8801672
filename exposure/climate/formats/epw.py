"""Typical years in the open EPW weather-file format.

Field positions and missing codes follow the format's public documentation; tried on real files.
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

# term -> field counted from 0, and the number from which the format means "missing"
FIELDS = {
    "air_temperature": (6, 99.9),
    "relative_humidity": (8, 999.0),
    "wind_from_direction": (20, 999.0),
    "wind_speed": (21, 999.0),
    "rain": (33, 999.0),
}
RAIN_HOURS = 34
LEAST_FIELDS = 35


def recognises(source: Source) -> bool:
    """Whether the text starts with a LOCATION line of an EPW."""
    return bool(source.first_lines) and source.first_lines[0].upper().startswith("LOCATION,")


def read_columns(source: Source, request: Request) -> Columns:
    """Take wind and liquid precipitation out of an EPW.

    Years of the rows are those of the months it was stitched from; they are kept out of the time axis, which
    is one nominal year in local standard time. When the user says the record is no typical year, the rows'
    own years and UTC are used.

    Raises
    ------
    RefusalError
        For a header that is not whole, rows of other length, more than one record an hour, or a file without
        liquid precipitation.
    """
    lines = source.text().splitlines()
    location = next(csv.reader([lines[0]]))
    start = next(
        (i + 1 for i, line in enumerate(lines[:40]) if line.upper().startswith("DATA PERIODS")), None
    )
    if start is None or len(location) < 10:
        raise RefusalError(
            f"{source.name} has no whole EPW header", "LOCATION to DATA PERIODS", "Get the file again."
        )
    periods = [part.strip() for part in lines[start - 1].split(",")]
    if len(periods) > 2 and periods[2] not in ("1", ""):
        raise RefusalError(
            f"the file has {periods[2][:10]} records an hour", "one record an hour", "Use an hourly file."
        )
    rows = [line for line in lines[start:] if line.strip()]
    if not rows:
        raise RefusalError(f"{source.name} has a header and no rows", "8760 rows", "Get the file again.")
    width = rows[0].count(",") + 1
    if width < LEAST_FIELDS:
        raise RefusalError(
            f"the rows have {width} fields and no liquid precipitation",
            f"at least {LEAST_FIELDS}, with liquid precipitation depth in the 34th",
            "Use a file that holds measured precipitation, or a reanalysis of the place.",
        )
    body = "\n".join(rows)
    check_widths(body, ",", width, first_row=start + 1)
    used = [0, 1, 2, 3, *(field for field, _ in FIELDS.values()), RAIN_HOURS]
    frame = pd.read_csv(as_file(body), header=None, usecols=used, low_memory=False, skipinitialspace=True)
    numbers = {field: _numbers(frame[field], field, first_row=start + 1) for field in used}
    values = {
        term: np.where(numbers[field] >= code, np.nan, numbers[field])
        for term, (field, code) in FIELDS.items()
    }
    missing_rain = (numbers[FIELDS["rain"][0]] >= 999) | (numbers[FIELDS["rain"][0]] <= -99)
    values["rain"] = np.where(missing_rain, np.nan, values["rain"])
    hours = numbers[RAIN_HOURS]
    period = np.where(np.isfinite(hours) & (hours > 1) & (hours < 99) & (values["rain"] > 0), hours, 1.0)
    flags: list[str] = []
    zone = _number(location[8], "time zone", -14, 14)
    kind = request.kind or TYPICAL_YEAR
    time = nominal_time(
        numbers[0], numbers[1], numbers[2], numbers[3], kind=kind, time_zone=zone, flags=flags
    )
    attrs: dict[str, object] = {
        "latitude": _number(location[6], "latitude", -90, 90),
        "longitude": _number(location[7], "longitude", -180, 180),
        "ground_height": _number(location[9], "ground height", -500, 9000),
        "time_zone": zone if kind == TYPICAL_YEAR else 0.0,
    }
    name = ", ".join(part.strip() for part in (location[1], location[3], location[4]) if part.strip("- "))
    return Columns(
        time,
        values,
        kind=TYPICAL_YEAR,
        source=f"EPW {name} ({source.name})",
        rain_period=period if np.any(period > 1) else None,
        attrs=attrs,
        flags=flags,
    )


def _numbers(column: pd.Series, field: int, *, first_row: int) -> np.ndarray:
    numbers = pd.to_numeric(column, errors="coerce")
    bad = (numbers.isna() & column.notna()).to_numpy()
    if bad.any():
        row = int(np.argmax(bad))
        raise RefusalError(
            f"line {first_row + row} holds {str(column.iloc[row])[:30]!r} in field {field + 1}",
            "a number",
            "Get the file again.",
        )
    return numbers.to_numpy(dtype=float)


def _number(text: str, name: str, low: float, high: float) -> float:
    try:
        value = float(text)
    except ValueError:
        value = np.nan
    if not low <= value <= high:
        raise RefusalError(f"the file's {name} is {text[:30]!r}", f"{low} to {high}", "Get the file again.")
    return value
