"""The sill support of a window over the cavity: framing behind its foot, room for it, and cladding out of its way."""

import pytest
from shapely import Polygon
from test_detail_ladder import exposure_of, pressure_of
from test_junction import WALLS, ladder_numbers, layers_of

from exposure.detail import Circumstances, detail_schedule
from exposure.detail.materials import not_counted
from exposure.junction.catalogue import JUNCTIONS, section_of
from exposure.junction.proofs import failures
from exposure.junction.work_scene import PARTS
from exposure.junction.work_under import TRAY_EDGE

CLAD = (WALLS[0], WALLS[3])


def hung(level, wall, **own):
    return ladder_numbers(level, wall, position="over the cavity", frame="box frame with straps", **own)


def sill_of(numbers):
    return section_of(next(one for one in JUNCTIONS if one.key == "sill"), numbers)


@pytest.mark.parametrize("wall", [WALLS[0], WALLS[1], WALLS[3]])
@pytest.mark.parametrize("sheathing", ["sheathed", "open studs"])
def test_a_sill_support_is_screwed_into_framing_and_not_into_wool(wall, sheathing):
    """The whole foot has timber behind it, the screw 40 mm or more in that, and wool is cut out round it."""
    for level in (2, 4):
        section = sill_of(hung(level, wall, sheathing=sheathing))
        parts = {one.key: Polygon(one.outline) for one in section.layers}
        foot, screw, block = (parts[one].bounds for one in ("support", "support screw", "blocking"))
        assert section.layer("blocking").material == "timber"
        assert block[1] < foot[1] < screw[1] < screw[3] < block[3]
        assert block[3] == pytest.approx(parts["plate"].bounds[1])  # up to the timber under the sill
        assert min(screw[2], block[2]) - block[0] >= 40
        assert not failures(section)
        assert "sealed" in section.layer("support").name


def test_no_blocking_is_drawn_where_nothing_hangs_before_the_boards():
    for position in ("at the sheathing", "over the cavity"):
        for wall in (WALLS[0], WALLS[2]):
            parts = layers_of(
                "sill", ladder_numbers(3, wall, position=position, frame="box frame with straps")
            )
            assert ("blocking" in parts) is (position == "over the cavity" and wall == WALLS[0])


def test_the_step_of_a_sill_support_sends_its_screws_into_blocking_and_seals_them():
    mine = Circumstances(window_position="over the cavity")
    steps = detail_schedule(exposure_of(45.0), pressure_of(100.0), mine).steps
    words = next(step.text for step in steps if "support" in step.adds)
    assert "Fix blocking between the studs where none is yet and screw a sill support into it" in words
    assert "each screw sealed" in words


@pytest.mark.parametrize("wall", CLAD)
def test_a_frame_of_the_order_of_work_shows_the_blocking_behind_every_bracket(wall):
    faces, names = PARTS["support"](hung(3, wall))
    pieces = [face.points for face in faces if face.material == "cut away"]  # on either side of a stud
    screws = [face for face in faces if face.material == "frame"]
    assert len(screws) == 4
    for screw in screws:
        assert any(
            all(
                min(here[way] for here in piece) < spot[way] < max(here[way] for here in piece)
                for spot in screw.points
                for way in (0, 1)
            )
            for piece in pieces
        )
    assert [one.name for one in names] == ["blocking behind", "support"]


@pytest.mark.parametrize("wall", CLAD)
@pytest.mark.parametrize("level", [2, 3, 4])
def test_the_blocking_behind_a_support_is_as_high_in_the_frame_as_in_the_section(wall, level):
    """Its foot 55 mm below that of the tray, 25 of them below the support, and its top 45 below the sill's bevel; by hand at level 4: 155 and 54."""
    numbers = hung(level, wall)
    down = numbers.length("tray_down")
    parts = {one.key: Polygon(one.outline).bounds for one in sill_of(numbers).layers}
    edge = parts["tray"][1] + down
    faces, _ = PARTS["support"](numbers)

    def drawn(material):
        heights = [spot[1] - TRAY_EDGE for face in faces if face.material == material for spot in face.points]
        return min(heights), max(heights)

    low, high = drawn("cut away")
    assert (low, high) == pytest.approx((parts["blocking"][1] - edge, parts["blocking"][3] - edge))
    assert (low, high) == pytest.approx((-down - 55, -54), abs=0.5)
    assert drawn("metal")[0] == pytest.approx(parts["support"][1] - edge)
    screw, middle = drawn("frame"), (parts["support screw"][1] + parts["support screw"][3]) / 2 - edge
    assert sum(screw) / 2 == pytest.approx(middle)


@pytest.mark.parametrize(("wall", "row"), [(CLAD[0], "cav_depth"), (CLAD[1], "cav_render")])
@pytest.mark.parametrize("depth", [10.0, 12.0, 15.0, 20.0, 50.0])
def test_a_support_has_room_in_its_cavity_or_it_is_said_how_flat_it_must_be(wall, row, depth):
    """By hand: 1.5 of tray, 7 of bracket, 4 of head and 2 clear need 14.5 mm, told as 15; in 10 mm at most 8 stand off the membrane."""
    section = sill_of(hung(2, wall, **{row: depth, "reveal": "not proud of the cladding"}))
    back = section.layer("cladding").outline[0][0]
    head = min(x for x, _ in section.layer("support screw").outline)
    upright = [x for x, y in section.layer("support").outline if y < 0]
    assert min(head, *upright) >= back + 2 - 1e-9
    told = " ".join(section.warnings)
    assert (f"In a cavity of {depth:g} mm" in told) is (depth < 14.5)
    assert (
        "at most 8 mm off the membrane: a flat steel, the heads let in flush, or a cavity of 15 mm" in told
    ) is (depth == 10)
    assert not failures(section)


@pytest.mark.parametrize("wall", CLAD)
def test_cladding_ends_below_a_support_that_reaches_out_over_it(wall):
    """A frame flush with the cladding: no board through the arm, and the outer sill still laps the edge."""
    for reveal, over in (("not proud of the cladding", True), ("50 mm back, or a rebate", False)):
        section = sill_of(hung(2, wall, cav_depth=20.0, cav_render=20.0, reveal=reveal))
        arm, boards = (Polygon(section.layer(key).outline) for key in ("support", "cladding"))
        lip = min(y for _, y in section.layer("outer sill").outline)
        assert not arm.intersects(boards)
        assert boards.bounds[3] - lip > 15
        assert any("reaches out over the cladding" in one for one in section.warnings) is over


@pytest.mark.parametrize("wall", [WALLS[0], WALLS[1]])
@pytest.mark.parametrize("deck", ["none", "enclosed at the first floor"])
def test_a_door_to_a_closed_deck_is_asked_no_sill_support(wall, deck):
    """Its frame stands on the floor, as it is drawn; a wall without a deck hears of none."""
    mine = Circumstances(wall_type=wall, window_position="over the cavity", deck=deck)
    schedule = detail_schedule(exposure_of(45.0), pressure_of(100.0), mine)
    row = next(line.build for line in schedule.lines if line.key == "sill_support")
    step = next(step.text for step in schedule.steps if "support" in step.adds)
    assert ("one to a closed deck on none" in row) is (deck != "none")
    assert ("at a door, but for one to a closed deck, to the edge" in step) is (deck != "none")
    assert "deck's floor" not in row


@pytest.mark.parametrize(("wall", "hung"), [(WALLS[0], True), (WALLS[1], False)])
def test_a_deck_before_a_leaf_stands_on_posts_in_the_list_too(wall, hung):
    mine = Circumstances(wall_type=wall, deck="slatted or roofed over, above the ground", parapet=True)
    schedule = detail_schedule(exposure_of(45.0), pressure_of(100.0), mine)
    named = not_counted({line.key: line.value for line in schedule.lines})
    assert ("ledger, joists, bolts, washers and slats of the deck" in named) is hung
    assert ("spacers and blocks of the deck" in named) is hung
    assert ("posts, joists, ledger and slats of the deck" in named) is not hung
    assert "sloped tops under caps" in named
    tie = [line.build for line in schedule.lines if line.key == "tie_holes"]
    assert all("the edge of a floor" in one for one in tie)  # as a door's threshold is drawn
    assert bool(tie) is not hung
