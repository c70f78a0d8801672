"""Outdoor air hour by hour: what it holds, what it can still take up, and how well it dries a wall."""

from dataclasses import dataclass

import numpy as np
import xarray as xr

from exposure.climate.humidity import saturation_pressure as saturation_over_water
from exposure.clock import hour_numbers
from exposure.detail.vapour import saturation_pressure, vapour_density
from exposure.doubts import Doubt, doubt
from exposure.figures import NO_BREAK

DEFAULT_TEMPERATURE = 10.0  # degC where the record has none; our choice, flagged
DEFAULT_HUMIDITY = 80.0  # %; the same
SURFACE_MEMORY = 12  # hours the wet surface lags behind the air, as a running mean; our choice
SLOW_DRYING = 2.0  # g/m3 the air can still take up on average, below which drying is called slow; our choice
MUCH_MISSING = 0.05  # share of hours worth a flag; our choice


@dataclass(frozen=True)
class Air:
    """Outdoor air hour by hour, filled where not known."""

    saturation: np.ndarray  # Pa, at the wet surface
    vapour_pressure: np.ndarray  # Pa, outdoors
    saturation_now: np.ndarray  # Pa, of the outdoor air
    deficit: np.ndarray  # g m-3 the outdoor air can still take up
    flags: tuple[str, ...]

    @property
    def mean_deficit(self) -> float:
        """What the air can still take up on average. [g m-3]"""
        return float(self.deficit.mean())


def outdoor_air(climate: xr.Dataset) -> Air:
    """Temperature and humidity of the record on a clock without holes; a stated default where there is none.

    Missing hours take the mean of the known ones. Relative humidity is reported over water at all temperatures (the
    practice of weather services, from memory), so the vapour in the air is a share of saturation over water, also
    below freezing, while a cold surface saturates over ice: very humid frost leaves rime instead of drying.
    """
    flags: list[Doubt] = []
    place = hour_numbers(climate["time"])
    place = place - place[0]
    size = int(place[-1]) + 1
    temperature = _term(climate, "air_temperature", place, size, DEFAULT_TEMPERATURE, "\u00a0°C", flags)
    humidity = _term(climate, "relative_humidity", place, size, DEFAULT_HUMIDITY, "\u00a0%", flags).clip(
        0, 100
    )
    now = saturation_pressure(temperature)
    vapour = humidity / 100 * saturation_over_water(temperature)
    lagged = saturation_pressure(_running_mean(temperature, SURFACE_MEMORY))
    return Air(
        lagged,
        vapour,
        now,
        vapour_density(now, temperature) - vapour_density(vapour, temperature),
        tuple(flags),
    )


def drying_in_words(air: Air) -> tuple[str, str]:
    """How well the air dries, as the circumstances' word, and a sentence.

    Without temperature or humidity nothing is concluded, and the sentence names what is missing.
    """
    unknown = [one.subject for one in air.flags if isinstance(one, Doubt) and one.key == "detail.air_unknown"]
    if unknown:
        return (
            "as the record says",
            f"The record has no {' and no '.join(unknown)}: how well walls dry here is not known.",
        )
    spare = f"{air.mean_deficit:.1f}{NO_BREAK}g/m³"
    if air.mean_deficit < SLOW_DRYING:
        return (
            "slowly",
            f"The air can take up {spare} more on average: walls dry slowly here (our limit is 2).",
        )
    return "well", f"The air can take up {spare} more on average: walls dry well here (our limit is 2)."


def _term(
    climate: xr.Dataset,
    term: str,
    place: np.ndarray,
    size: int,
    default: float,
    unit: str,
    flags: list[Doubt],
) -> np.ndarray:
    """Hourly values of ``term`` with the mean, or the default, where they are not known."""
    values = np.full(size, np.nan)
    if term in climate:
        values[place] = np.asarray(climate[term].values, dtype=float)
    known = np.isfinite(values)
    name = term.replace("_", " ")
    if not known.any():
        flags.append(doubt("detail.air_unknown", name, stands_in=f"{default:g}{unit}"))
        return np.full(size, default)
    if (~known).mean() > MUCH_MISSING:
        flags.append(doubt("detail.air_partly_known", name, share=float((~known).mean())))
    return np.where(known, values, values[known].mean())


def _running_mean(values: np.ndarray, length: int) -> np.ndarray:
    """Mean of the last ``length`` values, of fewer at the start."""
    total = np.concatenate([[0.0], np.cumsum(values)])
    last = np.arange(1, values.size + 1)
    start = np.maximum(last - length, 0)
    return (total[last] - total[start]) / (last - start)
