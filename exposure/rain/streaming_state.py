"""What the streaming form remembers between hours, its ring of directions, and the room it works in."""

from typing import NamedTuple

import numpy as np

from exposure.rain.streaming_kernel import LANES, NEVER, NOT_DUE

APART = (
    16  # cells added to a row of the queues, lest rows a power of two apart push each other out of the cache
)


class State(NamedTuple):
    """All that is remembered of the hours so far, one row a cell; its size does not grow with the record.

    Walls stand in the order of the edge at which their half-plane starts (a quarter turn before they face);
    classes of direction with the open sectors first, then the edge that ends each sector.
    """

    sums: (
        np.ndarray
    )  # (cell, 4K) float64: driving rain times wind, eastward and northward of each class in turn
    last_hit: np.ndarray  # (cell, 2K classes) int32 hour number
    closed_at: np.ndarray  # (cell, K) float64: what a wall had gathered when its last spell closed
    largest: np.ndarray  # (cell, K) float64: largest spell of the year so far
    next_closing: np.ndarray  # (cell,) int32: no spell can end before this hour
    looked_at: np.ndarray  # (cell,) int32: hour of the last look for spells that ended
    hours_known: np.ndarray  # (cell,) int32
    rain: np.ndarray  # (cell,) float64 [mm]
    rain_without_wind: np.ndarray  # (cell,) float64 [mm]
    unassigned: np.ndarray  # (cell,) float64 [mm] in hours of variable wind
    unassigned_share: np.ndarray  # (cell,) float64 [L m-2], what every wall gets of it
    unseen_run: np.ndarray  # (cell,) int32: hours since a hit could last have been seen
    longest_unseen: np.ndarray  # (cell,) int32: longest such run of the year


class Dial(NamedTuple):
    """The ring of directions for one number of orientations; see :func:`make_dial`."""

    guess: np.ndarray  # (4K + 2,) int32: a sector at or just before each step of the diamond angle
    place: (
        np.ndarray
    )  # (4K,) int32: the class of a wind on a sector's first edge, inside, on its last edge, beyond
    edge_east: np.ndarray  # (K + 2,) float64: unit vectors of the edges
    edge_north: np.ndarray
    wall_east: np.ndarray  # (K,) float64: unit vectors into the walls, in the order of State
    wall_north: np.ndarray


class Scratch(NamedTuple):
    """Room to work in, reused from block to block."""

    cell: np.ndarray  # (cells,) int32: cells wet in this hour, and their hour, packed together
    rain: np.ndarray
    east: np.ndarray
    north: np.ndarray
    weight: np.ndarray
    root: np.ndarray
    step: np.ndarray  # (cells,) int32: step of the diamond angle
    queued: np.ndarray  # (cells,) int32: driving hours waiting in each cell's queue
    queue_when: (
        np.ndarray
    )  # (hours, cells) int32: row of the block, and class of the direction in the last CLASS_BITS
    queue_amount: np.ndarray  # (hours, cells, 2) float32
    hits: np.ndarray  # int32: latest hits of runs of sectors, in two halves, see :func:`latest_of_walls`
    runs: np.ndarray  # float64: sums of runs of sectors, in two halves, see :func:`gathered_by_walls`
    gathered: np.ndarray  # (2K and more,) float64: eastward and northward sums of each wall in turn
    wall_hit: np.ndarray  # (K,) int32


def make_dial(orientations: int) -> Dial:
    """The ring of directions for ``orientations`` walls.

    ``guess`` holds, for each step of the diamond angle (K steps a quadrant), the sector that ends at or holds
    the start of the step; no step holds two edges, so a wind of the step lies in that sector or the next.

    Examples
    --------
    >>> dial = make_dial(8)
    >>> dial.wall_east.round(3).tolist()[0], dial.guess[:4].tolist()  # the first wall faces east
    (-1.0, [0, 0, 0, 0])
    """
    number = orientations
    edges = np.deg2rad(np.arange(number + 2) * 360.0 / number)
    walls = edges[:number] + np.pi / 2
    step = np.arange(4 * number + 2) / number
    quadrant = np.floor(step).astype(int) % 4
    part = step - np.floor(step)
    east = np.choose(quadrant, [part, 1 - part, -part, part - 1])
    north = np.choose(quadrant, [1 - part, -part, part - 1, part])
    direction = np.where(step >= 4, 2 * np.pi, np.arctan2(east, north) % (2 * np.pi))
    guess = np.floor(direction / (2 * np.pi / number) - 1e-9).clip(0, number - 1).astype(np.int32)
    sector = np.arange(number)
    edge = number + sector  # class of the edge that ends a sector
    place = np.stack([np.roll(edge, 1), sector, edge, np.roll(sector, -1)], axis=1).astype(np.int32)
    return Dial(guess, place.ravel(), np.sin(edges), np.cos(edges), -np.sin(walls), -np.cos(walls))


def make_state(cells: int, orientations: int) -> State:
    """The state before any hour."""
    return State(
        sums=np.zeros((cells, 4 * orientations)),
        last_hit=np.full((cells, 2 * orientations), NEVER, np.int32),
        closed_at=np.zeros((cells, orientations)),
        largest=np.zeros((cells, orientations)),
        next_closing=np.full(cells, NOT_DUE, np.int32),
        looked_at=np.full(cells, NEVER // 2, np.int32),
        hours_known=np.zeros(cells, np.int32),
        rain=np.zeros(cells),
        rain_without_wind=np.zeros(cells),
        unassigned=np.zeros(cells),
        unassigned_share=np.zeros(cells),
        unseen_run=np.zeros(cells, np.int32),
        longest_unseen=np.zeros(cells, np.int32),
    )


def make_scratch(cells: int, hours: int, orientations: int) -> Scratch:
    """Room for blocks of up to ``cells`` and ``hours``."""
    return Scratch(
        np.empty(cells + 1, np.int32),
        np.empty(cells + 1, np.float32),
        np.empty(cells + 1, np.float32),
        np.empty(cells + 1, np.float32),
        np.empty(cells + 1, np.float32),
        np.empty(cells + 1, np.float32),
        np.empty(cells + 1, np.int32),
        np.empty(cells, np.int32),
        np.empty((hours, cells + APART), np.int32),
        np.empty((hours, cells + APART, 2), np.float32),
        np.zeros(2 * (2 * orientations + LANES), np.int32),
        np.zeros(2 * (4 * orientations + LANES)),
        np.zeros(2 * orientations + LANES),
        np.empty(orientations, np.int32),
    )
