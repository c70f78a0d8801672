"""Suspicions about the rain of a record: each a mask and a sentence, or None when there is nothing to say."""

import numpy as np
import xarray as xr

from exposure.climate.quality.clock import usual_step
from exposure.climate.quality.kind_of_record import rain_signs
from exposure.climate.quality.suspicion import YEAR, Suspicion, run_lengths, values_of
from exposure.climate.running_totals import looks_accumulated
from exposure.clock import hour_numbers
from exposure.doubts import doubt
from exposure.figures import counted
from exposure.terms import TERMS

STUCK_RAIN = 6  # h of the very same rain, coarse steps of a gauge left aside; our choice
MANY_MISSING = 0.05  # share of hours worth a doubt, half of what a year may lack and still count; our choice
SENTINELS = (9.99, 99.0, 99.9, 99.99, 199.9, 255.0, 327.67, 399.0)  # numbers that often stand for missing
HEAVY_YEAR, LIGHT_YEAR = (
    12_000.0,
    50.0,
)  # mm; beyond them a unit or a code is likelier than weather; our choice
INCH_STEP = 0.01  # in, the step of an inch gauge
INCH_MEAN, INCH_WET = (
    0.2,
    0.2,
)  # mm of the mean hour of rain, and share of such hours, below which mm are inches
STOPPED_DAYS, STOPPED_TIMES = 60, 3  # dry days at the end, and that many times the longest dry spell before


def impossible_values(climate: xr.Dataset) -> Suspicion | None:
    """Values no weather has, by the limits of the vocabulary (a record opened here has none left)."""
    mask = np.zeros(climate.sizes["time"], dtype=bool)
    found = []
    for term in ("rain", "wind_speed", "wind_from_direction", "air_temperature", "relative_humidity"):
        values = values_of(climate, term)
        wrong = (values < TERMS[term]["low"]) | (values > TERMS[term]["high"])
        if wrong.any():
            mask |= wrong
            found.append(f"{int(wrong.sum())} of {term}")
    if not found:
        return None
    return Suspicion(
        "impossible-values", mask, doubt("climate.impossible", found=", ".join(found)), grave=True
    )


def rain_missing(climate: xr.Dataset) -> Suspicion | None:
    """Hours without rain value, those that have no row in an hourly record among them; years without any row aside."""
    mask = ~np.isfinite(values_of(climate, "rain"))
    gaps = np.diff(hour_numbers(climate["time"])) - 1
    absent = int(gaps[(gaps > 0) & (gaps < YEAR)].sum()) if usual_step(climate) == 1 else 0
    missing, hours = int(mask.sum()) + absent, mask.size + absent
    if not missing:
        return None
    found = doubt("climate.rain_missing", hours=missing, of=hours, share=missing / hours)
    return Suspicion("rain-missing", mask, found, grave=missing > MANY_MISSING * hours)


def rain_all_zero(climate: xr.Dataset) -> Suspicion | None:
    """Rain that is zero whenever it is known."""
    rain = values_of(climate, "rain")
    known = np.isfinite(rain)
    if not known.any() or np.any(rain[known] > 0):
        return None
    return Suspicion(
        "rain-all-zero", known, doubt("climate.rain_all_zero", hours=int(known.sum())), grave=True
    )


def rain_steps(climate: xr.Dataset) -> Suspicion | None:
    """The step of the gauge, where rain comes in steps."""
    rain = values_of(climate, "rain")
    wet = rain[np.isfinite(rain) & (rain > 0)]
    if wet.size < 50:
        return None
    smallest = float(np.min(wet))
    ratio = wet / smallest
    if (
        np.mean(np.abs(ratio - np.round(ratio)) < 0.02 * ratio) < 0.99
        or np.unique(np.round(ratio)).size > 500
    ):
        return None
    mask = np.isfinite(rain) & (rain > 0)
    coarse = smallest > 0.6
    found = doubt("climate.rain_steps_coarse" if coarse else "climate.rain_steps", step=smallest)
    return Suspicion("rain-steps", mask, found, grave=coarse)


def rain_unlikely_total(climate: xr.Dataset) -> Suspicion | None:
    """A yearly total no place or hardly any place has: tenths, inches or a running total taken for mm."""
    rain = values_of(climate, "rain")
    known = np.isfinite(rain)
    if known.sum() < YEAR / 4:
        return None
    yearly = float(rain[known].mean() * YEAR)
    if LIGHT_YEAR <= yearly <= HEAVY_YEAR:
        return None
    found = doubt("climate.rain_unlikely_total", yearly=yearly, light=LIGHT_YEAR, heavy=HEAVY_YEAR)
    return Suspicion("rain-unlikely-total", known & (rain > 0), found, grave=True)


def rain_like_inches(climate: xr.Dataset) -> Suspicion | None:
    """Rain in steps of 0.01 whose hours are few and tiny: the hundredths of an inch, declared as mm."""
    rain = values_of(climate, "rain")
    signs = rain_signs(rain)
    wet = np.isfinite(rain) & (rain > 0)
    if signs.hours_wet < 100 or signs.wet_share > INCH_WET or abs(signs.step - INCH_STEP) > 0.001:
        return None
    mean = float(rain[wet].mean())
    if mean > INCH_MEAN:
        return None
    return Suspicion("rain-like-inches", wet, doubt("climate.rain_like_inches", mean=mean), grave=True)


def rain_stops(climate: xr.Dataset) -> Suspicion | None:
    """No rain from some hour to the end, for longer than any dry spell before: a gauge that died reads zero."""
    rain, hours = values_of(climate, "rain"), hour_numbers(climate["time"])
    known = np.flatnonzero(np.isfinite(rain))
    wet = hours[rain > 0]
    if wet.size < 50:
        return None
    last_dry = int(hours[known[-1]] - wet[-1])
    longest = int(np.max(np.diff(np.concatenate([hours[known[:1]], wet]))))
    if last_dry < 24 * STOPPED_DAYS or last_dry < STOPPED_TIMES * longest:
        return None
    mask = np.isfinite(rain) & (hours > wet[-1])
    first = str(climate["time"].values[int(np.argmax(mask))])[:10]
    found = doubt("climate.rain_stops", first=first, days=last_dry // 24, longest=longest // 24)
    return Suspicion("rain-stops", mask, found, grave=True)


def rain_pauses(climate: xr.Dataset) -> Suspicion | None:
    """No rain inside the record for far longer than in other dry spells, in less than every second year."""
    rain, hours = values_of(climate, "rain"), hour_numbers(climate["time"])
    known = np.flatnonzero(np.isfinite(rain))
    wet = np.flatnonzero(rain[known] > 0)  # among the known hours
    if wet.size < 50:
        return None
    dry = np.diff(wet, prepend=-1) - 1  # known hours without rain before each wet one
    usual = int(dry[dry < 24 * STOPPED_DAYS].max(initial=0))
    pauses = np.flatnonzero(dry >= max(24 * STOPPED_DAYS, STOPPED_TIMES * usual))
    years = (hours[-1] - hours[0]) / YEAR
    if not 0 < pauses.size <= max(1, years / 2):  # a dry season comes every year
        return None
    mask = np.zeros(rain.size, dtype=bool)
    for one in pauses:
        mask[known[wet[one] - dry[one] : wet[one]]] = True
    first = str(climate["time"].values[int(np.argmax(mask))])[:10]
    found = doubt(
        "climate.rain_pauses",
        first=first,
        days=int(dry[pauses[0]]) // 24,
        times=counted(int(pauses.size), "such pause"),
        longest=usual // 24,
    )
    return Suspicion("rain-pauses", mask, found, grave=True)


def stuck_rain(climate: xr.Dataset) -> Suspicion | None:
    """The very same heavy rain for hours on end."""
    rain = values_of(climate, "rain")
    wet = rain[np.isfinite(rain) & (rain > 0)]
    if wet.size == 0:
        return None
    heavy = rain > max(float(np.median(wet)), 1.0)
    mask = heavy & (run_lengths(rain, hour_numbers(climate["time"])) >= STUCK_RAIN)
    if not mask.any():
        return None
    amount = float(np.nansum(rain[mask]))
    found = doubt(
        "climate.rain_stuck",
        hours=int(mask.sum()),
        spell=counted(int(mask.sum()), "hour"),
        least=STUCK_RAIN,
        amount=amount,
    )
    return Suspicion("stuck-rain", mask, found, grave=True)


def sentinels_left_in(climate: xr.Dataset) -> Suspicion | None:
    """Numbers that often stand for missing, found again and again."""
    mask = np.zeros(climate.sizes["time"], dtype=bool)
    found = []
    for term in ("rain", "wind_speed"):
        values = values_of(climate, term)
        for code in SENTINELS:
            same = np.abs(values - code) <= 3e-7 * code  # 99.9 in float32 is 99.9000015
            if same.sum() >= 3:
                mask |= same
                found.append(f"{code:g} in {counted(int(same.sum()), 'hour')} of {term}")
    if not found:
        return None
    return Suspicion(
        "sentinels-left-in", mask, doubt("climate.sentinels", found="; ".join(found)), grave=True
    )


def accumulation_not_undone(climate: xr.Dataset) -> Suspicion | None:
    """Rain that grows through the day and falls back at one hour only."""
    rain, hours = values_of(climate, "rain"), hour_numbers(climate["time"])
    if not looks_accumulated(rain, hours):
        return None
    return Suspicion("accumulation-not-undone", rain > 0, doubt("climate.running_total"), grave=True)
