"""What each part of the order of work looks like at the opening of a window: faces in millimetres, seen from outside.

x runs across the wall, z up, d inward from the face of the wall; what stands before it has a negative d.
"""

from collections.abc import Callable, Iterable
from dataclasses import dataclass
from typing import TypeAlias

from exposure.junction.numbers import Numbers

Spot: TypeAlias = tuple[float, float, float]
WIDE, HIGH, DEPTH = 1000.0, 1040.0, 150.0
X0, X1, Z0, Z1 = 270.0, 750.0, 300.0, 800.0
SET = 30.0  # mm, frame behind the face of the wall
TAPE = 60.0


@dataclass(frozen=True)
class Face:
    """One flat part; ``line`` for an edge without a body."""

    points: tuple[Spot, ...]
    material: str
    line: bool = False


@dataclass(frozen=True)
class Size:
    """A number of the schedule written at a spot."""

    row: str
    at: Spot


Made: TypeAlias = tuple[list[Face], list[Size]]


def flat(x0: float, z0: float, x1: float, z1: float, material: str, d: float = 0.0) -> Face:
    """An upright rectangle that faces the reader."""
    return Face(((x0, z0, d), (x1, z0, d), (x1, z1, d), (x0, z1, d)), material)


def _line(points: Iterable[Spot], material: str) -> Face:
    return Face(tuple(points), material, line=True)


def _round(material: str) -> list[Face]:
    """The wall round the opening."""
    return [
        flat(0, 0, WIDE, Z0, material),
        flat(0, Z1, WIDE, HIGH, material),
        flat(0, Z0, X0, Z1, material),
        flat(X1, Z0, WIDE, Z1, material),
    ]


def ground(numbers: Numbers) -> list[Face]:
    """What stands before the first step: boards, studs or inner leaf, and the opening in them."""
    room = flat(X0, Z0, X1, Z1, "room", DEPTH)
    sill = Face(((X0, Z0, 0), (X1, Z0, 0), (X1, Z0, DEPTH), (X0, Z0, DEPTH)), "timber")
    jamb = Face(((X0, Z0, 0), (X0, Z1, 0), (X0, Z1, DEPTH), (X0, Z0, DEPTH)), "timber")
    if numbers.circumstances.wall_type == "cavity masonry":
        return [*_round("masonry"), room, sill, jamb]
    if numbers.boards:
        return [*_round("board"), room, sill, jamb]
    studs = [flat(x, 0, x + 45, HIGH, "timber") for x in (0, X0 - 45, X1, WIDE - 45)]
    rails = [flat(X0, Z0 - 45, X1, Z0, "timber"), flat(X0, Z1, X1, Z1 + 140, "timber")]
    return [*_round("room"), *studs, *rails, room, sill, jamb]


def _fall(numbers: Numbers) -> Made:
    rise = 1.5 * numbers.length("sill_slope")
    top = Face(
        ((X0, Z0 + 6, 0), (X1, Z0 + 6, 0), (X1, Z0 + 6 + rise, DEPTH), (X0, Z0 + 6 + rise, DEPTH)), "timber"
    )
    return [top, flat(X0, Z0, X1, Z0 + 6, "timber")], [Size("sill_slope", ((X0 + X1) / 2 + 30, Z0 + 60, 0))]


def _membrane(numbers: Numbers) -> Made:
    faces = _round("film")
    sizes = []
    lap = numbers.length("lap_h", 100)
    for z in (150.0, 880.0):
        faces.append(_line([(0, z, 0), (WIDE, z, 0)], "edge"))
        faces.append(_line([(0, z + lap, 0), (WIDE, z + lap, 0)], "hidden edge"))
    sizes.append(Size("lap_h", (90, 150 + lap / 2, 0)))
    upright = numbers.length("lap_v", 155)
    faces.append(_line([(820, 0, 0), (820, 150, 0)], "edge"))
    faces.append(_line([(820 - upright, 0, 0), (820 - upright, 150, 0)], "hidden edge"))
    sizes.append(Size("lap_v", (820 - upright / 2, 75, 0)))
    return faces, sizes


def _uncut(_: Numbers) -> Made:
    return [flat(X0, Z0, X1, Z1, "film")], []


def _turned_in(numbers: Numbers) -> Made:
    deep = DEPTH * 0.8
    faces = [
        Face(((X0, Z0 + 2, 0), (X1, Z0 + 2, 0), (X1, Z0 + 2, deep), (X0, Z0 + 2, deep)), "flap"),
        Face(((X0, Z0, 0), (X0, Z1, 0), (X0, Z1, deep), (X0, Z0, deep)), "flap"),
    ]
    each = numbers.length("fix_mm", 150)
    z = Z0 + 40
    while z < Z1:
        faces += [flat(x - 7, z - 7, x + 7, z + 7, "fixing") for x in (X0 - 30, X1 + 30)]
        z += each
    return faces, [Size("fix_mm", (X0 - 100, Z0 + 40 + each * 1.5, 0))]


def _flap_up(_: Numbers) -> Made:
    flap = ((X0 - 70, Z1, -5), (X1 + 70, Z1, -5), (X1 + 20, Z1 + 130, -25), (X0 - 20, Z1 + 130, -25))
    return [Face(flap, "flap")], []


def _corner_tape(numbers: Numbers) -> Made:
    each = numbers.length("corner_tape")
    faces = []
    for x, way in ((X0, 1), (X1, -1)):
        shape = (
            (x - way * TAPE, Z0 - TAPE), (x + way * each, Z0 - TAPE), (x + way * each, Z0), (x, Z0), (x, Z0 + each), (x - way * TAPE, Z0 + each),
        )  # fmt: skip
        faces.append(Face(tuple((a, b, 0.0) for a, b in shape), "tape"))
    faces.append(
        Face(((X0, Z0, 0), (X0, Z0 + each, 0), (X0, Z0 + each, DEPTH * 0.7), (X0, Z0, DEPTH * 0.7)), "tape")
    )
    return faces, [Size("corner_tape", (X0 + each / 2 + 20, Z0 - TAPE - 40, 0))]


def _opening_tape(_: Numbers) -> Made:
    deep = DEPTH * 0.9
    return [
        Face(((X0, Z0 + 1, 0), (X1, Z0 + 1, 0), (X1, Z0 + 1, deep), (X0, Z0 + 1, deep)), "tape"),
        Face(((X0, Z0, 0), (X0, Z1, 0), (X0, Z1, deep), (X0, Z0, deep)), "tape"),
    ], []


def _tray(numbers: Numbers) -> Made:
    back, end = numbers.length("back_dam"), numbers.length("end_dam")
    down = numbers.length("tray_down", 30)
    deep, rise = DEPTH * 0.8, 14.0
    low = Z0 + 8
    faces = [
        Face(
            (
                (X0, low + rise, deep),
                (X1, low + rise, deep),
                (X1, low + rise + back, deep),
                (X0, low + rise + back, deep),
            ),
            "metal",
        ),
        Face(((X0, low, 0), (X1, low, 0), (X1, low + rise, deep), (X0, low + rise, deep)), "tray"),
        Face(
            ((X0, low, 0), (X0, low + end, 0), (X0, low + rise + end, deep), (X0, low + rise, deep)), "metal"
        ),
        flat(X0 - 25, low - down, X1 + 25, low, "metal"),
    ]
    if numbers.has("jamb_up"):
        up = numbers.length("jamb_up")
        faces.insert(
            0, Face(((X0, low, 0), (X0, low + up, 0), (X0, low + up, deep), (X0, low, deep)), "tape")
        )
    sizes = [
        Size("back_dam", ((X0 + X1) / 2, low + rise + back + 45, deep)),
        Size("end_dam", (X0 - 60, low + end, 0)),
        Size("tray_down", ((X0 + X1) / 2, low - down - 45, 0)),
        Size("jamb_up", (X0 + 110, low + numbers.length("jamb_up", 100) + 35, 60)),
    ]
    return faces, sizes


def _sealant(_: Numbers) -> Made:
    way = [(X0 - 12, Z0 + 40, 0.0), (X0 - 12, Z1 + 12, 0.0), (X1 + 12, Z1 + 12, 0.0), (X1 + 12, Z0 + 40, 0.0)]
    packers = [flat(x, Z0 + 18, x + 40, Z0 + 32, "timber", 40) for x in (X0 + 60, X1 - 100)]
    return [_line(way, "sealant"), *packers], []


def _window(_: Numbers) -> Made:
    low = Z0 + 30
    return [
        flat(X0 + 8, low, X1 - 8, Z1 - 8, "frame", SET),
        flat(X0 + 58, low + 50, (X0 + X1) / 2 - 15, Z1 - 58, "glass", SET),
        flat((X0 + X1) / 2 + 15, low + 50, X1 - 58, Z1 - 58, "glass", SET),
    ], []


def _jamb_tape(numbers: Numbers) -> Made:
    wide = numbers.length("tape_w")
    faces = [
        flat(X0 + 30 - wide, Z0 - 25, X0 + 30, Z1 + 60, "tape", -2),
        flat(X1 - 30, Z0 - 25, X1 - 30 + wide, Z1 + 60, "tape", -2),
    ]
    return faces, [Size("tape_w", (X0 + 30 - wide / 2, (Z0 + Z1) / 2, 0))]


def _head_tape(_: Numbers) -> Made:
    return [flat(X0 - 60, Z1 - 30, X1 + 60, Z1 + 70, "tape", -4)], []


def _head_flashing(numbers: Numbers) -> Made:
    up, past = numbers.length("head_up"), numbers.length("head_past")
    left, right = X0 - past, X1 + past
    low = Z1 + 6
    lip = low - 18
    faces = [
        flat(left, low, right, low + up, "metal", -6),
        Face(((left, low, -6), (right, low, -6), (right, lip, -70), (left, lip, -70)), "tray"),
        flat(left, lip - 25, right, lip, "metal", -70),
        Face(((right, low, -6), (right, low + 30, -6), (right, lip + 30, -70), (right, lip, -70)), "metal"),
    ]
    sizes = [
        Size("head_up", ((X0 + X1) / 2, low + up + 40, 0)),
        Size("head_past", (right + 60, low + 20, 0)),
        Size("head_lap", (left - 50, lip - 20, -70)),
    ]
    return faces, sizes


def _cavity_tray(numbers: Numbers) -> Made:
    rise = numbers.length("head_tray_mas")
    up = numbers.length("head_up", 40)
    left, right, low, out = X0 - 110, X1 + 110, Z1 + 12, -100.0
    faces = [
        flat(left, low + rise, right, low + rise + up, "metal", -4),
        Face(((left, low + rise, -4), (right, low + rise, -4), (right, low, out), (left, low, out)), "tray"),
        Face(
            (
                (right, low + rise, -4),
                (right, low + rise + 30, -4),
                (right, low + 60, out),
                (right, low, out),
            ),
            "metal",
        ),
    ]
    sizes = [
        Size("head_tray_mas", (right + 70, low + rise / 2, -50)),
        Size("head_up", ((X0 + X1) / 2, low + rise + up + 30, 0)),
    ]
    return faces, sizes


def _flap_down(numbers: Numbers) -> Made:
    low = Z1 + (
        min(numbers.length("head_up", 50), 60) * 0.4 + 6
        if numbers.has("head_past")
        else numbers.length("head_tray_mas", 0) + 30
    )
    high = low + 150
    flap = Face(((X0 - 70, low, -9), (X1 + 70, low, -9), (X1 + 70, high, -9), (X0 - 70, high, -9)), "flap")
    cuts = [
        Face(
            ((X0 - 75, low, -10), (X0 - 35, low, -10), (X0 - 110, high, -10), (X0 - 150, high, -10)), "tape"
        ),
        Face(
            ((X1 + 75, low, -10), (X1 + 35, low, -10), (X1 + 110, high, -10), (X1 + 150, high, -10)), "tape"
        ),
    ]
    return [flap, *cuts], []


def _inner_seal(_: Numbers) -> Made:
    a, b, low, high = X0 + 14, X1 - 14, Z0 + 36, Z1 - 14
    way = [(a, low, SET), (b, low, SET), (b, high, SET), (a, high, SET), (a, low, SET)]
    return [_line(way, "inner seal")], []


def _spray(_: Numbers) -> Made:
    drops = []
    for row in range(6):
        for column in range(5):
            x, z = X0 - 10 + column * 110 + row % 2 * 45, Z0 + 60 + row * 85
            drops.append(_line([(x, z + 34, -120), (x + 26, z, -120)], "drop"))
    return drops, []


def _battens(_: Numbers) -> Made:
    places = (
        (40, 0, HIGH),
        (X0 - 130, 0, HIGH),
        (X1 + 90, 0, HIGH),
        ((X0 + X1) / 2 - 22, 0, Z0 - 60),
        ((X0 + X1) / 2 - 22, Z1 + 130, HIGH),
    )
    return [flat(x, low, x + 45, high, "timber", -20) for x, low, high in places], []


def _barriers(_: Numbers) -> Made:
    return [
        flat(X0 - 60, Z0, X0 - 8, Z1, "barrier", -30),
        flat(X1 + 8, Z0, X1 + 60, Z1, "barrier", -30),
        flat(X0 - 60, Z1 + 8, X1 + 60, Z1 + 50, "barrier", -30),
    ], []


def _boards(top: float, gap: float) -> list[Face]:
    """Boards round the opening up to ``top``."""
    faces = []
    low = 0.0
    while low < top - 1:
        high = min(low + 130, top)
        if low >= Z1 + 20 or high <= Z0 - 30:
            faces.append(flat(0, low, WIDE, high, "cladding", -40))
        else:
            faces += [
                flat(0, low, X0 - 18, high, "cladding", -40),
                flat(X1 + 18, low, WIDE, high, "cladding", -40),
            ]
            if low < Z0 - 30:
                faces.append(flat(X0 - 18, low, X1 + 18, Z0 - 30, "cladding", -40))
            if high > Z1 + 20:
                faces.append(flat(X0 - 18, Z1 + 10 + gap, X1 + 18, high, "cladding", -40))
        low = high
    return faces


def _cladding(numbers: Numbers) -> Made:
    gap = numbers.length("clad_gap", 5)
    return _boards(HIGH, gap), [Size("clad_gap", (X1 + 120, Z1 + 8, -40))]


def _cladding_to_head(_: Numbers) -> Made:
    return _boards(Z1, 0), []


def _bricks(top: float) -> list[Face]:
    faces = _round("masonry") if top > Z1 else _round("masonry")[:1] + _round("masonry")[2:]
    faces = [Face(tuple((x, z, -100.0) for x, z, _ in face.points), face.material) for face in faces]
    z = 75.0
    while z < top:
        parts = [(0.0, WIDE)] if z < Z0 or z > Z1 else [(0.0, X0), (X1, WIDE)]
        faces += [_line([(a, z, -100), (b, z, -100)], "joint") for a, b in parts]
        z += 75
    return faces


def _leaf(numbers: Numbers) -> Made:
    weeps = [flat(x - 6, Z1 + 5, x + 6, Z1 + 70, "fixing", -100) for x in (X0 + 90, X1 - 90)]
    base, sizes = _base_weeps(numbers)
    return [*_bricks(HIGH), *base, *weeps], sizes


def _leaf_to_head(numbers: Numbers) -> Made:
    base, sizes = _base_weeps(numbers)
    return [*_bricks(Z1), *base], sizes


def _base_weeps(numbers: Numbers) -> Made:
    apart, middle = numbers.length("weep_sp"), WIDE / 2
    places = [x for x in (middle - apart / 2, middle + apart / 2) if 0 < x < WIDE]
    return [flat(x - 6, 80, x + 6, 145, "fixing", -100) for x in places], [
        Size("weep_sp", (middle, 112, -100))
    ]


def _support(_: Numbers) -> Made:
    return [flat(X0 + 20, Z0 - 25, X1 - 20, Z0 - 5, "metal", -40)], []


def _mark(_: Numbers) -> Made:
    a, b, low, high = X0 + 8, X1 - 8, Z0 + 8, Z1 - 8
    return [
        _line([(a, low, SET), (b, low, SET), (b, high, SET), (a, high, SET), (a, low, SET)], "hidden edge")
    ], []


def _jamb_course(numbers: Numbers) -> Made:
    wide = numbers.length("dpc_jamb")
    return [
        flat(X0 + 25 - wide, Z0, X0 + 25, Z1, "course", -34),
        flat(X1 - 25, Z0, X1 - 25 + wide, Z1, "course", -34),
    ], [Size("dpc_jamb", (X0 - 40 - wide / 2, Z1 + 45, -34))]


def _sill(numbers: Numbers) -> Made:
    past = numbers.length("sill_past")
    top = Z0 + 6
    faces = [
        flat(X0 - past, top - 92, X1 + past, top - 80, "course", -100),
        Face(
            ((X0 - 40, top, 0), (X1 + 40, top, 0), (X1 + 40, top - 14, -140), (X0 - 40, top - 14, -140)),
            "stone",
        ),
        flat(X0 - 40, top - 80, X1 + 40, top - 14, "stone", -140),
    ]
    return faces, [Size("sill_past", (X1 + past / 2 + 20, top - 125, -100))]


PARTS: dict[str, Callable[[Numbers], Made]] = {
    "fall": _fall,
    "membrane": _membrane,
    "uncut": _uncut,
    "turned in": _turned_in,
    "flap up": _flap_up,
    "corner tape": _corner_tape,
    "opening tape": _opening_tape,
    "tray": _tray,
    "sealant": _sealant,
    "window": _window,
    "jamb tape": _jamb_tape,
    "head tape": _head_tape,
    "head flashing": _head_flashing,
    "cavity tray": _cavity_tray,
    "flap down": _flap_down,
    "inner seal": _inner_seal,
    "spray": _spray,
    "battens": _battens,
    "barriers": _barriers,
    "cladding": _cladding,
    "cladding to the head": _cladding_to_head,
    "leaf": _leaf,
    "leaf to the head": _leaf_to_head,
    "support": _support,
    "mark": _mark,
    "jamb course": _jamb_course,
    "sill": _sill,
}
