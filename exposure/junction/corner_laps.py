"""Where sheets and tape lie over one another beside a corner, and what battens and cladding lie on there."""

from collections.abc import Sequence
from dataclasses import replace
from itertools import pairwise
from typing import NamedTuple

from exposure.junction.scene import FILM, Conflict, Layer, Point, rectangle

BATTEN = 45.0
STUD_END = -22.5  # mm from the corner, the middle of its stud, as far as layers over open studs go


class Covered(NamedTuple):
    """A piece along a wall on which a sheet or a tape lies over the first sheet, and its outer face. [mm]"""

    low: float
    high: float
    face: float
    key: str  # of its layer


def over_first(past: float, lap: float, bond: float) -> list[Covered]:
    """The next sheet, measured from the corner, and the tape over its edge."""
    edge = lap - past
    sheets = [Covered(-past - 12, edge, -2 * FILM, "next sheet")]
    if bond:
        sheets += [
            Covered(edge - min(bond, lap), edge + FILM, -3 * FILM, "lap tape"),
            Covered(edge, edge + bond, -2 * FILM, "lap tape"),
        ]
    return sheets


def over_studs(past: float, bond: float) -> list[Covered]:
    """The sheet round the corner over the layers that reach its stud, and the tape over its edge."""
    covered = [Covered(-past, STUD_END + 8, -2 * FILM, "membrane")]
    if bond:
        covered += [
            Covered(-past - FILM, -past + bond, -3 * FILM, "lap tape"),
            Covered(-past - bond, -past, -2 * FILM, "lap tape"),
        ]
    return covered


def lies_on(middle: float, over: Sequence[Covered], *, wide: float = BATTEN) -> Covered:
    """What a batten or cladding lies on: the sheet round the corner, or what is lapped or taped over it there; past its end the next sheet."""
    low, high = middle - wide / 2, middle + wide / 2
    first = Covered(low, high, -FILM, "membrane" if high > over[0].low else "next sheet")
    return min(
        (one for one in over if one.low < high and low < one.high), key=lambda one: one.face, default=first
    )


def straight_on(face: float, bottom: float, top: float, over: Sequence[Covered]) -> tuple[Point, ...]:
    """Cladding straight on the membrane, its back on whatever lies outermost there."""
    ends = {bottom, top, *(end for one in over for end in (one.low, one.high) if bottom < end < top)}
    back: list[Point] = []
    for low, high in pairwise(sorted(ends)):
        out = lies_on((low + high) / 2, over, wide=high - low).face
        back += [(out, low), (out, high)]
    return ((face, bottom), *back, (face, top))


def round_the_bend(row: str, past: float, lap: float, bond: float) -> tuple[Conflict, ...]:
    """Where the sheet past a corner is too short for the lap of the next one and the tape on its edge."""
    if past - lap > bond:
        return ()
    words = f"The sheet goes {past:g} mm past the corner; a lap of {lap:g} mm with its tape would lie round the bend."
    return (Conflict((row, "lap_v"), words),)


def with_stud(framing: Sequence[Layer], at: tuple[float, float, float, float]) -> list[Layer]:
    """Framing with one more stud, ``at`` its left, bottom, right and top, in the insulation; as it is where other timber stands there."""
    left, low, right, high = at
    for place, one in enumerate(framing):
        (x0, y0), (x1, y1) = min(one.outline), max(one.outline)
        if one.material == "insulation" and x0 <= left and y0 <= low and right <= x1 and high <= y1:
            upright = (x0, x1) == (left, right)
            nearer, beyond = (
                (rectangle(x0, high, x1, y1), rectangle(x0, y0, x1, low))
                if upright
                else (rectangle(x0, y0, left, y1), rectangle(right, y0, x1, y1))
            )
            stud = Layer(f"stud in {one.key}", "timber", rectangle(*at), "", (), one.key, order=2)
            rest = replace(one, key=f"{one.key} behind a stud", name="", outline=beyond)
            some = [replace(one, outline=nearer), stud, *[rest] * (low > y0 if upright else right < x1)]
            if high == y1 if upright else x0 == left:  # beside other timber
                some = [stud, replace(one, outline=beyond)]
            return [*framing[:place], *some, *framing[place + 1 :]]
    return [*framing]
