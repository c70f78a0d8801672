"""Made-up ground, cover and neighbours for the tests of the site, with known answers."""

import numpy as np
import pandas as pd
import shapely
from builders import climate_of

from exposure.site.footprint import Neighbours
from exposure.site.plane import LocalPlane
from exposure.site.raster import Raster

PLANE = LocalPlane(latitude=50.0, longitude=8.0)


def raster(function, *, pixel, reach=6000.0, source="made up"):
    """A raster of ``function(east, north)`` in the plane itself, so that no projection blurs the answer."""
    count = int(2 * reach / pixel)
    axis = -reach + pixel * (np.arange(count) + 0.5)
    east, north = np.meshgrid(axis, -axis)
    values = np.asarray(function(east, north), dtype=float) + np.zeros(east.shape)
    return Raster(values, (pixel, 0.0, -reach, 0.0, -pixel, reach), PLANE.definition, source)


def cover(function, *, pixel=50.0, reach=15_400.0):
    return raster(function, pixel=pixel, reach=reach, source="made-up cover")


def block(west, south, east, north):
    return shapely.box(west, south, east, north)


def neighbours(*boxes, heights):
    polygons = np.array([block(*box) for box in boxes], dtype=object)
    heights = np.broadcast_to(np.asarray(heights, dtype=float), polygons.shape)
    return Neighbours(polygons, heights.copy(), np.full(polygons.size, "height", dtype=object), "made up")


def weather(years=30, *, seed=1, kind="gauge", first=1991, wet=0.09):
    """Hourly weather with storms from the south-west, as a station would give it."""
    chance = np.random.default_rng(seed)
    time = pd.date_range(f"{first}-01-01", f"{first + years - 1}-12-31T23:00", freq="h")
    size = time.size
    storm = np.repeat(chance.random(size // 6 + 1) < wet, 6)[:size]
    rain = np.where(storm, np.round(chance.gamma(0.8, 1.4, size), 1), 0.0)
    direction = np.repeat((chance.normal(225, 45, size // 6 + 1)) % 360, 6)[:size]
    return climate_of(
        time,
        rain=rain,
        wind_speed=chance.weibull(2.2, size) * 7,
        wind_from_direction=direction,
        kind=kind,
        source="made in a test",
        licence="none",
        flags=[],
        latitude=50.0,
        longitude=8.0,
    )
