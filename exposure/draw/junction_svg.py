"""A junction as a picture: the section with dimensions and rings, the schedule's own lines under it."""

from collections.abc import Mapping, Sequence
from functools import lru_cache

from shapely.geometry import Polygon, box

from exposure.draw.drawing import Point, escaped, filled, path, picture, stroke, text
from exposure.draw.junction_labels import RING, Ruled, Tag, ToRule, place_tags, rule_lanes, strokes_of
from exposure.draw.junction_materials import BEHIND, LINES, shape
from exposure.draw.lettering import wrap as wrap_words
from exposure.draw.palette import INK, PAPER, RAIN, SOFT
from exposure.junction.drop import shown_path
from exposure.junction.scene import Dimension, Layer, Section

MARGIN = 12.0
LANES = 56.0  # room beside the picture where dimensions stand
COLUMN = 2 * RING + 8
TICK = 4.0
BESIDE = 3.5  # a drop is drawn this far off the face it runs on
WORDS = 13.0
LINE = 17.0
FOOT = "Sizes in mm. Films and sheet are drawn thicker than they are. Follow local rules and the maker's instructions."
TALLEST = 640.0
SLOT = 2 * RING + 4


def junction_picture(
    section: Section,
    *,
    lines: Mapping[str, str],
    level: str = "",
    elevations: Sequence[str] = (),
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
    level
        The level in words, for the title.
    elevations
        Names of the elevations it is drawn for.
    brief
        True for the sizes alone, each with its sentence: no rings.
    width
        In CSS pixels; at 360 a phone shows it whole.
    """
    head, start = _heading(section, level, elevations, width)
    canvas = _Canvas(section, width, start, brief=brief)
    numbered = [] if brief else _numbered(section)
    body = _body(canvas, section, numbered)
    items = _sizes(section, lines) if brief else _parts(numbered, lines)
    words, high = _words(section, items, width, canvas.height, invented)
    return picture(
        "".join([head, *body, words]),
        width=width,
        height=high,
        title=f"{section.title}{f', {level}' if level else ''}",
        desc=junction_description(section),
        prefix=prefix,
    )


def bare_junction(
    section: Section, *, width: int = 320, tallest: float = TALLEST, prefix: str = "junction"
) -> tuple[str, list[str]]:
    """A junction drawn without heading and list, for a sheet that prints them, and its parts' names by their rings."""
    canvas = _Canvas(section, width, tallest=tallest)
    numbered = _numbered(section)
    svg = picture(
        "".join(_body(canvas, section, numbered)),
        width=width,
        height=canvas.height + 4,
        title=section.title,
        desc=junction_description(section),
        prefix=prefix,
    )
    return svg, [layer.name for _, layer in numbered]


def _body(canvas: "_Canvas", section: Section, numbered: Sequence[tuple[int, Layer]]) -> list[str]:
    """The drawing itself with its dimensions and rings."""
    ruled = canvas.ruled({row for one in section.conflicts for row in one.rows})
    tags = canvas.tags(numbered, ruled)
    return [
        *canvas.parts(),
        canvas.water(),
        *(_ruled(one) for one in ruled),
        *(_tag(one) for one in tags),
        canvas.sides(),
    ]


def junction_layout(
    section: Section, *, width: int = 720, brief: bool = False
) -> tuple[list[Ruled], list[Tag]]:
    """Where dimensions and rings of a section stand at ``width``, in picture units."""
    canvas = _Canvas(section, width, brief=brief)
    ruled = canvas.ruled({row for one in section.conflicts for row in one.rows})
    return ruled, canvas.tags([] if brief else _numbered(section), ruled)


def junction_description(section: Section) -> str:
    r"""The section in words: its parts from outside to inside, then each size.

    Examples
    --------
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


def amount(one: Dimension) -> str:
    """A dimension with its unit.

    Examples
    --------
    >>> amount(Dimension("sill_slope", (0, 0), (100, 6), 6, "fall %")).replace(chr(160), "_")
    '6_%'
    """
    unit = {"fall %": "\u00a0%", "fall °": "°", "flat": "\u00a0mm laid flat"}.get(one.axis, "\u00a0mm")
    return f"{one.value:,.10g}{unit}"


def _numbered(section: Section) -> list[tuple[int, Layer]]:
    """Parts with a name, each name once, numbered from outside to inside of the order of work."""
    named: dict[str, Layer] = {}
    for layer in section.layers:
        if layer.name and (layer.rows or layer.order) and layer.name not in named:
            named[layer.name] = layer
    asked = sorted(
        named.values(), key=lambda layer: (not layer.rows, layer.order, -max(y for _, y in layer.outline))
    )
    return list(enumerate(asked, 1))


@lru_cache(maxsize=2048)
def wrap(
    words: str, *, width: float, size: float, bold: bool = False, most_lines: int = 0
) -> tuple[str, ...]:
    """Lines of ``words``, remembered: drawings of one house repeat their sentences."""
    return tuple(wrap_words(words, width=width, size=size, bold=bold, most_lines=most_lines))


class _Canvas:
    """The section's millimetres in picture units."""

    def __init__(
        self,
        section: Section,
        width: int,
        start: float = 0.0,
        *,
        brief: bool = False,
        tallest: float = TALLEST,
    ) -> None:
        left, bottom, right, top = section.box
        sides = [one.side for one in section.dimensions if one.is_straight]
        lanes = [LANES * 0.9 if side in sides else 14.0 for side in ("left", "right")]
        rows = [min(sides.count(side), 4) * 14 + 22 if side in sides else 22.0 for side in ("top", "bottom")]
        column = COLUMN * 0.7 if brief else COLUMN
        room = width - 2 * (MARGIN + column) - sum(lanes)
        self.section = section
        self.scale = min(room / (right - left), tallest / (top - bottom))
        spare = (room - self.scale * (right - left)) / 2
        x, y = MARGIN + column + lanes[0] + spare, start + rows[0] + 4
        self.view = (x, y, x + self.scale * (right - left), y + self.scale * (top - bottom))
        tags = (0 if brief else len(_numbered(section))) + len(section.dimensions) - len(sides)
        short = max(0.0, (tags / 2 + 2) * SLOT - (self.view[3] - self.view[1] + rows[1]))
        self.height = self.view[3] + rows[1] + 8 + short
        self.width = width

    def at(self, point: Point) -> Point:
        """A point in millimetres, in picture units."""
        left, _, _, top = self.section.box
        return self.view[0] + (point[0] - left) * self.scale, self.view[1] + (top - point[1]) * self.scale

    def parts(self) -> list[str]:
        """The layers: what is seen beyond first, films last."""

        def rank(layer: Layer) -> tuple[bool, bool, bool]:
            return layer.cut, layer.material in LINES, layer.material not in BEHIND

        drawn = []
        window = box(*self.section.box)
        for layer in sorted(self.section.layers, key=rank):
            found = Polygon(layer.outline)
            inside = found if window.covers(found) else found.intersection(window)
            for piece in getattr(inside, "geoms", [inside]):
                if piece.geom_type == "Polygon" and piece.area > 0:
                    points = [self.at(point) for point in list(piece.exterior.coords)[:-1]]
                    drawn.append(shape(points, layer.material, self.view, seen=not layer.cut))
        return drawn

    def water(self) -> str:
        """The way of a drop, dotted, with an arrow."""
        way = [(x - BESIDE, y - BESIDE) for x, y in map(self.at, shown_path(self.section))]
        if len(way) < 2:
            return ""
        (ax, _), (bx, by) = way[-2], way[-1]
        by = min(by, self.view[3] - 4)
        way[-1] = (bx, by - 8)
        arrow = filled([(bx, by), (bx - 4.5, by - 9), (bx + 4.5, by - 9)], RAIN) if abs(bx - ax) < 2 else ""
        return stroke(path(way), colour=RAIN, width=2.8, dashes="0.1 5.2", ends="round") + arrow

    def ruled(self, clashing: set[str]) -> list[Ruled]:
        """Dimension lines."""
        asked = []
        for one in self.section.dimensions:
            if not one.is_straight:
                continue
            words = f"{one.value:,.10g}" + (" !" if one.key in clashing else "")
            asked.append(ToRule((self.at(one.start), self.at(one.end)), words, one.side))
        return rule_lanes(asked, self.view)

    def tags(self, numbered: Sequence[tuple[int, Layer]], ruled: Sequence[Ruled]) -> list[Tag]:
        """Rings and falls."""
        asked: list[tuple[str, bool, Sequence[Point]]] = []
        for one in self.section.dimensions:
            if not one.is_straight:
                (ax, ay), (bx, by) = (one.start, one.end) if not one.way else one.way[-2:]
                spots = [(ax + part * (bx - ax), ay + part * (by - ay)) for part in (0.5, 0.3, 0.7)]
                words = f"{one.value:,.10g} flat" if one.way else f"fall {amount(one)}"
                asked.append((words, False, [self.at(spot) for spot in spots]))
        for number, layer in numbered:
            asked.append((str(number), True, [self.at(point) for point in anchors(layer, self.section.box)]))
        return place_tags(
            asked,
            ruled,
            left=MARGIN,
            right=self.width - MARGIN,
            top=self.view[1],
            bottom=self.height - 6,
        )

    def sides(self) -> str:
        """Outside and inside, written."""
        y = self.view[1] - 8
        ends = self.section.sides
        return text(MARGIN, y, ends[0], size=12, colour=SOFT) + text(
            self.width - MARGIN, y, ends[1], size=12, anchor="end", colour=SOFT
        )


def anchors(layer: Layer, view: tuple[float, float, float, float]) -> list[Point]:
    """Points inside a part where a leader may end."""
    seen = Polygon(layer.outline).intersection(box(*view))
    seen = max(getattr(seen, "geoms", [seen]), key=lambda one: one.area)
    if seen.is_empty:
        return [layer.outline[0]]
    found = [seen.representative_point()]
    ring = seen.buffer(-min(2.0, seen.area / max(seen.length, 1) / 2))
    ring = max(getattr(ring, "geoms", [ring]), key=lambda one: one.area)
    if not ring.is_empty:
        found += [ring.exterior.interpolate(share, normalized=True) for share in (0.1, 0.3, 0.5, 0.7, 0.9)]
    return [(spot.x, spot.y) for spot in found]


def _ruled(one: Ruled) -> str:
    thin = " ".join(path([a, b]) for a, b in strokes_of(one)[1:])
    ticks = " ".join(path([(x - TICK, y + TICK), (x + TICK, y - TICK)]) for x, y in one.ends)
    middle = (one.label[0] + one.label[2]) / 2
    between = one.ends[0][1] == one.ends[1][1] and min(x for x, _ in one.ends) < middle < max(
        x for x, _ in one.ends
    )
    line = path(list(one.ends))
    if between:
        left, right = sorted(x for x, _ in one.ends)
        y = one.ends[0][1]
        line = f"{path([(left, y), (one.label[0], y)])} {path([(one.label[2], y), (right, y)])}"
    return (
        stroke(thin, colour=SOFT, width=0.5)
        + stroke(line, colour=INK, width=0.8)
        + stroke(ticks, width=1.5)
        + text(middle, one.label[3] - 4.5, one.words, size=13, bold=True, anchor="middle")
    )


def _tag(one: Tag) -> str:
    (x0, y0), (x1, y1) = one.leader
    middle, y = (one.box[0] + one.box[2]) / 2, (one.box[1] + one.box[3]) / 2
    leader = (
        stroke(path([(x0, y0), (x1, y1)]), width=0.55)
        + f'<circle cx="{x1:.1f}" cy="{y1:.1f}" r="1.9" fill="{INK}"/>'
    )
    if one.ring:
        leader += f'<circle cx="{middle:.1f}" cy="{y:.1f}" r="{RING:g}" fill="{PAPER}" stroke="{INK}" stroke-width="1.1"/>'
    return leader + text(middle, y + 4.3, one.words, size=12 if one.ring else 13, bold=True, anchor="middle")


def _heading(section: Section, level: str, elevations: Sequence[str], width: int) -> tuple[str, float]:
    room = width - 2 * MARGIN
    y = 22.0
    parts = []
    for line in wrap(section.title, width=room, size=16, bold=True, most_lines=2):
        parts.append(text(MARGIN, y, line, size=16, bold=True))
        y += 19
    said = ". ".join(part for part in (level, f"For: {', '.join(elevations)}" if elevations else "") if part)
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


def _words(
    section: Section, items: Sequence[tuple[str, str]], width: int, start: float, invented: bool
) -> tuple[str, float]:
    """The list under the picture, and the height of the whole."""
    y = start + 14
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
    foot = [*section.notes, *(["Invented demo data."] if invented else []), FOOT]
    for line in wrap(" ".join(foot), width=width - 2 * MARGIN, size=12):
        parts.append(text(MARGIN, y, line, size=12, colour=SOFT))
        y += 16
    return "".join(parts), y + 2


__all__ = ["amount", "anchors", "escaped", "junction_description", "junction_picture"]
