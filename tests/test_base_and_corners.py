"""Base of the wall, its corners and a floor line without a cavity: free ways for water and air, battens and closers held by what is drawn behind them."""

from dataclasses import replace
from itertools import pairwise, product

import pytest
from shapely import LineString, Point, Polygon, unary_union
from shapely.affinity import translate
from test_detail_ladder import exposure_of, pressure_of
from test_detail_rules import ANSWERS
from test_junction import WALLS, ladder_numbers, numbers_without, proofs_failed
from test_work_frames import steps_of

from exposure.detail import Circumstances, detail_schedule
from exposure.detail.ladder import ladder_rows
from exposure.detail.take_off import lowest_cladding
from exposure.draw.junction_canvas import Canvas, numbered_parts, tag_words
from exposure.draw.junction_drop import drop_way
from exposure.draw.junction_materials import shape
from exposure.draw.junction_sight import as_drawn
from exposure.junction.catalogue import JUNCTIONS, drawings_of, section_of
from exposure.junction.corners import outside_corner
from exposure.junction.numbers import numbers_of
from exposure.junction.proofs import failures
from exposure.junction.scene import moved
from exposure.junction.short_runs import short_runs_of
from exposure.junction.size_names import size_name
from exposure.junction.window import NotDrawnError

CLAD = (WALLS[0], WALLS[3])


def section(key, numbers):
    return section_of(next(one for one in JUNCTIONS if one.key == key), numbers)


def bounds(parts):
    return {key: Polygon(one.outline).bounds for key, one in parts.items()}


@pytest.mark.parametrize("key", ["base-soil", "base-paving"])
@pytest.mark.parametrize("wall", CLAD)
@pytest.mark.parametrize(("level", "drip"), [(2, 10), (3, 15), (4, 15)])  # as read in the table
def test_the_drip_at_the_base_stands_below_cladding_and_closer(key, wall, level, drip):
    """Also where it is as deep as the cavity: nothing of it stands in there, and battens' feet hold the closer."""
    cavity = {"cav_depth": 10, "cav_render": 10}
    for own in ({}, cavity):
        drawn = section(key, ladder_numbers(level, wall, **own))
        parts = {layer.key: layer for layer in drawn.layers}
        box = bounds(parts)
        flashing = parts["base flashing"].outline
        assert -min(x for x, _ in flashing) == pytest.approx(drip, abs=1.5)  # to the drip's own edge
        inside = [x for x, y in flashing if y > box["cladding"][1]]
        assert min(inside) >= -1.5 - 1e-9  # its leg alone
        assert box["closer"][1] == box["cladding"][1]
        assert box["battens"][1] == pytest.approx(box["closer"][3])
        assert parts["closer"].carrier == "battens"
        assert "battens" in parts["closer"].name
        assert not failures(drawn)


def test_a_pinched_cavity_is_found():
    """A drip of 10 mm moved up into a cavity of 10 mm leaves less than a slot."""
    drawn = section("base-soil", ladder_numbers(2, WALLS[0]))
    assert not failures(drawn)
    layers = [moved(one, up=40) if one.key == "base flashing" else one for one in drawn.layers]
    assert "pinched" in proofs_failed(replace(drawn, layers=tuple(layers)))


@pytest.mark.parametrize("wall", CLAD)
def test_the_frames_at_the_base_hang_the_closer_under_the_battens(wall):
    """Battens end above the drip, and the closer fills what is left below them."""
    numbers = ladder_numbers(3, wall)
    [frames] = [
        run.frames for run in short_runs_of([("north", numbers)]) if run.stem.startswith("base-closer")
    ]
    flashing, battens, closer, _ = (frame.added for frame in frames)
    heights = [[z for face in faces for _, z, _ in face.points] for faces in (flashing, battens, closer)]
    slope = [
        face
        for face in flashing
        if len({z for _, z, _ in face.points}) == 2 and len({d for _, _, d in face.points}) == 2
    ]
    assert max(z for _, z, _ in slope[0].points) < min(heights[2])
    assert min(heights[1]) == pytest.approx(max(heights[2]))
    assert "under the feet of the battens" in frames[2].words


@pytest.mark.parametrize("wall", CLAD)
@pytest.mark.parametrize(("level", "sealed"), [(2, False), (3, False), (4, True)])
def test_at_an_outside_corner_battens_lie_on_a_wall_and_hold_both_board_ends(wall, level, sealed):
    """The one beside it stands in the cavity of the wall across the top, over the corner stud; nothing hangs before the corner of both walls.

    It is one batten at every level, as its step has it: at the hardest alone it is sealed.
    """
    parts = {one.key: one for one in section("corner-outside", ladder_numbers(level, wall)).layers}
    box = bounds(parts)
    first, other, stud = (box[key] for key in ("batten", "corner batten", "corner stud"))
    name = "Batten beside the corner, on membrane and corner stud"
    assert parts["batten"].name == name + ", sealed top to bottom" * sealed
    assert first[3] == box["other cladding"][1]  # from the board ...
    assert first[1] == box["membrane"][3]  # ... to the membrane
    assert first[0] >= -1.5  # beside the corner, not before it
    assert first[2] > stud[0] + 20  # with more than 20 mm of stud behind it
    assert other[1] <= stud[3] - 30  # past the corner onto the stud of the wall
    assert box["membrane"][0] - 3.1 < other[2] <= 0  # on the membrane, or the tape on it
    assert other[0] == box["cladding"][2]  # under the end of the other wall's board
    assert first[0] == pytest.approx(-1.5)  # side by side, up to the board across the top
    assert other[3] == box["other cladding"][1] == box["cladding"][3]
    assert box["other cladding"][0] == box["cladding"][0]  # which covers that end
    seals = [box[key] for key in parts if key.startswith("corner seal")]
    assert len(seals) == 2 * sealed
    for seal, (low, high) in zip(seals, ((1, 1), (3, 3)), strict=False):
        assert seal[0] == first[2]  # against the batten's side ...
        assert seal[low] == first[high]  # ... and the membrane, and the board


@pytest.mark.parametrize(("cavity", "bead"), [(10, 5), (13, 6.5), (25, 7)])
@pytest.mark.parametrize("wall", CLAD)
def test_sealant_beside_a_batten_is_as_thick_as_there_is_room_on_its_side(wall, cavity, bead):
    """By hand: two beads of 7 mm want 14 mm of batten; a thinner one is halved between them."""
    drawn = section("corner-outside", ladder_numbers(4, wall, cav_depth=cavity, cav_render=cavity))
    parts = {one.key: Polygon(one.outline) for one in drawn.layers}
    batten = parts["batten"].bounds
    assert batten[3] - batten[1] == pytest.approx(cavity)
    first, second = parts["corner seal 0"], parts["corner seal 1"]
    for seal in (first, second):
        assert seal.bounds[3] - seal.bounds[1] == pytest.approx(bead)
    assert first.intersection(second).area == 0
    assert not failures(drawn)


@pytest.mark.parametrize("sheathing", ["sheathed", "open studs"])
@pytest.mark.parametrize("wall", CLAD)
@pytest.mark.parametrize("level", [2, 3, 4])
def test_an_outside_corner_of_a_wall_without_a_cavity_has_one_batten_that_its_boards_end_past(
    level, wall, sheathing
):
    """Boards lie straight on the membrane down the other wall, past the batten's side to the back of the first wall's boards."""
    numbers = ladder_numbers(level, wall, sheathing=sheathing)
    drawn = outside_corner(numbers, bare=True)
    for form in (drawn, outside_corner(numbers, bare=True, one_boarded=True)):
        _lies_on_film(form)
        assert not failures(form)
    parts = {one.key: one for one in drawn.layers}
    box = bounds(parts)
    assert "corner batten" not in parts
    left, _, right, high = box["cladding"]
    assert right == box["batten"][0] == -1.5  # no gap behind the end of the boards
    assert high == box["batten"][3] == box["other cladding"][1]
    assert left == box["other cladding"][0]  # whose boards cover that end
    assert "without a cavity" in parts["cladding"].name
    assert "without a cavity" not in parts["other cladding"].name
    assert not drawn.notes  # it is that form itself; the other one says so beside its drawing
    both = section("corner-outside", ladder_numbers(level, wall, sheathing=sheathing))
    assert "Where the other wall has no cavity" in " ".join(both.notes)


def _lies_on_film(drawn):
    """Down the wall boards touch sheet or tape wherever they lie, but where a sheet bends over the edge of another."""
    film = unary_union([Polygon(one.outline) for one in drawn.layers if one.material in ("membrane", "tape")])
    back = max(x for x, _ in drawn.layer("cladding").outline)
    for place in range(int(drawn.box[1]) + 3, -60, 5):
        across = LineString([(-80, place), (back, place)])
        board, sheets = (
            across.intersection(one).bounds for one in (Polygon(drawn.layer("cladding").outline), film)
        )
        assert abs(sheets[0] - board[2]) <= 1.51, place  # one film


@pytest.mark.parametrize("sheathing", ["sheathed", "open studs"])
@pytest.mark.parametrize("level", [1, 4])
def test_cladding_without_a_cavity_lies_on_the_membrane_at_both_sides_of_an_outside_corner(level, sheathing):
    drawn = section("corner-outside", ladder_numbers(level, CLAD[0], sheathing=sheathing, cav_depth=0))
    _lies_on_film(drawn)
    box = bounds({one.key: one for one in drawn.layers})
    assert box["other cladding"][1] == box["membrane"][3]


@pytest.mark.parametrize("sheathing", ["sheathed", "open studs"])
@pytest.mark.parametrize("wall", CLAD)
@pytest.mark.parametrize("level", [3, 4])
def test_every_batten_at_a_corner_stands_before_a_stud(level, wall, sheathing):
    """As their row asks, over studs: of a batten's 45 mm at least 30 have timber straight behind them."""
    numbers = ladder_numbers(level, wall, sheathing=sheathing)
    drawn = {key: section(key, numbers) for key in ("corner-outside", "corner-inside")}
    # which way the wall lies behind each: down the sheet, to the right, up it
    for key, part, across, up in (
        ("corner-outside", "batten", 0, -1),
        ("corner-outside", "second batten", 1, 0),
        ("corner-inside", "batten", 1, 0),
        ("corner-inside", "second batten", 0, 1),
    ):
        assert not failures(drawn[key])
        batten = Polygon(drawn[key].layer(part).outline)
        inside = [one for one in drawn[key].layers if one.material == "timber" and "batten" not in one.key]
        behind = translate(batten, across * 60, up * 60).union(batten).convex_hull
        wide = behind.intersection(unary_union([Polygon(one.outline) for one in inside])).bounds
        assert wide, (key, part)
        assert (wide[3] - wide[1] if across else wide[2] - wide[0]) > 30, (key, part)


@pytest.mark.parametrize("wall", CLAD)
@pytest.mark.parametrize("level", [2, 4])
def test_the_distance_of_battens_at_an_outside_corner_is_drawn_from_edge_to_edge(level, wall):
    """From the edge of the corner batten, whose middle is nowhere told, to the same edge of the next, so that it can be set out."""
    drawn = section("corner-outside", ladder_numbers(level, wall))
    [size] = [one for one in drawn.dimensions if one.key == "batten_sp"]
    battens = [drawn.layer(key) for key in ("second batten", "corner batten")]
    assert [y for _, y in (size.start, size.end)] == [min(y for _, y in one.outline) for one in battens]


@pytest.mark.parametrize("sheathing", ["sheathed", "open studs"])
@pytest.mark.parametrize("wall", [WALLS[0], WALLS[1], WALLS[3]])
def test_stretch_tape_is_sized_along_the_arm_that_no_tray_or_sill_covers(wall, sheathing):
    """From the corner of the opening, at height 0 by its own drawing, to the end of the tape."""
    drawn = section("opening", ladder_numbers(3, wall, sheathing=sheathing))
    [size] = [one for one in drawn.dimensions if one.key == "corner_tape"]
    (x0, y0), (x1, y1) = size.start, size.end
    tape = drawn.layer("corner tape").outline
    assert (y0, y1) == (0, max(y for _, y in tape))
    assert x0 == x1 == min(x for x, _ in tape)
    later = [
        Polygon(one.outline)
        for one in drawn.layers
        if one.key in ("tray front", "outer sill", "sill course") or "jamb film" in one.key
    ]
    arm = LineString([(x0 + 1, y0 + 1), (x1 + 1, y1 - 1)])
    assert later
    assert not any(arm.intersects(one) for one in later)


@pytest.mark.parametrize("wall", CLAD)
def test_a_corner_whose_other_wall_stands_at_the_right_is_drawn_in_a_mirror(wall):
    """Left and right changed, every size as before; indoors is written where it is."""
    numbers = ladder_numbers(3, wall)
    drawn, mirrored = (outside_corner(numbers, bare=True, mirrored=right) for right in (False, True))
    assert not failures(mirrored)
    assert (drawn.sides, mirrored.sides) == (("outside", "inside"), ("inside", "outside"))
    for one, other in zip(drawn.layers, mirrored.layers, strict=True):
        assert [(-x, y) for x, y in one.outline] == [*other.outline]
    sides = {"left": "right", "right": "left"}
    assert [(one.key, one.value, sides[one.side]) for one in drawn.dimensions] == [
        (one.key, one.value, one.side) for one in mirrored.dimensions
    ]


@pytest.mark.parametrize("wall", CLAD)
def test_packers_behind_the_lowest_board_are_drawn_as_thick_as_the_membrane_they_lie_on(wall):
    """They are a few millimetres thick: at the size of a printed sheet no more than a line, were they not drawn thicker as films are."""
    drawn = section("base-soil", ladder_numbers(1, wall, cav_depth=0.0, cav_render=0.0))
    canvas = Canvas(drawn, 316, tallest=144)
    wide = {}
    for layer, ring in canvas.pieces:
        xs = [x for x, _ in ring]
        wide[layer.key] = max(xs) - min(xs)
    assert wide["packers"] >= 2.7


@pytest.mark.parametrize("wall", CLAD)
def test_the_film_of_a_tray_is_seen_in_the_opening_at_both_jambs(wall):
    """Seen from outside it goes up the sides of the opening, not beside it on the wall."""
    drawn = section("opening", ladder_numbers(4, wall))
    box = bounds({one.key: one for one in drawn.layers})
    left, _, right, _ = box["hole"]
    for key in ("jamb film", "other jamb film"):
        assert left <= box[key][0] < box[key][2] <= right
    assert box["jamb film"][2] == right
    assert box["other jamb film"][0] == left


@pytest.mark.parametrize("wall", CLAD)
def test_rings_of_fixings_and_stop_ends_are_clear_of_one_another(wall):
    """Both stand at the head's corner: the fixing that is named lies below it, the stop-end on the side of its size."""
    drawn = section("opening", ladder_numbers(4, wall))
    parts = {one.name.split(" ")[0]: one for one in drawn.layers if one.name}
    fixing, stop, head = (parts[word].outline for word in ("Fixings", "Stop-end", "Head"))
    assert max(y for _, y in fixing) < min(y for _, y in head) - 20
    [size] = [one for one in drawn.dimensions if one.key == "head_stop"]
    assert size.side == "right"
    assert min(abs(x - size.start[0]) for x, _ in stop) < 20


@pytest.mark.parametrize("key", ["base-soil", "base-paving"])
@pytest.mark.parametrize("wall", CLAD)
def test_what_the_lowest_sheet_laps_is_not_told_as_the_height_of_the_flashing(key, wall):
    """The flashing stands higher: its leg begins under the foot of the cladding."""
    drawn = section(key, ladder_numbers(4, wall))
    [size] = [one for one in drawn.dimensions if one.key == "lap_h"]
    flashing = bounds({one.key: one for one in drawn.layers})["base flashing"]
    assert flashing[3] - flashing[1] > size.value
    assert size_name(size) == "lapped"


@pytest.mark.parametrize("wall", WALLS)
@pytest.mark.parametrize(
    ("key", "named"), [("wall-top-eaves", {"Rafter", "Fascia"}), ("wall-top-gable", {"Roof frame at the gable", "Barge board"})]
)  # fmt: skip
def test_the_roof_over_a_wall_has_its_rings(wall, key, named):
    rings = [one.name for _, one in numbered_parts(section(key, ladder_numbers(3, wall)))]
    for name in (*named, "Roof covering", "Ceiling, joined to the airtight lining", "Inner lining, airtight"):
        assert rings.count(name) == 1


@pytest.mark.parametrize("key", ["base-soil", "threshold"])
def test_no_joint_of_the_insulation_reads_as_a_course_through_it(key):
    """The inner leaf's course ends at the insulation, which goes on in one piece from the foundation past it."""
    numbers = numbers_without("door_level", ladder_numbers(3, "cavity masonry", snow_open=600))
    parts = {one.key: one for one in section(key, numbers).layers}
    box = bounds(parts)
    low, high = box["plate dpc"][1], box["plate dpc"][3]
    slabs = [box[one.key] for one in parts.values() if one.material == "slab"]
    assert any(one[1] < low - 100 and one[3] > high for one in slabs)
    assert not any(low - 1 < edge < high + 1 for one in slabs for edge in (one[1], one[3]))
    assert min(one[1] for one in slabs) == pytest.approx(box["footing"][3])


@pytest.mark.parametrize("wall", WALLS)
def test_a_rafter_is_notched_to_lie_on_its_plate(wall):
    """Its seat is level, 60 of the plate; outside it stands clear of all that goes up before the framing, below it and above it is one line."""
    drawn = section("wall-top-eaves", ladder_numbers(3, wall))
    parts = {one.key: one for one in drawn.layers}
    rafter, plate = Polygon(parts["rafter"].outline), Polygon(parts["plate"].outline)
    left, _, _, top = plate.bounds
    top += 1.5 * ("membrane" in parts)  # what lies on the plate
    assert LineString([(left, top), (left + 60, top)]).intersection(rafter.boundary).length == pytest.approx(
        60
    )
    assert rafter.intersection(plate).area == pytest.approx(0, abs=1e-6)
    before = unary_union(
        [Polygon(one.outline) for key, one in parts.items() if key in ("membrane", "top board", "cavity top")]
    )
    assert rafter.intersection(before).area == pytest.approx(0, abs=1e-6)
    (ax, ay), (bx, by) = parts["rafter"].outline[1], parts["rafter"].outline[3]
    assert by - ay == pytest.approx(0.36 * (bx - ax))


@pytest.mark.parametrize("wall", WALLS)
@pytest.mark.parametrize("key", ["wall-top-eaves", "wall-top-gable"])
def test_the_soffit_has_a_bearer_on_the_roofs_timber_that_is_not_fixed_through_the_wall(key, wall):
    """Beyond the cut, on the soffit from the fascia to 10 mm off membrane or leaf, and on the rafter."""
    drawn = section(key, ladder_numbers(3, wall))
    bearer = drawn.layer("soffit bearer")
    shape, soffit, rafter = (Polygon(drawn.layer(one).outline) for one in (bearer.key, "soffit", "rafter"))
    assert (bearer.cut, bearer.material) == (False, "batten")
    assert shape.intersection(rafter).area > 100
    assert shape.bounds[0] == soffit.bounds[0]
    assert key == "wall-top-gable" or shape.bounds[3] - shape.bounds[1] == pytest.approx(45)
    assert soffit.bounds[2] - shape.bounds[2] == pytest.approx(10)
    assert shape.intersection(soffit).length == pytest.approx(shape.bounds[2] - shape.bounds[0])
    assert drawn.layer("soffit").name.startswith("Soffit on bearers")
    assert not failures(drawn)


@pytest.mark.parametrize("key", ["wall-top-eaves", "wall-top-gable"])
def test_the_barrier_at_the_top_of_a_cavity_wall_lies_where_its_step_says(key):
    """Beside the top of the inner leaf under the slope of the rafters, beside the plate on it at a gable."""
    numbers = numbers_without("cap_slope", ladder_numbers(3, "cavity masonry"))
    box = bounds({one.key: one for one in section(key, numbers).layers})
    low, high = box["cavity top"][1], box["cavity top"][3]
    beside = "plate" if key == "wall-top-gable" else "core"
    assert min(high, box[beside][3]) - max(low, box[beside][1]) > 0.3 * (high - low)
    [said] = [step.text for step in steps_of(numbers) if "top of the cavity from leaf to leaf" in step.text]
    assert "beside the top of the inner leaf or the wall plate bedded on it" in said


@pytest.mark.parametrize("wall", CLAD)
def test_the_gap_that_a_baffle_stands_in_is_told_and_that_no_line_sizes_it(wall):
    """As drawn between cladding and soffit; under a cap from the cladding's edge up, and between cladding and the cap's leg."""
    for key in ("wall-top-eaves", "wall-top-gable"):
        drawn = section(key, ladder_numbers(4, wall))
        parts = {one.key: one for one in drawn.layers}
        box = bounds(parts)
        gap = box["soffit"][1] - box["cladding"][3]
        left, _, right, _ = box["cavity top"]
        name = parts["cavity top"].name
        assert f"gap of {gap:g} mm (our choice)" in name
        assert f"slots, {right - left:.0f} mm deep, as open per metre as the base" in name
        [size] = [one for one in drawn.dimensions if one.key == "cav_top"]
        assert (size.name, size.drawn) == ("gap", gap)
    parts = {one.key: one for one in section("parapet-cap", ladder_numbers(4, wall)).layers}
    clad, cap = (Polygon(parts[key].outline) for key in ("cladding", "cap"))
    _, _, back, top = clad.bounds
    up = LineString([(back, top), (back, top + 100)]).intersection(cap).bounds[1] - top
    name = parts["cavity top"].name
    assert (
        f"{up:.0f} mm up to the cap, whose leg is {clad.distance(cap):.0f} mm clear of the cladding" in name
    )
    assert "which no line sizes" in name
    left, _, right, _ = Polygon(parts["cavity top"].outline).bounds
    assert f"slots on the battens, {right - left:.0f} mm deep, as open per metre as the base" in name


@pytest.mark.parametrize("key", ["cav_top", "cav_top_cap"])
def test_the_row_of_a_baffle_says_what_it_is_and_how_open(key):
    """The base's row gives an area a metre; air that comes in there leaves at the top, so the top is as open."""
    row = next(one for one in ladder_rows() if one.key == key)
    assert "baffle with slots, as open per metre as the base" in row.build[-1]
    assert not any("with slots" in words for words in row.build[:-1])


@pytest.mark.parametrize("wall", CLAD)
def test_water_is_shown_on_the_outer_face_of_both_legs_of_a_cap(wall):
    """On the roof's side it runs down the right of the leg, not between that and the membrane."""
    drawn = section("parapet-cap", ladder_numbers(4, wall))
    for width, tall in ((316, 112), (310, 356.5), (720, 640)):
        canvas = Canvas(drawn, width, tallest=tall)
        way = drop_way(drawn, canvas.way, canvas.at, canvas.view[0])
        leg = max(x for layer, ring in canvas.pieces if layer.key == "strip" for x, _ in ring)
        cap = next(ring for layer, ring in canvas.pieces if layer.key == "cap")
        face = max(x for x, y in cap if y < max(y for _, y in cap) - 20)
        down = [a for a, b in pairwise(way) if b[1] > a[1] + 30 and abs(b[0] - a[0]) < 2]
        assert down
        assert leg < face < min(x for x, _ in down)


@pytest.mark.parametrize("wall", WALLS)
@pytest.mark.parametrize("level", [1, 2, 3, 4])
def test_the_roof_membrane_comes_off_the_roof_and_up_the_parapet_in_one_piece(wall, level):
    """It lies on the roof to the edge of the view, falling away from the parapet; the roof stands up to that, and water is shown to the edge."""
    drawn = section("parapet-cap", ladder_numbers(level, wall))
    film, roof, strip = (drawn.layer(key).outline for key in ("roof membrane", "roof", "strip"))
    on_roof = [(x, y) for x, y in film if y < min(y for _, y in strip)]
    (near, high), (far, low) = (min(on_roof), max(on_roof))
    assert far >= drawn.box[2]
    assert low < high
    assert Polygon(film).intersection(Polygon(roof)).length == pytest.approx(far - near, abs=1)
    behind = drawn.layer(
        "roof board" if "roof board" in {one.key for one in drawn.layers} else "core"
    ).outline
    assert min(x for x, _ in roof) == max(x for x, _ in behind) == min(x for x, _ in film)
    canvas = Canvas(drawn, 560)
    assert max(x for x, _ in canvas.way) <= drawn.box[2]
    assert not failures(drawn)


@pytest.mark.parametrize("snow", [520, 900])
def test_the_floor_behind_both_courses_is_drawn_as_high_as_a_door_of_the_house_asks(snow):
    """Cavity masonry in snow: the courses stay as high as the snow, the floor alone is higher; told in words and drawn."""
    numbers = ladder_numbers(3, "cavity masonry", snow_open=snow)
    for asked in (0.0, snow - 1.0, snow + 1.0, snow + 192.0):
        drawn = section("base-soil", replace(numbers, door_floor=asked))
        box = bounds({one.key: one for one in drawn.layers})
        assert box["floor"][3] == box["lining"][1] == max(asked, snow)
        assert box["plate dpc"][3] == box["leaf dpc"][3] == snow
        assert any("the floor is drawn there" in one for one in drawn.notes) is (asked > snow)
        assert not failures(drawn)
        assert drawn.layer("leaf dpc").name == f"Damp-proof course of the leaf, {snow} mm up for the snow"
    assert (
        section("base-soil", ladder_numbers(3, "cavity masonry")).layer("leaf dpc").name
        == "Damp-proof course of the leaf"
    )


@pytest.mark.parametrize("key", ["sill", "head", "jamb"])
def test_a_membrane_drawn_as_one_film_is_named_with_its_layers(key):
    """Over open studs as many as the row asks; on boards there is one."""
    for sheathing, layers in (("open studs", 2), ("open studs", 1), ("sheathed", 2)):
        numbers = ladder_numbers(2, CLAD[0], sheathing=sheathing, stud_layers=layers)
        rows = (
            {"mem_class"} if key != "head" else {"mem_class", "head_up"}
        )  # there, of the flap over its flashing
        named = [
            one.name
            for one in section(key, numbers).layers
            if one.material == "membrane" and one.name and rows & {*one.rows}
        ]
        told = [name for name in named if "embrane, 2 layers" in name]
        assert told == (named if (sheathing, layers) == ("open studs", 2) else [])
        assert named
    strip = section("threshold", ladder_numbers(2, CLAD[0], sheathing="open studs", stud_layers=2)).layer(
        "membrane"
    )
    assert strip.name.startswith("Strip of membrane on")  # which is one


@pytest.mark.parametrize("key", ["base-soil", "base-paving"])
@pytest.mark.parametrize("wall", CLAD)
def test_the_base_of_a_framed_wall_in_snow_goes_up_with_the_floor_of_the_house(wall, key):
    """By hand: cladding and snow at 600, the plate 50 over it; a floor 816 up takes plate, cladding and closer up by 166."""
    numbers = numbers_without("door_side", ladder_numbers(3, wall, snow_open=600, gnd=600, paved=600))
    for asked, up in ((0, 0), (650, 0), (816, 166)):
        drawn = section(key, replace(numbers, door_floor=asked))
        assert not failures(drawn)
        box = bounds({one.key: one for one in drawn.layers})
        assert (box["plate"][1], box["cladding"][1]) == (650 + up, 600 + up)
        sizes = {one.name: (one.start[1], one.end[1]) for one in drawn.dimensions}
        assert sizes["cladding/snow"] == (0, 600)
        assert sizes.get("floor") == ((0, 816) if up else None)
        assert any("goes up with it, as drawn" in one for one in drawn.notes) is bool(up)
        assert "snow_open" not in {one.key for one in drawn.dimensions}  # the same two ends are sized once
    lower = section(key, replace(numbers, door_floor=816, values={**numbers.values, "snow_open": 500}))
    named = {one.name: one.value for one in lower.dimensions}
    assert (named["cladding, least"], named["floor"]) == (600, 816)
    assert [one.value for one in lower.dimensions if one.key == "snow_open"] == [500]
    dry = section(key, replace(numbers_without("snow_open", numbers), door_floor=816))
    assert bounds({one.key: one for one in dry.layers})["plate"][1] == 650  # paving may step down instead
    beside = ladder_numbers(3, wall, snow_open=600, gnd=600, paved=600)
    level = section("base-paving", replace(beside, door_floor=816))
    assert (
        bounds({one.key: one for one in level.layers})["plate"][1] == 650
    )  # over the paving of a level door


@pytest.mark.parametrize("wall", WALLS)
@pytest.mark.parametrize("snow", [520, 900])
def test_the_floor_at_a_door_in_snow_has_its_height_in_whole_millimetres(wall, snow):
    drawn = section("threshold", numbers_without("door_level", ladder_numbers(3, wall, snow_open=snow)))
    [floor] = [one for one in drawn.dimensions if one.name == "floor"]
    ground = bounds({one.key: one for one in drawn.layers})["ground"][3]
    assert floor.drawn == floor.value == drawn.asked_floor == round(floor.value)
    assert (floor.start[1], floor.end[1]) == (pytest.approx(ground), pytest.approx(32))  # the floor's face
    assert any(f"lies {floor.value:.0f} mm above the ground" in one for one in drawn.warnings)


INNER = ("sill", "head", "jamb", "base-soil", "pipe", "deck", "deck-door", "roof-at-wall", "flat-roof", "kick-out", "saddle",
         "parapet-cap", "wall-top-eaves", "wall-top-gable", "threshold")  # fmt: skip


@pytest.mark.parametrize("key", INNER)
def test_the_inner_leaf_has_a_ring_wherever_it_is_drawn(key):
    """Of cavity masonry; a framed wall's studs behind a leaf have none."""
    found = {
        wall: [one.name for _, one in numbered_parts(section(key, ladder_numbers(3, wall)))]
        for wall in ("cavity masonry", "masonry veneer")
    }
    assert found["cavity masonry"].count("Inner leaf") == 1
    assert "Inner leaf" not in found["masonry veneer"]
    assert "Studs and insulation" not in found["masonry veneer"]


@pytest.mark.parametrize("cavity", [25, 50, 75, 150])
@pytest.mark.parametrize("key", ["jamb", "door-jamb"])
def test_a_strap_is_seen_on_the_inner_leaf_that_holds_it(key, cavity):
    """Its row: fix the window to the inner leaf. Over a deep cavity too; drawn over leaf and lining, which are cut before it."""
    for position in ("at the sheathing", "in the masonry cavity"):
        try:
            drawn = section(key, ladder_numbers(3, "cavity masonry", position=position, cav_mas=cavity))
        except NotDrawnError:
            continue
        parts = {one.key: one for one in drawn.layers}
        box = bounds(parts)
        left, low, right, _ = box["strap"]
        assert right - box["core"][0] >= 50
        assert (left, low) == (box["frame"][2], box["core"][3])
        order = [one.key for one in as_drawn(drawn)]
        assert order.index("strap") > max(map(order.index, ("lining in reveal", "core")))
        assert not failures(drawn)


@pytest.mark.parametrize("frame", ["box frame with straps", "set back in masonry"])
@pytest.mark.parametrize("wall", ["cavity masonry", *CLAD])
def test_what_holds_the_frame_beyond_the_cut_is_dashed_on_its_room_face(wall, frame):
    """In full line it would be cut; by the step it lies on the room side, so that the seal goes on unbroken before it."""
    if wall in CLAD and "masonry" in frame:
        return
    drawn = section("jamb", ladder_numbers(4, wall, frame=frame))
    strap = drawn.layer("strap")
    assert (strap.material, strap.cut) == ("hidden", False)
    assert strap.name.endswith("above and below the cut, sealed behind")
    part = {key: Polygon(drawn.layer(key).outline) for key in ("strap", "seal", "frame")}
    assert part["strap"].intersection(part["seal"]).area == 0
    assert part["strap"].intersection(part["frame"]).length >= 30  # along its face
    assert part["strap"].bounds[0] == part["frame"].bounds[2]
    assert "stroke-dasharray" in shape([(0, 0), (9, 0), (9, 5)], strap.material, (-9, -9, 99, 99))


@pytest.mark.parametrize("wall", ["masonry veneer", *CLAD])
def test_a_width_laid_flat_says_whose_it_is(wall):
    """At a leaf course and tape are 150 mm wide both; two labels of one number would tell neither."""
    drawn = section("jamb", ladder_numbers(3, wall, frame="box frame with straps"))
    said = [tag_words(one) for one in drawn.dimensions if one.way]
    assert said == ["course 150"] * (wall not in CLAD) + ["tape 150"]


def test_the_width_of_a_course_folded_to_a_door_is_told_at_its_bend():
    """One leg of it is as wide as the gap behind the leaf; the size is that of both."""
    drawn = section("door-jamb", ladder_numbers(4, "cavity masonry", position="at the sheathing"))
    [wide] = [one for one in drawn.dimensions if one.key == "dpc_jamb"]
    canvas = Canvas(drawn, 316, tallest=144)
    [tag] = [one for one in canvas.tags([], canvas.ruled(())) if one.words == f"course {wide.value:g}"]
    bend = canvas.at(wide.way[1])
    assert len(wide.way) == 3
    assert tag.leader[1] == pytest.approx(bend, abs=1.5)
    assert all(
        abs(tag.leader[1][0] - canvas.at(end)[0]) + abs(tag.leader[1][1] - canvas.at(end)[1]) > 8
        for end in (wide.start, wide.end)
    )


@pytest.mark.parametrize("wall", ["cavity masonry", "masonry veneer", *CLAD])
def test_both_falls_of_a_saddle_are_told(wall):
    """Drawn falling from the wall along the parapet; its cap's own fall, to the roof, lies square to the cut."""
    drawn = section("saddle", ladder_numbers(3, wall))
    (near, high), (far, low) = drawn.layer("strip").outline[:2]
    assert far < near
    assert low < high
    assert any(
        "falls from the wall as drawn" in one and "to the roof with the cap" in one for one in drawn.notes
    )


def test_what_a_row_says_of_the_metal_sill_at_a_deck_stands_at_that():
    """Its sizes are of the sill, past the leaf and over the deck; the packer under it has its own name alone."""
    drawn = section("deck-door", ladder_numbers(4, "cavity masonry"))
    assert [one.key for _, one in numbered_parts(drawn) if "deck_sill" in one.rows] == ["cover"]
    assert drawn.layer("step packer").name


@pytest.mark.parametrize("wall", WALLS)
def test_what_holds_a_cap_is_said_not_to_be_drawn(wall):
    """Nothing stands between its legs and what is behind them: it is its maker's, as the row cap_fix says."""
    drawn = section("parapet-cap", ladder_numbers(4, wall))
    parts = {one.key: one for one in drawn.layers}
    cap = Polygon(parts["cap"].outline)
    level = cap.bounds[1] + 20
    upstand = LineString([(0, level), (9999, level)]).intersection(Polygon(parts["roof membrane"].outline))
    between = LineString([(upstand.bounds[2] + 4, level), (cap.bounds[2] - 15, level)])
    assert not any(Polygon(one.outline).crosses(between) for one in drawn.layers if one.key != "cap")
    assert "undrawn" in parts["cap"].name
    assert "cap_fix" in parts["cap"].rows


@pytest.mark.parametrize("wall", CLAD)
@pytest.mark.parametrize("level", [2, 3, 4])
def test_at_an_inside_corner_each_board_ends_on_a_batten(wall, level):
    box = bounds({one.key: one for one in section("corner-inside", ladder_numbers(level, wall)).layers})
    _, low, right, high = box["batten"]
    assert low < box["cladding"][3] - 20 < high
    assert right == -1.5  # on the membrane
    left, low, right, high = box["second batten"]
    assert left < box["other cladding"][2] - 20 < right
    assert low == box["other cladding"][3]  # on the board's back ...
    assert -4.5 <= high <= -1.5  # ... and on membrane or tape


@pytest.mark.parametrize("sheathing", ["sheathed", "open studs"])
@pytest.mark.parametrize("wall", [*CLAD, WALLS[1]])
def test_each_wall_at_an_inside_corner_has_a_stud_there(wall, sheathing):
    """Edges by hand, the membranes meeting at 0: boards or membrane of both end on timber, and one wall's last stud bears on the other's."""
    drawn = section("corner-inside", ladder_numbers(3, wall, sheathing=sheathing))
    timber = [Polygon(one.outline) for one in drawn.layers if one.material == "timber"]
    deep = 12 if sheathing == "sheathed" else 0
    for edge in (Point(deep - 10, deep + 1), Point(deep + 1, deep - 10)):
        assert any(one.contains(edge) for one in timber)
    stud = Polygon(drawn.layer("corner stud").outline)
    assert drawn.layer("corner stud").name == "Corner stud"
    assert max(one.intersection(stud).length for one in timber if one.disjoint(stud.centroid)) >= 45
    assert not failures(drawn)


@pytest.mark.parametrize("wall", [*CLAD, WALLS[1]])
def test_the_wall_that_goes_on_at_an_outside_corner_ends_on_a_stud_of_its_own(wall):
    """Against the inner face of the other, at its 140 mm of studs and 12 mm of boards."""
    parts = {one.key: one for one in section("corner-outside", ladder_numbers(3, wall)).layers}
    box = bounds(parts)
    assert parts["end stud"].material == "timber"
    assert box["end stud"][::2] == (152, 197)
    assert box["corner stud"][2] == 152
    assert box["other core"][0] == 197


@pytest.mark.parametrize("sheathing", ["sheathed", "open studs"])
@pytest.mark.parametrize("wall", [*CLAD, WALLS[1]])
@pytest.mark.parametrize("key", ["corner-inside", "corner-outside"])
def test_the_inner_lining_goes_round_a_corner_on_both_walls(key, wall, sheathing):
    """13 mm, in one piece, on every timber and all insulation that ends at the room, and bare to the room on its other face."""
    drawn = section(key, ladder_numbers(3, wall, sheathing=sheathing))
    lining = Polygon(drawn.layer("lining").outline)
    assert drawn.layer("lining").air
    left, low, right, _ = drawn.box
    deep = 152 if sheathing == "sheathed" else 140  # by its own sizes, boards 12 and studs 140
    corner = (deep, deep) if key == "corner-inside" else (deep, -deep)
    length = lining.area / 13
    arms = (corner[1] - low, abs((left if key == "corner-inside" else right) - corner[0]))
    assert length == pytest.approx(sum(arms) + (13 if key == "corner-inside" else -13))
    behind = unary_union([Polygon(one.outline) for one in drawn.layers if one.material in ("timber", "insulation")])  # fmt: skip
    assert lining.intersection(behind).length == pytest.approx(sum(arms))
    assert not failures(drawn)


@pytest.mark.parametrize("key", ["corner-inside", "corner-outside"])
def test_a_masonry_leaf_goes_round_a_corner_in_one_piece(key):
    """No line across it, which would be read as a straight joint; boards of cladding do end at a corner."""
    leaf = [
        one for one in section(key, ladder_numbers(3, "masonry veneer")).layers if one.material == "masonry"
    ]
    assert [len(one.outline) for one in leaf] == [6]
    clad = section(key, ladder_numbers(3, "timber frame with cladding")).layers
    assert sum(one.material == "cladding" for one in clad) == 2


@pytest.mark.parametrize("key", ["base-soil", "base-paving"])
@pytest.mark.parametrize(("timber", "lap"), [(150, 50), (203, 103)])  # by hand, cladding 100 over the ground
def test_the_foot_of_the_cladding_stands_where_its_size_says(key, timber, lap):
    """Where framing stands higher than cladding and lap ask, the cladding laps the foundation more; it does not end higher."""
    drawn = section(key, ladder_numbers(2, WALLS[0], gnd=100, paved=100, low_timber=timber, plate_lap=50))
    size = {one.key: one for one in drawn.dimensions}
    foot = min(y for _, y in drawn.layer("cladding").outline)
    assert foot == size["paved" if "paving" in key else "gnd"].end[1] == 100
    assert size["plate_lap"].value == lap
    values = {"gnd": 175, "paved": 100, "low_timber": timber, "plate_lap": 50}
    assert lowest_cladding(values) == 100


@pytest.mark.parametrize("sheathing", ["sheathed", "open studs"])
@pytest.mark.parametrize("wall", CLAD)
def test_the_flashing_at_a_floor_of_cladding_on_the_membrane_has_its_leg_behind_that(wall, sheathing):
    """As its step says; boards end 5 mm over the flashing and 12 mm under its drip, as read in the table."""
    junction = next(one for one in JUNCTIONS if one.key == "floor-direct")
    numbers = ladder_numbers(1, wall, sheathing=sheathing, cav_depth=0, cav_render=0)
    assert not junction.asked(numbers)  # battens stand there
    numbers = numbers_without("batten_sp", numbers)
    assert junction.asked(numbers)
    assert not junction.asked(numbers_without("floor_gap", numbers))
    drawn = section_of(junction, numbers)
    assert failures(drawn) == ()
    part = {layer.key: Polygon(layer.outline) for layer in drawn.layers}
    leg = LineString([(-60, part["flashing"].bounds[3] - 10), (20, part["flashing"].bounds[3] - 10)])
    metal, film = (leg.intersection(part[key]).bounds for key in ("flashing", "membrane"))
    assert film[2] == pytest.approx(metal[0])  # the film outside it
    assert part["flashing"].bounds[0] < part["cladding below"].bounds[0]
    assert part["flashing"].bounds[1] - part["cladding below"].bounds[3] == pytest.approx(12)
    assert {one.key: one.value for one in drawn.dimensions if one.key in ("clad_gap", "floor_gap")} == {
        "clad_gap": 5, "floor_gap": 12,
    }  # fmt: skip
    with pytest.raises(NotDrawnError):
        section_of(junction, ladder_numbers(1, wall, cav_depth=20, cav_render=20))


ROWS_DRAWN_HIGHER = {"plate_lap"}  # where the framing has to lie higher than cladding and lap ask


@pytest.mark.parametrize("code", sorted(ANSWERS))
@pytest.mark.parametrize("snow", [None, 600.0])
def test_sizes_at_base_roof_deck_and_threshold_are_those_of_the_rows_under_every_code(code, snow):
    """A code raises a row; what is drawn goes with it, and cladding, closers and weep holes stay above soil and snow by their rows."""
    seen = set()
    for wall, threshold, (spell, push) in product(
        WALLS, ("a step at every door", "level at every door"), ((10.0, 50.0), (45.0, 150.0), (140.0, 400.0))
    ):
        mine = Circumstances(
            wall_type=wall, threshold=threshold, snow_depth=snow, deck="enclosed at the first floor",
            roof_meets_wall="roof or gutter ends inside the wall", local_rules=(code,), rule_answers={code: ANSWERS[code]},
        )  # fmt: skip
        pressure = pressure_of(push)
        schedule = detail_schedule(exposure_of(spell), pressure, mine)
        if schedule.specific_design:
            continue
        rows = {line.key: line.value for line in schedule.lines}
        for drawing in drawings_of([("south", numbers_of(schedule, mine, pressure))])[0]:
            if drawing.section.key not in (
                "base-soil",
                "base-paving",
                "roof-at-wall",
                "flat-roof",
                "deck",
                "deck-door",
                "threshold",
            ):
                continue
            seen.add(drawing.section.key)
            for size in drawing.section.dimensions:
                if size.name in (
                    "floor",
                    "under sill",
                    "under tray",
                ):  # a door's, in words of its row or from the others
                    continue
                higher = size.key in ROWS_DRAWN_HIGHER and size.value > rows[size.key]
                assert higher or size.value == pytest.approx(rows[size.key]), (size, drawing.section.key)
                assert size.drawn == pytest.approx(size.value, abs=0.05)
            low = rows.get({"base-soil": "gnd", "base-paving": "paved"}.get(drawing.section.key, ""), 0)
            parts = bounds({layer.key: layer for layer in drawing.section.layers})
            for open_part in (
                {"cladding", "closer", "weep brick"} & parts.keys() if "base" in drawing.section.key else ()
            ):
                assert parts[open_part][1] >= max(low, rows.get("snow_open", 0)) - 1e-6
    assert {"base-soil", "base-paving", "roof-at-wall", "deck", "threshold"} <= seen
