"""A junction as a picture: the section with dimensions and rings, the schedule's own lines under it."""

from collections.abc import Container, Mapping, Sequence
from dataclasses import replace
from functools import lru_cache
from typing import NamedTuple

from exposure.draw.drawing import picture, text
from exposure.draw.junction_breaks import SAID
from exposure.draw.junction_canvas import (
    MARGIN,
    TALLEST,
    Canvas,
    amount,
    numbered_parts,
)
from exposure.draw.junction_labels import RING, Tag, crossings
from exposure.draw.junction_lanes import Ruled
from exposure.draw.junction_marks import ruled_mark, tag_mark
from exposure.draw.lettering import wrap as wrap_words
from exposure.draw.palette import INK, PAPER, SOFT
from exposure.junction.one_lower import OneLower
from exposure.junction.scene import Layer, Section

WORDS = 13.0
LINE = 17.0
TALLER = (1.0, 1.2, 1.45, 1.75, 2.1, 2.5, 3.0)  # times the height asked for, tried in turn
FOOT = "Sizes in mm. Films and sheet are drawn thicker than they are. Follow local rules and the maker's instructions."


class DrawnFor(NamedTuple):
    """What a drawing is for."""

    level: str = ""  # in words
    elevations: Sequence[str] = ()  # their names
    every: bool = False  # whether these are all that the house has

    @property
    def words(self) -> str:
        """What stands over the drawing.

        Examples
        --------
        >>> DrawnFor("Level 4 of 4", ["west"]).words, DrawnFor("", ["west", "north"]).words
        ('Level 4 of 4. Elevation: west', 'Elevations: west, north')
        >>> DrawnFor("", ["west", "north"], every=True).words
        'Every elevation: west, north'
        """
        which = "Every elevation" if self.every and len(self.elevations) > 1 else "Elevation"
        which += "s" * (len(self.elevations) > 1 and which == "Elevation")
        mine = f"{which}: {', '.join(self.elevations)}" if self.elevations else ""
        return ". ".join(part for part in (self.level, mine) if part)


UNNAMED = DrawnFor()


def junction_picture(
    section: Section,
    *,
    lines: Mapping[str, str],
    drawn_for: DrawnFor = UNNAMED,
    invented: bool = False,
    brief: bool = False,
    width: int = 720,
    prefix: str = "junction",
) -> str:
    """One junction drawn to scale.

    Parameters
    ----------
    lines
        The schedule's sentence of each row that the section shows.
    drawn_for
        Said in the heading.
    brief
        True for the sizes alone, each with its sentence: no rings.
    width
        In CSS pixels; at 360 a phone shows it whole.
    """
    head, start = _heading(section, drawn_for, width)
    numbered = [] if brief else numbered_parts(section)
    canvas, ruled, tags = _tall_enough(section, width, _tallest(width), start, rings=not brief)
    body = _body(canvas, ruled, tags)
    items = _sizes(section, lines) if brief else _parts(numbered, lines)
    words, high = _words(canvas, items, invented)
    return picture(
        "".join([head, *body, words]),
        width=width,
        height=high,
        title=f"{section.title}{f', {drawn_for.level}' if drawn_for.level else ''}",
        desc=junction_description(section),
        prefix=prefix,
    )


def one_lower_picture(
    here: Section,
    lower: OneLower,
    *,
    elevations: Sequence[str] = (),
    invented: bool = False,
    width: int = 720,
    prefix: str = "lower",
) -> str:
    """A junction one level lower: what differs from ``here`` in full ink with its sizes, the rest pale, the changes in words."""
    section = lower.section or replace(here, dimensions=())
    rows = {one.row for one in lower.changes}
    section = replace(
        section, conflicts=(), dimensions=tuple(one for one in section.dimensions if one.key in rows)
    )
    level = f"One level lower, level {lower.level} of 4"
    head, start = _heading(section, DrawnFor(level, elevations), width)
    canvas, ruled, tags = _tall_enough(section, width, _tallest(width), start, rings=False)
    words, high = _words(canvas, [("", one) for one in lower.sentences], invented)
    return picture(
        "".join([head, *_body(canvas, ruled, tags, full=lower.changed), words]),
        width=width,
        height=high,
        title=f"{section.title}, one level lower",
        desc=" ".join(["What is drawn pale stays as it is one level higher.", *lower.sentences]),
        prefix=prefix,
    )


def bare_junction(
    section: Section,
    *,
    width: int = 320,
    tallest: float = TALLEST,
    rings: bool = True,
    prefix: str = "junction",
) -> tuple[str, list[str]]:
    """A junction drawn without heading and list, for a sheet that prints them, and its parts' names by their rings.

    Without ``rings`` the sizes stand alone. It is drawn taller than ``tallest`` where a size or a ring would find no room.
    """
    numbered = numbered_parts(section) if rings else []
    canvas, ruled, tags = _tall_enough(section, width, tallest, rings=rings)
    lowest = max(
        canvas.view[3],
        *(tag.box[3] for tag in tags),
        *(end[1] for one in ruled for end in (*one.ends, *one.feet)),
        *(one.label[3] for one in ruled),
    )
    svg = picture(
        "".join(_body(canvas, ruled, tags)),
        width=width,
        height=min(canvas.height, lowest + 4) + 4,  # room that was held for labels and not needed stays out
        title=section.title,
        desc=junction_description(section),
        prefix=prefix,
    )
    return svg, [layer.name for _, layer in numbered]


@lru_cache(maxsize=256)
def _tall_enough(
    section: Section, width: int, tallest: float, start: float = 0.0, *, rings: bool
) -> tuple[Canvas, list[Ruled], list[Tag]]:
    """A drawing ``tallest`` high with its labels, or taller where one would find no room or leaders would cross.

    Remembered, because placing labels is nearly all the work of a house's sheets, and one house is printed again and again.
    """
    numbered = numbered_parts(section) if rings else []
    found: list[tuple[tuple[int, int], Canvas, list[Ruled], list[Tag]]] = []
    for taller in TALLER:
        canvas = Canvas(section, width, start, brief=not numbered, tallest=tallest, taller=taller)
        ruled, tags = _labels(canvas, section, numbered)
        lost = len(section.dimensions) + len(numbered) - len(ruled) - len(tags)
        found.append(((lost, len(crossings(tags))), canvas, ruled, tags))
        if found[-1][0] == (0, 0):
            break
    return min(found, key=lambda one: one[0])[1:]


def _tallest(width: float) -> float:
    """How tall a drawing may be, so that a phone shows it without scrolling."""
    return min(TALLEST, 1.15 * width)


def _labels(
    canvas: Canvas, section: Section, numbered: Sequence[tuple[int, Layer]]
) -> tuple[list[Ruled], list[Tag]]:
    """Where dimensions and rings stand; what finds no room is missing."""
    ruled = canvas.ruled({row for one in section.conflicts for row in one.rows})
    return ruled, canvas.tags(numbered, ruled)


def _body(
    canvas: Canvas, ruled: Sequence[Ruled], tags: Sequence[Tag], *, full: Container[str] | None = None
) -> list[str]:
    """The drawing itself with its dimensions and rings."""
    return [
        *canvas.parts(full),
        canvas.break_lines(),
        *([canvas.water(), *canvas.parts(before_water=True)] if full is None else []),
        *(ruled_mark(one) for one in sorted(ruled, key=lambda one: one.over)),
        *(tag_mark(one) for one in tags),
        canvas.sides(),
    ]


def junction_layout(
    section: Section,
    *,
    width: int = 720,
    brief: bool = False,
    bare: float = 0.0,
    drawn_for: DrawnFor | None = None,
) -> tuple[list[Ruled], list[Tag]]:
    """Where dimensions and rings of a section stand at ``width``, in picture units.

    ``bare`` as tall as a sheet asks; below the heading of its picture where that says what it is ``drawn_for``.
    """
    start = _heading(section, drawn_for, width)[1] if drawn_for else 0.0
    return _tall_enough(section, width, bare or _tallest(width), start, rings=not brief)[1:]


def junction_description(section: Section) -> str:
    r"""The section in words: its parts from outside to inside, then each size.

    Examples
    --------
    >>> from exposure.junction.scene import Dimension
    >>> part = Layer("leaf", "masonry", ((0, 0), (9, 0), (9, 9), (0, 9)), "Masonry leaf")
    >>> size = Dimension("cav_mas", (0, 0), (50, 0), 50, "x")
    >>> junction_description(Section("base", "Base", "upright", (0, 0, 9, 9), (part,), (size,)))
    'From outside to inside: Masonry leaf. Sizes: cav mas 50\xa0mm.'
    """
    named = [layer for layer in section.layers if layer.name]
    named.sort(key=lambda layer: min(x for x, _ in layer.outline))
    names = list(dict.fromkeys(layer.name for layer in named))
    sizes = [f"{one.key.replace('_', ' ')} {amount(one)}" for one in section.dimensions]
    said = f"From outside to inside: {'; '.join(names)}."
    if sizes:
        said += f" Sizes: {', '.join(sizes)}."
    return " ".join([said, *(f"Clash: {one.words}" for one in section.conflicts)])


@lru_cache(maxsize=2048)
def wrap(
    words: str, *, width: float, size: float, bold: bool = False, most_lines: int = 0
) -> tuple[str, ...]:
    """Lines of ``words``, remembered: drawings of one house repeat their sentences."""
    return tuple(wrap_words(words, width=width, size=size, bold=bold, most_lines=most_lines))


def _heading(section: Section, drawn_for: DrawnFor, width: int) -> tuple[str, float]:
    room = width - 2 * MARGIN
    y = 22.0
    parts = []
    for line in wrap(section.title, width=room, size=16, bold=True, most_lines=2):
        parts.append(text(MARGIN, y, line, size=16, bold=True))
        y += 19
    said = drawn_for.words
    for line in wrap(said, width=room, size=13, most_lines=3) if said else ():
        parts.append(text(MARGIN, y, line, size=13, colour=SOFT))
        y += LINE
    return "".join(parts), y - 4


def _parts(numbered: Sequence[tuple[int, Layer]], lines: Mapping[str, str]) -> list[tuple[str, str]]:
    """Ring and words of each part, each sentence of the schedule once."""
    said: set[str] = set()
    items = []
    for number, layer in numbered:
        fresh = [row for row in layer.rows if row not in said]
        said.update(fresh)
        items.append(
            (str(number), " ".join([f"{layer.name}.", *(lines[row] for row in fresh if row in lines)]))
        )
    return items


def _sizes(section: Section, lines: Mapping[str, str]) -> list[tuple[str, str]]:
    """The schedule's sentence of each size that is drawn."""
    return [("", lines[row]) for row in dict.fromkeys(one.key for one in section.dimensions) if row in lines]


def _words(canvas: Canvas, items: Sequence[tuple[str, str]], invented: bool) -> tuple[str, float]:
    """The list under the picture, and the height of the whole."""
    section, width = canvas.section, canvas.width
    y = canvas.height + 14
    room = width - 2 * MARGIN - 26
    parts = []
    for conflict in section.conflicts:
        for place, line in enumerate(wrap(f"Clash: {conflict.words}", width=room, size=WORDS, bold=True)):
            if place == 0:
                parts.append(text(MARGIN + 5, y, "!", size=15, bold=True))
            parts.append(text(MARGIN + 26, y, line, size=WORDS, bold=True))
            y += LINE
        y += 5
    for ring, words in items:
        if ring:
            parts.append(
                f'<circle cx="{MARGIN + RING:.1f}" cy="{y - 4.5:.1f}" r="{RING - 1:g}" fill="{PAPER}" stroke="{INK}"/>'
                + text(MARGIN + RING, y - 0.3, ring, size=12, bold=True, anchor="middle")
            )
        else:
            parts.append(f'<circle cx="{MARGIN + RING:.1f}" cy="{y - 4.5:.1f}" r="2.4" fill="{INK}"/>')
        for line in wrap(words, width=room, size=WORDS):
            parts.append(text(MARGIN + 26, y, line, size=WORDS))
            y += LINE
        y += 6
    foot = [
        *section.warnings,
        *section.notes,
        *([SAID] if canvas.breaks else []),
        *(["Invented demo data."] if invented else []),
        FOOT,
    ]
    for line in wrap(" ".join(foot), width=width - 2 * MARGIN, size=12):
        parts.append(text(MARGIN, y, line, size=12, colour=SOFT))
        y += 16
    return "".join(parts), y + 2
