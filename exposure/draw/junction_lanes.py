"""Where the sizes of a drawn junction stand: dimension lines in lanes beside the picture, no number on another or on a line."""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from math import hypot, inf
from operator import itemgetter

from exposure.draw.drawing import Box, Point, is_free
from exposure.draw.lettering import text_width

SIZE = 13.0
NAME_SIZE = 12.95  # of the word before a number; 7 points on a printed sheet
HIGH = 17.0  # of a label
STACKED = 29.0  # of one with its name over the number
LANE = 12.0  # from picture to first dimension line, and from label to the next
LANES = 12
TRIES = (9, 9, 9, 9, 30)  # by how strict they are, from OWN down to LOOSE
LOOKS = 20_000  # at a place for a number, before it is let stand over the way to another line
OWN, CHAIN, OVER, CLEAR, LOOSE = (
    4,
    3,
    2,
    1,
    0,
)  # every number at its own line; if need be beside it between two others; over the way to another; none at another; as they fit
PAST = (8.0, 8.0)  # beside a line and beyond its ends: nearer a number could be taken for that line's
OFF_TICK = 2.0  # of a number on the drawing from the ticks of another size beside it
SHIFTS = ((0, -1, 1), (-1, 1, 0), (1, 0, -1))  # each for a third of the tries
SHARED = 0.5  # two ends so near are one, with one tick
TOUCH = 3.0  # by which such a number may reach into the air at the picture's edge
STEPS = 2  # that a number on the drawing moves up or down rather than cover one more outline
ASTRAY = 40.0  # from a number beyond the ends of its line to a line that runs level with it, which it could be taken for
TOGETHER = 7.0  # picture units, a length whose ticks cannot be told apart
TICK = 4.0
ARROW = (5.5, 2.2)  # of a length so short, long and half as wide
NEARER = 12.0  # from a number beside its line to another that runs level with it
LEVEL = 4.0  # of its height beside that line
NO_LINE = ((-inf, -inf), (-inf, -inf))
INWARD = (-2, 2)  # beyond an end, over the way to it: where the picture has no room beside the line


@dataclass(frozen=True)
class Ruled:
    """A dimension as it is drawn, in picture units."""

    ends: tuple[Point, Point]  # of the dimension line
    feet: tuple[Point, Point]  # where its extension lines start
    label: Box
    words: str
    name: str = ""  # before the number
    within: bool = False  # on the drawing itself
    over: bool = False  # on the way to another line


@dataclass(frozen=True)
class ToRule:
    """A dimension before it has a place."""

    feet: tuple[Point, Point]
    words: str
    side: str  # left, right, top, bottom, within
    name: str = ""
    in_line: bool = False  # its name before its number, wherever it stands

    @cached_property
    def wide(self) -> float:
        """Room that name and number take, the name over the number beside the picture, before it elsewhere."""
        number, name = text_width(self.words, size=SIZE, bold=True), text_width(self.name, size=NAME_SIZE)
        if self.is_stacked:
            return max(number, name) + 4
        return number + (name + 5 if self.name else 0) + 4

    @cached_property
    def is_stacked(self) -> bool:
        """Whether the name stands over the number."""
        return bool(self.name) and self.side in ("left", "right") and not self.in_line

    @property
    def forms(self) -> list["ToRule"]:
        """As it is, and where its name would stand over its number, with both in one line."""
        return [self, *([replace(self, in_line=True)] if self.is_stacked else [])]


def crosses(a: Point, b: Point, box: Box) -> bool:
    """Whether the line from ``a`` to ``b`` passes through ``box``.

    Examples
    --------
    >>> crosses((0, 0), (10, 10), (4, 4, 6, 6)), crosses((0, 0), (10, 0), (4, 4, 6, 6))
    (True, False)
    """
    (ax, ay), (bx, by) = a, b
    left, top, right, bottom = box
    if (
        (ax <= left and bx <= left)
        or (ax >= right and bx >= right)
        or (ay <= top and by <= top)
        or (ay >= bottom and by >= bottom)
    ):  # most lie wholly to one side
        return False
    low, high = 0.0, 1.0
    for axis in (0, 1):
        start, way = a[axis], b[axis] - a[axis]
        near, far = box[axis], box[axis + 2]
        if abs(way) < 1e-9:
            if not near < start < far:
                return False
            continue
        first, last = sorted(((near - start) / way, (far - start) / way))
        low, high = max(low, first), min(high, last)
    return low < high


def meet(a: Point, b: Point, c: Point, d: Point) -> bool:
    """Whether two lines cross.

    Examples
    --------
    >>> meet((0, 0), (2, 2), (0, 2), (2, 0)), meet((0, 0), (1, 1), (2, 0), (3, 1))
    (True, False)
    """
    (ax, ay), (bx, by), (cx, cy), (dx, dy) = a, b, c, d
    ux, uy, vx, vy = bx - ax, by - ay, dx - cx, dy - cy
    if (ux * (cy - ay) - uy * (cx - ax)) * (ux * (dy - ay) - uy * (dx - ax)) >= 0:
        return False
    return (vx * (ay - cy) - vy * (ax - cx)) * (vx * (by - cy) - vy * (bx - cx)) < 0


def rule_lanes(
    asked: Sequence[ToRule],
    view: Box,
    edges: tuple[float, float] = (-inf, inf),
    outlines: Sequence[tuple[Point, Point]] = (),
    words: Sequence[Box] = (),
) -> list[Ruled]:
    """Dimension lines in lanes round ``view``, short ones nearest; no label on another or on a line.

    Parameters
    ----------
    edges
        Left and right of the picture, beyond which a number stands only where it finds no other place.
    outlines
        Of parts, which a number on the drawing covers as little as can be.
    words
        Where others stand, which no number covers.
    """
    others = [Ruled(NO_LINE, NO_LINE, box, "") for box in words]
    best: list[Ruled] = []
    for tries, strict in zip(TRIES, (OWN, CHAIN, OVER, CLEAR, LOOSE), strict=True):
        waiting = sorted(asked, key=lambda each: (each.side in ("top", "bottom"), _length(each)))
        for turn in range(tries):
            shifts = SHIFTS[turn * len(SHIFTS) // tries]
            done: list[Ruled] = []
            without: list[ToRule] = []
            for one in waiting:
                fitting = next(
                    (
                        placed
                        for placed in _places(one, view, edges, outlines, shifts, strict=strict)
                        if _fits(placed, [*others, *done], strict)
                    ),
                    None,
                )
                if fitting is None:
                    without.append(one)
                else:
                    done.append(fitting)
            best = max(best, done, key=len)
            if not without:
                return _over(best)
            waiting = [*without, *(one for one in waiting if one not in without)]  # these choose first
        if strict > OVER:
            choices = [_choices(one, view, edges, outlines, strict) for one in waiting]
            if found := _together(choices, others, strict):
                return found
    return _over(best)


def _choices(
    one: ToRule,
    view: Box,
    edges: tuple[float, float],
    outlines: Sequence[tuple[Point, Point]],
    strict: int,
) -> list[Ruled]:
    """Where a dimension may stand in any of its forms, nearest to the drawing first."""
    found = (
        each for form in one.forms for each in _places(form, view, edges, outlines, SHIFTS[0], strict=strict)
    )
    return sorted(found, key=lambda each: abs(each.ends[0][0] - each.feet[0][0]))


def _together(choices: Sequence[Sequence[Ruled]], others: Sequence[Ruled], strict: int) -> list[Ruled]:
    """One place of each dimension's choices, so that all fit together beside ``others``: each change of mind is tried, as far as LOOKS go."""
    looks = iter(range(LOOKS))

    def after(done: list[Ruled]) -> list[Ruled]:
        if len(done) == len(choices):
            return done
        for placed in choices[len(done)]:
            if next(looks, None) is None:
                break
            if _fits(placed, [*others, *done], strict) and (found := after([*done, placed])):
                return found
        return []

    return after([])


def _over(ruled: Sequence[Ruled]) -> list[Ruled]:
    """The same, told which numbers stand on a way to another line."""
    ways = [(other, line) for other in ruled for line in strokes_of(other)]
    return [
        replace(one, over=any(other is not one and crosses(*line, one.label) for other, line in ways))
        for one in ruled
    ]


def _places(
    one: ToRule,
    view: Box,
    edges: tuple[float, float],
    outlines: Sequence[tuple[Point, Point]],
    shifts: Sequence[int],
    *,
    strict: int,
) -> Iterator[Ruled]:
    """Where a dimension may stand, nearest first; its number at the middle or beyond an end, as ``shifts`` has them."""
    beside = one.side in ("left", "right")
    make = _in_lane if beside else _within if one.side == "within" else _in_row
    turns = [(lane, shift) for lane in range(LANES) for shift in (*shifts, *(INWARD if beside else ()))]
    if one.side == "within":  # rather a little higher or lower than over the part at its start
        turns.sort(key=lambda turn: shifts.index(turn[1]))
        near = _round_about([make(one, view, *turn).label for turn in turns], outlines)
        turns.sort(key=lambda turn: _covered(make(one, view, *turn).label, near) + turn[0] / STEPS)
    over: list[tuple[float, Ruled]] = []
    for lane, shift in turns:
        placed = make(one, view, lane, shift)
        if shift in INWARD and not is_free(grown(placed.label, -TOUCH), [view]):
            continue
        beyond = max(edges[0] - placed.label[0], placed.label[2] - edges[1]) if beside else 0
        if beyond <= 0:
            yield placed
        elif strict <= CLEAR:
            over.append((beyond, placed))
    yield from (placed for _, placed in sorted(over, key=itemgetter(0)))


def _round_about(labels: Sequence[Box], outlines: Sequence[tuple[Point, Point]]) -> list[tuple[Point, Point]]:
    """Outlines that reach into the box round all the labels; no other is covered by one."""
    lefts, tops, rights, bottoms = zip(*labels, strict=True)
    left, top, right, bottom = min(lefts), min(tops), max(rights), max(bottoms)
    return [
        ((ax, ay), (bx, by))
        for (ax, ay), (bx, by) in outlines
        if max(ax, bx) > left and min(ax, bx) < right and max(ay, by) > top and min(ay, by) < bottom
    ]


def _covered(label: Box, outlines: Sequence[tuple[Point, Point]]) -> int:
    return sum(crosses(a, b, label) for a, b in outlines)


def _length(one: ToRule) -> float:
    return max(abs(one.feet[0][0] - one.feet[1][0]), abs(one.feet[0][1] - one.feet[1][1]))


def _in_lane(one: ToRule, view: Box, lane: int, shift: int) -> Ruled:
    """Beside the picture; the number at the middle, or beyond one end (-1 above, 1 below; twice so far toward the picture)."""
    wide = one.wide
    way = -1 if one.side == "left" else 1
    x = (view[0] if way < 0 else view[2]) + way * (LANE + lane * 16)
    (_, y0), (_, y1) = one.feet
    high = STACKED if one.is_stacked else HIGH
    beyond = max(-1, min(shift, 1))
    middle = (y0 + y1) / 2 + beyond * (abs(y1 - y0) / 2 + high / 2 + 2)
    start = x + way * (5 - wide if shift in INWARD else 5)
    near, far = sorted((start, start + way * wide))
    box = (near, middle - high / 2, far, middle + high / 2)
    return Ruled(((x, y0), (x, y1)), one.feet, box, one.words, one.name)


def _within(one: ToRule, view: Box, lane: int, shift: int) -> Ruled:
    """On the drawing, along its own length; the number in the line where it fits, else beyond its end or before its start."""
    (x0, y), (x1, _) = one.feet
    y += lane // 2 * 4 * (-1 if lane % 2 else 1)
    left, right = sorted((x0, x1))
    if shift == 0 and right - left >= one.wide + 4:
        start = (left + right - one.wide) / 2
    else:
        start = right + 9 if (x1 > x0) == (shift >= 0) else left - 9 - one.wide
    box = (start, y - HIGH / 2, start + one.wide, y + HIGH / 2)
    ends = ((x0, y), (x1, y))
    return Ruled(ends, ends, box, one.words, one.name, within=True)


def _in_row(one: ToRule, view: Box, lane: int, shift: int) -> Ruled:
    """Above or below the picture; the number in the line, or beyond one end."""
    wide = one.wide
    way = -1 if one.side == "top" else 1
    y = (view[1] if way < 0 else view[3]) + way * (LANE + lane * 14)
    (x0, _), (x1, _) = one.feet
    left, right = sorted((x0, x1))
    if shift == 0 and right - left >= wide + 12:
        middle = (left + right) / 2
        box = (middle - wide / 2, y - HIGH / 2, middle + wide / 2, y + HIGH / 2)
    elif shift >= 0 and right + 9 + wide < view[2] + 60:
        box = (right + 9, y - HIGH / 2, right + 9 + wide, y + HIGH / 2)
    else:
        box = (left - 9 - wide, y - HIGH / 2, left - 9, y + HIGH / 2)
    return Ruled(((x0, y), (x1, y)), one.feet, box, one.words, one.name)


def strokes_of(one: Ruled) -> list[tuple[Point, Point]]:
    """Dimension line and extension lines."""
    return [one.ends, (one.feet[0], one.ends[0]), (one.feet[1], one.ends[1])]


def marks_of(one: Ruled) -> list[tuple[Point, Point]]:
    """A cross over the tick or arrow at each end, as wide as that: what passes one of its lines passes the mark.

    Examples
    --------
    >>> marks_of(Ruled(((0, 0), (0, 60)), ((0, 0), (0, 60)), (5, 20, 25, 40), "60"))[:2]
    [((-4.0, 4.0), (4.0, -4.0)), ((-4.0, -4.0), (4.0, 4.0))]
    """
    (ax, ay), (bx, by) = one.ends
    long = hypot(bx - ax, by - ay)
    if not (one.words and long):
        return []
    out = ARROW[0] / 2 if long < TOGETHER else 0.0  # an arrow stands outside the end
    ux, uy = out * (bx - ax) / long, out * (by - ay) / long
    return [
        ((x - TICK, y + way * TICK), (x + TICK, y - way * TICK))
        for x, y in ((ax - ux, ay - uy), (bx + ux, by + uy))
        for way in (1, -1)
    ]


def _fits(new: Ruled, done: Sequence[Ruled], strict: int) -> bool:
    inside_own = new.label[0] < new.ends[0][0] < new.label[2] and new.ends[0][1] == new.ends[1][1]
    for other in done:
        if not is_free(grown(new.label, 2), [other.label]):
            return False
        if _on_line(other, new, strict) or _on_line(new, other, strict):
            return False
        if _same_line(new, other):
            return False
        if strict >= CLEAR and _ends_meet(new, other):
            return False
        if strict >= CLEAR and (_at_line(new, other, strict) or _at_line(other, new, strict)):
            return False
        if strict >= OVER and (is_astray(new, other) or is_astray(other, new)):
            return False
    return not inside_own


def _on_line(one: Ruled, other: Ruled, strict: int) -> bool:
    """Whether the number of ``one`` stands on a line of ``other``; on the way to it that is no harm where it keeps the number at its own."""
    lines = strokes_of(other)
    return any(crosses(a, b, one.label) for a, b in (lines[:1] if strict == OVER else lines))


def _at_line(one: Ruled, other: Ruled, strict: int) -> bool:
    """Whether the number of ``one`` stands so near to another upright line that it could be taken for that line's."""
    (x, y0), (x1, y1) = other.ends
    if x != x1:
        return False
    beside, beyond = (TICK + OFF_TICK, TICK + OFF_TICK) if one.within else PAST
    if strict == CHAIN and _beside_its_own(one):
        beyond = 0.0
    line = (x - beside, min(y0, y1) - beyond, x + beside, max(y0, y1) + beyond)
    return not is_free(one.label, [line])


def _beside_its_own(one: Ruled) -> bool:
    """Whether a number stands beside its own upright line and reaches past neither end of it."""
    (x, a), (own, b) = one.ends
    return x == own and min(a, b) <= one.label[1] and one.label[3] <= max(a, b)


def is_astray(one: Ruled, other: Ruled) -> bool:
    """Whether the number of ``one`` could be read as that of ``other``, whose upright line runs level with it.

    Beside its own line it need only be nearer to that; beyond an end of it, far from any other.
    """
    (x, y0), (x1, y1) = other.ends
    (own, a), (own1, b) = one.ends
    if x != x1 or own != own1:
        return False
    left, top, right, bottom = one.label
    if min(bottom, max(y0, y1)) - max(top, min(y0, y1)) <= LEVEL:
        return False
    beside = min(a, b) - 1 <= (top + bottom) / 2 <= max(a, b) + 1
    return max(left - x, x - right) < (NEARER if beside else ASTRAY)


def _same_line(one: Ruled, other: Ruled) -> bool:
    """Whether two dimension lines lie on one another."""
    for axis in (0, 1):
        if (
            one.ends[0][axis] == one.ends[1][axis]
            and other.ends[0][axis] == other.ends[1][axis]
            and abs(one.ends[0][axis] - other.ends[0][axis]) < 6
        ):
            a, b = sorted(end[1 - axis] for end in one.ends)
            c, d = sorted(end[1 - axis] for end in other.ends)
            return a < d - 0.5 and c < b - 0.5
    return False


def _ends_meet(one: Ruled, other: Ruled) -> bool:
    """Whether on one line the end of a size stands in a mark of another: in the arrows of a short one, or nearly but not quite in a tick."""
    for axis in (0, 1):
        if (
            one.ends[0][axis] == one.ends[1][axis]
            and other.ends[0][axis] == other.ends[1][axis]
            and abs(one.ends[0][axis] - other.ends[0][axis]) < 6
        ):
            (a, b), (c, d) = (sorted(end[1 - axis] for end in each.ends) for each in (one, other))
            apart = max(c - b, a - d)
            short = min(b - a, d - c) < TOGETHER
            return apart < ARROW[0] + TICK if short else SHARED < apart < 2 * TICK
    return False


def grown(box: Box, by: float) -> Box:
    """``box`` larger by that much on every side."""
    return (box[0] - by, box[1] - by, box[2] + by, box[3] + by)
