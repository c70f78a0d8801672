"""What is seen of the parts of a junction, and where on a part the leader of its ring may end."""

from collections.abc import Sequence

import numpy as np
import shapely
from shapely import clip_by_rect, get_coordinates, line_interpolate_point, unary_union
from shapely.geometry import Polygon, box
from shapely.geometry.base import BaseGeometry

from exposure.draw.drawing import Point
from exposure.draw.junction_materials import BEHIND, LINES, SMALL
from exposure.junction.scene import Layer, Section

SPOTS = tuple((step + 0.5) / 6 for step in range(6))  # of the way round a part, where a leader may end
FACE_SPOTS = tuple(0.04 + 0.08 * step for step in range(12))
NARROW = 40.0  # mm, half of a cavity that a batten fills
INSIDE = 6.0  # mm from the edge of a part to the end of its leader at least, where it is wide enough
END, SIDE = 0.25, 0.1  # of what is to come, left out at its ends and at its sides
CLEAR = ("outlined", "hidden", "level")  # what covers nothing
THROUGH = ("tie", "level")  # what is seen before parts that are cut


def as_drawn(section: Section) -> list[Layer]:
    """The layers in the order they are drawn: what is seen beyond first, films last, the tray over tape, over all what their edges would hide."""
    return sorted(
        section.layers,
        key=lambda layer: (
            is_behind(layer),
            layer.material == "thin packer",
            layer.cut or layer.material in THROUGH,
            layer.material in (*LINES, *SMALL),
            layer.material in ("tray", *SMALL),
            layer.material in SMALL,
            layer.material not in BEHIND,
            layer.material in THROUGH,
        ),
    )


def is_behind(layer: Layer) -> bool:
    """Whether a part lies behind what is cut, and is seen dashed through it."""
    return layer.material == "hidden" and not layer.cut


def polygons(rings: Sequence[Sequence[Point]]) -> np.ndarray:
    """The shape inside each ring, made together: one by one takes several times as long.

    Examples
    --------
    >>> [one.area for one in polygons([[(0, 0), (4, 0), (4, 3)], [(0, 0), (2, 0), (2, 2), (0, 2)]])]
    [6.0, 4.0]
    """
    if not rings:
        return np.array([], dtype=object)
    which = np.repeat(np.arange(len(rings)), [len(ring) for ring in rings])
    return np.asarray(shapely.polygons(shapely.linearrings(np.concatenate(rings), indices=which)))


def in_sight(layer: Layer, section: Section) -> BaseGeometry:
    """What of a part no later one covers; the whole of one that is all covered."""
    order = as_drawn(section)
    left, low, right, high = extent(layer)
    over = []
    for one in order[order.index(layer) + 1 :]:
        x0, y0, x1, y1 = extent(one)
        to_come = layer.key == "field" and one.material == "outlined"  # it will lie on the field
        if (to_come or one.material not in CLEAR) and x0 < right and x1 > left and y0 < high and y1 > low:
            over.append(one.outline)
    whole, *others = polygons([layer.outline, *over])
    seen = whole.difference(unary_union(others)) if others else whole
    if layer.material == "outlined":  # at its middle: where it ends, others end too
        along, across = (high - low, right - left), (END, SIDE if section.view == "face" else END)
        if along[0] < along[1]:
            across = across[::-1]
        rise, run = (long * share for long, share in zip(along, across, strict=True))
        middle = clip_by_rect(seen, left + run, low + rise, right - run, high - rise)
        seen = seen if middle.is_empty else middle
    return whole if seen.area < whole.area / 50 else seen


def extent(layer: Layer) -> tuple[float, float, float, float]:
    """Left, bottom, right and top of a part."""
    xs, ys = [x for x, _ in layer.outline], [y for _, y in layer.outline]
    return min(xs), min(ys), max(xs), max(ys)


def anchors(
    layer: Layer,
    view: tuple[float, float, float, float],
    shares: Sequence[float] = SPOTS,
    *,
    seen: BaseGeometry | None = None,
    inside: float = INSIDE,
) -> list[Point]:
    """Points inside a part, or inside what is ``seen`` of it, where a leader may end: so far ``inside`` where it is wide enough."""
    seen = (Polygon(layer.outline) if seen is None else seen).intersection(box(*view))
    seen = max(getattr(seen, "geoms", [seen]), key=lambda one: one.area)
    if seen.is_empty:
        return [layer.outline[0]]
    found = [seen.representative_point()]
    if (
        layer.material == "batten" and found[0].x - seen.bounds[0] < NARROW
    ):  # nearer to the cladding: else it looks like a leader to the membrane
        seen = clip_by_rect(
            seen, seen.bounds[0], seen.bounds[1], (seen.bounds[0] + seen.bounds[2]) / 2, seen.bounds[3]
        )
        found = [seen.representative_point()]
    ring = seen.buffer(-min(inside, 0.8 * seen.area / max(seen.length, 1)))
    ring = max(getattr(ring, "geoms", [ring]), key=lambda one: one.area)
    if not ring.is_empty:
        found += line_interpolate_point(ring.exterior, shares, normalized=True).tolist()
    return [(x, y) for x, y in get_coordinates(found).tolist()]
