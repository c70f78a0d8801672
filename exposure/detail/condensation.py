"""Water inside a wall by diffusion alone, month by month, in the manner of ISO 13788: a ranking, no moisture simulation.

Vapour flows along straight lines of pressure over the layers' resistance, and never above saturation. Water held
back at a face stays there until a drier month takes it away. Air that leaks through gaps is not counted.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from math import ceil, inf

import numpy as np

from exposure.detail.vapour import saturation_pressure

DELTA = 2e-10  # kg/(m s Pa), vapour through still air; ISO 13788, from memory
FINEST = 0.25  # m2 K/W, thickest slice of a layer; ISO 13788, from memory
INNER_SURFACE = 0.13  # m2 K/W; ISO 6946, from memory
MONTH = 365.25 / 12 * 86400.0  # s
YEARS = 3  # run one after the other, so that what a wall keeps shows; our choice
NOTHING = 1.0  # g/m2, less is no water; our choice
TOO_MUCH = 500.0  # g/m2 at a face that drinks none; DIN 4108-3, from memory


@dataclass(frozen=True)
class Layer:
    """One layer of a wall."""

    name: str
    resistance: float  # m2 K/W, of heat
    still_air: float  # m of still air that hold back as much vapour (s_d)


@dataclass(frozen=True)
class Month:
    """Air on both sides of a wall, a month's mean."""

    inside: float  # degC
    inside_vapour: float  # Pa
    outside: float  # degC
    outside_vapour: float  # Pa


@dataclass(frozen=True)
class WaterInWall:
    """Water that diffusion leaves in a wall, over the last of :data:`YEARS` years."""

    peak: float  # g/m2, most at the end of a month
    kept: float  # g/m2 that a year adds; 0 where all dries out
    months: int  # at whose end some is left
    where: str  # the layer on whose outer side most of it lies; "" where there is none

    @property
    def harmless(self) -> bool:
        """Whether all dries out in a year, and never more than :data:`TOO_MUCH` lies there."""
        return self.kept < NOTHING and self.peak <= TOO_MUCH

    @property
    def in_words(self) -> str:
        """Return ``stays dry``, ``wets and dries``, ``wets too much`` or ``keeps water``."""
        if self.kept >= NOTHING:
            return "keeps water"
        if self.peak > TOO_MUCH:
            return "wets too much"
        return "wets and dries" if self.peak >= NOTHING else "stays dry"


def still_air_of(permeance: float) -> float:
    """Thickness of still air [m] that lets through as much vapour as a sheet of ``permeance`` [microgram/(N s)].

    Examples
    --------
    >>> round(still_air_of(1.67), 2)
    0.12
    """
    return DELTA / (permeance * 1e-9)


def water_in_wall(
    layers: Sequence[Sequence[Layer]], months: Sequence[Month], *, outer_surface: float
) -> WaterInWall:
    """Water a wall holds through the year.

    Parameters
    ----------
    layers
        For each month the layers from the room outward; all months alike but for how far they hold vapour back.
    months
        Twelve, in turn; the run starts dry after the month with the driest inside air over the outside.
    outer_surface
        Heat resistance outside, 0.04 in the open, 0.13 before a vented cavity. [m2 K/W]

    Examples
    --------
    >>> wall = [Layer("lining", 1.0, 1.0), Layer("board", 0.2, 3.0)]
    >>> cold, mild = Month(20, 800, -5, 320), Month(20, 1400, 15, 1200)
    >>> found = water_in_wall([wall] * 12, [cold] * 3 + [mild] * 9, outer_surface=0.04)
    >>> found.in_words, found.where
    ('wets and dries', 'lining')
    """
    cut = [_slices(one) for one in layers]
    names = [one.name for one in cut[0]]
    first = max(range(12), key=lambda at: months[at].outside_vapour - months[at].inside_vapour)
    water = np.zeros(len(names) - 1)
    ends: list[np.ndarray] = []
    for step in range(12 * YEARS):
        at = (first + 1 + step) % 12
        water = _after_month(water, cut[at], months[at], outer_surface)
        ends.append(water)
    last = np.array(ends[-12:])
    total = last.sum(axis=1)
    kept = max(float(ends[-1].sum() - ends[-13].sum()), 0.0)
    wet = int((total >= NOTHING).sum())
    most = last[int(total.argmax())]
    return WaterInWall(float(total.max()), kept, wet, names[int(most.argmax())] if wet else "")


def _slices(layers: Sequence[Layer]) -> list[Layer]:
    """Layers no thicker than :data:`FINEST`."""
    found = []
    for one in layers:
        parts = max(ceil(round(one.resistance / FINEST, 9)), 1)
        found += [Layer(one.name, one.resistance / parts, one.still_air / parts)] * parts
    return found


def _after_month(
    water: np.ndarray, layers: Sequence[Layer], month: Month, outer_surface: float
) -> np.ndarray:
    """Water between the layers at the end of a month. [g m-2]"""
    heat = np.cumsum([INNER_SURFACE, *(one.resistance for one in layers)])
    warmth = month.inside + (month.outside - month.inside) * heat / (heat[-1] + outer_surface)
    place = np.concatenate([[0.0], np.cumsum([one.still_air for one in layers])])
    most = saturation_pressure(warmth)
    most[0], most[-1] = month.inside_vapour, month.outside_vapour
    water, left = water.copy(), MONTH
    while left > 0:
        flow = _gain(place, most, water > 0)  # g/(m2 s)
        dries = flow < 0
        until = np.full(flow.size, inf)
        until[dries & (water > 0)] = -water[dries & (water > 0)] / flow[dries & (water > 0)]
        span = min(left, float(until.min()))
        water = np.where(until <= span, 0.0, np.maximum(water + flow * span, 0.0))
        left -= span
    return water


def _gain(place: np.ndarray, most: np.ndarray, wet: np.ndarray) -> np.ndarray:
    """What each inner face takes up while ``wet`` faces are saturated. [g m-2 s-1]

    The pressure is the highest curve that nowhere bends down and nowhere passes saturation: between faces held at
    saturation, the lower hull of the saturation pressures.
    """
    gain = np.zeros(wet.size)
    held = [0, *(np.flatnonzero(wet) + 1), place.size - 1]
    line: list[int] = [0]
    for start, end in pairwise(held):
        part = [start]
        for node in range(start + 1, end + 1):
            while len(part) > 1 and _above(place, most, part[-2], part[-1], node):
                part.pop()
            part.append(node)
        line += part[1:]
    for before, node, after in zip(line, line[1:], line[2:], strict=False):
        coming = (most[before] - most[node]) / (place[node] - place[before])
        going = (most[node] - most[after]) / (place[after] - place[node])
        gain[node - 1] = 1000 * DELTA * (coming - going)
    return gain


def _above(place: np.ndarray, most: np.ndarray, low: int, node: int, high: int) -> bool:
    """Whether ``node`` lies on or above the straight line from ``low`` to ``high``."""
    return bool(
        (most[node] - most[low]) * (place[high] - place[low])
        >= (most[high] - most[low]) * (place[node] - place[low])
    )
