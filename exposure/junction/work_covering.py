"""What is set into an opening, and a leaf round it: window, seals, support, outer leaf, sill."""

from collections.abc import Callable
from itertools import pairwise

from exposure.detail.beside import beside
from exposure.detail.order import hood_clear
from exposure.junction.jamb import CLEAR, FIN, LAP
from exposure.junction.numbers import Numbers
from exposure.junction.over_frame import over_the_edge
from exposure.junction.window import BOX, DEPTH, ON_CLADDING
from exposure.junction.work_faces import (
    CAVITY_SET,
    CLAD_FACE,
    HIGH,
    LEAF_FACE,
    LEAN,
    LIP,
    MIDDLE,
    WIDE,
    X0,
    X1,
    Z0,
    Z1,
    Face,
    Made,
    Size,
    behind_leaf,
    flat,
    line,
    measured,
    plate_at,
    window_face,
)

COURSE_END = 9.0  # mm, a course up the end of a sill, thicker than it is
FOOT_CLEAR = 14.0  # mm, gap below a trim or lining, wider than it is
TRIM_PAST = 30.0  # mm, trim past the edge of the opening at most


def _sealant(_: Numbers) -> Made:
    way = [(X0 - 12, Z0 + 40, 0.0), (X0 - 12, Z1 + 12, 0.0), (X1 + 12, Z1 + 12, 0.0), (X1 + 12, Z0 + 40, 0.0)]
    packers = [flat(x, Z0 + 18, x + 40, Z0 + 32, "timber", 40) for x in (X0 + 60, X1 - 100)]
    return [line(way, "sealant"), *packers], []


def _window(numbers: Numbers) -> Made:
    """The window with its sides; a flange lies on the membrane, or on the cladding whose edge it covers."""
    low, face, sizes = Z0 + 30, window_face(numbers), []
    left, right, top = X0 + CLEAR, X1 - CLEAR, Z1 - CLEAR
    faces = [
        flat(left, low, right, top, "frame", face),
        Face(((right, low, face), (right, low, face + DEPTH), (right, top, face + DEPTH), (right, top, face)), "frame"),
        flat(left + 65, low + 50, MIDDLE - 15, top - 50, "glass", face - 1),
        flat(MIDDLE + 15, low + 50, right - 65, top - 50, "glass", face - 1),
    ]  # fmt: skip
    mine = numbers.circumstances
    if mine.frame != BOX and not behind_leaf(numbers):
        if mine.window_position == "over the cavity":
            cover = numbers.length("jamb_cover", 10)
            faces.insert(0, flat(X0 - cover, low - CLEAR, X1 + cover, Z1, "frame", face + 1))
            sizes.append(Size("jamb_cover", (X0 - 90, Z0 + 160, face), ((X0 - cover / 2, Z0 + 120, face),)))
        else:
            faces.insert(0, flat(X0 - FIN, low - FIN - CLEAR, X1 + FIN, Z1 + FIN, "frame", -1))
    return faces, sizes


def _flange_bead(numbers: Numbers) -> Made:
    """The sealant between cladding and flange at both jambs, along its edges; none at the bottom."""
    cover, face = numbers.length("jamb_cover", ON_CLADDING), window_face(numbers)
    faces = [line([(x, Z0 + 30, face), (x, Z1, face)], "sealant") for x in (X0 - cover, X1 + cover)]
    spot = (X1 + cover, Z1 - 110, face)
    return faces, [Size("", (X1 + 130, Z1 - 160, face), (spot,), "bead of sealant")]


def _straps(_: Numbers) -> Made:
    """Straps at the jambs on the room side, and packers under the frame."""
    straps = [flat(x, z, x + 55, z + 24, "metal", 120) for x, z in _fixings()]
    packers = [flat(x, Z0 + 18, x + 40, Z0 + 32, "timber", 40) for x in (X0 + 60, X1 - 100)]
    return [*straps, *packers], []


def _fixings() -> list[tuple[float, float]]:
    """Left lower corner of what holds the frame at both jambs."""
    return [(x, z) for z in (Z0 + 110, (Z0 + Z1) / 2 - 12, Z1 - 130) for x in (X0 - 12, X1 - 45)]


def _held_inside(numbers: Numbers) -> Made:
    """The same behind the window that hides it, dashed."""
    faces = [
        line(
            [(x, z, 120), (x + 55, z, 120), (x + 55, z + 24, 120), (x, z + 24, 120), (x, z, 120)], "cut away"
        )
        for x, z in _fixings()
    ]
    what = "straps" if numbers.circumstances.frame == BOX else "brackets"
    return faces, [Size("", (X1 + 130, Z0 + 190, 120), ((X1 + 5, Z0 + 122, 120),), f"{what} inside")]


def _under_lip(numbers: Numbers, d: float) -> float:
    """How high an upright piece at a depth is seen that goes on up behind the lip of the head flashing."""
    return plate_at(LIP) - numbers.length("head_lap", 20) + LEAN[1] * (LIP - d)


def _on_sill(numbers: Numbers, d: float) -> float:
    """Height of the face of the outer sill at a depth."""
    back, out = window_face(numbers) - 2, CLAD_FACE - 30
    return Z0 + 4 + 28 * (d - out) / (back - out)


def _foot(numbers: Numbers, x: float, front: float) -> tuple[Callable[[float], float], Size]:
    """Foot of trim or lining at a depth, clear of the outer sill so far that it is seen, and that gap at ``x``."""
    drawn = max(numbers.length("clad_gap", 5.0), FOOT_CLEAR)
    spot = (x, _on_sill(numbers, front) + drawn / 2, front)
    return lambda d: _on_sill(numbers, d) + drawn, Size(
        "clad_gap", (x + 150, Z0 + 110, front), (spot,), word="foot clear"
    )


def _trim(numbers: Numbers) -> Made:
    """Trims over the joint of a box frame at both jambs."""
    cover = numbers.length("jamb_cover")
    edge = X0 + 8 + cover
    front = LEAF_FACE - 2 if "masonry" in numbers.circumstances.wall_type else CLAD_FACE - 8
    top, past = _under_lip(numbers, front), over_the_edge(numbers, TRIM_PAST)
    foot, clear = _foot(numbers, X1, front)
    faces = [
        flat(X0 - past, foot(front), edge, top, "timber", front),
        flat(X1 - 8 - cover, foot(front), X1 + past, top, "timber", front),
    ]
    cover_size = Size("jamb_cover", (X0 + 110, Z0 + 160, front), ((edge - cover / 2, Z0 + 120, front),))
    return faces, [cover_size, clear]


def _head_trim(numbers: Numbers) -> Made:
    """The trim along the head of a box frame over the cavity, dashed behind the lip of the flashing that hides it."""
    if numbers.circumstances.frame != BOX:
        return [], []
    cover, d = numbers.length("jamb_cover"), CLAD_FACE - 8
    left, right, low, high = X0 + 8 + cover, X1 - 8 - cover, Z1 - CLEAR - cover, Z1 - CLEAR + 8
    hidden = line(
        [(left, low, d), (right, low, d), (right, high, d), (left, high, d), (left, low, d)], "cut away"
    )
    return [hidden], [Size("", (X0 + 90, Z1 - 130, d), ((X0 + 120, low, d),), "trim under it")]


def _reveal_lining(numbers: Numbers) -> Made:
    """Linings at both jambs beside a flange behind the cladding's face."""
    mine = numbers.circumstances
    if mine.frame == BOX or mine.window_position != "at the sheathing":
        return [], []
    if "masonry" in mine.wall_type or not numbers.has("batten_sp"):
        return [], []
    front, edge, top = CLAD_FACE - 8, CLEAR + ON_CLADDING, _under_lip(numbers, CLAD_FACE - 8)
    left, right, near = X0 + edge, X1 - edge, window_face(numbers)
    past = over_the_edge(numbers, TRIM_PAST)
    foot, clear = _foot(numbers, X1, front)
    faces = [
        Face(((right, foot(front), front), (right, top, front), (right, top, near), (right, foot(near), near)), "timber"),
        flat(X0 - past, foot(front), left, top, "timber", front),
        flat(right, foot(front), X1 + past, top, "timber", front),
    ]  # fmt: skip
    name = Size("", (X0 - 110, Z0 + 190, front), ((X0 - 5, Z0 + 120, front),), "reveal lining")
    gap = Size("", clear.at, clear.ends, f"foot clear {numbers.length('clad_gap', 5.0):g}")
    return faces, [name, gap]


def _inner_seal(numbers: Numbers) -> Made:
    return [_round_frame(window_face(numbers), 22, "inner seal")], []


def _round_frame(d: float, inward: float, material: str) -> Face:
    """A line all round, within the outline of the frame."""
    a, b, low, high = X0 + CLEAR + inward, X1 - CLEAR - inward, Z0 + 30 + inward, Z1 - CLEAR - inward
    return line([(a, low, d), (b, low, d), (b, high, d), (a, high, d), (a, low, d)], material)


def _spray(_: Numbers) -> Made:
    drops = []
    for row in range(6):
        for column in range(5):
            x, z = X0 - 10 + column * 110 + row % 2 * 45, Z0 + 60 + row * 85
            drops.append(line([(x, z + 34, -120), (x + 26, z, -120)], "drop"))
    return drops, []


def _lap(numbers: Numbers) -> float:
    """How far the leaf reaches before the opening: less than in the section where the frame stands deep, so that its far jamb is seen."""
    return CLEAR if beside("leaf before the boards", numbers.circumstances) else CLEAR + LAP


def _bricks(top: float, numbers: Numbers) -> list[Face]:
    """The outer leaf round the opening up to ``top``; it laps a frame that stands behind it."""
    lap, d = _lap(numbers), LEAF_FACE
    left, right, head = X0 + lap, X1 - lap, Z1 - CLEAR - 5
    faces = [flat(0, 0, WIDE, Z0, "masonry", d), flat(0, Z0, left, min(top, head), "masonry", d), flat(right, Z0, WIDE, min(top, head), "masonry", d)]  # fmt: skip
    if top > head:
        faces.append(flat(0, head, WIDE, top, "masonry", d))
    for z in range(75, int(top), 75):
        parts = [(0.0, WIDE)] if z < Z0 or z > head else [(0.0, left), (right, WIDE)]
        faces += [line([(a, z, d), (b, z, d)], "joint") for a, b in parts]
    edge = [(left, Z0), (left, min(top, head)), (right, min(top, head)), (right, Z0)]
    ways = [edge] if top > head else [edge[:2], edge[2:]]
    return [*faces, *(line([(x, z, d) for x, z in way], "edge") for way in ways)]


def _weep_holes(_: Numbers) -> Made:
    """The two open joints of a leaf over the tray at the head."""
    return [flat(x - 6, Z1 + 15, x + 6, Z1 + 78, "fixing", LEAF_FACE - 1) for x in (X0 + 90, X1 - 90)], []


def _lintel() -> Made:
    lintel = flat(X0 - 100, Z1 - CLEAR - 5, X1 + 100, Z1 + 12, "stone", LEAF_FACE - 1)
    return [lintel], [
        Size("", (MIDDLE + 90, Z1 - 130, LEAF_FACE), ((MIDDLE + 40, Z1 - 4, LEAF_FACE),), "lintel")
    ]


def _leaf(numbers: Numbers) -> Made:
    """The leaf from end to end, the edge of the tray in it between the lintel and the weep holes."""
    lintel, names = _lintel()
    edge = flat(X0 - 110, Z1 + 8, X1 + 110, Z1 + 15, "metal", LEAF_FACE - numbers.length("tray_out", 5))
    name = Size("", (X1 + 60, Z1 + 160, LEAF_FACE), ((X1 + 20, Z1 + 12, LEAF_FACE),), "tray's edge")
    return [*_bricks(HIGH, numbers), *lintel, edge, *_weep_holes(numbers)[0]], [*names, name]


def _leaf_to_head(numbers: Numbers) -> Made:
    """The leaf up both jambs, open over the opening, and the damp-proof course that ends with it in each, dashed where it hides it."""
    wide, top, d = numbers.length("dpc_jamb"), Z1 - CLEAR - 5, CAVITY_SET - 3
    left, right = X0 + _lap(numbers), X1 - _lap(numbers)
    faces = _bricks(top, numbers)
    for reveal, end, far in ((left, 0.0, left - wide), (right, WIDE, right + wide)):
        faces += [
            flat(min(reveal, far), Z0, max(reveal, far), top, "course", d),
            Face(((reveal, top, LEAF_FACE), (end, top, LEAF_FACE), (end, top, CAVITY_SET), (reveal, top, CAVITY_SET)), "masonry"),
            line([(reveal, Z0, d), (far, Z0, d), (far, top, d), (reveal, top, d)], "cut away"),
        ]  # fmt: skip
    ends = (left - wide, Z0 + 230, d), (left, Z0 + 230, d)
    return faces, [Size("", (left - wide / 2, Z0 + 320, d), ends, f"course {wide:g}")]


def _leaf_to_lintel(numbers: Numbers) -> Made:
    """The leaf up both jambs and the lintel on it, before the tray is bedded on that."""
    lintel, names = _lintel()
    return [*_bricks(Z1 - CLEAR - 5, numbers), *lintel], names


def _leaf_top(numbers: Numbers) -> Made:
    """An open joint below the uppermost course, the next one beyond the frame, and the barrier whole in the cavity above them."""
    d, low, back, wall = LEAF_FACE - 1, HIGH - 140, CAVITY_SET, -2.0
    barrier = Face(((0, HIGH, back), (WIDE, HIGH, back), (WIDE, HIGH, wall), (0, HIGH, wall)), "barrier")
    crosses = [(min(45.0 * step, WIDE), HIGH, (back, wall)[step % 2]) for step in range(int(WIDE / 45) + 2)]
    top = Face(
        ((0, HIGH, LEAF_FACE), (WIDE, HIGH, LEAF_FACE), (WIDE, HIGH, back), (0, HIGH, back)), "masonry"
    )
    apart = numbers.length("weep_top")
    places = [x for x in (110.0, 110.0 + apart) if x < WIDE]
    joints = [flat(x - 6, low, x + 6, low + 64, "fixing", d) for x in places]
    return [top, barrier, line(crosses, "hatching"), *joints], [
        Size("weep_top", (330, low - 40, d), ((places[0], low + 12, d),)),
        Size("", (700, low - 40, d), ((760, HIGH, (back + wall) / 2),), "barrier whole"),
    ]


def _support(numbers: Numbers) -> Made:
    """Brackets before the tray, below it in cavity masonry: foot on blocking in the frame, dashed, or on the inner leaf, none on a batten, arm under the window."""
    foot, top, out = Z0 - numbers.length("tray_down", 30) - 35, Z0 + 16, -60.0
    if numbers.has("sill_bracket"):
        top, out = Z0 - 4, CAVITY_SET + 14
    faces = []
    for x in (X0 + 30, X0 + 155, X1 - 195, X1 - 70):
        arm = ((x, top, -6), (x + 40, top, -6), (x + 40, top, out), (x, top, out))
        faces += [
            flat(x, foot, x + 40, top, "metal", -6),
            Face(arm, "tray"),
            flat(x + 14, foot + 8, x + 26, foot + 20, "frame", -7),
        ]
    if numbers.has("sill_bracket"):
        return faces, []
    low, high = foot - 12, foot + 46
    studs = [(MIDDLE - 22, MIDDLE + 23)] if numbers.has("batten_sp") else []  # as the batten there tells
    pieces = pairwise((X0, *(x for stud in studs for x in stud), X1))
    behind = [
        line([(a, low, -3), (b, low, -3), (b, high, -3), (a, high, -3), (a, low, -3)], "cut away")
        for a, b in pieces
        if (a, b) not in studs
    ]
    return [*faces, *behind], [Size("", (X0 - 70, low - 70, 0), ((X0 + 15, low, -3),), "blocking behind")]


def _outer_sill(numbers: Numbers) -> Made:
    """The sill before the window, from its frame out over the edge of the cladding, and before that out under trims or linings."""
    back, out = window_face(numbers) - 2, CLAD_FACE - 30
    trimmed = numbers.circumstances.frame == BOX and numbers.has("jamb_cover")
    closed = trimmed or bool(_reveal_lining(numbers)[0])
    end = 4 + (over_the_edge(numbers, TRIM_PAST) if closed else 0)
    corners = [(X0 - 4, back), (X1 + 4, back), (X1 + 4, CLAD_FACE), (X1 + end, CLAD_FACE), (X1 + end, out)]
    corners += [(X0 - end, out), (X0 - end, CLAD_FACE), (X0 - 4, CLAD_FACE)]
    top = tuple((x, _on_sill(numbers, d), d) for x, d in corners)
    return [Face(top, "tray"), flat(X0 - end, Z0 - 22, X1 + end, Z0 + 4, "metal", out)], []


def _hood(numbers: Numbers) -> Made:
    """The hood over a window whose flange lies on the cladding, where one is ordered; dashed where it is cut away to show what it covers."""
    clear = hood_clear(str(numbers.values.get("reveal_face", "")))
    if clear is None:
        return [], []
    left, right, top, foot, out = X0 - 60, X1 - 150, Z1 + 70, Z1 - 20, window_face(numbers) - clear
    faces = [
        flat(left, top, right, top + 45, "metal", CLAD_FACE - 1),
        Face(((left, top, CLAD_FACE), (right, top, CLAD_FACE), (right, top - 0.3 * clear, out), (left, top - 0.3 * clear, out)), "tray"),
        flat(left, foot, right, top - 0.3 * clear, "metal", out),
        line([(right, foot, out), (X1 + 60, foot, out), (X1 + 60, top + 45, CLAD_FACE - 1), (right, top + 45, CLAD_FACE - 1)], "cut away"),
    ]  # fmt: skip
    spot = (X0 + 20, (top + foot) / 2, out)
    return faces, [Size("", (X0 - 70, Z1 + 170, out), (spot,), f"hood, {clear:g} clear")]


def _head_closer(numbers: Numbers) -> Made:
    """The strip with slots that closes the cavity over the head flashing."""
    left, right, low = X0 - numbers.length("head_past") + 10, X1 + numbers.length("head_past") - 10, Z1 - 3
    return [
        flat(left, low, right, low + 17, "stone", -39),
        line([(left + 20, low + 8, -40), (right - 20, low + 8, -40)], "slots"),
    ], []


def _mark(numbers: Numbers) -> Made:
    """Where the frame's inner face meets sill and jamb, and the edge the leaf will have, seen square to the wall so that its lap over the frame shows."""
    d, lap = CAVITY_SET + DEPTH, CLEAR + LAP
    marks = [
        line([(X0, Z0 + 1, d), (X1, Z0 + 1, d)], "mark"),
        line([(X0, Z0, d), (X0, Z1, d)], "mark"),
        line([(X0 + lap, Z0 - 90, 0), (X0 + lap, Z1 - 15, 0), (X1 - lap, Z1 - 15, 0), (X1 - lap, Z0 - 90, 0)], "hidden edge"),
    ]  # fmt: skip
    return marks, [
        Size("", (MIDDLE + 60, Z0 + 130, d), ((MIDDLE, Z0 + 1, d),), "back of frame"),
        Size("", (X0 - 60, Z0 - 150, 0), ((X0 + lap, Z0 - 60, 0),), "leaf to come"),
    ]


def _jamb_course(numbers: Numbers) -> Made:
    wide, reach, d = numbers.length("dpc_jamb"), _lap(numbers), CAVITY_SET - 3
    if beside(
        "leaf before the boards", numbers.circumstances
    ):  # turned in to a frame that stands behind the cavity
        far, x = window_face(numbers), X0 + reach
        flat_on_leaf = wide - (far - d)
        faces = [
            flat(x - flat_on_leaf, Z0, x, Z1, "course", d),
            Face(((x, Z0, d), (x, Z1, d), (x, Z1, far), (x, Z0, far)), "course"),
            flat(X1 - reach, Z0, X1 - reach + flat_on_leaf, Z1, "course", d),
        ]
        return faces, [Size("dpc_jamb", (X0 - 90, Z1 - 150, d), ((x, Z1 - 190, (d + far) / 2),))]
    return [
        flat(X0 + reach - wide, Z0, X0 + reach, Z1, "course", d),
        flat(X1 - reach, Z0, X1 - reach + wide, Z1, "course", d),
    ], [measured("dpc_jamb", (X0 + reach - wide, Z1 + 25, d), (X0 + reach, Z1 + 25, d), beside=-60, above=90)]


def _sill(numbers: Numbers) -> Made:
    """The sill on the leaf over its damp-proof course, which goes past the edges of the opening in that leaf, where they are to come, and up the ends."""
    past, lap = numbers.length("sill_past"), _lap(numbers)
    left, right = X0 + lap, X1 - lap
    top, d = Z0 + 6, LEAF_FACE
    low, names = top - 92, []
    faces = [
        flat(left - past, low, right + past, top - 80, "course", d),
        *(flat(x, low, x + COURSE_END, top - 10, "course", d) for x in (X0 - 40 - COURSE_END, X1 + 40)),
        Face(((X0, top, CAVITY_SET), (X1, top, CAVITY_SET), (X1, top - 10, d), (X0, top - 10, d)), "stone"),
        Face(((X0 - 40, top - 10, d - 1), (X1 + 40, top - 10, d - 1), (X1 + 40, top - 14, d - 40), (X0 - 40, top - 14, d - 40)), "stone"),
        flat(X0 - 40, top - 80, X1 + 40, top - 14, "stone", d - 40),
    ]  # fmt: skip
    if behind_leaf(numbers):  # the leaf has come up to it
        faces = [
            flat(0, 0, WIDE, low, "masonry", d),
            *(line([(0, z, d), (WIDE, z, d)], "joint") for z in range(75, int(low), 75)),
            *faces,
            *(line([(x, low - 20, d), (x, Z0 + 190, d)], "cut away") for x in (left, right)),
        ]
        names = [Size("", (X1 + 110, Z0 + 260, d), ((right, Z0 + 170, d),), "leaf to come")]
    return faces, [
        measured("sill_past", (right, low - 13, d), (right + past, low - 13, d), above=-85),
        *names,
    ]


def _reveal_boards(numbers: Numbers) -> Made:
    """The boards in from the leaf to the frame, of which one upright is seen, its foot open, before the end of the cover."""
    foot, near, far, x = Z0 + 44, LEAF_FACE + 1, window_face(numbers), X0 + _lap(numbers) + 2
    board = Face(((x, foot, near), (x, Z1, near), (x, Z1, far), (x, foot, far)), "timber")
    spot = (x, Z1 - 120, (near + far) / 2)
    return [board], [Size("", (X0 - 85, Z1 - 60, near), (spot,), "board, foot open")]


def _sill_cover(numbers: Numbers) -> Made:
    """The metal cover from the frame over the cavity onto the sill of the leaf, its ends turned up."""
    over, far = numbers.length("sill_cover"), window_face(numbers)
    edge = _lap(numbers) + 1
    left, right, high, low, out = X0 + edge, X1 - edge, Z0 + 36, Z0 + 22, CAVITY_SET - over
    faces = [
        Face(((left, high, far), (right, high, far), (right, low, out), (left, low, out)), "tray"),
        flat(left, low - 8, right, low, "metal", out),
        *(Face(((x, low, out), (x, low + 22, out), (x, high + 22, far), (x, high, far)), "metal") for x in (left, right)),
    ]  # fmt: skip
    return faces, [measured("sill_cover", (MIDDLE, low, CAVITY_SET), (MIDDLE, low, out), above=-150)]


COVERING: dict[str, Callable[[Numbers], Made]] = {
    "sealant": _sealant,
    "window": _window,
    "flange bead": _flange_bead,
    "straps": _straps,
    "held inside": _held_inside,
    "trim": _trim,
    "head trim": _head_trim,
    "reveal lining": _reveal_lining,
    "inner seal": _inner_seal,
    "spray": _spray,
    "leaf": _leaf,
    "leaf to the head": _leaf_to_head,
    "leaf to the lintel": _leaf_to_lintel,
    "leaf top": _leaf_top,
    "weep holes": _weep_holes,
    "support": _support,
    "outer sill": _outer_sill,
    "head closer": _head_closer,
    "window hood": _hood,
    "mark": _mark,
    "jamb course": _jamb_course,
    "sill": _sill,
    "reveal boards": _reveal_boards,
    "sill cover": _sill_cover,
}
