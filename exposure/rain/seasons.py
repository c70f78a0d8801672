"""When in the year the rain is driven, whether it changes over the record, and how two records compare."""

from math import erfc, sqrt
from typing import NamedTuple

import numpy as np
import xarray as xr

from exposure.doubts import doubt, flags_of
from exposure.rain.counted import CountedHours, counted_hours
from exposure.rain.coverage import FEW_YEARS
from exposure.rain.extremes import likely_spell
from exposure.rain.hour import head_on_rain
from exposure.rain.index import airfield_index
from exposure.rain.record import Record
from exposure.rain.uncertainty import BAND, RESAMPLES, SEED, has_band, widened_tail

MONTHS = 12
CLEAR_TREND = 0.05  # two-sided; a trend is called clear below it


def monthly_driving_rain(
    climate: xr.Dataset | Record, index: xr.Dataset, *, hours: CountedHours | None = None
) -> xr.DataArray:
    """Rain driven onto open-airfield walls in each month of a mean year, facing as in ``index``.

    The twelve months add up to ``airfield_annual_index``; missing hours are made up for year by year, not
    month by month.

    Returns
    -------
    xarray.DataArray
        Along ``month`` (1 to 12) and ``orientation``. [L m-2]
    """
    hours = counted_hours(climate, index) if hours is None else hours
    amount = head_on_rain(hours.rain, hours.wind_speed) * hours.scale / hours.years
    facing = index["orientation"].values
    months = np.stack(
        [np.bincount(hours.month - 1, amount * hours.share_facing(way), minlength=MONTHS) for way in facing],
        axis=1,
    )
    return xr.DataArray(
        months,
        {"month": np.arange(1, MONTHS + 1), "orientation": facing},
        ("month", "orientation"),
        "monthly_driving_rain",
        {"units": "L m-2"},
    )


class Trend(NamedTuple):
    """Change over the record."""

    per_decade: float  # same unit as the values
    probability: float  # of so strong a trend by chance alone, two-sided
    years: int
    sentence: str


def trend(years: np.ndarray, values: np.ndarray) -> Trend:
    """Slope over the years (Sen's median of slopes) and its Mann-Kendall test, with ties allowed for.

    Neither asks for a normal distribution, and one odd year moves neither much.

    Examples
    --------
    >>> found = trend(np.arange(2000, 2020), np.linspace(100, 138, 20))
    >>> round(found.per_decade, 3), found.probability < 0.001
    (20.0, True)
    """
    years, values = np.asarray(years, dtype=float), np.asarray(values, dtype=float)
    n = values.size
    if n < 4:
        count = "1 year is" if n == 1 else f"{n} years are"
        return Trend(np.nan, np.nan, n, f"{count} too few to tell a trend.")
    first, second = np.triu_indices(n, 1)
    step = values[second] - values[first]
    slope = float(np.median(step / (years[second] - years[first]))) * 10
    score = np.sign(step).sum()
    ties = np.unique(values, return_counts=True)[1]
    variance = (n * (n - 1) * (2 * n + 5) - (ties * (ties - 1) * (2 * ties + 5)).sum()) / 18
    z = (abs(score) - 1) / sqrt(variance) if variance > 0 and score != 0 else 0.0
    chance = erfc(max(z, 0.0) / sqrt(2))
    return Trend(slope, chance, n, _trend_sentence(slope, chance, n, float(values.mean())))


def _trend_sentence(slope: float, chance: float, years: int, mean: float) -> str:
    if chance >= CLEAR_TREND:
        return f"No clear trend over {years} years (such a slope comes by chance in {chance:.0%} of cases)."
    way = "more" if slope > 0 else "less"
    share = f", {abs(slope) / mean:.0%} of the mean" if mean > 0 else ""
    short = " The record is short for this." if years < 3 * FEW_YEARS else ""
    return f"{abs(slope):.0f} L/m2 {way} per decade over {years} years{share}; hardly chance.{short}"


class Comparison(NamedTuple):
    """Two records side by side, for walls facing the same ways."""

    orientation: np.ndarray
    annual_ratio: np.ndarray  # second record against the first
    annual_band: tuple[np.ndarray, np.ndarray]  # 90 %, years of both drawn again
    spell_ratio: np.ndarray
    spell_band: tuple[np.ndarray, np.ndarray]
    sentence: str
    flags: tuple[str, ...]


def compare_records(
    first: xr.Dataset,
    second: xr.Dataset,
    *,
    orientation: np.ndarray,
    wet_hour: float | None = None,
    names: tuple[str, str] = ("the first record", "the second"),
) -> Comparison:
    """Second record against the first, through the same path: two periods, two grids, past and future climate.

    A ratio's band comes from drawing the years of both records again, independently.
    """
    facing = np.atleast_1d(np.asarray(orientation, dtype=float))
    one = airfield_index(first, orientation=facing, wet_hour=wet_hour)
    two = airfield_index(second, orientation=facing, wet_hour=wet_hour)
    chance = np.random.default_rng(SEED)
    flags = [*flags_of(one.attrs), *flags_of(two.attrs)]
    if one.attrs["wet_hour_mm"] != two.attrs["wet_hour_mm"]:
        flags.append(
            doubt("rain.thresholds_differ", one=one.attrs["wet_hour_mm"], other=two.attrs["wet_hour_mm"])
        )
    if one.attrs["kind"] != two.attrs["kind"]:
        flags.append(doubt("rain.kinds_differ", one=one.attrs["kind"], other=two.attrs["kind"]))

    def drawn(index: xr.Dataset, name: str) -> np.ndarray:
        values = index[name].values
        return values[chance.integers(0, values.shape[0], (values.shape[0], RESAMPLES))]

    fewer = min(one.sizes["year"], two.sizes["year"])
    tail = widened_tail(fewer) if has_band(fewer) else np.nan
    annual_of = [drawn(index, "yearly_annual_index").mean(0) for index in (one, two)]
    spell_of = [likely_spell(drawn(index, "yearly_spell_maximum")) for index in (one, two)]
    spells = [likely_spell(index["yearly_spell_maximum"].values) for index in (one, two)]
    annual = _ratio(two["airfield_annual_index"].values, one["airfield_annual_index"].values)
    annual_band = _quantiles(_ratio(annual_of[1], annual_of[0]), tail)
    spell = _ratio(spells[1], spells[0])
    worst = int(np.argmax(one["airfield_annual_index"].values))
    low, high = annual_band[0][worst], annual_band[1][worst]
    sure = "so few years give no band" if not has_band(fewer) else f"{BAND:.0%} band {low:.2f} to {high:.2f}"
    change = "no clear change" if not has_band(fewer) or low <= 1 <= high else "more" if low > 1 else "less"
    sentence = (
        f"On the wall facing {facing[worst]:.0f} degrees {names[1]} has {annual[worst]:.2f} times the driving "
        f"rain of {names[0]} in a year ({sure}): {change}."
    )
    return Comparison(
        facing,
        annual,
        annual_band,
        spell,
        _quantiles(_ratio(spell_of[1], spell_of[0]), tail),
        sentence,
        tuple(dict.fromkeys(flags)),
    )


def _ratio(above: np.ndarray, below: np.ndarray) -> np.ndarray:
    """Missing where nothing is driven in the first record."""
    with np.errstate(divide="ignore", invalid="ignore"):
        return np.where(below > 0, above / below, np.nan)


def _quantiles(drawn: np.ndarray, tail: float) -> tuple[np.ndarray, np.ndarray]:
    if not np.isfinite(tail):
        nothing = np.full(drawn.shape[1], np.nan)
        return nothing, nothing
    low, high = np.nanquantile(drawn, [tail, 1 - tail], axis=0)
    return low, high
