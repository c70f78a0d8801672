"""Slanting runs of films and sheets, as thick in a picture as those along an axis, where nothing thin lies on them."""

from collections.abc import Sequence
from functools import cached_property
from itertools import pairwise

import shapely
from shapely import LineString, Polygon

from exposure.draw.junction_materials import LINES
from exposure.draw.junction_spread import LONG, SEEN, THIN
from exposure.junction.scene import Layer, Point

ON_IT, FAR = "damp course", 30.0  # laid on what is let into a joint of a leaf; mm in which it is looked for
LEVEL = 1e-6  # mm, of a run that lies along an axis


class Slants:
    """Middle lines of the runs of a drawing that are drawn thicker, by the layer's key. [mm]

    Examples
    --------
    >>> from exposure.junction.scene import sheet
    >>> apron = Layer("apron", "metal", sheet([(0, 90), (0, 0), (-100, -30)], -1.5), "Apron")
    >>> [[(round(x), round(y)) for x, y in line] for line in Slants([apron], 0.25).of(apron)]
    [[(-1, 1), (-100, -29)]]
    >>> Slants([apron], 2.5).of(apron)
    []
    """

    def __init__(self, layers: Sequence[Layer], scale: float) -> None:
        self.layers, self.scale = layers, scale

    @cached_property
    def _thin(self) -> list[tuple[Layer, Polygon]]:
        return [(one, Polygon(one.outline)) for one in self.layers if one.material in LINES]

    def of(self, layer: Layer) -> list[list[Point]]:
        """Those of ``layer``."""
        if layer.material not in LINES or not layer.cut:
            return []
        found, near = [], SEEN / 2 / self.scale
        for line, thick in slanting_runs(layer.outline):
            if thick >= 2 * near:
                continue
            beside = self._beside(layer, line, near)
            if beside and all(one.material == ON_IT and _lies_over(one, line) for one in beside):
                # down by what it grows, so that the course on it stays in sight
                line = [(x, y - near + thick / 2) for x, y in line]
                beside = self._beside(layer, line, near - thick)
            if not beside:
                found.append(line)
        return found

    def _beside(self, layer: Layer, line: Sequence[Point], near: float) -> list[Layer]:
        """Other films and sheets nearer to a line than ``near``."""
        room = LineString(line).buffer(near, cap_style="flat")
        return [one for one, shape in self._thin if one.key != layer.key and shapely.intersects(room, shape)]


def _lies_over(layer: Layer, line: Sequence[Point]) -> bool:
    """Whether what of a part stands over a run lies above it."""
    left, right = sorted(x for x, _ in line)
    middle = LineString(
        [((left + right) / 2, y) for y in (min(y for _, y in line) - FAR, max(y for _, y in line) + FAR)]
    )
    over = Polygon(layer.outline).intersection(middle)
    return not over.is_empty and over.bounds[1] > min(y for _, y in line)


def slanting_runs(outline: Sequence[Point]) -> list[tuple[list[Point], float]]:
    """Middle line and thickness of each run of a bent sheet that lies along no axis."""
    half = len(outline) // 2
    if len(outline) % 2 or half < 2:
        return []
    near, far = outline[:half], outline[half:][::-1]
    found = []
    for (a, b), (c, d) in zip(pairwise(near), pairwise(far), strict=True):
        across, up = b[0] - a[0], b[1] - a[1]
        long = LineString([a, b]).length
        thick = LineString([a, b]).distance(shapely.Point((c[0] + d[0]) / 2, (c[1] + d[1]) / 2))
        if min(abs(across), abs(up)) < LEVEL or long < LONG or thick > THIN:
            continue
        found.append(([((p[0] + q[0]) / 2, (p[1] + q[1]) / 2) for p, q in ((a, c), (b, d))], thick))
    return found
