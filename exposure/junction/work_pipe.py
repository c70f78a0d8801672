"""What the steps at a pipe look like: its tape or flange, the sheet over that, a hood on the cladding."""

from collections.abc import Callable
from dataclasses import replace
from itertools import pairwise
from math import asin, atan2, cos, hypot, pi, radians, sin, tan

from exposure.junction.numbers import Numbers
from exposure.junction.pipe import flange_beside
from exposure.junction.work_faces import (
    HIGH,
    LEAN,
    WIDE,
    Face,
    Made,
    Size,
    Spot,
    flat,
    is_rendered,
    line,
    measured,
    rendered,
)

PIPE, RADIUS, OUT = (540.0, 560.0), 95.0, 100.0
STRIPS, SNIP = 8, pi / 12  # of the pipe's side as it is painted; angle between snips of a tape turned onto it
BEHIND_TAPE = 6.0  # mm, that side is painted so much deeper than it is, seen at its place
SLEEVE = RADIUS + 9  # half as wide as a sleeve round the pipe
DOTLESS = RADIUS + 40  # from the middle of the pipe, render without dots
SKIN = -44.0  # face of cladding or leaf
JOINT = SKIN - 3  # depth of the joint round the pipe in it


def _cut(numbers: Numbers) -> float:
    """Height of the cut behind which the flange's upper edge goes, as far as tape lies on its others."""
    return PIPE[1] + RADIUS + flange_beside(numbers) - numbers.length("tape_bond")


def round_pipe(numbers: Numbers) -> list[Face]:
    """The wall's membrane; what is above the cut for a flange lies over the flange and its tapes from the first."""
    sheet = [flat(0, 0, WIDE, HIGH, "film")]
    return sheet if _is_taped(numbers) else [*sheet, flat(6, _cut(numbers), WIDE, HIGH, "film", -4.5)]


def _disc(centre: tuple[float, float], radius: float, d: float, material: str) -> Face:
    x, z = centre
    return Face(
        tuple((x + radius * cos(pi * k / 16), z + radius * sin(pi * k / 16), d) for k in range(32)), material
    )


def _end(numbers: Numbers) -> float:
    """Height of the middle of the pipe's end."""
    return PIPE[1] - OUT * tan(radians(numbers.length("pen_slope")))


def _side_seen(numbers: Numbers) -> tuple[float, float]:
    """From the middle of the pipe to where its skin is first seen; half a turn on it goes out of sight."""
    way = (-LEAN[0] * OUT, _end(numbers) - PIPE[1] - LEAN[1] * OUT)  # of the pipe as it is seen
    return -way[1] * RADIUS / hypot(*way), way[0] * RADIUS / hypot(*way)


def _arc(start: float, end: float, down: float, d: float, radius: float = RADIUS) -> list[Spot]:
    """Round the pipe from ``start`` to ``end``, angles, ``down`` lower than in the wall."""
    pieces = max(round(48 * (end - start) / pi), 1)
    turns = [start + (end - start) * k / pieces for k in range(pieces + 1)]
    return [(PIPE[0] + radius * cos(a), PIPE[1] + radius * sin(a) - down, d) for a in turns]


def _on_pipe(numbers: Numbers, low: float, high: float, over: float) -> list[Face]:
    """What is seen of a tape turned onto the pipe in snips, between two heights from its middle; of a flange the tape ends at its edge."""
    if not _is_taped(numbers):
        return []
    side = _side_seen(numbers)
    first = atan2(side[1], side[0])
    start = max(asin(max(low / RADIUS, -1)), first)
    end = asin(high / RADIUS) if high < RADIUS else first + pi
    bond = numbers.length("tape_bond")
    down = (PIPE[1] - _end(numbers)) * bond / OUT
    snips = max(round((end - start) / SNIP), 1)
    edges = [start + (end - start) * k / snips for k in range(snips + 1)]
    return [
        Face((*_arc(a, b, 0.0, -over), *reversed(_arc(a, b, down, -bond - over))), "tape")
        for a, b in pairwise(edges)
    ]


def _turned_onto(numbers: Numbers, turn: float, at: Spot) -> list[Size]:
    """How much of a tape is turned onto the pipe, written at a spot of it."""
    if not _is_taped(numbers):
        return []
    bond = numbers.length("tape_bond")
    spot = _arc(turn, turn, (PIPE[1] - _end(numbers)) * bond / OUT / 2, -bond / 2)[0]
    return [Size("", at, (spot,), f"{bond:g} onto pipe")]


def _deeper(spot: Spot) -> Spot:
    x, z, d = spot
    return x - LEAN[0] * BEHIND_TAPE, z - LEAN[1] * BEHIND_TAPE, d + BEHIND_TAPE


def _round_side(numbers: Numbers, out: float) -> list[Face]:
    """What is seen of the pipe's round side, in strips that are nearly flat and end at the joint in cladding or leaf; its outline from ``out`` before the wall."""
    side, low = _side_seen(numbers), PIPE[1] - _end(numbers)
    turn = atan2(side[1], side[0])
    edges = [turn + pi * k / STRIPS for k in range(STRIPS + 1)]

    def ring(start: float, end: float, before: float) -> list[Spot]:
        return _arc(start, end, low * before / OUT, -before)

    strips = [
        Face(tuple(map(_deeper, (*ring(a, end, deep), *reversed(ring(a, end, near))))), "room")
        for deep, near in ((0.0, -JOINT), (-JOINT, OUT))
        for a, end in ((a, min(b + 0.02, edges[-1])) for a, b in pairwise(edges))  # no seam between two
    ]
    ends = ring(turn, turn + pi, OUT)
    return [*strips, line([ends[0], *ring(turn, turn + pi, out), ends[-1]], "edge")]


def _pipe(numbers: Numbers) -> Made:
    x, low = PIPE[0], _end(numbers)
    end = (x, low)
    faces = [
        *_round_side(numbers, 0.0),
        _disc(end, RADIUS, -OUT, "frame"),
        _disc(end, RADIUS - 12, -OUT - 1, "room"),
    ]
    names = [Size("pen_slope", (x - 230, low - 130, -OUT), ((x - 60, low + 20, -OUT / 2),))]
    if _is_sleeved(numbers):  # which comes through the wall round the pipe
        side = _side_seen(numbers)
        turn = atan2(side[1], side[0])
        faces.append(line(_arc(turn, turn + pi, 0.0, -1.0, SLEEVE), "cut away"))  # as far as it is seen
        spot = (x + SLEEVE * cos(0.8), PIPE[1] + SLEEVE * sin(0.8), -1.0)
        names.append(Size("", (x + 200, PIPE[1] + 220, -1), (spot,), "cut for the sleeve"))
    return faces, names


def _taped_to(numbers: Numbers) -> float:
    """From the middle of the pipe to the edge that is taped: the pipe's own, or that of its flange."""
    return RADIUS + (0.0 if _is_taped(numbers) else flange_beside(numbers))


def _is_taped(numbers: Numbers) -> bool:
    return numbers.values.get("pen_form") == "taped"


def _is_sleeved(numbers: Numbers) -> bool:
    return "sleeve" in str(numbers.values.get("pen_form"))


def _cut_ends(numbers: Numbers) -> tuple[float, float]:
    side = RADIUS + flange_beside(numbers) + numbers.length("pen_tape") + 25
    return PIPE[0] - side, PIPE[0] + side


def _behind_cut(numbers: Numbers, left: float, right: float, top: float, d: float) -> Face:
    """The edge of what goes up behind the sheet above the cut, dashed."""
    cut = _cut(numbers)
    return line([(left, cut, d), (left, top, d), (right, top, d), (right, cut, d)], "hidden edge")


def _flange_behind(numbers: Numbers, d: float) -> Face:
    half = _taped_to(numbers)
    return _behind_cut(numbers, PIPE[0] - half, PIPE[0] + half, PIPE[1] + half, d)


def _tapes_beside(numbers: Numbers) -> list[tuple[float, float]]:
    """Left and right edge of the tapes at both sides."""
    x, onto, edge = PIPE[0], numbers.length("pen_tape"), _taped_to(numbers)
    on = 15 if edge == RADIUS else numbers.length("tape_bond")
    return [(x - edge - onto, x - edge + on), (x + edge - on, x + edge + onto)]


def _tapes_behind(numbers: Numbers, d: float) -> list[Face]:
    top = PIPE[1] + _taped_to(numbers) + 10
    return [_behind_cut(numbers, a, b, top, d) for a, b in _tapes_beside(numbers)]


def _flange(numbers: Numbers) -> Made:
    """Its upper edge is out of sight behind the sheet above the cut."""
    (x, z), half, cut = PIPE, _taped_to(numbers), _cut(numbers)
    start, end = _cut_ends(numbers)
    ring = [_disc(PIPE, SLEEVE, -3, "tray")] * _is_sleeved(numbers)
    at = x - half + 40
    behind = measured("tape_bond", (at, cut, -4.6), (at, z + half, -4.6), beside=-150, above=80)
    return [
        flat(x - half, z - half, x + half, z + half, "metal", -2),
        *ring,
        _flange_behind(numbers, -4.6),
        line([(start, cut, -4.6), (end, cut, -4.6)], "edge"),
    ], [replace(behind, word="behind")]


def _sheet_over_flange(numbers: Numbers) -> Made:
    start, end = _cut_ends(numbers)
    cut = _cut(numbers)
    bond = numbers.length("tape_bond")
    high = PIPE[1] + _taped_to(numbers) + 25  # over flange and tapes
    ends = [flat(at - bond, cut - 30, at + bond, high, "tape", -6) for at in (start, end)]
    return [
        flat(start, cut, end, high, "film", -5),  # of one sheet with what is above it
        line([(start, cut, -5.5), (end, cut, -5.5)], "edge"),
        _flange_behind(numbers, -5.6),
        *_tapes_behind(numbers, -5.6),
        *ends,
    ], []


def _rendered_round(x: float, z: float) -> list[Face]:
    """Render round the middle of the pipe, its dots clear of that."""
    left, right, low, high = x - DOTLESS, x + DOTLESS, z - DOTLESS, z + DOTLESS
    pieces = [
        (0.0, 0.0, WIDE, low),
        (0.0, high, WIDE, HIGH),
        (0.0, low, left, high),
        (right, low, WIDE, high),
    ]
    return [flat(left, low, right, high, "render", SKIN), *(face for piece in pieces for face in rendered(*piece, SKIN))]  # fmt: skip


def _joint_in_the_skin(numbers: Numbers) -> Made:
    """Cladding or leaf, the joint round the pipe in it, and the sealant at its top and sides as far as it is seen."""
    leaf, front = numbers.circumstances.wall_type == "masonry veneer", SKIN - 2
    joints = (
        [] if leaf else [line([(0, up, SKIN - 1), (WIDE, up, SKIN - 1)], "joint") for up in range(130, int(HIGH), 130)]
    )  # fmt: skip
    skin = [flat(0, 0, WIDE, HIGH, "masonry" if leaf else "cladding", SKIN), *joints]
    down = (PIPE[1] - _end(numbers)) * SKIN / -OUT
    x, z = PIPE[0], PIPE[1] - down
    round_it = [k * pi / 24 for k in range(25)]
    seal = [
        (x + reach * cos(a), z + reach * sin(a), front - 0.5)
        for reach, way in ((RADIUS + 18, 1), (RADIUS + 1, -1))
        for a in round_it[::way]
    ]
    spots = (x + 85, z + 60, front), (x + 66, z - 78, front)
    return [
        *(_rendered_round(x, z) if is_rendered(numbers) else skin),
        _disc((x, z), RADIUS + 18, front, "fixing"),
        Face(tuple(seal), "stone"),
        _round_side(numbers, 1 - front)[-1],
    ], [Size("", (x + 230, z + 190, front), spots[:1], "sealed"), Size("", (x + 210, z - 190, front), spots[1:], "open")]  # fmt: skip


def _hood(numbers: Numbers) -> Made:
    x, low = PIPE[0], _end(numbers)
    foot = low - RADIUS - 20
    left, right, top, out = x - RADIUS - 20, x + RADIUS + 20, low + RADIUS + 35, -OUT - 40
    return [
        Face(((left, top + 25, -60), (right, top + 25, -60), (right, top, out), (left, top, out)), "tray"),
        Face(
            ((right, top + 25, -60), (right, top, out), (right, foot, out), (right, foot + 40, -60)), "tray"
        ),
        flat(left, foot, right, top, "metal", out),
        line((*_disc((x, low), RADIUS, out, "").points, (x + RADIUS, low, out)), "hidden edge"),
        line([(left, top + 25, -61), (right, top + 25, -61), (right, foot + 40, -61)], "sealant"),
    ], []


def _tape_under(numbers: Numbers) -> Made:
    (x, z), onto, edge = PIPE, numbers.length("pen_tape"), _taped_to(numbers)
    under = z - edge
    high = z - 15 if edge == RADIUS else under + numbers.length("tape_bond")
    tape = flat(x - edge - onto, under - onto, x + edge + onto, high, "tape", -3)
    return [tape, *_on_pipe(numbers, -RADIUS, -15, 0.0)], [
        measured(
            "pen_tape", (x + 60, under - onto, -3), (x + 60, under, -3), beside=60, above=-onto / 2 - 90
        ),
        *_turned_onto(numbers, -0.45, (x + 230, z + 110, 0)),
    ]


def _tape_beside(numbers: Numbers) -> Made:
    (x, z), onto, edge = PIPE, numbers.length("pen_tape"), _taped_to(numbers)
    low, high = z - edge - onto / 2, z + edge + 10
    sides = [flat(a, low, b, high, "tape", -4) for a, b in _tapes_beside(numbers)]
    if not _is_taped(numbers):
        sides += _tapes_behind(numbers, -4.7)
    return [*sides, *_on_pipe(numbers, -60, 60, 1.0)], [
        measured("pen_tape", (x + edge, z, -4), (x + edge + onto, z, -4), beside=90, above=edge + 100)
    ]


def _tape_over(numbers: Numbers) -> Made:
    (x, z), onto = PIPE, numbers.length("pen_tape")
    over = z + RADIUS
    tape = flat(x - RADIUS - onto - 15, z + 15, x + RADIUS + onto + 15, over + onto, "tape", -4)
    return [tape, *_on_pipe(numbers, 15, RADIUS, 2.0)], [
        measured("pen_tape", (x, over, -4), (x, over + onto, -4), beside=85, above=onto / 2 + 80)
    ]


ROUND_A_PIPE: dict[str, Callable[[Numbers], Made]] = {
    "pipe": _pipe,
    "tape under the pipe": _tape_under,
    "tape beside the pipe": _tape_beside,
    "tape over the pipe": _tape_over,
    "flange": _flange,
    "sheet over the flange": _sheet_over_flange,
    "joint in the skin": _joint_in_the_skin,
    "hood": _hood,
}
