"""The opening of a window seen from outside agrees with the sections through its head and jambs."""

import re
from contextlib import suppress
from itertools import pairwise

import pytest
from shapely import Point as ShapelyPoint
from shapely import Polygon
from test_junction import EVERY_FRAME, JUNCTIONS, ladder_numbers, layers_of

from exposure.draw.junction_canvas import Canvas, numbered_parts
from exposure.draw.junction_materials import hatching, shape
from exposure.junction.catalogue import section_of
from exposure.junction.window import NotDrawnError
from exposure.junction.work_faces import TAPE
from exposure.paper.sheet_columns import DRAWN_TALL, DRAWN_WIDE

LEAVES = [one for one in EVERY_FRAME if "masonry" in one[1]]
OPENING = next(one for one in JUNCTIONS if one.key == "opening")


def reach(layer, axis=0):
    places = [point[axis] for point in layer.outline]
    return min(places), max(places)


def test_the_leaf_round_an_opening_is_the_same_from_outside_as_in_head_and_jamb():
    """Its lintel as high as in the head and borne past both reveals, the tray on that, the tray of the sill as far behind the leaf as that laps the opening.

    By hand: a lintel reaches 15 mm below the frame's top and 65 over the rough head, 10 mm above that; tape may ask for a higher one.
    """
    heights = set()
    for level, wall, position, sheathing, frame in LEAVES:
        numbers = ladder_numbers(level, wall, position=position, sheathing=sheathing, frame=frame)
        try:
            head, jamb = (layers_of(key, numbers) for key in ("head", "jamb"))
        except NotDrawnError:
            continue
        seen = layers_of("opening", numbers)
        (left, right), (_, top) = (reach(seen["hole"], axis) for axis in (0, 1))
        face = reach(head["leaf lintel"])[0]
        at_face = [y for x, y in head["leaf lintel"].outline if x == face]
        low, high = reach(seen["lintel"], 1)
        assert (low, high - low) == (top, pytest.approx(max(at_face) - min(at_face)))
        heights.add(round(high - low, 6))
        assert reach(seen["lintel"])[0] <= left - 100 < right + 100 <= reach(seen["lintel"])[1]
        assert reach(seen["head tray"], 1)[0] == high
        lap = reach(jamb["cladding"], 1)[1]  # past the edge of the opening in the wall behind, which is at 0
        assert reach(seen["tray end"]) == (left - lap, left - lap + 10)
        assert reach(seen["other tray end"]) == (right + lap - 10, right + lap)
        assert {seen[key].material for key in ("tray end", "other tray end")} == {"metal behind"}
    assert min(heights) == 90


def test_the_tray_over_an_opening_in_a_leaf_has_both_ends_turned_up():
    """As high as their row says: 15, 20, 30 and 45 mm at levels 1 to 4, read off the table."""
    for level, wall, position, _, frame in LEAVES:
        section = section_of(OPENING, ladder_numbers(level, wall, position=position, frame=frame))
        layers = {layer.key: layer for layer in section.layers}
        tray, stops = layers["head tray"], (layers["stop-end 0"], layers["stop-end 1"])
        assert (reach(stops[0])[0], reach(stops[1])[1]) == reach(tray)
        high = {reach(one, 1)[1] - reach(tray, 1)[0] for one in stops}
        assert high == {(15, 20, 30, 45)[level - 1]}
        assert [one.value for one in section.dimensions if one.key == "tray_stop"] == [*high]


def test_ends_of_a_tray_behind_the_leaf_are_grey_bars_on_a_printed_sheet():
    """Two dashed lines 2 units apart are a blot there: a bar has its fill in sight, and its edge is the fine one."""
    section = section_of(OPENING, ladder_numbers(4, "cavity masonry"))
    canvas = Canvas(section, DRAWN_WIDE, tallest=DRAWN_TALL)
    drawn = dict(zip([one.key for one, _ in canvas.pieces], canvas.parts(), strict=True))
    for key in ("tray end", "other tray end"):
        [edge] = [float(one) for one in re.findall(r'stroke-width="([\d.]+)"', drawn[key])]
        [wide] = [
            max(x for x, _ in ring) - min(x for x, _ in ring) for one, ring in canvas.pieces if one.key == key
        ]
        assert edge < wide / 2
        assert "stroke-dasharray" not in drawn[key]


def test_the_course_under_a_sill_and_its_ends_are_equally_thick():
    for wall in ("cavity masonry", "masonry veneer"):
        seen = layers_of("opening", ladder_numbers(4, wall))
        low, high = reach(seen["sill course"], 1)
        ends = [reach(seen[f"sill course end {place}"]) for place in (0, 1)]
        assert {high - low, *(b - a for a, b in ends)} == {
            12
        }  # 1.6 pixels at 150 to the inch, 2.7 with its edge


@pytest.mark.parametrize("wall", ["timber frame with cladding", "rendered board"])
def test_stretch_tape_is_seen_along_the_sill_through_the_tray(wall):
    """As far as up the jamb, as wide as in the frames; dashed, drawn after what hides it."""
    for level in (1, 4):
        numbers = ladder_numbers(level, wall)
        section = section_of(OPENING, numbers)
        seen = {one.key: one for one in section.layers}
        each, order = numbers.length("corner_tape"), list(seen)
        for key, ends in (("corner tape under", (0, each)), ("other corner tape under", (600 - each, 600))):
            assert reach(seen[key]) == ends
            assert reach(seen[key], 1) == (-TAPE, 0)
            assert seen[key].material == "hidden"
            assert order.index(key) > order.index("tray front")
        assert reach(seen["corner tape"]) == (-TAPE, each)


@pytest.mark.parametrize("wall", ["timber frame with cladding", "masonry veneer", "rendered board"])
def test_fixings_of_the_membrane_stand_beside_both_jambs_as_far_apart_as_asked(wall):
    numbers = ladder_numbers(4, wall)
    seen = layers_of("opening", numbers)
    spots = [
        (sum(reach(one)) / 2, sum(reach(one, 1)) / 2)
        for key, one in seen.items()
        if key.startswith("fixing ")
    ]
    sides = sorted({x for x, _ in spots})
    assert (sides[0] + sides[1]) / 2 == 300  # beside an opening 600 wide
    for side in sides:
        heights = sorted(y for x, y in spots if x == side)
        assert {round(b - a, 6) for a, b in pairwise(heights)} == {numbers.length("fix_mm")}
        assert heights[-1] == 520 - 30
    assert {one.name for key, one in seen.items() if key.startswith("fixing ")} == {
        "",
        "Fixings of the membrane, all round",
    }


def test_a_part_behind_another_is_dashed():
    hidden = shape([(0, 0), (10, 0), (10, 10), (0, 10)], "hidden", (-5, -5, 20, 20))
    assert "stroke-dasharray" in hidden
    assert 'fill="none"' in hidden


@pytest.mark.parametrize("wall", ["timber frame with cladding", "rendered board"])
def test_the_leg_over_a_box_stands_on_the_boards_behind_a_slit(wall):
    """The sheet below ends under the flashing's bend; from there up one sheet alone lies over the leg, as at a barrier."""
    for level in (1, 2, 3, 4):
        for sheathing in ("sheathed", "open studs"):
            numbers = ladder_numbers(level, wall, sheathing=sheathing, cav_depth=25, cav_render=25)
            parts, barrier = (layers_of(key, numbers) for key in ("meter-box", "cavity-barrier"))
            for one, below in ((parts, "membrane"), (barrier, "membrane below")):
                inner, top = reach(one["flashing"])[1], reach(one["flashing"], 1)[1]
                assert inner == 0  # outer face of boards or studs
                bend = min(y for x, y in one["flashing"].outline if x == inner)
                assert reach(one[below], 1)[1] <= bend < top
            assert "slit" in parts["upper sheet"].name


@pytest.mark.parametrize("key", ["head", "base-soil", "threshold", "deck", "floor-leaf", "wall-top-eaves"])
def test_an_open_joint_in_a_leaf_is_not_hatched_as_the_bricks_round_it_are(key):
    joints = []
    for wall in ("masonry veneer", "cavity masonry"):
        with suppress(NotDrawnError):
            parts = layers_of(key, ladder_numbers(3, wall, weep_top=900)).values()
            joints += [one for one in parts if one.name.startswith(("Open upright joint", "Weep hole"))]
    assert joints
    assert {one.material for one in joints} == {"open joint"}
    square = [(0, 0), (40, 0), (40, 40), (0, 40)]
    hatched, joint = (hatching(square, one) for one in ("masonry", joints[0].material))
    assert hatched
    assert not joint


def test_a_lining_tape_that_comes_out_round_the_opening_is_told_to_be_left_out():
    """As the jamb has it: where the rest of that tape lies on the membrane, over fixings that the drawing shows bare."""
    seen = set()
    for level, wall, position, sheathing, frame in EVERY_FRAME:
        numbers = ladder_numbers(level, wall, position=position, sheathing=sheathing, frame=frame)
        try:
            jamb = layers_of("jamb", numbers)
        except NotDrawnError:
            continue
        if "masonry" in wall:
            continue
        out = "opening tape" in jamb and reach(jamb["opening tape"])[0] < reach(jamb["membrane"])[0]
        told = any("tape that lines it" in one for one in section_of(OPENING, numbers).notes)
        assert told is out, (level, wall, position, frame)
        seen.add(told)
    assert seen == {True, False}


@pytest.mark.parametrize(("width", "tall"), [(DRAWN_WIDE, DRAWN_TALL), (360, 400), (640, 900)])
@pytest.mark.parametrize("level", [1, 4])
def test_fixings_are_sized_from_one_seen_to_the_next_and_no_dot_stands_in_their_row(level, width, tall):
    """By eye: none of the two lies under a tape round a corner; a dot of a jamb tape in their row is one more fixing.

    By hand: a tape 100 mm wide lies 20 mm on the flange, so that 55 mm of it lie outside of the row, 25 mm beside the opening.
    """
    for sheathing in ("sheathed", "open studs"):
        numbers = ladder_numbers(level, "timber frame with cladding", sheathing=sheathing, tape_w=100.0)
        section = section_of(OPENING, numbers)
        tapes = [Polygon(one.outline) for one in section.layers if one.key.endswith("corner tape")]
        assert len(tapes) == (2 if numbers.boards else 4)
        fixings = [Polygon(one.outline).centroid for one in section.layers if one.material == "fixing"]
        size = next(one for one in section.dimensions if one.key == "fix_mm")
        for end in map(ShapelyPoint, (size.start, size.end)):
            assert end.x == -25
            assert min(fixing.distance(end) for fixing in fixings) < 1e-6
            assert not any(tape.contains(end) for tape in tapes)
        canvas = Canvas(section, width, tallest=tall)
        keys = {str(number): one.key for number, one in numbered_parts(section)}
        [(ring, dot)] = [
            tag.leader
            for tag in canvas.tags(numbered_parts(section), canvas.ruled(()))
            if tag.ring and keys[tag.words] == "jamb tape"
        ]
        row, edge = (canvas.at((x, 0.0))[0] for x in (-25.0, -80.0))
        assert ring == dot or edge < dot[0] < row - (row - edge) / 3  # a ring on its part has no dot
        assert ring != dot or width == 640
