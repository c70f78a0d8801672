"""Rings of a drawn junction in free air near their parts, each with a short leader that crosses no number and no other leader."""

from collections.abc import Callable, Sequence

import numpy as np

from exposure.draw.drawing import Box, Point
from exposure.draw.junction_room import Room

Leader = tuple[Point, Point]

AT_ONCE = 192  # places looked at together, nearest first
OUTLINE = 5.0  # what a leader costs for each outline of a part it crosses, as if so much longer
LEAST = 4.0  # of a leader, or the ring hides its end
BESIDE = 40.0  # what a leader costs that ends beside the end of another
LEAN, LEVEL = 0.1, 120.0  # a leader less steep looks like a sheet or a ledge: as if it were so much longer
DOTS = 6.0  # from the end of a leader to another, to be told from it


class Taken:
    """What labels and leaders are already there."""

    def __init__(self, boxes: Sequence[Box], leaders: Sequence[Leader]) -> None:
        self.boxes = np.array(boxes, float).reshape(-1, 4)
        self.leaders = np.array([(*a, *b) for a, b in leaders], float).reshape(-1, 4)
        self.ends = self.leaders[:, 2:]


def nearest_place(
    room: Room,
    spots: Sequence[Point],
    taken: Taken,
    *,
    radius: float,
    apart: float,
    most: float,
    passes: Callable[[Leader], bool],
) -> tuple[Point, Leader] | None:
    """Middle of the ring and leader of the cheapest place in free air that costs less than ``most``.

    Parameters
    ----------
    room
        Free air, and the outlines a leader would rather not cross.
    spots
        Where the leader may end.
    apart
        From the ring to what else stands there.
    passes
        Whether a leader keeps off numbers and the lines of sizes.

    Examples
    --------
    >>> wall = np.array([(40.0, 0, 40, 99)])
    >>> nothing = Taken([], [])
    >>> found = nearest_place(Room({}, np.array([(10.0, 30), (90, 30)]), wall), [(50.0, 50)], nothing, radius=10, apart=2, most=99, passes=lambda _: True)
    >>> found[0]
    (90.0, 30.0)
    """
    air, ends = room.air, np.array(spots, float)
    ways = ends[None, :, :] - air[:, None, :]
    reach = np.hypot(ways[..., 0], ways[..., 1])
    possible = np.nonzero((reach - radius > LEAST) & (reach - radius < most))
    order = np.argsort(reach[possible], kind="stable")
    places, which = possible[0][order], possible[1][order]
    crowded = _beside(ends, taken.ends) * BESIDE
    best = None
    for start in range(0, len(order), AT_ONCE):
        at, to = places[start : start + AT_ONCE], which[start : start + AT_ONCE]
        far = reach[at, to]
        if far[0] - radius >= most:
            break
        middles, way = air[at], ways[at, to]
        free = ~_overlap(middles, taken.boxes, radius + apart)
        leaders = np.concatenate([middles + way * (radius / far)[:, None], ends[to]], axis=1)
        free &= ~through(leaders, taken.boxes).any(axis=1)
        free &= ~meetings(leaders, taken.leaders).any(axis=1)
        rings = np.concatenate([middles - radius, middles + radius], axis=1)
        free &= ~through(taken.leaders, rings).any(axis=0)
        if not free.any():
            continue
        left = np.nonzero(free)[0]
        costs = _costs(leaders[left], room.outlines) + crowded[to[left]]
        for place in np.argsort(costs, kind="stable").tolist():
            if costs[place] >= most:
                break
            ax, ay, bx, by = leaders[left[place]].tolist()
            if passes(((ax, ay), (bx, by))):
                x, y = middles[left[place]].tolist()
                best, most = ((x, y), ((ax, ay), (bx, by))), float(costs[place])
                break
    return best


def cost_of(leader: Leader, others: Sequence[Leader], outlines: np.ndarray) -> float:
    """What a leader costs: its length, and more where it lies level, passes outlines or ends beside another."""
    (ax, ay), (bx, by) = leader
    crowded = _beside(np.array([(bx, by)]), Taken([], others).ends) * BESIDE
    return float((_costs(np.array([(ax, ay, bx, by)]), outlines) + crowded)[0])


def _costs(leaders: np.ndarray, outlines: np.ndarray) -> np.ndarray:
    ax, ay, bx, by = leaders.T
    level = abs(by - ay) < LEAN * abs(bx - ax)
    return np.hypot(bx - ax, by - ay) + LEVEL * level + OUTLINE * meetings(leaders, outlines).sum(axis=1)


def _beside(ends: np.ndarray, others: np.ndarray) -> np.ndarray:
    if not len(others):
        return np.zeros(len(ends))
    return (np.hypot(*(ends[:, None, :] - others[None, :, :]).transpose(2, 0, 1)) < DOTS).any(axis=1)


def _overlap(middles: np.ndarray, boxes: np.ndarray, half: float) -> np.ndarray:
    """Whether a square about each point meets a box."""
    x, y = middles[:, 0, None], middles[:, 1, None]
    left, top, right, bottom = boxes.T
    return ((x + half > left) & (x - half < right) & (y + half > top) & (y - half < bottom)).any(axis=1)


def through(lines: np.ndarray, boxes: np.ndarray) -> np.ndarray:
    """Which lines pass through which boxes, a row for each line.

    Examples
    --------
    >>> through(np.array([(0.0, 0, 10, 10), (0, 0, 10, 0)]), np.array([(4.0, 4, 6, 6)])).ravel().tolist()
    [True, False]
    """
    ax, ay, bx, by = (one[:, None] for one in lines.T)
    left, top, right, bottom = boxes.T
    wide, tall = (right - left) / 2, (bottom - top) / 2
    x, y = (ax + bx) / 2 - (left + right) / 2, (ay + by) / 2 - (top + bottom) / 2
    ux, uy = (bx - ax) / 2, (by - ay) / 2
    return (
        (abs(x) < wide + abs(ux))
        & (abs(y) < tall + abs(uy))
        & (abs(ux * y - uy * x) < wide * abs(uy) + tall * abs(ux))
    )


def meetings(some: np.ndarray, others: np.ndarray) -> np.ndarray:
    """Which lines of ``some`` cross which of ``others``, a row for each of the first.

    Examples
    --------
    >>> meetings(np.array([(0.0, 5, 20, 5)]), np.array([(10.0, 0, 10, 9), (30, 0, 30, 9)])).tolist()
    [[True, False]]
    """
    ax, ay, bx, by = (one[:, None] for one in some.T)
    cx, cy, dx, dy = others.T
    ux, uy, vx, vy = bx - ax, by - ay, dx - cx, dy - cy
    apart = (ux * (cy - ay) - uy * (cx - ax)) * (ux * (dy - ay) - uy * (dx - ax)) < 0
    return apart & ((vx * (ay - cy) - vy * (ax - cx)) * (vx * (by - cy) - vy * (bx - cx)) < 0)
