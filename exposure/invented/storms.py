"""The large-scale weather of the invented island: lows that pass, their fronts, and the quiet between.

Everything here is worked out on a small lattice of points over the grid, for every hour of the record, from a
fixed seed. A low is a round dent in the pressure that travels; the wind follows the pressure; rain falls ahead
of its warm front, along its cold front, round its middle, and as showers in the cold air behind.
"""

from typing import NamedTuple

import numpy as np

from exposure.invented.geography import CELL_LATITUDE, CELL_LONGITUDE, CELLS, SEED, metres_per_degree

FIRST_YEAR, YEARS = 2011, 12
HOURS = 105_192  # 2011 to 2022, three leap years
LATTICE = 5  # points each way
_CORIOLIS = 1.094e-4  # at 48.6 degrees north [1/s]
_AIR = 1.25  # density of air [kg m-3]
_REACH = 3.2  # radii of a low within which it is felt


class Large(NamedTuple):
    """Large-scale weather by hour and lattice point, and by hour."""

    east_wind: np.ndarray  # (hour, point) [m s-1]
    north_wind: np.ndarray
    steady_rain: np.ndarray  # rate before hills and texture [mm/h]
    front_rain: np.ndarray
    showers: np.ndarray  # 0 to about 1
    drizzle: np.ndarray  # moist warm air, 0 to 1
    season: np.ndarray  # (hour,) 1 in mid-winter, -1 in mid-summer
    warmth: np.ndarray  # (hour,) slow swing of the air mass
    quiet: np.ndarray  # (hour,) 0 stormy to 1 settled


def lattice_metres() -> np.ndarray:
    """East and north of the lattice points, shape (point, 2). [m]"""
    along, up = metres_per_degree()
    east = np.linspace(-1, 1, LATTICE) * CELLS / 2 * CELL_LONGITUDE * along
    north = np.linspace(-1, 1, LATTICE) * CELLS / 2 * CELL_LATITUDE * up
    return np.array([(x, y) for y in north for x in east])


def wander(rng: np.random.Generator, hours: int, memory: float, shape: tuple[int, ...] = ()) -> np.ndarray:
    """A slow random swing of mean 0 and spread 1 that forgets over ``memory`` hours; made of three-hour steps."""
    steps = hours // 3 + 2
    keep = np.exp(-3.0 / memory)
    kick = rng.standard_normal((steps, *shape)) * np.sqrt(1 - keep**2)
    value = np.empty_like(kick)
    value[0] = kick[0] / np.sqrt(1 - keep**2)
    for i in range(1, steps):
        value[i] = keep * value[i - 1] + kick[i]
    low = np.arange(hours) // 3
    part = (np.arange(hours) % 3 / 3.0).reshape(-1, *([1] * len(shape)))
    return value[low] * (1 - part) + value[low + 1] * part


def large_scale_weather() -> Large:
    """The whole record on the lattice."""
    rng = np.random.default_rng(SEED + 3)
    hour = np.arange(HOURS)
    season = np.cos(2 * np.pi * (hour / 8766.0 - 20 / 365.25))
    regime = wander(rng, HOURS, 170.0)
    quiet = 1 / (1 + np.exp(1.7 * regime + 0.75 * season + 0.4))
    warmth = wander(rng, HOURS, 70.0)

    points = lattice_metres()
    size = (HOURS, len(points))
    slope_east, slope_north = np.zeros(size), np.zeros(size)
    rain = np.zeros((4, *size))
    for low in _lows(rng, season, quiet):
        low.add_to(points, slope_east, slope_north, rain)

    swing = wander(rng, HOURS, 48.0, (2,))
    backing = (6.6 + 2.0 * season) * (1 - 0.35 * quiet)
    east = -slope_north / (_AIR * _CORIOLIS) + (backing + 5.6 * swing[:, 0])[:, None]
    north = slope_east / (_AIR * _CORIOLIS) + (2.2 * (1 - quiet) - 1.6 * quiet + 6.0 * swing[:, 1])[:, None]
    speed = np.hypot(east, north)
    slowed = 0.93 / (1 + speed / 55.0)  # friction, and the bend of the path round a low
    turn = np.radians(17.0)  # the surface wind leans towards low pressure
    east, north = (
        slowed * (east * np.cos(turn) - north * np.sin(turn)),
        slowed * (east * np.sin(turn) + north * np.cos(turn)),
    )
    for component in (east, north):
        component += 0.75 * wander(rng, HOURS, 9.0)[:, None] + 0.5 * wander(rng, HOURS, 4.0, (len(points),))
    steady, front, showers, drizzle = rain
    return Large(
        east,
        north,
        steady,
        front,
        np.minimum(showers, 1.4),
        np.minimum(drizzle, 1.0),
        season,
        warmth,
        quiet,
    )


class _Low(NamedTuple):
    """One travelling low."""

    passes: float  # hour it comes nearest to the middle of the island
    side: float  # metres it then lies to the left of its own path (north, mostly)
    heading: float  # from east, counter-clockwise [rad]
    pace: float  # [m/h]
    depth: float  # [Pa]
    radius: float  # [m]
    wetness: float

    def add_to(
        self, points: np.ndarray, slope_east: np.ndarray, slope_north: np.ndarray, rain: np.ndarray
    ) -> None:
        """Add its pressure slope and its rain to the hours it is near."""
        half = _REACH * self.radius / self.pace
        first, last = max(int(self.passes - half), 0), min(int(self.passes + half) + 1, HOURS)
        if last <= first:
            return
        hours = np.arange(first, last)[:, None]
        ahead_east, ahead_north = np.cos(self.heading), np.sin(self.heading)
        gone = (hours - self.passes) * self.pace
        low_east = gone * ahead_east - self.side * ahead_north
        low_north = gone * ahead_north + self.side * ahead_east
        east, north = points[:, 0] - low_east, points[:, 1] - low_north
        distance = np.hypot(east, north)
        age = np.exp(-((gone / (2.6 * self.radius)) ** 2))
        dent = self.depth * age * np.exp(-(distance**2) / (2 * self.radius**2)) / self.radius**2
        slope_east[first:last] += dent * east
        slope_north[first:last] += dent * north

        ahead = (east * ahead_east + north * ahead_north) / 1000
        left = (-east * ahead_north + north * ahead_east) / 1000
        right = np.maximum(-left, 0)
        warm_front = 0.42 * right + 70
        cold_front = -0.50 * right - 30
        felt = self.wetness * age * np.exp(-((distance / 1000 / 950) ** 2))
        right_side = 1 / (1 + np.exp((left - 60) / 60))
        middle = np.exp(-((distance / 1000 / 320) ** 2))
        before = np.exp(-(((ahead - warm_front - 70) / 115) ** 2))
        along = np.exp(-(((ahead - cold_front) / 46) ** 2))
        warm = 1 / (1 + np.exp((ahead - warm_front) / 25)) / (1 + np.exp((cold_front - ahead) / 25))
        behind = cold_front - 40 - ahead
        cold_air = np.exp(-np.maximum(behind, 0) / 400) / (1 + np.exp(-behind / 35))
        rain[0, first:last] += felt * (1.3 * before * right_side + 1.3 * middle)
        rain[1, first:last] += felt * 3.5 * along * right_side
        rain[2, first:last] += felt * cold_air * (0.35 + 0.65 * right_side)
        rain[3, first:last] += felt * warm * right_side


def _lows(rng: np.random.Generator, season: np.ndarray, quiet: np.ndarray) -> list[_Low]:
    """All lows of the record, in order; few while the weather is settled."""
    lows = []
    chance = (0.0215 + 0.0060 * season) * np.clip(1.33 - 1.16 * quiet, 0.17, None)
    draw = rng.random(HOURS + 200)
    last = -100
    for hour in range(-60, HOURS + 60):
        inside = min(max(hour, 0), HOURS - 1)
        if hour - last < 16 or draw[hour + 60] > chance[inside]:
            continue
        last = hour
        winter = season[inside]
        lows.append(
            _Low(
                passes=float(hour),
                side=1000 * rng.normal(130, 470),
                heading=np.radians(rng.normal(24, 17)),
                pace=1000 * float(np.clip(rng.normal(50 + 5 * winter, 10), 26, 82)),
                depth=100 * float(np.clip(rng.gamma(4.6, (10.0 + 3.4 * winter) / 4.6), 4, 46)),
                radius=1000 * float(np.clip(rng.normal(540, 95), 320, 820)),
                wetness=0.945
                * float(rng.gamma(5.0, 1 / 5.0))
                * (1.0 - 0.16 * np.cos(2 * np.pi * (hour / 8766 - 0.29))),
            )
        )
    return lows
