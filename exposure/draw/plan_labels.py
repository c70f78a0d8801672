"""The words round a building plan: callouts in two columns, and short codes at the walls, none over another."""

from math import hypot
from typing import NamedTuple

from exposure.draw.drawing import (
    Box,
    Point,
    box_corners,
    figure_text,
    filled,
    is_free,
    path,
    polar,
    rectangle,
    stroke,
    tally,
    tally_width,
    text,
)
from exposure.draw.lettering import fit, text_width
from exposure.draw.palette import HAIR, INK, PAPER
from exposure.figures import litres
from exposure.wall import WallExposure
from exposure.wall.classes import class_label

COLUMN = 172  # width of each side column of callouts
LABEL_WIDE, LABEL_TALL, LABEL_GAP = 164, 66, 8


class Placed(NamedTuple):
    """A wall put on paper."""

    of: WallExposure
    code: str
    start: Point
    end: Point
    out: Point  # outward, on paper
    middle: Point

    @property
    def name(self) -> str:
        """Of the elevation."""
        return self.of.wall.name

    @property
    def most(self) -> float:
        """The upper end of its band, or its figure where that is higher or the band unknown. [L m-2]"""
        return max(self.of.wall_spell_index, self.of.spell_band[1] if self.of.spell_band else 0)

    def along(self, distance: float, sideways: float = 0.0) -> Point:
        """The point ``distance`` outward, and a share of the wall's length away from its middle."""
        shift = ((self.end[0] - self.start[0]) * sideways, (self.end[1] - self.start[1]) * sideways)
        return (
            self.middle[0] + self.out[0] * distance + shift[0],
            self.middle[1] + self.out[1] * distance + shift[1],
        )


def _tip(one: Placed, depth: float, beyond: float = 4.0) -> Point:
    """Just outside the fringe and its band."""
    return one.along(one.most * depth + beyond)


def _columns(
    called: list[Placed], depth: float, width: float, height: float
) -> tuple[list[Placed], list[Placed]]:
    """Walls for the left and the right column, each by height, neither with more labels than it can hold."""
    most = max(1, int((height + LABEL_GAP) // (LABEL_TALL + LABEL_GAP)))
    middle = width / 2

    def sideways(one: Placed) -> float:
        """How far right a wall's label belongs: where its tip is, and a little the way it faces."""
        return _tip(one, depth)[0] - middle + one.out[0] * height * 0.1

    by_side = sorted(called, key=sideways)
    left = [one for one in by_side if sideways(one) < 0]
    right = [one for one in by_side if sideways(one) >= 0]
    while len(left) > most:
        right.insert(0, left.pop())
    while len(right) > most:
        left.append(right.pop(0))

    def by_height(one: Placed) -> float:
        return _tip(one, depth)[1]

    return sorted(left, key=by_height), sorted(right, key=by_height)


class Marked(NamedTuple):
    """Names of the elevations drawn apart: the worst heavier, the one in question inverted."""

    worst: str
    chosen: str | None


class Ring(NamedTuple):
    """The compass round the plan, on paper."""

    centre: Point
    outer: float


def callout_labels(called: list[Placed], marked: Marked, *, width: float, height: float, depth: float) -> str:
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
            out.append(_label(one, marked, y=y, is_left=is_left, width=width, tip=_tip(one, depth)))
    return "".join(out)


def _label(one: Placed, marked: Marked, *, y: float, is_left: bool, width: float, tip: Point) -> str:
    heavy = one.name == marked.worst
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
    if one.name == marked.chosen:
        ground += f'<rect x="{x}" y="{y + 1.5:.1f}" width="{LABEL_WIDE}" height="23" fill="{INK}"/>'
        colour = PAPER
    room = LABEL_WIDE - 16
    beside = LABEL_WIDE - 18 - tally_width()
    words = class_label(one.of.exposure_class, one.of.could_be)
    return (
        leader
        + ground
        + frame
        + text(
            x + 8, y + 18, fit(one.name, width=room, size=14, bold=True), size=14, bold=True, colour=colour
        )
        + figure_text(x + 8, y + 39, one.of.wall_spell_index, one.of.spell_band)
        + tally(x + 8, y + 53, one.of.exposure_class)
        + text(x + 14 + tally_width(), y + 57, words, size=13 if text_width(words, size=13) < beside else 12)
    )


def code_labels(
    coded: list[Placed], placed: list[Placed], marked: Marked, *, figures: bool, depth: float, ring: Ring
) -> str:
    """Short codes outside the fringes; hardest first, and one that finds no free room is left to the table."""
    size = 15 if figures else 13
    centre, outer = ring
    taken = _compass_boxes(centre, outer)
    out = []
    for one in coded:
        heavy, inverted = one.name == marked.worst, one.name == marked.chosen
        words = f"{one.code} {litres(one.of.wall_spell_index)}" if figures else one.code
        wide = text_width(words, size=size, bold=True)
        reach = one.most * depth
        outside = [
            (one.along(reach + 6.0 + push, sideways), 1)
            for sideways in (0.0, 0.3, -0.3, 0.5, -0.5)
            for push in range(0, 60, 6)
        ]
        inside = [(one.along(-8.0 - push), -1) for push in range(0, 60, 6)]
        spots = [(spot, way, outer - 2) for spot, way in outside]
        spots += [(spot, way, 2 * outer) for spot, way in outside]  # at need over the ring, on white
        spots += [(spot, way, outer - 2) for spot, way in inside]
        for (x, y), way, limit in spots:
            left = x - wide / 2 + way * one.out[0] * wide / 2
            top = y - size / 2 + way * one.out[1] * size / 2
            box = (left - 2, top - 2, left + wide + 2, top + size + 2)
            far = max(hypot(cx - centre[0], cy - centre[1]) for cx, cy in box_corners(box))
            within = far <= limit and min(box) > 0 and max(box[2] - 2 * centre[0], box[3] - 2 * centre[1]) < 0
            if within and is_free(box, taken) and not any(_crosses(other, box) for other in placed):
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


def _crosses(one: Placed, box: Box, *, steps: int = 24) -> bool:
    """Whether a wall's line runs through ``box``."""
    for step in range(steps + 1):
        x = one.start[0] + (one.end[0] - one.start[0]) * step / steps
        y = one.start[1] + (one.end[1] - one.start[1]) * step / steps
        if box[0] < x < box[2] and box[1] < y < box[3]:
            return True
    return False
