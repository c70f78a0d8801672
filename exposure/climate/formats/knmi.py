"""Hourly text as the Dutch meteorological institute gives it: ``STN,YYYYMMDD,HH,DD,FH,...,RH`` in tenths.

Taken from the explanation inside such files; not tried on a file of the service.
"""

import re

import numpy as np
import pandas as pd

from exposure.checks import RefusalError
from exposure.climate.formats.delimited import as_file, check_widths
from exposure.climate.record import Columns
from exposure.climate.request import Request
from exposure.climate.source_file import Source
from exposure.doubts import doubt
from exposure.figures import counted

VARIABLE = 990
TRACE = -1
NEEDED = ("YYYYMMDD", "HH", "DD", "FH", "RH")
TENTHS = {"FH": "wind_speed", "RH": "rain", "T": "air_temperature"}


def recognises(source: Source) -> bool:
    """Whether a line names the station, the date, the hour, the hourly wind and the hourly rain."""
    return _header(source.first_lines) is not None


def read_columns(source: Source, request: Request) -> Columns:
    """Take wind and rain out: FH is the hour's mean wind, RH its rain, HH the hour (1 to 24 UT) that ends.

    DD 990 is variable and 0 calm; RH -1 is less than 0.05 mm.

    Raises
    ------
    RefusalError
        For several stations without a choice, or rows of another form.
    """
    lines = source.text().splitlines()
    found = _header(lines)
    if found is None:
        raise RefusalError(
            "no line names STN, YYYYMMDD, HH, DD, FH and RH", "the column line", "Get it again."
        )
    at, names = found
    body = "\n".join(line for line in lines[at + 1 :] if line.strip() and not line.startswith("#"))
    if not body:
        raise RefusalError(f"{source.name} has a header and no rows", "hourly rows", "Get the file again.")
    check_widths(body, ",", len(names))
    frame = pd.read_csv(
        as_file(body), header=None, names=names, skipinitialspace=True, dtype=str, index_col=False
    )
    stations = frame["STN"].str.strip() if "STN" in frame else pd.Series("", frame.index)
    unknown = set(request.where) - {"STN"}
    if unknown:
        raise RefusalError(
            f"rows are to be picked by {sorted(unknown)[0][:40]!r}", "STN", "Write STN=...", parameter="where"
        )
    asked = request.where.get("STN")
    if asked is not None:
        frame = frame[stations == asked]
    if stations.nunique() > 1 and asked is None:
        raise RefusalError(
            f"the file holds stations {', '.join(stations.unique()[:6])}",
            "one station",
            "Pick one: STN=...",
            parameter="where",
        )
    if len(frame) == 0:
        raise RefusalError(
            f"no row has station {asked!r}", f"one of {', '.join(stations.unique()[:6])}", "Correct it."
        )
    flags: list[str] = []
    raw = {name: _number(frame[name]) for name in (*NEEDED, "T", "U") if name in frame}
    date = pd.to_datetime(frame["YYYYMMDD"].str.strip(), format="%Y%m%d", errors="coerce")
    if date.isna().any() or np.any((raw["HH"] < 1) | (raw["HH"] > 24) | ~np.isfinite(raw["HH"])):
        raise RefusalError(
            "a row has no possible date or hour", "YYYYMMDD and HH from 1 to 24", "Get it again."
        )
    values = {term: raw[name] / 10 for name, term in TENTHS.items() if name in raw}
    trace = raw["RH"] == TRACE
    values["rain"] = np.where(trace, 0.0, values["rain"])
    if trace.any():
        flags.append(
            doubt("climate.rain_below_step", hours=int(trace.sum()), spell=counted(int(trace.sum()), "hour"))
        )
    values["wind_from_direction"] = np.where(raw["DD"] == VARIABLE, np.nan, raw["DD"])
    if "U" in raw:
        values["relative_humidity"] = raw["U"]
    time = pd.DatetimeIndex(date + pd.to_timedelta(raw["HH"], unit="h"))
    station = stations.loc[frame.index[0]]
    place, name = _place(lines[:at], station)
    return Columns(
        time,
        values,
        kind="gauge",
        source=f"KNMI hourly, station {station} {name}".strip(),
        licence="CC BY 4.0 (KNMI; check the terms of the service)",
        attrs={**place, "time_zone": 0.0},
        flags=flags,
    )


def _header(lines: list[str]) -> tuple[int, list[str]] | None:
    for number, line in enumerate(lines[:300]):
        names = [name.strip().upper() for name in line.lstrip("# ").split(",")]
        if set(NEEDED) <= set(names):
            return number, names
    return None


def _number(column: pd.Series) -> np.ndarray:
    text = column.fillna("").str.strip()
    numbers = pd.to_numeric(text.mask(text == ""), errors="coerce")
    bad = (numbers.isna() & (text != "")).to_numpy(dtype=bool)
    if bad.any():
        row = int(np.argmax(bad))
        raise RefusalError(
            f"row {row + 1} holds {text.iloc[row][:30]!r} in {column.name}",
            "a whole number",
            "Get the file again.",
        )
    return numbers.to_numpy(dtype=float)


def _place(lines: list[str], station: str) -> tuple[dict[str, object], str]:
    """Longitude, latitude and height of the station from the lines before the data."""
    pattern = re.compile(
        rf"^#?\s*{re.escape(station)}:?\s+(-?\d+\.\d+)\s+(-?\d+\.\d+)\s+(-?\d+\.\d+)\s+(\S.*)$"
    )
    for line in lines:
        match = pattern.match(line)
        if match:
            longitude, latitude, height = (float(match[i]) for i in (1, 2, 3))
            return {"latitude": latitude, "longitude": longitude, "ground_height": height}, match[4].strip()[
                :60
            ]
    return {}, ""
