"""Where a ring of a drawn junction may stand nearer than at the far left or right: on its own part, or in free air beside it."""

from collections.abc import Sequence
from math import hypot
from typing import NamedTuple

import numpy as np
from shapely import contains_xy

from exposure.draw.drawing import Box, Point
from exposure.draw.junction_sight import polygons

CELL = 3.4  # of the grid in which room is looked for
CELLS = 3  # to each side of a ring's middle that stay free: a ring and a little air
# what a leader through a solid part or a film costs, times what it costs at others
THROUGH_SOLID, THROUGH_FILM = 4.0, 2.4
DRY = 2  # more cells from a ring to water, whose dots it would seem to belong to
WET = 20.0  # what a leader costs whose ring stands nearer
# along the way of water, and to each side of it: so a leader is counted that runs down among its dots
STEP, WIDE = 9.0, 4.0
DOWN_WATER, ON_ARROW = 2.5, 8.0  # what a leader costs at each such step, and at the last, the water's arrow
AIR = 2  # every so many cells a place in free air is tried


class Piece(NamedTuple):
    """A part as it is drawn."""

    key: str
    ring: Sequence[Point]
    open: bool = False  # plain and without a number: rings of its neighbours may stand on it
    solid: bool = False  # a leader passes it least of all
    film: bool = False  # one that passes it to another film seems to name it


class Room(NamedTuple):
    """Places for a ring's middle."""

    own: dict[str, np.ndarray]  # on a part itself, by its key, a row each
    air: np.ndarray  # beside all parts, a row each: where, and what a leader from there costs more
    # of parts, and steps across the water: two ends a row, and how much a leader would rather not cross it
    outlines: np.ndarray
    owners: Sequence[str] = ()  # the part of each outline, by its key


NO_ROOM = Room({}, np.empty((0, 3)), np.empty((0, 5)))


def room_for(
    pieces: Sequence[Piece],
    edges: Box,
    lines: Sequence[tuple[Point, Point]],
    taken: Sequence[Box],
    water: Sequence[tuple[Point, Point]] = (),
) -> Room:
    """Free places within ``edges``; ``pieces`` in the order they are drawn, rings by choice clear of ``water``.

    Examples
    --------
    >>> leaf = Piece("leaf", [(40, 0), (80, 0), (80, 90), (40, 90)])
    >>> found = room_for([leaf], (0, 0, 120, 90), [], [])
    >>> all(51 < x < 69 and 11 < y < 79 for x, y in found.own["leaf"]), bool(found.air[:, 0].max() > 91)
    (True, True)
    """
    outlines = np.array(
        [
            (*a, *b, THROUGH_SOLID if one.solid else THROUGH_FILM if one.film else 1.0)
            for one in pieces
            for a, b in zip(one.ring, (*one.ring[1:], one.ring[0]), strict=True)
        ]
    ).reshape(-1, 5)
    owners = [one.key for one in pieces for _ in one.ring]
    costly = np.vstack([outlines, _steps_across(water)])
    left, top, right, bottom = edges
    shape = int((bottom - top) / CELL), int((right - left) / CELL)
    drawn = np.zeros(shape, bool)
    _mark(drawn, outlines[:, :4], edges)
    whole = drawn.copy()
    _mark(whole, _rows(lines), edges)
    _mark(whole, _rows(water), edges)
    dry = _dry(shape, water, edges)
    for x0, y0, x1, y1 in taken:
        rows, columns = (
            slice(max(int((low - start) / CELL), 0), max(int((high - start) / CELL) + 1, 0))
            for low, high, start in ((y0, y1, top), (x0, x1, left))
        )
        whole[rows, columns] = True
    free = _wide_enough(whole)
    if not free.any():
        return Room({}, np.empty((0, 3)), costly, owners)
    from scipy.ndimage import find_objects, label  # only where something is free

    labels, count = label(free)
    beside = ~(np.maximum.accumulate(drawn, 1) & np.maximum.accumulate(drawn[:, ::-1], 1)[:, ::-1])
    own: dict[str, list[np.ndarray]] = {}
    air = []
    on = _parts_under(labels, count, pieces, edges)
    plain = {one.key for one in pieces if one.open}
    for place, (key, (rows, columns)) in enumerate(zip(on, find_objects(labels), strict=True), 1):
        ys, xs = np.nonzero(labels[rows, columns] == place)
        ys, xs = ys + rows.start, xs + columns.start
        if key is None or key in plain:
            ok = (beside[ys, xs] | (key in plain)) & (ys % AIR == 0) & (xs % AIR == 0)
            more = np.where(dry[ys[ok], xs[ok]], 0.0, WET)
            air.append(np.column_stack([_points(xs[ok], ys[ok], edges), more]))
        else:
            clear = dry[ys, xs]
            clear = clear if clear.any() else ~clear
            own.setdefault(key, []).append(_points(xs[clear], ys[clear], edges))
    whole_parts = {key: np.concatenate(found) for key, found in own.items()}
    return Room(whole_parts, np.concatenate(air) if air else np.empty((0, 3)), costly, owners)


def _steps_across(water: Sequence[tuple[Point, Point]]) -> np.ndarray:
    """Short lines across the way of water, a step apart, and how much a leader would rather not cross each.

    Examples
    --------
    >>> _steps_across([((0.0, 0.0), (0.0, 15.0))]).tolist()
    [[-4.0, 9.0, 4.0, 9.0, 2.5], [-4.0, 15.0, 4.0, 15.0, 8.0]]
    """
    steps, over = [], 0.0
    for place, ((ax, ay), (bx, by)) in enumerate(water, 1):
        long = hypot(bx - ax, by - ay)
        if not long:
            continue
        ux, uy = (bx - ax) / long, (by - ay) / long
        at = [STEP - over + STEP * turn for turn in range(int((long + over) / STEP))]
        over = (long + over) % STEP
        worth = [DOWN_WATER] * len(at) + [ON_ARROW] * (place == len(water))
        for far, much in zip([*at, long], worth, strict=False):
            x, y = ax + far * ux, ay + far * uy
            steps.append((x - WIDE * uy, y + WIDE * ux, x + WIDE * uy, y - WIDE * ux, much))
    return np.array(steps).reshape(-1, 5)


def _dry(shape: tuple[int, int], water: Sequence[tuple[Point, Point]], edges: Box) -> np.ndarray:
    """Cells where a ring stands clear of water."""
    wet, far = np.zeros(shape, bool), CELLS + DRY
    _mark(wet, _rows(water), edges)
    return _wide_enough(np.pad(wet, far), far)[far:-far, far:-far]


def _rows(lines: Sequence[tuple[Point, Point]]) -> np.ndarray:
    return np.array([(*a, *b) for a, b in lines]).reshape(-1, 4)


def _points(columns: np.ndarray, rows: np.ndarray, edges: Box) -> np.ndarray:
    return np.stack([edges[0] + (columns + 0.5) * CELL, edges[1] + (rows + 0.5) * CELL], 1)


def _mark(grid: np.ndarray, segments: np.ndarray, edges: Box) -> None:
    """Marks every cell that a line passes."""
    if not len(segments):
        return
    ax, ay, bx, by = segments.T
    steps = (np.maximum(abs(bx - ax), abs(by - ay)) * 2 / CELL).astype(int) + 2
    which = np.repeat(np.arange(len(segments)), steps)
    share = (np.arange(len(which)) - np.repeat(np.cumsum(steps) - steps, steps)) / (steps - 1)[which]
    x = (ax[which] + share * (bx - ax)[which] - edges[0]) / CELL
    y = (ay[which] + share * (by - ay)[which] - edges[1]) / CELL
    rows, columns = np.floor(y).astype(int), np.floor(x).astype(int)
    inside = (rows >= 0) & (columns >= 0) & (rows < grid.shape[0]) & (columns < grid.shape[1])
    grid[rows[inside], columns[inside]] = True


def _wide_enough(taken: np.ndarray, cells: int = CELLS) -> np.ndarray:
    """Cells round which a ring's width is free, so many ``cells`` to each side."""
    wide = 2 * cells + 1
    free = np.zeros(taken.shape, bool)
    if min(taken.shape) < wide:
        return free
    rows, columns = (long - wide + 1 for long in taken.shape)
    beside = np.logical_or.reduce([taken[:, step : step + columns] for step in range(wide)])
    around = np.logical_or.reduce([beside[step : step + rows] for step in range(wide)])
    free[cells:-cells, cells:-cells] = ~around
    return free


def _parts_under(labels: np.ndarray, count: int, pieces: Sequence[Piece], edges: Box) -> list[str | None]:
    """Key of the topmost part at each free patch, or none; no outline passes through a patch."""
    first = np.full(count + 1, -1)
    backward = np.arange(labels.size)[::-1]
    first[labels.ravel()[backward]] = backward  # of a patch's cells the last one that is written stays
    rows, columns = np.divmod(first[1:], labels.shape[1])
    x, y = _points(columns, rows, edges).T
    inside = contains_xy(polygons([one.ring for one in pieces])[:, None], x, y)
    over = [np.flatnonzero(each) for each in inside.T]
    return [
        pieces[each[-1]].key if len(each) else None for each in over
    ]  # a later one covers those before it
