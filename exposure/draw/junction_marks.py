"""What stands on a drawn junction: dimensions with their lines, ticks, numbers and names, rings with their leaders."""

from collections.abc import Sequence
from math import hypot

from exposure.draw.drawing import Point, box_corners, escaped, filled, path, stroke, text
from exposure.draw.junction_labels import RING, Tag
from exposure.draw.junction_lanes import ARROW, HIGH, NAME_SIZE, SIZE, TICK, TOGETHER, Ruled, strokes_of
from exposure.draw.palette import INK, PAPER

VEIL = 3.5  # of a number on the drawing, by which what lies under it is covered less than its label is high
FAINT = "#707B84"  # leaders and the lines from a size to what it measures, paler than any part


def _end_marks(ends: tuple[Point, Point]) -> str:
    """A tick at each end of a dimension line; arrows from outside where two ticks would run together."""
    (ax, ay), (bx, by) = ends
    long = hypot(bx - ax, by - ay)
    if long >= TOGETHER:
        return stroke(
            " ".join(path([(x - TICK, y + TICK), (x + TICK, y - TICK)]) for x, y in ends), width=1.5
        )
    return "".join(filled(arrow_head(tip, out), INK) for tip, out in zip(ends, outward(ends), strict=True))


def outward(ends: Sequence[Point]) -> tuple[Point, Point]:
    """Away from each other at the two ends of a size, one unit long; up and down where they are one.

    Examples
    --------
    >>> outward([(0, 0), (4, 0)])
    ((-1.0, -0.0), (1.0, 0.0))
    """
    (ax, ay), (bx, by) = ends
    long = hypot(bx - ax, by - ay)
    ux, uy = ((bx - ax) / long, (by - ay) / long) if long else (0.0, 1.0)
    return (-ux, -uy), (ux, uy)


def arrow_head(tip: Point, out: Point) -> list[Point]:
    """An arrow that comes from ``out`` to its tip.

    Examples
    --------
    >>> arrow_head((0, 0), (1, 0))
    [(0, 0), (5.5, 2.2), (5.5, -2.2)]
    """
    (x, y), (ux, uy), (length, half) = tip, out, ARROW
    foot, aside = (x + length * ux, y + length * uy), (half * uy, half * ux)
    return [tip, (foot[0] - aside[0], foot[1] + aside[1]), (foot[0] + aside[0], foot[1] - aside[1])]


def ruled_mark(one: Ruled) -> str:
    """A dimension with its lines, ticks, number and name."""
    thin = " ".join(path([a, b]) for a, b in strokes_of(one)[1:] if a != b)
    middle, y = (one.label[0] + one.label[2]) / 2, one.label[3] - 4.5
    between = one.ends[0][1] == one.ends[1][1] and min(x for x, _ in one.ends) < middle < max(
        x for x, _ in one.ends
    )
    line = path(list(one.ends))
    if between:
        left, right = sorted(x for x, _ in one.ends)
        at = one.ends[0][1]
        line = f"{path([(left, at), (one.label[0], at)])} {path([(one.label[2], at), (right, at)])}"
    above = one.label[3] - one.label[1] > HIGH + 1  # the word stands over the number
    name = (
        f'<tspan font-weight="400" font-size="{NAME_SIZE:g}">{escaped(one.name)} </tspan>' if one.name else ""
    )
    if above:
        name = f'<tspan x="{middle:.1f}" dy="-13" font-weight="400" font-size="{NAME_SIZE:g}">{escaped(one.name)}</tspan><tspan x="{middle:.1f}" dy="13">'
    words = (
        f'<text x="{middle:.1f}" y="{y:.1f}" font-size="{SIZE:g}" font-weight="700" fill="{INK}" text-anchor="middle">'
        f"{name}{escaped(one.words)}{'</tspan>' if above else ''}</text>"
    )
    left, top, right, bottom = one.label
    veil = box_corners((left + 2, top + VEIL, right - 2, bottom - VEIL))  # lines under a number stay seen
    ground = (
        f'<path d="{path(veil, close=True)}" fill="{PAPER}" fill-opacity="0.85"/>'
        if one.within or one.over
        else ""
    )
    return (
        (stroke(thin, colour=FAINT, width=0.6, dashes="1.6 2.2") if thin else "")
        + stroke(line, colour=INK, width=0.7)
        + _end_marks(one.ends)
        + ground
        + words
    )


def tag_mark(one: Tag) -> str:
    """A ring or words with the leader to what they name."""
    (x0, y0), (x1, y1) = one.leader
    middle, y = (one.box[0] + one.box[2]) / 2, (one.box[1] + one.box[3]) / 2
    ground = f'<rect x="{one.box[0]:.1f}" y="{y - 7:.1f}" width="{one.box[2] - one.box[0]:.1f}" height="14" fill="{PAPER}"/>'
    leader = (
        ("" if one.ring else ground)
        + stroke(path([(x0, y0), (x1, y1)]), colour=FAINT, width=0.6)
        + f'<circle cx="{x1:.1f}" cy="{y1:.1f}" r="1.3" fill="{INK}"/>'
    )
    if one.leader[0] == one.leader[1]:  # the ring stands on its part
        leader = f'<circle cx="{middle:.1f}" cy="{y:.1f}" r="{RING + 2:g}" fill="{PAPER}"/>'
    if one.ring:
        leader += f'<circle cx="{middle:.1f}" cy="{y:.1f}" r="{RING:g}" fill="{PAPER}" stroke="{INK}" stroke-width="1.1"/>'
    return leader + text(middle, y + 4.3, one.words, size=13, bold=True, anchor="middle")
