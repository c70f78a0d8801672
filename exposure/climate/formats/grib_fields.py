"""Fields of a GRIB file around one point, read by ecCodes in a process of its own.

Run as ``python -m exposure.climate.formats.grib_fields FILE OUT LAT LON``: writes OUT as plain NumPy arrays, or OUT.json with a
refusal. ecCodes brings a projection library that cannot live beside the one of the raster packages, and a damaged file
can bring it down; neither reaches the process that asked.
"""

import json
import os
import sys
from collections import defaultdict
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

import numpy as np

from exposure.checks import RefusalError
from exposure.climate.request import RAIN_RULES

EVERY_HOUR, SINCE_MIDNIGHT, _ = RAIN_RULES
NAMES = {"10u": "u10", "10v": "v10", "tp": "tp", "sf": "sf", "cp": "cp", "2t": "t2m", "2d": "d2m"}
AMOUNTS = ("tp", "sf", "cp")
REGULAR = ("regular_ll", "regular_gg")
MOST_POINTS = 10_000_000  # our choice
SENTINEL = 9999.0
YEARS = range(1678, 2262)  # that can be counted in nanoseconds, as every record is
REPORT = 50  # messages between two reports of progress


def read_fields(path: Path, name: str, at: tuple[float, float] | None) -> dict[str, np.ndarray]:
    """Values at the few points around ``at``, with their units, stamps and axes, as arrays for :func:`numpy.savez`.

    Raises
    ------
    RefusalError
        When ecCodes is not installed, the grid is turned or reduced, or rain covers several hours.
    """
    try:
        import eccodes
    except (ImportError, RuntimeError) as error:
        raise RefusalError(
            f"{name} is GRIB and ecCodes is not installed",
            "the packages for GRIB",
            "Install them (pip install 'driving-rain-exposure[grib]'), or get the data as NetCDF.",
        ) from error
    series: dict[str, dict[datetime, np.ndarray]] = defaultdict(dict)
    units: dict[str, str] = {}
    rules: set[str] = set()
    grid: _Grid | None = None
    number = 0
    with path.open("rb") as file:
        while True:
            try:
                handle = eccodes.codes_grib_new_from_file(file)
            except eccodes.CodesInternalError as error:
                raise _damaged(name, error) from error
            if handle is None:
                break
            try:
                variable = NAMES.get(eccodes.codes_get(handle, "shortName", str))
                if variable is None:
                    continue
                here = _Grid.of(eccodes, handle, at)
                if grid is not None and here.key != grid.key:
                    raise RefusalError(
                        f"{name} holds grids of several sizes", "one grid", "Split it by grid."
                    )
                grid = here
                if variable in AMOUNTS:
                    rules |= _rules(eccodes, handle)
                stamp = _validity(eccodes, handle)
                if stamp in series[variable]:
                    raise RefusalError(
                        f"{variable} at {stamp} comes twice", "each field once", "Remove the repeated fields."
                    )
                series[variable][stamp] = grid.values(eccodes, handle)
                units[variable] = eccodes.codes_get(handle, "units", str)
                number += 1
                if number % REPORT == 0:
                    print(number, flush=True)  # noqa: T201 - progress for the process that asked
            except eccodes.CodesInternalError as error:
                raise _damaged(name, error) from error
            finally:
                eccodes.codes_release(handle)
    if grid is None:
        raise RefusalError(f"{name} holds neither wind nor rain", "10u, 10v and tp", "Get these variables.")
    if len(rules) > 1:
        raise RefusalError(
            f"{name} mixes {' and '.join(sorted(rules))} amounts", "one way of adding up", "Split the file."
        )
    time = sorted(set().union(*series.values()))
    told = {
        "units": units,
        "rule": SINCE_MIDNIGHT if SINCE_MIDNIGHT in rules else EVERY_HOUR,
        "institution": grid.centre,
    }
    arrays = {
        "time": np.array(time, "datetime64[m]").astype(np.int64),
        "latitude": grid.latitudes,
        "longitude": grid.longitudes,
        "told": np.array(json.dumps(told)),
    }
    for variable, values in series.items():
        field = np.full((len(time), *grid.shape), np.nan)
        for row, stamp in enumerate(time):
            if stamp in values:
                field[row] = values[stamp]
        arrays[f"field_{variable}"] = field
    return arrays


class _Grid:
    """The part of a regular grid around a point: the 3 x 3 points nearest to it."""

    def __init__(
        self,
        latitudes: np.ndarray,
        longitudes: np.ndarray,
        rows: np.ndarray,
        columns: np.ndarray,
        centre: str,
    ) -> None:
        self.latitudes, self.longitudes = latitudes[rows], longitudes[columns]
        self.key = (latitudes.size, longitudes.size, latitudes[0], longitudes[0])
        self.rows, self.columns, self.width, self.centre = rows, columns, longitudes.size, centre
        self.shape = (rows.size, columns.size)

    @classmethod
    def of(cls, eccodes: Any, handle: Any, at: tuple[float, float] | None) -> "_Grid":
        kind = eccodes.codes_get(handle, "gridType", str)
        if kind not in REGULAR:
            raise RefusalError(
                f"the grid is turned, reduced or projected ({kind})",
                "latitude and longitude, each on an axis of its own",
                "Regrid it to latitude and longitude first, and turn its winds to true north.",
            )
        if eccodes.codes_get(handle, "numberOfPoints", int) > MOST_POINTS:
            raise RefusalError(
                "the grid has too many points", f"at most {MOST_POINTS:,}", "Cut it to a region."
            )
        plain = not eccodes.codes_get(handle, "jPointsAreConsecutive", int)
        if not plain:
            raise RefusalError("the points run along meridians", "points along parallels", "Regrid it.")
        latitudes = eccodes.codes_get_array(handle, "distinctLatitudes")
        longitudes = eccodes.codes_get_array(handle, "distinctLongitudes")
        if not eccodes.codes_get(handle, "jScansPositively", int):
            latitudes = np.sort(latitudes)[::-1]
        first = eccodes.codes_get(handle, "longitudeOfFirstGridPointInDegrees", float)
        order = np.argsort((longitudes - first + 1e-6) % 360)
        if eccodes.codes_get(handle, "iScansNegatively", int):
            order = np.argsort((first - longitudes + 1e-6) % 360)
        longitudes = longitudes[order]
        unrolled = longitudes[0] + np.concatenate([[0], np.cumsum((np.diff(longitudes) + 180) % 360 - 180)])
        rows, columns = np.arange(latitudes.size), np.arange(longitudes.size)
        if at is not None:
            row = int(np.argmin(np.abs(latitudes - at[0])))
            column = int(np.argmin(np.abs((longitudes - at[1] + 180) % 360 - 180)))
            rows = rows[max(row - 1, 0) : row + 2]
            columns = columns[max(column - 1, 0) : column + 2]
        elif rows.size * columns.size > 1:
            raise RefusalError(
                f"the source is a grid of {rows.size} x {columns.size} cells",
                "the point wanted from it",
                "Name it: latitude and longitude in degrees.",
                parameter="at",
            )
        return cls(latitudes, unrolled, rows, columns, eccodes.codes_get(handle, "centreDescription", str))

    def values(self, eccodes: Any, handle: Any) -> np.ndarray:
        """Values of a message at the points kept, NaN where its bitmap hides them."""
        eccodes.codes_set(handle, "missingValue", SENTINEL)
        values = eccodes.codes_get_values(handle)
        if values.size != self.key[0] * self.key[1]:
            raise RefusalError("a field is not as large as its grid", "whole fields", "Get the file again.")
        values = values.reshape(self.key[0], self.width)[np.ix_(self.rows, self.columns)]
        return np.where(values == SENTINEL, np.nan, values)


def _rules(eccodes: Any, handle: Any) -> set[str]:
    """How an amount adds up, by its own step range in hours; the first hour after midnight fits both rules."""
    eccodes.codes_set(handle, "stepUnits", "h")
    start = eccodes.codes_get(handle, "startStep", int)
    end = eccodes.codes_get(handle, "endStep", int)
    midnight = eccodes.codes_get(handle, "dataTime", int) == 0
    if start == 0 and midnight and 1 <= end <= 24:
        return {SINCE_MIDNIGHT} if end > 1 else set()
    if end - start == 1:
        return {EVERY_HOUR}
    raise RefusalError(
        f"an amount of rain covers hours {start} to {end} of a forecast",
        "amounts of single hours, or totals since 00 UTC",
        "Get hourly fields: rain over several hours cannot be split.",
    )


def _validity(eccodes: Any, handle: Any) -> datetime:
    date = eccodes.codes_get(handle, "validityDate", int)
    clock = eccodes.codes_get(handle, "validityTime", int)
    try:
        day = datetime(date // 10_000, date // 100 % 100, date % 100)  # UTC
        if day.year not in YEARS:
            raise ValueError(date)
        return day + timedelta(hours=clock // 100, minutes=clock % 100)
    except ValueError as error:
        raise RefusalError(f"a field is dated {date}", "a date", "Get the file again.") from error


def _damaged(name: str, error: Exception) -> RefusalError:
    return RefusalError(
        f"{name} is damaged ({str(error)[:80]})", "whole GRIB messages", "Get the file again."
    )


def main(path: str, out: str, name: str, place: str) -> None:
    """Read, write, and leave without the library's own clearing up."""
    latitude, _, longitude = place.partition(",")
    at = (float(latitude), float(longitude)) if longitude else None
    try:
        np.savez(out, **read_fields(Path(path), name, at))  # type: ignore[arg-type]  # no field is called as an option
    except RefusalError as refusal:
        parts = {"came": refusal.came, "expected": refusal.expected, "cure": refusal.cure}
        parts["parameter"] = refusal.parameter
        Path(f"{out}.json").write_text(json.dumps(parts), "utf-8")
    sys.stdout.flush()
    os._exit(0)


if __name__ == "__main__":
    main(*sys.argv[1:])
