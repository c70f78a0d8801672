"""The building from above: each wall wears a fringe as deep as the rain that reaches it, in a ring of where it comes from.

Answers the designer's second question: which elevation is worst, and by how much.
"""

from collections.abc import Sequence
from math import cos, hypot, radians, sin

from exposure.draw.drawing import (
    Point,
    band_stem,
    compass_letters,
    figures_sentence,
    hatched,
    path,
    picture,
    rain_ring,
    stroke,
    text,
)
from exposure.draw.lettering import clean
from exposure.draw.outline import rings, sides_by_facing, wall_codes
from exposure.draw.palette import PAPER
from exposure.draw.plan_labels import COLUMN, Placed, PlanWall, callout_labels, code_labels
from exposure.figures import could_be_words

MOST_CALLOUTS = 12  # beyond this the hardest four keep callouts, the others codes
KEPT_CALLOUTS = 4
LEAST_FRINGE = 1.5  # thinner is only a smear beside the wall; the callout still names it
TINY = 200  # smaller plans leave out the ring, so that the codes find room
LEAST_STEM = 8.0  # shorter bands are clutter; the figure says them


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
    words = callout_labels(called, worst, chosen, width=width, height=size, depth=depth) + code_labels(
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
) -> tuple[list[Placed], list[list[Point]]]:
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
        placed.append(Placed(wall, codes[wall.name], one, other, out, halfway))
    return placed, rings([(one.start, one.end) for one in placed])


def _stem(one: Placed, low: float, high: float, cap: float = 5.0) -> str:
    across = (-one.out[1] * cap, one.out[0] * cap)
    data = path([one.along(low), one.along(high)])
    for end in (one.along(low), one.along(high)):
        data += " " + path(
            [(end[0] + across[0], end[1] + across[1]), (end[0] - across[0], end[1] - across[1])]
        )
    return data


def plan_caption(walls: Sequence[PlanWall], *, ring: bool) -> str:
    """The sentence that stands under a plan, because ring and fringe are different quantities."""
    known = all(wall.start is not None for wall in walls)
    words = "Fringe: rain on the wall in the worst spell."
    if ring:
        words += " Ring: where the year's driving rain comes from."
    if any(wall.could_be and wall.could_be != wall.class_name for wall in walls):
        words += " Or milder, or harder: it may as well be a class that way."
    return words if known else f"{words} Outline not known: walls stand by the way they face."


__all__ = ["PlanWall", "building_plan", "plan_caption"]
