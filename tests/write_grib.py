"""Write invented weather as GRIB messages, in a process of its own: FILE TOTALS POSITIVE HOURS."""

import os
import sys
from pathlib import Path

import eccodes
import numpy as np
import pandas as pd
from invented_record import invented_weather

WEATHER = invented_weather(hours=48, start="2015-01-01T07:00")
LATITUDES, LONGITUDES = (51.0, 50.5, 50.0), (-10.0, -9.5, -9.0, -8.5)


def message(file, name, field, *, base, start, end, positive=False):
    handle = eccodes.codes_grib_new_from_samples("regular_ll_sfc_grib1")
    keys = {
        "Ni": len(LONGITUDES), "Nj": len(LATITUDES), "jScansPositively": int(positive),
        "latitudeOfFirstGridPointInDegrees": LATITUDES[-1 if positive else 0],
        "latitudeOfLastGridPointInDegrees": LATITUDES[0 if positive else -1],
        "longitudeOfFirstGridPointInDegrees": LONGITUDES[0] % 360,
        "longitudeOfLastGridPointInDegrees": LONGITUDES[-1] % 360,
        "iDirectionIncrementInDegrees": 0.5, "jDirectionIncrementInDegrees": 0.5,
        "dataDate": int(f"{base:%Y%m%d}"), "dataTime": base.hour * 100, "shortName": name,
    }  # fmt: skip
    for key, value in keys.items():
        eccodes.codes_set(handle, key, value)
    if start is not None:
        eccodes.codes_set(handle, "stepType", "accum")
        eccodes.codes_set(handle, "stepRange", f"{start}-{end}")
    else:
        eccodes.codes_set(handle, "stepRange", str(end))
    eccodes.codes_set(handle, "bitsPerValue", 24)
    eccodes.codes_set_values(handle, np.asarray(field, dtype=float).ravel())
    eccodes.codes_write(handle, file)
    eccodes.codes_release(handle)


def written(path, *, totals, positive, hours):
    """Rain in its own cell only; wind everywhere. ``totals``: 'hour', 'day' or 'six'."""
    with path.open("wb") as file:
        running = 0.0
        for stamp, row in hours.iterrows():
            angle = np.radians(row["direction"])
            for name, value in (
                ("10u", -row["speed"] * np.sin(angle)),
                ("10v", -row["speed"] * np.cos(angle)),
            ):
                message(file, name, np.full((3, 4), value), base=stamp, start=None, end=0, positive=positive)
            running = row["rain"] if stamp.hour == 1 else running + row["rain"]
            field = np.zeros((3, 4))
            field[1, 2] = (running if totals == "day" else row["rain"]) / 1000
            if totals == "hour":  # forecasts from 06 and 18 UTC, as ERA5
                base = (stamp - pd.Timedelta(hours=1)).floor("12h") - pd.Timedelta(hours=6)
                base = base if stamp - base <= pd.Timedelta(hours=12) else base + pd.Timedelta(hours=12)
                step = int((stamp - base).total_seconds() // 3600)
                message(file, "tp", field, base=base, start=step - 1, end=step, positive=positive)
            elif totals == "day":  # since 00 UTC, as ERA5-Land
                base = (stamp - pd.Timedelta(hours=1)).floor("D")
                message(
                    file,
                    "tp",
                    field,
                    base=base,
                    start=0,
                    end=int((stamp - base).total_seconds() // 3600),
                    positive=positive,
                )
            else:
                message(
                    file, "tp", field, base=stamp - pd.Timedelta(hours=6), start=0, end=6, positive=positive
                )
    return path


if __name__ == "__main__":
    target, amounts, upwards, count = sys.argv[1:]
    written(Path(target), totals=amounts, positive=upwards == "True", hours=WEATHER[: int(count)])
    sys.stdout.flush()
    os._exit(0)  # without the library's own clearing up
