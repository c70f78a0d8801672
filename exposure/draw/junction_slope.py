"""Slopes of films and sheets are shown straight past films that are drawn thicker, and what lies at them goes with them."""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from itertools import pairwise

from exposure.draw.junction_materials import LINES
from exposure.draw.junction_spread import LONG
from exposure.junction.scene import Layer, Point

NEAR = 30.0  # mm over and under a slope, within which what lies at it is shown with it
LEVEL = 1e-6  # mm, of a side that does not slope


@dataclass(frozen=True)
class Line:
    """A straight line from its left to its right end.

    Examples
    --------
    >>> Line((0, 0), (100, 10)).height(50)
    5.0
    """

    left: Point
    right: Point

    def height(self, x: float) -> float:
        """How high it is at ``x``."""
        share = (x - self.left[0]) / (self.right[0] - self.left[0])
        return self.left[1] + share * (self.right[1] - self.left[1])


def slopes_of(layers: Iterable[Layer]) -> list[Line]:
    """Slanting sides of films and sheets. [mm]"""
    sides = [
        (min(side), max(side))
        for layer in layers
        if layer.material in LINES
        for side in pairwise([*layer.outline, layer.outline[0]])
    ]
    return [Line(a, b) for a, b in sides if b[0] - a[0] >= LONG and abs(b[1] - a[1]) > LEVEL]


def raised_at(
    slopes: Iterable[Line], across: Callable[[float], float], height: Callable[[float], float]
) -> Callable[[Point], float]:
    """How much higher each point is shown for the slope it lies at, less the farther from it. [mm]

    Parameters
    ----------
    across, height
        Where a place across or a height would be shown without this.

    Examples
    --------
    >>> bent = lambda y: y if y < 5 else y + 4  # a film at the height of 5 mm is drawn 4 mm thicker
    >>> raised = raised_at([Line((0, 0), (100, 10))], float, bent)
    >>> [round(raised((x, y)), 2) for x, y in ((0, 0), (25, 2.5), (25, 17.5), (75, 7.5), (100, 10), (25, 40))]
    [0.0, 1.0, 0.5, -1.0, 0.0, 0.0]
    """
    shown = [(one, Line(*((across(x), height(y)) for x, y in (one.left, one.right)))) for one in slopes]

    def raised(point: Point) -> float:
        x, y = point
        at = [
            (abs(y - one.height(x)), one.height(x), straight)
            for one, straight in shown
            if one.left[0] <= x <= one.right[0]
        ]
        away, true, straight = min(at, key=lambda one: one[0], default=(NEAR, y, None))
        if straight is None or away >= NEAR:
            return 0.0
        return (straight.height(across(x)) - height(true)) * (1 - away / NEAR)

    return raised
