"""The driving-rain rose: what a wall facing each way gets in an open field, and the ring of where the rain comes from.

Answers the first question, how exposed is this place. It never carries class colours: classes belong to walls.
"""

from collections.abc import Sequence
from math import floor, hypot, log10
from typing import NamedTuple

from exposure.draw.drawing import (
    Box,
    box_corners,
    compass_letters,
    filled,
    is_free,
    path,
    picture,
    polar,
    rain_ring,
    stroke,
    text,
)
from exposure.draw.lettering import clean, text_width
from exposure.draw.outline import wall_codes
from exposure.draw.palette import HAIR, INK, PAPER, RAIN, SOFT, STREAM
from exposure.figures import Band, degrees, figures_words, litres
from exposure.wall import WallExposure

YEAR_UNIT = "L/m² a year"
MOST_MARKS, ROOMY = 6, 260  # walls a smaller rose can mark before they hide the curve


class RoseCurves(NamedTuple):
    """Open-field rain on a wall facing each of evenly spaced directions from north, at least 36. [L m-2]"""

    curve: list[float]
    low: list[float] | None = None  # the 90 % band; None where one year cannot tell
    high: list[float] | None = None


def round_step(top: float, *, most_rings: int = 4) -> float:
    """A round distance (1, 2 or 5 times a power of ten) of at most ``most_rings`` rings below ``top``.

    Examples
    --------
    >>> round_step(430), round_step(60), round_step(3.2)
    (200.0, 20.0, 1.0)
    """
    if top <= 0:
        return 1.0
    unit = 10.0 ** floor(log10(top / most_rings))
    return next(part * unit for part in (1.0, 2.0, 5.0, 10.0) if part * unit * most_rings >= top)


def value_at(curve: Sequence[float], orientation: float) -> float:
    """The curve between its evenly spaced directions, straight from one to the next.

    Examples
    --------
    >>> value_at([0, 10, 20, 10], 45)
    5.0
    """
    place = orientation % 360 / 360 * len(curve)
    low = int(place)
    part = place - low
    return curve[low % len(curve)] * (1 - part) + curve[(low + 1) % len(curve)] * part


def rose(
    curves: RoseCurves,
    *,
    rain_from: Sequence[float] = (),
    elevations: Sequence[WallExposure] = (),
    unit: str = YEAR_UNIT,
    size: int = 420,
    prefix: str = "rose",
) -> str:
    """Draw the rose.

    Parameters
    ----------
    rain_from
        Share of the driving rain from evenly spaced directions.
    elevations
        To mark, the first drawn heavier; many on a small rose would hide the curve, so it marks the first alone.

    Examples
    --------
    >>> svg = rose(RoseCurves([100.0] * 36))
    >>> "Most on a wall facing 0°: 100 L/m² a year" in svg
    True
    """
    curve, low, high = curves
    centre = (size / 2, size / 2)
    outer = size / 2 - 24
    inner = outer - size * 0.085 - 10
    top = max(*curve, *(high or ())) or 1.0
    step = round_step(top)
    count = len(curve)

    def points(values: Sequence[float]) -> list[tuple[float, float]]:
        return [polar(centre, inner * value / top, 360 / count * place) for place, value in enumerate(values)]

    rings = [number * step for number in range(1, int(top / step + 1e-9) + 1)]
    parts = [rain_ring(centre, outer=outer, depth=size * 0.085, share=rain_from, width=2.2)]
    parts += [
        f'<circle cx="{centre[0]:.1f}" cy="{centre[1]:.1f}" r="{inner * ring / top:.1f}" fill="none" stroke="{HAIR}" stroke-width="0.75"/>'
        for ring in rings
    ]
    cross = " ".join(path([centre, polar(centre, inner, bearing)]) for bearing in (0, 90, 180, 270))
    parts.append(stroke(cross, colour=HAIR, width=0.75))
    if low is not None and high is not None:
        ribbon = f"{path(points(high), close=True)} {path(points(low), close=True)}"
        parts.append(f'<path d="{ribbon}" fill="{STREAM}" fill-rule="evenodd"/>')
    parts.append(stroke(path(points(curve), close=True), colour=RAIN, width=2.5))
    figures, taken = _ring_figures(rings, curve, centre=centre, scale=inner / top)
    parts.append(figures)
    marked = elevations if size >= ROOMY or len(elevations) <= MOST_MARKS else elevations[:1]
    codes = wall_codes([(one.wall.name, one.wall.orientation) for one in elevations])
    room = _Room(centre, inner / top, outer - size * 0.085 - 2, taken)
    parts.append(_marks(curves, [(codes[one.wall.name], one.wall.orientation) for one in marked], room))
    parts.append(compass_letters(centre, outer + 13, size=13))
    return picture(
        "".join(parts),
        width=size,
        height=size,
        title="Driving-rain rose",
        desc=_sentence(curves, marked, unit),
        prefix=prefix,
    )


def _sentence(curves: RoseCurves, marked: Sequence[WallExposure], unit: str) -> str:
    curve, low, high = curves

    def at(place: int) -> str:
        band: Band | None = (low[place], high[place]) if low is not None and high is not None else None
        return figures_words(curve[place], band, unit)

    most = max(range(len(curve)), key=curve.__getitem__)
    least = min(range(len(curve)), key=curve.__getitem__)
    turn = 360 / len(curve)
    words = f"Most on a wall facing {degrees(most * turn)}: {at(most)}; least facing {degrees(least * turn)}: {at(least)}."
    if marked:
        words += " " + "; ".join(
            f"{clean(one.wall.name, most=40)} {litres(value_at(curve, one.wall.orientation))}"
            for one in marked
        )
        words += ". Open field: no class is read here."
    return words


class _Room(NamedTuple):
    """Where a rose has room for codes."""

    centre: tuple[float, float]
    scale: float  # of a figure
    reach: float  # from the centre
    taken: list[Box]


def _marks(curves: RoseCurves, marked: Sequence[tuple[str, float]], room: _Room) -> str:
    """Spokes to the curve with a short wall across their end; codes beside, where there is room.

    ``marked``: code and orientation of each elevation, the one drawn heavier first.
    """
    out: list[str] = []
    named: list[float] = []
    curve, centre = curves.curve, room.centre
    worst = marked[0][0] if marked else ""
    for code, facing in sorted(
        marked, key=lambda one: (one[0] != worst, -value_at(curve, one[1]), len(one[0]))
    ):
        radius = value_at(curve, facing) * room.scale
        heavy = code == worst
        end = polar(centre, radius, facing)
        across = [polar(end, 9, facing + turn) for turn in (90, -90)]
        out.append(stroke(path([centre, end]), width=3 if heavy else 1.25))
        out.append(stroke(path(across), width=5 if heavy else 2.5))
        if any(abs(facing - other) < 1 for other in named):
            continue  # walls that face alike share one spoke and the code of the first
        named.append(facing)
        half = text_width(code, size=13, bold=True) / 2
        outside = value_at(curves.high or curve, facing) * room.scale
        beyond = [polar(centre, outside + away + half * 0.6, facing) for away in (11.0, 20.0, 30.0)]
        beside = [
            polar(polar(centre, radius * 0.6, facing), half + 7, facing + side)
            for side in (90, -90)
            if radius > 40
        ]
        for x, y in [*beyond, *beside]:
            box = (x - half - 2, y - 8, x + half + 2, y + 6)
            far = max(hypot(cx - centre[0], cy - centre[1]) for cx, cy in box_corners(box))
            if far < room.reach and is_free(box, room.taken):
                room.taken.append(box)
                out.append(text(x, y + 4, code, size=13, bold=heavy, anchor="middle", colour=INK))
                break
    return "".join(out)


def _ring_figures(
    rings: Sequence[float], curve: Sequence[float], *, centre: tuple[float, float], scale: float
) -> tuple[str, list[Box]]:
    """Figures on the rings along the quarter where the curve lies furthest in."""
    bearing = min((45, 135, 225, 315), key=lambda turn: value_at(curve, turn))
    out: list[str] = []
    boxes: list[Box] = []
    for ring in rings:
        x, y = polar(centre, ring * scale, bearing)
        words = f"{ring:,.0f}" if ring >= 1 else f"{ring:g}"
        half = text_width(words, size=12) / 2
        if ring * scale > 34:
            boxes.append((x - half - 1, y - 7, x + half + 1, y + 7))
            out.append(filled(box_corners(boxes[-1]), PAPER))
            out.append(text(x, y + 4.5, words, size=12, anchor="middle", colour=SOFT))
    return "".join(out), boxes
