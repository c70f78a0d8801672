"""NOAA global-hourly CSV, the Integrated Surface Database as served by station and year.

Taken from the documentation of the Integrated Surface Data format; not tried on a file of the service.
"""

import numpy as np
import pandas as pd

from exposure.checks import RefusalError
from exposure.climate.formats.bulletin import Reports, hourly_from_reports, report_rank
from exposure.climate.formats.delimited import as_file, check_widths
from exposure.climate.humidity import relative_humidity
from exposure.climate.record import Columns
from exposure.climate.request import Request
from exposure.climate.source_file import Source
from exposure.doubts import doubt
from exposure.figures import counted

BAD_QUALITY = ("2", "3", "6", "7")  # suspect or erroneous, by either of the two quality systems
SUMMARIES = ("SOD", "SOM", "MONTH", "PCP15", "PCP60")
WANTED = ("STATION", "DATE", "WND")
OPTIONAL = (
    "LATITUDE",
    "LONGITUDE",
    "ELEVATION",
    "NAME",
    "REPORT_TYPE",
    "TMP",
    "DEW",
    "AA1",
    "AA2",
    "AA3",
    "AA4",
)


def recognises(source: Source) -> bool:
    """Whether the header names STATION, DATE and WND."""
    header = source.first_lines[0].replace('"', "").split(",") if source.first_lines else []
    return set(WANTED) <= {name.strip() for name in header}


def read_columns(source: Source, request: Request) -> Columns:
    """Take wind, rain and temperature out of the coded groups WND, AA1 to AA4, TMP and DEW.

    ``WND`` is direction, its quality, type (V variable, C calm), speed in tenths of m/s and its quality; ``AAn``
    is hours, depth in tenths of mm, condition (2 trace) and quality. 999 and 9999 are missing.

    Raises
    ------
    RefusalError
        When the file has no rain group, several stations, or groups of another form.
    """
    text = source.text()
    header = [name.strip() for name in text[: text.find("\n")].replace('"', "").replace("\r", "").split(",")]
    frame = pd.read_csv(
        as_file(text),
        usecols=lambda name: name.strip() in (*WANTED, *OPTIONAL),
        dtype=str,
        low_memory=False,
    ).rename(columns=str.strip)
    check_widths(text.partition("\n")[2], ",", len(header))
    rain_groups: list[str] = [name for name in ("AA1", "AA2", "AA3", "AA4") if name in header]
    if not rain_groups:
        raise RefusalError(
            "the file has no rain (no group AA1)", "a station with a rain gauge", "Use another."
        )
    unknown = set(request.where) - {"STATION"}
    if unknown:
        raise RefusalError(
            f"rows are to be picked by {sorted(unknown)[0][:40]!r}",
            "STATION",
            "Write STATION=...",
            parameter="where",
        )
    if asked := request.where.get("STATION"):
        frame = frame[frame["STATION"].str.strip() == asked]
        if frame.empty:
            raise RefusalError(f"no row has station {asked[:40]!r}", "a station of the file", "Correct it.")
    if frame["STATION"].nunique() != 1:
        stations = ", ".join(map(str, frame["STATION"].unique()[:4]))
        raise RefusalError(
            f"the file holds stations {stations}", "one station", "Pick one: STATION=...", parameter="where"
        )
    flags: list[str] = []
    if "REPORT_TYPE" in frame:
        frame = frame[~frame["REPORT_TYPE"].str.strip().isin(SUMMARIES)]
    time = pd.DatetimeIndex(
        pd.to_datetime(frame["DATE"].str.strip(), format="ISO8601", errors="coerce", utc=True)
    )
    wind = _groups(frame["WND"], 5)
    direction = _number(wind[0], missing=999, quality=wind[1])
    speed = _number(wind[3], missing=9999, quality=wind[4]) / 10
    kind = wind[2].str.upper()
    variable = (kind == "V").to_numpy(dtype=bool)
    direction = np.where(variable, np.nan, direction)
    calm = (kind == "C").to_numpy(dtype=bool)
    speed = np.where(calm & ~np.isfinite(speed), 0.0, speed)
    rain, period, dropped, trace = _rain(frame, rain_groups)
    if trace:
        flags.append(doubt("climate.trace_rain", hours=trace, spell=counted(trace, "hour")))
    others = {}
    if "TMP" in frame:
        others["air_temperature"] = _tenths(frame["TMP"])
        if "DEW" in frame:
            others["relative_humidity"] = relative_humidity(
                air_temperature=others["air_temperature"], dew_point_temperature=_tenths(frame["DEW"])
            )
    stamps = time.tz_localize(None)
    hours, values, periods = hourly_from_reports(
        Reports(
            stamps,
            rank=report_rank(frame.get("REPORT_TYPE", pd.Series("", frame.index)), stamps),
            wind_speed=speed,
            wind_from_direction=direction,
            rain=rain,
            rain_period=period,
            rain_dropped=dropped,
            others=others,
        ),
        flags,
    )
    first = frame.iloc[0]
    return Columns(
        hours,
        values,
        kind="gauge",
        source=f"NOAA global-hourly, station {first['STATION']} {first.get('NAME', '')}".strip(),
        licence="US government work, free to use",
        rain_period=periods,
        attrs=_place(first),
        flags=flags,
    )


def _groups(column: pd.Series, parts: int) -> list[pd.Series]:
    """The comma-separated parts of a coded group, one Series each."""
    split = column.fillna("").str.split(",", expand=True)
    if split.shape[1] < parts:
        raise RefusalError(
            f"{column.name} holds {str(column.iloc[0])[:40]!r}",
            f"{parts} parts joined by commas",
            "Get it again.",
        )
    return [split[i].fillna("").str.strip() for i in range(parts)]


def _number(text: pd.Series, *, missing: int, quality: pd.Series | None = None) -> np.ndarray:
    """Numbers of a coded part; missing where the code says so or ``quality`` rules them out."""
    value = pd.to_numeric(text, errors="coerce").to_numpy(dtype=float)
    bad = False if quality is None else quality.isin(BAD_QUALITY).to_numpy(dtype=bool)
    return np.where((np.abs(value) == missing) | bad, np.nan, value)


def _tenths(column: pd.Series) -> np.ndarray:
    value, quality = _groups(column, 2)
    return _number(value, missing=9999, quality=quality) / 10


def _rain(frame: pd.DataFrame, names: list[str]) -> tuple[np.ndarray, np.ndarray, np.ndarray, int]:
    """Depth [mm] and hours of the group with the shortest period of each report, the depth [mm] of an hour that its
    quality rules out, and how many groups are traces.
    """
    depth = np.full(len(frame), np.nan)
    hours = np.full(len(frame), np.nan)
    dropped = np.full(len(frame), np.nan)
    trace = 0
    for name in names:
        period, amount, condition, quality = _groups(frame[name], 4)
        span = pd.to_numeric(period, errors="coerce").to_numpy(dtype=float)
        mm = _number(amount, missing=9999, quality=quality) / 10
        written = _number(amount, missing=9999) / 10
        dropped = np.where((span == 1) & np.isfinite(written) & ~np.isfinite(mm), written, dropped)
        slight = (condition == "2").to_numpy(dtype=bool) & np.isfinite(span)
        mm = np.where(slight & ~np.isfinite(mm), 0.0, mm)
        trace += int(slight.sum())
        use = np.isfinite(mm) & (span > 0) & (span < 99) & ~(hours <= span)
        depth, hours = np.where(use, mm, depth), np.where(use, span, hours)
    return depth, hours, dropped, trace


def _place(row: pd.Series) -> dict[str, object]:
    place: dict[str, object] = {}
    for column, name in (
        ("LATITUDE", "latitude"),
        ("LONGITUDE", "longitude"),
        ("ELEVATION", "ground_height"),
    ):
        value = pd.to_numeric(str(row.get(column)), errors="coerce")
        if pd.notna(value) and abs(value) < 9999:
            place[name] = float(value)
    return place
