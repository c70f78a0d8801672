"""How each material of a junction looks: pale fill, plain hatching, edge. Told apart without colour by the hatching."""

from collections.abc import Sequence
from math import cos, pi, sin

import numpy as np
from shapely import LineString, MultiLineString, linestrings, multilinestrings
from shapely.geometry import Polygon

from exposure.draw.drawing import Point, path, stroke
from exposure.draw.palette import INK, PAPER, RAIN, SOFT

FILLS = {
    "timber": "#F3EBDD",
    "batten": "#FAF6EE",
    "packer": "#E4D8C2",
    "thin packer": "#C3A878",
    "board": "#E9E4DA",
    "insulation": "#FDFAF3",
    "slab": "#FBF7EE",
    "cladding": "#E4E8EA",
    "render": "#E4E8EA",
    "masonry": "#EFE9E2",
    "open joint": "#FFFFFF",
    "concrete": "#E6E6E2",
    "lining": "#F4F4F1",
    "trim": "#E4D8C2",
    "thin board": "#C9B48F",
    "frame": "#FFFFFF",
    "glass": "#DCE6E6",
    "rod": "#FFFFFF",
    "sealant": "#8A949B",
    "soil": "#EDE7DC",
    "paving": "#E6E6E2",
    "roof": "#E9E6E4",
    "deck": "#E6E0D4",
    "mesh": "#D5DADC",
    "film": "#EDF2F2",
    "opening": "#FFFFFF",
    "pale tape": "#B9D3D6",
    "pale metal": "#C2C9CD",
    "metal behind": "#707B84",
    "fixing": INK,
    "outlined": "none",
    "hidden": "none",
    "bracket": "#5C6A73",
    "level": "#8A949B",
    "tie": "#FFFFFF",
    "pipe": "#FFFFFF",
    "box": "#F4F4F1",
    "barrier": "#D9CDB8",
    "membrane": RAIN,
    "tape": "#5F8F99",
    "flange": INK,
    "damp course": INK,
    "dpc": INK,
    "metal": INK,
    "tray": INK,
    "gutter": INK,
}
PLAIN = ("insulation",)  # on which rings of thin parts beside it may stand
STRAIGHT = (
    "concrete",
    "roof",
    "batten",
)  # whose slopes run on unbent past films that are drawn thick, where none lies on them
SOLID = (
    "frame",
    "glass",
    "masonry",
    "concrete",
    "trim",
    "thin board",
)  # through which a leader would seem to name them
LINES = (
    "membrane",
    "tape",
    "flange",
    "damp course",
    "dpc",
    "metal",
    "tray",
    "gutter",
)  # drawn as one thick line
BEHIND = ("insulation", "core", "batten")
CROSSED = ("timber", "barrier")
FULL = 0.9  # of its box, that a shape fills to be crossed
ROUND = 20  # corners of a rod
LEAST = {"rod": 5.0, "sealant": 3.0, "thin board": 4.0}  # picture units, as small as they can be seen
SMALL = tuple(LEAST)  # a thick edge would fill them
FINE = ("mesh", "metal behind")  # the same
MOST_STROKES = 60
LOOP_POINTS = 8  # by which a loop that is cut is followed
Box = tuple[float, float, float, float]


def shape(points: Sequence[Point], material: str, view: Box, *, seen: bool = False) -> str:
    """One part of a junction in picture units; sides along the edge of the ``view`` are left open."""
    fill = FILLS.get(material, "#FFFFFF")
    if material in SMALL:
        points = as_seen(points, material)
    if material in LINES:
        # a hair of its own colour all round, so that a film of a millimetre can be seen, and white round that, so that it can
        # be told from what it laps
        data = path(points, close=True)
        return (
            stroke(data, colour=PAPER, width=1.9)
            + f'<path d="{data}" fill="{fill}" stroke="{fill}" stroke-width="0.7"/>'
        )
    if material == "hidden":
        return _edges(points, view, INK, 1.0, dashes="3 2")
    # a strip in a gap of some millimetres would print as a black bridge
    width = 0.6 if seen or material in (*SMALL, *FINE) else 1.3
    body = f'<path d="{path(points, close=True)}" fill="{fill}"/>'
    return body + hatching(points, material) + _edges(points, view, SOFT if seen else INK, width)


def run_of(ways: Sequence[Sequence[Point]], material: str, thick: float) -> str:
    """Runs of a film or sheet along their middle lines."""
    return stroke(" ".join(map(path, ways)), colour=FILLS[material], width=thick)


def as_seen(points: Sequence[Point], material: str) -> list[Point]:
    """A bead or a thin board as wide as it can be seen, a rod as a round one."""
    (left, right), (top, foot) = ((min(values), max(values)) for values in zip(*points, strict=True))
    x, y, least = (left + right) / 2, (top + foot) / 2, LEAST[material]
    if material == "rod":
        radius = max(min(right - left, foot - top), least) / 2
        turns = [2 * pi * step / ROUND for step in range(ROUND)]
        return [(x + radius * cos(turn), y + radius * sin(turn)) for turn in turns]
    wide, high = (max(1.0, least / max(long, 0.1)) for long in (right - left, foot - top))
    return [(x + wide * (px - x), y + high * (py - y)) for px, py in points]


def _edges(points: Sequence[Point], view: Box, colour: str, width: float, *, dashes: str = "") -> str:
    """The outline but for its sides along the edge of the view."""
    runs: list[list[Point]] = []
    for one, other in zip(points, [*points[1:], points[0]], strict=True):
        along = any(abs(one[i % 2] - view[i]) < 0.2 and abs(other[i % 2] - view[i]) < 0.2 for i in range(4))
        if along:
            continue
        if runs and runs[-1][-1] == one:
            runs[-1].append(other)
        else:
            runs.append([one, other])
    data = " ".join(path(run) for run in runs)
    if dashes:
        return stroke(data, colour=colour, width=width, dashes=dashes) if data else ""
    return (
        f'<path d="{data}" fill="none" stroke="{colour}" stroke-width="{width}" stroke-linejoin="round"/>'
        if data
        else ""
    )


def hatching(points: Sequence[Point], material: str) -> str:
    """Plain hatching inside a shape."""
    xs, ys = [x for x, _ in points], [y for _, y in points]
    box = (min(xs), min(ys), max(xs), max(ys))
    wide, high = box[2] - box[0], box[3] - box[1]
    if min(wide, high) < 4:
        return ""
    if material in CROSSED:
        return _cross(points, box)
    if material in ("insulation", "slab"):
        return _loops(points, box)
    if material == "masonry":
        return _families(points, box, ((1, 9.0),))
    if material in ("concrete", "paving"):
        return _families(points, box, ((-1, 7.0),))
    if material == "render":
        return _families(points, box, ((1, 5.0),))
    if material == "roof":
        return _families(points, box, ((0, 6.0),))
    if material == "soil":
        return _families(points, box, ((1, 8.0),), dashes="5 4")
    return ""


def _cross(points: Sequence[Point], box: Box) -> str:
    """From corner to corner; of a shape that is cut for what lies on it, by its box, as long as it nearly fills that."""
    ways = [(points[0], points[2]), (points[1], points[3])] if len(points) == 4 else []
    if not ways:
        left, top, right, foot = box
        whole = Polygon(points)
        if whole.area < FULL * (right - left) * (foot - top):
            return ""
        both = MultiLineString([((left, top), (right, foot)), ((right, top), (left, foot))])
        found = both.intersection(whole.buffer(0))
        ways = [tuple(one.coords) for one in getattr(found, "geoms", [found]) if one.length > 1]
    return stroke(" ".join(map(path, ways)), colour=SOFT, width=0.5)


def _families(
    points: Sequence[Point], box: Box, families: Sequence[tuple[int, float]], *, dashes: str = ""
) -> str:
    """Parallel strokes cut to the shape: leaning right (1), left (-1) or level (0), so far apart."""
    shape = Polygon(points)
    cuts = []
    for lean, step in families:
        high = box[3] - box[1]
        first, last = (box[1], box[3]) if lean == 0 else (box[0] - high, box[2] + high)
        step = max(step, (last - first) / MOST_STROKES)
        number = int((last - first) / step)
        at = first + (np.arange(number + 1) + 0.5) * step
        ends = (box[0], at, box[2], at) if lean == 0 else (at, box[3], at + lean * high, box[1])
        lines = linestrings(np.column_stack(np.broadcast_arrays(*ends)).reshape(-1, 2, 2))
        found = multilinestrings(lines).intersection(shape)
        for one in getattr(found, "geoms", [found]):
            if one.geom_type == "LineString" and one.length > 1:
                cuts.append(path(list(one.coords)))
    return stroke(" ".join(cuts), colour=SOFT, width=0.45, dashes=dashes) if cuts else ""


def _loops(points: Sequence[Point], box: Box) -> str:
    """Soft loops from side to side, cut to the shape."""
    left, top, right, bottom = box
    if right - left < 8 or bottom - top < 8:
        return ""
    number = max(2, round((bottom - top) / max(16.0, (right - left) / 5)))
    step = (bottom - top) / number
    way = [(left + 3, top)]
    data = f"M{left + 3:.1f} {top:.1f}"
    for place in range(number):
        far = right - 3 if place % 2 == 0 else left + 3
        y = top + place * step
        data += f" Q{far:.1f} {y:.1f} {far:.1f} {y + step:.1f}"
        way += _bent(way[-1], (far, y), (far, y + step))
    shape = Polygon(points)
    if not shape.buffer(0.1).covers(LineString(way)):
        cut = LineString(way).intersection(shape.buffer(0))
        runs = [one for one in getattr(cut, "geoms", [cut]) if one.geom_type == "LineString"]
        data = " ".join(path(list(one.coords)) for one in runs)
    return stroke(data, colour=SOFT, width=0.45) if data else ""


def _bent(start: Point, bend: Point, end: Point) -> list[Point]:
    """Points along a loop from ``start``, which is left out, to ``end``."""
    shares = [place / LOOP_POINTS for place in range(1, LOOP_POINTS + 1)]
    return [
        ((1 - t) ** 2 * start[0] + 2 * t * (1 - t) * bend[0] + t * t * end[0],
         (1 - t) ** 2 * start[1] + 2 * t * (1 - t) * bend[1] + t * t * end[1])
        for t in shares
    ]  # fmt: skip
