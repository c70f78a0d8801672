"""The forms the streaming one is compared with: one orientation at a time, vectorised over cells."""

import numpy as np
import xarray as xr

from exposure.rain.hour import EDGE_COSINE, is_driving
from exposure.rain.spells import SPELL_GAP, find_spells

NEVER = -(10**9)


def numpy_form(
    weather: dict[str, np.ndarray], *, orientations: int, wet_hour: float
) -> tuple[np.ndarray, np.ndarray]:
    """Annual sum and largest spell of one year, shape (orientation, cell); every hour of every wall is touched."""
    rain, east, north = (weather[name].astype(float) for name in ("rain", "eastward_wind", "northward_wind"))
    speed = np.hypot(east, north)
    driving = is_driving(rain, speed, wet_hour=wet_hour)
    amount = np.where(driving, 2 / 9 * speed * rain ** (8 / 9), 0.0)
    direction = np.arctan2(-east, -north)
    hours, cells = rain.shape
    clock = np.arange(hours)[:, None]
    annual, largest = np.empty((orientations, cells)), np.zeros((orientations, cells))
    for k in range(orientations):
        cosine = np.cos(direction - 2 * np.pi * k / orientations)
        share = amount * np.maximum(cosine, 0)
        annual[k] = share.sum(0)
        hit = (cosine > EDGE_COSINE) & driving
        last = np.maximum.accumulate(np.where(hit, clock, NEVER), axis=0)
        before = np.concatenate([np.full((1, cells), NEVER), last[:-1]])
        begins = hit & (clock - before > SPELL_GAP)
        gathered = np.cumsum(np.where(hit, share, 0.0), axis=0)
        c, t = np.nonzero(begins.T)
        if c.size == 0:
            continue
        base = np.where(t > 0, gathered[np.maximum(t - 1, 0), c], 0.0)
        end = np.where(np.append(c[1:] == c[:-1], False), np.append(t[1:] - 1, 0), hours - 1)
        np.maximum.at(largest[k], c, gathered[end, c] - base)
    return annual, largest


def xarray_form(
    weather: dict[str, np.ndarray], *, orientations: int, wet_hour: float
) -> tuple[np.ndarray, np.ndarray]:
    """The same with xarray, cell by cell on the driving hours only."""
    data = xr.Dataset({name: (("time", "cell"), value) for name, value in weather.items()})
    data = data.assign_coords(hour=("time", np.arange(data.sizes["time"])))
    cells = data.sizes["cell"]
    walls = xr.DataArray(np.arange(orientations) * 2 * np.pi / orientations, dims="orientation")
    annual, largest = np.empty((orientations, cells)), np.zeros((orientations, cells))
    for c in range(cells):
        cell = data.isel(cell=c).astype(float)
        speed = np.hypot(cell["eastward_wind"], cell["northward_wind"])
        wet = cell.isel(time=np.flatnonzero(is_driving(cell["rain"].values, speed.values, wet_hour=wet_hour)))
        amount = 2 / 9 * np.hypot(wet["eastward_wind"], wet["northward_wind"]) * wet["rain"] ** (8 / 9)
        cosine = np.cos(np.arctan2(-wet["eastward_wind"], -wet["northward_wind"]) - walls)
        share = amount * cosine.clip(min=0)
        annual[:, c] = share.sum("time")
        hours, parts = wet["hour"].values.astype(int), share.transpose("orientation", "time").values
        for k in range(orientations):
            hits = np.flatnonzero(cosine.transpose("orientation", "time").values[k] > EDGE_COSINE)
            spells = find_spells(hours[hits], parts[k, hits])
            largest[k, c] = spells.total.max(initial=0.0)
    return annual, largest
