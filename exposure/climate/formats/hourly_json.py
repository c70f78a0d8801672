"""Point series as JSON with ``hourly`` and ``hourly_units``, as an open archive of reanalysis serves them.

Taken from the service's documentation; not tried against the live service.
"""

import json

import numpy as np
import pandas as pd

from exposure.checks import RefusalError
from exposure.climate.record import Columns
from exposure.climate.request import Request
from exposure.climate.source_file import Source
from exposure.climate.station_times import whole_utc_hours
from exposure.climate.units import QUANTITY, conversion
from exposure.doubts import doubt

NAMES = {
    "wind_speed": "wind_speed_10m",
    "wind_from_direction": "wind_direction_10m",
    "rain": "rain",
    "air_temperature": "temperature_2m",
    "relative_humidity": "relative_humidity_2m",
}
MOST_HOURS = 2_000_000  # two hundred years; our choice
ALL_PRECIPITATION = "precipitation"


def recognises(source: Source) -> bool:
    """Whether it is JSON with hourly_units."""
    head = "\n".join(source.first_lines[:40])
    return head.lstrip().startswith("{") and '"hourly_units"' in head


def read_columns(source: Source, request: Request) -> Columns:
    """Take wind, rain, temperature and humidity out; amounts are of the hour before the stamp.

    Raises
    ------
    RefusalError
        When a series or its unit is missing, or the series differ in length.
    """
    try:
        content = json.loads(source.text(long_lines=True))
        hourly, units = content["hourly"], content["hourly_units"]
        stamps = hourly["time"]
        offset = float(content.get("utc_offset_seconds", 0))
    except (ValueError, KeyError, TypeError, AttributeError, RecursionError) as error:
        raise RefusalError(
            f"{source.name} is not whole", "hourly and hourly_units", "Get it again."
        ) from error
    flags: list[str] = []
    names = dict(NAMES)
    if "rain" not in hourly and ALL_PRECIPITATION in hourly:
        names["rain"] = ALL_PRECIPITATION
        flags.append(doubt("climate.rain_with_snow"))
    if isinstance(stamps, list) and len(stamps) > MOST_HOURS:
        raise RefusalError(
            f"it has {len(stamps):,} stamps", f"at most {MOST_HOURS:,} hours", "Ask for fewer years."
        )
    if not isinstance(stamps, list) or any(
        len(hourly[name]) != len(stamps) for name in names.values() if name in hourly
    ):
        raise RefusalError("its series differ in length", "one value a stamp", "Get the file again.")
    values = {}
    for term, name in names.items():
        if name in hourly:
            numbers = np.array([np.nan if v is None else float(v) for v in hourly[name]])
            values[term] = conversion(units.get(name), QUANTITY[term], name=name).apply(numbers)
    time = pd.DatetimeIndex(pd.to_datetime(pd.Series(stamps, dtype=str), format="ISO8601", errors="coerce"))
    if time.hasnans:
        raise RefusalError("a stamp is no time", "ISO 8601", "Get the file again.")
    attrs: dict[str, object] = {"time_zone": 0.0}
    for key, name in (("latitude", "latitude"), ("longitude", "longitude"), ("elevation", "ground_height")):
        if isinstance(content.get(key), int | float):
            attrs[name] = float(content[key])
    return Columns(
        whole_utc_hours(time - pd.Timedelta(seconds=offset), time, flags),
        values,
        kind="reanalysis",
        source="open weather archive (reanalysis)",
        licence="CC BY 4.0",
        attrs=attrs,
        flags=flags,
    )
