"""Where on its part the dot of a leader may stand: clear of the dots of water, of what covers the part, of another's black line, of the part's ends."""

from collections.abc import Mapping, Sequence
from functools import cached_property
from math import cos, hypot, pi, sin

import numpy as np
import shapely

from exposure.draw.drawing import Point
from exposure.draw.junction_materials import FILLS, LINES, SMALL
from exposure.draw.junction_sight import CLEAR, polygons
from exposure.draw.palette import INK
from exposure.junction.scene import Layer

BESIDE_WATER = 6.0  # picture units from the way of a drop, nearer to which a dot is one of the water's row
ON_EDGE = 1.3  # from a line drawn over the part: a dot is as wide
TWINS = 4.0  # from a black line that is not the part's, nearer to which it cannot well be told which of two is named
ROW = 9.0  # from a row of fixings, nearer to which a dot is one more of them
AROUND = 9.5  # of a dot, in which there is less of a part at its end than at its middle
WET, HIDDEN, TWIN, AT_END = 60.0, 90.0, 30.0, 40.0  # how bad each is
OFF_MIDDLE = 0.3  # of a rod or bead, as far as a dot may stand off its middle
NEIGHBOUR = 14.0  # picture units from the middle of one to that of another beside it
AS_GOOD = 12.0  # worse than the best spot by no more
MOST = 7  # spots of a part among which a leader chooses


class Dots:
    """Spots for dots in one drawing.

    Parameters
    ----------
    pieces
        Parts in picture units, in the order they are drawn.
    water
        The way of a drop as it is seen.

    Examples
    --------
    >>> box = ((0.0, 0.0), (40.0, 0.0), (40.0, 40.0), (0.0, 40.0))
    >>> block = Layer("block", "timber", box, "Block")
    >>> dots = Dots([(block, box)], [[(10.0, 0.0), (10.0, 40.0)]])
    >>> dots.best({"block": [(12.0, 20.0), (39.0, 39.0), (30.0, 20.0)]})
    {'block': [(30.0, 20.0)]}
    """

    def __init__(
        self, pieces: Sequence[tuple[Layer, Sequence[Point]]], water: Sequence[Sequence[Point]]
    ) -> None:
        self.layers = [layer for layer, _ in pieces]
        self.shapes = shapely.make_valid(polygons([points for _, points in pieces]))
        self._rings: dict[str, list[Sequence[Point]]] = {}
        for layer, ring in pieces:
            self._rings.setdefault(layer.key, []).append(ring)
        self.water = shapely.MultiLineString([way for way in water if len(way) > 1])

    @cached_property
    def _tree(self) -> shapely.STRtree:
        return shapely.STRtree(self.shapes)

    def best(self, spots: Mapping[str, Sequence[Point]], most: int = MOST) -> dict[str, list[Point]]:
        """Of the spots of each part, by its key, those that are nearly as good as its best one, ``most`` of them, in their order."""
        keys = [key for key, points in spots.items() for _ in points]
        places = [point for points in spots.values() for point in points]
        if not places:
            return {key: [] for key in spots}
        points = shapely.points(places)
        worse = self._wet(points) + self._covered(keys, points) + self._at_end(spots)
        worse += self._in_a_row(keys, points)
        found: dict[str, list[Point]] = {}
        start = 0
        for key, mine in spots.items():
            cost = worse[start : start + len(mine)]
            start += len(mine)
            good = np.flatnonzero(cost <= cost.min() + AS_GOOD)
            if len(good) > most:  # spread over the part as they were
                good = good[np.linspace(0, len(good) - 1, most).astype(int)]
            found[key] = [mine[place] for place in good.tolist()]
        return found

    def _wet(self, points: np.ndarray) -> np.ndarray:
        if self.water.is_empty:
            return np.zeros(len(points))
        return WET * np.clip(1 - shapely.distance(points, self.water) / BESIDE_WATER, 0, None)

    def _covered(self, keys: Sequence[str], points: np.ndarray) -> np.ndarray:
        """What it costs to stand on what is drawn over the part, or beside a black line that is not the part's."""
        worse = np.zeros(len(points))
        last = {layer.key: place for place, layer in enumerate(self.layers)}
        which, near = self._tree.query(points, predicate="dwithin", distance=TWINS)
        apart = shapely.distance(points[which], self.shapes[near])
        for place, other, far in zip(which.tolist(), near.tolist(), apart.tolist(), strict=True):
            key, layer = keys[place], self.layers[other]
            if layer.key == key or layer.material in CLEAR:
                continue
            line = layer.material in (*LINES, *SMALL)
            if other > last.get(key, other) and far <= (ON_EDGE if line else 0):
                worse[place] = max(worse[place], HIDDEN - (HIDDEN - WET) * far / ON_EDGE)
            elif line and FILLS[layer.material] == INK:
                worse[place] = max(worse[place], TWIN * min(1.0, 2 * (1 - far / TWINS)))
        return worse

    @cached_property
    def _rows(self) -> shapely.MultiLineString:
        """Upright rows of fixings."""
        rows: dict[int, list[Point]] = {}
        for layer, one in zip(self.layers, self.shapes, strict=True):
            if layer.material == "fixing":
                rows.setdefault(round(one.centroid.x), []).append((one.centroid.x, one.centroid.y))
        return shapely.MultiLineString([row for row in rows.values() if len(row) > 1])

    def _in_a_row(self, keys: Sequence[str], points: np.ndarray) -> np.ndarray:
        """What it costs to stand in a row of fixings, which are as black and as small."""
        if self._rows.is_empty:
            return np.zeros(len(points))
        own = {layer.key for layer in self.layers if layer.material == "fixing"}
        worse = HIDDEN * np.clip(1 - shapely.distance(points, self._rows) / ROW, 0, None)
        return np.where([key in own for key in keys], 0.0, worse)

    def _at_end(self, spots: Mapping[str, Sequence[Point]]) -> np.ndarray:
        """What it costs to have less of the part around than another spot of it has."""
        worse = [np.empty(0)]
        for key, mine in spots.items():
            around = sum(
                (around_within(mine, ring) for ring in self._rings.get(key, ())), start=np.zeros(len(mine))
            )
            most = around.max(initial=0.0)
            worse.append(AT_END * (1 - around / most) if most > 0 else around)
        return np.concatenate(worse)


def around_within(spots: Sequence[Point], ring: Sequence[Point], far: float = AROUND) -> np.ndarray:
    """How much of a part lies within ``far`` of each spot: of each side, its triangle to the spot inside the circle, and sectors beyond.

    Examples
    --------
    >>> box = [(0, 0), (40, 0), (40, 40), (0, 40)]
    >>> (around_within([(20, 20), (0, 20), (40, 40), (90, 20)], box, 10) / (25 * pi)).round(6).tolist()
    [4.0, 2.0, 1.0, 0.0]
    >>> around_within([(20, 20)], box, 99).round(6).tolist()
    [1600.0]
    """
    ends = np.asarray(ring, float) - np.asarray(spots, float).reshape(-1, 1, 2)
    (ax, ay), (bx, by) = ends.transpose(2, 0, 1), np.roll(ends, -1, axis=1).transpose(2, 0, 1)
    ux, uy = bx - ax, by - ay
    long, along = np.maximum(ux * ux + uy * uy, 1e-12), ax * ux + ay * uy
    half = np.sqrt(np.clip(along * along - long * (ax * ax + ay * ay - far * far), 0, None))
    enters, leaves = np.clip((-along - half) / long, 0, 1), np.clip((half - along) / long, 0, 1)
    px, py, qx, qy = ax + enters * ux, ay + enters * uy, ax + leaves * ux, ay + leaves * uy
    turned = np.arctan2(ax * py - ay * px, ax * px + ay * py) + np.arctan2(
        qx * by - qy * bx, qx * bx + qy * by
    )
    return np.asarray(abs((px * qy - py * qx + far * far * turned).sum(axis=1)) / 2)


def spots_within(outline: Sequence[Point], others: Sequence[Sequence[Point]]) -> list[Point]:
    """Spots in a rod or a bead: its middle and round it; beside one of ``others`` only away from that, so that their dots stand apart.

    Examples
    --------
    >>> bead = [(0, 0), (10, 0), (10, 10), (0, 10)]
    >>> [round(x) for x, _ in spots_within(bead, [])], [round(x) for x, _ in spots_within(bead, [[(-5, 0), (0, 10)]])]
    ([5, 8, 7, 5, 3, 2, 3, 5, 7], [8, 7, 7])
    """
    (x, y), wide = _middle(outline)
    off = OFF_MIDDLE * wide
    turns = [2 * pi * step / 8 for step in range(8)]
    near = [(mx - x, my - y) for (mx, my), _ in map(_middle, others) if hypot(mx - x, my - y) < NEIGHBOUR]
    if near:
        wx, wy = min(near, key=lambda way: hypot(*way))
        turns = [turn for turn in turns if wx * cos(turn) + wy * sin(turn) < -hypot(wx, wy) / 2]
    return [*([] if near else [(x, y)]), *((x + off * cos(turn), y + off * sin(turn)) for turn in turns)]


def _middle(outline: Sequence[Point]) -> tuple[Point, float]:
    """Middle of a small part, and how wide it is where it is narrower."""
    (left, right), (top, foot) = ((min(values), max(values)) for values in zip(*outline, strict=True))
    return ((left + right) / 2, (top + foot) / 2), min(right - left, foot - top)
