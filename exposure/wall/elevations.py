"""From a footprint to elevations: edges merged, outward normals, party walls left out, names by compass."""

from collections import Counter

import numpy as np
import shapely
from shapely import LineString, Polygon
from shapely.geometry.polygon import orient

from exposure.checks import RefusalError
from exposure.wall.building import OUTSIDE_TABLE, Wall, compass_name

TOLERANCE = 0.3  # m; bays and jogs smaller than this are part of the wall; our choice
SAME_WALL = 6.0  # degrees; neighbouring edges that turn less are one elevation; our choice
BULGE = 1.0  # m; and no corner between may lie farther off the line; our choice
SHORTEST = 0.6  # m; shorter pieces are no elevation; our choice
TOUCHING = 0.3  # m; a neighbour this near shares the wall; our choice
ROOFS = ("gable", "hip", "flat")


class _Edge:
    """A straight piece of the outline, seen from outside from right to left."""

    def __init__(self, start: np.ndarray, end: np.ndarray, place: str) -> None:
        self.start, self.end, self.place = start, end, place
        run = end - start
        self.length = float(np.hypot(*run))
        self.orientation = float(np.rad2deg(np.arctan2(run[1], -run[0]))) % 360.0


def elevations_of(
    footprint: Polygon,
    *,
    height: float,
    storeys: int = 2,
    roof: str | None = None,
    touching: np.ndarray | None = None,
    tolerance: float = TOLERANCE,
) -> tuple[tuple[Wall, ...], tuple[str, ...]]:
    """Elevations of a building, and what was assumed or left out, as sentences.

    Parameters
    ----------
    footprint
        In metres east and north, true north up (:class:`exposure.site.plane.LocalPlane`).
    height, storeys
        Of the building. [m, 1]
    roof
        ``gable`` (ridge along the longer side), ``hip`` or ``flat``; without it every wall takes the gable's
        factor, the hardest of the table.
    touching
        Polygons of neighbours; walls shared with them are left out.

    Raises
    ------
    RefusalError
        When no wall is left, or the roof is none of the three.

    Examples
    --------
    >>> house = Polygon([(0, 0), (10, 0), (10, 6), (0, 6)])
    >>> walls, _ = elevations_of(house, height=6, roof="gable")
    >>> [(wall.name, wall.orientation, wall.length, wall.shape) for wall in walls][:2]
    [('south', 180.0, 10.0, 'two-storey eaves wall'), ('east', 90.0, 6.0, 'two-storey gable')]
    """
    if roof is not None and roof not in ROOFS:
        raise RefusalError(f"roof {roof!r}", f"one of {', '.join(ROOFS)}", "Correct the roof.")
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
    along = _long_axis(simple)
    if roof is None:
        notes.append(
            "The roof's shape is not given: every wall takes the factor of a gable, the hardest of the table."
        )
    return _named(bare, height, storeys, roof, along, notes), tuple(notes)


def _edges(corners: np.ndarray, *, court: bool) -> list[_Edge]:
    """Pieces between corners, counter-clockwise round the solid; neighbours that hardly turn are put together.

    Pieces join while the last turns less than 6 degrees from the first and no corner between lies more than
    a metre off the line, beginning at the sharpest corner.
    """
    count = len(corners)
    raw = [_Edge(corners[i], corners[(i + 1) % count], "") for i in range(count)]
    turns = [_signed(raw[i].orientation - raw[i - 1].orientation) for i in range(count)]
    first = int(np.argmax(np.abs(turns)))
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
            bare.append(_Edge(ends[0], ends[-1], edge.place))
    if hidden > SHORTEST:
        notes.append(
            f"{hidden:.1f} m of wall touch a neighbour and are left out; where the neighbour is lower, the wall above it is open to the weather and not assessed."
        )
    return bare


def _long_axis(polygon: Polygon) -> float:
    """Bearing of the longer side of the smallest rectangle round the footprint. [degree, 0 to 180]"""
    box = shapely.get_coordinates(polygon.minimum_rotated_rectangle)
    sides = np.diff(box[:3], axis=0)
    longest = sides[int(np.argmax(np.hypot(*sides.T)))]
    return float(np.rad2deg(np.arctan2(longest[0], longest[1]))) % 180.0


def wall_shape(*, storeys: int, roof: str | None, gable_end: bool) -> str:
    """Row of the wall-factor table for a wall, or ``outside the table``; one storey counts as two (our choice).

    Examples
    --------
    >>> wall_shape(storeys=1, roof="gable", gable_end=True), wall_shape(storeys=5, roof="flat", gable_end=False)
    ('two-storey gable', 'multi-storey, flat roof')
    """
    if roof == "flat":
        return "two-storey, flat roof" if storeys <= 2 else "multi-storey, flat roof"
    if storeys > 3:
        return OUTSIDE_TABLE
    count = "three" if storeys == 3 else "two"
    return f"{count}-storey gable" if roof is None or gable_end else f"{count}-storey eaves wall"


def _named(
    bare: list[_Edge], height: float, storeys: int, roof: str | None, along: float, notes: list[str]
) -> tuple[Wall, ...]:
    names = [compass_name(edge.orientation) + (f", {edge.place}" if edge.place else "") for edge in bare]
    total, seen = Counter(names), Counter[str]()
    walls = []
    for edge, name in zip(bare, names, strict=True):
        seen[name] += 1
        off = abs(_signed(2 * (edge.orientation - along))) / 2  # 0 when the wall faces along the ridge
        shape = wall_shape(storeys=storeys, roof=roof, gable_end=roof == "gable" and off < 45.0)
        flags: tuple[str, ...] = ()
        if edge.place == "courtyard":
            flags = (
                f"The {name} elevation looks into a courtyard; shelter by the building's own wings is not counted.",
            )
        walls.append(
            Wall(
                name=f"{name} {seen[name]}" if total[name] > 1 else name,
                orientation=round(edge.orientation, 2) % 360.0,
                length=round(edge.length, 2),
                height=height,
                shape=shape,
                start=(round(float(edge.start[0]), 3), round(float(edge.start[1]), 3)),
                end=(round(float(edge.end[0]), 3), round(float(edge.end[1]), 3)),
                flags=flags,
            )
        )
    if any(wall.shape == OUTSIDE_TABLE for wall in walls):
        notes.append(f"A pitched roof on {storeys} storeys is outside the wall-factor table; 0.5 is taken.")
    return tuple(walls)
