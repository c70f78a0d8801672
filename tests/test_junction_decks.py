"""Decks, and the rail beside one: what hangs behind them, from where their heights count, what covers the wall at their foot."""

import re
from dataclasses import replace

import pytest
from shapely import LineString, Point, Polygon
from test_detail_ladder import exposure_of, pressure_of
from test_junction import JUNCTIONS, WALLS, ladder_numbers, layers_of, numbers_without

from exposure.detail import Circumstances, detail_schedule
from exposure.detail.ladder import ladder_rows
from exposure.detail.materials import not_counted
from exposure.draw.junction_canvas import Canvas
from exposure.junction.catalogue import section_of
from exposure.junction.numbers import numbers_of
from exposure.junction.proofs import failures
from exposure.paper.sheet_columns import DRAWN_TALL, DRAWN_WIDE

CLAD = [one for one in WALLS if "masonry" not in one]
CLOSED = {"deck": "enclosed at the first floor", "storeys": 2}
SLATS = {"deck": "open slats near the ground", "storeys": 2}
AT_WALL = {  # junction -> what metal stands before the membrane that is turned up there
    "deck": "apron",
    "flat-roof": "apron",
    "saddle": "saddle",
}


def drawn(key, numbers):
    return section_of(next(one for one in JUNCTIONS if one.key == key), numbers)


def scheduled(spell=45.0, push=150.0, **told):
    return detail_schedule(exposure_of(spell), pressure_of(push), Circumstances(**told))


def asked(schedule):
    return {line.key: line for line in schedule.lines}


def shapes(section):
    return {layer.key: Polygon(layer.outline) for layer in section.layers}


@pytest.mark.parametrize("snow", [0, 300])
@pytest.mark.parametrize("wall", CLAD)
@pytest.mark.parametrize("key", ["deck", "flat-roof"])
def test_a_sheet_of_the_walls_membrane_hangs_behind_deck_and_flat_roof(key, wall, snow):
    """From the wall outward, each over the one before; the sheet above laps the one that hung there 150 mm, as level 3 of lap_h says."""
    section = drawn(key, ladder_numbers(3, wall, snow_roof=snow))
    part = shapes(section)
    hung, over = part["membrane below"], part["membrane"]
    assert hung.bounds[1] == section.box[1]
    assert part["deck floor"].bounds[2] == pytest.approx(hung.bounds[0])
    assert hung.bounds[3] - over.bounds[1] >= 150
    y = part["apron"].bounds[3] - 20
    across = [
        LineString([(-60, y), (20, y)]).intersection(part[one]).bounds[0]
        for one in ("membrane below", "deck membrane", "apron", "membrane")
    ]
    assert across == sorted(across, reverse=True)
    assert len(set(across)) == 4


@pytest.mark.parametrize("wall", CLAD)
def test_the_sheet_behind_a_deck_is_there_at_its_door_too(wall):
    """On the floor's edge, from below the deck up to the membrane that goes in under the tray."""
    section = drawn("deck-door", numbers_without("door_level", ladder_numbers(3, wall)))
    part = shapes(section)
    hung, film = part["membrane below"], part["deck membrane"]
    assert hung.bounds[1] == section.box[1]
    assert part["deck floor"].bounds[2] == pytest.approx(hung.bounds[0])
    assert hung.distance(film) < 0.3
    assert not hung.intersection(film).area > 0.1


@pytest.mark.parametrize(
    ("told", "stands"),
    [(CLOSED, "deck is closed take its membrane"), ({"roof_below": "flatter than 10 degrees"}, "membrane of a flat roof")],
)  # fmt: skip
def test_that_sheet_hangs_before_deck_or_roof_stands(told, stands):
    steps = [step.text for step in scheduled(**told).steps]
    [there] = [place for place, text in enumerate(steps) if stands in text]
    [hung] = [place for place, text in enumerate(steps) if "hang a sheet" in text and "rail" not in text]
    assert hung < there
    assert "behind it before it stands, its lower edge loose for the sheet below" in steps[hung]


@pytest.mark.parametrize("snow", [0, 300])
@pytest.mark.parametrize("wall", CLAD)
def test_every_height_over_a_deck_counts_from_the_top_of_what_is_walked_on(wall, snow):
    """Cladding, upstand and snow at the wall, the step at a door with one: each size begins at that top."""
    numbers = numbers_without("door_level", ladder_numbers(4, wall, snow_roof=snow))
    for key, rows in (("deck", {"roof_gap", "deck_up", "snow_roof"}), ("deck-door", {"deck_step"})):
        section = drawn(key, numbers)
        top = Polygon(section.layer("walked on").outline).bounds[3]
        film = min(y for x, y in section.layer("deck membrane").outline)
        assert top - film > 50, key
        sizes = [one for one in section.dimensions if one.key in rows and not one.name.startswith("under")]
        assert {one.key for one in sizes} >= rows - {"snow_roof"}
        for one in sizes:
            assert min(one.start[1], one.end[1]) == pytest.approx(top), (key, one.key)
        counted = "The step counts down to" if key == "deck-door" else "Gap, upstand and step count from"
        assert any(f"{counted} the top of what is walked on" in said for said in section.notes)
    assert "count from the top of what is walked on" in asked(scheduled(**CLOSED))["deck_up"].build


@pytest.mark.parametrize("size", [(DRAWN_WIDE, DRAWN_TALL), (360, 414), (640, 640)])
@pytest.mark.parametrize(
    ("key", "wall"),
    [
        *(("deck", one) for one in WALLS if "masonry" in one),
        *(("deck-door", one) for one in WALLS if one != "masonry veneer"),
    ],
)
def test_water_runs_down_in_the_gap_before_what_is_walked_on(key, wall, size):
    """A dot is 1.4 from its middle to its edge, half an outline 0.65: what is walked on begins beyond both."""
    numbers = numbers_without("deck_snow", numbers_without("door_level", ladder_numbers(4, wall)))
    canvas = Canvas(drawn(key, numbers), size[0], tallest=size[1])
    [slab] = [Polygon(ring) for layer, ring in canvas.pieces if layer.key == "walked on"]
    ways = [LineString(way) for way in canvas._dots_of_water]
    top, foot = slab.bounds[1], slab.bounds[3]
    beside = [way for way in ways if way.bounds[1] < top and way.bounds[3] > foot]
    assert beside
    assert all(slab.distance(way) > 1.4 + 0.65 for way in beside)


@pytest.mark.parametrize("wall", CLAD)
def test_a_deck_s_door_has_no_outer_sill_in_drawing_and_order(wall):
    """The 75 under the sill of its row are those under the threshold: nothing hangs lower before it."""
    section = drawn("deck-door", ladder_numbers(3, wall))
    assert not {"outer sill", "cover", "cover plate"} & {one.key for one in section.layers}
    assert section.layer("frame").name.endswith("no outer sill")
    for deck in ("none", CLOSED["deck"]):
        steps = " ".join(step.text for step in scheduled(wall_type=wall, deck=deck, storeys=2).steps)
        assert "a metal cover below that sill" in steps
        assert ("one to a closed deck has neither sill nor cover" in steps) is (deck != "none")


@pytest.mark.parametrize("wall", [one for one in WALLS if "masonry" in one])
def test_a_leaf_over_a_deck_or_flat_roof_in_snow_is_told_to_be_kept_clear_at_its_weep_holes(wall):
    """Its tray lies as low as without snow: no line asks more, and no step says that one does."""
    for told, key in ((CLOSED, "deck"), ({"roof_below": "flatter than 10 degrees"}, "flat-roof")):
        for snow in (None, 800.0):
            steps = [
                step.text
                for step in scheduled(wall_type=wall, snow_depth=snow, **told).steps
                if key in step.drawn and "membrane" in step.text and "up the leaf" in step.text
            ]
            assert len(steps) == 1
            assert ("keep the weep holes over that clear of it" in steps[0]) is bool(snow)
            assert "higher where snow asks it" not in steps[0]
            section = drawn(key, ladder_numbers(3, wall, snow_open=snow or 0))
            assert any("keep the weep holes clear" in one for one in section.notes) is bool(snow)


@pytest.mark.parametrize(("key", "over"), [("deck", "membrane"), ("flat-roof", "flashing")])
@pytest.mark.parametrize("wall", [one for one in WALLS if "masonry" in one])
def test_the_name_of_a_tray_in_a_leaf_says_what_its_front_laps(wall, key, over):
    """What stands before the tray's front: on a deck no metal, over a flat roof its apron."""
    section = drawn(key, ladder_numbers(3, wall))
    part = shapes(section)
    assert ("apron" in part) is (over == "flashing")
    assert part["tray"].distance(part["apron" if over == "flashing" else "deck membrane"]) < 2
    assert f"lapped down over the {over}," in section.layer("tray").name


@pytest.mark.parametrize("threshold", ["a step at every door", "level at every door"])
@pytest.mark.parametrize("wall", WALLS)
@pytest.mark.parametrize(("level", "step"), [(1, 100), (4, 150)])
def test_how_far_a_deck_lies_under_sill_and_tray_of_its_door_is_drawn_or_told(level, step, wall, threshold):
    """75 under the sill and 10 under the tray's front, as the row words it; a leaf has no tray there.

    By hand: the floor is at 32, the sill's edge at 7 or 8. A step of 100 ends at -68, 75 or 76 under it, as near as can be
    seen; one of 150 ends at -118, 125 or 126 under it, where a size of 75 would end in the air.
    """
    numbers = ladder_numbers(level, wall)
    mine = numbers.circumstances.changed(deck="enclosed at the first floor", threshold=threshold)
    section = drawn("deck-door", replace(numbers, circumstances=mine))
    sizes = {one.name: one for one in section.dimensions}
    part = shapes(section)
    [counted] = [
        one for one in section.dimensions if one.key == "deck_step" and not one.name.startswith("under")
    ]
    assert counted.drawn == pytest.approx(step)
    deck = counted.start[1]
    drains = threshold == "level at every door"
    if drains:
        assert part["deck membrane"].distance(Point(counted.start)) < 1.5
    else:
        assert part["walked on"].bounds[3] == pytest.approx(deck)
    sill = part["frame"] if wall in CLAD else part["cover"]
    asked = {"under sill": (75, sill)} | ({"under tray": (10, part["tray"])} if wall in CLAD else {})
    words = " ".join(section.notes)
    assert ("under sill" in sizes) is (step == 100)
    assert {name for name in sizes if name.startswith("under")} <= asked.keys()
    for name, (number, over) in asked.items():
        end = over.bounds[1] - number
        assert end >= deck - 1e-6
        assert (name in sizes) is (end < deck + 1.5)
        assert (f"{number} mm under the" in words) is (name not in sizes)
        if name in sizes:
            assert sizes[name].drawn == pytest.approx(number)
            assert sizes[name].start[1] == pytest.approx(end)
    ends = "What drains lies at least" if drains else "What is walked on lies at least"
    assert (ends in words) is (not asked.keys() <= sizes.keys())
    [row] = [one for one in ladder_rows() if one.key == ("deck_step" if wall in CLAD else "deck_sill")]
    said = row.words_for("build", mine) or row.build[0]
    for number, _ in asked.values():
        assert f"{number} mm" in said


@pytest.mark.parametrize("wall", WALLS)
def test_before_level_doors_alone_the_step_counts_to_what_drains(wall):
    numbers = ladder_numbers(4, wall)
    there = numbers.circumstances.changed(threshold="level at every door", **CLOSED)
    values = {**numbers.values, "door_level": "level"}
    section = drawn("deck-door", type(numbers)(values, level=4, circumstances=there))
    assert "walked on" not in {one.key for one in section.layers}
    assert any("comes up level with the grating" in said for said in section.notes)


def test_where_snow_lies_a_grating_before_the_door_is_drawn():
    """As high as what is walked on, over a channel down to the membrane; only an order without snow has none."""
    for wall in WALLS:
        numbers = numbers_without("door_level", ladder_numbers(4, wall, head=50.0))
        for rows, there in ((numbers, True), (numbers_without("deck_snow", numbers), False)):
            section = drawn("deck-door", rows)
            part = shapes(section)
            assert ("grating" in part) is there
            assert not failures(section)
            if there:
                assert part["grating"].bounds[3] == pytest.approx(part["walked on"].bounds[3])
                assert part["walked on"].bounds[2] < part["grating"].bounds[0]
                assert section.layer("grating").name.endswith("on feet beyond the cut")
                feet = [one for one in section.layers if one.key.startswith("bearer")]
                assert {one.material for one in feet} == {section.layer("support 0").material}
                assert not any(one.cut for one in feet)
                assert not any(", or drain a channel" in said for said in section.warnings)


@pytest.mark.parametrize("wall", CLAD)
def test_a_closed_deck_takes_the_place_of_the_floor_line(wall):
    """Cladding and battens end under it by the gap of 12 mm, as row, step and drawing say; no flashing crosses the cavity along it."""
    told = {"wall_type": wall, "storeys": 3, "cavity_break": True, "window_position": "over the cavity"}
    schedule = scheduled(75.0, 250.0, **{**CLOSED, **told})
    steps = [step.text for step in schedule.steps]
    bare = scheduled(75.0, 250.0, **{**CLOSED, **told, "deck": "none"})
    stop = next(place for place, text in enumerate(steps) if "cavity is stopped at a floor" in text)
    assert "Where a closed deck stands at a floor line set no such flashing" in steps[stop + 1]
    gap = next(place for place, text in enumerate(steps) if text.startswith("At each floor line leave a gap"))
    assert re.search(
        r"closed deck takes the place of a floor line: end cladding and battens 12\smm under it",
        steps[gap + 1],
    )
    assert "a closed deck takes the place" in asked(schedule)["floor_gap"].build
    assert "deck" not in asked(bare)["floor_gap"].build + " ".join(step.text for step in bare.steps)
    part = layers_of("deck", ladder_numbers(3, wall))
    slab, below = (Polygon(part[key].outline).bounds for key in ("deck floor", "cladding below"))
    assert slab[1] - below[3] == pytest.approx(12)
    assert Polygon(part["gap mesh"].outline).bounds[3] == pytest.approx(slab[1])


@pytest.mark.parametrize("level", [1, 2, 3, 4])
@pytest.mark.parametrize("wall", CLAD)
@pytest.mark.parametrize("key", list(AT_WALL))
def test_no_strip_of_the_walls_membrane_stays_bare_over_deck_roof_or_saddle(key, wall, level):
    """It ends behind the foot of the cladding; from there down metal stands before what is turned up."""
    section = drawn(key, ladder_numbers(level, wall))
    part = shapes(section)
    foot = part["cladding"].bounds[1]
    assert foot < part["membrane"].bounds[1] < foot + 10
    metal = part[AT_WALL[key]]
    assert metal.bounds[1] < foot - 30
    assert metal.bounds[3] > part["membrane"].bounds[1] + 25
    if key == "deck":
        assert metal.bounds[1] < part["walked on"].bounds[1]


@pytest.mark.parametrize("spell", [10.0, 45.0, 75.0, 140.0])
def test_a_saddle_stands_75_mm_behind_the_cladding_over_it(spell):
    """So that the membrane laps it there: the cladding stops higher as the wall is wetter, the saddle goes up by the wind alone."""
    lines = asked(scheduled(spell, 10.0, parapet=True))
    assert lines["saddle_up"].value >= lines["roof_gap"].value + 75
    if spell == 140.0:
        assert (lines["roof_gap"].value, lines["saddle_up"].value) == (75, 150)
        assert lines["saddle_up"].standing == "ours"


@pytest.mark.parametrize(("level", "fall"), [(1, 6), (2, 10), (3, 27), (4, 27)])
@pytest.mark.parametrize("wall", CLAD)
def test_the_flashing_over_a_ledger_falls_as_the_head_flashing(wall, level, fall):
    """As read in the table; where a rule asks more of the head flashing, of it too."""
    for own, drawn_as in (({}, fall), ({"head_slope": 30}, 30)):
        section = drawn("deck-slats", ladder_numbers(level, wall, **own))
        [size] = [one for one in section.dimensions if one.key == "head_slope"]
        assert size.drawn == pytest.approx(drawn_as)
        part = shapes(section)
        assert part["flashing"].bounds[2] == pytest.approx(0)
        assert part["flashing"].bounds[0] < part["ledger"].bounds[0]
        assert not part["flashing"].intersection(part["slat 0"]).area
    schedule = scheduled(wall_type=wall, **SLATS)
    lines = asked(schedule)
    assert "falling outward as the head flashing" in lines["ledger_flash"].build
    [step] = [one.text for one in schedule.steps if "flashing over its ledger" in one.text]
    assert f"falling {lines['head_slope'].value:g}\u00a0%" in step


@pytest.mark.parametrize("wall", CLAD)
def test_what_a_slatted_deck_hangs_on_is_drawn_told_and_named(wall):
    schedule = scheduled(wall_type=wall, **SLATS)
    [step] = [one.text for one in schedule.steps if "blocks that a slatted deck" in one.text]
    assert step.startswith("Set blocking between the studs")
    assert "from cladding to membrane" in asked(schedule)["ledger_block"].build
    named = set(not_counted({line.key: line.value for line in schedule.lines}))
    assert {"ledger, joists, bolts, washers and slats of the deck", "blocking behind the ledger"} <= named
    numbers = ladder_numbers(4, wall)
    part = layers_of("deck-slats", numbers)
    assert "to membrane" in part["block"].name
    assert Polygon(part["block"].outline).bounds[2] == pytest.approx(
        Polygon(part["membrane below"].outline).bounds[0]
    )


@pytest.mark.parametrize("wall", CLAD)
@pytest.mark.parametrize("level", [1, 2, 3, 4])
def test_cladding_under_the_flashing_of_a_ledger_leaves_a_gap_that_takes_no_mesh(level, wall):
    """5 mm at its narrowest, the widest that the row mesh lets stand open."""
    parts = layers_of("deck-slats", ladder_numbers(level, wall))
    below, flashing = (Polygon(parts[key].outline) for key in ("cladding below", "flashing"))
    corner = min((x, y) for x, y in below.exterior.coords if y == below.bounds[3])
    over = LineString([corner, (corner[0], corner[1] + 100)]).intersection(flashing)
    assert over.bounds[1] - corner[1] == pytest.approx(5)
    assert "takes no mesh" in parts["cladding below"].name


@pytest.mark.parametrize("wall", CLAD)
def test_each_bolt_of_a_ledger_is_sealed_where_it_goes_through_the_membrane(wall):
    parts = layers_of("deck-slats", ladder_numbers(3, wall))
    seal, bolt, film, hanger, washer = (
        Polygon(parts[key].outline)
        for key in ("bolt seal", "bolt", "membrane below", "hanger", "washer outside")
    )
    assert seal.touches(film)
    assert seal.bounds[1] < bolt.bounds[1] < bolt.bounds[3] < seal.bounds[3]
    assert not hanger.intersection(washer).area  # seen in one piece


def test_the_apron_of_a_deck_is_named_among_what_is_not_counted():
    lines = {line.key: line.value for line in scheduled(**CLOSED).lines}
    named = not_counted(lines)
    assert "flashings and trays over roofs and decks" in named
    assert "what is walked on over that membrane, with its supports" in named


@pytest.mark.parametrize("wall", WALLS)
@pytest.mark.parametrize("level_door", [True, False])
def test_a_door_to_a_deck_has_the_floor_of_the_threshold_beside_it(wall, level_door):
    numbers = ladder_numbers(3, wall)
    numbers = numbers if level_door else numbers_without("door_level", numbers)
    floors = ("floor", "edge", "recess", "edge board", "floor joist")
    deck, door = layers_of("deck-door", numbers), layers_of("threshold", numbers)
    for key in floors:
        assert (key in deck) is (key in door), key
        if key in deck:
            assert deck[key].material == door[key].material


@pytest.mark.parametrize("wall", CLAD)
@pytest.mark.parametrize("spell", [10.0, 45.0, 75.0, 140.0])
def test_the_walls_membrane_laps_that_of_a_deck_as_sheets_lap(wall, spell):
    """From behind the foot of the cladding up; by hand 75 + 5 + 150 mm over what is walked on at the wettest walls."""
    mine = Circumstances(wall_type=wall, **CLOSED)
    schedule = detail_schedule(exposure_of(spell), pressure_of(10.0), mine)
    lines = asked(schedule)
    section = drawn("deck", numbers_of(schedule, mine, pressure_of(10.0)))
    part = shapes(section)
    lap = part["deck membrane"].bounds[3] - part["membrane"].bounds[1]
    assert lap >= lines["lap_h"].value
    assert not failures(section)
    if spell == 140.0:
        assert lines["deck_up"].value == 230
        assert lines["deck_up"].standing == "ours"


@pytest.mark.parametrize("wall", CLAD)
def test_a_door_to_a_deck_says_at_which_floor_it_is_drawn(wall):
    """A framed wall may have a floor of timber at the deck."""
    section = drawn("deck-door", ladder_numbers(3, wall))
    assert section.layer("floor").material == "concrete"
    assert any("Drawn at a slab" in said and "timber" in said for said in section.notes)


@pytest.mark.parametrize("wall", CLAD)
def test_at_a_level_door_no_timber_is_told_where_its_channel_stands(wall):
    """Its order forbids timber below the door; before a door with a step a floor may end in timber."""
    numbers = ladder_numbers(3, wall)
    for rows, level in ((numbers, True), (numbers_without("door_level", numbers), False)):
        notes = " ".join(drawn("threshold", rows).notes)
        assert ("no edge of timber" in notes) is level
        assert ("an edge of timber is recessed alike" in notes) is not level
        told = " ".join(drawn("deck-slats", rows).warnings)
        assert ("ledger stops at both sides of jambs and channel" in told) is level
        assert ("posts of its own, the channel on a kerb or bearer of concrete" in told) is level
        assert ("its flashing would lie where tray and sill support are" in told) is not level
        assert "ledger lies below" not in told


def test_the_step_of_a_ledger_ends_it_where_its_drawing_does():
    """Beside every door, at a level one beside its channel; a wall without a door says nothing of it."""
    ends = "the ledger stops at both sides of the jambs"
    for threshold, said in (
        ("no door on this wall", False),
        ("a step at every door", True),
        ("level at one door at least", True),
    ):
        schedule = scheduled(threshold=threshold, **SLATS)
        [step] = [step.text for step in schedule.steps if "ledger of a slatted deck through" in step.text]
        assert (ends in step) is said
        assert ("at a level one of its channel too" in step) is threshold.startswith("level")


def test_slats_and_joists_have_their_steps():
    """A slatted deck has no paving before its level door."""
    steps = [step.text for step in scheduled(threshold="level at one door at least", **SLATS).steps]
    [last] = [text for text in steps if "level door last" in text]
    assert "or slats where the deck is slatted" in last
    assert [
        text for text in steps if "bolt spacers and ledger" in text and "then lay joists and slats" in text
    ]


def test_below_the_snow_a_slatted_deck_keeps_off_the_base_sheet():
    told = asked(scheduled(snow_depth=300.0, **SLATS))["deck_slats"].build
    assert "off the cladding or, below the height that snow asks, off the base sheet" in told


@pytest.mark.parametrize("gap", [25, 50, 75])
@pytest.mark.parametrize("wall", CLAD)
def test_the_sheet_behind_the_cladding_laps_what_goes_up_behind_a_saddle(wall, gap):
    """150 mm, as level 3 of lap_h says: the strip under the saddle, and the wall's sheet that hung there before."""
    section = drawn("saddle", ladder_numbers(3, wall, saddle_up=150, roof_gap=gap))
    part = shapes(section)
    edge = part["membrane"].bounds[1]
    assert part["strip"].bounds[3] - edge >= 150 - 1e-9
    assert part["membrane below"].bounds[3] > part["strip"].bounds[3] + 20
    assert failures(section) == ()
    told = [one for one in section.dimensions if one.name == "strip lapped"]
    assert [one.value for one in told] == ([150] if part["strip"].bounds[3] - edge < 150.1 else [])


@pytest.mark.parametrize("wall", WALLS)
def test_a_joist_hangs_in_a_hanger_where_its_ledger_hangs_on_the_wall(wall):
    section = drawn("deck-slats", ladder_numbers(3, wall))
    part = shapes(section)
    assert ("hanger" in part) is ("masonry" not in wall)
    if "hanger" in part:
        assert part["hanger"].distance(part["ledger"]) < 1e-6
        assert part["hanger"].distance(part["joist"]) < 1e-6
        assert section.layer("hanger").name
        assert "hangers" in " ".join(section.notes)
