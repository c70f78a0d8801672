"""What covers the wall round an opening behind and with light cladding: barriers, battens, boards or render."""

from collections.abc import Callable, Sequence
from itertools import pairwise

from shapely import box, unary_union
from shapely.geometry.base import BaseGeometry

from exposure.detail.beside import beside
from exposure.junction.jamb import CLEAR
from exposure.junction.leaf import BARRIER
from exposure.junction.numbers import Numbers
from exposure.junction.sill import BATTEN_BELOW
from exposure.junction.window import BOX
from exposure.junction.work_faces import (
    BARRIER_FOOT,
    BESIDE,
    CLAD_FACE,
    HIGH,
    MIDDLE,
    WIDE,
    X0,
    X1,
    Z1,
    Face,
    Made,
    Size,
    core_face,
    flat,
    is_rendered,
    leg_at_head,
    line,
    plate_at,
    rendered,
)
from exposure.junction.work_round_leaf import leaf_lap
from exposure.junction.work_under import clad_under_sill, support_foot

BOARD, SLIT = 130.0, 14.0  # height of a board, and of the slit behind a barrier's tray over that
ON_FLAP = -11.0  # mm, tape at the ends of a slit: over a head, before its flap and the tape on that
AT_EDGES = (X0 - 60, X1 + 15)  # of the opening, left edges of its battens as the jamb is drawn
ACROSS, STRIPE = 45.0, 52.0  # mm, width of an upright barrier, and from cross to cross on it
# where the lip of a barrier's tray stands, before the cladding, and how high
OUT_OF_JOINT, LIP_DOWN = CLAD_FACE - 3, 20.0
CLOSER = 24.0  # mm, foot of a batten over the plate of a head flashing, clear of the closer on that
GAP_SEEN = 11.0  # mm, the gap of the cladding over flashing and trays, drawn wide enough to be seen
SHORTEST = 20.0  # mm, of a batten between a barrier and an opening


def _battens(numbers: Numbers) -> Made:
    """Upright battens, cut where a barrier runs on under and over the opening; before its flashing is in they end at its head."""
    under, over = _level_barriers(numbers)
    late = numbers.circumstances.window_position == "over the cavity"
    end = Z1 if late else over
    places = [
        (0, 0, HIGH),
        (WIDE - 45, 0, HIGH),
        *((x, low, high) for x in AT_EDGES for low, high in ((0, under), (under + BARRIER, end), (over + BARRIER, HIGH))),
        *((MIDDLE - 22, low, high) for low, high in ((0, under), (under + BARRIER, _under_sill(numbers)), (over + BARRIER, HIGH)) if high - low > SHORTEST),
        *(() if late else _over_closer(numbers)),
    ]  # fmt: skip
    return [flat(x, low, x + 45, high, "timber", -20) for x, low, high in places], []


def _under_sill(numbers: Numbers) -> float:
    """Top of the batten under the middle of a window, as in the section of its sill."""
    return clad_under_sill(numbers) - BATTEN_BELOW


def _battens_at_head(numbers: Numbers) -> Made:
    """Those beside the opening on up to the barrier over it, from above the stop-ends of its head flashing, which stand before them, and the one over its middle."""
    _, over = _level_barriers(numbers)
    low = plate_at(-20.0) + numbers.length("head_stop", 30) + 8
    places = [*((x, low, over) for x in AT_EDGES if over - low > SHORTEST), *_over_closer(numbers)]
    return [flat(x, foot, x + 45, high, "timber", -20) for x, foot, high in places], []


def _over_closer(numbers: Numbers) -> list[tuple[float, float, float]]:
    """The batten over the middle of an opening, from above the closer on its head flashing up to the barrier."""
    _, over = _level_barriers(numbers)
    low = plate_at(-20.0) + CLOSER
    return [(MIDDLE - 22, low, over)] if over - low > SHORTEST else []


def _level_barriers(numbers: Numbers) -> tuple[float, float]:
    """Lower edges of the barriers under and over the opening: clear of the tray and what carries the window, and of the head flashing and the fold of its flap."""
    leg = numbers.length(
        "head_up", 50
    )  # of the tray over a barrier, which no screw of a support goes through
    under = support_foot(numbers) - CLEAR - leg - SLIT - BARRIER
    over = leg_at_head(numbers) + 19
    if not numbers.cut_over_head:
        over = max(over, Z1 + numbers.flap_height + 5)
    return max(under, 10.0), min(over, HIGH - BARRIER - SLIT - 20)


def _beside_barriers(numbers: Numbers) -> tuple[float, float]:
    """Inner edges of the upright barriers beside the opening, beyond the batten at its edge where there is one; in the cavity of a leaf up to a frame behind that."""
    near = BESIDE
    if numbers.has("batten_sp"):  # past the tape at the ends of the cut for the head flashing
        near = max(65.0, numbers.length("head_past", 0.0) + numbers.length("tape_bond", 50) + 5)
    if beside("leaf before the boards", numbers.circumstances):
        near = 1.0 - leaf_lap(numbers)
    return X0 - near, X1 + near


def _heights_out(numbers: Numbers) -> list[float]:
    """Where the trays over level barriers come out through the cladding."""
    return [low + BARRIER for low in _level_barriers(numbers)] if numbers.has("batten_sp") else []


def _ways_out(numbers: Numbers, start: float, top: float) -> Made:
    """Where those trays come out between ``start`` and ``top``: each with its lip, the gap over it, and the slots round its ends."""
    d, heights = CLAD_FACE - 1, [z for z in _heights_out(numbers) if start < z < top]
    if not heights:
        return [], []
    (left, right), stop = _beside_barriers(numbers), numbers.length("head_stop", 30)
    faces = [
        face
        for z in heights
        for face in (
            flat(left - ACROSS, z, right + ACROSS, z + GAP_SEEN, "room", d),
            flat(left - ACROSS, z - LIP_DOWN, right + ACROSS, z, "metal", OUT_OF_JOINT),
            *(flat(x - 8, z, x + 8, z + stop + 5, "room", d) for x in (left - ACROSS, right + ACROSS)),
            *(flat(x - 1.5, z, x + 1.5, z + stop, "metal", d) for x in (left - ACROSS, right + ACROSS)),
        )
    ]
    low = heights[0]
    spot = (MIDDLE + 22, low + GAP_SEEN / 2, d)
    return faces, [Size("", (MIDDLE, low + 85, d), (spot,), "gap over barrier's tray")]


def _turned_end(x: float, top: float, high: float) -> Face:
    """The turned-up end of the tray over a barrier that ends at ``top``, as that of a head flashing: from its leg out to the face of the cladding."""
    low, out = top + SLIT, top + SLIT * (CLAD_FACE - OUT_OF_JOINT) / (-2 - OUT_OF_JOINT)
    ends = ((x, low, -2.0), (x, low + high, -2.0), (x, out + high, CLAD_FACE), (x, out, CLAD_FACE))
    return Face(ends, "metal")


def _slit_ends(
    numbers: Numbers, edges: Sequence[float], top: float
) -> list[tuple[float, float, float, float]]:
    """The tapes at both ends of the slit behind the tray over a barrier that ends at ``top``."""
    bond, foot, head = numbers.length("tape_bond", 50), top + SLIT - 24, min(top + 62, HIGH - 2)
    return [(x - bond, foot, x + bond, head) for x in edges]


def slit_tapes(numbers: Numbers) -> list[tuple[float, float, float, float]]:
    """All tapes at ends of slits behind the trays of level barriers: left, lower, right and upper edge."""
    if "masonry" in numbers.circumstances.wall_type or not numbers.has("cav_fire"):
        return []
    left, right = _beside_barriers(numbers)
    edges = left - ACROSS, right + ACROSS
    return [one for low in _level_barriers(numbers) for one in _slit_ends(numbers, edges, low + BARRIER)]


def _barriers(numbers: Numbers) -> Made:
    """Barriers round the opening, crossed so that none is taken for a batten; in a cavity of masonry none under the sill."""
    masonry = "masonry" in numbers.circumstances.wall_type
    left, right = _beside_barriers(numbers)
    low, high = _ends_of_uprights(numbers)
    places = barrier_places(numbers)
    faces, names = [], []
    if not masonry:
        for top in (low, high + BARRIER):  # each with its own tray above, ends up, open in front
            edges = a, b = (left - ACROSS, right + ACROSS)
            tray = ((a, top + SLIT, -2), (b, top + SLIT, -2), (b, top, OUT_OF_JOINT), (a, top, OUT_OF_JOINT))
            lip = flat(a, top - LIP_DOWN, b, top, "metal", OUT_OF_JOINT)  # before the cladding to come
            slit = [(x, top + SLIT, ON_FLAP + 0.5) for x in edges]  # the leg is out of sight behind it
            ends = [flat(*one, "tape", ON_FLAP) for one in _slit_ends(numbers, edges, top)]
            turned = [_turned_end(x, top, numbers.length("head_stop", 30)) for x in edges]
            faces += [line(slit, "edge"), *ends, Face(tray, "tray"), lip, *turned]
            spot = (MIDDLE + 90, top + 7, -19.0)
            names.append(Size("", (spot[0] + 40, top + (95 if top > Z1 else -110), -19), (spot,), "tray"))
    for place in places:
        faces += _crossed(*place, -30)
    if core_face(numbers):  # whose uprights the courses of the same step hide
        for a, z, b, top in places[:2]:
            faces.append(
                line([(a, z, -30), (b, z, -30), (b, top, -30), (a, top, -30), (a, z, -30)], "cut away")
            )
    spot = (MIDDLE - 60, high + BARRIER / 2, -30.0)
    names.append(Size("", (MIDDLE - 60, Z1 - 130 if masonry else high - 110, -30), (spot,), "barrier"))
    if masonry and numbers.circumstances.window_position == "over the cavity":
        spot = (X1 - 100, high + BARRIER - 4, -30.0)
        names.append(Size("", (X1 - 40, Z1 + 150, -30), (spot,), "tray to come"))
    return faces, names


def _ends_of_uprights(numbers: Numbers) -> tuple[float, float]:
    """Feet and heads of the upright barriers: between two level ones, in a cavity of masonry from beside the sill up."""
    if "masonry" in numbers.circumstances.wall_type:
        return BARRIER_FOOT, Z1 + 8
    low, high = _level_barriers(numbers)
    return low + BARRIER, high


def barrier_places(numbers: Numbers) -> list[tuple[float, float, float, float]]:
    """Barriers round the opening: left, lower, right and upper edge, the two upright ones first."""
    left, right = _beside_barriers(numbers)
    low, high = _ends_of_uprights(numbers)
    places = [
        (left - ACROSS, low, left, high),
        (right, low, right + ACROSS, high),
        (left - ACROSS, high, right + ACROSS, high + BARRIER),
    ]
    if "masonry" not in numbers.circumstances.wall_type:
        places.append((left - ACROSS, low - BARRIER, right + ACROSS, low))
    return places


def _crossed(x0: float, z0: float, x1: float, z1: float, d: float) -> list[Face]:
    """A barrier with its crosses: two ways to and fro."""
    faces = [flat(x0, z0, x1, z1, "barrier", d)]
    wide, long = x1 - x0, z1 - z0
    steps = range(int(max(wide, long) // STRIPE) + 2)
    for turn in (0, 1):
        if long > wide:
            way = [((x0, x1)[(step + turn) % 2], min(z0 + STRIPE * step, z1), d - 1) for step in steps]
        else:
            way = [(min(x0 + STRIPE * step, x1), (z0, z1)[(step + turn) % 2], d - 1) for step in steps]
        faces.append(line(way, "hatching"))
    return faces


def _left_open(numbers: Numbers, top: float) -> BaseGeometry:
    """What boards or render leave open: the opening, and over it the head flashing from end to end with the gap round it."""
    mine = numbers.circumstances
    to_frame = (
        mine.frame != BOX and mine.window_position == "at the sheathing" and not numbers.has("batten_sp")
    )
    inward = max(CLEAR - numbers.length("clad_gap", 5), 0.0) if to_frame else 0.0
    low = clad_under_sill(numbers)
    foot = to_head()  # on either side of the opening the plate of the flashing lies on what stands under it
    hole = box(X0 + inward, low, X1 - inward, min(top, foot))
    return hole if top < HIGH else unary_union([hole, _round_flashing(numbers, foot)])


def _round_flashing(numbers: Numbers, low: float) -> BaseGeometry:
    """The gap over a head flashing from ``low`` up, stepped up round its stop-ends."""
    past, over = numbers.length("head_past", 50), plate_at(CLAD_FACE) + GAP_SEEN
    end = over + numbers.length("head_stop", 30)
    left, right = X0 - past, X1 + past
    notches = [box(x - GAP_SEEN, low, x + GAP_SEEN, end) for x in (left, right)]
    return unary_union([box(left, low, right, over), *notches])


def _bare_gap(numbers: Numbers) -> list[Face]:
    """That gap, bare, with the edges of flashing and stop-ends in it."""
    past, low, d = numbers.length("head_past", 50), plate_at(CLAD_FACE), CLAD_FACE + 0.5
    left, right, high = X0 - past, X1 + past, low + numbers.length("head_stop", 30)
    gap = _round_flashing(numbers, low)
    return [
        Face(tuple((x, z, d) for x, z in gap.exterior.coords[:-1]), "room"),
        *(flat(x - 1.5, low, x + 1.5, high, "metal", CLAD_FACE + 0.2) for x in (left, right)),
        line([(left, low, CLAD_FACE), (right, low, CLAD_FACE)], "edge"),
    ]


def _boards(start: float, top: float, numbers: Numbers) -> list[Face]:
    """Boards, or render, round the opening from ``start`` up to ``top``."""
    hole = _left_open(numbers, top)
    if is_rendered(numbers):
        return _render(hole, start, top)
    faces = []
    for low, high in pairwise(_joints(start, top, _heights_out(numbers))):
        left = box(0, low, WIDE, high).difference(hole)  # cut out round the opening, not jointed at its edges
        faces += [
            Face(tuple((x, z, CLAD_FACE) for x, z in one.exterior.coords[:-1]), "cladding")
            for one in getattr(left, "geoms", [left])
        ]
    return faces


def _joints(start: float, top: float, asked: list[float]) -> list[float]:
    """Edges of boards that are as high as each other between the joints ``asked``."""
    ends = [start, *(z for z in asked if start < z < top), top]
    found = [start]
    for low, high in pairwise(ends):
        number = max(round((high - low) / BOARD), 1)
        found += [low + (high - low) * n / number for n in range(1, number + 1)]
    return found


def _render(hole: BaseGeometry, start: float, top: float) -> list[Face]:
    """Render round what is left open, without a joint."""
    ring, d = [*hole.exterior.coords], CLAD_FACE
    faces: list[Face] = []
    heights = sorted({start, top, *(z for _, z in ring if z > start)})
    for low, high in pairwise(heights):
        left = box(0, low, WIDE, high).difference(hole)
        for one in getattr(left, "geoms", [left]):
            x0, _, x1, _ = one.bounds
            faces += rendered(x0, low, x1, high, d)
    ways = [[(x, z, d) for x, z in pair] for pair in pairwise(ring) if {z for _, z in pair} != {top}]
    return [*faces, *(line(way, "edge") for way in ways)]


def _cladding(numbers: Numbers) -> Made:
    start = to_head() if numbers.circumstances.window_position == "over the cavity" else 0.0
    ways, names = _ways_out(numbers, start, HIGH)
    size = Size(
        "clad_gap",
        (X1 + 150, Z1 + 48, CLAD_FACE),
        ((X1 - 30, plate_at(CLAD_FACE) + GAP_SEEN / 2, CLAD_FACE),),
    )
    return [*_boards(start, HIGH, numbers), *_bare_gap(numbers), *ways], [size, *names]


def _cladding_to_head(numbers: Numbers) -> Made:
    ways, names = _ways_out(numbers, 0.0, to_head())
    return [*_boards(0.0, to_head(), numbers), *ways], names


def to_head() -> float:
    """Where the cladding beside an opening ends until the head is closed: under the plate of the flashing to come."""
    return plate_at(CLAD_FACE) - 1


CLADDING: dict[str, Callable[[Numbers], Made]] = {
    "battens": _battens,
    "battens at the head": _battens_at_head,
    "barriers": _barriers,
    "cladding": _cladding,
    "cladding to the head": _cladding_to_head,
}
