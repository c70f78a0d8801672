"""The parts every picture is made of: SVG text, hatched shapes, tallies, and the frame with title and description.

No pattern, clip path, variable, filter or style sheet inside a picture: one string serves page, phone, sheet and
PDF. Angles are degrees clockwise from north; one unit is one CSS pixel or more as shown.
"""

import re
from collections.abc import Sequence
from html import escape
from math import cos, radians, sin
from urllib.parse import quote

from exposure.draw.lettering import FONT, clean
from exposure.draw.palette import CLASS_LOOKS, HAIR, INK, PAPER, RAIN, SOFT
from exposure.figures import UNKNOWN, Band, band_words, litres

Point = tuple[float, float]
Box = tuple[float, float, float, float]  # left, top, right, bottom
MONTH_LETTERS = "JFMAMJJASOND"
SMALLEST_TEXT = 12


def escaped(words: object) -> str:
    """``words`` as harmless text of one line."""
    return escape(clean(words), quote=True)


def path(points: Sequence[Point], *, close: bool = False) -> str:
    """Path data through ``points``."""
    return "M" + " L".join([f"{x:.1f} {y:.1f}" for x, y in points]) + ("Z" if close else "")


def stroke(data: str, *, colour: str = INK, width: float = 1.0, dashes: str = "", ends: str = "butt") -> str:
    """A line along path data."""
    dashed = f' stroke-dasharray="{dashes}"' if dashes else ""
    cap = f' stroke-linecap="{ends}"' if ends != "butt" else ""
    return f'<path d="{data}" fill="none" stroke="{colour}" stroke-width="{width:g}"{dashed}{cap}/>'


def filled(points: Sequence[Point], colour: str) -> str:
    """A filled shape without outline."""
    return f'<path d="{path(points, close=True)}" fill="{colour}"/>'


def rectangle(x: float, y: float, width: float, height: float) -> list[Point]:
    """Corners of an upright rectangle."""
    return [(x, y), (x + width, y), (x + width, y + height), (x, y + height)]


def box_corners(box: Box) -> list[Point]:
    """Corners of a box given by its left, top, right and bottom."""
    return rectangle(box[0], box[1], box[2] - box[0], box[3] - box[1])


def is_free(box: Box, taken: Sequence[Box]) -> bool:
    """Whether ``box`` overlaps none of the boxes already taken.

    Examples
    --------
    >>> is_free((0, 0, 2, 2), [(1, 1, 3, 3)]), is_free((0, 0, 2, 2), [(2, 0, 3, 2)])
    (False, True)
    """
    left, top, right, bottom = box
    for x0, y0, x1, y1 in taken:  # noqa: SIM110 - asked very often, and a generator takes twice as long
        if right > x0 and left < x1 and bottom > y0 and top < y1:
            return False
    return True


def polar(centre: Point, radius: float, bearing: float) -> Point:
    """The point ``radius`` from ``centre`` towards ``bearing``.

    Examples
    --------
    >>> polar((0, 0), 10, 90)
    (10.0, -6.123233995736766e-16)
    """
    turn = radians(bearing)
    return centre[0] + radius * sin(turn), centre[1] - radius * cos(turn)


def text(
    x: float,
    y: float,
    words: object,
    *,
    size: float = 13,
    bold: bool = False,
    anchor: str = "start",
    colour: str = INK,
) -> str:
    """One line of text with its base line at ``y``; never under 12 units."""
    weight = ' font-weight="700"' if bold else ""
    where = f' text-anchor="{anchor}"' if anchor != "start" else ""
    size = max(size, SMALLEST_TEXT)
    return f'<text x="{x:.1f}" y="{y:.1f}" font-size="{size:g}" fill="{colour}"{weight}{where}>{escaped(words)}</text>'


def figure_text(
    x: float, y: float, value: float, band: Band | None, *, size: float = 13, anchor: str = "start"
) -> str:
    """A figure in bold with its band right behind, as one text so that no width is guessed."""
    behind = band_words(band)
    tail = f'<tspan dx="5">({behind})</tspan>' if behind else ""
    where = f' text-anchor="{anchor}"' if anchor != "start" else ""
    return (
        f'<text x="{x:.1f}" y="{y:.1f}" font-size="{size:g}" fill="{INK}"{where}>'
        f'<tspan font-weight="700" font-size="{size + 1:g}">{litres(value)}</tspan>{tail}</text>'
    )


def hatched(points: Sequence[Point], class_name: str, *, outline: float = 1.0) -> str:
    """A convex shape in its class's fill and rain strokes, outlined in ink.

    The strokes are cut to the shape here: an SVG pattern leaves white seams in some PDF writers.
    """
    look = CLASS_LOOKS[class_name]
    parts = [filled(points, look.fill)]
    sides = list(zip(points, [*points[1:], points[0]], strict=True))
    for family in look.hatch:
        level = [x + family.lean * y for x, y in points]
        cuts = []
        for number in range(int(min(level) // family.step) + 1, int(max(level) // family.step) + 1):
            at = number * family.step
            ends: list[Point] = []
            for one, other in sides:
                here, there = one[0] + family.lean * one[1], other[0] + family.lean * other[1]
                if (here < at) != (there < at):
                    part = (at - here) / (there - here)
                    ends.append((one[0] + part * (other[0] - one[0]), one[1] + part * (other[1] - one[1])))
            if len(ends) == 2:
                cuts.append(path(ends))
        if cuts:
            parts.append(stroke(" ".join(cuts), colour=look.stroke, width=family.width))
    return "".join(parts) + stroke(path(points, close=True), width=outline)


def tally(x: float, y: float, class_name: str, *, size: float = 8) -> str:
    """The class as four leaning strokes of one height, filled up to its rank: reads without colour and without words.

    ``x`` is its left end, ``y`` the middle of its height.
    """
    rank = CLASS_LOOKS[class_name].rank
    wide, lean, tall = size * 0.8, size * 0.55, size * 1.35
    foot, head = y + tall / 2, y - tall / 2
    return "".join(
        f'<path d="M{left:.1f} {foot:.1f} H{left + wide:.1f} L{left + wide + lean:.1f} {head:.1f} H{left + lean:.1f}Z" '
        f'fill="{INK if place < rank else "none"}" stroke="{INK}"/>'
        for place, left in ((place, x + place * (size + 2)) for place in range(len(CLASS_LOOKS)))
    )


def tally_width(size: float = 8) -> float:
    """Room a tally takes from its left end."""
    return 3 * (size + 2) + size * 1.35


def band_stem(data: str) -> str:
    """A band's stem and caps, a white core under ink so that it shows on every fill."""
    return stroke(data, colour=PAPER, width=4.5) + stroke(data, width=1.6)


def rain_ring(
    centre: Point, *, outer: float, depth: float, share: Sequence[float], width: float = 2.2
) -> str:
    """A circle with strokes that fall inward from it; each one's length is the share of rain from there.

    Fewer than 24 directions are drawn as three equal strokes each: the ring looks the same and claims no more.
    """
    ring = f'<circle cx="{centre[0]:.1f}" cy="{centre[1]:.1f}" r="{outer:.1f}" fill="none" stroke="{HAIR}" stroke-width="0.75"/>'
    top = max(share, default=0)
    if top <= 0:
        return ring
    step = 360 / len(share)
    offsets = (0.0,) if len(share) >= 24 else (-step / 3, 0.0, step / 3)
    strokes = [
        path([polar(centre, outer, bearing), polar(centre, outer - depth * part / top, bearing)])
        for number, part in enumerate(share)
        if part > 0.004 * top
        for bearing in (number * step + offset for offset in offsets)
    ]
    return ring + stroke(" ".join(strokes), colour=RAIN, width=width)


def compass_letters(centre: Point, radius: float, *, size: float = 13) -> str:
    """N, E, S and W around a circle, north in bold."""
    parts = []
    for letter, bearing in (("N", 0), ("E", 90), ("S", 180), ("W", 270)):
        x, y = polar(centre, radius, bearing)
        north = letter == "N"
        parts.append(
            text(
                x,
                y + size * 0.36,
                letter,
                size=size,
                bold=north,
                anchor="middle",
                colour=INK if north else SOFT,
            )
        )
    return "".join(parts)


def month_letters(left: float, right: float, y: float, *, size: float = 12) -> str:
    """The twelve months' letters evenly from ``left`` to ``right``."""
    cell = (right - left) / 12
    return "".join(
        text(left + (place + 0.5) * cell, y, letter, size=size, anchor="middle", colour=SOFT)
        for place, letter in enumerate(MONTH_LETTERS)
    )


def picture(body: str, *, width: float, height: float, title: str, desc: str, prefix: str) -> str:
    """A whole picture: white ground, title and description, ids that start with ``prefix``."""
    name = re.sub(r"[^A-Za-z0-9_-]", "-", prefix) or "picture"
    if not name[0].isalpha():
        name = f"p{name}"
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 {width:g} {height:g}" width="{width:g}" '
        f'height="{height:g}" role="img" aria-labelledby="{name}-title {name}-desc" font-family="{FONT}">'
        f'<title id="{name}-title">{escaped(clean(title, most=160))}</title><desc id="{name}-desc">{escaped(desc)}</desc>'
        f'<rect width="{width:g}" height="{height:g}" fill="{PAPER}"/>{body}</svg>'
    )


def description(svg: str) -> str:
    """The sentence a picture carries in its ``desc``, for use as alternative text.

    Examples
    --------
    >>> description(picture("", width=1, height=1, title="Plan", desc="Worst: A & B.", prefix="plan"))
    'Worst: A &amp; B.'
    """
    found = re.search(r"<desc[^>]*>(.*?)</desc>", svg, re.DOTALL)
    return found.group(1) if found else ""


def image_tag(svg: str, *, alt: str | None = None) -> str:
    """The picture as an HTML image: shown so, an SVG runs no script whatever a name in it holds.

    Without ``alt`` the picture's own description is used.
    """
    words = description(svg) if alt is None else escaped(alt)
    return f'<img alt="{words}" src="data:image/svg+xml,{quote(svg)}">'


def figures_sentence(value: float, band: Band | None) -> str:
    """A figure and its band in plain words for a description."""
    behind = band_words(band)
    words = litres(value)
    return words if words == UNKNOWN or not behind else f"{words} ({behind})"
