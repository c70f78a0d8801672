"""Ground on which the standard is not valid, or doubtful: mountains, sheer cliffs, steep valleys."""

import numpy as np

from exposure.doubts import Doubt, doubt
from exposure.rain.orientation import COMPASS
from exposure.site.plane import LocalPlane, offset
from exposure.site.raster import Raster
from exposure.site.relief import BATHYMETRY

HIGH_GROUND = 1000.0  # m above the sea; our choice
MOUNTAIN_RELIEF = 500.0  # m within 5 km; our choice
SHEER = 1.0  # rise over run between points of the raster within 1 km; our choice
VALLEY_DEPTH, VALLEY_SLOPE, VALLEY_REACH = 50.0, 0.1, 1000.0  # m, 1, m; our choice
BEARINGS = np.arange(0.0, 360.0, 15.0)


def high_ground_doubts(ground_height: float | None) -> list[Doubt]:
    """What the standard is not meant for on high ground: mountains, and precipitation that is much snow.

    Examples
    --------
    >>> [one.key for one in high_ground_doubts(1200.0)], high_ground_doubts(90.0), high_ground_doubts(None)
    (['site.high_ground'], [], [])
    """
    if ground_height is None or ground_height < HIGH_GROUND:
        return []
    return [doubt("site.high_ground", height=f"{ground_height:,.0f}")]


def rough_country_flags(raster: Raster, plane: LocalPlane) -> tuple[str, ...]:
    """Doubts about relief beyond the standard (mountains with sheer cliffs or gorges are outside it)."""
    step = float(np.clip(raster.pixel(plane), 10.0, 250.0))
    distance = np.arange(0.0, 5000.0 + step, step)
    east, north = offset(bearing=BEARINGS[:, None], distance=distance)
    ground = raster.sample(plane, east, north)
    if np.isfinite(ground[0, 0]) and ground[0, 0] > BATHYMETRY:
        ground = np.where(ground < BATHYMETRY, 0.0, ground)
    flags = []
    if not np.isfinite(ground).any():
        return ()
    relief = float(np.nanmax(ground) - np.nanmin(ground))
    if relief > MOUNTAIN_RELIEF:
        flags.append(doubt("site.mountains", raster.source, relief=relief))
    near = distance <= 1000.0
    steepest = float(np.nanmax(np.abs(np.diff(ground[:, near], axis=1)) / step, initial=0.0))
    if steepest > SHEER:
        flags.append(
            doubt("site.sheer_cliffs", raster.source, steepest=float(np.degrees(np.arctan(steepest))))
        )
    valley = _valley(ground, distance)
    if valley is not None:
        flags.append(doubt("site.steep_valley", raster.source, sides=_pair(valley)))
    return tuple(flags)


def _valley(ground: np.ndarray, distance: np.ndarray) -> float | None:
    """Bearing of one side when the ground rises steeply on two opposite sides, else None."""
    near = (distance > 0) & (distance <= VALLEY_REACH)
    rise = ground[:, near] - ground[:, :1]
    steep = ((rise >= VALLEY_DEPTH) & (rise / distance[near] >= VALLEY_SLOPE)).any(axis=1)
    both = steep & np.roll(steep, len(BEARINGS) // 2)
    return float(BEARINGS[np.flatnonzero(both)[0]]) if both.any() else None


def _pair(bearing: float) -> str:
    return f"{COMPASS[round(bearing / 45) % 8]} and {COMPASS[round(bearing / 45 + 4) % 8]}"
