"""What a carpenter meets beside a door: a deck's membrane in snow up to its jamb, and the upstand beside a level one."""

import pytest
from shapely import LineString, Polygon
from test_junction import JUNCTIONS, WALLS, ladder_numbers, numbers_without
from test_work_frames import steps_of

from exposure.detail.beside import NO_DOOR, beside
from exposure.detail.ladder import ladder_rows
from exposure.detail.materials import DECK_TRIMS, not_counted
from exposure.draw.junction_materials import FILLS
from exposure.junction.catalogue import section_of
from exposure.junction.proofs import failures
from exposure.junction.scene import FILM

CLAD = [one for one in WALLS if "masonry" not in one]
FRAMES = ("nailing flange", "box frame with straps")
BACK = "50 mm back, or a rebate"


def junction(key):
    return next(one for one in JUNCTIONS if one.key == key)


def shapes(parts):
    return {key: Polygon(one.outline) for key, one in parts.items()}


@pytest.mark.parametrize("sheathing", ["sheathed", "open studs"])
@pytest.mark.parametrize("depth", [0.0, 50.0])
@pytest.mark.parametrize("frame", FRAMES)
@pytest.mark.parametrize("wall", CLAD)
def test_membranes_of_a_deck_in_snow_end_at_the_jamb_of_its_door(wall, frame, depth, sheathing):
    """From the wall outward, each over the one before and each to the edge of the opening; below the cladding nothing rots."""
    there = {
        "snow_roof": 700,
        "cav_depth": depth,
        "cav_render": depth,
        "reveal": BACK if depth else "as drawn",
    }
    numbers = ladder_numbers(3, wall, frame=frame, sheathing=sheathing, **there)
    section = section_of(junction("deck-jamb"), numbers)
    assert failures(section) == ()
    parts = {layer.key: layer for layer in section.layers}
    part = shapes(parts)
    films = ("membrane below", "deck membrane", "membrane")
    across = LineString([(-90, -80), (40, -80)])
    faces = [across.intersection(part[one]).bounds[0] for one in films]
    assert faces == sorted(set(faces), reverse=True)
    assert {part[one].bounds[3] for one in films} == {0, -FILM}  # the outermost is turned in over the others
    assert part["membrane"].bounds[2] > 40
    assert not {"cladding", "trim", "reveal lining"} & parts.keys()
    turned = part["snow sheet"].distance(part["frame"]) == 0
    assert turned is (
        bool(depth) or frame == FRAMES[1]
    )  # where cladding beside a window has a lining or a trim
    assert any("is ours" in one for one in section.notes)


def test_the_jamb_at_a_deck_in_snow_is_drawn_where_there_is_one():
    numbers = ladder_numbers(3, WALLS[0], snow_roof=700)
    assert junction("deck-jamb").asked(numbers)
    for row in ("snow_roof", "deck_tray"):
        assert not junction("deck-jamb").asked(numbers_without(row, numbers))
    for frame in FRAMES:  # the door stands on the floor wherever its windows stand
        there = {"position": "over the cavity", "frame": frame, "cav_depth": 20, "snow_roof": 700}
        section = section_of(junction("deck-jamb"), ladder_numbers(3, WALLS[0], **there))
        assert failures(section) == ()
        part = {layer.key: Polygon(layer.outline) for layer in section.layers}
        assert part["snow sheet"].distance(part["frame"]) == 0
        assert "jamb tape" not in part


@pytest.mark.parametrize("snow", [0, 700])
@pytest.mark.parametrize("frame", FRAMES)
@pytest.mark.parametrize("wall", CLAD)
def test_a_deck_s_door_stands_in_one_plane_behind_the_cladding(wall, frame, snow):
    """Windows out at the face of cladding or render, 20 + 20 and a film before the studs; the door 22 from sill to head, boxed in by its trim."""
    there = {"position": "over the cavity", "frame": frame, "cav_depth": 20, "cav_render": 20}
    numbers = ladder_numbers(2, wall, sheathing="open studs", snow_roof=snow, reveal="as drawn", **there)
    numbers = numbers if snow else numbers_without("snow_roof", numbers)
    asked = ("deck-door", "deck-door-jamb", *("deck-jamb",) * bool(snow))
    sections = {one: section_of(junction(one), numbers) for one in (*asked, "jamb")}
    assert all(failures(one) == () for one in sections.values())
    outer = {key: Polygon(one.layer("frame").outline).bounds[0] for key, one in sections.items()}
    assert [outer[one] for one in asked] == [-22] * len(asked)
    assert outer["jamb"] == -1.5 - 20 - 20
    jamb = sections["deck-door-jamb"]
    part = shapes({layer.key: layer for layer in jamb.layers})
    assert not {"flange", "flange seal", "jamb tape"} & part.keys()
    assert part["trim"].distance(part["frame"]) == part["trim"].distance(part["cladding"]) == 0
    assert part["strap"].distance(part["frame"]) == 0
    assert jamb.layer("frame").rows == ("deck_frame",)
    assert any("head is closed alike" in one for one in jamb.notes)
    assert any("the same frame" in one for one in jamb.notes) is bool(snow)


@pytest.mark.parametrize("frame", FRAMES)
def test_rows_order_and_list_say_what_a_deck_s_door_is_while_windows_stand_at_the_cladding(frame):
    numbers = ladder_numbers(2, CLAD[0], position="over the cavity", frame=frame)
    steps = steps_of(numbers)
    [door] = [place for place, step in enumerate(steps) if "deck-door-jamb" in step.drawn]
    [window] = [place for place, step in enumerate(steps) if "window" in step.adds]
    assert door == window + 1
    assert steps[door].door
    [row] = [one for one in ladder_rows() if one.key == "deck_frame"]
    said = row.words_for("build", numbers.circumstances) or row.build[0]
    for words in (said, steps[door].text):
        assert "on the floor, back from the cladding" in words
        assert "the reveal over battens and cut edges" in words
        assert ("no flange" in words) is (frame == FRAMES[0])
    mine = {one.key for one in ladder_rows() if beside(one.when, numbers.circumstances)}
    bought = not_counted({key: value for key, value in numbers.values.items() if key in mine})
    assert (DECK_TRIMS in bought) is (frame == FRAMES[0])
    assert "straps of the frames" in bought
    assert beside(row.when, numbers.circumstances)
    for change in ({"deck": "none"}, {"window_position": "at the sheathing"}, {"threshold": NO_DOOR}):
        assert not beside(row.when, numbers.circumstances.changed(**change))


@pytest.mark.parametrize("depth", [0.0, 20.0])
@pytest.mark.parametrize("frame", FRAMES)
@pytest.mark.parametrize(("paved", "plate"), [(100, 150), (700, 750)])  # cladding, 50 lower than the plate
def test_the_upstand_beside_a_level_door_carries_the_plate_and_metal_covers_its_tape(
    frame, depth, paved, plate
):
    """By hand of the rows: boards as high as the base asks over the paving, the upstand 50 over their edge, metal up to it."""
    told = {"paved": paved, "plate_lap": 50, "cav_depth": depth, "reveal": "as drawn"}
    section = section_of(junction("door-side"), ladder_numbers(3, WALLS[0], frame=frame, **told))
    assert failures(section) == ()
    parts = {layer.key: layer for layer in section.layers}
    part = shapes(parts)
    assert part["cladding"].bounds[1] == paved
    assert (
        abs(part["upstand"].bounds[3] - plate) <= 15
    )  # seen up to the edge of the membrane before the plate
    assert part["upstand"].bounds[2] == 0
    assert part["paving"].bounds[3] == 0
    tape, cover = part["jamb tape"].bounds, part["tape cover"].bounds
    assert (cover[1], cover[3]) == (0, paved)
    assert cover[0] < tape[0]
    assert cover[2] > tape[2]
    assert FILLS[parts["tape cover"].material] not in ("none", FILLS[parts["jamb tape"].material])
    shown = part["jamb tape"].difference(part["tape cover"])
    assert any(one.bounds[3] < paved for one in shown.geoms)  # at its corner cut away
    assert "cut away" in parts["tape cover"].name
    assert part["end"].bounds[2] == 0
    assert part["end"].bounds[3] == pytest.approx(plate + (5 if depth else 0) + 150)  # lap_h of level 3
    assert ("base flashing" in parts) is bool(depth)


@pytest.mark.parametrize("depth", [0.0, 20.0])
@pytest.mark.parametrize("frame", FRAMES)
@pytest.mark.parametrize("wall", CLAD)
def test_trim_and_lining_end_beside_a_level_door_with_the_lowest_boards(wall, frame, depth):
    """By hand: boards 150 over the paving; a frame 10 off the edge of its opening, covered by 10; no lining without a cavity."""
    told = {"paved": 150, "plate_lap": 50, "cav_depth": depth, "cav_render": depth, "reveal": "as drawn"}
    section = section_of(junction("door-side"), ladder_numbers(1, wall, frame=frame, **told))
    assert failures(section) == ()
    parts = {layer.key: layer for layer in section.layers}
    part = shapes(parts)
    closing = "trim" if frame == FRAMES[1] else "reveal lining" if depth else ""
    assert {"trim", "reveal lining"} & parts.keys() == ({closing} if closing else set())
    assert part["tape cover"].is_valid  # beside a narrow tape too
    assert part["tape cover"].bounds[3] == 150
    assert ("open foot" in parts["tape cover"].name) is bool(closing)
    if closing:
        left, low, right, _ = part[closing].bounds
        assert left < 0
        assert (low, right) == (150, 20)
        assert f"the open foot of the {closing}" in parts["tape cover"].name


@pytest.mark.parametrize("level", [1, 2, 3, 4])
@pytest.mark.parametrize("wall", CLAD)
def test_beside_the_tape_of_a_level_door_the_wall_is_seen_whole(wall, level):
    """However wide the tape: membrane, flashing and upstand stand free between it and the cladding."""
    section = section_of(junction("door-side"), ladder_numbers(level, wall, paved=150))
    part = shapes({layer.key: layer for layer in section.layers})
    assert part["jamb tape"].bounds[0] - part["cladding"].bounds[2] >= 50


def test_the_side_of_a_level_door_is_drawn_where_cladding_stands_beside_it():
    for wall in WALLS:
        numbers = ladder_numbers(3, wall)
        assert junction("door-side").asked(numbers) is (wall in CLAD)
        assert not junction("door-side").asked(numbers_without("door_side", numbers))
    over = ladder_numbers(3, WALLS[0], position="over the cavity", cav_depth=20)
    section = section_of(junction("door-side"), over)
    part = shapes({layer.key: layer for layer in section.layers})
    left, low, right, high = part["jamb tape"].bounds  # as its row says: stuck to the upstand, metal over it
    assert (left, low, right) == (-over.length("tape_bond"), 0, 0)
    assert high > part["upstand"].bounds[3]
    assert part["tape cover"].bounds[0] < left < part["tape cover"].bounds[2]
    assert part["tape cover"].bounds[3] == part["cladding"].bounds[1]
    box = {"position": "over the cavity", "frame": FRAMES[1], "cav_depth": 20}
    cover = section_of(junction("door-side"), ladder_numbers(3, WALLS[0], **box)).layer("tape cover")
    assert "the open foot of the trim" in cover.name


@pytest.mark.parametrize("wall", CLAD)
@pytest.mark.parametrize("level", [1, 4])
def test_sizes_beside_a_level_door_end_at_what_is_drawn(wall, level):
    """What is turned up at the door lies under the tape, dashed; so is the joint that the lap ends at. The size of the end begins at the membrane's edge, without a flashing at that joint."""
    section = section_of(junction("door-side"), ladder_numbers(level, wall, paved=150))
    parts = {one.key: one for one in section.layers}
    sizes = {one.key: one for one in section.dimensions}
    assert {parts[key].material for key in ("end", "framing")} == {"hidden"}
    assert min(y for _, y in parts["framing"].outline) == max(
        y for _, y in (sizes["plate_lap"].start, sizes["plate_lap"].end)
    )
    x, y = sizes["lap_h"].start
    assert x == min(x for x, _ in parts["jamb tape"].outline)
    assert y == min(y for _, y in parts["membrane" if "base flashing" in parts else "framing"].outline)
    assert sizes["lap_h"].end[1] == max(y for _, y in parts["end"].outline)
