"""From the columns of a record, as a reader took them out, to the clean hourly Dataset."""

from dataclasses import dataclass, field

import numpy as np
import pandas as pd
import xarray as xr

from exposure.checks import RefusalError
from exposure.climate.grid.blocks import PACKING_NOISE
from exposure.climate.hourly import to_hours
from exposure.climate.mast import STANDARD_HEIGHT, mast_factor, open_ground_roughness
from exposure.climate.quality.kind_of_record import STATION, doubts_on_kind
from exposure.climate.request import Request
from exposure.doubts import doubt
from exposure.terms import MOST_IMPOSSIBLE, TERMS

CLIMATE_TERMS = (
    "rain",
    "wind_speed",
    "wind_from_direction",
    "air_temperature",
    "relative_humidity",
    "snowfall",
    "convective_rain",
)
WANTED = ("rain", "wind_speed", "wind_from_direction")
FIRST_AND_LAST_YEAR = (1700, 2250)  # what a clock that counts nanoseconds can tell, with room


@dataclass
class Columns:
    """Columns a reader took from a record, in the units of the vocabulary, one entry a row.

    Attributes
    ----------
    time
        Stamps without zone: UTC, or the record's own time when ``attrs['time_zone']`` says so.
    values
        Term -> numbers, missing as NaN.
    rain_period
        Hours each row's rain fell in, where the format tells; None when it is the step of the record.
    kind
        What the format or the file says it is; None where neither does.
    source, licence
        For the attributes of the Dataset.
    attrs
        Further attributes: ``latitude``, ``longitude``, ``ground_height``, ``time_zone``, ``mast_height`` ...
    flags
        Doubts the reader already has, as sentences.
    codes_done
        Whether the reader already made the user's own codes for missing missing, in the file's units.
    rates
        Terms given as amounts an hour, whatever the step of the record.
    """

    time: pd.DatetimeIndex
    values: dict[str, np.ndarray]
    kind: str | None
    source: str
    licence: str = "not named"
    rain_period: np.ndarray | None = None
    attrs: dict[str, object] = field(default_factory=dict)
    flags: list[str] = field(default_factory=list)
    codes_done: bool = False
    rates: frozenset[str] = frozenset()


def hourly_climate(columns: Columns, request: Request) -> xr.Dataset:
    """Check ``columns`` and give them the form every function takes.

    Raises
    ------
    RefusalError
        For missing wind or rain, stamps out of order or repeated, steps longer than an hour, or more than
        0.1 % of hours with impossible values. What the values say together is asked in
        :mod:`exposure.climate.quality.checks`.
    """
    for term in WANTED:
        if term not in columns.values:
            raise RefusalError(
                f"the record holds no {term}",
                "rain, wind_speed and wind_from_direction",
                "Use a record with all three, or name its columns.",
            )
    _check_time(columns.time)
    flags = list(columns.flags)
    if not columns.codes_done:
        _drop_missing_codes(columns, request)
    _drop_impossible(columns, flags)
    hourly = to_hours(
        columns.time,
        columns.values,
        rates=columns.rates,
        rain_period=columns.rain_period,
        stamp=request.stamp or "end",
        spread_rain=request.spread_rain,
    )
    flags += hourly.flags
    values = hourly.values
    attrs = dict(columns.attrs)
    _bring_to_ten_metres(values, attrs, flags, request)
    flags += doubts_on_kind(values["rain"], request.kind or columns.kind)
    if request.kind and columns.kind and request.kind != columns.kind:
        flags.append(doubt("climate.kind_told_otherwise", told=request.kind, suggested=columns.kind))
    kind = request.kind or columns.kind or STATION
    return dataset_of(
        hourly.time,
        values,
        kind=kind,
        source=columns.source,
        licence=columns.licence,
        attrs=attrs,
        flags=flags,
    )


def dataset_of(
    time: pd.DatetimeIndex | np.ndarray | xr.DataArray,
    values: dict[str, np.ndarray],
    *,
    kind: str,
    source: str,
    licence: str,
    attrs: dict[str, object],
    flags: list[str],
) -> xr.Dataset:
    """The climate Dataset of clean hourly ``values``, with unit and meaning on each variable."""
    data = {
        term: ("time", np.asarray(values[term], dtype=float), _attributes(term))
        for term in CLIMATE_TERMS
        if term in values
    }
    stamps = np.asarray(time)
    if stamps.dtype.kind == "M":
        stamps = stamps.astype("datetime64[ns]")
    dataset = xr.Dataset(data, {"time": ("time", stamps)})
    dataset.attrs = {
        "source": source,
        "licence": licence,
        "kind": kind,
        "flags": list(dict.fromkeys(flags)),
        **attrs,
    }
    return dataset


def _attributes(term: str) -> dict[str, str]:
    return {"units": TERMS[term]["units"], "long_name": TERMS[term]["meaning"]}


def _check_time(time: pd.DatetimeIndex) -> None:
    if len(time) == 0:
        raise RefusalError(
            "the record has no rows", "hourly weather for a year or more", "Use another record."
        )
    if time.hasnans:
        row = int(np.argmax(time.isna())) + 1
        raise RefusalError(
            f"row {row} has no time", "a time stamp in every row", "Complete or remove the row."
        )
    if len(time) < 2:
        raise RefusalError(
            "the record has one row", "hourly weather for a year or more", "Use another record."
        )
    step = np.diff(time.values).astype("timedelta64[s]").astype(np.int64)
    if np.any(step <= 0):
        repeated = int(np.count_nonzero(step == 0))
        first = int(np.argmax(step <= 0))
        how = "the same as" if step[first] == 0 else "before"
        raise RefusalError(
            f"the stamp of row {first + 2} ({time[first + 1]}) is {how} that of the row above"
            + (f"; {repeated} stamps are repeated" if repeated > 1 else ""),
            "time stamps that ascend, each once",
            "Sort the record by time; if it holds several stations, pick one by its column (COLUMN=NAME); "
            "if it is in summer time, use UTC.",
            parameter="where",
        )
    first, last = FIRST_AND_LAST_YEAR
    if time[0].year < first or time[-1].year > last:
        raise RefusalError(
            f"the stamps run from {time[0]} to {time[-1]}",
            f"years from {first} to {last}",
            "Correct the stamps.",
        )


def _drop_missing_codes(columns: Columns, request: Request) -> None:
    for code in request.missing:
        for term in columns.values:
            values = columns.values[term]
            columns.values[term] = np.where(values == code, np.nan, values)


def _drop_impossible(columns: Columns, flags: list[str]) -> None:
    """Make impossible single values missing and say so; refuse a record with many."""
    rows = len(columns.time)
    affected = np.zeros(rows, dtype=bool)
    found = []
    for term in list(columns.values):
        low, high = TERMS[term]["low"], TERMS[term]["high"]
        values = columns.values[term]
        if term in ("rain", "snowfall", "convective_rain"):
            tiny = (values < 0) & (values >= -PACKING_NOISE)
            if tiny.any():
                values = np.where(tiny, 0.0, values)
                flags.append(doubt("climate.packing_noise", number=int(tiny.sum()), term=term))
        wrong = (values < low) | (values > high) | np.isinf(values)
        if wrong.any():
            if term in WANTED:
                affected |= wrong
            first = int(np.argmax(wrong))
            unit = TERMS[term]["units"]
            found.append(
                f"{int(wrong.sum())} of {term} (first {values[first]:g} {unit} at {columns.time[first]})"
            )
            values = np.where(wrong, np.nan, values)
        columns.values[term] = values
    if affected.sum() > MOST_IMPOSSIBLE * rows:
        raise RefusalError(
            f"{affected.sum() / rows:.2%} of the hours hold impossible values: {'; '.join(found)}",
            f"at most {MOST_IMPOSSIBLE:.1%}",
            "If a number stands for missing, name it (e.g. -999); if a unit is wrong, correct the header.",
            parameter="missing",
        )
    if found:
        flags.append(doubt("climate.impossible_values", found="; ".join(found)))


def _bring_to_ten_metres(
    values: dict[str, np.ndarray], attrs: dict[str, object], flags: list[str], request: Request
) -> None:
    height = request.mast_height if request.mast_height is not None else attrs.get("mast_height")
    if height is None:
        return
    attrs["mast_height"] = mast = float(str(height))
    if mast == STANDARD_HEIGHT:
        return
    roughness = open_ground_roughness() if request.mast_roughness is None else request.mast_roughness
    if not (np.isfinite(mast) and mast > 5 * roughness and mast <= 300):
        raise RefusalError(
            f"the mast is {mast:g} m high over ground of {roughness:g} m roughness length",
            "a mast well above the roughness of its ground and below 300 m",
            "Correct the mast height or the roughness length.",
        )
    factor = mast_factor(mast, roughness_length=roughness)
    values["wind_speed"] = values["wind_speed"] * factor
    flags.append(doubt("climate.mast_height", mast=mast, roughness=roughness, factor=factor))
