"""Blocks of a climate grid turned into clean hours: wind speed, wind direction and rain in our units.

Three steps serve a reader of one point and a streaming reader of a whole grid alike::

    names = identify_variables(dataset)                      # once; refuses what cannot be read
    raw = {name: read_block(dataset, names, name, time=slice(0, 720)) for name in names.needed}
    block, carry = climate_block(names, raw, hours=hours[0:720], carry=carry)

``block.rain`` [mm in the hour ending at the stamp], ``block.wind_speed`` [m s-1] and
``block.wind_from_direction`` [degree] are NumPy arrays of shape (time, latitude, longitude). What the rain at
a stamp is, settle with :func:`exposure.climate.grid.checks.settle_rain_rule` before trusting it.
"""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import NamedTuple

import numpy as np
import xarray as xr

from exposure.climate.grid.names import OPTIONAL, SINCE_MIDNIGHT, GridVariables, grid_quantity
from exposure.terms import TERMS

PACKING_NOISE = 0.01  # mm below zero that rounding of packed numbers can make; our choice
PACKING_NOISE_DIFFERENCE = 0.05  # the same for the difference of two packed totals; our choice


class RainCarry(NamedTuple):
    """The last totals of a block, from which the next block goes on undoing an accumulation."""

    totals: Mapping[str, np.ndarray]
    hour: int


@dataclass(frozen=True)
class ClimateBlock:
    """Clean hours of a part of a grid, arrays of shape (time, ...), and what had to be said about them."""

    wind_speed: np.ndarray
    wind_from_direction: np.ndarray
    rain: np.ndarray
    tiny_negatives: int  # rain a hair below zero from packing, set to zero
    impossible: int  # single values outside the vocabulary's limits, made missing
    unsplit: int  # hours whose accumulation could not be undone for want of the hour before, made missing
    extra: Mapping[str, np.ndarray] = field(default_factory=dict)


def read_block(
    dataset: xr.Dataset,
    names: GridVariables,
    name: str,
    *,
    time: slice = slice(None),
    latitude: slice = slice(None),
    longitude: slice = slice(None),
) -> np.ndarray:
    """Load one variable of a part of the grid, as it stands in the file (only masked and unpacked).

    Parameters
    ----------
    name
        A variable of the file, e.g. one of ``names.needed``.
    time, latitude, longitude
        Positions along the file's own axes, in its own order.

    Returns
    -------
    numpy.ndarray
        Shape (time, latitude, longitude), or (time,) for a point. Early data fills what final data lacks.
    """
    value = dataset[name]
    if names.member and names.member in value.dims:
        value = value.isel({names.member: 0})
    time_axis = dataset[names.time].dims[0]
    axes = [time_axis]
    where = {time_axis: time}
    if names.grid_kind == "regular":
        axes += [names.latitude, names.longitude]
        where |= {names.latitude: latitude, names.longitude: longitude}
    within = {axis: slice(*part.indices(value.sizes[axis])) for axis, part in where.items()}
    value = value.isel(within)  # some readers answer a slice past the end with made-up values
    if names.expver and names.expver in value.dims:
        versions = np.argsort([str(v).zfill(4) for v in dataset[names.expver].values], kind="stable")
        final = value.isel({names.expver: int(versions[0])}).transpose(*axes).values
        for version in versions[1:]:
            early = value.isel({names.expver: int(version)}).transpose(*axes).values
            final = np.where(np.isnan(final), early, final)
        return final
    return value.transpose(*axes).values


def climate_block(
    names: GridVariables,
    raw: Mapping[str, np.ndarray],
    *,
    hours: np.ndarray,
    carry: RainCarry | None = None,
) -> tuple[ClimateBlock, RainCarry | None]:
    """Turn raw fields into wind speed, direction and rain of whole hours, in our units; touches no file.

    Parameters
    ----------
    raw
        Variable of the file -> array whose first axis is time, all of one shape; at least ``names.needed``.
        Other variables of ``names.names`` that are there too come back in ``block.extra``, converted.
    hours
        Whole hours since 1970 of the first axis, ascending (see :func:`exposure.clock.hour_numbers`).
    carry
        What the block before gave back; None for the first.

    Returns
    -------
    block, carry
        The clean block, and what the next block along time needs.

    Notes
    -----
    Rain since midnight is undone as P(01) = tp(01), P(h) = tp(h) - tp(h-1) for h = 02..24 (ERA5-Land
    documentation); where the hour before is missing, so is the hour. Rain below zero by no more than packing
    noise becomes zero, other impossible values become missing; both are counted, per call. Where the file
    holds snowfall and its rain is all precipitation, snowfall is taken off (never below zero).

    Examples
    --------
    Rain since midnight across the border of two blocks, in metres; 3 mm had fallen by 24 h:

    >>> from exposure.climate.units import Conversion
    >>> mm, ms = Conversion(1000.0), Conversion(1.0)
    >>> names = GridVariables(
    ...     {"eastward_wind": "u10", "northward_wind": "v10", "rain": "tp"},
    ...     {"eastward_wind": ms, "northward_wind": ms, "rain": mm},
    ...     SINCE_MIDNIGHT, "time", "latitude", "longitude", "point", "standard")
    >>> west = {"u10": np.full(2, 5.0), "v10": np.zeros(2)}
    >>> first, carry = climate_block(names, west | {"tp": np.array([0.001, 0.002])}, hours=np.array([22, 23]))
    >>> first.rain, first.unsplit  # the first hour of all has nothing before it
    (array([nan,  1.]), 1)
    >>> second, carry = climate_block(
    ...     names, west | {"tp": np.array([0.003, 0.0005])}, hours=np.array([24, 25]), carry=carry)
    >>> second.rain.round(6).tolist(), second.wind_from_direction.tolist()
    ([1.0, 0.5], [270.0, 270.0])
    """
    hours = np.asarray(hours)
    speed, direction, impossible = _wind(names, raw)
    rain, last, unsplit = _hourly_amount(names, "rain", raw[names.rain], hours, carry)
    totals = {} if last is None else {"rain": last}
    extra = {}
    for term in OPTIONAL:
        name = names.names.get(term)
        if name is None or name not in raw:
            continue
        if grid_quantity(term) == "rain":
            amount, last, _ = _hourly_amount(names, term, raw[name], hours, carry)
            extra[term], _, _ = _settle_rain(amount, term, names.rain_rule)
            if last is not None:
                totals[term] = last
        else:
            extra[term] = names.conversions[term].apply(raw[name])
    rain, tiny, wrong = _settle_rain(rain, "rain", names.rain_rule)
    if "snowfall" in extra and not names.rain_is_liquid:
        rain = np.maximum(rain - extra["snowfall"], 0.0)
    block = ClimateBlock(speed, direction, rain, tiny, impossible + wrong, unsplit, extra)
    if names.rain_rule != SINCE_MIDNIGHT:
        return block, None
    return block, (RainCarry(totals, int(hours[-1])) if hours.size else carry)


def _wind(names: GridVariables, raw: Mapping[str, np.ndarray]) -> tuple[np.ndarray, np.ndarray, int]:
    first, second = (np.asarray(raw[name]) for name in names.wind)
    high = TERMS["wind_speed"]["high"]
    if names.by_components:
        east = names.conversions["eastward_wind"].apply(first)
        north = names.conversions["northward_wind"].apply(second)
        speed = np.hypot(east, north)
        direction = np.mod(270.0 - np.degrees(np.arctan2(north, east)), 360.0)
        wrong = speed > high
        count = int(np.count_nonzero(wrong))
        if count:
            speed, direction = np.where(wrong, np.nan, speed), np.where(wrong, np.nan, direction)
        return speed, direction, count
    speed = names.conversions["wind_speed"].apply(first)
    direction = names.conversions["wind_from_direction"].apply(second)
    wrong_speed = (speed > high) | (speed < 0)
    wrong_direction = (direction < 0) | (direction > 360)
    count = int(np.count_nonzero(wrong_speed) + np.count_nonzero(wrong_direction))
    speed = np.where(wrong_speed, np.nan, speed)
    direction = np.where(wrong_direction, np.nan, np.mod(direction + names.direction_turn, 360.0))
    return speed, direction, count


def _hourly_amount(
    names: GridVariables, term: str, raw: np.ndarray, hours: np.ndarray, carry: RainCarry | None
) -> tuple[np.ndarray, np.ndarray | None, int]:
    """Amount of each hour [mm], the last total to carry on, and how many values could not be split."""
    value = names.conversions[term].apply(np.asarray(raw))
    if names.rain_rule != SINCE_MIDNIGHT or value.shape[0] == 0:
        return value, None, 0
    before = np.full_like(value, np.nan)
    before[1:] = value[:-1]
    follows = np.concatenate([[False], np.diff(hours) == 1])
    if carry is not None and term in carry.totals:
        before[0] = carry.totals[term]
        follows[0] = hours[0] - carry.hour == 1
    before[~follows] = np.nan
    before[hours % 24 == 1] = 0.0
    amount = value - before
    unsplit = int(np.count_nonzero(np.isnan(amount) & ~np.isnan(value)))
    return amount, value[-1].copy(), unsplit


def _settle_rain(rain: np.ndarray, term: str, rule: str) -> tuple[np.ndarray, int, int]:
    """Rain with packing noise set to zero and impossible values missing, and how many of each."""
    noise = PACKING_NOISE_DIFFERENCE if rule == SINCE_MIDNIGHT else PACKING_NOISE
    negative = rain < 0
    wrong = (rain < -noise) | (rain > TERMS[term]["high"])
    tiny, impossible = int(np.count_nonzero(negative & ~wrong)), int(np.count_nonzero(wrong))
    if tiny:
        rain = np.where(negative, 0.0, rain)
    if impossible:
        rain = np.where(wrong, np.nan, rain)
    return rain, tiny, impossible
