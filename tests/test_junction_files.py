"""Drawn junctions as files: labels that can be read, CAD dimensions that measure true, names that do no harm."""

import io
import json
import re
import xml.etree.ElementTree as ET
from dataclasses import replace
from functools import cache
from itertools import pairwise, permutations, product
from math import atan, atan2, degrees, dist, hypot, inf, pi
from pathlib import Path
from types import SimpleNamespace

import ezdxf
import numpy as np
import pytest
from shapely import LineString, Polygon, box
from shapely import Point as ShapelyPoint
from test_junction import WALLS, ladder_numbers

from exposure.cli import main
from exposure.draw import junction_near
from exposure.draw.drawing import is_free
from exposure.draw.junction_breaks import breaks_of
from exposure.draw.junction_canvas import Canvas, numbered_parts
from exposure.draw.junction_labels import Asked, place_tags
from exposure.draw.junction_lanes import Ruled, ToRule, crosses, meet, rule_lanes, strokes_of
from exposure.draw.junction_marks import ruled_mark
from exposure.draw.junction_materials import shape
from exposure.draw.junction_room import Piece, Room, room_for
from exposure.draw.junction_spread import SEEN
from exposure.draw.junction_svg import DrawnFor, _tall_enough, junction_layout, junction_picture
from exposure.export.drawing_files import write_drawings
from exposure.export.junction_dxf import MARK, Sheet, cad_layer, junction_dxf
from exposure.junction.catalogue import JUNCTIONS, drawings_of, section_of
from exposure.junction.corners import outside_corner
from exposure.junction.numbers import NumberMissingError
from exposure.junction.scene import Conflict, Layer, Section, moved, rectangle
from exposure.junction.window import NotDrawnError
from exposure.paper.sheet_columns import DRAWN_TALL, DRAWN_WIDE, SHARED_TALL
from exposure.paper.sheet_orders import drawn, own_sizes
from exposure.paper.sheet_plan import (
    Cell,
    ElevationSheet,
    SheetPlan,
    _only_in,
    _told_in_front,
    shared_drawings,
)

ROOT = Path(__file__).parents[1]
SNOW = {"gnd": 800, "paved": 800, "snow_open": 800, "snow_roof": 800}
HOSTILE = '<script>alert(1)</script>&"\u202e'


def section_rings(section):
    return {layer.name for layer in section.layers if layer.name and (layer.rows or layer.order)}


@cache
def sections(levels=(1, 2, 3, 4)):
    """Every junction at every level, and the windows with a box frame besides; those that look the same once."""
    seen, found = set(), []
    for section, numbers in every_section(levels):
        look = (
            section.key,
            section.box,
            section.dimensions,
            tuple((one.key, one.name) for one in section.layers),
        )
        if look not in seen:
            seen.add(look)
            found.append((section, numbers))
    return found


@cache
def printed(section):
    """Canvas, sizes and tags as a sheet of its own prints them, laid once for all that is asked of them."""
    return _tall_enough(section, DRAWN_WIDE, DRAWN_TALL, rings=True)


@cache
def sizes_at(section, width, tall):
    """Sizes of a drawing with where their lines and numbers stand."""
    return Canvas(section, width, tallest=tall).ruled(())


EVERY_SIXTH, THE_OTHERS = (0,), (1, 2, 3, 4, 5)  # of the sections: all take longer than a quick run may
OF_SIX = pytest.mark.parametrize(
    "share",
    [EVERY_SIXTH, pytest.param(THE_OTHERS, marks=pytest.mark.slow)],
    ids=["every sixth", "the others"],
)


def of_six(share, levels=(1, 2, 3, 4)):
    """A share of the sections."""
    return [one for place, one in enumerate(sections(levels)) if place % 6 in share]


def every_section(levels):
    """Every junction at every level."""
    whole = [(junction, "not said") for junction in JUNCTIONS]
    for junction, frame in [*whole, *((one, "box frame with straps") for one in JUNCTIONS[:4])]:
        for wall in WALLS:
            for level in levels:
                try:
                    numbers = ladder_numbers(level, wall, frame=frame)
                    yield section_of(junction, numbers), numbers
                except (NotDrawnError, NumberMissingError):
                    continue
    for junction in JUNCTIONS:
        for wall in WALLS:
            try:
                numbers = ladder_numbers(levels[-1], wall, **SNOW)
                yield section_of(junction, numbers), numbers
            except (NotDrawnError, NumberMissingError):
                continue


def lies_along(leader, line):
    """A leader within 4 units of a size's line for 14 or more, and nearly as it runs, looks like a plate along it."""
    (ax, ay), (bx, by), (cx, cy), (dx, dy) = *leader, *line
    if (cx, cy) == (dx, dy):
        return False
    if min(ax, bx) > max(cx, dx) + 4 or max(ax, bx) < min(cx, dx) - 4:
        return False
    if min(ay, by) > max(cy, dy) + 4 or max(ay, by) < min(cy, dy) - 4:
        return False
    turn = (atan2(by - ay, bx - ax) - atan2(dy - cy, dx - cx)) % pi
    if min(turn, pi - turn) >= 0.09:
        return False
    beside = LineString(line).buffer(3.9, cap_style="flat")
    return beside.intersection(LineString(leader)).length > 15


def check_labels(section, laid, *, width, brief=False, bare=0):
    """No label covers another or a line of a size; gives of each leader whether it lies level."""
    level: list[bool] = []
    ruled, tags = laid
    lengths = [one for one in section.dimensions if one.is_straight]
    assert len(ruled) == len(lengths), (section.key, "a dimension found no room")
    rings = [] if brief else section_rings(section)
    assert len(tags) == len(section.dimensions) - len(lengths) + len(rings), section.key
    boxes = [one.label for one in ruled] + [one.box for one in tags]
    for place, one in enumerate(boxes):
        assert is_free(one, boxes[place + 1 :]), (section.key, width, one)
        assert one[0] >= 0
        assert one[2] <= width, (section.key, width, one)
    beside = not bare and not all(tag.ring for tag in tags)
    view = Canvas(section, width, brief=brief, tallest=1.15 * width).view if beside else None
    lines = [line for one in ruled for line in strokes_of(one)]
    ticks = [(x - 4, y - 4, x + 4, y + 4) for one in ruled for x, y in one.ends]
    for tag in tags:
        assert not tag.ring or is_free(tag.box, ticks), (section.key, width, tag.words)
        others = [one.label for one in ruled] + [other.box for other in tags if other is not tag]
        assert not any(crosses(*tag.leader, box) for box in others), (section.key, width, tag)
        assert not any(crosses(*line, tag.box) for line in lines), (section.key, width, tag)
        for line in lines:
            assert not lies_along(tag.leader, line), (section.key, width, tag)
        met = [one.words for one in tags if meet(*one.leader, *tag.leader)]
        assert not met, (section.key, width, tag.words, met)
        (ax, ay), (bx, by) = tag.leader
        level.append(abs(by - ay) < 0.09 * abs(bx - ax))
        if tag.ring or bare:
            continue
        assert not view[0] < tag.box[2] - 1 < view[2] + tag.box[2] - tag.box[0] - 2, (section.key, width, tag)
    return level


def check_leaders(level):
    """A level leader looks like a sheet or a ledge."""
    assert sum(level) < 0.1 * len(level) or not level


@pytest.mark.parametrize(
    ("width", "brief", "bare"),
    [
        (360, False, 0),
        (340, True, 0),
        pytest.param(DRAWN_WIDE, False, DRAWN_TALL, marks=pytest.mark.slow),
        pytest.param(DRAWN_WIDE, False, SHARED_TALL, marks=pytest.mark.slow),
    ],
)
@OF_SIX
def test_no_label_covers_another_or_a_line_of_a_dimension(width, brief, bare, share):
    level: list[bool] = []
    for section, _ in of_six(share):
        as_printed = (width, brief, bare) == (DRAWN_WIDE, False, DRAWN_TALL)
        laid = (
            printed(section)[1:]
            if as_printed
            else junction_layout(section, width=width, brief=brief, bare=bare)
        )
        level += check_labels(section, laid, width=width, brief=brief, bare=bare)
    check_leaders(level)


@pytest.mark.parametrize("level", [2, 4])
@pytest.mark.parametrize("wall", [WALLS[0], WALLS[3]])
def test_in_an_opening_the_ring_of_the_membrane_stands_clear_of_what_is_to_come(wall, level):
    """By eye: a ring ends on what no outline crosses, and that of the jamb tape not near the tape's ends."""
    section = section_of(next(one for one in JUNCTIONS if one.key == "opening"), ladder_numbers(level, wall))
    for width, tall in ((DRAWN_WIDE, DRAWN_TALL), (DRAWN_WIDE, SHARED_TALL), (360, 400)):
        canvas = Canvas(section, width, tallest=tall)
        parts = numbered_parts(section)
        ends = {tag.words: tag.leader for tag in canvas.tags(parts, canvas.ruled(())) if tag.ring}
        found = {layer.key: ends[str(number)] for number, layer in parts if str(number) in ends}
        boxes = {
            one.key: [canvas.at(point) for point in one.outline]
            for one in section.layers
            if one.material == "outlined"
        }
        assert {"jamb tape", "other jamb tape"} <= set(boxes)
        on_wall = [
            key
            for key, (low, _, high, _) in boxes.items()
            for x, y in found["field"]
            if low[0] <= x <= high[0] and high[1] <= y <= low[1]
        ]
        assert not on_wall
        (_, low), _, (_, high), _ = boxes["jamb tape"]
        away = [min(abs(y - low), abs(y - high)) / (low - high) for _, y in found["jamb tape"]]
        assert max(away) > 0.2


@pytest.mark.parametrize("key", ["sill", "threshold", "parapet-cap"])
def test_no_leader_lies_along_a_sill_or_cap(key):
    """One that does looks like a sheet on it, or like the water's line."""
    junction = next(one for one in JUNCTIONS if one.key == key)
    seen = 0
    for wall, level in product(WALLS, (1, 3)):
        section = section_of(junction, ladder_numbers(level, wall))
        canvas, _, tags = printed(section)
        slants = [
            (canvas.at(a), canvas.at(b))
            for layer in section.layers
            if layer.key in ("outer sill", "cap")
            for a, b in pairwise(layer.outline)
            if abs(a[0] - b[0]) > 60 and a[1] != b[1]
        ]
        assert tags
        assert not any(lies_along(tag.leader, slant) for tag in tags for slant in slants)
        seen += len(slants)
    assert seen > 3


def test_a_threshold_of_another_form_is_drawn_besides_on_the_shared_sheet():
    """South's doors are level, with channel and grating; north's and west's have a step and differ in a size alone."""
    threshold = [one for one in JUNCTIONS if one.key == "threshold"]
    numbers = []
    for name, level, tray in (("south", 4, 100), ("north", 3, 100), ("west", 2, 50)):
        mine = ladder_numbers(level, WALLS[0], tray_down=tray)
        left = {key: value for key, value in mine.values.items() if key != "door_level" or name == "south"}
        numbers.append((name, replace(mine, values=left)))
    drawings = drawings_of(numbers, threshold)[0]
    south, north, west = drawings
    cells = {"threshold": {name: Cell("", 4, 6) for name, _ in numbers}}
    common = shared_drawings(drawings, cells, 6)
    assert common == (south, north)
    plan = SheetPlan(None, {}, (), common, (), cells, {}, drawings)
    assert [plan.shared_for("threshold", name) for name in ("south", "north", "west")] == [
        south,
        north,
        north,
    ]
    assert shared_drawings((north, west), cells, 6) == (north,)  # words tell a size apart


@pytest.mark.parametrize(("key", "many"), [("pipe", 2), ("corner-outside", 1)])
def test_a_junction_of_other_parts_is_drawn_besides_unless_a_sheet_draws_it_or_corners_tell_it(key, many):
    """At level 1 a pipe has tape alone, no sleeve, flange or hood; a corner is built by its harder wall."""
    junction = [one for one in JUNCTIONS if one.key == key]
    numbers = [("south", ladder_numbers(4, WALLS[0])), ("north", ladder_numbers(1, WALLS[0]))]
    drawings = drawings_of(numbers, junction)[0]
    cells = {key: {name: Cell("", 4, 6) for name, _ in numbers}}
    assert shared_drawings(drawings, cells, 6) == tuple(drawings[:many])
    own = ElevationSheet(3, (), (drawings[1],))
    assert shared_drawings(drawings, cells, 6, (own,)) == (drawings[0],)


def test_a_wall_whose_outside_corners_have_all_a_drawing_of_another_kind_gives_none_to_the_others():
    """West has the deepest cavity, at both its corners alone; south and east meet at one without, which is then drawn by their orders."""
    corner = [one for one in JUNCTIONS if one.key == "corner-outside"]
    numbers = [
        (name, ladder_numbers(4 if cavity else 1, WALLS[0], cav_depth=cavity))
        for name, cavity in (("west", 50.0), ("south", 0.0), ("east", 0.0))
    ]
    drawings = drawings_of(numbers, corner)[0]
    cells = {"corner-outside": {name: Cell("", 4, 6) for name, _ in numbers}}
    [drawn] = shared_drawings(drawings, cells, 6, apart={"west"})
    assert drawn.elevations == ("south", "east")
    assert "batten" not in {layer.key for layer in drawn.section.layers}
    assert shared_drawings(drawings, cells, 6) == shared_drawings(
        drawings, cells, 6, apart={"west", "south", "east"}
    )
    pair = ("west", "south")
    assert _only_in([pair], (pair, ("south", "east"))) == {"west"}


@pytest.mark.usefixtures("quick_rings")
def test_words_under_a_drawing_are_never_cut():
    """A part's name of two lines, a warning and a clash of twenty."""
    long = "Cladding, its lower edge held clear of the ground by packers that stand apart and let water pass between them. "
    (sill,), _ = drawings_of([("south", ladder_numbers(4, WALLS[0]))], JUNCTIONS[:1])
    layers = tuple(replace(one, name=f"{long}{one.name}") if one.name else one for one in sill.section.layers)
    clash = Conflict(("sill_slope",), long * 20)
    section = replace(sill.section, layers=layers, warnings=(long * 20,), conflicts=(clash,))
    sill = replace(sill, section=section)
    plan = SheetPlan(
        None, {"south": "S"}, (), (sill,), (), {"sill": {"south": Cell("", 4, 6)}}, {"junctions": 6}, (sill,)
    )
    under = drawn(sill, plan, prefix="j")
    assert under["warnings"] == under["clashes"] == [(long * 20).strip()]
    assert any(len(part) > 110 for part in under["parts"])
    assert "…" not in "".join(under["parts"])


@pytest.mark.usefixtures("quick_rings")
def test_a_warning_under_a_shared_drawing_names_the_walls_it_is_of():
    """Of two walls south alone is built as drawn: its letter stands before the words; built by both, or on its own sheet, none."""
    (sill,), _ = drawings_of([("south", ladder_numbers(4, WALLS[0]))], JUNCTIONS[:1])
    clash = Conflict(("sill_slope",), "Too steep.")
    sill = replace(sill, section=replace(sill.section, warnings=("Keep it dry.",), conflicts=(clash,)))
    cells = {"sill": {"south": Cell("", 4, 6)}}

    def told(codes, of=()):
        under = drawn(
            sill, SheetPlan(None, codes, (), (sill,), (), cells, {"junctions": 6}, (sill,)), prefix="j", of=of
        )
        return [*under["warnings"], *under["clashes"]]

    assert told({"south": "S", "north": "N"}) == ["S: Keep it dry.", "S: Too steep."]
    assert (
        told({"south": "S"})
        == told({"south": "S", "north": "N"}, ["south"])
        == ["Keep it dry.", "Too steep."]
    )


@pytest.mark.usefixtures("quick_rings")
def test_a_warning_beside_a_shared_drawing_is_of_every_elevation_whose_own_drawing_has_it():
    """By hand: three walls, south drawn; the frame stands back at two of them, or at all, and dry is told of south alone."""
    one = [junction for junction in JUNCTIONS if junction.key == "sill"]
    (sill,), _ = drawings_of([("south", ladder_numbers(3, WALLS[0]))], one)

    def own(name, *warnings):
        return replace(sill, elevations=(name,), section=replace(sill.section, warnings=warnings))

    codes = {"south": "S", "north": "N", "west": "W"}
    cells = {"sill": {name: Cell("", 3, 6) for name in codes}}
    south, north = own("south", "It stands back.", "Keep it dry."), own("north", "It stands back.")
    for west, said in (
        (own("west"), ["S, N: It stands back.", "S: Keep it dry."]),
        (own("west", "It stands back."), ["It stands back.", "S: Keep it dry."]),
    ):
        plan = SheetPlan(None, codes, (), (south,), (), cells, {"junctions": 6}, (south, north, west))
        assert drawn(south, plan, prefix="j")["warnings"] == said


def test_what_a_walls_own_base_says_is_told_where_the_drawing_of_another_stands_for_it():
    """By hand: north's base at soil begins 175 mm up, south's in snow 500; a door asks the floor 400 mm up, which lifts north's alone."""
    base = [one for one in JUNCTIONS if one.key == "base-soil"]
    numbers = [
        (name, replace(ladder_numbers(3, WALLS[0], gnd=clear), door_floor=400))
        for name, clear in (("south", 500), ("north", 175))
    ]
    south, north = drawings_of(numbers, base)[0]
    fronts = [SimpleNamespace(number=2, drawings=(south,))]
    codes = {"south": "S", "north": "N"}
    plan = SimpleNamespace(drawings=(south, north), fronts=fronts, codes=codes)
    lifted = "asks the floor of this house 400 mm above ground or paving, all of this base goes up with it"
    assert not any(lifted in one for one in south.section.notes)
    (told,) = own_sizes(south, plan, ["north"])
    assert told.startswith("N: ")
    assert lifted in told
    cells = {"base-soil": {name: Cell("", 3, 6) for name in codes}}
    alike = replace(south, section=replace(south.section, notes=north.section.notes))
    for drawing, sheet in ((south, 6), (alike, 2)):
        front = ElevationSheet(2, (), (replace(drawing, elevations=("west",)),))
        row = {name: dict(cells[name]) for name in cells}
        _told_in_front([front], row, 6, [replace(south, section=alike.section, elevations=tuple(codes))])
        assert {cell.sheet for cell in row["base-soil"].values()} == {sheet}


@pytest.mark.usefixtures("quick_rings")
def test_a_sheet_prints_what_its_drawings_say_below_them():
    """An engineer sizes the ledger of a slatted deck; in snow a piece of its wall is left out. Of corners other words tell."""
    slats, corner = (
        next(one for one in JUNCTIONS if one.key == key) for key in ("deck-slats", "corner-outside")
    )
    roof = next(one for one in JUNCTIONS if one.key == "roof-at-wall")
    said = {}
    for junction in (slats, corner, roof):
        (one,), _ = drawings_of([("south", ladder_numbers(3, WALLS[0], **SNOW))], [junction])
        cells = {junction.key: {"south": Cell("", 3, 6)}}
        plan = SheetPlan(None, {"south": "S"}, (), (one,), (), cells, {"junctions": 6}, (one,))
        said[junction.key] = " ".join(drawn(one, plan, prefix="j")["notes"])
    assert "engineer" in said["deck-slats"]
    assert "left out" in said["roof-at-wall"]
    assert not said["corner-outside"]


def test_a_wall_built_as_another_sheet_draws_it_is_sent_to_that_sheet():
    """West is drawn without snow; north has snow as south has, whose own sheet is the third, and another gap."""
    saddle = [one for one in JUNCTIONS if one.key == "saddle"]
    walls = {"west": (4, 0), "south": (4, 200), "north": (3, 200)}
    numbers = [
        (name, ladder_numbers(level, WALLS[0], snow_roof=snow)) for name, (level, snow) in walls.items()
    ]
    west, south, north = drawings_of(numbers, saddle)[0]
    fronts = [SimpleNamespace(number=2, drawings=(west,)), SimpleNamespace(number=3, drawings=(south,))]
    plan = SimpleNamespace(
        drawings=(west, south, north), fronts=fronts, codes={"west": "W", "south": "S", "north": "N"}
    )
    assert own_sizes(west, plan, ["north"]) == [
        "N: as drawn on sheet 3 for S, but gap 50\u00a0mm"
    ]  # 75 at level 4
    assert own_sizes(south, plan, ["north"]) == ["N: gap 50\u00a0mm"]


def test_a_number_on_the_drawing_stands_in_one_line_at_any_height():
    """Its word before it; at 23.7 and 25.2 the room for it, 17 high, comes out a little higher by rounding."""
    for y in (23.7, 25.2, 150.0):
        box = (40.0, y - 8.5, 90.0, y + 8.5)
        marked = ruled_mark(Ruled(((10, y), (30, y)), ((10, y), (30, y)), box, "15", "drip", within=True))
        assert "dy=" not in marked


@pytest.mark.parametrize(("ends", "axis"), [(((50, 90), (52, 90)), 0), (((50, 92), (50, 90)), 1)])
def test_a_size_too_small_for_two_ticks_shows_both_its_ends(ends, axis):
    """By hand: two arrows 5.5 long from outside, their points at 50 and 52, or 90 and 92, with free air between them."""
    marked = ruled_mark(Ruled(ends, ends, (60, 80, 90, 97), "5", "drip"))
    arrows = [
        [float(number) for number in re.findall(r"[\d.]+", data)][axis::2]
        for data in re.findall(r'd="(M[^"]*)Z" fill', marked)
    ]
    low = min(ends)[axis] if axis == 0 else 90
    assert sorted((min(one), max(one)) for one in arrows) == [(low - 5.5, low), (low + 2, low + 7.5)]


@pytest.mark.parametrize(("width", "tall"), [(310, 356.5), (DRAWN_WIDE, DRAWN_TALL)])
def test_no_number_stands_on_the_arrows_of_a_small_size(width, tall):
    """Its letters stand 4.5 units above the foot of what is kept free for it, at its sides 2."""
    small = 0
    for section, _ in sections():
        ruled = sizes_at(section, width, tall)
        labels = [one.label for one in ruled]
        letters = [(left + 2, top + 4.5, right - 2, foot - 4.5) for left, top, right, foot in labels]
        for one in ruled:
            (ax, ay), (bx, by) = sorted(one.ends)
            if dist(*one.ends) < 7:
                small += 1
                aside, along = (5.5, 2.2) if ay == by else (2.2, 5.5)
                (low, high) = sorted((ay, by))
                around = (ax - aside, low - along, bx + aside, high + along)
                assert is_free(around, letters), (section.key, one.name, one.words)
    assert small > 100


@pytest.mark.parametrize("level", [1, 2, 3])
def test_a_crowded_head_keeps_its_flashing_size(level):
    """As the sheet draws it, a size without room is left out: never the leg of the flashing, 50, 50 and 75 mm in the table."""
    numbers = ladder_numbers(
        level, "timber frame with cladding", position="over the cavity", frame="box frame with straps"
    )
    head = section_of(next(one for one in JUNCTIONS if one.key == "head"), numbers)
    words = [one.words for one in Canvas(head, DRAWN_WIDE, tallest=DRAWN_TALL).ruled(())]
    assert {1: "50", 2: "50", 3: "75"}[level] in words


@pytest.mark.parametrize("key", ["roof-at-wall", "kick-out", "deck", "base-soil"])
@pytest.mark.parametrize(("width", "tallest"), [(DRAWN_WIDE, DRAWN_TALL), (360, 414), (720, 640)])
def test_parts_above_snow_are_drawn_nearly_as_large_as_without_it(key, width, tallest):
    """Ours: three quarters on a printed sheet, a phone and a desk; smaller, and what laps what cannot be read."""
    junction = next(one for one in JUNCTIONS if one.key == key)
    plain, deep = (
        Canvas(section_of(junction, ladder_numbers(3, WALLS[0], **own)), width, tallest=tallest)
        for own in ({}, SNOW)
    )
    assert len(deep.breaks) == 1
    assert deep.scale > 0.75 * plain.scale


def test_a_number_without_room_beside_its_line_stands_over_the_way_to_it():
    """By hand: a picture ends at 100, the paper at 185; "membrane" is wider than what is left beyond the line."""
    leg = ToRule(((100, 60), (100, 110)), "50", "right", "leg")
    high = ToRule(((100, 50), (100, 150)), "700", "right", "membrane")
    wide = rule_lanes([leg, high], (0, 0, 100, 200))[1]
    assert wide.label[2] > 220
    narrow = rule_lanes([leg, high], (0, 0, 100, 200), (0, 185))[1]
    assert 97 < narrow.label[0] < narrow.label[2] <= 185
    assert narrow.label[3] < 50 or narrow.label[1] > 150


@pytest.mark.parametrize("key", ["base-soil", "base-paving", "head"])
@pytest.mark.parametrize("level", [1, 2, 3, 4])
def test_no_number_stands_at_another_line_of_a_size(key, level):
    """Ours: a number is 5 units from its own line; within 8 of another, or over its end, it could be that one's."""
    junction = next(one for one in JUNCTIONS if one.key == key)
    section = section_of(junction, ladder_numbers(level, WALLS[0], **SNOW))
    for width, tall in ((DRAWN_WIDE, DRAWN_TALL), (360, 414)):
        ruled = Canvas(section, width, tallest=tall).ruled(())
        for one, other in permutations(ruled, 2):
            (x, y0), (x1, y1) = other.ends
            if x == x1 and not one.within:
                gap = max(one.label[0] - x, x - one.label[2])
                apart = max(one.label[1] - max(y0, y1), min(y0, y1) - one.label[3])
                assert gap >= 8 or apart >= 8 or lies_within(one), (width, one.name, other.name)


@pytest.mark.parametrize("tall", [DRAWN_TALL, SHARED_TALL])
@pytest.mark.parametrize("key", ["base-soil", "base-paving"])
@pytest.mark.parametrize("wall", [one for one in WALLS if "masonry" not in one])
def test_a_number_on_the_drawing_is_clear_of_the_ticks_of_another_size(key, wall, tall):
    """A tick reaches 4 units from its end, and 2 more are kept free; the drip of 15 is the one at level 4."""
    junction = next(one for one in JUNCTIONS if one.key == key)
    seen = 0
    for level in (1, 2, 3, 4):
        section = section_of(junction, ladder_numbers(level, wall))
        ruled = Canvas(section, DRAWN_WIDE, tallest=tall).ruled(())
        for one, other in permutations(ruled, 2):
            if one.within and other.ends[0][0] == other.ends[1][0]:
                seen += 1
                ticks = [(x - 6, y - 6, x + 6, y + 6) for x, y in other.ends]
                assert is_free(one.label, ticks), (level, one.name, other.name)
    assert seen > 5


def lies_within(one):
    """Whether a number stands beside its own upright line and past neither end of it."""
    (x, a), (own, b) = one.ends
    return x == own and min(a, b) <= one.label[1] and one.label[3] <= max(a, b)


def test_lengths_in_a_row_stand_on_one_line_each_number_beside_its_own():
    """By hand: 33, 18 and 62 units one above another; a second line would be at 72, its number from 54, and the paper begins at 55.

    Name over number is 29 high, too high between two others, in one line 17.
    """
    ways = {"a": (20, 53), "b": (53, 71), "c": (71, 133)}
    asked = [ToRule(((100, low), (100, high)), "5", "left", name) for name, (low, high) in ways.items()]
    ruled = rule_lanes(asked, (100, 0, 200, 200), (55, 220))
    assert {one.name: (one.ends[0][0], round(one.label[3] - one.label[1])) for one in ruled} == {
        "a": (88, 29),
        "b": (88, 17),
        "c": (88, 29),
    }
    assert all(lies_within(one) for one in ruled)


def taken_for(one, other):
    """Whether a number beside the drawing is read as that of another upright line: level with that, and not clearly nearer to its own."""
    (x, y0), (x1, y1) = other.ends
    if x != x1 or one.ends[0][0] != one.ends[1][0]:
        return False
    left, top, right, bottom = one.label
    shared = min(bottom, max(y0, y1)) - max(top, min(y0, y1))
    low, high = sorted(y for _, y in one.ends)
    level = low - 1 <= (top + bottom) / 2 <= high + 1
    return shared > 4 and max(left - x, x - right) < (12 if level else 40)


@pytest.mark.parametrize(
    ("width", "tall"),
    [
        (DRAWN_WIDE, DRAWN_TALL),
        *(
            pytest.param(*size, marks=pytest.mark.slow)
            for size in ((DRAWN_WIDE, SHARED_TALL), (310, 356.5), (720, 640))
        ),
    ],
)
def test_each_number_is_nearest_its_own_line_on_no_way_to_another_and_inside_its_picture(width, tall):
    """Ours: 5 units from its own line; 12 from one beside it, and beyond the ends of its own 40, about its own width."""
    seen = 0
    for section, _ in sections():
        ruled = sizes_at(section, width, tall)
        sides = [(12, 1, 62, 17), (width - 50, 1, width - 12, 17)]  # outside and inside, written at both ends
        for one in ruled:
            assert is_free(one.label, sides[:1] if section.sides[1] == "" else sides), (section.key, one.name)
        for one, other in permutations(ruled, 2):
            assert not taken_for(one, other), (section.key, one.name, one.words, other.name)
            on = [line for line in strokes_of(other) if crosses(*line, one.label)]
            assert not on, (section.key, one.name, one.words, other.name)
        assert all(one.label[0] >= 0 and one.label[2] <= width for one in ruled), section.key
        seen += len(ruled)
    assert seen > 500


@pytest.mark.parametrize(("width", "tall"), [(310, 356.5), (DRAWN_WIDE, DRAWN_TALL)])
def test_no_number_is_cut_off_at_the_edge_of_a_picture(width, tall):
    """The base in snow has four sizes at its left; here one of them has a longer word than any."""
    crowded = []
    for key, level, wall in product(("base-soil", "base-paving"), (1, 2, 3, 4), (WALLS[0], WALLS[3])):
        junction = next(one for one in JUNCTIONS if one.key == key)
        section = section_of(junction, ladder_numbers(level, wall, snow_open=500, gnd=500, paved=500))
        named = [
            replace(one, name="over upstand") if one.key == "lap_h" else one for one in section.dimensions
        ]
        crowded.append(replace(section, dimensions=tuple(named)))
    for section in crowded:
        for one in Canvas(section, width, tallest=tall).ruled(()):
            assert one.label[0] >= 0, (section.key, one.name)
            assert one.label[2] <= width, (section.key, one.name)


@pytest.mark.parametrize("tall", [DRAWN_TALL, SHARED_TALL])
@pytest.mark.parametrize("key", ["base-soil", "base-paving"])
def test_the_number_of_a_drip_covers_no_plate_or_damp_proof_course(key, tall):
    """Its white ground would wipe out what it measures against; the foundation has room below them."""
    junction = next(one for one in JUNCTIONS if one.key == key)
    boards = [wall for wall in WALLS if "masonry" not in wall]
    for wall, level, snow in product(boards, (1, 2, 3, 4), ({}, SNOW)):
        section = section_of(junction, ladder_numbers(level, wall, **snow))
        canvas = Canvas(section, DRAWN_WIDE, tallest=tall)
        parts = [Polygon(points) for layer, points in canvas.pieces if layer.key in ("plate", "plate dpc")]
        for one in canvas.ruled(()):
            ground = box(*one.label)
            assert not one.within or not any(part.intersects(ground) for part in parts), (wall, level)


@pytest.mark.parametrize("tall", [DRAWN_TALL, SHARED_TALL])
@pytest.mark.parametrize("level", [1, 3, 4])
def test_a_tray_at_the_base_falls_evenly_and_is_told_from_course_and_snow_line(level, tall):
    """By eye: the tray bends under the edge of the course, each line ends clear of the other, and no picture kinks its slope."""
    base = next(one for one in JUNCTIONS if one.key == "base-soil")
    section = section_of(base, ladder_numbers(level, "masonry veneer", base_tray=150, **SNOW))
    canvas = Canvas(section, DRAWN_WIDE, tallest=tall)
    tray, course, snow = (
        next(Polygon(points) for layer, points in canvas.pieces if layer.key == key)
        for key in ("tray", "plate dpc", "snow level")
    )
    assert tray.bounds[0] - snow.bounds[2] > SEEN
    places = np.linspace(tray.bounds[0] + 1, course.bounds[0] - 2 * SEEN, 12)
    under = [tray.intersection(LineString([(x, 0), (x, 1e4)])).bounds[3] for x in places]  # y runs down
    steps = [before - after for before, after in pairwise(under)]
    assert min(steps) > 0
    assert max(steps) - min(steps) < 0.02 * max(steps)
    assert tray.bounds[3] - course.bounds[3] > SEEN


@pytest.mark.parametrize("wall", WALLS)
def test_a_long_clear_base_is_broken_and_keeps_its_true_size(wall):
    """Under snow of 800 mm the parts stay large enough beside those without; the number, and the line in CAD, are the true ones."""
    base = next(one for one in JUNCTIONS if one.key == "base-soil")
    plain, deep = (section_of(base, ladder_numbers(3, wall, **own)) for own in ({}, SNOW))
    scales = [Canvas(one, 360, tallest=400) for one in (plain, deep)]
    assert not scales[0].breaks
    assert len(scales[1].breaks) == 1
    assert scales[1].scale > 0.7 * scales[0].scale
    whole = (deep.box[3] - deep.box[1]) * scales[1].scale
    assert scales[1].view[3] - scales[1].view[1] < 0.8 * whole  # films are drawn thicker, which takes room
    ruled, _ = junction_layout(deep, width=360)
    assert "800" in [one.words for one in ruled]
    doc = ezdxf.read(io.StringIO(junction_dxf(deep)))
    assert 800 in [round(one.get_measurement(), 6) for one in doc.modelspace().query("DIMENSION")]
    svg = junction_picture(deep, lines={}, width=360)
    assert "a plain piece is left out" in " ".join(ET.fromstring(svg).itertext()).replace("\n", " ")
    assert "left out" not in junction_picture(plain, lines={}, width=360)


def test_a_strip_in_a_gap_of_some_millimetres_is_outlined_thinly():
    """It would print as a black bridge: two thick edges are as wide as such a gap is on a printed sheet."""
    numbers = ladder_numbers(4, "masonry veneer", position="over the cavity", frame="box frame with straps")
    section = section_of(next(one for one in JUNCTIONS if one.key == "threshold"), numbers)
    strip = section.layer("sill mesh")
    drawn = shape(strip.outline, strip.material, section.box, seen=not strip.cut)
    assert strip.cut
    assert max(map(float, re.findall(r'stroke-width="([\d.]+)"', drawn))) < 1


def test_a_break_lies_where_nothing_begins_or_ends():
    """By hand: parts from 0 to 100 and from 700 to 800; between 140 and 660 a break takes 36 mm of picture."""
    parts = tuple(Layer(f"{y}", "timber", rectangle(0, y, 50, y + 100), "") for y in (0, 700))
    section = Section("b", "B", "upright", (0, 0, 50, 800), parts)
    (found,) = breaks_of(section, section.box, ())
    assert (found.low, found.high, found.left_out) == (140, 660, 484)
    nearer = replace(section, layers=(parts[0], moved(parts[1], up=-301)))
    assert not breaks_of(nearer, (0, 0, 50, 499), ())
    assert not breaks_of(replace(section, view="plan"), section.box, ())
    canvas = Canvas(section, 360)
    above, below = canvas.at((0, 700))[1], canvas.at((0, 100))[1]
    assert below - above == pytest.approx((800 - 100 - 100 - 484) * canvas.scale)


@OF_SIX
def test_a_ring_stands_on_its_part_or_in_air_and_touches_no_outline(share):
    """A ring of 10 units on a line of the drawing hides it; on another part it names the wrong one, but for plain insulation that has no number."""
    on_parts = 0
    for section, _ in of_six(share, (1, 3)):
        canvas, _, tags = printed(section)
        numbered = numbered_parts(section)
        keys = {str(number): layer.key for number, layer in numbered}
        shapes = [(layer.key, Polygon(points)) for layer, points in canvas.pieces]
        for tag in tags:
            if not tag.ring:
                continue
            middle = ShapelyPoint((tag.box[0] + tag.box[2]) / 2, (tag.box[1] + tag.box[3]) / 2)
            assert min(one.exterior.distance(middle) for _, one in shapes) > 10.5, (section.key, tag.words)
            plain = {one.key for one in section.layers if one.material == "insulation"} - {*keys.values()}
            under = [key for key, one in shapes if one.contains(middle) and key not in plain]
            if tag.leader[0] == tag.leader[1]:
                on_parts += 1
                assert under[-1] == keys[tag.words], (section.key, tag.words)
            else:
                assert not under, (section.key, tag.words)
    assert on_parts > 10


@pytest.mark.parametrize("wall", [WALLS[0], WALLS[3]])
def test_a_ring_on_a_batten_stands_in_its_middle(wall):
    """At its edge it would lie on the line of the membrane, and look like that's."""
    junction = next(one for one in JUNCTIONS if one.key == "wall-top-gable")
    section = section_of(junction, ladder_numbers(4, wall))
    canvas = Canvas(section, 720, tallest=640)
    parts = numbered_parts(section)
    rings = {tag.words: tag for tag in canvas.tags(parts, canvas.ruled(()))}
    ring = next(rings[str(number)] for number, layer in parts if layer.material == "batten")
    (outline,) = [points for layer, points in canvas.pieces if layer.key == "battens"]
    left, right = min(x for x, _ in outline), max(x for x, _ in outline)
    assert ring.leader[0] == ring.leader[1]
    assert ring.leader[0][0] == pytest.approx((left + right) / 2, abs=(right - left) / 8)


@pytest.mark.parametrize("key", ["sill", "threshold", "head", "base-soil"])
def test_leaders_on_a_printed_sheet_are_short(key):
    """Ours: a drawing is 316 units wide; a leader longer than two fifths of it is hard to follow."""
    junction = next(one for one in JUNCTIONS if one.key == key)
    for wall, level in product(WALLS, (1, 2, 3, 4)):
        try:
            section = section_of(junction, ladder_numbers(level, wall))
        except NotDrawnError:
            continue
        _, _, tags = printed(section)
        long = [tag.words for tag in tags if tag.ring and dist(*tag.leader) > 0.4 * DRAWN_WIDE]
        assert not long, (key, wall, level, long)


def test_leaders_of_a_head_keep_off_its_frame_and_the_lintel_of_its_leaf():
    """Ours: through those they seem to name them; on a printed sheet no more than 38 of 316 units a head: some can go no other way but past another's dot."""
    head = next(one for one in JUNCTIONS if one.key == "head")
    through, heads = 0.0, 0
    for wall, level in product(WALLS, (1, 2, 3, 4)):
        section = section_of(head, ladder_numbers(level, wall))
        canvas, _, tags = printed(section)
        name = {str(ring): layer.key for ring, layer in numbered_parts(section)}
        heads += 1
        for layer, points in canvas.pieces:
            if layer.key in ("frame", "sash", "leaf lintel"):
                part = Polygon(points)
                passing = [one.leader for one in tags if one.ring and name[one.words] != layer.key]
                through += sum(LineString(one).intersection(part).length for one in passing)
    assert through / heads < 38


def test_few_leaders_of_a_printed_window_pass_the_dot_of_another():
    """Ours: a ring whose leader runs through a dot seems to name that part; one of twenty has no other way."""
    leaders = past = 0
    for key, wall, level in product(("sill", "head", "jamb"), WALLS, (1, 3)):
        junction = next(one for one in JUNCTIONS if one.key == key)
        _, _, tags = printed(section_of(junction, ladder_numbers(level, wall)))
        found = [one.leader for one in tags if one.ring and one.leader[0] != one.leader[1]]
        leaders += len(found)
        for mine, other in permutations(found, 2):
            apart = dist(mine[1], other[1]) >= 3
            past += apart and LineString(mine).distance(ShapelyPoint(other[1])) < 3
    assert leaders > 200
    assert past < leaders / 20, (past, leaders)


@pytest.mark.parametrize("wall", [WALLS[0], WALLS[1], WALLS[3]])
@pytest.mark.parametrize(("width", "tall"), [(310, 356.5), (360, 414), (DRAWN_WIDE, DRAWN_TALL)])
def test_no_leader_at_an_upright_lap_passes_one_sheet_or_tape_to_another(wall, width, tall):
    """By eye: there is air before the tape and insulation behind the sheets, so that each is reached from its own side."""
    lap = next(one for one in JUNCTIONS if one.key == "lap-upright")
    for level in (1, 2, 3, 4):
        section = section_of(lap, ladder_numbers(level, wall))
        canvas, _, tags = _tall_enough(section, width, tall, rings=True)
        name = {str(ring): layer.key for ring, layer in numbered_parts(section)}
        films = [
            (layer.key, Polygon(points))
            for layer, points in canvas.pieces
            if layer.material in ("membrane", "tape")
        ]
        assert len(films) >= 2
        for tag in tags:
            passed = [
                key
                for key, film in films
                if key != name[tag.words] and LineString(tag.leader).intersects(film)
            ]
            assert not passed, (level, tag.words, passed)


def test_rings_of_a_printed_sill_stand_clear_of_the_dots_of_water():
    """Ours: 16 units from a ring's middle, 6 from its line, or they look like one string; one in thirty may find no other place."""
    sill = next(one for one in JUNCTIONS if one.key == "sill")
    near = rings = 0
    for wall, level in product(WALLS, (1, 2, 3, 4)):
        section = section_of(sill, ladder_numbers(level, wall))
        canvas, _, tags = _tall_enough(section, DRAWN_WIDE, DRAWN_TALL, rings=True)
        ways = [LineString(way) for way in canvas._dots_of_water]
        assert ways
        for tag in tags:
            if tag.ring:
                rings += 1
                near += min(way.distance(box(*tag.box).centroid) for way in ways) < 16
    assert near <= rings / 30, (near, rings)


@pytest.mark.parametrize("frame", ["not said", "box frame with straps"])
@pytest.mark.parametrize("key", ["sill", "jamb", "head", "threshold"])
def test_rods_and_beads_of_a_printed_window_are_seen_and_its_tray_is_one_line(key, frame):
    """Ours: a rod is round and 5 units wide, 1.3 mm on paper, a bead 3; no film or its white edge lies over them, none over the tray."""
    junction = next(one for one in JUNCTIONS if one.key == key)
    small = 0
    for wall, level in product(WALLS, (1, 2, 3, 4)):
        section = section_of(junction, ladder_numbers(level, wall, frame=frame))
        canvas = Canvas(section, DRAWN_WIDE, tallest=DRAWN_TALL)
        order = [layer.material for layer, _ in canvas.pieces]
        films = [place for place, one in enumerate(order) if one in ("membrane", "tape", "metal", "flange")]
        for place, (layer, points) in enumerate(canvas.pieces):
            if layer.material in ("rod", "sealant", "tray"):
                assert place > max(films, default=-1), (wall, level, layer.key)
            if layer.material in ("rod", "sealant"):
                small += 1
                drawn = re.findall(
                    r"([\d.]+) ([\d.]+)", shape(points, layer.material, canvas.view).split('"')[1]
                )
                (left, right), (top, foot) = (
                    (min(values), max(values))
                    for values in zip(*[(float(x), float(y)) for x, y in drawn], strict=True)
                )
                wide, high = right - left, foot - top
                assert min(wide, high) > (4.8 if layer.material == "rod" else 2.8), (wall, level, layer.key)
                assert layer.material != "rod" or wide == pytest.approx(high, abs=0.3)
    assert small > 16


def test_dots_of_leaders_lie_well_inside_a_large_part():
    """Ours: in the windows of a printed sheet, of parts over 8 units thick, nine dots of ten 3 units from the edge and more."""
    dots = at_edge = 0
    for key, wall, level in product(("sill", "head", "jamb"), WALLS, (1, 4)):
        junction = next(one for one in JUNCTIONS if one.key == key)
        section = section_of(junction, ladder_numbers(level, wall))
        canvas, _, tags = printed(section)
        ends = {tag.words: ShapelyPoint(tag.leader[1]) for tag in tags if tag.leader[0] != tag.leader[1]}
        for number, layer in numbered_parts(section):
            for each, points in canvas.pieces:
                part = Polygon(points)
                end = ends.get(str(number))
                if each.key == layer.key and end and part.contains(end) and part.buffer(-4).area > 60:
                    dots += 1
                    at_edge += part.exterior.distance(end) < 3
    assert dots > 15
    assert at_edge <= dots / 10, (at_edge, dots)


def corners_with_battens(key):
    """Corners of walls with a cavity behind cladding, in each wall and level."""
    return [
        section
        for section, _ in sections()
        if section.key == key and "batten" in {layer.key for layer in section.layers}
    ]


@pytest.mark.parametrize("wall", WALLS)
@pytest.mark.parametrize("level", [1, 2, 3, 4])
def test_water_leaves_the_end_of_a_pipe_in_a_drawing_of_any_size(level, wall):
    """It ends below the pipe, never on top of it, where the end stands near the edge of a small picture too."""
    pipe = next(one for one in JUNCTIONS if one.key == "pipe")
    section = section_of(pipe, ladder_numbers(level, wall))
    for width, tall in ((DRAWN_WIDE, SHARED_TALL), (DRAWN_WIDE, DRAWN_TALL), (310, 356.5), (720, 640)):
        canvas = Canvas(section, width, tallest=tall)
        (pieces,) = [points for layer, points in canvas.pieces if layer.key == "pipe"]
        assert canvas._drop[-1][1] > max(y for _, y in pieces), (width, tall)


@pytest.mark.parametrize(("width", "tall"), [(DRAWN_WIDE, SHARED_TALL), (310, 356.5), (720, 640)])
@pytest.mark.parametrize(("key", "slope"), [("corner-outside", -1), ("corner-inside", 1)])
def test_both_arms_of_a_corner_are_drawn_equally_thick(key, slope, width, tall):
    """By symmetry about the line on which two walls meet: cladding, cavity and films are as thick in either, at any size."""
    for section in corners_with_battens(key):
        canvas = Canvas(section, width, tallest=tall)
        out = min(x for x, _ in section.layer("cladding").outline)
        for depth in (out, out / 2, -3.0, -1.5):
            left = canvas.at((0, 0))[0] - canvas.at((depth, 0))[0]
            up = canvas.at((0, 0))[1] - canvas.at((0, slope * depth))[1]
            assert abs(up) == pytest.approx(left), (section.key, depth)


@pytest.mark.parametrize(("width", "tall"), [(DRAWN_WIDE, SHARED_TALL), (310, 356.5), (720, 640)])
def test_leaders_to_the_battens_of_an_outside_corner_come_from_outdoors(width, tall):
    """Ours: through boards and corner stud a leader would seem to name those; both battens stand before them."""
    for section in corners_with_battens("corner-outside"):
        canvas, _, tags = _tall_enough(section, width, tall, rings=True)
        stud = [Polygon(points) for layer, points in canvas.pieces if layer.key in ("corner stud", "core")]
        number = {layer.key: str(ring) for ring, layer in numbered_parts(section)}
        for tag in tags:
            if tag.words in (number["batten"], number["corner batten"]) and tag.leader[0] != tag.leader[1]:
                assert not any(LineString(tag.leader).intersects(part) for part in stud), tag


@pytest.mark.parametrize("key", ["floor-open", "corner-inside"])
def test_rings_make_way_for_one_they_fence_off(key):
    """Ours: with room for all no leader on a printed sheet is longer than 85 of its 316 units."""
    junction = next(one for one in JUNCTIONS if one.key == key)
    for wall, level in product(WALLS, (1, 2, 3, 4)):
        try:
            section = section_of(junction, ladder_numbers(level, wall))
        except (NotDrawnError, NumberMissingError):
            continue
        _, _, tags = printed(section)
        assert max(dist(*tag.leader) for tag in tags if tag.ring) < 85, (wall, level)


def test_a_ring_goes_to_the_nearer_air_unless_a_number_stands_there():
    """By hand: a part from 60 to 80, too narrow for a ring; with a number at its left the ring goes to the right, and the other way."""
    part = [(60.0, 0.0), (80.0, 0.0), (80.0, 100.0), (60.0, 100.0)]
    edges = (0.0, 0.0, 140.0, 100.0)
    for number, left in (((82.0, 0.0, 140.0, 100.0), True), ((0.0, 0.0, 58.0, 100.0), False)):
        room = room_for([Piece("part", part)], edges, [], [number])
        ruled = [Ruled(((0, 0), (0, 0)), ((0, 0), (0, 0)), number, "175")]
        (tag,) = place_tags([Asked("1", True, [(70.0, 50.0)])], ruled, edges=edges, room=room)
        assert (tag.leader[0][0] < 60) is left
        assert dist(*tag.leader) < 30


@pytest.mark.parametrize(("foot", "middle"), [(100.0, (105.0, 60.0)), (140.0, (50.0, 150.0))])
def test_a_ring_stands_deep_under_a_drawing_only_where_no_other_place_is_about_as_near(foot, middle):
    """By hand: 40 units of leader to the lower place, 58 to that beside; 20 lower than a row under the drawing cost 40 more."""
    outlines = np.array([(0.0, foot, 10.0, foot, 1.0)])
    room = Room({}, np.array([(50.0, 150, 0), (105, 60, 0)]), outlines, ["part"])
    asked = [Asked("1", True, [(50.0, 100.0)], key="part")]
    (tag,) = place_tags(asked, [], edges=(0.0, 0.0, 300.0, 200.0), room=room)
    assert box(*tag.box).centroid.coords[0] == pytest.approx(middle)


@OF_SIX
def test_pictures_are_small_described_and_in_letters_that_can_be_read_where_no_label_covers_another(share):
    drawn_for = DrawnFor("Level 3", ["north"])
    level: list[bool] = []
    for section, numbers in of_six(share):
        svg = junction_picture(section, lines=numbers.words, drawn_for=drawn_for)
        level += check_labels(section, junction_layout(section, drawn_for=drawn_for), width=720)
        assert len(svg.encode()) < 40_000, (section.key, len(svg))
        tree = ET.fromstring(svg)
        space = "{http://www.w3.org/2000/svg}"
        desc = tree.find(f"{space}desc").text
        assert desc.startswith("From outside to inside: ")
        for one in section.dimensions:
            assert f"{one.value:,.10g}" in desc
        sizes = [float(text.get("font-size")) for text in tree.iter(f"{space}text")]
        assert min(sizes) >= 12
        drawn = " ".join("".join(text.itertext()) for text in tree.iter(f"{space}text"))
        assert all(side in drawn for side in section.sides)
        for one in section.dimensions:
            assert f"{one.value:,.10g}" in drawn
    check_leaders(level)


def test_a_name_does_no_harm_in_a_picture():
    section, numbers = sections()[0]
    svg = junction_picture(
        section, lines={**numbers.words, "back_dam": HOSTILE}, drawn_for=DrawnFor(HOSTILE, [HOSTILE])
    )
    ET.fromstring(svg)
    assert "<script" not in svg
    assert "\u202e" not in svg


def measured(line):
    """Row and measure of a fall or of a length laid flat, from its corners in the file."""
    key, axis = (tag.value for tag in line.get_xdata(MARK))
    corners = list(line.get_points("xy"))
    if axis == "flat":
        return key, round(sum(hypot(bx - ax, by - ay) for (ax, ay), (bx, by) in pairwise(corners)), 6)
    (ax, ay), (bx, by) = corners
    rise = abs(by - ay) / abs(bx - ax)
    return key, round(100 * rise if axis == "fall %" else degrees(atan(rise)), 6)


@pytest.mark.parametrize("each", [17, pytest.param(1, marks=pytest.mark.slow)])
def test_every_cad_dimension_measures_the_number_of_its_row(each):
    for section, _ in sections()[::each]:
        doc = ezdxf.read(io.StringIO(junction_dxf(section, heading=["Level 3"])))
        assert doc.units == ezdxf.units.MM
        wanted = sorted((one.key, one.value) for one in section.dimensions if one.is_straight)
        found = sorted(
            (one.get_xdata(MARK)[0].value, round(one.get_measurement(), 6))
            for one in doc.modelspace().query("DIMENSION")
        )
        assert found == [(key, pytest.approx(value, abs=1e-6)) for key, value in wanted]
        names = {layer.dxf.name for layer in doc.layers}
        assert {cad_layer(layer.material) for layer in section.layers} <= names
        others = sorted((one.key, round(one.value, 6)) for one in section.dimensions if not one.is_straight)
        marked = [line for line in doc.modelspace().query("LWPOLYLINE") if line.has_xdata(MARK)]
        assert sorted(measured(line) for line in marked) == others
        for line in doc.modelspace().query("LWPOLYLINE"):
            assert line.closed is (line not in marked)
            assert line.dxf.layer in names


def test_a_cad_file_names_its_sizes_and_tells_outside_from_inside():
    """Of a corner that is drawn in a mirror outside is at the right; three sizes stand in it, of which each names itself."""
    numbers = ladder_numbers(4, WALLS[0])
    for mirrored, sides in ((False, ["outside", "inside"]), (True, ["inside", "outside"])):
        drawn = outside_corner(numbers, bare=True, mirrored=mirrored)
        model = ezdxf.read(io.StringIO(junction_dxf(drawn))).modelspace()
        words = [one for one in model.query("TEXT") if one.dxf.text in sides]
        assert [one.dxf.text for one in sorted(words, key=lambda one: one.dxf.insert.x)] == sides
        assert {one.dxf.text for one in model.query("DIMENSION")} == {"past <>", "lap <>", "cavity <>"}


def test_a_cad_file_after_another_holds_nothing_of_it():
    """The same parts, layers and measures as one that was written by itself, and the next free handle is not in use."""
    drawn = [section for section, _ in sections((3,))]
    first, other = drawn[0], drawn[20]
    sheet = Sheet()
    junction_dxf(other, sheet=sheet)
    found = []
    for text in (junction_dxf(first, heading=["a"], sheet=sheet), junction_dxf(first, heading=["a"])):
        (free,) = re.findall(r"\$HANDSEED\n  5\n(.+)", text)
        assert int(free, 16) > max(int(handle, 16) for handle in re.findall(r"\n  5\n(.+)\n330\n", text))
        doc = ezdxf.read(io.StringIO(text))
        drawn = sorted((one.dxftype(), one.dxf.layer) for one in doc.modelspace())
        sizes = sorted(round(one.get_measurement(), 6) for one in doc.modelspace().query("DIMENSION"))
        found.append(
            (
                drawn,
                sizes,
                {layer.dxf.name for layer in doc.layers},
                len(list(doc.blocks)),
                doc.audit().errors,
            )
        )
    assert found[0] == found[1]
    assert not found[0][-1]


@pytest.mark.usefixtures("quick_rings")
def test_every_drawing_of_a_house_of_eight_elevations_is_written(tmp_path):
    numbers = [(f"side {place}", ladder_numbers(1 + place % 4, WALLS[0])) for place in range(8)]
    drawings, left_out = drawings_of(numbers)
    written = write_drawings(drawings, left_out, tmp_path)
    assert len(written) == 2 * len(drawings) + 1
    assert not [path for path in tmp_path.iterdir() if path not in written]


@pytest.mark.usefixtures("quick_rings")
def test_a_drawing_says_whether_it_is_of_one_elevation_of_some_or_of_all(tmp_path):
    """South and north are built alike, west a level milder; of the one base drawn for all the picture and the CAD file say so."""
    sill, base = (next(one for one in JUNCTIONS if one.key == key) for key in ("sill", "lap-level"))
    hard, mild = ladder_numbers(4, WALLS[0]), ladder_numbers(3, WALLS[0])
    told = [("south", hard), ("west", mild), ("north", hard)]
    drawings = [*drawings_of(told, [sill])[0], *drawings_of([(name, hard) for name, _ in told], [base])[0]]
    write_drawings(drawings, (), tmp_path)
    said = {
        "sill-level-4": "Level 4. Elevations: south, north",
        "sill-level-3": "Level 3. Elevation: west",
        "lap-level-level-4": "Level 4. Every elevation: south, west, north",
    }
    assert {one.stem for one in drawings} == {*said}
    for stem, words in said.items():
        assert f">{words}<" in (tmp_path / f"{stem}.svg").read_text("utf-8")
        assert words in (tmp_path / f"{stem}.dxf").read_text("utf-8")


def test_the_command_draws_a_house_and_lists_what_it_drew(tmp_path, capsys):
    source = ROOT / "data_open" / "greensboro_tmy3.csv.gz"
    house = ROOT / "exposure" / "invented" / "example" / "house.toml"
    asked = ["draw", str(house), "--climate", str(source), "--one-lower", "--out", str(tmp_path / "out")]
    assert main(asked) == 0
    listed = json.loads((tmp_path / "out" / "drawings.json").read_text("utf-8"))
    assert listed["drawings"]
    for one in listed["drawings"]:
        svg = (tmp_path / "out" / one["picture"]).read_text("utf-8")
        doc = ezdxf.readfile(tmp_path / "out" / one["cad"])
        assert one["elevations"]
        if one["one_lower"]:
            ET.fromstring((tmp_path / "out" / one["one_lower"]["picture"]).read_text("utf-8"))
            assert one["one_lower"]["level"] == one["level"] - 1
        lengths = [size for size in one["dimensions"] if size["axis"] in ("x", "y")]
        assert len(doc.modelspace().query("DIMENSION")) == len(lengths)
        for size in one["dimensions"]:
            assert re.search(rf">(?:[a-z -]+ )?{size['value']:,.10g}", svg), size
    told = capsys.readouterr().out
    assert "sill-level-" in told
    assert any(one["one_lower"] for one in listed["drawings"])
    assert "one level lower:" in told
    assert "Caution" in told


def test_labels_that_find_no_room_are_left_out_and_nothing_breaks():
    """The first asked has no room at all: a field lower than a ring is high, and full of a number."""
    ruled = [Ruled(((0, 0), (0, 1)), ((0, 0), (0, 1)), (0, 0, 100, 18), "50")]
    asked = [Asked("1", True, [(50.0, 9.0)]), Asked("2", True, [(60.0, 9.0)])]
    assert place_tags(asked, ruled, edges=(0, 0, 100, 18)) == []


@pytest.mark.parametrize("wall", ["masonry veneer", "cavity masonry"])
def test_leaders_to_the_two_damp_proof_courses_of_a_base_come_each_from_its_own_side(wall):
    """They look like an X in the cavity where each comes from across it: that of the leaf from outside, the other from inside."""
    base = next(one for one in JUNCTIONS if one.key == "base-soil")
    section = section_of(base, ladder_numbers(2, wall))
    _, _, tags = printed(section)
    number = {layer.key: str(ring) for ring, layer in numbered_parts(section)}
    side = {tag.words: tag.leader[0][0] < tag.leader[1][0] for tag in tags if tag.ring}
    assert side[number["leaf dpc"]]
    assert not side[number["plate dpc"]]


def test_two_leaders_that_would_end_on_one_point_end_apart_where_a_part_has_another_spot():
    asked = [Asked("1", True, [(50.0, 50.0)]), Asked("2", True, [(50.0, 54.0), (50.0, 90.0)])]
    tags = place_tags(asked, [], edges=(0, 0, 200, 120), room=room_for([], (0, 0, 200, 120), [], []))
    ends = {tag.words: tag.leader[1] for tag in tags}
    assert ends == {"1": (50.0, 50.0), "2": (50.0, 90.0)}


def test_a_ring_finds_the_same_place_however_many_are_looked_at_together(monkeypatch):
    """All places in one look is the plain way; a few at a time, and more each time, must give the same."""
    drawn = np.random.default_rng(7)
    found = 0
    for _ in range(25):
        air, spots, corners = (drawn.uniform(0, 300, (many, 2)) for many in (600, 3, 14))
        more = drawn.choice([0.0, 12.0], len(air))  # what a place costs besides
        outlines = np.column_stack([drawn.uniform(0, 300, (90, 4)), drawn.choice([1.0, 2.0], 90)])
        numbers, rings = np.column_stack([corners, corners + 24]).reshape(2, 7, 4)
        leaders = [((x, y), (x + 30, y - 40)) for x, y in corners[:5]]
        said = []
        for first, most in ((10_000, 10_000), (junction_near.AT_ONCE, junction_near.MOST), (5, 40)):
            monkeypatch.setattr(junction_near, "AT_ONCE", first)
            monkeypatch.setattr(junction_near, "MOST", most)
            near = junction_near.Near(
                np.column_stack([air, more]),
                outlines,
                list(spots),
                numbers,
                radius=10,
                apart=1.5,
                passes=lambda _: True,
            )
            said.append([near.cheapest(rings, leaders, limit) for limit in (inf, 60.0)])
            monkeypatch.undo()
        assert said[0] == said[1] == said[2]
        found += sum(one is not None for one in said[0])
    assert found > 25
