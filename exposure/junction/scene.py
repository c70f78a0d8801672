"""What a drawn junction is made of: layers, dimensions, upstands and conflicts, all in millimetres.

Outside is always on the left and up is up; a plan is seen from above with the wall running up the sheet.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field, replace
from itertools import pairwise
from math import atan2, degrees, hypot
from typing import Literal, TypeAlias

Point: TypeAlias = tuple[float, float]
View = Literal["upright", "plan", "face"]

FILM = 1.5  # mm, membrane and tape as drawn, thicker than they are so that a lap can be seen
SHEET = 1.5  # mm, sheet metal as drawn
SHEDDING = (
    "membrane",
    "tape",
    "metal",
    "tray",
    "damp course",
    "frame",
)  # materials on which no water may stand
GROUND = (
    "soil",
    "paving",
    "roof",
    "deck",
    "gutter",
)  # materials that lie outside: water on them has left the wall


@dataclass(frozen=True)
class Layer:
    """One part of a junction."""

    key: str  # unique within its section
    material: str
    outline: tuple[Point, ...]  # of the cut, counted once, not closed
    name: str
    rows: tuple[str, ...] = ()  # rows of the ladder it answers
    carrier: str = ""  # key of the layer that carries it; empty for what stands by itself
    cut: bool = True  # False for what is seen beyond the cut
    water: bool = False  # part of the line that keeps water out
    air: bool = False  # part of the line that keeps air in
    order: int = 0  # place in the order of work: the ladder's stage


@dataclass(frozen=True)
class Dimension:
    """A number of the schedule between two points: a length along an axis, a fall, or a length laid flat along a way."""

    key: str
    start: Point
    end: Point
    value: float
    axis: Literal["x", "y", "fall %", "fall °", "flat"]
    side: Literal["left", "right", "top", "bottom", "within"] = (
        "left"  # within: on the drawing, from start to end
    )
    way: tuple[Point, ...] = ()  # of what is bent, from start to end
    name: str = ""  # the word beside the number, where it is not the row's own

    @property
    def is_straight(self) -> bool:
        """Whether it can be ruled beside the drawing."""
        return self.axis in ("x", "y")

    @property
    def drawn(self) -> float:
        """What the two points measure, in the unit of ``value``."""
        across, up = abs(self.end[0] - self.start[0]), abs(self.end[1] - self.start[1])
        if self.axis == "fall %":
            return 100 * up / across
        if self.axis == "fall °":
            return degrees(atan2(up, across))
        if self.axis == "flat":
            return sum(hypot(bx - ax, by - ay) for (ax, ay), (bx, by) in pairwise(self.way))
        return across if self.axis == "x" else up


@dataclass(frozen=True)
class Held:
    """A turned-up back: how high it stands above where water stands, and what pushes water there."""

    layer: str
    row: str
    low: Point
    top: Point
    head: float  # mm of water


@dataclass(frozen=True)
class Conflict:
    """Numbers that cannot be built together."""

    rows: tuple[str, ...]
    words: str  # what clashes, and what to do


@dataclass(frozen=True)
class Section:
    """One junction: what the writers draw and the proofs measure."""

    key: str
    title: str
    view: View
    box: tuple[float, float, float, float]  # left, bottom, right, top
    layers: tuple[Layer, ...]
    dimensions: tuple[Dimension, ...] = ()
    outdoors: tuple[Point, ...] = ()  # points in the open air and in the drained cavity
    indoors: tuple[Point, ...] = ()  # points that must stay dry
    held: tuple[Held, ...] = ()
    conflicts: tuple[Conflict, ...] = ()
    drop: Point | None = None  # where the drop starts whose path is shown
    water_ends: tuple[str, ...] = ()  # layers at both ends of the line that keeps water out
    air_ends: tuple[str, ...] = ()  # the same for air
    notes: tuple[str, ...] = field(default=())
    warnings: tuple[str, ...] = ()  # said wherever the drawing stands
    asked_floor: float = 0.0  # mm above ground or paving, where a door asks its floor so high
    sides: tuple[str, str] = ("outside", "inside")  # written at the left and at the right
    cut_off: float | None = None  # x where a roof or deck that runs on is cut off in a picture
    turn: int = 0  # of a plan round a corner: 1 or -1, the slope of the line on which its two walls meet

    def layer(self, key: str) -> Layer:
        """The layer called ``key``."""
        return next(layer for layer in self.layers if layer.key == key)

    @property
    def rows(self) -> tuple[str, ...]:
        """Every row of the ladder that the section shows, in order."""
        shown = [row for layer in self.layers for row in layer.rows]
        return tuple(dict.fromkeys([*shown, *(one.key for one in self.dimensions)]))


def rectangle(left: float, bottom: float, right: float, top: float) -> tuple[Point, ...]:
    """Corners of an upright rectangle.

    Examples
    --------
    >>> rectangle(0, 0, 2, 1)
    ((0, 0), (2, 0), (2, 1), (0, 1))
    """
    return ((left, bottom), (right, bottom), (right, top), (left, top))


def sheet(points: Sequence[Point], thickness: float) -> tuple[Point, ...]:
    """Outline of a bent sheet whose one face runs through ``points``; its body lies to the left of the way.

    Corners are mitred, so the face given stays exactly where it was put. A negative thickness puts the body to
    the right.

    Examples
    --------
    >>> sheet([(0, 10), (0, 0), (-20, 0)], 1)
    ((0, 10), (0, 0), (-20, 0), (-20.0, -1.0), (1.0, -1.0), (1.0, 10.0))
    >>> sheet([(0, 10), (0, 0), (0, 0), (-20, 0)], 1) == sheet([(0, 10), (0, 0), (-20, 0)], 1)
    True
    """
    points = [one for one, before in zip(points, (None, *points), strict=False) if one != before]
    normals = []
    for (ax, ay), (bx, by) in pairwise(points):
        length = hypot(bx - ax, by - ay)
        normals.append((-(by - ay) / length, (bx - ax) / length))
    back = []
    for place, (x, y) in enumerate(points):
        before, after = normals[max(place - 1, 0)], normals[min(place, len(normals) - 1)]
        share = thickness / (1 + before[0] * after[0] + before[1] * after[1])
        back.append((x + share * (before[0] + after[0]), y + share * (before[1] + after[1])))
    return (*points, *reversed(back))


def moved(layer: Layer, *, across: float = 0.0, up: float = 0.0) -> Layer:
    """``layer`` shifted."""
    return replace(layer, outline=tuple((x + across, y + up) for x, y in layer.outline))


def taken_down(layer: Layer, old: float, new: float) -> Layer:
    """``layer`` with what ended at height ``old`` taken to ``new``."""
    return replace(layer, outline=tuple((x, new if y == old else y) for x, y in layer.outline))


def without(layers: Iterable[Layer], key: str) -> tuple[Layer, ...]:
    """``layers`` but for the one called ``key``."""
    return tuple(layer for layer in layers if layer.key != key)
