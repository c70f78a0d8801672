"""A window or door that stands at the boards behind an outer leaf: nothing is left open between the two, and the words say what is drawn."""

from dataclasses import replace

import pytest
from shapely import LineString, Polygon
from shapely import box as shapely_box
from test_junction import (
    EVERY_FRAME,
    JUNCTIONS,
    ladder_numbers,
    layers_of,
    numbers_without,
    refused_frame,
)
from test_work_frames import steps_of

from exposure.detail.beside import beside
from exposure.detail.circumstances import Circumstances
from exposure.detail.ladder import ladder_rows
from exposure.junction.catalogue import section_of
from exposure.junction.drop import follow
from exposure.junction.measured import Proven
from exposure.junction.proofs import failures
from exposure.junction.window import NotDrawnError
from exposure.junction.work_scene import PARTS, frames_of

BOARDS = "at the sheathing"
LEAVES = [one for one in EVERY_FRAME if "masonry" in one[1]]
FRAMES = ("nailing flange", "box frame with straps")


def junction(key):
    return next(one for one in JUNCTIONS if one.key == key)


def reach(layer, axis=0):
    places = [point[axis] for point in layer.outline]
    return min(places), max(places)


def slot(layers):
    """From the back of the outer sill to the front of the frame."""
    return reach(layers["outer sill"])[1], reach(layers["frame"])[0]


@pytest.mark.parametrize("key", ["sill", "threshold"])
def test_nothing_that_falls_before_the_frame_gets_into_the_cavity(key):
    """Straight down, every 2 mm, something lies in the way: a plain fall of a drop, not the proof that runs along outlines.

    The tray of cavity masonry lies over its cavity and drains onto the sill; that of a framed wall goes down into the cavity.
    """
    for level, wall, position, sheathing, frame in LEAVES:
        numbers = ladder_numbers(level, wall, position=position, sheathing=sheathing, frame=frame)
        try:
            section = section_of(junction(key), numbers)
        except NotDrawnError:
            continue
        layers = {layer.key: layer for layer in section.layers}
        back, front = slot(layers)
        closing = (
            one for one in section.layers if one.cut and (one.key != "tray" or wall == "cavity masonry")
        )
        shapes = [Polygon(layer.outline) for layer in closing]
        x = back + 2.0
        while x < front:
            assert any(one.intersects(LineString([(x, 60), (x, -40)])) for one in shapes), (wall, position, x)
            x += 2


@pytest.mark.parametrize("frame", FRAMES)
@pytest.mark.parametrize("cavity", [30, 50, 75, 100])
@pytest.mark.parametrize("key", ["sill", "threshold"])
def test_water_off_the_panes_runs_over_the_cavity_onto_the_sill(key, cavity, frame):
    """50 mm over the stone, as the row sill_cover says; by hand: 100 mm of leaf outside of its back is the wall's face."""
    numbers = ladder_numbers(3, "masonry veneer", frame=frame, cav_mas=cavity)
    section = section_of(junction(key), numbers)
    layers = {layer.key: layer for layer in section.layers}
    stone, cover = layers["outer sill"], layers["cover"]
    back = reach(stone)[1]
    assert [one.drawn for one in section.dimensions if one.key == "sill_cover"] == [pytest.approx(50)]
    assert cover.carrier == "frame"
    assert Polygon(cover.outline).distance(Polygon(stone.outline)) >= 3  # the frame sinks, the leaf does not
    start = (reach(layers["frame"])[0], reach(layers["frame"], 1)[1] - 6)
    ends = follow(Proven(section), "frame", start)
    assert ends
    for way, why in ends:
        assert not why
        assert way[-1][0] < back - 100
        assert (
            any(abs(x - back) < 1 and y > reach(stone, 1)[1] for x, y in way)
            or min(y for x, y in way if x > back) > reach(stone, 1)[1]
        )


def test_barrier_board_and_cover_are_ordered_where_they_are_drawn():
    """A board that no step sets is left to whoever finds the hole."""
    for level, wall, position, sheathing, frame in LEAVES:
        numbers = ladder_numbers(level, wall, position=position, sheathing=sheathing, frame=frame)
        behind = wall == "masonry veneer" and position == BOARDS
        try:
            drawn = [layers_of(key, numbers) for key in ("jamb", "head")]
            outside = layers_of("sill", numbers)
        except NotDrawnError:
            continue
        told = [step.text.lower() for step in steps_of(numbers)]
        for layers in drawn:
            assert ("reveal board" in layers) is behind
            if behind:
                assert layers["reveal board"].rows == ("reveal_board",)
        assert ("cover" in outside) is behind
        places = [
            [place for place, text in enumerate(told) if word in text]
            for word in (
                "barriers the fire rules ask for, one along both jambs",
                "build the outer leaf up: sill",
                "with a reveal board, from the leaf",
                "with the metal cover",
            )
        ]
        assert [len(one) for one in places] == [int(behind)] * 4, (wall, position, told)
        if behind:
            assert places == sorted(places)  # barrier, leaf with its courses, then board and cover
            added = [part for step in steps_of(numbers) for part in step.adds]
            assert added.index("barriers") < added.index("leaf") < added.index("reveal boards")
            assert any(
                "board, foot open" in [one.name for one in one.names]
                for one in frames_of(steps_of(numbers), numbers)
            )


def test_the_metal_cover_lies_before_the_boards_that_come_down_over_its_ends():
    """Water off a board drips inside the turned-up end: the end stands behind the board, so it is there first."""
    for sheathing in ("sheathed", "open studs"):
        numbers = ladder_numbers(2, "masonry veneer", sheathing=sheathing)
        [step] = [one for one in steps_of(numbers) if "reveal boards" in one.adds]
        assert step.text.index("metal cover") < step.text.index("reveal board,")
        assert "before the boards hide them" in step.hold
        board, cover = (PARTS[part](numbers)[0] for part in ("reveal boards", "sill cover"))
        ends = [face for face in cover if face.material == "metal" and len({x for x, *_ in face.points}) == 1]
        side, foot = (min(spot[way] for face in board for spot in face.points) for way in (0, 1))
        end = min(ends, key=lambda face: face.points[0][0])
        assert end.points[0][0] < side < min(x for x, *_ in ends[1].points)  # one end behind the board
        top = [z for _, z, _ in end.points]
        assert min(top) < foot < max(top)  # it hides the end's top, and its foot is open


def test_the_tray_over_a_saddle_is_told_beside_whatever_roof_stands_there_too():
    row = next(one for one in ladder_rows() if one.key == "step_tray")
    flat, pitched = {"roof_below": "flatter than 10 degrees"}, {"roof_below": "pitched at 10 degrees or more"}
    deck = {"deck": "enclosed at the first floor"}
    for there in ({}, flat, pitched, deck, {**pitched, **deck}):
        for parapet in (True, False):
            if not (parapet or there):
                continue
            mine = Circumstances(wall_type="masonry veneer", parapet=parapet, **there)
            said = row.words_for("build", mine) or row.build[0]
            assert ("over the saddle" in said) is parapet, said
            assert ("stepped with the slope" in said) is (
                "roof_below" in there and there["roof_below"] == pitched["roof_below"]
            )


def test_the_reveal_board_meets_leaf_and_frame():
    for frame in FRAMES:
        for key in ("jamb", "head"):
            layers = layers_of(key, ladder_numbers(2, "masonry veneer", frame=frame))
            board, window = Polygon(layers["reveal board"].outline), Polygon(layers["frame"].outline)
            leaf = Polygon(layers["cladding" if key == "jamb" else "leaf lintel"].outline)
            assert board.distance(leaf) < 1e-6 > board.distance(window)
            assert board.distance(Polygon(layers["closer"].outline)) < 2  # course between, at the jamb


@pytest.mark.parametrize(
    ("position", "frame"),
    [("over the cavity", "box frame with straps"), ("in the masonry cavity", "set back in masonry")],
)
@pytest.mark.parametrize(("cavity", "gap"), [(50, 0), (75, 17), (100, 42)])
def test_a_frame_too_shallow_for_a_deep_cavity_is_told(position, frame, cavity, gap):
    """By hand: it must reach 12 mm behind the boards' face, so 58 of its 70 mm stand before it: 75 - 58 = 17."""
    numbers = ladder_numbers(2, "masonry veneer", position=position, frame=frame, cav_mas=cavity)
    found = [one for one in section_of(junction("jamb"), numbers).conflicts if "dpc_jamb" in one.rows]
    assert [f"{gap} mm behind the leaf" in one.words for one in found] == ([True] if gap else [])


@pytest.mark.parametrize("frame", ["box frame with straps", "set back in masonry"])
@pytest.mark.parametrize("cavity", [40, 50, 100])
def test_brackets_carry_a_window_over_the_cavity_of_cavity_masonry(cavity, frame):
    """By hand: 70 mm of frame from the leaf's back in, its middle 35 behind that, and 50 mm of insulation before the inner leaf."""
    numbers = ladder_numbers(3, "cavity masonry", frame=frame, cav_mas=cavity)
    layers = layers_of("sill", numbers)
    arm, bed, packer, tray, window, leaf = (
        Polygon(layers[key].outline).bounds
        for key in ("support", "support bed", "packer", "tray", "frame", "core")
    )
    middle = -cavity + 35
    for part in (arm, packer, bed):
        assert part[0] < middle - 10  # a good way out beyond the middle
        assert part[0] > -cavity + 10  # water drops past it
    assert arm[2] == leaf[0] == 50
    assert arm[3] <= tray[1] < packer[3] == window[1]
    for one, other in (
        ("support", "support bed"),
        ("support bed", "tray strip"),
        ("tray strip", "tray"),
        ("tray", "packer"),
    ):
        assert Polygon(layers[one].outline).distance(Polygon(layers[other].outline)) < 0.5
    screw = Polygon(layers["support screw"].outline).bounds
    assert screw[3] < tray[1]
    assert screw[2] > 80
    steps = steps_of(numbers)
    added = [part for step in steps for part in step.adds]
    assert added.index("support") < added.index("tray") < added.index("window")
    assert "no screw through the tray" in next(one.text for one in steps if "support" in one.adds)


@pytest.mark.parametrize("key", ["sill", "threshold"])
def test_a_film_tray_lies_on_a_strip_over_the_cavity(key):
    """By hand: the leaf's back is 50 mm before the insulation; 9 % of fall over the strip on the bevel or floor and 46 mm beyond it.

    At a window it goes up behind the whole back of the tray, as its step says: 2 mm of it, from where the tray is turned up.
    """
    layers = layers_of(key, ladder_numbers(4, "cavity masonry", cav_mas=50))
    strip, tray = Polygon(layers["tray strip"].outline), Polygon(layers["tray"].outline)
    assert strip.bounds[0] == pytest.approx(-46)  # clear of the leaf
    assert strip.bounds[2] > 10  # it bears on what the tray lies on
    if key == "sill":
        assert strip.bounds[2:] == pytest.approx((tray.bounds[2] + 2, tray.bounds[3]))
        upright = LineString([(tray.bounds[2] + 1, -100), (tray.bounds[2] + 1, 100)]).intersection(strip)
        assert upright.length == pytest.approx(tray.bounds[3] - upright.bounds[1])
        assert upright.bounds[1] - strip.bounds[1] == pytest.approx(0.09 * (tray.bounds[2] + 46))
    else:
        assert strip.bounds[3] - strip.bounds[1] == pytest.approx(0.09 * (strip.bounds[2] + 46) + 2)
    for x in (-40, -20, 0):
        spot = Polygon([(x, -200), (x + 0.1, -200), (x + 0.1, 100), (x, 100)])
        assert strip.intersection(spot).bounds[3] == pytest.approx(
            tray.intersection(spot).bounds[1], abs=0.05
        )
    assert "tray strip" not in layers_of(
        key, ladder_numbers(4, "masonry veneer")
    )  # its tray ends on the wall


@pytest.mark.parametrize("wall", ["cavity masonry", "masonry veneer"])
def test_a_door_that_stands_behind_a_leaf_has_its_slot_closed(wall):
    """By hand: its frame is 22 mm before the boards or the insulation, the leaf 50 (and 1.5 of membrane) before them."""
    there = {"position": "in the masonry cavity", "frame": "set back in masonry"}
    numbers = ladder_numbers(4, wall, **there)
    gap = 28 if wall == "cavity masonry" else 30
    for key in ("threshold", "deck-door"):
        section = section_of(junction(key), numbers)
        layers = {layer.key: layer for layer in section.layers}
        said = [note for note in section.warnings if f"{gap} mm behind the leaf" in note]
        assert len(said) == 1
        assert "along the barrier" in said[0]
        assert "reveal board" in said[0]
        assert reach(layers["frame"])[0] == -22
    [step] = [one.text for one in steps_of(numbers) if "jamb course" in one.adds]
    assert "at a door turned in along the barrier to its frame, with a reveal board" in step
    rows = {row.key: row for row in ladder_rows()}
    for threshold in ("a step at every door", "no door on this wall"):
        mine = Circumstances(wall_type=wall, window_position=there["position"], threshold=threshold)
        has_door = threshold != "no door on this wall"
        assert beside(rows["reveal_door"].when, mine) is has_door
        assert not beside(rows["reveal_board"].when, mine)
        assert rows["reveal_door"].build[0].startswith("At a door")
        for key, words in (
            ("dpc_jamb", "turn it in along the cavity barrier"),
            ("reveal_leaf", "behind a reveal board"),
        ):
            assert (words in (rows[key].words_for("build", mine) or "")) is has_door
    at_leaf = section_of(junction("threshold"), ladder_numbers(4, "masonry veneer"))
    assert not any("behind the leaf" in note for note in at_leaf.warnings)  # its jamb is drawn so


# --- a deck at a door


def test_a_door_stands_in_one_place_in_both_of_its_sections():
    """What carries a door over the cavity stands at other doors; on a deck's floor a door stands as far in as a flange would let it."""
    seen = 0
    for level, wall, position, sheathing, frame in EVERY_FRAME:
        numbers = ladder_numbers(level, wall, position=position, sheathing=sheathing, frame=frame)
        try:
            deck, door = layers_of("deck-door", numbers), layers_of("threshold", numbers)
        except NotDrawnError:
            continue
        places = [reach(one["frame"]) for one in (deck, door)]
        if "support" in door:
            assert places[0][0] == max(places[1][0], -22)
        else:
            assert places[0] == places[1]
            seen += 1
    assert seen > 60


@pytest.mark.parametrize("level", [1, 4])
@pytest.mark.parametrize(
    ("wall", "cavity"), [("masonry veneer", 50), ("masonry veneer", 100), ("cavity masonry", 50)]
)
def test_a_deck_s_membrane_goes_over_the_leaf_under_a_metal_sill(wall, cavity, level):
    """45 past the leaf and 75 over the deck, as the row deck_sill says, where a step of 100 leaves no more; the leaf is 100 thick."""
    section = section_of(junction("deck-door"), ladder_numbers(level, wall, cav_mas=cavity))
    layers = {layer.key: layer for layer in section.layers}
    film, leaf, sill = (Polygon(layers[key].outline) for key in ("deck membrane", "cladding", "cover"))
    face, back = leaf.bounds[0], leaf.bounds[2]
    assert back - face == 100
    sizes = [one.drawn for one in section.dimensions if one.key == "deck_sill"]
    assert sizes == [pytest.approx(45), pytest.approx(75)][: 2 if level == 1 else 1]
    deck = 32 - next(one.value for one in section.dimensions if one.key == "deck_step")
    assert sill.bounds[1] - deck >= 75
    for x in range(int(face) + 1, int(back)):  # the whole top of the leaf lies under it, and it falls outward
        assert film.intersects(LineString([(x, leaf.bounds[3] + 3), (x, leaf.bounds[3] - 8)]))
    top = [
        max(y for _, y in film.intersection(LineString([(x, -300), (x, 300)])).coords)
        for x in (face + 10, back - 10)
    ]
    assert top[0] < top[1] - 2
    assert film.bounds[3] > top[1] + 8  # turned up at the back of the leaf
    assert (
        sill.distance(film) >= 5
        if wall == "masonry veneer"
        else film.distance(Polygon(layers["tray"].outline)) < 0.1
    )
    start = (reach(layers["frame"])[0], reach(layers["frame"], 1)[1] - 6)
    for way, why in follow(
        Proven(section), "frame", start
    ):  # off the door, over the sill, down onto the deck
        assert not why
        assert way[-1][0] < face - 100
        assert min(x for x, y in way if y > deck + 5) > face - 60
    assert not section.conflicts


@pytest.mark.parametrize("wall", ["masonry veneer", "cavity masonry"])
def test_the_tray_at_a_deck_drains_as_its_row_says(wall):
    """Of cavity masonry onto the membrane and the deck, of a framed wall into the cavity, clear of the leaf."""
    section = section_of(junction("deck-door"), ladder_numbers(3, wall))
    leaf = Polygon(section.layer("cladding").outline).bounds
    ends = [way[-1] for way, why in follow(Proven(section), "tray", section.drop) if not why]
    assert ends
    for x, _ in ends:
        assert (x < leaf[0] - 100) if wall == "cavity masonry" else (leaf[2] + 20 < x < 0)


def test_a_step_too_low_for_its_sill_is_told():
    """By hand: 80 below the floor the deck lies at 32 - 80 = -48, the sill's edge at 7: 55 for 75, so 100 down."""
    numbers = ladder_numbers(2, "masonry veneer", deck_step=80)
    found = [one.words for one in section_of(junction("deck-door"), numbers).conflicts]
    sizes = [one.name for one in section_of(junction("deck-door"), numbers).dimensions]
    assert "under sill" not in sizes  # it would be drawn down into the deck
    assert len(found) == 1
    assert "leaves 55 mm" in found[0]
    assert "lay the deck 100 mm down" in found[0]


def test_the_sloped_top_of_a_parapet_lies_on_the_wall_s_membrane_clear_of_the_leaf():
    """The sloped top of a veneer stands on the frame: its membrane goes in under it, and the leaf stays clear, as leaf_gap says."""
    parts = layers_of("parapet-cap", ladder_numbers(3, "masonry veneer"))
    top, leaf, film = (Polygon(parts[key].outline) for key in ("plate", "cladding", "membrane"))
    assert top.bounds[1] - leaf.bounds[3] >= 8
    tape = Polygon(parts["plate tape"].outline)  # between the two, on the membrane's edge
    level = tape.bounds[1] + 0.7
    assert film.intersection(LineString([(-10, level), (200, level)])).length > 50
    assert top.bounds[1] == pytest.approx(tape.bounds[3])
    strip = Polygon(parts["strip"].outline)
    inner = [y for x, y in parts["strip"].outline if x == strip.bounds[2]]
    assert max(inner) - min(inner) >= 150  # over the roof's membrane, as lap_h says
    assert "150 mm down over the roof's" in parts["strip"].name
    assert "both sides" not in parts["strip"].name


@pytest.mark.parametrize("level", [1, 4])
@pytest.mark.parametrize("cavity", [50, 100])
@pytest.mark.parametrize("key", ["threshold", "deck-door"])
def test_a_metal_sill_at_a_door_bears_on_the_floor_and_on_no_leaf(key, cavity, level):
    """A groove carries nobody: an arm of the floor's edge lies under the metal, clear of what stands on the leaf."""
    numbers = ladder_numbers(level, "masonry veneer", cav_mas=cavity)
    section = section_of(junction(key), numbers)
    shape = {layer.key: Polygon(layer.outline) for layer in section.layers}
    bracket = shape["step bracket"]
    assert section.layer("step bracket").rows == ("step_bracket",)
    left, right = shape["cover"].bounds[0], shape["frame"].bounds[0]
    under = bracket.intersection(shape["cover"].buffer(0.1)).bounds
    assert right - under[2] < 3
    thick = (
        8 if key == "threshold" else 5
    )  # of its thinnest part, at the notch for the frame; over a leaf there is less room
    core = bracket.buffer(0.1 - thick / 2)  # one piece, from under the metal's front to its foot
    assert core.geom_type == "Polygon"
    assert core.bounds[0] - bracket.bounds[0] < thick
    leg = bracket.intersection(shapely_box(-500, shape["tray"].bounds[1], 500, -20))
    assert leg.bounds[2] - leg.bounds[0] == pytest.approx(10)
    assert "fixed to the frame alone" in section.layer("cover").name
    assert under[0] - left < 60  # the metal reaches 45 or 50 mm past leaf or cavity
    for one in {"cladding", "outer sill", "deck membrane"} & shape.keys():
        assert bracket.distance(shape[one]) >= 3, one
    assert bracket.bounds[1] < shape["tray"].bounds[1] - 10  # held below the tray
    edge = shape["edge" if "edge" in shape else "floor"]
    assert shape["step screw"].intersection(edge).area > 100
    bare = {row: value for row, value in numbers.values.items() if row != "step_bracket"}
    assert "step bracket" not in {
        one.key for one in section_of(junction(key), replace(numbers, values=bare)).layers
    }


@pytest.mark.parametrize("wall", ["masonry veneer", "cavity masonry"])
def test_no_metal_sill_is_said_to_bear_a_step_by_its_groove(wall):
    rows = {row.key: row for row in ladder_rows()}
    for key in ("sill_cover", "deck_sill"):
        said = (rows[key].build[0], *(one["build"] for one in rows[key].otherwise))
        assert all("step" not in one or "packers" in one for one in said), key
    veneer = wall == "masonry veneer"
    assert (wall in rows["step_bracket"].walls) is veneer
    section = section_of(junction("deck-door"), ladder_numbers(2, wall))
    pad = Polygon(section.layer("step bracket" if veneer else "step packer").outline)
    assert pad.distance(Polygon(section.layer("cover").outline)) < 0.1
    if not veneer:  # over the leaf, before the tray's front
        assert pad.distance(Polygon(section.layer("deck membrane").outline)) < 0.1
        assert reach(section.layer("cladding"))[0] < pad.bounds[0]
        assert pad.bounds[2] < reach(section.layer("tray"))[0]


@pytest.mark.parametrize("frame", ["box frame with straps", "set back in masonry"])
@pytest.mark.parametrize("wall", ["masonry veneer", "cavity masonry"])
@pytest.mark.parametrize("level", [1, 4])
def test_the_jamb_of_a_door_behind_a_leaf_is_drawn_closed(level, wall, frame):
    """Its frame 22 mm before the boards: barrier, course and board go from the leaf in to it, as the rows of doors say."""
    numbers = ladder_numbers(level, wall, position="in the masonry cavity", frame=frame)
    section = section_of(junction("door-jamb"), numbers)
    layers = {layer.key: layer for layer in section.layers}
    board, course, closer, door, leaf = (
        Polygon(layers[key].outline) for key in ("reveal board", "dpc", "closer", "frame", "cladding")
    )
    assert door.bounds[0] == -22
    assert layers["reveal board"].rows == ("reveal_door",)
    for one in (board, course, closer):
        assert one.distance(leaf) < 2
        assert one.distance(door) < 1e-6
    behind = ("core",) if wall == "cavity masonry" else ("membrane", "opening tape")
    nearest = min(closer.distance(Polygon(layers[one].outline)) for one in behind)
    assert nearest < 1e-6  # nothing is left open behind the barrier
    window = section_of(junction("jamb"), numbers)
    assert "reveal board" not in {layer.key for layer in window.layers}


@pytest.mark.parametrize("wall", ["masonry veneer", "cavity masonry"])
def test_membrane_and_metal_sill_of_a_door_to_a_deck_come_when_the_leaf_is_up(wall):
    steps = steps_of(ladder_numbers(2, wall))
    [deck] = [place for place, step in enumerate(steps) if "no sill stands on the leaf" in step.text]
    [metal] = [place for place, step in enumerate(steps) if "set the metal sill" in step.text]
    sill = next(place for place, step in enumerate(steps) if "sill" in step.adds)
    tray = next(place for place, step in enumerate(steps) if "tray" in step.adds)
    assert tray < sill < deck <= metal
    assert "deck-door" in steps[deck].drawn
    assert "deck-door" in steps[metal].drawn
    assert ("brackets" if wall == "masonry veneer" else "packers") in steps[metal].text


@pytest.mark.parametrize("position", ["at the sheathing", "over the cavity", "in the masonry cavity"])
def test_the_tray_at_a_stopped_floor_comes_once_the_openings_below_are_closed(position):
    """A leaf cannot be built up to a floor before it lies on the lintels below that floor."""
    steps = steps_of(ladder_numbers(2, "masonry veneer", position=position))
    [tray] = [place for place, step in enumerate(steps) if "floor-leaf" in step.drawn]
    [none] = [place for place, step in enumerate(steps) if "build no such tray along it" in step.text]
    [head] = [place for place, step in enumerate(steps) if "leaf" in step.adds]
    [top] = [place for place, step in enumerate(steps) if "leaf top" in step.adds]
    assert head < tray == none - 1 < top


@pytest.mark.parametrize("wall", ["timber frame with cladding", "masonry veneer", "cavity masonry"])
def test_a_deck_whose_doors_are_all_level_is_asked_no_step(wall):
    """What drains lies below, what is walked on comes up level with the grating: rows, drawing and its size say so."""
    [row] = [one for one in ladder_rows() if one.key == "deck_step"]
    said = {}
    for threshold in ("a step at every door", "level at one door at least", "level at every door"):
        numbers = ladder_numbers(4, wall)
        mine = numbers.circumstances.changed(deck="enclosed at the first floor", threshold=threshold)
        values = {
            k: v for k, v in numbers.values.items() if threshold.startswith("level") or k != "door_level"
        }
        section = section_of(junction("deck-door"), replace(numbers, circumstances=mine, values=values))
        size = next(one for one in section.dimensions if one.key == "deck_step")
        words = " ".join(section.notes)
        said[threshold] = (
            size.name,
            "counts down to the top of what is walked on" in words,
            "level with the grating" in words,
        )
        asked = row.words_for("build", mine) or row.build[0]
        assert ("what is walked on comes up level" in asked) is (threshold == "level at every door")
    assert list(said.values()) == [("", True, False), ("", True, True), ("drained", False, True)]


@pytest.mark.parametrize("position", ["at the sheathing", "over the cavity", "in the masonry cavity"])
def test_brackets_are_asked_at_a_deck_s_door_alone_where_no_other_has_a_cover(position):
    """Over the cavity a door that opens on no deck stands on its sill support, and nothing of metal lies before it."""
    alone = position == "over the cavity"
    mine = Circumstances(
        wall_type="masonry veneer", window_position=position, deck="enclosed at the first floor"
    )
    rows = {one.key: one for one in ladder_rows()}
    asked = rows["step_bracket"].words_for("build", mine) or rows["step_bracket"].build[0]
    assert asked.startswith("At a door to a closed deck") is alone
    assert beside(rows["sill_cover"].when, mine) is not alone
    numbers = ladder_numbers(3, "masonry veneer", position=position)
    cover = {"sill_cover": 50.0} if not alone else {}
    values = {**{k: v for k, v in numbers.values.items() if k != "sill_cover"}, **cover}
    [step] = [
        one.text for one in steps_of(replace(numbers, values=values)) if "brackets of its metal" in one.text
    ]
    assert step.startswith("At a door to a closed deck") is alone


def test_what_goes_into_the_groove_of_a_frame_is_set_after_that_frame():
    """In every wall, position and frame; no groove is there before the frame that has it."""
    seen = set()
    for level, wall, position, sheathing, frame in LEAVES:
        numbers = ladder_numbers(level, wall, position=position, sheathing=sheathing, frame=frame)
        steps = steps_of(numbers)
        stands = next(place for place, step in enumerate(steps) if "window" in step.adds)
        grooved = [place for place, step in enumerate(steps) if "in the groove" in step.text]
        assert grooved, (wall, position)
        assert min(grooved) > stands, (wall, position, sheathing)
        seen.add((wall, position))
    assert len(seen) >= 4


def test_the_jamb_of_a_deck_s_door_is_drawn_where_the_windows_stand_over_the_cavity():
    """Its frame is 22 mm before the boards, the cavity 50 (and 1.5 of membrane): the slot to the leaf is closed, and a step does it."""
    there = {"position": "over the cavity", "frame": "box frame with straps"}
    numbers = ladder_numbers(4, "masonry veneer", **there)
    section = section_of(junction("door-jamb"), numbers)
    layers = {layer.key: layer for layer in section.layers}
    board, course, closer, door, leaf = (
        Polygon(layers[key].outline) for key in ("reveal board", "dpc", "closer", "frame", "cladding")
    )
    assert door.bounds[0] == -22
    for one in (board, course, closer):
        assert one.distance(leaf) < 2
        assert one.distance(door) < 1e-6
    steps = steps_of(numbers)
    window = next(place for place, step in enumerate(steps) if "window" in step.adds)
    closed, over = [place for place, step in enumerate(steps) if "door-jamb" in step.drawn]
    leaf = next(place for place, step in enumerate(steps) if "leaf" in step.adds)
    assert (
        window < closed < leaf < over
    )  # the board over the frame has the leaf to stand at, and the head was looked at
    for step in (steps[closed], steps[over]):
        assert "reveal board" in step.text
        assert step.text.startswith("At a door to a closed deck")
        assert step.hold.startswith("At a door to a closed deck")
    assert "head" not in steps[closed].text
    assert not any("door to the deck" in step.text for step in steps)
    assert "at a closed deck" in section.title
    assert any("jamb of a window" in note for note in section.notes)
    told = [one for one in section_of(junction("deck-door"), numbers).warnings if "mm behind the leaf" in one]
    assert [one.startswith("At a door to a closed deck") for one in told] == [True]
    said = " ".join(
        (steps[closed].text, *(one.build[0] for one in ladder_rows() if one.key == "reveal_door"))
    )
    assert "behind the cavity" not in said  # it is drawn 30 mm behind the leaf, over part of a cavity of 50
    for deck in ("none", "open slats near the ground", "enclosed at the first floor"):
        mine = Circumstances(wall_type="masonry veneer", window_position="over the cavity", deck=deck)
        assert beside("door behind a leaf", mine) is deck.startswith("enclosed")  # others stand as windows


def test_a_step_for_the_jambs_of_windows_and_doors_names_the_drawings_of_both():
    """By the door's alone the course would be turned in at windows too, whose own drawing has it lapped to the frame."""
    numbers = ladder_numbers(3, "cavity masonry", position="in the masonry cavity")
    for asked, drawn in ((numbers, ("jamb", "door-jamb")), (numbers_without("reveal_door", numbers), ())):
        [step] = [one for one in steps_of(asked) if "jamb course" in one.adds]
        assert tuple(step.drawn) == drawn
        assert ("at a door turned in" in step.text) is bool(drawn)


@pytest.mark.parametrize("key", ["jamb", "head", "door-jamb"])
def test_the_lining_of_a_cavity_wall_goes_into_each_reveal_up_to_the_inner_seal(key):
    """As its last step says; air is kept in by the lining and the seal, not by the cavity barrier between them."""
    parts = layers_of(key, ladder_numbers(3, "cavity masonry"))
    inside, lining, seal, frame = (
        Polygon(parts[one].outline) for one in ("lining in reveal", "lining", "seal", "frame")
    )
    assert inside.distance(seal) == 0
    assert inside.distance(lining) == 0
    assert (inside.bounds[0], inside.bounds[2]) == (frame.bounds[2], lining.bounds[2])
    assert not parts["closer"].air


@pytest.mark.parametrize("wall", ["masonry veneer", "cavity masonry"])
def test_mesh_stands_in_every_weep_hole_and_open_joint_of_a_leaf(wall):
    """An open upright joint is wider than the 5 mm of the row mesh: over trays, at the base, below a level door, under eaves."""
    seen = set()
    for one in JUNCTIONS:
        try:
            parts = {layer.key: layer for layer in one.make(ladder_numbers(3, wall)).layers}
        except NotDrawnError:
            continue
        for key in {"weep brick", "weep", "top joint"} & parts.keys():
            hole, mesh = (Polygon(parts[name].outline) for name in (key, f"{key} mesh"))
            assert hole.buffer(1e-6).covers(mesh), one.key
            assert mesh.bounds[3] == hole.bounds[3]
            assert mesh.bounds[1] - hole.bounds[1] <= 0.61  # 10 mm behind the face, on a bed that falls 6 %
            assert "mesh" in parts[key].rows
            seen.add(one.key)
    assert {"head", "base-soil", "deck", "flat-roof", "roof-at-wall", "threshold", "wall-top-eaves"} <= seen


@pytest.mark.parametrize("snow", [0, 400])
@pytest.mark.parametrize("level_door", [True, False])
@pytest.mark.parametrize("key", ["threshold", "deck-door"])
def test_the_floor_at_a_door_in_cavity_masonry_lies_on_the_inner_leaf_of_the_base_and_bears_the_frame(
    key, level_door, snow
):
    numbers = ladder_numbers(2, "cavity masonry", **({"snow_open": snow} if snow else {}))
    numbers = numbers if level_door else numbers_without("door_level", numbers)
    door, base = layers_of(key, numbers), layers_of("base-soil", numbers)
    part = {one: Polygon(door[one].outline) for one in ("floor", "inner leaf", "inner slab", "frame")}
    for mine, its in (("inner leaf", "core"), ("inner slab", "core boards")):
        assert part[mine].bounds[::2] == Polygon(base[its].outline).bounds[::2]
        assert part[mine].bounds[3] == part["floor"].bounds[1]
    left, _, right, _ = part["frame"].bounds
    assert right - part["floor"].bounds[0] > (right - left) / 2
    assert "bear the frame" in door["floor"].name
    assert any("engineer" in one for one in section_of(junction(key), numbers).notes)


@pytest.mark.parametrize("wall", ["masonry veneer", "cavity masonry"])
def test_water_from_the_weep_holes_below_a_level_door_runs_into_its_channel(wall):
    """Tight to the leaf, its brim under the foot of the holes; and the course under the sill has its number there too."""
    parts = layers_of("threshold", ladder_numbers(2, wall))
    channel, leaf, hole = (Polygon(parts[key].outline) for key in ("channel", "cladding", "weep"))
    assert channel.distance(leaf) < 1e-6
    brim = max(y for x, y in parts["channel"].outline if x > channel.bounds[2] - 1e-6)
    assert hole.bounds[1] - 5 < brim < hole.bounds[1]
    assert parts["sill damp course"].name
    board = layers_of("sill", ladder_numbers(2, wall))["window board"]
    assert board.name.startswith("Window board")
    assert board.order == 9  # with an order it has a ring


@pytest.mark.parametrize("wall", ["masonry veneer", "cavity masonry"])
@pytest.mark.parametrize("key", ["threshold", "deck-door"])
def test_no_wall_tie_is_drawn_through_what_lies_at_a_threshold(key, wall):
    assert "ties" not in layers_of(key, ladder_numbers(2, wall))


@pytest.mark.parametrize("key", ["jamb", "head"])
def test_the_membrane_is_turned_into_the_opening_under_the_tape_that_lines_it(key):
    """As the step says, by the 50 mm that tape is bonded at level 3 at least; the stud, not the tape, makes room for it."""
    parts = layers_of(key, ladder_numbers(3, "masonry veneer", frame="nailing flange"))
    film = Polygon(parts["membrane" if key == "jamb" else "first membrane"].outline)
    tape = Polygon(parts["opening tape"].outline)
    assert film.bounds[2] >= 50
    assert film.distance(tape) == 0
    along = 0 if key == "jamb" else 1
    assert film.bounds[1 + 2 * (along == 0)] == pytest.approx(tape.bounds[3 - 2 * (along == 0)])


@pytest.mark.parametrize("level_door", [True, False])
@pytest.mark.parametrize("position", ["over the cavity", "at the sheathing"])
@pytest.mark.parametrize("level", [1, 4])
def test_the_floor_at_a_door_in_a_veneer_wall_lies_on_the_inner_wall_of_the_base(level, position, level_door):
    """Out to the cavity, and deep enough for what is screwed to its edge; upstairs, at a deck, framing stands under it."""
    numbers = ladder_numbers(level, "masonry veneer", position=position)
    numbers = numbers if level_door else numbers_without("door_level", numbers)
    door, base = layers_of("threshold", numbers), layers_of("base-soil", numbers)
    floor, under = Polygon(door["floor"].outline), Polygon(door["inner leaf"].outline)
    assert under.bounds[::2] == Polygon(base["low wall"].outline).bounds[::2]
    assert under.bounds[3] == floor.bounds[1]
    screws = {"support screw", "step screw"} & door.keys()
    assert screws
    for one in screws:
        assert Polygon(door[one].outline).bounds[1] - floor.bounds[1] >= 20
    assert base["floor"].order  # with an order it has a ring
    assert base["low wall"].order
    assert "at a door out over this wall" in base["floor"].name
    assert any("deep for what is screwed" in one for one in section_of(junction("threshold"), numbers).notes)
    first = next(step.text for step in steps_of(numbers) if "base-soil" in step.drawn)
    assert "At a door the floor comes out over the inner wall to the cavity" in first
    if not level_door:
        assert "inner leaf" not in layers_of("deck-door", numbers)


@pytest.mark.parametrize("wall", ["masonry veneer", "cavity masonry"])
def test_the_courses_of_a_leaf_end_at_both_sides_of_a_door(wall):
    """Beside a door the sill's course lies under the leaf's; where snow lifts the floor the leaf's runs on below the sill."""
    for snow in (0, 400):
        numbers = ladder_numbers(2, wall, **({"snow_open": snow} if snow else {}))
        if not snow:
            numbers = numbers_without("snow_open", numbers)
        numbers = numbers_without("door_level", numbers)
        first = next(step.text for step in steps_of(numbers) if "base-soil" in step.drawn)
        assert ("leaf's" in first and "which lies lower" in first) is not snow
        assert ("under the plate ends, turned up" in first) is (wall == "masonry veneer")
        door = {one.key: one for one in section_of(junction("threshold"), numbers).layers}
        lower = (
            "leaf dpc" not in door or reach(door["leaf dpc"], 1)[1] > reach(door["sill damp course"], 1)[0]
        )
        assert lower is not snow
    [row] = [one for one in ladder_rows() if one.key == "dpc_up"]
    for deep, said in ((0.0, True), (400.0, False)):
        mine = Circumstances(wall_type=wall, threshold="a step at every door", snow_depth=deep)
        asked = row.words_for("build", mine) or row.build[0]
        assert asked.startswith(row.build[0].removesuffix("."))
        assert ("which lies lower" in asked) is said


@pytest.mark.parametrize("position", ["at the sheathing", "over the cavity"])
@pytest.mark.parametrize("wall", ["masonry veneer", "cavity masonry"])
def test_the_course_under_a_doors_sill_is_laid_before_the_course_beside_it(wall, position):
    """Its ends reach 150 mm into a joint below the leaf's lowest course: the sill is set later, on a course that lies."""
    for snow in (False, True):
        numbers = ladder_numbers(3, wall, position=position, frame="box frame with straps")
        if not snow:
            numbers = numbers_without("snow_open", numbers)
        steps = steps_of(numbers)
        first = next(step.text for step in steps if "base-soil" in step.drawn).replace("\xa0", " ")
        assert ("which lies lower: lay that first, 150 mm past each side" in first) is not snow
        [sill] = [step for step in steps if "sill on the leaf alone" in step.text]
        assert ("(at a ground-floor door it lies already)" in sill.text) is not snow
        assert bool(sill.at_doors) is not snow


def test_the_tray_over_a_stop_of_the_cavity_goes_on_round_corners():
    """One open cavity goes round the corner: a stop-end there would leave its corner unstopped."""
    numbers = ladder_numbers(3, "masonry veneer")
    [step] = [step.text for step in steps_of(numbers) if "floor-leaf" in step.drawn]
    assert "round each corner lap and seal it to the next wall's, a stop-end where that has none" in step
    assert "in a stop-end clear of its sill at both sides of a door" in step
    [row] = [one.build[0] for one in ladder_rows() if one.key == "cav_run_leaf"]
    assert row.endswith(
        "round each corner lapped and sealed to the next wall's, a stop-end where that has none."
    )
    bare = numbers_without("door_sill", numbers)
    for mine, ending in ((numbers, "stop-ends up beside doors"), (bare, "on round corners")):
        tray = layers_of("floor-leaf", mine)["tray"].name
        assert "on round corners" in tray
        assert tray.endswith(ending)


@pytest.mark.parametrize("key", ["wall-top-eaves", "wall-top-gable", "parapet-cap", "sill", "threshold"])
def test_the_gaps_that_let_the_frame_sink_have_mesh_where_they_open_into_the_cavity(key):
    """Over a leaf and under a frame over the cavity, whole: by hand 12 mm, 10 mm at a parapet, and 6 mm, all more than the 5 mm of the row mesh."""
    numbers = ladder_numbers(3, "masonry veneer", position="over the cavity", frame="box frame with straps")
    parts = layers_of(key, numbers_without("door_level", numbers))
    over = {"wall-top-eaves": (12, "soffit"), "wall-top-gable": (12, "soffit"), "parapet-cap": (10, "plate")}
    high, lid = over.get(key, (6, "frame"))
    top = key in over
    gap = parts["leaf gap" if top else "sill mesh"]
    assert gap.material == "mesh"
    assert {"mesh", "leaf_gap"} <= set(gap.rows)
    assert "mesh or a soft strip" in gap.name
    low, upper = reach(gap, 1)
    assert upper - low == pytest.approx(high)
    shape = Polygon(gap.outline)
    for one in ("leaf above" if top else "sill damp course", lid):
        assert shape.distance(Polygon(parts[one].outline)) < 1e-6, one


@pytest.mark.parametrize("tray", [None, 150.0])
@pytest.mark.parametrize("wall", ["masonry veneer", "cavity masonry"])
def test_the_foundation_of_a_leaf_lies_lower_at_a_door(wall, tray):
    """The cavity is as deep below the course under its sill, which lies lower than the leaf's; in snow too where that is a tray."""
    numbers = ladder_numbers(3, wall)
    if tray and wall == "masonry veneer":
        numbers = replace(numbers, values={**numbers.values, "base_tray": tray})
    bare = numbers_without("snow_open", numbers)
    base, door = layers_of("base-soil", bare), layers_of("threshold", numbers_without("door_level", bare))
    footing = base["footing"]
    assert footing.name == "Foundation, at a door 225 mm below its course"
    assert "cav_base" in footing.rows
    deeper = replace(bare, values={**bare.values, "cav_base": 240.0})
    assert "240 mm below" in layers_of("base-soil", deeper)["footing"].name
    below = reach(base["floor"], 1)[1] - reach(footing, 1)[1]  # both from the face of the floor
    at_door = reach(door["floor"], 1)[1] - reach(door["sill damp course"], 1)[0] + 225
    assert at_door > below + 20
    bare_of_doors = layers_of("base-soil", numbers_without("door_sill", bare))
    assert bare_of_doors["footing"].name == "Foundation"
    snow = replace(bare, values={**bare.values, "snow_open": 400.0})
    told = "at a door" in layers_of("base-soil", snow)["footing"].name
    door = section_of(junction("threshold"), numbers_without("door_level", snow))
    ground = Polygon(door.layer("snow level").outline).bounds[1] - 400
    depth = door.asked_floor - (reach(door.layer("footing"), 1)[1] - ground)  # under the face of the floor
    assert told is snow.has("base_tray")  # all of that base goes up with the floor of the door
    assert depth > 225 + 20 or not told


@pytest.mark.parametrize("wall", ["masonry veneer", "cavity masonry"])
@pytest.mark.parametrize("level", [1, 4])
def test_the_clear_cavity_is_sized_at_a_door_that_snow_lifts(wall, level):
    """As at the base: from the top of the leaf's course down to what closes the cavity; other doors show none of that course."""
    junction = next(one for one in JUNCTIONS if one.key == "threshold")
    own = {"gnd": 500, "paved": 500, "snow_open": 500, "snow_roof": 500}
    sections = []
    for more in (own, {}):
        numbers = ladder_numbers(level, wall, **more)
        left = {key: value for key, value in numbers.values.items() if key != "door_level"}
        sections.append(section_of(junction, replace(numbers, values=left)))
    door, plain = sections
    [size] = [one for one in door.dimensions if one.key == "cav_base"]
    (_, _, _, high), (_, _, _, foot) = (
        Polygon(door.layer(key).outline).bounds for key in ("leaf dpc", "footing")
    )
    assert (size.start[1], size.end[1]) == pytest.approx((foot, high))
    assert size.value == size.drawn == pytest.approx(225)
    assert not any(one.key == "cav_base" for one in plain.dimensions)


@pytest.mark.parametrize("key", ["sill", "threshold"])
@pytest.mark.parametrize("cavity", [30, 50, 100])
def test_the_gap_between_sill_and_metal_cover_has_mesh(key, cavity):
    """By hand 10 mm at the lip, 50 mm further in, where stone rises 10 % and metal 5 %, 7.5 mm: the row mesh asks it from 5 mm."""
    parts = layers_of(key, ladder_numbers(3, "masonry veneer", cav_mas=cavity))
    gap = Polygon(parts["cover mesh"].outline)
    back = [y for x, y in parts["cover mesh"].outline if x == gap.bounds[2]]
    assert max(back) - min(back) == pytest.approx(7.5, abs=0.1)
    for one in ("outer sill", "cover"):
        assert gap.distance(Polygon(parts[one].outline)) < 1e-6, one
    assert "mesh" in parts["cover mesh"].rows


@pytest.mark.parametrize("sheathing", ["sheathed", "open studs"])
@pytest.mark.parametrize("key", ["sill", "wall-top-eaves"])
def test_a_tie_ends_in_a_plate_on_the_membrane_and_its_screw_in_the_stud(key, sheathing):
    """As the row tie_holes says; past the 12 mm of boards, where there are any, 45 mm of screw."""
    parts = layers_of(key, ladder_numbers(3, "masonry veneer", sheathing=sheathing))
    tie = Polygon(parts["ties" if key == "sill" else "battens"].outline)
    skin = reach(parts["membrane"])[0]
    assert tie.bounds[2] == pytest.approx(45 + (12 if sheathing == "sheathed" else 0))
    middle = (tie.bounds[1] + tie.bounds[3]) / 2
    plate = tie.intersection(LineString([(skin - 1, middle - 50), (skin - 1, middle + 50)]))
    assert plate.length > 25
    behind = tie.intersection(LineString([(skin + 1, middle - 50), (skin + 1, middle + 50)]))
    assert behind.length < 5


@pytest.mark.parametrize(
    ("position", "frame"),
    [
        (position, frame)
        for position in ("over the cavity", "in the masonry cavity")
        for frame in ("box frame with straps", "set back in masonry")
        if not refused_frame("masonry veneer", position, frame)
    ],
)
def test_the_course_of_a_jamb_has_a_barrier_that_holds_it_to_the_leaf(position, frame):
    """No fire rule need ask it: the course lies between the two, as drawn, and the barrier stands first."""
    numbers = ladder_numbers(2, "masonry veneer", position=position, frame=frame)
    parts = layers_of("jamb", numbers)
    course, leaf, barrier = (Polygon(parts[one].outline) for one in ("dpc", "cladding", "closer"))
    assert course.distance(leaf) < 1e-6
    assert course.distance(barrier) < 1e-6
    [row] = [one for one in ladder_rows() if one.key == "dpc_jamb"]
    assert "held between leaf and cavity barrier" in row.build[0]
    steps = steps_of(numbers)
    [sets] = [step.text for step in steps if "barriers" in step.adds]
    if position == "over the cavity":
        assert "along both jambs of the opening in any case" in sets
        [leaf_up] = [step.text for step in steps if "leaf to the head" in step.adds]
        assert "between leaf and barrier" in leaf_up
    else:
        assert "Set the cavity barrier at jambs and head" in sets


@pytest.mark.parametrize("level", [1, 2, 3, 4])
def test_the_barrier_at_a_head_fills_the_corner_before_the_flange(level):
    """Whole and tight: down to the frame's head, as beside the frame at the jamb."""
    numbers = ladder_numbers(level, "masonry veneer", frame="nailing flange", position="at the sheathing")
    parts = layers_of("head", numbers)
    closer, frame = (Polygon(parts[key].outline) for key in ("closer", "frame"))
    flange = Polygon(parts["flange"].outline)
    assert frame.bounds[0] < closer.bounds[2] <= flange.bounds[0] + 1e-6
    assert closer.intersection(frame).area == pytest.approx(0, abs=1e-6)
    assert closer.boundary.intersection(frame.boundary).length > closer.bounds[2] - frame.bounds[0] - 1e-6
    assert not failures(section_of(junction("head"), numbers))


@pytest.mark.parametrize("level", [1, 2, 3, 4])
@pytest.mark.parametrize("wall", ["timber frame with cladding", "masonry veneer", "cavity masonry"])
def test_a_window_board_over_a_gap_stands_on_packers(wall, level):
    """By hand: a board 18 thick, level with the back, stands off the bevel by what the back is higher than that."""
    numbers = ladder_numbers(level, wall)
    assert not failures(section_of(junction("sill"), numbers))
    parts = layers_of("sill", numbers)
    board, bevel = (Polygon(parts[key].outline) for key in ("window board", "bevel"))
    packers = [Polygon(one.outline) for key, one in parts.items() if key.startswith("board packer")]
    off = (
        board.distance(bevel)
        if "opening tape" not in parts
        else board.bounds[1] - max(y for x, y in parts["opening tape"].outline if x > board.bounds[0])
    )
    assert bool(packers) is (off > 2)
    assert parts["window board"].name == "Window board" + ", packed" * bool(packers)
    for one in packers:
        assert one.bounds[3] == pytest.approx(board.bounds[1])
        assert one.bounds[3] - one.bounds[1] == pytest.approx(off, abs=0.2)
        assert board.bounds[0] <= one.bounds[0]


@pytest.mark.parametrize("level", [1, 2, 3, 4])
@pytest.mark.parametrize("wall", ["timber frame with cladding", "masonry veneer", "cavity masonry"])
def test_the_window_board_is_level_with_the_trays_back_or_above_it(wall, level):
    """So that neither back nor seal stands bare in the room; a back of film has a strip as high behind it, a rigid one none."""
    numbers = ladder_numbers(level, wall)
    parts = layers_of("sill", numbers)
    board, tray = (Polygon(parts[key].outline) for key in ("window board", "tray"))
    assert board.bounds[3] >= tray.bounds[3] - 1e-6
    film = wall != "cavity masonry" and not numbers.values["sill_form"].startswith("rigid")
    assert ("back strip" in parts) is film
    if film:
        strip = Polygon(parts["back strip"].outline)
        assert strip.bounds[3] == pytest.approx(tray.bounds[3])
        assert strip.distance(tray) == pytest.approx(0, abs=1e-6)


@pytest.mark.parametrize("frame", ["box frame with straps", "nailing flange"])
@pytest.mark.parametrize("cavity", [40, 50, 57, 75])
def test_the_membrane_below_a_cut_reaches_the_tray_that_goes_in_over_it(frame, cavity):
    """However steep the tray: else water that gets behind its leg finds bare boards."""
    numbers = ladder_numbers(1, "masonry veneer", position="at the sheathing", frame=frame)
    section = section_of(junction("head"), replace(numbers, values={**numbers.values, "cav_mas": cavity}))
    below, tray = (Polygon(section.layer(key).outline) for key in ("first membrane", "tray"))
    assert below.distance(tray) < 0.2
    assert below.intersection(tray).area < 0.1


@pytest.mark.parametrize("rise", [150, 159, 175, 200])
@pytest.mark.parametrize("frame", ["box frame with straps", "nailing flange"])
def test_tape_that_goes_high_lies_under_or_behind_the_tray_and_never_in_it(frame, rise):
    """In steps of 3 mm past the height at which it meets the tray's slope."""
    numbers = ladder_numbers(1, "masonry veneer", position="at the sheathing", frame=frame)
    for wide in range(200, 236, 3):
        told = replace(numbers, values={**numbers.values, "tape_w": wide, "head_tray_mas": rise})
        section = section_of(junction("head"), told)
        tape, tray = (Polygon(section.layer(key).outline) for key in ("head tape", "tray"))
        assert tape.intersection(tray).area < 0.1, wide


@pytest.mark.parametrize(
    ("wall", "frame"), [*(("masonry veneer", one) for one in FRAMES), ("cavity masonry", FRAMES[1])]
)
def test_how_far_the_leaf_laps_the_frame_has_its_size_at_jamb_and_head(wall, frame):
    """The bricklayer sets out his opening by it: 25 at a jamb, as its course laps the frame, 15 at the head; measured on leaf and frame as drawn."""
    numbers = ladder_numbers(3, wall, position=BOARDS, frame=frame)
    for key, leaf, size in (("jamb", "cladding", 25), ("head", "leaf lintel", 15)):
        section = section_of(junction(key), numbers)
        parts = {layer.key: layer for layer in section.layers}
        (low, high), (foot, end) = (reach(parts[one], 1) for one in ("frame", leaf))
        told = {
            ("reveal", "laps frame"),
            ("dpc_jamb", "on frame"),
        }  # the course, with which the leaf ends where nothing closes the way to a frame
        [said] = [one for one in section.dimensions if (one.key, one.name) in told]
        assert (said.value, said.drawn, end - low if key == "jamb" else high - foot) == pytest.approx(
            (size,) * 3
        )
