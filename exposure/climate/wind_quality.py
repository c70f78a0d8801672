"""Suspicions about the wind of a record: each a mask and a sentence, or None when there is nothing to say."""

import numpy as np
import xarray as xr

from exposure.climate.suspicion import Suspicion, run_lengths, values_of
from exposure.clock import hour_numbers

STUCK_SPEED = 24  # h of the same wind speed above zero; our choice
STUCK_DIRECTION = 72  # h of the same direction while the speed changes; our choice
MUCH_STUCK = 0.01  # share of the record worth a flag; our choice
STEPS = (90.0, 45.0, 30.0, 22.5, 20.0, 15.0, 12.0, 11.25, 10.0, 5.0)  # degrees, coarsest first
MUCH_UNKNOWN = 0.05  # share of the rain; our choice, as for the index


def stuck_wind(climate: xr.Dataset) -> Suspicion | None:
    """Wind speed or direction that does not move for long (frozen or stuck instrument)."""
    speed, direction = values_of(climate, "wind_speed"), values_of(climate, "wind_from_direction")
    hours = hour_numbers(climate["time"])
    stuck_speed = (run_lengths(speed, hours) >= STUCK_SPEED) & (speed > 0)
    stuck_direction = (run_lengths(direction, hours) >= STUCK_DIRECTION) & (speed > 0)
    mask = stuck_speed | stuck_direction
    if not mask.any():
        return None
    sentence = (
        f"Wind stands still in {int(mask.sum())} hours (the same speed for {STUCK_SPEED} h or more, or the same "
        f"direction for {STUCK_DIRECTION} h): perhaps a frozen or stuck instrument."
    )
    return Suspicion("stuck-wind", mask, sentence, grave=bool(mask.mean() > MUCH_STUCK))


def direction_steps(climate: xr.Dataset) -> Suspicion | None:
    """Directions that come only in coarse steps."""
    speed, direction = values_of(climate, "wind_speed"), values_of(climate, "wind_from_direction")
    known = np.isfinite(direction) & (speed > 0)
    if known.sum() < 100:
        return None
    for step in STEPS:
        off = np.abs(direction[known] - np.round(direction[known] / step) * step)
        if np.all(off < 0.01):
            sentence = (
                f"Wind directions come in steps of {step:g} degrees ({round(360 / step)} of them): walls between two "
                "steps are less certain."
            )
            return Suspicion("direction-steps", known, sentence, grave=step > 22.5)
    return None


def calm_with_direction(climate: xr.Dataset) -> Suspicion | None:
    """Hours of no wind that still name a direction other than north."""
    speed, direction = values_of(climate, "wind_speed"), values_of(climate, "wind_from_direction")
    mask = (speed == 0) & np.isfinite(direction) & (direction % 360 != 0)
    if not mask.any():
        return None
    sentence = f"{int(mask.sum())} hours of no wind name a direction; they drive no rain."
    return Suspicion("calm-with-direction", mask, sentence, grave=False)


def variable_wind(climate: xr.Dataset) -> Suspicion | None:
    """Wind with a speed and no direction, and the rain in it."""
    speed, direction = values_of(climate, "wind_speed"), values_of(climate, "wind_from_direction")
    rain = values_of(climate, "rain")
    mask = (speed > 0) & ~np.isfinite(direction)
    if not mask.any():
        return None
    amount, total = float(np.nansum(rain[mask])), float(np.nansum(rain))
    sentence = (
        f"{int(mask.sum())} hours have wind without direction (variable); {amount:.0f} of {total:.0f} mm of rain "
        "fell in them."
    )
    return Suspicion("variable-wind", mask, sentence, grave=bool(total > 0 and amount > MUCH_UNKNOWN * total))


def wind_missing_in_rain(climate: xr.Dataset) -> Suspicion | None:
    """Rain in hours whose wind speed is missing."""
    speed, rain = values_of(climate, "wind_speed"), values_of(climate, "rain")
    mask = ~np.isfinite(speed) & (rain > 0)
    if not mask.any():
        return None
    amount, total = float(np.nansum(rain[mask])), float(np.nansum(rain))
    sentence = f"{amount:.0f} of {total:.0f} mm of rain fell in {int(mask.sum())} hours without wind speed."
    return Suspicion("wind-missing-in-rain", mask, sentence, grave=bool(amount > MUCH_UNKNOWN * total))
