"""From a footprint to elevations: edges merged, outward normals, party walls left out, names by compass."""

from collections import Counter

import numpy as np
import shapely
from shapely import LineString, Polygon
from shapely.geometry.polygon import orient

from exposure.checks import RefusalError
from exposure.doubts import doubt
from exposure.wall.building import Wall, compass_name
from exposure.wall.roof import Roof, Span, roofed

TOLERANCE = 0.3  # m; bays and jogs smaller than this are part of the wall; our choice
SAME_WALL = 6.0  # degrees; neighbouring edges that turn less are one elevation; our choice
BULGE = 1.0  # m; and no corner between may lie farther off the line; our choice
SHORTEST = 0.6  # m; shorter pieces are no elevation; our choice
TOUCHING = 0.3  # m; a neighbour this near shares the wall; our choice


class _Edge:
    """A straight piece of the outline, seen from outside from right to left."""

    def __init__(self, start: np.ndarray, end: np.ndarray, place: str, whole: float = 0.0) -> None:
        self.start, self.end, self.place = start, end, place
        run = end - start
        self.length = float(np.hypot(*run))
        self.whole = max(whole, self.length)  # m; the edge it is a piece of
        self.orientation = float(np.rad2deg(np.arctan2(run[1], -run[0]))) % 360.0


def elevations_of(
    footprint: Polygon,
    *,
    height: float,
    storeys: int = 2,
    roof: Roof | str | None = None,
    touching: np.ndarray | None = None,
    tolerance: float = TOLERANCE,
) -> tuple[tuple[Wall, ...], tuple[str, ...]]:
    """Elevations of a building, and what was assumed or left out, as sentences.

    Parameters
    ----------
    footprint
        In metres east and north, true north up (:class:`exposure.site.plane.LocalPlane`).
    height, storeys
        To the eaves, or to the top of a flat roof. [m, 1]
    roof
        What is told of it; a word alone stands for its form. See :class:`exposure.wall.roof.Roof`.
    touching
        Polygons of neighbours; walls shared with them are left out.

    Raises
    ------
    RefusalError
        When no wall is left, or the roof cannot be.

    Examples
    --------
    >>> house = Polygon([(0, 0), (10, 0), (10, 6), (0, 6)])
    >>> walls, _ = elevations_of(house, height=6, roof=Roof("gable", eaves=350, ridge_height=8.5))
    >>> [(wall.name, wall.length, wall.height, wall.shape) for wall in walls][:2]
    [('south', 10.0, 6.0, 'two-storey eaves wall'), ('east', 6.0, 8.5, 'two-storey gable')]
    """
    roof = roof if isinstance(roof, Roof) else Roof(roof)
    smoothed = footprint.simplify(tolerance)
    simple = orient(smoothed if isinstance(smoothed, Polygon) and not smoothed.is_empty else footprint, 1.0)
    edges = _edges(np.asarray(simple.exterior.coords)[:-1], court=False)
    for ring in simple.interiors:
        if Polygon(ring).area > tolerance * ring.length:
            edges += _edges(np.asarray(ring.coords)[:-1], court=True)
    notes: list[str] = []
    bare = _bare_pieces(edges, touching, notes)
    if not bare:
        raise RefusalError(
            "every wall touches a neighbour", "one free wall or more", "Check the neighbours' footprints."
        )
    walls = _named(bare, height)
    return roofed(walls, Span.of(simple, [edge.whole for edge in bare]), roof, storeys=storeys), tuple(notes)


def _edges(corners: np.ndarray, *, court: bool) -> list[_Edge]:
    """Pieces between corners, counter-clockwise round the solid; neighbours that hardly turn are put together.

    Pieces join while the last turns less than 6 degrees from the first and no corner between lies more than
    a metre off the line, beginning at the sharpest corner.
    """
    count = len(corners)
    raw = [_Edge(corners[i], corners[(i + 1) % count], "") for i in range(count)]
    turns = [_signed(raw[i].orientation - raw[i - 1].orientation) for i in range(count)]
    first = int(np.argmax(np.abs(turns).round(6)))  # of equal corners the first, whatever the last bits say
    order = [(first + i) % count for i in range(count)]
    breaks = [order[0]]
    for place in range(1, count):
        began = order.index(breaks[-1])
        chain = corners[[order[i % count] for i in range(began, place + 2)]]
        turned = abs(_signed(raw[order[place]].orientation - raw[breaks[-1]].orientation))
        if turned > SAME_WALL or _bulge(chain) > BULGE:
            breaks.append(order[place])
    if len(breaks) < 3:
        breaks = order
    merged = []
    for j, i in enumerate(breaks):
        last = breaks[(j + 1) % len(breaks)]
        inward = (
            turns[i] > 0 or turns[last] > 0
        )  # orientations fall round an outer corner and rise at an inner
        place_words = "courtyard" if court else "inner" if inward else ""
        merged.append(_Edge(corners[i], corners[last], place_words))
    return merged


def _bulge(chain: np.ndarray) -> float:
    """Largest distance of a corner of ``chain`` from the line between its ends. [m]"""
    run = chain[-1] - chain[0]
    away = chain - chain[0]
    return float(np.abs(run[0] * away[:, 1] - run[1] * away[:, 0]).max() / max(np.hypot(*run), 1e-9))


def _signed(turn: float) -> float:
    return (turn + 180.0) % 360.0 - 180.0


def _bare_pieces(edges: list[_Edge], touching: np.ndarray | None, notes: list[str]) -> list[_Edge]:
    """Edges without the parts a touching neighbour covers."""
    if touching is None or len(touching) == 0:
        return [edge for edge in edges if edge.length >= SHORTEST]
    whole = shapely.union_all(
        shapely.buffer(np.asarray(touching, dtype=object), TOUCHING, join_style="mitre")
    )
    bare, hidden = [], 0.0
    for edge in edges:
        left = LineString([edge.start, edge.end]).difference(whole)
        kept = [piece for piece in shapely.get_parts(left) if piece.length >= SHORTEST]
        hidden += edge.length - sum(piece.length for piece in kept) if edge.length >= SHORTEST else 0.0
        for piece in kept:
            ends = np.asarray(piece.coords)
            bare.append(_Edge(ends[0], ends[-1], edge.place, edge.length))
    if hidden > SHORTEST:
        notes.append(doubt("wall.touching_neighbour", hidden=hidden))
    return bare


def _named(bare: list[_Edge], height: float) -> list[Wall]:
    """Elevations named by the way they face, each as tall as the eaves; the roof is put on afterwards."""
    names = [compass_name(edge.orientation) + (f", {edge.place}" if edge.place else "") for edge in bare]
    total, seen = Counter(names), Counter[str]()
    walls = []
    for edge, name in zip(bare, names, strict=True):
        seen[name] += 1
        flags: tuple[str, ...] = ()
        if edge.place == "courtyard":
            flags = (doubt("wall.courtyard", name),)
        walls.append(
            Wall(
                name=f"{name} {seen[name]}" if total[name] > 1 else name,
                orientation=round(edge.orientation, 2) % 360.0,
                length=round(edge.length, 2),
                height=height,
                start=(round(float(edge.start[0]), 3), round(float(edge.start[1]), 3)),
                end=(round(float(edge.end[0]), 3), round(float(edge.end[1]), 3)),
                flags=flags,
            )
        )
    return walls
