"""Hills by sector from a ground-height raster: profile, crest, slope, position, and the coefficient they give."""

from collections.abc import Sequence
from dataclasses import replace
from typing import NamedTuple

import numpy as np
from shapely import LineString

from exposure.doubts import doubt
from exposure.rain.hour import TERRAIN_SECTORS
from exposure.site.plane import LocalPlane, offset
from exposure.site.raster import Raster
from exposure.site.sector import SectorHill
from exposure.site.topography import LEAST_SLOPE, effective_length, shape_factor, topography_coefficient

RELIEF_REACH = 5000.0  # m of profile either way; our choice
FINEST, COARSEST = 10.0, 100.0  # m between profile points; our choice
TURNS = (-10.0, 0.0, 10.0)  # profiles of a sector, degrees off its middle; the hardest governs; our choice
STRAIGHT = 0.2  # of the rise; a slope may bulge this far from a straight line; our choice
SMOOTHING = 0.03  # of the profile's relief; smaller bumps are no features; our choice
BLURRED = 8  # pixels; a shorter slope is blurred by the raster; our choice
LEAST_EFFECT = 0.005  # a hill that adds less is called flat; our choice
LEAST_BUMP = 1.0  # m, the same
BATHYMETRY = -10.0  # m; ground lower than this beside higher land is sea floor; our choice
SHORT_GAP = 3  # missing points that are bridged by a straight line


class Profile(NamedTuple):
    """Ground along a line through the building: metres downwind of it, and ground height [m]."""

    bearing: float
    along: np.ndarray
    ground: np.ndarray
    bridged: int
    cut: bool


def ground_profile(raster: Raster, plane: LocalPlane, bearing: float) -> Profile:
    """Ground under the wind that comes from ``bearing``, from 5 km upwind to 5 km downwind of the building.

    Sea floor is raised to the sea; gaps of up to three points are bridged; at a longer gap, or the raster's
    edge, the profile ends.
    """
    step = float(np.clip(raster.pixel(plane), FINEST, COARSEST))
    count = int(RELIEF_REACH / step)
    along = np.arange(-count, count + 1) * step
    east, north = offset(bearing=bearing, distance=-along)
    ground = raster.sample(plane, east, north)
    if np.isfinite(ground[count]) and ground[count] > BATHYMETRY:
        ground = np.where(ground < BATHYMETRY, 0.0, ground)
    first, last = _told_around(np.isfinite(ground), count)
    along, ground = along[first : last + 1], ground[first : last + 1]
    missing = ~np.isfinite(ground)
    if missing.all():
        return Profile(bearing, np.zeros(0), np.zeros(0), 0, True)
    if missing.any():
        ground = np.where(missing, np.interp(along, along[~missing], ground[~missing]), ground)
    return Profile(bearing, along, ground, int(missing.sum()), first > 0 or last < 2 * count)


def _told_around(told: np.ndarray, middle: int) -> tuple[int, int]:
    """First and last position around ``middle`` that no long gap parts from it."""
    ends = []
    for side in (told[middle::-1], told[middle:]):
        gap = np.convolve(~side, np.ones(SHORT_GAP + 1, dtype=int))[: side.size] > SHORT_GAP
        reach = int(np.flatnonzero(gap)[0]) - SHORT_GAP - 1 if gap.any() else side.size - 1
        known = np.flatnonzero(side[: reach + 1])
        ends.append(int(known[-1]) if known.size else 0)
    return middle - ends[0], middle + ends[1]


def hardest_hill(hills: Sequence[SectorHill], *, least_rise: float = 0.0) -> SectorHill:
    """The one that speeds the wind up most at the building, of those that rise by ``least_rise`` [m]; the first is flat ground."""
    best, *others = hills
    for hill in others:
        if hill.rise >= least_rise and hill.coefficient > best.coefficient + 1e-9:
            best = hill
    return best


def hills_on_profile(profile: Profile, *, height: float) -> list[SectorHill]:
    """The flat ground, and every slope up to a crest that may govern a building, ``height`` m above its ground.

    The profile is reduced to straight slopes. Each pair of a foot and a crest downwind of it is tried that
    rises by 1 in 20 or more, with no lower foot or higher crest between and hardly bulging from a straight
    line. Ground that falls by less than 1 in 20 behind the crest makes it an escarpment. A crest with higher
    ground between it and the building does not govern, nor does one whose foot lies above the building. A raster
    cannot place a crest better than a pixel: one that lies up to a step ahead of the building counts as here, the
    harder reading, and it rounds off both ends of a slope: one a few pixels long that falls short of 1 in 20 by
    that alone counts.
    """
    along, ground = profile.along, profile.ground
    flat = SectorHill(profile.bearing, along=_floats(along), ground=_floats(ground))
    if ground.size < 3:
        return [flat]
    step = float(np.median(np.diff(along)))
    smoothing = max(LEAST_BUMP, SMOOTHING * float(np.ptp(ground)))
    line = np.asarray(LineString(np.column_stack([along, ground])).simplify(smoothing).coords)
    found = [flat]
    points = line.tolist()
    for c in range(1, len(points)):
        crest, top = points[c]
        lowest = top
        for f in range(c - 1, -1, -1):
            foot, low = points[f]
            rise = top - low
            if low > top:
                break  # another crest lies between: further feet belong to that one
            lowest = min(lowest, low)
            if low > lowest or not _straight(points[f : c + 1]) or not _reaches(line[c:], low, rise):
                continue
            length = _length(profile, foot, crest, rise, step)
            hill = _with_slope(flat, line[c:], foot, low, length, step=step, height=height)
            if hill is not None:
                found.append(hill)
    return found


def _with_slope(
    flat: SectorHill,
    behind: np.ndarray,
    foot: float,
    low: float,
    length: float,
    *,
    step: float,
    height: float,
) -> SectorHill | None:
    """The hill whose slope rises over ``length`` from its foot to the crest, the first point of ``behind``."""
    crest, top = (float(value) for value in behind[0])
    rise = top - low
    if _goes_on(behind, rise / length) or rise / length < LEAST_SLOPE:
        return None
    scale = effective_length(rise=rise, upwind_length=length)
    if height / scale > 2 or crest > 1.5 * length:
        return None
    fall = _fall_behind(behind, rise)
    position = -crest
    if -step <= position < 0:
        position = 0.0  # a crest less than a step ahead may as well be here
    s = shape_factor(
        position=position,
        height=height,
        rise=rise,
        upwind_length=length,
        downwind_length=fall or length,
        cliff=fall is None,
    )
    value = topography_coefficient(slope=rise / length, shape_factor=s)
    if value < 1 + LEAST_EFFECT:
        return None
    return replace(
        flat,
        coefficient=value,
        shape="escarpment" if fall is None else "ridge",
        slope=rise / length,
        rise=rise,
        upwind_length=length,
        downwind_length=fall or 0.0,
        position=position,
        shape_factor=s,
        foot=foot,
        crest=crest,
    )


def _length(profile: Profile, foot: float, crest: float, rise: float, step: float) -> float:
    """Of a slope as it is drawn; of one a few pixels long that then seems too gentle to count, without what they blur. [m]"""
    drawn = crest - foot
    gentle = rise / drawn < LEAST_SLOPE and drawn < BLURRED * step
    return _unblurred(profile, foot, crest, step) if gentle else drawn


def _unblurred(profile: Profile, foot: float, crest: float, step: float) -> float:
    """Length of a slope of a few pixels, whose ends a raster rounds off: by its middle four fifths. [m]

    Never shorter by more than a pixel at either end or by three tenths, nor longer.
    """
    on = (profile.along >= foot - 1e-6) & (profile.along <= crest + 1e-6)
    along, ground = profile.along[on], profile.ground[on]
    low, high, drawn = ground[0], ground[-1], crest - foot
    at = []
    for share in (0.1, 0.9):
        mark = low + share * (high - low)
        over = int(np.argmax(ground >= mark))
        before = max(over - 1, 0)
        part = (mark - ground[before]) / max(ground[over] - ground[before], 1e-9)
        at.append(along[before] + min(max(part, 0.0), 1.0) * (along[over] - along[before]))
    return float(min(max((at[1] - at[0]) / 0.8, drawn - 2 * step, 0.7 * drawn), drawn))


def _goes_on(behind: np.ndarray, slope: float) -> bool:
    """Whether the ground keeps rising behind this point by half the slope before it: then it is no crest."""
    if len(behind) < 2:
        return False
    (x0, z0), (x1, z1) = behind[0], behind[1]
    return bool((z1 - z0) / (x1 - x0) >= max(LEAST_SLOPE, slope / 2))


def _reaches(behind: np.ndarray, foot: float, rise: float) -> bool:
    """Whether a crest (first point of ``behind``) can matter at the building, which stands at 0.

    Not when ground higher by a fifth of the rise lies between them, nor when the building stands lower than the feature's foot: it
    is in the lee of something else then.
    """
    before = behind[behind[:, 0] < 0]
    if len(before) == 0:
        return True
    here = float(np.interp(0.0, behind[:, 0], behind[:, 1]))
    return bool(
        max(before[:, 1].max(), here) <= behind[0, 1] + max(LEAST_BUMP, STRAIGHT * rise) and here >= foot
    )


def _straight(slope: Sequence[Sequence[float]]) -> bool:
    """Whether the points between the ends keep within a fifth of the rise of a straight line."""
    (x0, z0), (x1, z1) = slope[0], slope[-1]
    most = STRAIGHT * abs(z1 - z0)
    return all(abs(z - (z0 + (x - x0) / (x1 - x0) * (z1 - z0))) <= most for x, z in slope)


def _fall_behind(line: np.ndarray, rise: float) -> float | None:
    """Length of the slope behind the crest (first point of ``line``), None when it falls less than 1 in 20. [m]

    The slope ends where the ground has fallen as far as it rose before the crest, however much deeper it goes.
    """
    longest = None
    for d in range(1, len(line)):
        fall, length = line[0, 1] - line[d, 1], line[d, 0] - line[0, 0]
        if line[1 : d + 1, 1].max() > line[0, 1] + max(LEAST_BUMP, STRAIGHT * rise):
            break
        steep = fall / length >= LEAST_SLOPE and line[1 : d + 1, 1].min() >= line[d, 1]
        if steep and _straight(line[: d + 1].tolist()):
            longest = float(length)
    if longest is None:
        return None
    deep = np.flatnonzero((line[:, 1] <= line[0, 1] - rise) & (line[:, 0] - line[0, 0] <= longest))
    if deep.size == 0:
        return longest
    (x0, z0), (x1, z1) = line[deep[0] - 1], line[deep[0]]
    return float(x0 + (z0 - (line[0, 1] - rise)) / (z0 - z1) * (x1 - x0) - line[0, 0])


class Lines:
    """Lines of ground through one building for walls of one height, each taken from the raster and looked through once."""

    def __init__(self, raster: Raster, plane: LocalPlane, *, height: float) -> None:
        self._of = raster, plane, height
        self._taken: dict[float, tuple[Profile, list[SectorHill]]] = {}

    def of_sector(self, sector: int) -> list[tuple[Profile, list[SectorHill]]]:
        """The profiles of a sector, at ``TURNS`` off its middle, each with its :func:`hills_on_profile`."""
        raster, plane, height = self._of
        found = []
        for turn in TURNS:
            bearing = (sector * 360.0 / TERRAIN_SECTORS + turn) % 360
            if bearing not in self._taken:
                profile = ground_profile(raster, plane, bearing)
                self._taken[bearing] = profile, hills_on_profile(profile, height=height)
            found.append(self._taken[bearing])
        return found


def hills_by_sector(
    raster: Raster, plane: LocalPlane, *, height: float, lines: Lines | None = None
) -> tuple[tuple[SectorHill, ...], tuple[str, ...]]:
    """The governing hill of each of the twelve sectors, and the doubts about the ground.

    Parameters
    ----------
    height
        Of the wall's top above the ground. [m]
    lines
        Those of the same ground, place and height, where they are wanted again afterwards.
    """
    lines = lines or Lines(raster, plane, height=height)
    found, flags = [], list(raster.flags)
    pixel = raster.pixel(plane)
    if pixel > COARSEST:
        flags.append(doubt("site.coarse_ground", raster.source, pixel=pixel))
    here = float(raster.sample(plane, np.zeros(1), np.zeros(1))[0])
    if here < BATHYMETRY:
        flags.append(doubt("site.below_the_sea", raster.source, depth=-here))
    cut: list[float] = []
    bridged = 0
    for k in range(TERRAIN_SECTORS):
        profiles, each = zip(*lines.of_sector(k), strict=True)
        hills = [hardest_hill(one) for one in each]
        middle = len(TURNS) // 2
        best = max([hills[middle], *hills], key=lambda hill: hill.coefficient)
        found.append(_hill_or_ridge(best, raster, plane))
        bridged += profiles[middle].bridged
        if profiles[middle].cut:
            cut.append(-float(profiles[middle].along[0]) if profiles[middle].along.size else 0.0)
    if cut:
        flags.append(doubt("site.ground_ends", raster.source, away=min(cut) / 1000, sectors=len(cut)))
    if bridged:
        flags.append(doubt("site.bridged_heights", raster.source, count=bridged))
    return tuple(found), tuple(flags)


def _hill_or_ridge(hill: SectorHill, raster: Raster, plane: LocalPlane) -> SectorHill:
    """Call a crest a hill when the ground falls away to both sides of it too, by half its rise."""
    if hill.shape != "ridge" or hill.crest is None:
        return hill
    east, north = offset(bearing=hill.bearing, distance=-hill.crest)
    aside_east, aside_north = offset(bearing=hill.bearing + 90, distance=hill.upwind_length)
    sides = raster.sample(
        plane,
        np.array([east + aside_east, east - aside_east]),
        np.array([north + aside_north, north - aside_north]),
    )
    top = float(np.interp(hill.crest, hill.along, hill.ground))
    return replace(hill, shape="hill") if np.all(top - sides > hill.rise / 2) else hill


def _floats(values: np.ndarray) -> tuple[float, ...]:
    return tuple(np.asarray(values, dtype=float).tolist())
