"""Faces and sizes of the order of work at the opening of a window, in millimetres, and what stands before the first step.

x runs across the wall, z up, d inward from the face of the wall; what stands before it has a negative d.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import TypeAlias

from exposure.detail.order import window_sequence
from exposure.junction.build_up import BEHIND
from exposure.junction.head import CHECK, LEAF_LINTEL
from exposure.junction.jamb import CLEAR
from exposure.junction.numbers import Numbers
from exposure.junction.window import BOX

Spot: TypeAlias = tuple[float, float, float]
WIDE, HIGH, DEPTH = 1000.0, 1040.0, 150.0
X0, X1, Z0, Z1 = 270.0, 750.0, 300.0, 720.0
MIDDLE = (X0 + X1) / 2
LINTEL_TOP = Z1 + LEAF_LINTEL  # of the outer leaf, that the tray is bedded on
FRAME_FOOT = Z0 + 20  # lower edge of the frame, on packers over the tray
LEAN = (0.34, 0.3)  # how far depth moves to the right and up in the picture
FLANGE_SET = -22.0  # mm, outer face of a frame whose flange lies on the face of the wall
BOX_SET = 45.0  # mm, that of a box frame within the opening
CAVITY_SET = -36.0  # mm, that of a frame behind the outer leaf
INNER_SET = 62.0  # mm, that of an inner leaf, 28 behind the back of a frame before it as in its sections
BARRIER_FOOT = Z0 - 60  # of an upright barrier in the cavity of a leaf, beside its sill
BESIDE = 8.0  # mm, from the opening to an upright barrier beside it
INNER_LEAF = 100.0  # mm, its thickness
CLAD_FACE, LEAF_FACE = -40.0, -80.0  # mm, faces of the cladding and of the outer leaf
TAPE = 60.0
BELOW_SILL, PAST_HEAD = 25.0, 60.0  # mm, jamb tape under the sill line, and over the head line
PLATE = Z1 + 24  # where a head flashing turns out from the wall, over the flange of a frame that has one
FLAP_FOOT = PLATE + BEHIND  # lower edge of a head flap over the leg of its flashing
PLATE_FALL = 18 / 64  # of a head flashing, from its leg out to its lip
LIP = -70.0  # face of its lip


@dataclass(frozen=True)
class Face:
    """One flat part; ``line`` for an edge without a body."""

    points: tuple[Spot, ...]
    material: str
    line: bool = False


@dataclass(frozen=True)
class Size:
    """A number of the schedule written at a spot, and the two ends of what it measures, or one spot it points at; ``name`` for a part named without a number."""

    row: str
    at: Spot
    ends: tuple[Spot, ...] = ()
    name: str = ""
    word: str = ""  # beside the number, where it is not the row's own


Made: TypeAlias = tuple[list[Face], list[Size]]


def seen(spot: Spot) -> tuple[float, float]:
    """Where a spot stands in the picture: what lies deeper is seen farther right and up."""
    x, z, d = spot
    return x + LEAN[0] * d, z + LEAN[1] * d


def measured(row: str, start: Spot, end: Spot, *, beside: float = 0.0, above: float = 0.0) -> Size:
    """A number between two spots, written so far beside or above their middle."""
    x, z, d = ((a + b) / 2 for a, b in zip(start, end, strict=True))
    return Size(row, (x + beside, z + above, d), (start, end))


def flat(x0: float, z0: float, x1: float, z1: float, material: str, d: float = 0.0) -> Face:
    """An upright rectangle that faces the reader."""
    return Face(((x0, z0, d), (x1, z0, d), (x1, z1, d), (x0, z1, d)), material)


def line(points: Iterable[Spot], material: str) -> Face:
    """An edge or a mark without a body."""
    return Face(tuple(points), material, line=True)


def broken(left: float, height: Callable[[float], float], d: float, material: str = "hatching") -> list[Face]:
    """Two lines from ``left`` on that break what is longer than the frame has room for, the lower one at ``height`` of x."""
    breaks = []
    for up in (0.0, 25.0):
        way = [(left, 0), (570, 0), (585, 22), (605, -22), (620, 0), (WIDE, 0)]
        breaks.append(line([(x, height(x) + up + jag, d) for x, jag in way], material))
    return breaks


def round_opening(material: str) -> list[Face]:
    """The wall round the opening."""
    return [
        flat(0, 0, WIDE, Z0, material),
        flat(0, Z1, WIDE, HIGH, material),
        flat(0, Z0, X0, Z1, material),
        flat(X1, Z0, WIDE, Z1, material),
    ]


def rendered(x0: float, z0: float, x1: float, z1: float, d: float) -> list[Face]:
    """A piece of render, dotted in rows, without edges of its own."""
    rows = range(int(z0) + 20, int(z1) - 8, 40)
    dots = [line([(x0 + 12 + z % 80 / 4, z, d - 1), (x1 - 8, z, d - 1)], "dots") for z in rows]
    return [flat(x0, z0, x1, z1, "render", d), *dots]


def is_rendered(numbers: Numbers) -> bool:
    """Whether the wall has a skin of render, with no joints of boards."""
    return numbers.circumstances.wall_type == "rendered board"


def behind_leaf(numbers: Numbers) -> bool:
    """Whether the frame stands in the cavity behind an outer leaf that laps it."""
    mine = numbers.circumstances
    if mine.window_position == "over the cavity" and mine.wall_type == "masonry veneer":
        return mine.frame == BOX
    return window_sequence(mine, boards=numbers.boards) == "masonry cavity"


def lintel_foot(numbers: Numbers) -> float:
    """Lower edge of the lintel of the outer leaf: before a frame behind that as far as in its section, else just over the frame's top."""
    return Z1 - CLEAR - (CHECK if behind_leaf(numbers) else 5)


def window_face(numbers: Numbers) -> float:
    """Depth of the outer face of the window's frame."""
    mine = numbers.circumstances
    front = LEAF_FACE if "masonry" in mine.wall_type else CLAD_FACE
    if behind_leaf(numbers):
        return CAVITY_SET
    if mine.window_position == "over the cavity":
        return CLAD_FACE + 20 if mine.frame == BOX else front - 2
    return BOX_SET if mine.frame == BOX else FLANGE_SET


def core_face(numbers: Numbers) -> float:
    """Depth of the wall's face before the first step: of an inner leaf behind the insulation to come, of boards or studs elsewhere."""
    return INNER_SET if numbers.circumstances.wall_type == "cavity masonry" else 0.0


def leg_at_head(numbers: Numbers) -> float:
    """Upper edge of the leg of a head flashing: behind a head flap, or behind the membrane above a level cut at the edge of the opening's tape."""
    foot = Z1 + numbers.length("tape_bond", 50) if numbers.cut_over_head else FLAP_FOOT
    return foot + numbers.length("head_up", 50)


def plate_at(d: float) -> float:
    """Height of the plate of a head flashing at a depth."""
    return PLATE + PLATE_FALL * (d + 6)


def lip_foot(numbers: Numbers) -> float:
    """Lower edge of a head flashing, so far down over the frame as ordered."""
    return Z1 - CLEAR - numbers.length("head_lap", 20)


def _inner_leaf() -> list[Face]:
    """The inner leaf as far as the frame's edges, and the opening in it, whose reveal has its tint and edges of its own."""
    d, deep = INNER_SET, INNER_SET + INNER_LEAF
    left, low, right, high = -LEAN[0] * d, -LEAN[1] * d, WIDE - LEAN[0] * d, HIGH - LEAN[1] * d
    walls = [(left, low, right, Z0), (left, Z1, right, high), (left, Z0, X0, Z1), (X1, Z0, right, Z1)]
    front, back = ([(X0, Z1, at), (X0, Z0, at), (X1, Z0, at), (X1, Z1, at), (X0, Z1, at)] for at in (d, deep))
    return [
        *(flat(*wall, "masonry", d) for wall in walls),
        flat(X0, Z0, X1, Z1, "room", deep),
        Face((front[1], front[2], back[2], back[1]), "masonry"),
        Face((front[1], front[0], back[0], back[1]), "masonry"),
        line(front, "arris"),
        line(back[:3], "arris"),
        line([front[1], back[1]], "arris"),
    ]


def insulated(foot: float, top: float, sides: tuple[float, float], head: float) -> list[Face]:
    """Insulation on the inner leaf up to ``top``, left out from ``foot`` to ``head`` between ``sides`` for window and tray, and beside the opening down to the foot of the barriers."""
    (left, right), deep, low = sides, INNER_SET, BARRIER_FOOT
    a, b = X0 - BESIDE, X1 + BESIDE
    front = [(left, head), (left, low), (a, low), (a, foot), (b, foot), (b, low), (right, low), (right, head), (left, head)]  # fmt: skip
    pieces = [
        (0, 0, WIDE, low),
        (0, low, left, head),
        (a, low, b, foot),
        (right, low, WIDE, head),
        (0, head, WIDE, top),
    ]
    beds = [
        Face(((start, z, 0), (end, z, 0), (end, z, deep), (start, z, deep)), "insulation")
        for start, end, z in ((left, a, low), (a, b, foot), (b, right, low))
    ]
    uprights = [
        Face(((x, low, 0), (x, high, 0), (x, high, deep), (x, low, deep)), "insulation")
        for x, high in ((left, head), (b, foot))
    ]
    end = WIDE - LEAN[0] * deep  # as far as the frame
    over = Face(((0, top, 0), (WIDE, top, 0), (end, top, deep), (0, top, deep)), "insulation")
    inward = [line([(x, low, 0), (x, low, deep)], "arris") for x in (left, b)]
    edges = [line([(x, z, 0.0) for x, z in front], "arris"), *inward, line([(0, top, 0), (WIDE, top, 0)], "arris")]  # fmt: skip
    return [*(flat(*piece, "insulation") for piece in pieces), *beds, *uprights, over, *edges]


def ground(numbers: Numbers) -> list[Face]:
    """What stands before the first step: boards, studs or inner leaf, and the opening in them."""
    room = flat(X0, Z0, X1, Z1, "room", DEPTH)
    if core_face(numbers):
        return _inner_leaf()
    sill = Face(((X0, Z0, 0), (X1, Z0, 0), (X1, Z0, DEPTH), (X0, Z0, DEPTH)), "timber")
    jamb = Face(((X0, Z0, 0), (X0, Z1, 0), (X0, Z1, DEPTH), (X0, Z0, DEPTH)), "timber")
    if numbers.boards:
        return [*round_opening("board"), room, sill, jamb]
    studs = [flat(x, 0, x + 45, HIGH, "timber") for x in (0, X0 - 45, X1, WIDE - 45)]
    studs += [
        flat(MIDDLE - 22, low, MIDDLE + 23, high, "timber") for low, high in ((0, Z0 - 45), (Z1 + 140, HIGH))
    ]
    rails = [flat(X0, Z0 - 45, X1, Z0, "timber"), flat(X0, Z1, X1, Z1 + 140, "timber")]
    return [*round_opening("room"), *studs, *rails, room, sill, jamb]
