"""Invented hourly weather for tests, and the same weather written in each format by plain code of its own."""

import csv
import io
import json

import numpy as np
import pandas as pd
import xarray as xr


def invented_weather(*, start="2015-01-01T01:00", hours=8760, seed=3) -> pd.DataFrame:
    """Hours with storms from the south-west, on tenths that every format can hold exactly."""
    rng = np.random.default_rng(seed)
    time = pd.date_range(start, periods=hours, freq="h")
    storm = np.repeat(rng.random(hours // 12 + 1) < 0.25, 12)[:hours]
    speed = np.round(np.where(storm, rng.gamma(6, 1.4, hours), rng.gamma(3, 1.2, hours)), 1)
    direction = (
        np.round(np.where(storm, rng.normal(230, 25, hours), rng.uniform(0, 360, hours)) % 360 / 10)
        * 10
        % 360
    )
    rain = np.round(np.where(storm & (rng.random(hours) < 0.6), rng.gamma(0.7, 1.5, hours), 0.0), 1)
    temperature = np.round(10 + 6 * np.sin(2 * np.pi * (time.hour.to_numpy() - 8.5) / 24), 1)
    return pd.DataFrame(
        {"speed": speed, "direction": direction, "rain": rain, "temperature": temperature}, index=time
    )


def station_csv(
    weather: pd.DataFrame, header="time,wind_speed [m/s],wind_from_direction [degree],rain [mm]"
) -> bytes:
    rows = [
        f"{stamp:%Y-%m-%dT%H:%M}Z,{row.speed!r},{row.direction!r},{row.rain!r}"
        for stamp, row in zip(weather.index, weather.itertuples(), strict=True)
    ]
    return ("\n".join([header, *rows]) + "\n").encode()


def epw(weather: pd.DataFrame) -> bytes:
    """Whole calendar year of hours 1 to 24."""
    out = io.StringIO()
    write = csv.writer(out, lineterminator="\n")
    write.writerow(["LOCATION", "Nowhere", "-", "INV", "made up", "999999", "50.0", "-10.0", "0.0", "12.0"])
    for line in ("DESIGN CONDITIONS,0", "TYPICAL/EXTREME PERIODS,0", "GROUND TEMPERATURES,0"):
        out.write(f"{line}\n")
    out.write("HOLIDAYS/DAYLIGHT SAVINGS,No,0,0,0\nCOMMENTS 1,invented\nCOMMENTS 2,\n")
    out.write("DATA PERIODS,1,1,Data,Sunday,1/1,12/31\n")
    for stamp, row in zip(weather.index, weather.itertuples(), strict=True):
        begun = stamp - pd.Timedelta(hours=1)
        fields = [0] * 35
        fields[0:6] = [begun.year, begun.month, begun.day, begun.hour + 1, 0, "?"]
        fields[6], fields[7], fields[8] = row.temperature, 5.0, 80
        fields[20], fields[21] = row.direction, row.speed
        fields[33], fields[34] = row.rain, 1
        write.writerow(fields)
    return out.getvalue().encode()


def grid(weather: pd.DataFrame, *, components=True, latitudes=(50.0,), longitudes=(-10.0,)) -> xr.Dataset:
    """A CF grid whose every cell has the same weather; rain in metres."""
    shape = (len(weather), len(latitudes), len(longitudes))

    def field(values, unit):
        return (
            ("time", "latitude", "longitude"),
            np.broadcast_to(values[:, None, None], shape).copy(),
            {"units": unit},
        )

    speed, direction = weather["speed"].to_numpy(), np.radians(weather["direction"].to_numpy())
    if components:
        wind = {
            "u10": field(-speed * np.sin(direction), "m s**-1"),
            "v10": field(-speed * np.cos(direction), "m s**-1"),
        }
    else:
        wind = {
            "wind_speed": field(speed, "m s-1"),
            "wind_from_direction": field(weather["direction"].to_numpy(), "degree"),
        }
    return xr.Dataset(
        {**wind, "tp": field(weather["rain"].to_numpy() / 1000, "m")},
        {"time": weather.index, "latitude": list(latitudes), "longitude": list(longitudes)},
        {"title": "invented reanalysis"},
    )


def power_json(weather: pd.DataFrame, *, latitude=50.0, longitude=-10.0, standard="UTC") -> bytes:
    """The hourly point service's answer, by its documentation: stamps are the start of the hour."""
    keys = [f"{stamp - pd.Timedelta(hours=1):%Y%m%d%H}" for stamp in weather.index]

    def series(values):
        return dict(zip(keys, values.tolist(), strict=True))

    answer = {
        "type": "Feature",
        "geometry": {"type": "Point", "coordinates": [longitude, latitude, 12.0]},
        "properties": {
            "parameter": {
                "WS10M": series(weather["speed"]),
                "WD10M": series(weather["direction"]),
                "PRECTOTCORR": series(weather["rain"]),
                "T2M": series(weather["temperature"]),
            }
        },
        "header": {"title": "NASA/POWER Hourly Data", "fill_value": -999.0, "time_standard": standard},
        "messages": [],
        "parameters": {
            "WS10M": {"units": "m/s", "longname": "Wind Speed at 10 Meters"},
            "WD10M": {"units": "Degrees", "longname": "Wind Direction at 10 Meters"},
            "PRECTOTCORR": {"units": "mm/hour", "longname": "Precipitation Corrected"},
            "T2M": {"units": "C", "longname": "Temperature at 2 Meters"},
        },
    }
    return json.dumps(answer).encode()


def power_csv(weather: pd.DataFrame) -> bytes:
    """The CSV of the same service."""
    lines = [
        "-BEGIN HEADER-",
        "NASA/POWER Source Native Resolution Hourly Data ",
        "Dates (month/day/year): 01/01/2015 through 12/31/2015 in UTC",
        "Location: latitude  50.0   longitude -10.0 ",
        "elevation from MERRA-2: Average for 0.5 x 0.625 degree lat/lon region = 12.0 meters",
        "The value for missing source data that cannot be computed or is outside of the sources availability range: -999 ",
        "parameter(s): ",
        "WS10M           MERRA-2 Wind Speed at 10 Meters (m/s) ",
        "WD10M           MERRA-2 Wind Direction at 10 Meters (Degrees) ",
        "PRECTOTCORR     MERRA-2 Precipitation Corrected (mm/hour) ",
        "-END HEADER-",
        "YEAR,MO,DY,HR,WS10M,WD10M,PRECTOTCORR",
    ]
    for stamp, row in zip(weather.index, weather.itertuples(), strict=True):
        begun = stamp - pd.Timedelta(hours=1)
        lines.append(
            f"{begun.year},{begun.month},{begun.day},{begun.hour},{row.speed},{row.direction},{row.rain}"
        )
    return ("\n".join(lines) + "\n").encode()


def hourly_json(weather: pd.DataFrame) -> bytes:
    """The answer of an archive with hourly and hourly_units."""
    answer = {
        "latitude": 50.0,
        "longitude": -10.0,
        "elevation": 12.0,
        "utc_offset_seconds": 0,
        "hourly_units": {"time": "iso8601", "wind_speed_10m": "m/s", "wind_direction_10m": "°", "rain": "mm"},
        "hourly": {
            "time": [f"{stamp:%Y-%m-%dT%H:%M}" for stamp in weather.index],
            "wind_speed_10m": weather["speed"].tolist(),
            "wind_direction_10m": weather["direction"].tolist(),
            "rain": weather["rain"].tolist(),
        },
    }
    return json.dumps(answer).encode()


def isd_lite(weather: pd.DataFrame) -> bytes:
    """Fixed width, tenths, by the format's documentation."""
    lines = [
        f"{stamp:%Y %m %d %H}{round(row.temperature * 10):6d}{-9999:6d}{-9999:6d}{round(row.direction):6d}"
        f"{round(row.speed * 10):6d}{-9999:6d}{round(row.rain * 10):6d}{-9999:6d}"
        for stamp, row in zip(weather.index, weather.itertuples(), strict=True)
    ]
    return ("\n".join(lines) + "\n").encode()


def global_hourly(weather: pd.DataFrame) -> bytes:
    """Routine reports nine minutes before the hour, groups by the documentation of the Integrated Surface Data."""
    out = io.StringIO()
    write = csv.writer(out, quoting=csv.QUOTE_ALL, lineterminator="\n")
    write.writerow(
        [
            "STATION",
            "DATE",
            "SOURCE",
            "LATITUDE",
            "LONGITUDE",
            "ELEVATION",
            "NAME",
            "REPORT_TYPE",
            "WND",
            "TMP",
            "DEW",
            "AA1",
        ]
    )
    for stamp, row in zip(weather.index, weather.itertuples(), strict=True):
        write.writerow(
            [
                "99999999999", f"{stamp - pd.Timedelta(minutes=9):%Y-%m-%dT%H:%M:%S}", "7", "50.0", "-10.0", "12.0",
                "NOWHERE, INV", "FM-15", f"{round(row.direction):03d},5,N,{round(row.speed * 10):04d},5",
                f"{round(row.temperature * 10):+05d},5", "+9999,9", f"01,{round(row.rain * 10):04d},9,5",
            ]
        )  # fmt: skip
    return out.getvalue().encode()


def ghcnh(weather: pd.DataFrame) -> bytes:
    """Values joined by |, by the format's documentation."""
    lines = [
        "STATION|Station_name|DATE|LATITUDE|LONGITUDE|ELEVATION|temperature|temperature_Quality_Code|wind_direction|"
        "wind_direction_Quality_Code|wind_speed|wind_speed_Quality_Code|precipitation|precipitation_Measurement_Code|"
        "precipitation_Quality_Code|precipitation_3_hour"
    ]
    lines += [
        f"INV00099999|NOWHERE|{stamp - pd.Timedelta(minutes=8):%Y-%m-%dT%H:%M:%S}|50.0|-10.0|12.0|{row.temperature}|5|"
        f"{round(row.direction):03d}|5|{row.speed}|5|{row.rain}||5|"
        for stamp, row in zip(weather.index, weather.itertuples(), strict=True)
    ]
    return ("\n".join(lines) + "\n").encode()


def knmi(weather: pd.DataFrame) -> bytes:
    """Hourly text in tenths; hour 24 ends the day."""
    lines = [
        "# invented",
        "# STN         LON(east)   LAT(north)  ALT(m)      NAME",
        "# 999         -10.000      50.000      12.000      NOWHERE",
    ]
    lines += ["#", "# STN,YYYYMMDD,   HH,   DD,   FH,    T,   RH", "#"]
    for stamp, row in zip(weather.index, weather.itertuples(), strict=True):
        begun = stamp - pd.Timedelta(hours=1)
        direction = 360 if row.direction == 0 else round(row.direction)
        lines.append(
            f"  999,{begun:%Y%m%d},{begun.hour + 1:5d},{direction:5d},{round(row.speed * 10):5d},"
            f"{round(row.temperature * 10):5d},{round(row.rain * 10):5d}"
        )
    return ("\n".join(lines) + "\n").encode()
