"""Suspicions about the clock of a record: shifted zone, duplicated years, thin months, wind turned round."""

import math
from datetime import UTC, datetime, timedelta

import numpy as np
import xarray as xr

from exposure.climate.quality.suspicion import Suspicion, values_of
from exposure.climate.typical_year import TYPICAL_YEAR
from exposure.clock import hour_numbers
from exposure.doubts import doubt
from exposure.figures import counted

WARMEST_HOUR = 14.5  # local solar time of the warmest hour of a mean day, roughly; from memory
ZONE_DOUBT = 3.5  # h between that and the record's warmest hour worth a flag; our choice
LEAST_SWING = 1.5  # K of daily swing below which the clock cannot be told (sea, polar night); our choice
SAME_YEARS = 0.98  # share of equal hours that makes two years one; our choice
FIRST_HOURS = 2000  # of a year, looked at first
HOURLY_SHARE = 0.5  # of the steps that must be an hour, as for the index
THIN_MONTH = 0.9  # coverage of a month below which it is named; our choice
TURNED = (135.0, 225.0)  # mean direction offset that means "towards" instead of "from"
LEAST_CONCENTRATION = 0.3  # of the direction offsets, for the comparison to say anything; our choice

LEAST_LATITUDE = 35.0  # degrees, from which air from the pole's side is the colder nearly everywhere
WARM_FROM_POLE = 1.5  # K; ten records beyond 35 degrees give -3.4 to 0.04, eight show when turned round
LEAST_HOURS = 200  # of wind from either side
LEAST_BREEZE = 2.0  # m/s


def usual_step(climate: xr.Dataset) -> int:
    """Hours between most stamps of the record; 1 for an hourly one with gaps. [h]"""
    steps = np.diff(hour_numbers(climate["time"]))
    return 1 if steps.size == 0 or np.mean(steps == 1) >= HOURLY_SHARE else int(np.median(steps))


def not_hourly(climate: xr.Dataset) -> Suspicion | None:
    """Steps longer than an hour, from which no index is made."""
    step = usual_step(climate)
    if step <= 1:
        return None
    mask = np.ones(climate.sizes["time"], dtype=bool)
    return Suspicion("not-hourly", mask, doubt("climate.not_hourly", step=step), grave=True)


def time_zone_shift(climate: xr.Dataset) -> Suspicion | None:
    """A daily course of temperature that peaks at the wrong hour for the record's longitude."""
    peak = warmest_solar_hour(climate)
    if peak is None:
        return None
    late = (peak - WARMEST_HOUR + 12) % 24 - 12
    if abs(late) <= ZONE_DOUBT:
        return None
    found = doubt(
        "climate.zone_shift",
        peak=peak,
        usual=WARMEST_HOUR,
        off=abs(late),
        way="late" if late > 0 else "early",
    )
    return Suspicion("time-zone-shift", np.ones(climate.sizes["time"], dtype=bool), found, grave=True)


def warmest_solar_hour(climate: xr.Dataset) -> float | None:
    """Local solar hour at which the first daily harmonic of temperature peaks; None when it cannot be told. [h]"""
    temperature = values_of(climate, "air_temperature")
    longitude = climate.attrs.get("longitude")
    known = np.isfinite(temperature)
    if longitude is None or known.sum() < 24 * 60:
        return None
    zone = float(climate.attrs.get("time_zone", 0.0))
    hours = hour_numbers(climate["time"])[known] - zone + float(longitude) / 15
    angle = 2 * math.pi * hours / 24
    value = temperature[known] - temperature[known].mean()
    cosine, sine = 2 * np.mean(value * np.cos(angle)), 2 * np.mean(value * np.sin(angle))
    if 2 * math.hypot(cosine, sine) < LEAST_SWING:
        return None
    return math.degrees(math.atan2(sine, cosine)) / 15 % 24


def duplicated_years(climate: xr.Dataset) -> Suspicion | None:
    """Two calendar years with the same weather hour by hour."""
    if climate.attrs.get("kind") == TYPICAL_YEAR:
        return None
    years = climate["time"].dt.year.values.astype(int)
    if years[0] == years[-1]:
        return None
    month_hour = climate["time"].dt.dayofyear.values.astype(int) * 24 + climate["time"].dt.hour.values.astype(
        int
    )
    speed, rain = values_of(climate, "wind_speed"), values_of(climate, "rain")
    names, row = np.unique(years, return_inverse=True)
    table = np.full((names.size, 367 * 24 + 24), np.nan)
    table[row, month_hour] = speed + 1000 * np.nan_to_num(rain)
    same = []
    for i, one in enumerate(table[:-1]):
        others = table[i + 1 :]
        apart = np.abs(others[:, :FIRST_HOURS] - one[:FIRST_HOURS]) > 0
        alike = np.count_nonzero(apart, axis=1) <= (1 - SAME_YEARS) * one.size  # the others cannot be
        for j in i + 1 + np.flatnonzero(alike):
            both = np.isfinite(one) & np.isfinite(table[j])
            if both.sum() > 1000 and np.mean(one[both] == table[j][both]) > SAME_YEARS:
                same.append((int(names[i]), int(names[j])))
    if not same:
        return None
    mask = np.isin(years, [other for _, other in same])
    pairs = ", ".join(f"{one} and {other}" for one, other in same[:5])
    return Suspicion("duplicated-years", mask, doubt("climate.same_years", pairs=pairs), grave=True)


def hours_to_come(climate: xr.Dataset) -> Suspicion | None:
    """Hours of a gauge or reanalysis that have not been yet: a day's grace for zones and clocks."""
    if climate.attrs.get("kind") not in ("gauge", "reanalysis"):
        return None
    tomorrow = (datetime.now(UTC) + timedelta(days=1)).timestamp() / 3600
    mask = hour_numbers(climate["time"]) > tomorrow
    if not mask.any():
        return None
    found = doubt(
        "climate.hours_to_come",
        spell=counted(int(mask.sum()), "hour"),
        last=str(climate["time"].values[-1])[:10],
    )
    return Suspicion("hours-to-come", mask, found, grave=True)


def warm_from_the_pole(climate: xr.Dataset) -> Suspicion | None:
    """Wind from the pole's side that comes with warmer air than from the equator's: directions turned round.

    Warmth is counted from the mean of its month and hour of the day.
    """
    latitude = climate.attrs.get("latitude")
    if latitude is None or abs(float(latitude)) < LEAST_LATITUDE:
        return None
    warmth, direction = values_of(climate, "air_temperature"), values_of(climate, "wind_from_direction")
    blows = np.isfinite(warmth) & np.isfinite(direction) & (values_of(climate, "wind_speed") > LEAST_BREEZE)
    along = np.cos(np.radians(direction)) * math.copysign(1.0, float(latitude))  # 1: straight from the pole
    near = math.cos(math.pi / 4)
    if min(np.sum(blows & (along > near)), np.sum(blows & (along < -near))) < LEAST_HOURS:
        return None
    time = climate["time"].dt
    group = time.month.values.astype(int) * 24 + time.hour.values.astype(int)
    known = np.isfinite(warmth)
    sums, counts = np.bincount(group[known], warmth[known]), np.bincount(group[known])
    above = warmth - (sums / np.maximum(counts, 1))[np.minimum(group, sums.size - 1)]
    apart = float(above[blows & (along > near)].mean() - above[blows & (along < -near)].mean())
    if apart <= WARM_FROM_POLE:
        return None
    return Suspicion(
        "warm-from-the-pole", blows, doubt("climate.warm_from_the_pole", apart=apart), grave=True
    )


def thin_months(climate: xr.Dataset) -> Suspicion | None:
    """Months with rain known in less than 90 % of their hours; a first or last month of some hours is left aside."""
    years = climate["time"].dt.year.values.astype(int)
    months = climate["time"].dt.month.values.astype(int)
    ends = {
        (int(years[at]), int(months[at]))
        for at in (0, -1)
        if np.count_nonzero((years == years[at]) & (months == months[at])) < 24
    }
    thin = [
        (year, month + 1, share)
        for year, row in monthly_coverage(climate, "rain").items()
        for month, share in enumerate(row)
        if np.isfinite(share) and share < THIN_MONTH and (year, month + 1) not in ends
    ]
    if not thin:
        return None
    mask = np.isin(years * 100 + months, [year * 100 + month for year, month, _ in thin])
    named = ", ".join(f"{year}-{month:02d} ({share:.0%})" for year, month, share in thin[:6])
    more = f" and {len(thin) - 6} more" if len(thin) > 6 else ""
    found = doubt("climate.thin_months", months=f"{named}{more}")
    return Suspicion("thin-months", mask, found, grave=False)


def monthly_coverage(climate: xr.Dataset, term: str) -> dict[int, list[float]]:
    """Year -> share of each month's hours in which ``term`` is known; NaN outside the record's span.

    Examples
    --------
    >>> import pandas as pd
    >>> time = pd.date_range("2021-01-01", "2021-02-14T23:00", freq="h")
    >>> half = xr.Dataset({"rain": ("time", np.zeros(time.size))}, {"time": time})
    >>> [round(share, 2) for share in monthly_coverage(half, "rain")[2021][:3]]
    [1.0, 0.5, nan]
    """
    time = climate["time"]
    typical = climate.attrs.get("kind") == TYPICAL_YEAR
    years = time.dt.year.values.astype(int)
    months = time.dt.month.values.astype(int)
    if typical:
        years = np.full_like(years, years[0])
    known = np.isfinite(values_of(climate, term))
    first, last = years[0] * 12 + months[0] - 1, int((years * 12 + months).max()) - 1
    counts = np.bincount(years * 12 + months - 1 - first, known, minlength=last - first + 1)
    coverage: dict[int, list[float]] = {}
    calendar = time.dt.calendar
    for place in range(first, last + 1):
        year, month = divmod(place, 12)
        hours = 24 * _days(year, month + 1, calendar)
        row = coverage.setdefault(int(year), [math.nan] * 12)
        row[month] = min(float(counts[place - first]) / hours, 1.0)
    return coverage


def _days(year: int, month: int, calendar: str) -> int:
    if calendar == "360_day":
        return 30
    length = (31, 28, 31, 30, 31, 30, 31, 31, 30, 31, 30, 31)[month - 1]
    leap = calendar not in ("noleap", "365_day") and (year % 4 == 0 and (year % 100 != 0 or year % 400 == 0))
    return length + int(month == 2 and (leap or calendar in ("all_leap", "366_day")))


def direction_offset(climate: xr.Dataset, reference: xr.Dataset) -> tuple[float, float, int]:
    """Mean angle from the reference's wind direction to the record's, its concentration, and hours compared.

    Returns
    -------
    offset, concentration, hours
        Offset clockwise, 0 to 360 [degree]; concentration 0 (no agreement) to 1; hours with wind in both.

    Examples
    --------
    >>> import pandas as pd
    >>> time = pd.date_range("2021", periods=4, freq="h")
    >>> def wind(turn):
    ...     return xr.Dataset({"wind_from_direction": ("time", (np.array([0.0, 90, 180, 270]) + turn) % 360),
    ...                        "wind_speed": ("time", np.full(4, 5.0))}, {"time": time})
    >>> direction_offset(wind(180), wind(0))
    (180.0, 1.0, 4)
    """
    mine, theirs = hour_numbers(climate["time"]), hour_numbers(reference["time"])
    _, here, there = np.intersect1d(mine, theirs, return_indices=True)
    direction = values_of(climate, "wind_from_direction")[here]
    other = values_of(reference, "wind_from_direction")[there]
    windy = (values_of(climate, "wind_speed")[here] > 2) & (values_of(reference, "wind_speed")[there] > 2)
    both = np.isfinite(direction) & np.isfinite(other) & windy
    if not both.any():
        return math.nan, 0.0, 0
    turn = np.radians(direction[both] - other[both])
    east, north = float(np.mean(np.sin(turn))), float(np.mean(np.cos(turn)))
    return math.degrees(math.atan2(east, north)) % 360, math.hypot(east, north), int(both.sum())


def direction_towards(climate: xr.Dataset, reference: xr.Dataset) -> Suspicion | None:
    """Wind directions turned round against a reference record of the same hours."""
    offset, concentration, hours = direction_offset(climate, reference)
    if hours < 240 or concentration < LEAST_CONCENTRATION or not 30 < offset < 330:
        return None
    turned = TURNED[0] < offset < TURNED[1]
    what = "stored as where the wind blows to" if turned else "off by a turn (true, magnetic or grid north)"
    found = doubt(
        "climate.directions_off", offset=offset, concentration=concentration, hours=hours, what=what
    )
    return Suspicion(
        "direction-towards", np.isfinite(values_of(climate, "wind_from_direction")), found, grave=True
    )
