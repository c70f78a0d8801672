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
from exposure.draw.plan_labels import COLUMN, Marked, Placed, Ring, callout_labels, code_labels
from exposure.wall import WallExposure

MOST_CALLOUTS = 12  # beyond this the hardest four keep callouts, the others codes
KEPT_CALLOUTS = 4
LEAST_FRINGE = 1.5  # thinner is only a smear beside the wall; the callout still names it
TINY = 200  # smaller plans leave out the ring, so that the codes find room
SPELL_UNIT = "L/m² in the worst spell"
LEAST_STEM = 8.0  # shorter bands are clutter; the figure says them


def building_plan(
    elevations: Sequence[WallExposure],
    rain_from: Sequence[float],
    *,
    chosen: str | None = None,
    size: int = 520,
    callouts: bool = True,
    prefix: str = "plan",
) -> str:
    """Draw the plan, north up, the wall that gets most drawn thickest.

    Parameters
    ----------
    elevations
        One or more, in any order.
    rain_from
        Share of the driving rain from each of evenly spaced directions, clockwise from north; may be empty.
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
    """
    side = COLUMN if callouts else 0
    width, ring = size + 2 * side, Ring((side + size / 2, size / 2), size / 2 - 24)
    hardest_first = sorted(elevations, key=lambda one: -one.wall_spell_index)
    marked = Marked(hardest_first[0].wall.name, chosen)
    placed, closed = _on_paper(hardest_first, centre=ring.centre, reach=size * (0.262 if callouts else 0.24))
    top = max(one.most for one in placed)
    depth = size * (0.13 if callouts else 0.115) / top if top > 0 else 0.0

    fringes, lines, stems = [], [], []
    for one in placed:
        deep, band = one.of.wall_spell_index * depth, one.of.spell_band
        if deep >= LEAST_FRINGE:
            shift = (one.out[0] * deep, one.out[1] * deep)
            corners = [one.start, one.end, *((x + shift[0], y + shift[1]) for x, y in (one.end, one.start))]
            fringes.append(hatched(corners, one.of.exposure_class))
        lines.append(
            stroke(path([one.start, one.end]), width=6.5 if one.name == marked.worst else 3, ends="square")
        )
        if band and (band[1] - band[0]) * depth >= LEAST_STEM:
            stems.append(band_stem(_stem(one, band[0] * depth, band[1] * depth)))
    floor = "".join(f'<path d="{path(around, close=True)}" fill="{PAPER}"/>' for around in closed)
    if size < TINY:
        ring = ring._replace(outer=size / 2 - 1)
        compass = text(size / 2, 11, "N", size=12, bold=True, anchor="middle")
    else:
        compass = compass_letters(ring.centre, ring.outer + 13)
        if len(rain_from):
            deep = size * (0.085 if callouts else 0.07)
            compass += rain_ring(ring.centre, outer=ring.outer, depth=deep, share=rain_from, width=2.4)
    called = (placed[:KEPT_CALLOUTS] if len(placed) > MOST_CALLOUTS else placed) if callouts else []
    coded = [one for one in placed if one not in called]
    words = callout_labels(called, marked, width=width, height=size, depth=depth)
    words += code_labels(coded, placed, marked, figures=size >= 300 and not callouts, depth=depth, ring=ring)
    return picture(
        compass + "".join(fringes) + floor + "".join(lines + stems) + words,
        width=width,
        height=size,
        title="Building plan",
        desc=_sentence(elevations, hardest_first[0]),
        prefix=prefix,
    )


def _sentence(elevations: Sequence[WallExposure], worst: WallExposure) -> str:
    def name_and_figures(one: WallExposure) -> tuple[str, str]:
        return clean(one.wall.name, most=40), figures_sentence(one.wall_spell_index, one.spell_band)

    name, figures = name_and_figures(worst)
    each = "; ".join(f"{' '.join(name_and_figures(one))}, {one.in_words}" for one in elevations)
    return f"Worst: {name}, {figures} {SPELL_UNIT}, {worst.in_words}. {each}."


def _on_paper(
    hardest_first: Sequence[WallExposure], *, centre: Point, reach: float
) -> tuple[list[Placed], list[list[Point]]]:
    """Elevations placed and scaled round the picture's centre, and the closed outlines among them."""
    walls = [one.wall for one in hardest_first]
    known = [(wall.start, wall.end) for wall in walls if wall.start is not None and wall.end is not None]
    sides = (
        known
        if len(known) == len(walls)
        else sides_by_facing([(wall.orientation, wall.length) for wall in walls])
    )
    east, north = zip(*(corner for side in sides for corner in side), strict=True)
    middle = ((min(east) + max(east)) / 2, (min(north) + max(north)) / 2)
    far = (hypot(x - middle[0], y - middle[1]) for x, y in zip(east, north, strict=True))
    scale = reach / max(*far, 0.1)

    def on_paper(corner: Point) -> Point:
        return centre[0] + (corner[0] - middle[0]) * scale, centre[1] - (corner[1] - middle[1]) * scale

    codes = wall_codes([(wall.name, wall.orientation) for wall in walls])
    placed = []
    for one, (start, end) in zip(hardest_first, sides, strict=True):
        left, right = on_paper(start), on_paper(end)
        facing = radians(one.wall.orientation)
        halfway = ((left[0] + right[0]) / 2, (left[1] + right[1]) / 2)
        placed.append(Placed(one, codes[one.wall.name], left, right, (sin(facing), -cos(facing)), halfway))
    return placed, rings([(one.start, one.end) for one in placed])


def _stem(one: Placed, low: float, high: float, cap: float = 5.0) -> str:
    across = (-one.out[1] * cap, one.out[0] * cap)
    data = path([one.along(low), one.along(high)])
    for end in (one.along(low), one.along(high)):
        data += " " + path(
            [(end[0] + across[0], end[1] + across[1]), (end[0] - across[0], end[1] - across[1])]
        )
    return data


def plan_caption(elevations: Sequence[WallExposure], *, ring: bool, callouts: bool = True) -> str:
    """The sentence that stands under a plan, because ring and fringe are different quantities."""
    known = all(one.wall.start is not None for one in elevations)
    words = "Fringe: rain on the wall in the worst spell."
    if ring:
        words += " Ring: where the year's driving rain comes from."
    if callouts and any(one.could_be for one in elevations):
        words += (
            " Where 'or milder' or 'or harder' stands the class may just as well be the next one that way."
        )
    return words if known else f"{words} Outline not known: walls stand by the way they face."
