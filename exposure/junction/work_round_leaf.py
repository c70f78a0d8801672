"""The leaf round an opening: its bricks, lintel and weep holes, the courses at sill and jambs, the sill on it and what closes the cavity to the frame."""

from collections.abc import Callable, Iterable

from exposure.detail.beside import beside
from exposure.junction.jamb import CLEAR, LAP
from exposure.junction.leaf import WEEP
from exposure.junction.numbers import Numbers
from exposure.junction.opening import STONE_PAST
from exposure.junction.window import DEPTH
from exposure.junction.work_faces import (
    BARRIER_FOOT,
    CAVITY_SET,
    FRAME_FOOT,
    HIGH,
    LEAF_FACE,
    LEAN,
    LINTEL_TOP,
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
    core_face,
    flat,
    line,
    lintel_foot,
    measured,
    window_face,
)

WEEPS = "weep holes"
REVEAL_BOARD = 16.0  # mm, thickness of a reveal board
THIN = 3.0  # mm, half of what is seen on edge in the face of a leaf, thicker than it is


def stop_ends_in_face(numbers: Numbers, ends: Iterable[float], low: float, d: float) -> list[Face]:
    """The stop-ends of a tray at ``ends``, seen on edge in the face of the leaf over it."""
    high = low + numbers.length("tray_stop")
    return [flat(x - THIN, low, x + THIN, high, "metal", d) for x in ends]


def leaf_lap(numbers: Numbers) -> float:
    """How far the leaf reaches before the opening: less than in the section where the frame stands deep, so that its far jamb is seen."""
    return CLEAR if beside("leaf before the boards", numbers.circumstances) else CLEAR + LAP


def tray_ends(numbers: Numbers) -> tuple[float, float]:
    """Left and right end of the cavity tray over the opening: as far past the edges of the opening in the leaf as the course under its sill."""
    past = numbers.length("sill_past") - leaf_lap(numbers)
    return X0 - past, X1 + past


def _bricks(top: float, numbers: Numbers) -> list[Face]:
    """The outer leaf round the opening up to ``top``; it laps a frame that stands behind it."""
    lap, d = leaf_lap(numbers), LEAF_FACE
    left, right, head = X0 + lap, X1 - lap, lintel_foot(numbers)
    faces = [flat(0, 0, WIDE, Z0, "masonry", d), flat(0, Z0, left, min(top, head), "masonry", d), flat(right, Z0, WIDE, min(top, head), "masonry", d)]  # fmt: skip
    if top > head:
        faces.append(flat(0, head, WIDE, top, "masonry", d))
    for z in range(75, int(top), 75):
        parts = [(0.0, WIDE)] if z < Z0 or z > head else [(0.0, left), (right, WIDE)]
        faces += [line([(a, z, d), (b, z, d)], "joint") for a, b in parts]
    foot, high = (left, Z0), (left, min(top, head))
    reveal = ((*foot, d), (*high, d), (*high, CAVITY_SET), (*foot, CAVITY_SET))
    faces.append(Face(reveal, "masonry"))
    edge = [foot, high, (right, min(top, head)), (right, Z0)]
    ways = [edge] if top > head else [edge[:2], edge[2:]]
    return [*faces, *(line([(x, z, d) for x, z in way], "edge") for way in ways)]


def _weep_holes(numbers: Numbers) -> Made:
    """The first course on the tray at the head, its two open joints between closed ones, the bend of the tray dashed on it."""
    bend = [(x, LINTEL_TOP, CAVITY_SET) for x in tray_ends(numbers)]
    (left, right), low, high, d = tray_ends(numbers), LINTEL_TOP + 7, LINTEL_TOP + 7 + WEEP, LEAF_FACE
    left, right = left + 12, right - 12  # within the stop-ends
    course = [(left, low, d), (right, low, d), (right, high, d), (left, high, d), (left, low, d)]
    closed = range(int(X0 + 90) - 225, int(X1), 75)
    return [
        flat(left, low, right, high, "masonry", d),
        line(course, "edge"),
        *(line([(x, low, d), (x, high, d)], "joint") for x in closed if left < x < right),
        *(flat(x - 6, low, x + 6, high, "fixing", d - 1) for x in (X0 + 90, X1 - 90)),
        line(bend, "cut away"),
    ], [Size("", (X1 + 130, Z1 - 90, d), ((X1 - 90, low + 40, d - 1),), WEEPS)]


def _lintel(numbers: Numbers) -> Made:
    lintel = flat(X0 - 100, lintel_foot(numbers), X1 + 100, LINTEL_TOP, "stone", LEAF_FACE - 1)
    return [lintel], [
        Size("", (MIDDLE + 90, Z1 - 130, LEAF_FACE), ((MIDDLE + 40, Z1 + 20, LEAF_FACE),), "lintel")
    ]


def _leaf(numbers: Numbers) -> Made:
    """The leaf from end to end, the edge of the tray in it between the lintel and the weep holes."""
    lintel, names = _lintel(numbers)
    left, right = tray_ends(numbers)
    edge = flat(
        left, LINTEL_TOP - 2, right, LINTEL_TOP + 7, "metal", LEAF_FACE - numbers.length("tray_out", 5)
    )
    d, low, stop = LEAF_FACE - 1, LINTEL_TOP - 2, numbers.length("tray_stop")
    name = Size("", (X1 + 60, Z1 + 160, LEAF_FACE), ((X1 + 20, LINTEL_TOP + 3, LEAF_FACE),), "tray's edge")
    weeps = Size("", (MIDDLE - 60, Z1 + 240, d), ((X0 + 90, LINTEL_TOP + 60, d),), WEEPS)
    ends = Size("", (X0 - 130, Z1 + 190, d), ((left, low + stop, d),), "stop-end")
    return [
        *_insulation_over_tray(numbers),
        *_bricks(HIGH, numbers),
        *lintel,
        edge,
        *stop_ends_in_face(numbers, (left, right), low, d),
        *(face for face in _weep_holes(numbers)[0] if face.material == "fixing"),
    ], [*names, name, weeps, ends]


def _insulation_over_tray(numbers: Numbers) -> list[Face]:
    """In a cavity wall the insulation goes up beside and over the tray ahead of the leaf, beside whose end it is seen."""
    if numbers.circumstances.wall_type != "cavity masonry":
        return []
    return [flat(0, LINTEL_TOP, WIDE, HIGH, "insulation")]


def _leaf_to_head(numbers: Numbers) -> Made:
    """The leaf up both jambs, open over the opening, and the damp-proof course that ends with it in each, dashed where it hides it."""
    wide, top, d = numbers.length("dpc_jamb"), lintel_foot(numbers), CAVITY_SET - 3
    left, right = X0 + leaf_lap(numbers), X1 - leaf_lap(numbers)
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
    lintel, names = _lintel(numbers)
    return [*_bricks(LINTEL_TOP, numbers), *lintel], names


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


def _mark(numbers: Numbers) -> Made:
    """The room that the frame takes before the wall: its foot, its back before an inner leaf, its outer face at the back of the leaf to come, which laps it."""
    front, back, lap = CAVITY_SET, CAVITY_SET + DEPTH, CLEAR + LAP
    left, right, low, top = X0 + CLEAR, X1 - CLEAR, FRAME_FOOT, Z1 - CLEAR
    a, b, under, over = X0 + lap, X1 - lap, Z0 - 90, lintel_foot(numbers)
    foot = [
        (left, low, front),
        (right, low, front),
        (right, low, back),
        (left, low, back),
        (left, low, front),
    ]
    face = [(left, low, front), (left, top, front), (right, top, front), (right, low, front)]
    marks = [
        line(foot, "mark"),
        line(face, "mark"),
        line([(a, under, front), (a, over, front), (b, over, front), (b, under, front)], "hidden edge"),
    ]
    where = "frame before inner leaf" if core_face(numbers) else "back of frame"
    return marks, [
        Size("", (MIDDLE + 20, Z0 + 190, back), ((MIDDLE, low, back),), where),
        Size("", (X0 - 60, Z0 - 150, front), ((a, Z0 - 60, front),), "leaf to come"),
    ]


def _jamb_course(numbers: Numbers) -> Made:
    wide, reach, d = numbers.length("dpc_jamb"), leaf_lap(numbers), CAVITY_SET - 3
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
    faces = [flat(X0 + reach - wide, Z0, X0 + reach, Z1, "course", d), flat(X1 - reach, Z0, X1 - reach + wide, Z1, "course", d)]  # fmt: skip
    if behind_leaf(numbers):  # its foot beside the tray, to come before the back of the sill's course
        foot, inner = BARRIER_FOOT, Z0 + 26
        faces = [
            Face(tuple((x, z, d) for x, z in ((edge, Z1), (edge, inner), (side, inner), (side, foot), (far, foot), (far, Z1))), "course")
            for edge, side, far in ((X0 + reach, X0 - 2, X0 + reach - wide), (X1 - reach, X1 + 2, X1 - reach + wide))
        ]  # fmt: skip
    return faces, [
        measured("dpc_jamb", (X0 + reach - wide, Z1 - 40, d), (X0 + reach, Z1 - 40, d), beside=-60, above=155)
    ]


def _sill(numbers: Numbers) -> Made:
    """The sill on the leaf over its damp-proof course, which goes past the edges of the opening in that leaf, where they are to come, and up the ends."""
    past, lap = numbers.length("sill_past"), leaf_lap(numbers)
    left, right = X0 + lap, X1 - lap
    d, back, out, low, names = LEAF_FACE, CAVITY_SET, LEAF_FACE - 40, Z0 - 86, []
    bed, top, rim = (
        low + 12,
        Z0 + 6,
        Z0 - 6,
    )  # the top falls through the height of the leaf's edge in its face
    a, b, start, end = left - STONE_PAST, right + STONE_PAST, left - past, right + past
    faces = [
        flat(start, low, end, top, "course", back - 1),
        Face(((start, bed, d), (end, bed, d), (end, bed, back), (start, bed, back)), "course"),
        flat(start, low, end, bed, "course", d),
        Face(((a, top, back), (b, top, back), (b, rim, out), (a, rim, out)), "stone"),
        flat(a, bed, b, rim, "stone", out),
        Face(((b, bed, out), (b, rim, out), (b, Z0, d), (b, bed, d)), "stone"),
        *(Face(((x, bed, d), (x, Z0, d), (x, top, back), (x, bed, back)), "course") for x in (a - 1, b + 1)),
        *(flat(x - THIN, bed, x + THIN, Z0, "course", d - 1) for x in (a - 1 - THIN, b + 1 + THIN)),
    ]  # fmt: skip
    if behind_leaf(numbers):  # the leaf has come up to it
        faces = [
            flat(0, 0, WIDE, low, "masonry", d),
            Face(((0, low, d), (WIDE, low, d), (WIDE, low, back), (0, low, back)), "masonry"),
            line([(0, low, back), (0, low, d), (WIDE, low, d), (WIDE, low, back)], "edge"),
            *(line([(0, z, d), (WIDE, z, d)], "joint") for z in range(75, int(low), 75)),
            *faces,
            *(line([(x, low - 20, d), (x, Z0 + 190, d)], "cut away") for x in (left, right)),
        ]
        names = [
            Size("", (X1 + 110, Z0 + 260, d), ((right, Z0 + 170, d),), "leaf to come"),
            Size("", (X0 - 130, 60, back), ((start + 40, low + 16, back - 1),), "back turned up"),
        ]
    return faces, [
        measured("sill_past", (right, low - 13, d), (right + past, low - 13, d), above=-85),
        *names,
    ]


def _reveal_boards(numbers: Numbers) -> Made:
    """The boards in from the back of the leaf to the frame, of which one upright is seen, its edge and its face, its foot open, before the end of the cover."""
    foot, near, far, x = Z0 + 54, CAVITY_SET, window_face(numbers), X0 + leaf_lap(numbers) + 2
    side, middle = x + REVEAL_BOARD, (Z0 + Z1) / 2 + 90
    board = Face(((side, foot, near), (side, Z1, near), (side, Z1, far), (side, foot, far)), "timber")
    edge = flat(x, foot, side, Z1, "timber", near)
    spot = (x + REVEAL_BOARD / 2, middle, near)
    return [edge, board], [Size("", (X0 - 85, middle - 50, near), (spot,), "board, foot open")]


def _sill_cover(numbers: Numbers) -> Made:
    """The metal cover from the frame over the cavity onto the sill of the leaf, its ends turned up."""
    over, far = numbers.length("sill_cover"), window_face(numbers)
    edge = leaf_lap(numbers) + 1
    left, right, high, low, out = X0 + edge, X1 - edge, Z0 + 36, Z0 + 22, CAVITY_SET - over
    seen_to = right - LEAN[0] * (CAVITY_SET - LEAF_FACE)  # beyond it the leaf stands before the sill
    faces = [
        Face(((left, high, far), (right, high, far), (right, low, out), (left, low, out)), "tray"),
        flat(left, low - 8, right, low, "metal", out),
        *(Face(((x, low, out), (x, low + 22, out), (x, high + 22, far), (x, high, far)), "metal") for x in (left, right)),
        line([(left, low, CAVITY_SET), (seen_to, low, CAVITY_SET)], "cut away"),  # back edge of the sill under it
    ]  # fmt: skip
    return faces, [measured("sill_cover", (MIDDLE, low, CAVITY_SET), (MIDDLE, low, out), above=-150)]


ROUND_LEAF: dict[str, Callable[[Numbers], Made]] = {
    "leaf": _leaf,
    "leaf to the head": _leaf_to_head,
    "leaf to the lintel": _leaf_to_lintel,
    "leaf top": _leaf_top,
    "weep holes": _weep_holes,
    "mark": _mark,
    "jamb course": _jamb_course,
    "sill": _sill,
    "reveal boards": _reveal_boards,
    "sill cover": _sill_cover,
}
