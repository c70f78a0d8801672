"""Which part of a frame hides which: faces in the order in which they are painted, far ones first.

Two faces are compared where they lie on each other in the picture: what the eye meets first hides the other. Of two in
one place the later one lies on top, as tape on a membrane.
"""

from collections.abc import Sequence
from functools import lru_cache
from heapq import heappop, heappush
from itertools import pairwise
from math import hypot

import numpy as np
from shapely import GEOSException, LineString, Point, Polygon
from shapely.geometry.base import BaseGeometry

from exposure.junction.work_faces import LEAN, Face, Spot

TOUCHING = 0.05  # mm of depth, and of the picture, that count as none


def painting_order(faces: Sequence[Face], on_top: Sequence[str] = ()) -> list[int]:
    """Places of the faces from the far to the near one; materials ``on_top`` last of all.

    >>> wall, before = (Face(((0, 0, d), (9, 0, d), (9, 9, d), (0, 9, d)), "film") for d in (0.0, -5.0))
    >>> painting_order([before, wall])
    [1, 0]
    """
    count = len(faces)
    depths = [[d for _, _, d in face.points] for face in faces]
    low, high = (np.array([limit(each) for each in depths]) for limit in (min, max))
    seen = np.array([_box(face) for face in faces]).reshape(count, 4)
    top = np.array([face.material in on_top for face in faces], dtype=bool)
    meet = (
        (seen[:, None, 0] < seen[None, :, 2] - TOUCHING)
        & (seen[None, :, 0] < seen[:, None, 2] - TOUCHING)
        & (seen[:, None, 1] < seen[None, :, 3] - TOUCHING)
        & (seen[None, :, 1] < seen[:, None, 3] - TOUCHING)
        & ~(top[:, None] | top[None, :])
    )
    behind: list[list[int]] = [[] for _ in faces]  # by place, those that hide it
    waits = [0] * count
    for one, other in zip(*np.nonzero(np.triu(meet, 1)), strict=True):
        first, second = int(one), int(other)
        if low[first] >= high[second] - TOUCHING:
            hides = 1
        elif low[second] > high[first] + TOUCHING:
            hides = -1
        else:
            hides = _hides(faces[first], faces[second])
        if hides:
            far, near = (first, second) if hides > 0 else (second, first)
            behind[far].append(near)
            waits[near] += 1
    ranks = [(-sum(d) / len(d), place) for place, d in enumerate(depths)]
    under = [rank for rank in ranks if not top[rank[1]]]
    return _far_first(behind, waits, under) + [place for _, place in sorted(ranks) if top[place]]


def _far_first(
    behind: Sequence[Sequence[int]], waits: list[int], ranks: Sequence[tuple[float, int]]
) -> list[int]:
    """Each after all it hides; where they go round in a ring the deepest of those left begins."""
    free = sorted(rank for rank in ranks if not waits[rank[1]])
    rank_of = {rank[1]: rank for rank in ranks}
    left = dict.fromkeys(place for _, place in sorted(ranks))  # deepest first
    done: list[int] = []
    while left:
        place = heappop(free)[1] if free else next(iter(left))
        if place not in left:
            continue
        del left[place]
        done.append(place)
        for near in behind[place]:
            waits[near] -= 1
            if not waits[near]:
                heappush(free, rank_of[near])
    return done


def _seen(spot: Spot) -> tuple[float, float]:
    x, z, d = spot
    return x + LEAN[0] * d, z + LEAN[1] * d


@lru_cache(maxsize=20_000)
def _box(face: Face) -> tuple[float, float, float, float]:
    across, up = zip(*map(_seen, face.points), strict=True)
    spare = 2 * TOUCHING if face.line else 0.0  # a line along an edge still has a box
    return min(across) - spare, min(up) - spare, max(across) + spare, max(up) + spare


@lru_cache(maxsize=20_000)
def _shape(face: Face) -> BaseGeometry:
    points = [_seen(spot) for spot in face.points]
    return LineString(points) if face.line else Polygon(points)


@lru_cache(maxsize=100_000)
def _hides(first: Face, second: Face) -> int:
    """1 where the second hides the first, -1 where the first hides the second, 0 where they do not meet."""
    try:
        shared = _shape(first).intersection(_shape(second))
    except GEOSException:
        return 1
    if shared.is_empty or max(shared.area, shared.length if first.line or second.line else 0.0) < TOUCHING:
        return 0
    spot = shared.representative_point()
    depth = _depth(first, spot.x, spot.y) - _depth(second, spot.x, spot.y)
    return -1 if depth < -TOUCHING else 1


def _depth(face: Face, across: float, up: float) -> float:
    """Depth at which the eye meets the plane of a face at a spot of the picture; of a line, that of its nearest point."""
    deeps = [d for _, _, d in face.points]
    if max(deeps) - min(deeps) < TOUCHING:
        return deeps[0]
    if face.line:
        lengths = np.cumsum([0.0, *np.hypot(*np.diff([_seen(spot) for spot in face.points], axis=0).T)])
        return float(np.interp(_shape(face).project(Point(across, up)), lengths, deeps))
    (nx, nz, nd), (x, z, d) = _plane(face)
    slant = nd - LEAN[0] * nx - LEAN[1] * nz  # what lies deeper is seen farther right and up
    if abs(slant) < 1e-6:
        return d
    return (nx * (x - across) + nz * (z - up) + nd * d) / slant


@lru_cache(maxsize=20_000)
def _plane(face: Face) -> tuple[Spot, Spot]:
    """A face's normal, from all its corners, and its middle."""
    nx = nz = nd = 0.0
    for (ax, az, ad), (bx, bz, bd) in pairwise((*face.points, face.points[0])):
        nx += (az - bz) * (ad + bd)
        nz += (ad - bd) * (ax + bx)
        nd += (ax - bx) * (az + bz)
    size = hypot(nx, nz, nd) or 1.0
    x, z, d = (sum(spot) / len(face.points) for spot in zip(*face.points, strict=True))
    return (nx / size, nz / size, nd / size), (x, z, d)
