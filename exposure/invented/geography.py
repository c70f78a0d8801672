"""Where the invented island lies: its grid, its coast, and the names on it."""

import tomllib
from dataclasses import dataclass
from functools import cache
from importlib.resources import files

import numpy as np

METRES_PER_DEGREE = 111_195.0  # of latitude, on a sphere of 6371 km
SEED = 20_4711  # the whole island hangs on it
CELLS = 24  # climate cells each way
CELL_LATITUDE = 0.04  # [degree]
CELL_LONGITUDE = 0.06  # [degree]
PIXELS = 80  # height and cover pixels in a climate cell, each way


@dataclass(frozen=True)
class Place:
    """A named, invented spot."""

    name: str
    note: str
    latitude: float
    longitude: float
    east: float
    north: float
    ground: float
    reach: float


@cache
def _register() -> dict:
    return tomllib.loads(files("exposure.invented").joinpath("places.toml").read_text("utf-8"))


def island() -> dict:
    """Name, note and middle (``latitude``, ``longitude``) of the island."""
    return _register()["island"]


def metres_per_degree() -> tuple[float, float]:
    """Metres in a degree of longitude and of latitude at the middle of the island."""
    return METRES_PER_DEGREE * float(np.cos(np.radians(island()["latitude"]))), METRES_PER_DEGREE


def to_degrees(east: np.ndarray | float, north: np.ndarray | float) -> tuple:
    """Longitude and latitude of a spot given in metres from the middle of the island. [degree]"""
    along, up = metres_per_degree()
    return island()["longitude"] + east / along, island()["latitude"] + north / up


@cache
def places() -> tuple[Place, ...]:
    """The named places.

    Examples
    --------
    >>> [place.name for place in places()][:2]
    ['Quern Bay', 'Pellin Ness']
    """
    found = []
    for row in _register()["place"]:
        longitude, latitude = to_degrees(row["east"], row["north"])
        found.append(Place(latitude=round(latitude, 5), longitude=round(longitude, 5), **row))
    return tuple(found)


def cell_latitudes() -> np.ndarray:
    """Middles of the climate cells, south to north. [degree]"""
    return np.round(island()["latitude"] + (np.arange(CELLS) - (CELLS - 1) / 2) * CELL_LATITUDE, 6)


def cell_longitudes() -> np.ndarray:
    """Middles of the climate cells, west to east. [degree]"""
    return np.round(island()["longitude"] + (np.arange(CELLS) - (CELLS - 1) / 2) * CELL_LONGITUDE, 6)


def pixel_metres() -> tuple[np.ndarray, np.ndarray]:
    """East and north of the pixel middles, west to east and north to south. [m]"""
    along, up = metres_per_degree()
    steps = np.arange(CELLS * PIXELS) - (CELLS * PIXELS - 1) / 2
    return steps * CELL_LONGITUDE / PIXELS * along, -steps * CELL_LATITUDE / PIXELS * up


# The coast: a wavy radius in a plane that is itself gently bent, so that it does not look like a wheel.

_BEND = (  # metres east, metres north, waves per 100 km east and north, phase
    (2600.0, 1100.0, 2.1, 1.3, 0.4),
    (-1500.0, 2300.0, 3.4, -2.6, 2.2),
    (560.0, -500.0, 6.2, 4.4, 4.0),
    (180.0, 200.0, 12.5, -9.0, 1.1),
    (55.0, -60.0, 27.0, 22.0, 5.3),
)
_DENTS = (  # towards [degree from east, counter-clockwise], half width [degree], metres (in is negative)
    (219.0, 9.0, -5600.0),  # Quern Bay
    (176.0, 6.0, 4200.0),  # Pellin Ness
    (139.0, 11.0, -2600.0),  # Tavisk Strand
    (316.0, 13.0, -3000.0),  # Saltmar
    (18.0, 7.0, -4200.0),  # Purlin Haven
    (250.0, 8.0, 2600.0),
    (60.0, 9.0, 2800.0),
    (341.0, 8.0, 3000.0),
)


def _bend(east: np.ndarray, north: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Shift of a spot into the bent plane. [m]"""
    right, up = 0.0 * east, 0.0 * north
    for along, across, waves_east, waves_north, phase in _BEND:
        wave = np.sin(2 * np.pi * (waves_east * east + waves_north * north) / 1e5 + phase)
        right = right + along * wave
        up = up + across * wave
    return right, up


def _radius(angle: np.ndarray) -> np.ndarray:
    """Distance of the coast from the middle, in the bent plane. [m]"""
    turned = angle - np.radians(8)
    radius = 1 / np.sqrt((np.cos(turned) / 40_000) ** 2 + (np.sin(turned) / 25_500) ** 2)
    rng = np.random.default_rng(SEED)
    for waves in range(3, 60):
        radius += 2600.0 / waves**1.15 * rng.normal() * np.cos(waves * angle + rng.uniform(0, 2 * np.pi))
    for towards, width, metres in _DENTS:
        off = np.degrees(np.angle(np.exp(1j * (angle - np.radians(towards)))))
        radius += metres * np.exp(-((off / width) ** 2))
    return radius


def inland_share(east: np.ndarray, north: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """How far inland a spot is (0 on the coast, 1 in the middle, below 0 at sea), and its bearing. [1, rad]"""
    right, up = _bend(east, north)
    x, y = east + right, north + up
    angle = np.arctan2(y, x)
    steps = np.linspace(-np.pi, np.pi, 7201)
    return 1 - np.hypot(x, y) / np.interp(angle, steps, _radius(steps)), angle


def coast_outline(points: int = 1440) -> np.ndarray:
    """The coast as a closed ring of longitude and latitude, counter-clockwise, shape (points + 1, 2). [degree]"""
    angle = np.linspace(-np.pi, np.pi, points, endpoint=False)
    radius = _radius(angle)
    target = radius * np.cos(angle), radius * np.sin(angle)
    east, north = target[0].copy(), target[1].copy()
    for _ in range(60):  # the bend is gentle, so stepping back converges
        right, up = _bend(east, north)
        east, north = target[0] - right, target[1] - up
    ring = np.column_stack(to_degrees(east, north))
    return np.vstack([ring, ring[:1]])
