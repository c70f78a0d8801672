"""Rings of a drawn junction in free air near their parts, each with a short leader that crosses no number and no other leader."""

from collections.abc import Callable, Iterator, Sequence
from itertools import count, islice, pairwise
from math import inf
from typing import NamedTuple

import numpy as np

from exposure.draw.drawing import Box, Point

Leader = tuple[Point, Point]

AT_ONCE, MOST = 192, 768  # places looked at together, nearest first: at the start, and at most
GROWS = 1.5  # by which they are more at each further look
SHELLS = (32.0, 64.0, 128.0)  # as far as places are put in order at first: most leaders are short
OUTLINE = 5.0  # what a leader costs for each outline of a part it crosses, as if so much longer
LEAST = 4.0  # of a leader, or the ring hides its end
BESIDE = 50.0  # what a leader costs whose dot touches the dot of another, or that passes one
LEAN, LEVEL = 0.1, 120.0  # a leader less steep looks like a sheet or a ledge: as if it were so much longer
TOUCH, DOTS = 3.0, 7.0  # from the end of a leader to another: nearer they touch, farther off nothing is lost
PAST_DOT = 3.0  # from the dot at the end of a leader to another leader, or that seems to run through it


class Taken:
    """What labels and leaders are already there."""

    def __init__(self, boxes: Sequence[Box], leaders: Sequence[Leader]) -> None:
        self.boxes = np.array(boxes, float).reshape(-1, 4)
        self.leaders = np.array([(*a, *b) for a, b in leaders], float).reshape(-1, 4)
        self.ends = self.leaders[:, 2:]


class Places(NamedTuple):
    """Places for a ring that are looked at together, with what stays as it is from one look to the next."""

    middles: np.ndarray
    leaders: np.ndarray
    which: np.ndarray  # of the ends each leader runs to
    reach: np.ndarray  # from middle to end
    costs: np.ndarray  # of each leader, without what other leaders add


class Near:
    """Places in free air for the ring of one part, nearest first; worked out as far as they are asked for.

    Parameters
    ----------
    air
        Where a ring's middle may stand, and what a leader from there costs more.
    outlines
        Of parts, which a leader would rather not cross, and how much.
    spots
        Where the leader may end.
    numbers
        Labels that stay where they are, which no leader passes.
    apart
        From the ring to what else stands there.
    passes
        Whether a leader keeps off numbers and the lines of sizes.

    Examples
    --------
    >>> air, wall = np.array([(10.0, 30, 0), (90, 30, 0)]), np.array([(40.0, 0, 40, 99, 1)])
    >>> near = Near(air, wall, [(50.0, 50)], [], radius=10, apart=2, passes=lambda _: True)
    >>> near.cheapest([], [], 99)[0]
    (90.0, 30.0)
    """

    def __init__(
        self,
        air: np.ndarray,
        outlines: np.ndarray,
        spots: Sequence[Point],
        numbers: Sequence[Box],
        *,
        radius: float,
        apart: float,
        passes: Callable[[Leader], bool],
    ) -> None:
        self._air, self._more = air[:, :2], air[:, 2]
        self._outlines, self._ends = outlines, np.array(spots, float)
        self._numbers = np.array(numbers, float).reshape(-1, 4)
        self._radius, self._apart, self._passes = radius, apart, passes
        self._to_come = self._in_turn()
        self._cut: list[tuple[np.ndarray, np.ndarray, np.ndarray]] = []
        self._known: list[Places] = []

    def _in_turn(self) -> Iterator[tuple[np.ndarray, np.ndarray, np.ndarray]]:
        """Places, the end of the leader from each, and how far that is: a few at a time, nearest first."""
        many = AT_ONCE
        (x, y), (end_x, end_y) = self._air.T, self._ends.T
        for low, high in pairwise((0.0, *SHELLS, inf)):
            across = (x >= end_x.min() - high) & (x <= end_x.max() + high)
            near = np.flatnonzero(across & (y >= end_y.min() - high) & (y <= end_y.max() + high))
            by_x, by_y = end_x - x[near, None], end_y - y[near, None]
            maybe = np.flatnonzero(by_x * by_x + by_y * by_y < (high + 1) ** 2)
            far = np.hypot(by_x.ravel()[maybe], by_y.ravel()[maybe])
            mine = (far - self._radius > LEAST) & (far > low) & (far <= high)
            maybe, far = maybe[mine], far[mine]
            in_turn = np.argsort(far, kind="stable")
            at, to = np.divmod(maybe[in_turn], len(end_x))
            at, far = near[at], far[in_turn]
            start = 0
            while start < len(far):
                some = slice(start, start + many)
                yield at[some], to[some], far[some]
                start, many = start + many, min(int(many * GROWS), MOST)

    def _nearest(self, block: int) -> float | None:
        """How near the next places to look at are at best; none where there are no more."""
        if block == len(self._cut):
            self._cut += islice(self._to_come, 1)
        return float(self._cut[block][2][0]) - self._radius if block < len(self._cut) else None

    def _places(self, block: int) -> Places:
        """The places to look at from which a leader passes no number."""
        if block == len(self._known):
            at, to, far = self._cut[block]
            middles, ends = self._air[at], self._ends[to]
            leaders = np.concatenate(
                [middles + (ends - middles) * (self._radius / far)[:, None], ends], axis=1
            )
            free = ~through(leaders, self._numbers).any(axis=1)
            leaders = leaders[free]
            costs = costs_of(leaders, self._outlines) + self._more[at[free]]
            self._known.append(Places(middles[free], leaders, to[free], far[free], costs))
        return self._known[block]

    def cheapest(
        self,
        boxes: Sequence[Box],
        others: Sequence[Leader],
        most: float,
        *,
        longest: float = inf,
        more: Callable[[np.ndarray], np.ndarray] | None = None,
    ) -> tuple[Point, Leader] | None:
        """Middle of the ring and leader of the cheapest place beside other tags that costs less than ``most``.

        With ``more``, what it says of leaders is added to what they cost; none is longer than ``longest``.
        """
        taken = Taken(boxes, others)
        crowded = _beside(self._ends, taken.ends) * BESIDE
        best, least = None, most
        for block in count():
            nearest = self._nearest(block)
            if nearest is None or nearest >= min(least, longest):
                return best
            places = self._places(block)
            costs = places.costs + crowded[places.which]
            left = np.nonzero((costs < least) & (places.reach - self._radius < min(most, longest)))[0]
            left = self._free(places, left, taken)
            costs[left] += BESIDE * past_dots(places.leaders[left], taken.leaders)
            if more is not None:
                left = left[costs[left] < least]
                costs[left] += more(places.leaders[left])
            left = left[costs[left] < least]
            for place in left[np.argsort(costs[left], kind="stable")].tolist():
                ax, ay, bx, by = places.leaders[place].tolist()
                if self._passes(((ax, ay), (bx, by))):
                    x, y = places.middles[place].tolist()
                    best, least = ((x, y), ((ax, ay), (bx, by))), float(costs[place])
                    break
        return best

    def _free(self, places: Places, left: np.ndarray, taken: Taken) -> np.ndarray:
        """Those that meet neither another tag nor its leader; the cheapest questions first."""
        if len(left):
            left = left[~overlap(places.middles[left], taken.boxes, self._radius + self._apart)]
        if len(left):
            left = left[~meetings(places.leaders[left], taken.leaders).any(axis=1)]
        if len(left):
            left = left[~through(places.leaders[left], taken.boxes).any(axis=1)]
        if len(left):
            middles = places.middles[left]
            rings = np.concatenate([middles - self._radius, middles + self._radius], axis=1)
            left = left[~through(taken.leaders, rings).any(axis=0)]
        return left


def cost_of(leader: Leader, others: Sequence[Leader], outlines: np.ndarray) -> float:
    """What a leader costs: its length, and more where it lies level, passes outlines or ends beside another."""
    (ax, ay), (bx, by) = leader
    mine = np.array([(ax, ay, bx, by)])
    return float((costs_of(mine, outlines) + beside_dots(mine, Taken([], others).leaders))[0])


def beside_dots(leaders: np.ndarray, others: np.ndarray) -> np.ndarray:
    """What it costs each leader that its dot touches one of ``others``, or that one passes the dot of the other."""
    ends = leaders[:, 2:]
    return np.asarray(
        BESIDE * (_beside(ends, ends if others is leaders else others[:, 2:]) + past_dots(leaders, others))
    )


def costs_of(leaders: np.ndarray, outlines: np.ndarray) -> np.ndarray:
    """What leaders cost by themselves: their length, and more where they lie level or pass outlines."""
    ax, ay, bx, by = leaders.T
    level = abs(by - ay) < LEAN * abs(bx - ax)
    near = outlines[round_about(leaders, outlines)]
    passed = meetings(leaders, near[:, :4]) @ near[:, 4]
    return np.hypot(bx - ax, by - ay) + LEVEL * level + OUTLINE * passed


def round_about(leaders: np.ndarray, lines: np.ndarray) -> np.ndarray:
    """Which lines reach into the box round all the leaders; no other meets one."""
    if not len(leaders):
        return np.ones(len(lines), bool)
    ends = leaders.reshape(-1, 2)
    (left, top), (right, foot) = (ends.min(axis=0) - LEAST).tolist(), (ends.max(axis=0) + LEAST).tolist()
    ax, ay, bx, by = lines.T[:4]
    within = (np.maximum(ax, bx) >= left) & (np.minimum(ax, bx) <= right)
    return np.asarray(within & (np.maximum(ay, by) >= top) & (np.minimum(ay, by) <= foot))


def _beside(ends: np.ndarray, others: np.ndarray) -> np.ndarray:
    """How hard each end is to tell from one of ``others``: 1 where they touch."""
    return np.asarray(np.clip((DOTS - nearest(ends, others)) / (DOTS - TOUCH), 0, 1))


def nearest(ends: np.ndarray, others: np.ndarray) -> np.ndarray:
    """How far the nearest of ``others`` is from each end; where both are the same array, of the others in it.

    Examples
    --------
    >>> ends = np.array([(0.0, 0), (3, 4)])
    >>> nearest(ends, np.array([(0.0, 2)])).tolist(), nearest(ends, ends).tolist()
    ([2.0, 3.605...], [5.0, 5.0])
    """
    apart = np.hypot(*(ends[:, None, :] - others[None, :, :]).transpose(2, 0, 1))
    if ends is others:
        np.fill_diagonal(apart, inf)
    return np.asarray(apart.min(axis=1, initial=inf))


def past_dots(some: np.ndarray, others: np.ndarray) -> np.ndarray:
    """How many dots of ``others`` each leader of ``some`` passes, and how many of those pass its own; none passes its own dot.

    Examples
    --------
    >>> level = np.array([(0.0, 0, 20, 0), (0, 9, 20, 9)])
    >>> past_dots(level, np.array([(10.0, 30, 10, 2)])).tolist(), past_dots(level, np.array([(22.0, 5, 22, 30)])).tolist()
    ([1, 0], [0, 1])
    >>> both = np.array([(0.0, 0, 20, 0), (10, 30, 10, 2)])
    >>> past_dots(both, both).tolist()
    [1, 1]
    """
    passes, passed = _way_off(some, others[:, 2:]), _way_off(others, some[:, 2:]).T
    if some is others:
        np.fill_diagonal(passes, inf)
        np.fill_diagonal(passed, inf)
    return np.asarray((np.hstack([passes, passed]) < PAST_DOT).sum(axis=1))


def _way_off(lines: np.ndarray, points: np.ndarray) -> np.ndarray:
    """How far points lie off lines, a row for each line."""
    ax, ay, bx, by = (one[:, None] for one in lines.T)
    (x, y), way_x, way_y = points.T, bx - ax, by - ay
    to_x, to_y = x - ax, y - ay
    share = (to_x * way_x + to_y * way_y) / np.maximum(way_x * way_x + way_y * way_y, 1e-9)
    share = np.clip(share, 0, 1)
    return np.hypot(to_x - share * way_x, to_y - share * way_y)


def overlap(middles: np.ndarray, boxes: np.ndarray, half: float) -> np.ndarray:
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
    return np.asarray(_parts(some, others) & _parts(others, some).T)


def _parts(lines: np.ndarray, others: np.ndarray) -> np.ndarray:
    """Which lines, drawn on without end, part the ends of which of ``others``, a row for each line."""
    ax, ay, bx, by = lines.T
    x, y = others.reshape(-1, 2).T
    ux, uy = bx - ax, by - ay
    sides = np.stack([ux, uy, uy * ax - ux * ay], axis=1) @ np.stack([y, -x, np.ones(len(x))])
    return np.asarray(sides[:, ::2] * sides[:, 1::2] < 0)
