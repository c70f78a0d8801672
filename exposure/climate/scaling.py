"""A grid's wind and rain scaled to a local station over the hours both know (empirical quantile mapping).

Quantiles by :func:`numpy.quantile`, joined by straight lines. Held-out years tell before and after.
"""

from typing import NamedTuple

import numpy as np
import xarray as xr

from exposure.checks import RefusalError
from exposure.climate.quality.suspicion import values_of
from exposure.clock import hour_numbers
from exposure.doubts import flags_of

LEAST_HOURS = 4380  # common hours with wind and rain in both; our choice
LEAST_WET = 100  # wet hours at the station among them; our choice
LEVELS = np.concatenate(
    [np.linspace(0.01, 0.99, 99), [0.995]]
)  # beyond the last, its ratio is kept; our choice
MOST_RATIO = 3.0  # how far a value may be stretched beyond the last level; our choice
DRIZZLE = 1e-4  # mm; what is more than this is wet


class Mapping(NamedTuple):
    """How grid values become station values, fitted on common hours."""

    wind_from: np.ndarray  # quantiles of the grid's wind, m s-1
    wind_to: np.ndarray
    wet_threshold: float  # mm; grid hours with less are dry
    rain_from: np.ndarray  # quantiles of the grid's wet hours, mm
    rain_to: np.ndarray


class HeldOut(NamedTuple):
    """One figure of a held-out part: at the station, in the grid before and after scaling."""

    part: str
    quantity: str
    station: float
    before: float
    after: float


class Scaled(NamedTuple):
    """The scaled climate, and how well the scaling did on hours it had not seen."""

    climate: xr.Dataset
    mapping: Mapping
    held_out: list[HeldOut]


def scale_with(grid: xr.Dataset, station: xr.Dataset) -> Scaled:
    """Scale wind speed and wet-hour rain of ``grid`` to ``station``.

    Parameters
    ----------
    grid
        Climate of the grid cell at the station.
    station
        Climate of the station, overlapping by at least half a year of common hours.

    Returns
    -------
    Scaled
        The whole grid record scaled by a mapping fitted on all common hours; the mapping; and for each held-out
        part (a calendar year, or every other month when there is one year only) the figures of the station and
        of the grid before and after a scaling fitted on the other parts.

    Raises
    ------
    RefusalError
        When the overlap is too short or too dry.

    Notes
    -----
    Wind: :math:`v' = F_s^{-1}(F_g(v))` by quantiles of 1 to 99.5 %; beyond, the ratio at 99.5 % is kept. Rain: the
    threshold below which grid hours are dry is set so that the grid is wet as often as the station; wet hours are
    mapped like wind. Direction and the order of hours stay the grid's.

    Examples
    --------
    >>> import pandas as pd
    >>> time = pd.date_range("2015", periods=17520, freq="h")
    >>> rng = np.random.default_rng(1)
    >>> rain = np.where(rng.random(17520) < 0.1, rng.gamma(0.8, 1.5, 17520) + 0.2, 0.0)
    >>> speed = rng.weibull(2, 17520) * 5
    >>> def climate(v, r):
    ...     return xr.Dataset({"wind_speed": ("time", v), "rain": ("time", r)}, {"time": time}, {"flags": []})
    >>> scaled = scale_with(climate(speed * 0.8, rain * 0.5), climate(speed, rain))
    >>> round(float(scaled.climate["wind_speed"].mean() / speed.mean()), 2)
    1.0
    """
    _, here, there = np.intersect1d(
        hour_numbers(grid["time"]), hour_numbers(station["time"]), return_indices=True
    )
    pairs = {
        term: (values_of(grid, term)[here], values_of(station, term)[there])
        for term in ("wind_speed", "rain")
    }
    known = np.all([np.isfinite(values) for pair in pairs.values() for values in pair], axis=0)
    wet = int(np.count_nonzero(pairs["rain"][1][known] > DRIZZLE)) if known.any() else 0
    if known.sum() < LEAST_HOURS or wet < LEAST_WET:
        raise RefusalError(
            f"grid and station share {int(known.sum())} hours, {wet} of them wet",
            f"at least {LEAST_HOURS} hours with {LEAST_WET} wet ones",
            "Use a station of the same years, or do without scaling.",
        )
    common = {term: (pair[0][known], pair[1][known]) for term, pair in pairs.items()}
    parts = _parts(grid["time"].isel(time=here[known]))
    held_out: list[HeldOut] = []
    for part in np.unique(parts):
        inside = parts == part
        if _enough(common, ~inside) and inside.sum() >= 24 * 28:
            held_out += _compare(str(part), common, inside)
    mapping = _fit(common, np.ones(parts.size, dtype=bool))
    speed, rain = _apply(mapping, values_of(grid, "wind_speed"), values_of(grid, "rain"))
    scaled = grid.copy()
    scaled["wind_speed"] = grid["wind_speed"].copy(data=speed)
    scaled["rain"] = grid["rain"].copy(data=rain)
    name = str(station.attrs.get("source", "a station"))[:120]
    scaled.attrs = {
        **grid.attrs,
        "wind_scaled_to": name,
        "flags": [
            *flags_of(grid.attrs),
            f"Wind and rain were scaled to {name} over {int(known.sum())} common hours: its strongest hours became as "
            "strong as the strongest there, and so on down to the weakest (quantile mapping); grid "
            f"hours below {mapping.wet_threshold:.2f} mm count as dry. {held_out_sentence(held_out)}",
        ],
    }
    return Scaled(scaled, mapping, held_out)


def held_out_sentence(held_out: list[HeldOut]) -> str:
    """What the scaling did to hours it had not seen, in one sentence."""
    if not held_out:
        return "The overlap is too short to hold part of it out: how well it does is not known."
    told = []
    for quantity in dict.fromkeys(row.quantity for row in held_out):
        rows = [row for row in held_out if row.quantity == quantity and row.station > 0]
        before = np.mean([abs(row.before / row.station - 1) for row in rows])
        after = np.mean([abs(row.after / row.station - 1) for row in rows])
        told.append(f"{quantity} {before:.0%} to {after:.0%}")
    parts = len({row.part for row in held_out})
    return f"Mean error on {parts} held-out parts, before to after: {'; '.join(told)}."


def _parts(time: xr.DataArray) -> np.ndarray:
    """Calendar years, or odd and even months when there are fewer than two years."""
    years = time.dt.year.values.astype(int)
    if np.unique(years).size > 1 and np.min(np.unique(years, return_counts=True)[1]) >= 24 * 28:
        return years
    months = time.dt.month.values.astype(int)
    return np.where(months % 2 == 0, "even months", "odd months")


def _enough(common: dict[str, tuple[np.ndarray, np.ndarray]], rows: np.ndarray) -> bool:
    return bool(
        rows.sum() >= LEAST_HOURS / 2 and np.count_nonzero(common["rain"][1][rows] > DRIZZLE) >= LEAST_WET / 2
    )


def _fit(common: dict[str, tuple[np.ndarray, np.ndarray]], rows: np.ndarray) -> Mapping:
    grid_wind, station_wind = (values[rows] for values in common["wind_speed"])
    grid_rain, station_rain = (values[rows] for values in common["rain"])
    wet_share = float(np.mean(station_rain > DRIZZLE))
    threshold = max(float(np.quantile(grid_rain, 1 - wet_share)), DRIZZLE)
    grid_wet, station_wet = grid_rain[grid_rain > threshold], station_rain[station_rain > DRIZZLE]
    if grid_wet.size == 0:
        grid_wet = np.array([threshold])
    return Mapping(
        np.quantile(grid_wind, LEVELS),
        np.quantile(station_wind, LEVELS),
        threshold,
        np.quantile(grid_wet, LEVELS),
        np.quantile(station_wet, LEVELS),
    )


def _apply(mapping: Mapping, speed: np.ndarray, rain: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    wind = _mapped(speed, mapping.wind_from, mapping.wind_to)
    wet = rain > mapping.wet_threshold
    amount = np.where(wet, _mapped(rain, mapping.rain_from, mapping.rain_to), 0.0)
    return wind, np.where(np.isfinite(rain), amount, np.nan)


def _mapped(values: np.ndarray, before: np.ndarray, after: np.ndarray) -> np.ndarray:
    """``values`` moved from quantiles to quantiles; in proportion below the first and beyond the last."""
    before = np.maximum.accumulate(before)
    inside = np.interp(values, before, after)
    first = after[0] / before[0] if before[0] > 0 else 0.0
    last = min(after[-1] / before[-1], MOST_RATIO) if before[-1] > 0 else 1.0
    return np.where(values < before[0], values * first, np.where(values > before[-1], values * last, inside))


def _compare(
    part: str, common: dict[str, tuple[np.ndarray, np.ndarray]], inside: np.ndarray
) -> list[HeldOut]:
    mapping = _fit(common, ~inside)
    grid_wind, station_wind = (values[inside] for values in common["wind_speed"])
    grid_rain, station_rain = (values[inside] for values in common["rain"])
    wind, rain = _apply(mapping, grid_wind, grid_rain)
    told = {
        "mean wind": (station_wind.mean(), grid_wind.mean(), wind.mean()),
        "99 % wind": tuple(np.quantile(v, 0.99) for v in (station_wind, grid_wind, wind)),
        "rain": (station_rain.sum(), grid_rain.sum(), rain.sum()),
        "wet hours": tuple(np.count_nonzero(v > DRIZZLE) for v in (station_rain, grid_rain, rain)),
        "99.5 % rain": tuple(np.quantile(v, 0.995) for v in (station_rain, grid_rain, rain)),
    }
    return [HeldOut(part, quantity, *(float(value) for value in row)) for quantity, row in told.items()]
