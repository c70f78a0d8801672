"""The building from above: each wall wears a fringe as deep as the rain that reaches it, in a ring of where it comes from.

Answers the designer's second question: which elevation is worst, and by how much.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import cos, hypot, radians, sin
from typing import NamedTuple

from exposure.show.drawing import (
    Box,
    Point,
    band_stem,
    box_corners,
    compass_letters,
    figure_text,
    figures_sentence,
    filled,
    hatched,
    is_free,
    path,
    picture,
    polar,
    rain_ring,
    rectangle,
    stroke,
    tally,
    tally_width,
    text,
)
from exposure.show.lettering import clean, fit, text_width
from exposure.show.numbers import Band, could_be_words, litres
from exposure.show.outline import rings, sides_by_facing, wall_codes
from exposure.show.palette import HAIR, INK, PAPER

COLUMN = 172  # width of each side column of callouts
LABEL_WIDE, LABEL_TALL, LABEL_GAP = 164, 66, 8
MOST_CALLOUTS = 12  # beyond this the hardest four keep callouts, the others codes
KEPT_CALLOUTS = 4
LEAST_FRINGE = 1.5  # thinner is only a smear beside the wall; the callout still names it
TINY = 200  # smaller plans leave out the ring, so that the codes find room
LEAST_STEM = 8.0  # shorter bands are clutter; the figure says them


@dataclass(frozen=True)
class PlanWall:
    """One wall of the plan; corners in metres east and north, None where only facing and length are known."""

    name: str
    orientation: float  # the way it faces [degree]
    value: float  # wall spell index [L m-2]
    band: Band | None
    class_name: str
    start: Point | None = None
    end: Point | None = None
    length: float = 10.0  # [m]
    could_be: str | None = None


class _Placed(NamedTuple):
    wall: PlanWall
    code: str
    start: Point
    end: Point
    out: Point  # outward, on paper
    middle: Point

    def along(self, distance: float, sideways: float = 0.0) -> Point:
        """The point ``distance`` outward, and a share of the wall's length away from its middle."""
        shift = ((self.end[0] - self.start[0]) * sideways, (self.end[1] - self.start[1]) * sideways)
        return (
            self.middle[0] + self.out[0] * distance + shift[0],
            self.middle[1] + self.out[1] * distance + shift[1],
        )


def building_plan(
    walls: Sequence[PlanWall],
    rain_from: Sequence[float],
    *,
    worst: str,
    chosen: str | None = None,
    size: int = 520,
    callouts: bool = True,
    unit: str = "L/m²",
    title: str = "Building plan",
    prefix: str = "plan",
) -> str:
    """Draw the plan, north up.

    Parameters
    ----------
    walls
        One or more, in any order.
    rain_from
        Share of the driving rain from each of evenly spaced directions, clockwise from north; may be empty.
    worst
        Name of the wall drawn thickest.
    chosen
        Name of the wall in question, its label inverted; None for no such mark.
    size
        Height, and width without callouts.
    callouts
        True for name, figure, band and class in two side columns; False for short codes at the walls.

    Returns
    -------
    str
        SVG, ``size + 344`` wide with callouts, else ``size``.

    Examples
    --------
    >>> wall = PlanWall("south-west", 225, 69.7, (58, 84), "severe", length=9)
    >>> "Worst: south-west, 70 (58 to 84) L/m², severe" in building_plan([wall], [], worst="south-west")
    True
    """
    side = COLUMN if callouts else 0
    width, centre = size + 2 * side, (side + size / 2, size / 2)
    outer = size / 2 - 24
    placed, closed = _on_paper(walls, centre=centre, reach=size * (0.262 if callouts else 0.24))
    top = max(max(wall.value, wall.band[1] if wall.band else 0) for wall in walls)
    depth = size * (0.13 if callouts else 0.115) / top if top > 0 else 0.0

    fringes, lines, stems = [], [], []
    for one in placed:
        deep = one.wall.value * depth
        if deep >= LEAST_FRINGE:
            shift = (one.out[0] * deep, one.out[1] * deep)
            corners = [one.start, one.end, *((x + shift[0], y + shift[1]) for x, y in (one.end, one.start))]
            fringes.append(hatched(corners, one.wall.class_name))
        lines.append(
            stroke(path([one.start, one.end]), width=6.5 if one.wall.name == worst else 3, ends="square")
        )
        if one.wall.band and (one.wall.band[1] - one.wall.band[0]) * depth >= LEAST_STEM:
            stems.append(band_stem(_stem(one, one.wall.band[0] * depth, one.wall.band[1] * depth)))
    floor = "".join(f'<path d="{path(ring, close=True)}" fill="{PAPER}"/>' for ring in closed)
    tiny = size < TINY
    ring = "" if tiny else compass_letters(centre, outer + 13)
    if tiny:
        outer = size / 2 - 1
        ring = text(size / 2, 11, "N", size=12, bold=True, anchor="middle")
    elif len(rain_from):
        ring += rain_ring(
            centre, outer=outer, depth=size * (0.085 if callouts else 0.07), share=rain_from, width=2.4
        )
    many = len(placed) > MOST_CALLOUTS
    hardest = sorted(placed, key=lambda one: -one.wall.value)
    called = (hardest[:KEPT_CALLOUTS] if many else placed) if callouts else []
    coded = [one for one in hardest if one not in called]
    words = _callouts(called, worst, chosen, width=width, height=size, depth=depth) + _codes(
        coded,
        placed,
        worst,
        chosen,
        figures=size >= 300 and not callouts,
        depth=depth,
        centre=centre,
        outer=outer,
    )
    body = ring + "".join(fringes) + floor + "".join(lines + stems) + words
    return picture(
        body, width=width, height=size, title=title, desc=_sentence(walls, worst, unit), prefix=prefix
    )


def _sentence(walls: Sequence[PlanWall], worst: str, unit: str) -> str:
    first = next(wall for wall in walls if wall.name == worst)
    others = "; ".join(
        f"{clean(wall.name, most=40)} {figures_sentence(wall.value, wall.band)}, "
        f"{could_be_words(wall.class_name, wall.could_be)}"
        for wall in walls
    )
    return (
        f"Worst: {clean(first.name, most=40)}, {figures_sentence(first.value, first.band)} {unit}, "
        f"{could_be_words(first.class_name, first.could_be)}. {others}."
    )


def _on_paper(
    walls: Sequence[PlanWall], *, centre: Point, reach: float
) -> tuple[list[_Placed], list[list[Point]]]:
    """Walls placed and scaled round the picture's centre, and the closed outlines among them."""
    if all(wall.start is not None and wall.end is not None for wall in walls):
        sides: list = [(wall.start, wall.end) for wall in walls]
    else:
        sides = sides_by_facing([(wall.orientation, wall.length) for wall in walls])
    corners = [corner for side in sides for corner in side if corner is not None]
    east, north = [x for x, _ in corners], [y for _, y in corners]
    middle = ((min(east) + max(east)) / 2, (min(north) + max(north)) / 2)
    scale = reach / max(*(hypot(x - middle[0], y - middle[1]) for x, y in corners), 0.1)

    def on_paper(corner: Point) -> Point:
        return centre[0] + (corner[0] - middle[0]) * scale, centre[1] - (corner[1] - middle[1]) * scale

    codes = wall_codes([(wall.name, wall.orientation) for wall in sorted(walls, key=lambda w: -w.value)])
    placed = []
    for wall, (start, end) in zip(walls, sides, strict=True):
        assert start is not None
        assert end is not None
        one, other = on_paper(start), on_paper(end)
        out = (sin(radians(wall.orientation)), -cos(radians(wall.orientation)))
        halfway = ((one[0] + other[0]) / 2, (one[1] + other[1]) / 2)
        placed.append(_Placed(wall, codes[wall.name], one, other, out, halfway))
    return placed, rings([(one.start, one.end) for one in placed])


def _stem(one: _Placed, low: float, high: float, cap: float = 5.0) -> str:
    across = (-one.out[1] * cap, one.out[0] * cap)
    data = path([one.along(low), one.along(high)])
    for end in (one.along(low), one.along(high)):
        data += " " + path(
            [(end[0] + across[0], end[1] + across[1]), (end[0] - across[0], end[1] - across[1])]
        )
    return data


def _tip(one: _Placed, depth: float, beyond: float = 4.0) -> Point:
    """Just outside the fringe and its band."""
    reach = max(one.wall.value, one.wall.band[1] if one.wall.band else 0) * depth
    return one.along(reach + beyond)


def _columns(
    called: list[_Placed], depth: float, width: float, height: float
) -> tuple[list[_Placed], list[_Placed]]:
    """Walls for the left and the right column, each by height, neither with more labels than it can hold."""
    most = max(1, int((height + LABEL_GAP) // (LABEL_TALL + LABEL_GAP)))
    middle = width / 2

    def sideways(one: _Placed) -> float:
        """How far right a wall's label belongs: where its tip is, and a little the way it faces."""
        return _tip(one, depth)[0] - middle + one.out[0] * height * 0.1

    by_side = sorted(called, key=sideways)
    left = [one for one in by_side if sideways(one) < 0]
    right = [one for one in by_side if sideways(one) >= 0]
    while len(left) > most:
        right.insert(0, left.pop())
    while len(right) > most:
        left.append(right.pop(0))

    def by_height(one: _Placed) -> float:
        return _tip(one, depth)[1]

    return sorted(left, key=by_height), sorted(right, key=by_height)


def _callouts(
    called: list[_Placed], worst: str, chosen: str | None, *, width: float, height: float, depth: float
) -> str:
    """Two columns of labels; each as near its wall's height as the ones above allow."""
    out = []
    for column, is_left in zip(_columns(called, depth, width, height), (True, False), strict=True):
        tops, lowest = [], 0.0
        for one in column:
            lowest = max(lowest, _tip(one, depth)[1] - LABEL_TALL / 2)
            tops.append(lowest)
            lowest += LABEL_TALL + LABEL_GAP
        slip = max(0.0, lowest - LABEL_GAP - height)
        for place, (one, top) in enumerate(zip(column, tops, strict=True)):
            y = max(place * (LABEL_TALL + LABEL_GAP), top - slip)
            out.append(_label(one, worst, chosen, y=y, is_left=is_left, width=width, tip=_tip(one, depth)))
    return "".join(out)


def _label(
    one: _Placed, worst: str, chosen: str | None, *, y: float, is_left: bool, width: float, tip: Point
) -> str:
    wall = one.wall
    heavy = wall.name == worst
    x = 2 if is_left else width - LABEL_WIDE - 2
    near = x + LABEL_WIDE if is_left else x
    elbow = near + (14 if is_left else -14)
    leader = stroke(path([tip, (elbow, y + 15), (near, y + 15)]), width=1.6 if heavy else 0.9)
    frame = stroke(
        path(rectangle(x, y + 1.5, LABEL_WIDE, LABEL_TALL - 3), close=True),
        colour=INK if heavy else HAIR,
        width=3 if heavy else 1,
    )
    ground = (
        f'<rect x="{x}" y="{y + 1.5:.1f}" width="{LABEL_WIDE}" height="{LABEL_TALL - 3}" fill="{PAPER}"/>'
    )
    colour = INK
    if wall.name == chosen:
        ground += f'<rect x="{x}" y="{y + 1.5:.1f}" width="{LABEL_WIDE}" height="23" fill="{INK}"/>'
        colour = PAPER
    room = LABEL_WIDE - 16
    words = (
        wall.class_name if not wall.could_be or wall.could_be == wall.class_name else f"{wall.class_name}?"
    )
    return (
        leader
        + ground
        + frame
        + text(
            x + 8, y + 18, fit(wall.name, width=room, size=14, bold=True), size=14, bold=True, colour=colour
        )
        + figure_text(x + 8, y + 39, wall.value, wall.band)
        + tally(x + 8, y + 53, wall.class_name)
        + text(x + 14 + tally_width(), y + 57, words, size=13)
    )


def _codes(
    coded: list[_Placed],
    placed: list[_Placed],
    worst: str,
    chosen: str | None,
    *,
    figures: bool,
    depth: float,
    centre: Point,
    outer: float,
) -> str:
    """Short codes outside the fringes; hardest first, and one that finds no free room is left to the table."""
    size = 15 if figures else 13
    taken = _compass_boxes(centre, outer)
    out = []
    for one in coded:
        heavy, inverted = one.wall.name == worst, one.wall.name == chosen
        words = f"{one.code} {litres(one.wall.value)}" if figures else one.code
        wide = text_width(words, size=size, bold=True)
        reach = max(one.wall.value, one.wall.band[1] if one.wall.band else 0) * depth
        outside = [
            (one.along(reach + 6.0 + push, sideways), 1)
            for sideways in (0.0, 0.3, -0.3, 0.5, -0.5)
            for push in range(0, 60, 6)
        ]
        inside = [(one.along(-8.0 - push), -1) for push in range(0, 60, 6)]
        spots = [(spot, way, outer - 2) for spot, way in [*outside, *inside]]
        spots += [(spot, way, 2 * outer) for spot, way in outside]  # at need over the ring, on white
        for (x, y), way, limit in spots:
            left = x - wide / 2 + way * one.out[0] * wide / 2
            top = y - size / 2 + way * one.out[1] * size / 2
            box = (left - 2, top - 2, left + wide + 2, top + size + 2)
            far = max(hypot(cx - centre[0], cy - centre[1]) for cx, cy in box_corners(box))
            within = far <= limit and min(box) > 0 and max(box[2] - 2 * centre[0], box[3] - 2 * centre[1]) < 0
            if within and is_free(box, taken) and not any(_crosses(wall, box) for wall in placed):
                taken.append(box)
                ground = INK if inverted else PAPER if far > outer - 2 else ""
                if ground:
                    out.append(filled(box_corners((box[0] - 1, box[1] + 1, box[2] + 1, box[3])), ground))
                out.append(
                    text(
                        left + wide / 2,
                        top + size * 0.86,
                        words,
                        size=size,
                        bold=heavy,
                        anchor="middle",
                        colour=PAPER if inverted else INK,
                    )
                )
                break
    return "".join(out)


def _compass_boxes(centre: Point, outer: float) -> list[Box]:
    """Room the letters round the ring need."""
    middles = [polar(centre, outer + 13, bearing) for bearing in (0, 90, 180, 270)]
    return [(x - 9, y - 9, x + 9, y + 9) for x, y in middles]


def _crosses(one: _Placed, box: Box, *, steps: int = 24) -> bool:
    """Whether a wall's line runs through ``box``."""
    for step in range(steps + 1):
        x = one.start[0] + (one.end[0] - one.start[0]) * step / steps
        y = one.start[1] + (one.end[1] - one.start[1]) * step / steps
        if box[0] < x < box[2] and box[1] < y < box[3]:
            return True
    return False


def plan_caption(walls: Sequence[PlanWall], *, ring: bool) -> str:
    """The sentence that stands under a plan, because ring and fringe are different quantities."""
    known = all(wall.start is not None for wall in walls)
    words = "Fringe: rain on the wall in the worst spell."
    if ring:
        words += " Ring: where the year's driving rain comes from."
    if any(wall.could_be and wall.could_be != wall.class_name for wall in walls):
        words += " A question mark: may as well be the next class."
    return words if known else f"{words} Outline not known: walls stand by the way they face."


__all__ = ["PlanWall", "building_plan", "plan_caption"]
