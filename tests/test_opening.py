"""The opening of a window seen from outside agrees with the sections through its head and jambs."""

from contextlib import suppress

import pytest
from test_junction import EVERY_FRAME, JUNCTIONS, ladder_numbers, layers_of

from exposure.draw.junction_materials import hatching, shape
from exposure.junction.catalogue import section_of
from exposure.junction.window import NotDrawnError

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
        assert {seen[key].material for key in ("tray end", "other tray end")} == {"hidden"}
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
