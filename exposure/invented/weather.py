"""Hourly weather of every cell of the invented island, from the large-scale weather and the ground.

Hills lift moist air (rain grows on the side the wind meets and thins behind), tops are windier, ground slows the
wind more than the sea, and showers drift with the wind.
"""

from typing import NamedTuple

import numpy as np

from exposure.invented.geography import (
    CELLS,
    SEED,
    cell_latitudes,
    cell_longitudes,
    island,
    metres_per_degree,
)
from exposure.invented.storms import HOURS, LATTICE, YEARS, Large, wander

BLOCK = HOURS // YEARS  # hours worked at a time, and the length of a stored chunk
_TEXTURE = 512  # kilometres until the rain texture repeats
_WAVES = 4  # of the compass, in what depends on wind direction
_STEP_WIND, _STEP_RAIN, _STEP_TEMPERATURE = 16, 64, 8  # values are kept to 1/16 m/s, 1/64 mm, 1/8 K
TRACE = 0.02  # less rain than this in an hour is none [mm]


class Block(NamedTuple):
    """Some hours of weather, each shape (hour, cell south to north, cell west to east), float32."""

    first: int
    u10: np.ndarray  # [m s-1]
    v10: np.ndarray
    tp: np.ndarray  # rain and snow, [mm]
    sf: np.ndarray  # snow, [mm]
    t2m: np.ndarray  # [K]
    d2m: np.ndarray


class _Ground(NamedTuple):
    """What the ground does to wind and rain, as waves of the wind direction: shape (wave, cell)."""

    speed: np.ndarray
    lift: np.ndarray
    height: np.ndarray  # (cell,) [m]
    land: np.ndarray  # (cell,) share of land


class Weather(NamedTuple):
    """What every block of hours is worked out from."""

    large: Large
    ground: _Ground
    spread: np.ndarray
    textures: tuple[np.ndarray, np.ndarray]
    drift: np.ndarray
    cloud: np.ndarray  # (hour,) share of the sky


def weather_from(large: Large, *, cell_height: np.ndarray, cell_land: np.ndarray) -> Weather:
    """The whole record before its hours are worked out, a block at a time in any order, by :func:`weather_block`.

    Parameters
    ----------
    cell_height, cell_land
        Mean ground height [m] and share of land of each cell, south to north. Shape (24, 24).
    """
    rng = np.random.default_rng(SEED + 4)
    textures = _textures(rng)
    cloud = np.clip(large.steady_rain.mean(1) * 0.8 + large.drizzle.mean(1) * 0.7 + 0.25, 0, 1)
    cloud = np.clip(cloud + 0.18 * wander(rng, HOURS, 12.0), 0, 1)
    return Weather(large, _ground(cell_height, cell_land), _spread(), textures, _drift(large), cloud)


def weather_block(weather: Weather, first: int) -> Block:
    """A year's length of hours, beginning with the hour ``first`` of the record."""
    large, ground, spread, textures, drift, cloud = weather
    rows = slice(first, first + BLOCK)
    east, north = (part[rows].astype(np.float32) @ spread for part in (large.east_wind, large.north_wind))
    middle_east, middle_north = large.east_wind[rows].mean(1), large.north_wind[rows].mean(1)
    waves = _waves_of(np.arctan2(-middle_east, -middle_north)).astype(np.float32)  # where it comes from
    factor = waves @ ground.speed
    east *= factor
    north *= factor

    rain = np.zeros_like(east)
    rates = [
        part[rows].astype(np.float32)
        for part in (large.steady_rain, large.front_rain, large.showers, large.drizzle)
    ]
    wet = np.flatnonzero(sum(rate.max(1) for rate in rates) > 0.03)
    steady, front, showers, drizzle = (rate[wet] @ spread for rate in rates)
    push = np.clip(np.hypot(middle_east, middle_north)[wet] / 9.0, 0, 1.7).astype(np.float32)
    lift = (waves[wet] * push[:, None]) @ ground.lift
    soft, rough = _sample(textures, drift[rows][wet])
    grown = np.exp(np.clip(lift, -1.0, 0.8))
    lifted = np.maximum(lift, 0)
    fall = grown * (steady * soft + front * (0.45 * soft + 0.3 * rough) + 2.1 * showers * rough)
    fall += drizzle * (0.06 + 0.5 * lifted) * soft
    rain[wet] = fall

    day = (np.arange(first, first + BLOCK) % 24 + island()["longitude"] / 15) * (2 * np.pi / 24)
    warm, damp = _temperatures(rows, large, cloud, day, middle_north)
    open_sky = (1 - cloud[rows]) * (1 - 0.3 * large.season[rows])
    swing = (2.9 * open_sky * np.cos(day - np.radians(217))).astype(np.float32)
    lapse = (-0.0065 * ground.height).astype(np.float32)
    t2m = warm[:, None] + lapse + swing[:, None] * ground.land
    d2m = np.minimum(damp[:, None] + 0.55 * lapse + 0.25 * swing[:, None] * ground.land, t2m - 0.2)

    shape = (BLOCK, CELLS, CELLS)
    tp = np.where(rain < TRACE, np.float32(0), rain)
    tp = _rounded(tp, _STEP_RAIN)
    snow = tp * np.clip((274.65 - t2m) / 1.5, 0, 1)
    return Block(
        first,
        _rounded(east, _STEP_WIND).reshape(shape),
        _rounded(north, _STEP_WIND).reshape(shape),
        tp.reshape(shape),
        _rounded(snow, _STEP_RAIN).reshape(shape),
        _rounded(t2m, _STEP_TEMPERATURE).reshape(shape),
        _rounded(d2m, _STEP_TEMPERATURE).reshape(shape),
    )


def _temperatures(
    rows: slice, large: Large, cloud: np.ndarray, day: np.ndarray, north_wind: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Air temperature and dew point over the sea. [K]"""
    hour = np.arange(rows.start, rows.stop)
    late = np.cos(2 * np.pi * (hour / 8766.0 - 45 / 365.25))  # the sea lags the sun
    warm = (
        285.4
        - 4.3 * late
        + 1.1 * large.warmth[rows]
        + 0.24 * north_wind
        + 0.3 * np.cos(day - np.radians(220))
    )
    gap = np.clip(5.2 - 4.6 * cloud[rows] + 0.5 * large.warmth[rows], 0.4, None)
    return warm.astype(np.float32), (warm - gap).astype(np.float32)


def _rounded(value: np.ndarray, steps: int) -> np.ndarray:
    """To the nearest 1/steps, which a compressor likes."""
    return (np.rint(value * np.float32(steps)) / np.float32(steps)).astype(np.float32)


def _waves_of(direction: np.ndarray) -> np.ndarray:
    """1, cos D, sin D, cos 2D, ... shape (hour, 2 waves + 1)."""
    columns = [np.ones_like(direction)]
    for wave in range(1, _WAVES + 1):
        columns += [np.cos(wave * direction), np.sin(wave * direction)]
    return np.stack(columns, axis=1)


def _spread() -> np.ndarray:
    """Weights that bring lattice points to cells, shape (point, cell)."""
    at = ((np.arange(CELLS) + 0.5) / CELLS) * (LATTICE - 1)
    one = np.clip(1 - np.abs(at[:, None] - np.arange(LATTICE)), 0, 1)
    return np.einsum("ia,jb->abij", one, one).reshape(LATTICE**2, CELLS**2).astype(np.float32)


def _ground(height: np.ndarray, land: np.ndarray) -> _Ground:
    """Speed and lift of each cell from the ground upwind, for 36 directions, turned into waves."""
    directions = np.radians(np.arange(0, 360, 10.0))
    fetch = np.arange(1, 7)  # cells upwind looked at
    weight = np.exp(-fetch / 3.0) / np.exp(-fetch / 3.0).sum()
    speed, lift = np.empty((36, CELLS**2)), np.empty((36, CELLS**2))
    rows, columns = np.mgrid[0:CELLS, 0:CELLS]
    true_height, height = height, _smoothed(height)  # air takes no notice of one sharp cell
    for i, direction in enumerate(directions):
        heights, lands = [], []
        for step in fetch:
            r = rows + step * np.cos(direction)
            c = columns + step * np.sin(direction)
            heights.append(_between(height, r, c))
            lands.append(_between(land, r, c))
        upwind = np.tensordot(weight, np.array(heights), 1)
        overland = np.tensordot(weight, np.array(lands), 1)
        crest = np.max(np.array(heights) * (1 - 0.11 * (fetch - 1))[:, None, None], axis=0)
        shelter = np.clip((crest - height) / 620.0, 0, 0.42)
        top = np.clip((height - upwind) / 1500.0, 0, 0.25)
        rough = 1 - 0.11 * land - 0.09 * overland
        speed[i] = (rough * (1 - shelter) + top).ravel()
        lift[i] = ((height - upwind) / 560.0 - 0.5 * np.clip((crest - height) / 500.0, 0, 1)).ravel()
    basis = _waves_of(directions)
    solve = np.linalg.pinv(basis)
    return _Ground(
        (solve @ speed).astype(np.float32),
        (solve @ lift).astype(np.float32),
        true_height.ravel().astype(np.float32),
        land.ravel().astype(np.float32),
    )


def _smoothed(field: np.ndarray) -> np.ndarray:
    """A quarter, a half and a quarter of three neighbours, both ways."""
    for axis in (0, 1):
        edged = np.pad(field, [(1, 1) if i == axis else (0, 0) for i in range(2)], mode="edge")
        before, after = (np.take(edged, np.arange(CELLS) + step, axis=axis) for step in (0, 2))
        field = (before + 2 * field + after) / 4
    return field


def _between(field: np.ndarray, row: np.ndarray, column: np.ndarray) -> np.ndarray:
    """``field`` read between cells; the edge cell goes on beyond the edge."""
    row, column = np.clip(row, 0, CELLS - 1), np.clip(column, 0, CELLS - 1)
    r, c = np.minimum(row.astype(int), CELLS - 2), np.minimum(column.astype(int), CELLS - 2)
    y, x = row - r, column - c
    return (
        field[r, c] * (1 - y) * (1 - x)
        + field[r + 1, c] * y * (1 - x)
        + field[r, c + 1] * (1 - y) * x
        + field[r + 1, c + 1] * y * x
    )


def _textures(rng: np.random.Generator) -> tuple[np.ndarray, np.ndarray]:
    """Two repeating patterns on a 1 km mesh: soft (mean 1) for steady rain, rough for showers."""
    number = np.hypot(np.fft.fftfreq(_TEXTURE)[:, None], np.fft.rfftfreq(_TEXTURE)[None, :]) * _TEXTURE

    def pattern(longest: float, shortest: float) -> np.ndarray:
        waves = np.fft.rfft2(rng.standard_normal((_TEXTURE, _TEXTURE)))
        strength = number / (number**2 + longest**2) ** 1.4 * np.exp(-((number / shortest) ** 2))
        surface = np.fft.irfft2(waves * strength, s=(_TEXTURE, _TEXTURE))
        return surface / surface.std()

    soft = np.exp(0.6 * pattern(5, 60))
    rough = np.clip(pattern(14, 70) - 0.62, 0, None) ** 1.1
    return (soft / soft.mean()).astype(np.float32), (rough / rough.max() * 4.2).astype(np.float32)


def _drift(large: Large) -> np.ndarray:
    """How far the rain has drifted since the start, east and north, shape (hour, 2). [km]"""
    wind = np.stack([large.east_wind.mean(1), large.north_wind.mean(1)], axis=1)
    turn = np.radians(-15.0)  # the air aloft has not felt the ground
    east = wind[:, 0] * np.cos(turn) - wind[:, 1] * np.sin(turn)
    north = wind[:, 0] * np.sin(turn) + wind[:, 1] * np.cos(turn)
    return np.cumsum(np.stack([east, north], axis=1) * 1.45 * 3.6, axis=0)


def _sample(textures: tuple[np.ndarray, np.ndarray], drift: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Hourly mean of the drifting patterns at each cell: the middle and both ends of the hour's path."""
    along, up = metres_per_degree()
    east = (cell_longitudes() - island()["longitude"]) * along / 1000
    north = (cell_latitudes() - island()["latitude"]) * up / 1000
    move = np.gradient(drift, axis=0) if len(drift) > 1 else np.zeros_like(drift)
    move = np.clip(move, -90, 90)
    means = []
    for texture in textures:
        total = np.zeros((len(drift), CELLS, CELLS), dtype=np.float32)
        for part in (-0.36, -0.12, 0.12, 0.36):
            at = drift + part * move
            column = np.mod(np.rint(east - at[:, :1]), _TEXTURE).astype(np.int32)
            row = np.mod(np.rint(north - at[:, 1:]), _TEXTURE).astype(np.int32)
            place = (row * _TEXTURE)[:, :, None] + column[:, None, :]
            total += texture.ravel()[place]
        means.append((total / 4).reshape(len(drift), CELLS**2))
    return means[0], means[1]
