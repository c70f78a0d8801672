"""A section with its geometry at hand: shapes, air spaces, and the parts a little apart so that water finds joints."""

from functools import cached_property

from shapely import Point as Spot
from shapely import box, unary_union
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

    @cached_property
    def shrunk(self) -> dict[str, Polygon]:
        """Every cut part a little smaller, what is stuck on larger by twice that: water gets into a joint, not under a bond.

        A bond so reaches into the part it is stuck on, and stops a drop on it whatever the rounding.
        """
        found = {}
        for layer in self.cut:
            by = 2 * SHRINK if layer.material in BONDED else -SHRINK
            less = self.shapes[layer.key].buffer(by, join_style="mitre", mitre_limit=10)
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
    def air(self):
        """Air spaces inside the view, joints closed."""
        left, bottom, right, top = self.section.box
        solid = unary_union([self.shapes[layer.key].buffer(CLOSED, join_style="mitre") for layer in self.cut])
        free = box(left, bottom, right, top).difference(solid)
        return list(getattr(free, "geoms", [free]))

    @cached_property
    def wet(self):
        """Open air and drained cavity."""
        seeds = [Spot(point) for point in self.section.outdoors]
        return unary_union(
            [space for space in self.air if any(space.distance(seed) < TRUE for seed in seeds)]
        )
