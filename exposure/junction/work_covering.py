"""What is set into an opening and covers the wall round it: window, seals, battens, cladding, outer leaf, sill."""

from collections.abc import Callable

from exposure.junction.numbers import Numbers
from exposure.junction.window import BOX
from exposure.junction.work_faces import (
    BOX_SET,
    CLAD_FACE,
    HIGH,
    SET,
    WIDE,
    X0,
    X1,
    Z0,
    Z1,
    Face,
    Made,
    Size,
    flat,
    line,
    measured,
    plate_at,
    round_opening,
    weeps_over_tray,
)

BARRIER = 42.0
MIDDLE = (X0 + X1) / 2


def _sealant(_: Numbers) -> Made:
    way = [(X0 - 12, Z0 + 40, 0.0), (X0 - 12, Z1 + 12, 0.0), (X1 + 12, Z1 + 12, 0.0), (X1 + 12, Z0 + 40, 0.0)]
    packers = [flat(x, Z0 + 18, x + 40, Z0 + 32, "timber", 40) for x in (X0 + 60, X1 - 100)]
    return [line(way, "sealant"), *packers], []


def _window(numbers: Numbers) -> Made:
    """The window; a flange on the cladding covers its edge, a box frame stands farther in."""
    low, cover, set_back = Z0 + 30, -8.0, SET
    sizes: list[Size] = []
    leaf = "masonry" in numbers.circumstances.wall_type
    over = numbers.circumstances.window_position == "over the cavity"
    if numbers.circumstances.frame == BOX:
        set_back = BOX_SET if not over else -60.0 if leaf else -20.0
    elif over:
        cover = numbers.length("jamb_cover", 10)
        set_back = -102.0 if leaf else -42.0
        sizes.append(
            Size("jamb_cover", (X0 - 90, Z0 + 160, set_back), ((X0 - cover / 2, Z0 + 120, set_back),))
        )
    return [
        flat(X0 - cover, low, X1 + cover, Z1 + min(cover, 0), "frame", set_back),
        flat(X0 + 58, low + 50, MIDDLE - 15, Z1 - 58, "glass", set_back),
        flat(MIDDLE + 15, low + 50, X1 - 58, Z1 - 58, "glass", set_back),
    ], sizes


def _straps(_: Numbers) -> Made:
    """Straps at the jambs on the room side, and packers under the frame."""
    heights = (Z0 + 110, (Z0 + Z1) / 2 - 12, Z1 - 130)
    straps = [flat(x, z, x + 55, z + 24, "metal", 120) for z in heights for x in (X0 - 12, X1 - 45)]
    packers = [flat(x, Z0 + 18, x + 40, Z0 + 32, "timber", 40) for x in (X0 + 60, X1 - 100)]
    return [*straps, *packers], []


def _trim(numbers: Numbers) -> Made:
    """Trims over the joint of a box frame at both jambs."""
    cover = numbers.length("jamb_cover")
    edge = X0 + 8 + cover
    front = -102.0 if "masonry" in numbers.circumstances.wall_type else -48.0
    top = plate_at(front) - 2  # under the plate of the head flashing
    faces = [
        flat(X0 - 30, Z0 - 20, edge, top, "timber", front),
        flat(X1 - 8 - cover, Z0 - 20, X1 + 30, top, "timber", front),
    ]
    return faces, [Size("jamb_cover", (X0 + 110, Z0 + 160, front), ((edge - cover / 2, Z0 + 120, front),))]


def _inner_seal(_: Numbers) -> Made:
    a, b, low, high = X0 + 14, X1 - 14, Z0 + 36, Z1 - 14
    way = [(a, low, SET), (b, low, SET), (b, high, SET), (a, high, SET), (a, low, SET)]
    return [line(way, "inner seal")], []


def _spray(_: Numbers) -> Made:
    drops = []
    for row in range(6):
        for column in range(5):
            x, z = X0 - 10 + column * 110 + row % 2 * 45, Z0 + 60 + row * 85
            drops.append(line([(x, z + 34, -120), (x + 26, z, -120)], "drop"))
    return drops, []


def _battens(numbers: Numbers) -> Made:
    """Upright battens, cut where a barrier runs on under and over the opening."""
    under, over = _level_barriers(numbers)
    at_edges = (X0 - 60, X1 + 15)  # of the opening, as the jamb is drawn
    places = [
        (40, 0, HIGH),
        *((x, low, high) for x in at_edges for low, high in ((0, under), (under + BARRIER, over), (over + BARRIER, HIGH))),
        *((MIDDLE - 22, low, high) for low, high in ((0, under), (over + BARRIER, HIGH))),
    ]  # fmt: skip
    return [flat(x, low, x + 45, high, "timber", -20) for x, low, high in places], []


def _level_barriers(numbers: Numbers) -> tuple[float, float]:
    """Lower edges of the barriers under and over the opening: clear of the tray and what carries the window, and of the head flashing."""
    under = Z0 - numbers.length("tray_down", 30) - 55 - BARRIER
    return max(under, 10.0), min(Z1 + numbers.length("head_up", 50) + 25, HIGH - BARRIER - 10)


def _barriers(numbers: Numbers) -> Made:
    """Barriers round the opening, crossed so that none is taken for a batten; in a cavity of masonry none under the sill."""
    masonry = "masonry" in numbers.circumstances.wall_type
    near = 8.0 if masonry or not numbers.has("batten_sp") else 65.0  # beyond the batten at the edge
    left, right = X0 - near, X1 + near
    low, high = (Z0 - 60, Z1 + 8) if masonry else _level_barriers(numbers)
    foot = low if masonry else low + BARRIER
    places = [
        (left - 52, foot, left, high),
        (right, foot, right + 52, high),
        (left - 52, high, right + 52, high + BARRIER),
    ]
    faces, names = [], []
    if not masonry:
        places.append((left - 52, low, right + 52, low + BARRIER))
        for top in (low + BARRIER, high + BARRIER):  # each with its own tray and weeps above
            faces += [
                Face(((left - 52, top + 14, -2), (right + 52, top + 14, -2), (right + 52, top, -36), (left - 52, top, -36)), "tray"),
                *(flat(x - 5, top, x + 5, top + 18, "fixing", -37) for x in (left, MIDDLE, right)),
            ]  # fmt: skip
            spot = (MIDDLE + 90, top + 7, -19.0)
            names.append(
                Size("", (spot[0] + 40, top + (95 if top > Z1 else -110), -19), (spot,), "tray, weeps")
            )
    for x0, z0, x1, z1 in places:
        faces.append(flat(x0, z0, x1, z1, "barrier", -30))
        wide, long = x1 - x0, z1 - z0
        steps = int(max(wide, long) // 52) + 1
        for turn in (0, 1):  # two ways to and fro, which cross
            if long > wide:
                way = [
                    ((x0, x1)[(step + turn) % 2], min(z0 + 52 * step, z1), -31.0) for step in range(steps + 1)
                ]
            else:
                way = [
                    (min(x0 + 52 * step, x1), (z0, z1)[(step + turn) % 2], -31.0) for step in range(steps + 1)
                ]
            faces.append(line(way, "hatching"))
    return faces, names


def _cut_out(*corners: tuple[float, float]) -> Face:
    return Face(tuple((x, z, CLAD_FACE) for x, z in corners), "cladding")


def _boards(top: float, gap: float) -> list[Face]:
    """Boards round the opening up to ``top``."""
    faces = []
    low = 0.0
    while low < top - 1:
        high = min(low + 130, top)
        under, over = Z0 - 30, Z1 + 10 + gap
        if low >= Z1 + 20 or high <= under:
            faces.append(flat(0, low, WIDE, high, "cladding", CLAD_FACE))
        elif low < under:  # boards are cut out round the opening, not jointed at its edges
            faces.append(_cut_out((0, low), (WIDE, low), (WIDE, high), (X1, high), (X1, under), (X0, under), (X0, high), (0, high)))  # fmt: skip
        elif high > over:
            faces.append(_cut_out((0, low), (X0, low), (X0, over), (X1, over), (X1, low), (WIDE, low), (WIDE, high), (0, high)))  # fmt: skip
        else:
            faces += [
                flat(0, low, X0, high, "cladding", CLAD_FACE),
                flat(X1, low, WIDE, high, "cladding", CLAD_FACE),
            ]
        low = high
    return faces


def _cladding(numbers: Numbers) -> Made:
    gap = numbers.length("clad_gap", 5)
    return _boards(HIGH, gap), [
        Size("clad_gap", (X1 + 130, Z1 - 60, CLAD_FACE), ((X1 - 30, Z1 + 10 + gap / 2, CLAD_FACE),))
    ]


def _cladding_to_head(_: Numbers) -> Made:
    return _boards(Z1, 0), []


def _bricks(top: float) -> list[Face]:
    faces = (
        round_opening("masonry") if top > Z1 else round_opening("masonry")[:1] + round_opening("masonry")[2:]
    )
    faces = [Face(tuple((x, z, -100.0) for x, z, _ in face.points), face.material) for face in faces]
    z = 75.0
    while z < top:
        parts = [(0.0, WIDE)] if z < Z0 or z > Z1 else [(0.0, X0), (X1, WIDE)]
        faces += [line([(a, z, -100), (b, z, -100)], "joint") for a, b in parts]
        z += 75
    return faces


def _leaf(numbers: Numbers) -> Made:
    base, sizes = _base_weeps(numbers)
    return [*_bricks(HIGH), *base, *weeps_over_tray()], sizes


def _leaf_to_head(numbers: Numbers) -> Made:
    base, sizes = _base_weeps(numbers)
    return [*_bricks(Z1), *base], sizes


def _base_weeps(numbers: Numbers) -> Made:
    apart, middle = numbers.length("weep_sp"), WIDE / 2
    places = [x for x in (middle - apart / 2, middle + apart / 2) if 0 < x < WIDE]
    ends = (middle - apart / 2, 60.0, -100.0), (middle + apart / 2, 60.0, -100.0)
    return [flat(x - 6, 80, x + 6, 145, "fixing", -100) for x in places], [measured("weep_sp", *ends)]


def _support(numbers: Numbers) -> Made:
    """Brackets before the tray: foot on the frame of the wall, none on a batten, arm under the window."""
    foot, faces = Z0 - numbers.length("tray_down", 30) - 35, []
    for x in (X0 + 30, X0 + 155, X1 - 195, X1 - 70):
        arm = ((x, Z0 + 16, -6), (x + 40, Z0 + 16, -6), (x + 40, Z0 + 16, -60), (x, Z0 + 16, -60))
        faces += [
            flat(x, foot, x + 40, Z0 + 16, "metal", -6),
            Face(arm, "tray"),
            flat(x + 14, foot + 8, x + 26, foot + 20, "frame", -7),
        ]
    return faces, []


def _outer_sill(numbers: Numbers) -> Made:
    """The sill before the window, from its frame out over the edge of the cladding."""
    over = numbers.circumstances.window_position == "over the cavity"
    back, out = (-44.0 if over else SET), CLAD_FACE - 30
    top = ((X0 - 4, Z0 + 32, back), (X1 + 4, Z0 + 32, back), (X1 + 4, Z0 + 4, out), (X0 - 4, Z0 + 4, out))
    return [Face(top, "tray"), flat(X0 - 4, Z0 - 22, X1 + 4, Z0 + 4, "metal", out)], []


def _head_closer(numbers: Numbers) -> Made:
    """The strip with slots that closes the cavity over the head flashing."""
    left, right, low = X0 - numbers.length("head_past") + 10, X1 + numbers.length("head_past") - 10, Z1 - 3
    return [
        flat(left, low, right, low + 17, "stone", -39),
        line([(left + 20, low + 8, -40), (right - 20, low + 8, -40)], "slots"),
    ], []


def _mark(_: Numbers) -> Made:
    a, b, low, high = X0 + 8, X1 - 8, Z0 + 8, Z1 - 8
    return [
        line([(a, low, SET), (b, low, SET), (b, high, SET), (a, high, SET), (a, low, SET)], "hidden edge")
    ], []


def _jamb_course(numbers: Numbers) -> Made:
    wide = numbers.length("dpc_jamb")
    return [
        flat(X0 + 25 - wide, Z0, X0 + 25, Z1, "course", -34),
        flat(X1 - 25, Z0, X1 - 25 + wide, Z1, "course", -34),
    ], [measured("dpc_jamb", (X0 + 25 - wide, Z1 + 25, -34), (X0 + 25, Z1 + 25, -34), beside=-60, above=90)]


def _sill(numbers: Numbers) -> Made:
    past = numbers.length("sill_past")
    top = Z0 + 6
    faces = [
        flat(X0 - past, top - 92, X1 + past, top - 80, "course", -100),
        Face(((X0, top, 0), (X1, top, 0), (X1, top - 10, -100), (X0, top - 10, -100)), "stone"),
        Face(
            (
                (X0 - 40, top - 10, -101),
                (X1 + 40, top - 10, -101),
                (X1 + 40, top - 14, -140),
                (X0 - 40, top - 14, -140),
            ),
            "stone",
        ),
        flat(X0 - 40, top - 80, X1 + 40, top - 14, "stone", -140),
    ]
    return faces, [measured("sill_past", (X1, top - 105, -100), (X1 + past, top - 105, -100), above=-85)]


COVERING: dict[str, Callable[[Numbers], Made]] = {
    "sealant": _sealant,
    "window": _window,
    "straps": _straps,
    "trim": _trim,
    "inner seal": _inner_seal,
    "spray": _spray,
    "battens": _battens,
    "barriers": _barriers,
    "cladding": _cladding,
    "cladding to the head": _cladding_to_head,
    "leaf": _leaf,
    "leaf to the head": _leaf_to_head,
    "support": _support,
    "outer sill": _outer_sill,
    "head closer": _head_closer,
    "mark": _mark,
    "jamb course": _jamb_course,
    "sill": _sill,
}
