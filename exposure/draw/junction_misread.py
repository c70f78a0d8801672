"""What makes the leader of a ring be misread: a tick or arrow it passes, a side of a part it lies along, a dot that stands close to its own."""

from collections.abc import Sequence

import numpy as np

from exposure.draw.drawing import Point
from exposure.draw.junction_near import meetings, nearest, round_about

ON_MARK = 16.0  # what it costs to pass each line of the cross over a tick or arrow, of whose size it then seems to be
BESIDE, UNSEEN = (
    2.0,
    6.0,
)  # from the side of a part, nearer to which a leader lies along it; by so much it may, or half the side
PER_UNIT = 3.0  # what each unit along a side costs more
SIDE = 8.0  # of a part, from which on it is long enough to be lain along
DOTS = 13.0  # from dot to dot, on a printed sheet 2.5 mm
CLOSE = 24.0  # what it costs to stand on another


class Misread:
    """What could be misread in one drawing.

    Parameters
    ----------
    marks
        Lines over ticks and arrows.
    sides
        Of parts, two ends a row.
    owners
        The part of each side, by its key.

    Examples
    --------
    >>> one = Misread([((0, 0), (8, 8)), ((0, 8), (8, 0))], np.array([(50.0, 0, 50, 40)]), ["stud"])
    >>> leaders = np.array([(4.0, -20, 4, 20), (51, 10, 51, 60), (51, 90, 51, 99)])
    >>> one.cost(leaders, ["tray"]).tolist(), one.cost(leaders, ["stud"]).tolist()
    ([32.0, 72.0, 0.0], [32.0, 0.0, 0.0])
    """

    def __init__(
        self, marks: Sequence[tuple[Point, Point]], sides: np.ndarray, owners: Sequence[str]
    ) -> None:
        self._marks = np.array([(*a, *b) for a, b in marks], float).reshape(-1, 4)
        ends = sides[:, :4].reshape(-1, 2, 2)
        long = np.hypot(*(ends[:, 1] - ends[:, 0]).T)
        self._sides, self._owners = sides[long >= SIDE, :4], np.array(owners, dtype=object)[long >= SIDE]
        self._unseen = np.minimum(UNSEEN, long[long >= SIDE] / 2)

    def cost(self, leaders: np.ndarray, keys: Sequence[str]) -> np.ndarray:
        """What it costs more to lie as ``leaders`` do: to the parts with these keys, or all to one."""
        near = round_about(leaders, self._sides)
        along = (lain_along(leaders, self._sides[near]) - self._unseen[near]) * (
            self._owners[near] != np.array(keys, dtype=object)[:, None]
        )
        worse = ON_MARK * meetings(leaders, self._marks).sum(axis=1)
        return np.asarray(worse + PER_UNIT * along.max(axis=1, initial=0.0))


def close(some: np.ndarray, others: np.ndarray) -> np.ndarray:
    """What it costs each of ``some`` dots to stand close to one of ``others``.

    Examples
    --------
    >>> close(np.array([(0.0, 0), (9, 0)]), np.array([(0.0, 6.5), (0, 50)])).tolist()
    [12.0, 3.5...]
    """
    return np.asarray(CLOSE * np.clip(1 - nearest(some, others) / DOTS, 0, None))


def lain_along(leaders: np.ndarray, sides: np.ndarray) -> np.ndarray:
    """How long each leader lies beside each side, a row for each leader.

    Examples
    --------
    >>> lain_along(np.array([(0.0, 1, 30, 1), (0, -5, 0, 5)]), np.array([(10.0, 0, 90, 0)])).tolist()
    [[20.0...], [0.0]]
    """
    ax, ay, bx, by = (one[:, None] for one in leaders.T)
    cx, cy, dx, dy = sides.T
    long = np.hypot(dx - cx, dy - cy)
    ux, uy = (dx - cx) / long, (dy - cy) / long
    low, high = np.zeros((len(leaders), len(sides))), np.ones((len(leaders), len(sides)))
    for start, way, least, most in (
        ((ax - cx) * ux + (ay - cy) * uy, (bx - ax) * ux + (by - ay) * uy, 0.0, long),
        ((ay - cy) * ux - (ax - cx) * uy, (by - ay) * ux - (bx - ax) * uy, -BESIDE, BESIDE),
    ):
        way = np.where(abs(way) < 1e-9, 1e-9, way)
        first, last = (least - start) / way, (most - start) / way
        low, high = np.maximum(low, np.minimum(first, last)), np.minimum(high, np.maximum(first, last))
    return np.asarray(np.clip(high - low, 0, None) * np.hypot(bx - ax, by - ay))
