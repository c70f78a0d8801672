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

from exposure.draw.drawing import Box
from exposure.junction.work_faces import LEAN, Face, Spot, seen

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
    boxes = np.array([_box(face) for face in faces]).reshape(count, 4)
    square = np.array([_fills_its_box(face) for face in faces], dtype=bool)
    top = np.array([face.material in on_top for face in faces], dtype=bool)
    meet = (
        (boxes[:, None, 0] < boxes[None, :, 2] - TOUCHING)
        & (boxes[None, :, 0] < boxes[:, None, 2] - TOUCHING)
        & (boxes[:, None, 1] < boxes[None, :, 3] - TOUCHING)
        & (boxes[None, :, 1] < boxes[:, None, 3] - TOUCHING)
        & ~(top[:, None] | top[None, :])
    )
    hidden_by: list[dict[int, float]] = [{} for _ in faces]  # by place, those that hide it and how much of it
    ones, others = np.nonzero(np.triu(meet, 1))
    by_box = np.where(low[ones] >= high[others] - TOUCHING, 1, -1) * _shared(boxes[ones], boxes[others])
    boxed = square[ones] & square[others]
    for first, second, is_boxed, hides in zip(
        *map(np.ndarray.tolist, (ones, others, boxed, by_box)), strict=True
    ):
        if not is_boxed:
            hides = _hides(faces[first], faces[second])
        if hides:
            far, near = (first, second) if hides > 0 else (second, first)
            hidden_by[far][near] = abs(hides)
    ranks = [(-sum(d) / len(d), place) for place, d in enumerate(depths)]
    under = [rank for rank in ranks if not top[rank[1]]]
    return _far_first(hidden_by, under) + [place for _, place in sorted(ranks) if top[place]]


def _far_first(hidden_by: Sequence[dict[int, float]], ranks: Sequence[tuple[float, int]]) -> list[int]:
    """Each before all that hide it, the deepest first; where they go round in a ring, against the least that is hidden in it."""
    rank_of = {rank[1]: rank for rank in ranks}
    waits_for: dict[int, dict[int, float]] = {place: {} for place in rank_of}
    for far, nears in enumerate(hidden_by):
        for near, shared in nears.items():
            waits_for[near][far] = shared
    free = sorted(rank for rank in ranks if not waits_for[rank[1]])
    done: list[int] = []
    while len(done) < len(ranks):
        if free:
            place = heappop(free)[1]
            done.append(place)
            met = [(near, place) for near in hidden_by[place] if place in waits_for[near]]
        else:
            met = [_least_in_a_ring(waits_for)]
        for near, far in met:
            del waits_for[near][far]
            if not waits_for[near]:
                heappush(free, rank_of[near])
    return done


def _least_in_a_ring(waits_for: dict[int, dict[int, float]]) -> tuple[int, int]:
    """The near and the far one of the pair that shares least, of the first ring that is met."""
    place = next(place for place, fars in waits_for.items() if fars)
    way = [place]
    while (place := next(iter(waits_for[place]))) not in way:
        way.append(place)
    ring = [*way[way.index(place) :], place]
    return min(pairwise(ring), key=lambda pair: waits_for[pair[0]][pair[1]])


def _shared(some: np.ndarray, others: np.ndarray) -> np.ndarray:
    """How much each of some boxes shares with the other in its row; of a line, its length."""
    long = np.minimum(some[:, 2:], others[:, 2:]) - np.maximum(some[:, :2], others[:, :2])
    return np.maximum(long, TOUCHING).prod(axis=1)


@lru_cache(maxsize=20_000)
def _box(face: Face) -> Box:
    across, up = zip(*map(seen, face.points), strict=True)
    return min(across), min(up), max(across), max(up)


@lru_cache(maxsize=20_000)
def _fills_its_box(face: Face) -> bool:
    """Whether a face is an upright rectangle before the reader, or one line along it."""
    x, z, d = (len(set(each)) for each in zip(*face.points, strict=True))
    return d == 1 and (min(x, z) == 1 if face.line else (x, z, len(face.points)) == (2, 2, 4))


@lru_cache(maxsize=20_000)
def _shape(face: Face) -> BaseGeometry:
    points = [seen(spot) for spot in face.points]
    return LineString(points) if face.line else Polygon(points)


@lru_cache(maxsize=100_000)
def _hides(first: Face, second: Face) -> float:
    """How much of the first the second hides, less than nothing where the first hides the second, 0 where they do not meet."""
    try:
        shared = _shape(first).intersection(_shape(second))
    except GEOSException:
        return 1.0
    much = shared.length if first.line or second.line else shared.area
    if much < TOUCHING:
        return 0.0
    spot = shared.representative_point()
    depth = _depth(first, spot.x, spot.y) - _depth(second, spot.x, spot.y)
    return -much if depth < -TOUCHING else much


def _depth(face: Face, across: float, up: float) -> float:
    """Depth at which the eye meets the plane of a face at a spot of the picture; of a line, that of its nearest point."""
    deeps = [d for _, _, d in face.points]
    if max(deeps) - min(deeps) < TOUCHING:
        return deeps[0]
    if face.line:
        lengths = np.cumsum([0.0, *np.hypot(*np.diff([seen(spot) for spot in face.points], axis=0).T)])
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
