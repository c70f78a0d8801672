"""NASA POWER hourly point files, JSON or CSV (MERRA-2 based reanalysis).

Taken from the service's documentation; not tried against the live service. A stamp is the start of its hour
(from memory: MERRA-2 hourly means are centred on the half hour), so each hour is moved to its end.
"""

import json
import re

import numpy as np
import pandas as pd

from exposure.checks import RefusalError
from exposure.climate.formats.delimited import as_file, check_widths
from exposure.climate.record import Columns
from exposure.climate.request import Request
from exposure.climate.source_file import Source
from exposure.climate.units import QUANTITY, conversion
from exposure.doubts import doubt

PARAMETERS = {
    "WS10M": "wind_speed",
    "WD10M": "wind_from_direction",
    "PRECTOTCORR": "rain",
    "T2M": "air_temperature",
    "RH2M": "relative_humidity",
}
SOURCE = "NASA POWER hourly (MERRA-2)"
LICENCE = "free to use; NASA Langley Research Center POWER Project, funded through the NASA Earth Science Directorate"
FILL = -999.0
_UNIT = re.compile(r"^(?P<name>[A-Z0-9_]+)\s.*\((?P<unit>[^()]*)\)\s*$")


def recognises(source: Source) -> bool:
    """Whether it is JSON or CSV of the hourly point service."""
    head = "\n".join(source.first_lines[:60])
    if head.lstrip().startswith("{"):
        return ("PRECTOTCORR" in head and '"parameter"' in head) or (
            "WS10M" in head and '"parameter"' in head
        )
    return head.startswith("-BEGIN HEADER-") and "NASA/POWER" in head.upper()


def read_columns(source: Source, request: Request) -> Columns:
    """Take wind, rain, temperature and humidity out of a POWER file.

    Raises
    ------
    RefusalError
        When a parameter or its unit is missing, or its keys are not hours.
    """
    text = source.text(long_lines=True)
    if text.lstrip().startswith("{"):
        return _from_json(text, source.name)
    return _from_csv(text, source.name)


def _from_json(text: str, name: str) -> Columns:
    try:
        content = json.loads(text)
        series = content["properties"]["parameter"]
        header, units = content.get("header", {}), content.get("parameters", {})
        place = content.get("geometry", {}).get("coordinates", [])
        keys = list(next(iter(series.values())))
    except (ValueError, KeyError, TypeError, AttributeError, StopIteration, RecursionError) as error:
        raise RefusalError(
            f"{name} is not the JSON of POWER", "a whole answer", "Get the file again."
        ) from error
    if not keys or not all(isinstance(key, str) and re.fullmatch(r"\d{10}", key) for key in keys):
        shown = str(keys[:1])[:40]
        raise RefusalError(f"its stamps are {shown}", "hours such as 2020013123", "Ask for hourly data.")
    if any(list(values) != keys for values in series.values()):
        raise RefusalError(
            "its parameters have different hours", "the same hours for each", "Get the file again."
        )
    declared = {
        parameter: units.get(parameter, {}).get("units") for parameter in series if isinstance(units, dict)
    }
    fill = float(header.get("fill_value", FILL))
    values = {
        parameter: np.array([np.nan if v is None else float(v) for v in series[parameter].values()])
        for parameter in PARAMETERS
        if parameter in series
    }
    time = pd.to_datetime(pd.Series(keys), format="%Y%m%d%H", errors="coerce")
    standard = str(header.get("time_standard", "")).upper()
    return _columns(time, values, declared, fill, standard, place)


def _from_csv(text: str, name: str) -> Columns:
    top, marker, body = text.partition("-END HEADER-")
    if not marker:
        raise RefusalError(f"{name} has no end of its header", "a whole POWER file", "Get the file again.")
    declared = {match["name"]: match["unit"] for match in map(_UNIT.match, top.splitlines()) if match}
    first, _, rows = body.lstrip("\r\n").partition("\n")
    check_widths(rows, ",", first.count(",") + 1)
    frame = pd.read_csv(as_file(body.lstrip("\r\n")), low_memory=False)
    if not {"YEAR", "MO", "DY", "HR"} <= set(frame.columns):
        raise RefusalError(
            f"its columns are {', '.join(map(str, frame.columns))[:100]}", "hourly rows", "Ask for hourly."
        )
    parts = {"year": frame["YEAR"], "month": frame["MO"], "day": frame["DY"], "hour": frame["HR"]}
    time = pd.to_datetime(pd.DataFrame(parts), errors="coerce")
    values = {
        parameter: pd.to_numeric(frame[parameter], errors="coerce").to_numpy(dtype=float)
        for parameter in PARAMETERS
        if parameter in frame
    }
    fill = re.search(
        r"(-\d+(?:\.\d+)?)\s*$", next((line for line in top.splitlines() if "missing" in line), "")
    )
    where = re.search(r"latitude\s+(-?[\d.]+)\s+longitude\s+(-?[\d.]+)", top, re.IGNORECASE)
    place = [float(where[2]), float(where[1])] if where else []
    standard = "UTC" if re.search(r"\bUTC\b", top) else "LST" if re.search(r"\bLST\b", top) else ""
    return _columns(time, values, declared, float(fill[1]) if fill else FILL, standard, place)


def _columns(
    time: pd.Series,
    values: dict[str, np.ndarray],
    declared: dict[str, str | None],
    fill: float,
    standard: str,
    place: list,
) -> Columns:
    if time.isna().any():
        raise RefusalError("a row has no possible hour", "year, month, day, hour", "Get the file again.")
    converted = {}
    for parameter, term in PARAMETERS.items():
        if parameter in values:
            unit = conversion(declared.get(parameter), QUANTITY[term], name=parameter)
            number = values[parameter]
            converted[term] = unit.apply(np.where(number == fill, np.nan, number))
    flags: list[str] = [doubt("climate.power_stamps")]
    attrs: dict[str, object] = {"time_zone": 0.0}
    if len(place) >= 2 and all(isinstance(number, int | float) for number in place[:2]):
        attrs |= {"longitude": float(place[0]), "latitude": float(place[1])}
        if len(place) > 2 and isinstance(place[2], int | float):
            attrs["ground_height"] = float(place[2])
    stamps = pd.DatetimeIndex(time) + pd.Timedelta(hours=1)
    if standard == "LST":
        if "longitude" not in attrs:
            raise RefusalError("stamps are local solar time and the place is missing", "UTC", "Ask for UTC.")
        ahead = round(float(str(attrs["longitude"])) / 15)
        stamps = stamps - pd.Timedelta(hours=ahead)
        flags.append(doubt("climate.stamps_solar", ahead=ahead))
    elif standard != "UTC":
        flags.append(doubt("climate.stamps_without_standard"))
    return Columns(
        stamps, converted, kind="reanalysis", source=SOURCE, licence=LICENCE, attrs=attrs, flags=flags
    )
