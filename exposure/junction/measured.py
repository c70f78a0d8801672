"""A section with its geometry at hand: shapes, air spaces, and the parts a little apart so that water finds joints."""

from functools import cached_property

import numpy as np
from shapely import LineString, box, buffer, dwithin, intersects, points, prepare, unary_union
from shapely import Point as Spot
from shapely.geometry import MultiPolygon, Polygon
from shapely.geometry.polygon import orient

from exposure.junction.scene import Section

TRUE = 1e-6  # mm
SHRINK = 0.1  # mm off every part, so that a joint is a channel
CLOSED = 0.3  # mm; two parts nearer than twice this close the way to air
BONDED = ("tape", "flange", "sealant")


class Proven:
    """A section with its geometry at hand."""

    def __init__(self, section: Section) -> None:
        self.section = section
        self.cut = [layer for layer in section.layers if layer.cut]
        self.shapes = {layer.key: orient(Polygon(layer.outline)) for layer in section.layers}
        self.material = {layer.key: layer.material for layer in section.layers}
        self.ends: dict = {}  # by way and spot of a drop: where it went from there, and why that is wrong
        self.clear: dict = {}  # by way of a drop: how far before the end of its side nothing lies on it

    @cached_property
    def shrunk(self) -> dict[str, Polygon]:
        """Every cut part a little smaller, what is stuck on larger by twice that: water gets into a joint, not under a bond.

        A bond so reaches into the part it is stuck on, and stops a drop on it whatever the rounding.
        """
        found = {}
        by = np.array([2 * SHRINK if layer.material in BONDED else -SHRINK for layer in self.cut])
        shapes = [self.shapes[layer.key] for layer in self.cut]
        for layer, less in zip(self.cut, buffer(shapes, by, join_style="mitre", mitre_limit=10), strict=True):
            if isinstance(less, MultiPolygon):
                less = max(less.geoms, key=lambda one: one.area)
            if not less.is_empty:
                found[layer.key] = orient(less)
        return found

    @cached_property
    def rings(self) -> dict[str, list[tuple[float, float]]]:
        """The outline of every such part, body on the left, first corner given once."""
        return {key: list(shape.exterior.coords)[:-1] for key, shape in self.shrunk.items()}

    @cached_property
    def sides(self) -> dict[str, list[tuple[float, float, float, float, float]]]:
        """Of each side of each ring where it begins, the way it goes, and the square of its length."""
        return {
            key: [
                (ax, ay, bx - ax, by - ay, (bx - ax) ** 2 + (by - ay) ** 2)
                for (ax, ay), (bx, by) in zip(ring, [*ring[1:], ring[0]], strict=True)
            ]
            for key, ring in self.rings.items()
        }

    @cached_property
    def _asked(self) -> tuple[list[str], np.ndarray]:
        """Names and shapes of those parts, ready to be asked many times."""
        shapes = np.array(list(self.shrunk.values()), dtype=object)
        prepare(shapes)
        return list(self.shrunk), shapes

    def met_by(self, way: LineString) -> list[str]:
        """Parts that a way meets."""
        names, shapes = self._asked
        return [names[place] for place in np.flatnonzero(intersects(shapes, way))]

    def meets_any(self, ways: np.ndarray) -> np.ndarray:
        """Whether any part lies in each of the ways."""
        _, shapes = self._asked
        return intersects(shapes.reshape(-1, *[1] * ways.ndim), ways).any(axis=0)

    def reached(self, spots: list[tuple[float, float]]) -> np.ndarray:
        """Which of the spots the open air or that of a drained cavity gets to."""
        return dwithin(self.wet, points(spots), 2 * CLOSED)

    @cached_property
    def air(self):
        """Air spaces inside the view, joints closed."""
        return self.air_over(2 * CLOSED)

    def air_over(self, least: float) -> list:
        """Air spaces inside the view that are at least so wide. [mm]"""
        left, bottom, right, top = self.section.box
        shapes = [self.shapes[layer.key] for layer in self.cut]
        solid = unary_union(buffer(shapes, least / 2, join_style="mitre"))
        free = box(left, bottom, right, top).difference(solid)
        return list(getattr(free, "geoms", [free]))

    @cached_property
    def wet(self):
        """Open air and drained cavity."""
        seeds = [Spot(point) for point in self.section.outdoors]
        found = unary_union(
            [space for space in self.air if any(space.distance(seed) < TRUE for seed in seeds)]
        )
        prepare(found)
        return found
