"""The drawing itself of a junction: its millimetres in picture units, parts, water, dimensions and rings in place."""

from collections.abc import Collection, Container, Sequence
from dataclasses import replace
from functools import cached_property
from itertools import pairwise

from shapely import make_valid, union_all
from shapely.geometry import LineString, box
from shapely.geometry.base import BaseGeometry

from exposure.draw.drawing import Box, Point, text
from exposure.draw.junction_breaks import BAND, GAP, KEPT, break_mark, breaks_of, lowered
from exposure.draw.junction_dots import MOST, Dots, spots_within
from exposure.draw.junction_drop import (
    above,
    beside_dark,
    drop_mark,
    drop_way,
    in_the_open,
    past_dark,
    under_parts,
)
from exposure.draw.junction_labels import RING, Asked, Tag, place_tags
from exposure.draw.junction_lanes import SIZE, TICK, Ruled, ToRule, grown, rule_lanes, strokes_of
from exposure.draw.junction_materials import LINES, PLAIN, SMALL, SOLID, STRAIGHT, as_seen, run_of, shape
from exposure.draw.junction_room import NO_ROOM, Piece, Room, room_for
from exposure.draw.junction_sight import FACE_SPOTS, INSIDE, anchors, as_drawn, in_sight, polygons
from exposure.draw.junction_slant import Slants
from exposure.draw.junction_slope import raised_at, slopes_of
from exposure.draw.junction_spread import SEEN, Spread, on_both_arms, scale_for, strips_of, with_corners
from exposure.draw.lettering import text_width
from exposure.draw.palette import SOFT
from exposure.junction.drop import shown_path
from exposure.junction.scene import FILM, Dimension, Layer, Section
from exposure.junction.size_names import size_name

MARGIN = 12.0
LANES = 56.0  # room beside the picture where dimensions stand
COLUMN = 2 * RING + 8
NARROW = 500.0  # units of a picture, below which it needs all its width
EDGE = 3.0  # from the picture's edge to a number
GROWS = 8.0  # by so much room for dimensions grows before a number stands over the way to its line
ABOVE = 17.0  # more room over an outside corner: rings of battens stand there, their leaders from the air
TALLEST = 640.0
SLOT = 2 * RING + 4
OVER = 14.0  # from the line on which the words over a drawing stand to the top of the rings beside them
ROUND = 12.0  # mm of air shown beyond the outermost part
TRAY_PART = 0.35  # of an opening's height, in which its tray lies
TIP = 8.0  # picture units from the end of a screw to a ring
# picture units from the lower edge to the arrow of water: below it a dot in the cavity stands free
ARROW_UP = 16.0
DARK = ("bracket",)  # materials on which dots of water are white
NOWHERE = (0.0, 0.0, 0.0, 0.0)
SLANTING = 24.0  # picture units of a side from which on it counts as a slope
WELL_IN = 4.0  # picture units from the edge of a part to the dot of its leader, where it is wide enough
FEW = 5  # numbered parts of a section in which a leader chooses among more ends
PALE = 0.4  # of the ink, for what does not change


def amount(one: Dimension) -> str:
    """A dimension with its unit.

    Examples
    --------
    >>> amount(Dimension("sill_slope", (0, 0), (100, 6), 6, "fall %")).replace(chr(160), "_")
    '6_%'
    """
    unit = {"fall %": "\u00a0%", "fall °": "°", "flat": "\u00a0mm laid flat"}.get(one.axis, "\u00a0mm")
    return f"{one.value:,.10g}{unit}"


def tag_words(one: Dimension) -> str:
    """What stands beside the drawing for a fall, or for the length of what is bent, laid flat."""
    return f"{size_name(one)} {one.value:,.10g}" if one.way else f"fall {amount(one)}"


def numbered_parts(section: Section) -> list[tuple[int, Layer]]:
    """Parts with a name, each name once, numbered from outside to inside of the order of work."""
    named: dict[str, Layer] = {}
    for layer in section.layers:
        if layer.name and (layer.rows or layer.order) and layer.name not in named:
            named[layer.name] = layer
    asked = sorted(
        named.values(), key=lambda layer: (not layer.rows, layer.order, -max(y for _, y in layer.outline))
    )
    return list(enumerate(asked, 1))


class Canvas:
    """The section's millimetres in picture units."""

    def __init__(
        self,
        section: Section,
        width: int,
        start: float = 0.0,
        *,
        brief: bool = False,
        tallest: float = TALLEST,
        taller: float = 1.0,
    ) -> None:
        tallest *= taller
        self.way = shown_path(section)
        self.box = shown_box(section, self.way)
        left, bottom, right, top = self.box
        sides = [one.side for one in section.dimensions if one.is_straight]
        lanes = [LANES * 0.9 if side in sides else 14.0 for side in ("left", "right")]
        rows = [min(sides.count(side), 4) * 14 + 22 if side in sides else 22.0 for side in ("top", "bottom")]
        if section.turn and max(y for _, y in section.outdoors) > 0:
            rows[0] += ABOVE
        elif "top" in sides:
            rows[0] += 12  # "outside" and "inside" stand over the dimensions
        column = COLUMN * 0.7 if brief and len(sides) == len(section.dimensions) else COLUMN
        if not brief and width < NARROW:
            column = COLUMN * 0.25  # rings stand nearer to their parts
        for place, side in enumerate(("left", "right")):
            said = [
                text_width(tag_words(one), size=SIZE, bold=True) + 10 - column
                for one in section.dimensions
                if not one.is_straight and (one.side == "right") == (side == "right")
            ]
            lanes[place] = max(lanes[place], *said, 0)  # words beside the drawing, not on it
        self.section = section
        self.sides_at = start + 14
        self.breaks = breaks_of(section, self.box, self.way)
        high = top - bottom - sum(one.left_out for one in self.breaks)
        tallest *= high / (high - len(self.breaks) * (GAP + 2 * KEPT))  # a break makes no part smaller
        across, up = strips_of(section.layers, 0, left, right), strips_of(section.layers, 1, bottom, top)
        if section.turn:
            across, up = on_both_arms(across, up, section.turn)
        self.across, self.up = Spread(across), Spread(up)
        slopes = slopes_of(section.layers)
        self.plain: list[Ruled] = []
        self.width = width
        for _ in range(8):  # again where sizes beside one another need more room than one lane
            room = width - 2 * (MARGIN + column) - sum(lanes)
            self.scale = min(scale_for(room, right - left, self.across), scale_for(tallest, high, self.up))
            factor = max(1.0, SEEN / (FILM * self.scale))
            self.across, self.up = replace(self.across, factor=factor), replace(self.up, factor=factor)
            wide, tall = (
                self.scale * (long + (factor - 1) * strips.total)
                for long, strips in ((right - left, self.across), (high, self.up))
            )
            spare = (room - wide) / 2
            x, y = MARGIN + column + lanes[0] + spare, start + rows[0] + 4
            self.view = (x, y, x + wide, y + tall)
            self._raised = raised_at(slopes, self.across.at, self._height)
            self._corner = self.across.at(left), self._height(bottom)  # shown at the lower left of the view
            self.plain = []
            self.plain = self.ruled(())
            labels = [one.label for one in self.plain]
            over = [
                max((EDGE - box[0] for box in labels if box[0] < EDGE), default=0),
                max((box[2] - width + EDGE for box in labels if box[2] > width - EDGE), default=0),
            ]
            if max(over) <= 0:
                break
            lanes = [lane + more + min(more, spare) for lane, more in zip(lanes, over, strict=True)]
        tags = (0 if brief else len(numbered_parts(section))) + len(section.dimensions) - len(sides)
        short = max(0.0, (tags / 2 + 3) * taller * SLOT - (self.view[3] - self.view[1] + rows[1]))
        self.height = self.view[3] + rows[1] + 8 + short

    def at(self, point: Point) -> Point:
        """A point in millimetres, in picture units."""
        left, bottom = self._corner
        return (
            self.view[0] + (self.across.at(point[0]) - left) * self.scale,
            self.view[3] - (self._height(point[1]) + self._raised(point) - bottom) * self.scale,
        )

    def _height(self, y: float) -> float:
        """Height at which ``y`` is shown, plain pieces left out and thin parts thicker. [mm]"""
        return lowered(y, self.breaks) + self.up.at(y) - y

    def _broken(self) -> list[tuple[float, float, float]]:
        """Left, right and height of each break."""
        found = []
        for one in self.breaks:
            middle = (one.low + one.high) / 2
            crossed = [
                [x for x, _ in layer.outline]
                for layer in self.section.layers
                if layer.cut and min(y for _, y in layer.outline) < middle < max(y for _, y in layer.outline)
            ]
            if crossed:
                (left, y), (right, _) = (
                    self.at((pick(pick(xs) for xs in crossed), middle)) for pick in (min, max)
                )
                found.append((max(left, self.view[0]), min(right, self.view[2]), y))
        return found

    def break_lines(self) -> str:
        """Where a piece of height is left out."""
        return "".join(break_mark(*one) for one in self._broken())

    @cached_property
    def pieces(self) -> list[tuple[Layer, list[Point]]]:
        """What of each layer is within the picture, in the order it is drawn."""
        found = []
        window = box(*self.box)
        covered = {one.carrier for one in self.section.layers if one.material in LINES}
        order = as_drawn(self.section)
        for layer, whole in zip(order, polygons([one.outline for one in order]), strict=True):
            inside = whole if window.covers(whole) else whole.intersection(window)
            for piece in getattr(inside, "geoms", [inside]):
                if piece.geom_type == "Polygon" and piece.area > 0:
                    ring = list(piece.exterior.coords)[:-1]
                    if layer.material not in STRAIGHT or layer.key in covered:
                        ring = with_corners(ring, self.across.edges(), self.up.edges())
                    found.append((layer, [self.at(point) for point in ring]))
        return found

    def parts(self, full: Container[str] | None = None, *, before_water: bool = False) -> list[str]:
        """The layers, or those behind which water runs; those not in ``full``, where it is given, pale."""
        drawn = []
        for layer, points in self.pieces:
            if before_water and layer.material != "flange":
                continue
            part = shape(points, layer.material, self.view, seen=not layer.cut) + self._thicker(layer)
            pale = full is not None and layer.key not in full
            drawn.append(f'<g opacity="{PALE}">{part}</g>' if pale else part)
        return drawn

    def _thicker(self, layer: Layer) -> str:
        """The slanting runs of a film or sheet, as thick as those along an axis."""
        window = box(*self.box)
        runs = [LineString(line).intersection(window) for line in self._slants.of(layer)]
        ways = [list(map(self.at, run.coords)) for run in runs if run.length > 0]
        return run_of(ways, layer.material, SEEN) if ways else ""

    @cached_property
    def _slants(self) -> Slants:
        return Slants(self.section.layers, self.scale)

    def water(self) -> str:
        """The way of a drop as far as it is seen, dotted, with an arrow at its end."""
        return drop_mark(
            self._seen_drop,
            self._drop,
            foot=self._foot_of_water,
            solid=self._mass,
            dark=self._dark,
        )

    @cached_property
    def _solid(self) -> list[BaseGeometry]:
        """What is cut, but for films and sheets."""
        return list(
            polygons([ring for layer, ring in self.pieces if layer.cut and layer.material not in LINES])
        )

    @cached_property
    def _mass(self) -> BaseGeometry:
        """The same in one."""
        return union_all(make_valid(self._solid))

    @cached_property
    def _dark(self) -> BaseGeometry:
        """Parts on which a dot of the water's colour is not seen."""
        return union_all(
            make_valid(polygons([ring for layer, ring in self.pieces if layer.material in DARK]))
        )

    @cached_property
    def _drop(self) -> list[Point]:
        """The way of a drop in the picture."""
        way = drop_way(self.section, self.way, self.at, self.view[0])
        return beside_dark(under_parts(way, self._mass), self._dark, self._mass)

    @cached_property
    def _seen_drop(self) -> list[list[Point]]:
        """The same without what would run inside a part, where films drawn thick shut the gap it runs in."""
        return in_the_open(self._drop, self._solid)

    @property
    def _foot_of_water(self) -> float:
        """How far down water is drawn."""
        return past_dark(self._drop, self._dark, self.view[3] - ARROW_UP)

    @cached_property
    def _dots_of_water(self) -> list[list[Point]]:
        """The same as far down as it is drawn."""
        return [above(way, self._foot_of_water) for way in self._seen_drop]

    def ruled(self, clashing: Collection[str]) -> list[Ruled]:
        """Dimension lines; those of rows that clash are marked."""
        lengths = [one for one in self.section.dimensions if one.is_straight]
        if self.plain and not any(one.key in clashing for one in lengths):
            return self.plain
        asked = []
        for one in lengths:
            words = f"{one.value:,.10g}" + (" !" if one.key in clashing else "")
            asked.append(ToRule((self.at(one.start), self.at(one.end)), words, one.side, size_name(one)))
        outlines: list[tuple[Point, Point]] = []
        if any(one.side == "within" for one in lengths):
            for layer in self.section.layers:
                ring = [self.at(point) for point in layer.outline]
                outlines += pairwise([*ring, ring[0]])
        edges = (EDGE - GROWS, self.width - EDGE + GROWS)
        return rule_lanes(asked, self.view, edges, outlines, self._side_words())

    def _side_words(self) -> list[Box]:
        """Where outside and inside are written."""
        first, second = (text_width(words, size=SIZE) for words in self.section.sides)
        top, foot = self.sides_at - SIZE, self.sides_at + 3
        right = self.width - MARGIN
        return [(MARGIN, top, MARGIN + first, foot), (right - second, top, right, foot)]

    def tags(self, numbered: Sequence[tuple[int, Layer]], ruled: Sequence[Ruled]) -> list[Tag]:
        """Rings and falls."""
        asked: list[Asked] = []
        for one in self.section.dimensions:
            if not one.is_straight:
                (ax, ay), (bx, by) = (one.start, one.end) if not one.way else one.way[-2:]
                spots = [(ax + part * (bx - ax), ay + part * (by - ay)) for part in (0.5, 0.3, 0.7)]
                if one.way and one.name:  # at the bend: on a leg it would seem to be that leg's
                    spots = list(one.way[1:-1])
                side = 1 if one.side == "right" else -1
                asked.append(Asked(tag_words(one), False, [self.at(spot) for spot in spots], side))
        narrow = self.width < NARROW  # a wider one has room enough beside it
        top = self.sides_at - OVER if narrow else min(self.view[1], self.sides_at + 5)
        edges = (MARGIN, top, self.width - MARGIN, self.height - 6)
        broken = self._broken()
        room = self._room(numbered, ruled, broken, edges)
        ends = self._spots(numbered, [y for *_, y in broken])
        asked += [
            Asked(str(number), True, ends[layer.key], own=room.own.get(layer.key, ()), key=layer.key)
            for number, layer in numbered
        ]
        return place_tags(
            asked,
            [*ruled, *self._kept_free(), *self._slopes()],
            edges=edges,
            room=room,
        )

    def _spots(
        self, numbered: Sequence[tuple[int, Layer]], breaks: Sequence[float]
    ) -> dict[str, list[Point]]:
        """Where the leader to each part may end, by its key, best first and clear of ``breaks``."""
        spots: dict[str, list[Point]] = {}
        for _, layer in numbered:
            seen = in_sight(layer, self.section) if self.section.view == "face" or not layer.cut else None
            points = [
                self.at(point)
                for point in anchors(
                    layer,
                    self.box,
                    FACE_SPOTS,
                    seen=seen,
                    inside=max(INSIDE, WELL_IN / self.scale),
                )
            ]
            clear = [one for one in points if all(abs(one[1] - y) > 2 * BAND for y in breaks)]
            spots[layer.key] = clear or points
        small = {
            layer.key: as_seen(points, layer.material)
            for layer, points in self.pieces
            if layer.key in spots and layer.material in SMALL
        }
        spots |= {
            key: spots_within(one, [other for other in small.values() if other is not one])
            for key, one in small.items()
        }
        many = self.section.view == "face" or len(numbered) <= FEW
        return Dots(self.pieces, self._dots_of_water).best(spots, len(FACE_SPOTS) if many else MOST)

    def _room(
        self,
        numbered: Sequence[tuple[int, Layer]],
        ruled: Sequence[Ruled],
        broken: Sequence[tuple[float, float, float]],
        edges: Box,
    ) -> Room:
        """Where rings may stand on parts or near them."""
        if not numbered:
            return NO_ROOM
        lines = [line for one in ruled for line in strokes_of(one)] + self._beyond_tips()
        taken = [one.label for one in (*ruled, *self._kept_free())]
        taken += [grown(_box_of(one.ends), TICK + 2) for one in ruled]  # a ring would cover its ticks
        taken += [(left - 6, y - BAND, right + 6, y + BAND) for left, right, y in broken]
        named = {layer.key for _, layer in numbered}
        pieces = [
            Piece(
                layer.key,
                points,
                open=layer.material in PLAIN and layer.key not in named,
                solid=layer.material in SOLID,
                film=layer.material in LINES,
            )
            for layer, points in self.pieces
        ]
        water = [line for way in self._dots_of_water for line in pairwise(way)]
        return room_for(pieces, edges, lines, taken, water)

    def _beyond_tips(self) -> list[tuple[Point, Point]]:
        """What screws and ties seen over what they hold would reach, a little longer: a ring there would seem to hang on one."""
        found = []
        for layer, points in self.pieces:
            if layer.material == "tie":
                left, top, right, foot = _box_of(points)
                middle = (top + foot) / 2
                found.append(((left - TIP, middle), (right + TIP, middle)))
        return found

    def _kept_free(self) -> list[Ruled]:
        """What no ring covers and no leader crosses: the words over the drawing, and the upper part of an opening seen from the front, where it would look like a brace."""
        nowhere = (NOWHERE[:2], NOWHERE[:2])
        free = [Ruled(nowhere, nowhere, words, "") for words in self._side_words()]
        for layer in self.section.layers:
            if layer.material == "opening":
                (left, low), _, (right, high), _ = layer.outline
                (x0, y1), (x1, y0) = (self.at((left, low + TRAY_PART * (high - low))), self.at((right, high)))
                free.append(Ruled(nowhere, nowhere, (x0 + 2, y0 + 2, x1 - 2, y1), ""))
        return free

    def _slopes(self) -> list[Ruled]:
        """Long sides of parts that slant a little, along which no leader runs: it would look like one more sheet or the water's line."""
        found = []
        for layer in self.section.layers if self.section.view == "upright" else ():
            for a, b in zip(layer.outline, (*layer.outline[1:], layer.outline[0]), strict=True):
                if (
                    layer.cut
                    and 0 < abs(b[1] - a[1]) < abs(b[0] - a[0]) / 2
                    and abs(b[0] - a[0]) * self.scale > SLANTING
                ):
                    ends = (self.at(a), self.at(b))
                    found.append(Ruled(ends, ends, NOWHERE, ""))
        return found

    def sides(self) -> str:
        """Outside and inside, written."""
        y = self.sides_at
        ends = self.section.sides
        return text(MARGIN, y, ends[0], size=13, colour=SOFT) + text(
            self.width - MARGIN, y, ends[1], size=13, anchor="end", colour=SOFT
        )


def _box_of(ends: Sequence[Point]) -> Box:
    xs, ys = zip(*ends, strict=True)
    return min(xs), min(ys), max(xs), max(ys)


def shown_box(section: Section, way: Sequence[Point]) -> tuple[float, float, float, float]:
    """What is shown of the section's view: empty air at its left and right is cut off, so that the parts are larger."""
    left, bottom, right, top = section.box
    points = [*(point for layer in section.layers for point in layer.outline), *way]
    points += [end for one in section.dimensions for end in (one.start, one.end)]
    across = [x for x, y in points if bottom - 1 <= y <= top + 1]
    left = max(left, min(across) - ROUND) if section.cut_off is None else section.cut_off
    return left, bottom, min(right, max(across) + ROUND), top
