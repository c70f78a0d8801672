"""What stands in front of walls, as arrays: how far each ray of a wall's view runs, and what shelter that gives.

Any number of walls of any number of buildings at once, each in the plane of its own building.
"""

from typing import NamedTuple

import numpy as np
import shapely

VIEW = 60.0  # degrees either side of the wall's normal; our choice
LEAST_VIEW = 0.5  # of the view that must be filled; our choice
FAR = 120.0  # m; farther obstacles shelter nothing, ISO 15927-3 (from memory, not checked)
RAY_STEP = 5.0  # degrees
ORIGINS = np.array([0.1, 0.5, 0.9])  # along the wall; the barest of the three views counts; our choice
STREET_SIDES = 40.0  # m; buildings nearer than this flank a street, and it reaches past them; our choice
STREET = 15.0  # degrees of such a gap that may lead wind to the wall; our choice
ALIKE = 0.25  # of their median height; neighbours within it are a row of similar buildings; our choice
RAYS = np.arange(-VIEW, VIEW + RAY_STEP / 2, RAY_STEP)
BEFORE_WALL = 0.05  # m; where a ray begins
AS_TALL = 0.05  # m; an obstacle lower by less counts as tall as the wall
SIGHT = FAR / float(np.cos(np.deg2rad(VIEW)))  # m; the longest ray
_AT_ONCE = 4000  # corners worked on together: what a processor keeps at hand


class Corners(NamedTuple):
    """Polygons as the corners of their rings, one after the other."""

    x: np.ndarray
    y: np.ndarray
    joins: np.ndarray  # whether a side runs from this corner to the next
    first: np.ndarray  # shape (polygon + 1,): each one's first corner


class Sights(NamedTuple):
    """What each wall sees; distances straight in front of it. [m]"""

    origins: np.ndarray  # (wall, 3, 2), where its rays begin
    depth: np.ndarray  # (wall, 3, ray), infinite where a ray is free
    nearest: np.ndarray  # infinite where nothing stands in view
    filled: np.ndarray  # share of the view, from the barest of the three points [1]
    half: np.ndarray  # within which half the view is filled; infinite where it never is
    street: np.ndarray
    rows: np.ndarray

    @property
    def distance(self) -> np.ndarray:
        """To the obstacle that counts as shelter; missing where none does. [m]"""
        counts = (self.filled >= LEAST_VIEW) & np.isfinite(self.half) & ~self.street & ~self.rows
        return np.where(counts, self.half, np.nan)


def corners_of(polygons: np.ndarray) -> Corners:
    """Corners of polygons of one or many parts, courtyards included.

    Examples
    --------
    >>> found = corners_of(np.array([shapely.box(0, 0, 2, 1), shapely.box(5, 0, 6, 1)]))
    >>> found.first.tolist(), found.joins.tolist()
    ([0, 5, 10], [True, True, True, True, False, True, True, True, True, False])
    """
    parts, of_polygon = shapely.get_parts(np.asarray(polygons, dtype=object), return_index=True)
    rings, of_part = shapely.get_rings(parts, return_index=True)
    places, of_ring = shapely.get_coordinates(rings, return_index=True)
    polygon = of_polygon[of_part][of_ring] if places.size else np.zeros(0, dtype=int)
    joins = np.append(of_ring[1:] == of_ring[:-1], False)[: of_ring.size]
    return Corners(places[:, 0], places[:, 1], joins, np.searchsorted(polygon, np.arange(len(polygons) + 1)))


def positions(first: np.ndarray, chosen: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Places of what belongs to each of ``chosen``, and which of ``chosen`` each belongs to.

    Examples
    --------
    >>> [part.tolist() for part in positions(np.array([0, 2, 5]), np.array([1, 0]))]
    [[2, 3, 4, 0, 1], [0, 0, 0, 1, 1]]
    """
    count = first[chosen + 1] - first[chosen]
    whose = np.repeat(np.arange(chosen.size), count)
    before = np.cumsum(count) - count
    return first[chosen][whose] + np.arange(whose.size) - before[whose], whose


def sights(
    starts: np.ndarray,
    ends: np.ndarray,
    orientations: np.ndarray,
    corners: Corners,
    *,
    wall: np.ndarray,
    obstacle: np.ndarray,
    alike: np.ndarray,
) -> Sights:
    """What each wall sees of the obstacles paired with it.

    Rays fan out 60 degrees to both sides of the wall's normal from three points of the wall. Where a gap of 15
    degrees between buildings nearer than 40 m reaches farther (a street), or most stopped rays meet one similar
    building behind another (rows), the standard allows no shelter.

    Parameters
    ----------
    starts, ends
        Corners of the walls, shape (wall, 2). [m east, m north]
    orientations
        [degree]
    corners
        Of the obstacles, each in the plane of the wall it is paired with.
    wall, obstacle
        Which obstacles are as tall as which wall and may stand in its view, in the order of the walls.
    alike
        Whether the obstacles as tall as the wall are of similar height; shape (wall,).
    """
    facing = np.deg2rad(np.asarray(orientations, dtype=float))
    normal = np.column_stack([np.sin(facing), np.cos(facing)])
    along = np.asarray(ends) - starts
    origins = np.asarray(starts)[:, None] + along[:, None] * ORIGINS[:, None]
    origins = origins + BEFORE_WALL * normal[:, None]
    depth = np.full((len(origins), ORIGINS.size, RAYS.size), np.inf)
    met = np.zeros(depth.shape, dtype=np.int32)
    size = np.cumsum(corners.first[obstacle + 1] - corners.first[obstacle])
    cuts = np.searchsorted(size, np.arange(_AT_ONCE, size[-1] if size.size else 0, _AT_ONCE))
    for pairs in np.split(np.arange(size.size), np.unique(cuts)):
        if pairs.size:
            _meet(origins, normal, corners, wall[pairs], obstacle[pairs], depth, met)
    stopped = np.isfinite(depth)
    second = np.asarray(met > 1).sum(axis=(1, 2))
    middle = int(np.ceil(LEAST_VIEW * (RAYS.size - 1)))
    return Sights(
        origins,
        depth,
        depth.min(axis=(1, 2)),
        stopped.mean(axis=2).min(axis=1),
        np.partition(depth, middle, axis=2)[:, :, middle].max(axis=1),
        np.asarray(_streets(depth).any(axis=1)),
        (second >= 0.5 * stopped.sum(axis=(1, 2))) & stopped.any(axis=(1, 2)) & alike,
    )


def _meet(
    origins: np.ndarray,
    normal: np.ndarray,
    corners: Corners,
    wall: np.ndarray,
    obstacle: np.ndarray,
    depth: np.ndarray,
    met: np.ndarray,
) -> None:
    """Put into ``depth`` how far off each ray meets the obstacles, and into ``met`` how many it meets."""
    at, pair = positions(corners.first, obstacle)
    mine = wall[pair]
    east = corners.x[at][:, None] - origins[mine, :, 0]
    north = corners.y[at][:, None] - origins[mine, :, 1]
    ahead = east * normal[mine, None, 0] + north * normal[mine, None, 1]  # (corner, origin)
    right = east * normal[mine, None, 1] - north * normal[mine, None, 0]
    beside = right[:, :, None] - np.tan(np.deg2rad(RAYS)) * ahead[:, :, None]  # of each ray
    over = beside > 0
    side, origin, ray = np.nonzero((over[1:] != over[:-1]) & corners.joins[at][:-1, None, None])
    one, other = beside[side, origin, ray], beside[side + 1, origin, ray]
    off = ahead[side, origin] + one / (one - other) * (ahead[side + 1, origin] - ahead[side, origin])
    seen = off >= 0
    ahead_only = seen & (ray == RAYS.size // 2)
    shape = (obstacle.size, ORIGINS.size)
    inside = np.zeros(shape, dtype=int)
    np.add.at(inside.reshape(-1), pair[side[ahead_only]] * ORIGINS.size + origin[ahead_only], 1)
    hit = np.zeros((*shape, RAYS.size), dtype=bool)
    hit[inside % 2 == 1] = True  # the ray begins in it
    within, begins = np.nonzero(inside % 2 == 1)
    depth[wall[within], begins] = 0.0  # and runs nowhere
    seen &= off <= FAR
    side, origin, ray, off = side[seen], origin[seen], ray[seen], off[seen]
    np.minimum.at(depth.reshape(-1), (wall[pair[side]] * ORIGINS.size + origin) * RAYS.size + ray, off)
    hit[pair[side], origin, ray] = True
    first = np.flatnonzero(np.diff(wall, prepend=-1))
    met[wall[first]] += np.add.reduceat(hit, first, axis=0, dtype=met.dtype)


def _streets(depth: np.ndarray) -> np.ndarray:
    """Whether a gap of 15 degrees or more that reaches past the near buildings lies between two of them; rays last."""
    near = depth <= STREET_SIDES
    place = np.arange(RAYS.size)
    last = np.maximum.accumulate(np.where(near, place, -RAYS.size), axis=-1)  # none yet: far off
    gap = place[1:] - last[..., :-1] - 1
    wide = near[..., 1:] & (gap >= round(STREET / RAY_STEP)) & (last[..., :-1] >= 0)
    return np.asarray(wide.any(axis=-1))


def are_alike(heights: np.ndarray) -> bool:
    """Whether at least half of ``heights`` lie within a quarter of their median; none are not."""
    if not heights.size:
        return False
    middle = float(np.median(heights))
    return bool(np.mean(np.abs(heights - middle) <= ALIKE * middle) >= 0.5)
