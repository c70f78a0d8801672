"""Dots at the ends of leaders: each is told from the water's dots, from other parts and from the dots of those."""

from functools import cache
from itertools import combinations, pairwise, permutations, product
from math import dist

import pytest
import shapely
from shapely import LineString, Polygon
from shapely import Point as ShapelyPoint
from test_junction import WALLS, ladder_numbers
from test_show_palette import luminance

from exposure.draw.junction_canvas import numbered_parts
from exposure.draw.junction_lanes import ARROW, TICK, TOGETHER
from exposure.draw.junction_materials import FILLS, LINES, as_seen, shape
from exposure.draw.junction_svg import _tall_enough
from exposure.junction.catalogue import JUNCTIONS, section_of
from exposure.junction.window import NotDrawnError
from exposure.paper.sheet_columns import DRAWN_TALL, DRAWN_WIDE

WINDOWS = ("sill", "head", "jamb")
WET = (*WINDOWS[:2], "threshold", "base-soil", "roof-at-wall", "saddle")


@cache
def laid(keys, levels=(1, 4), width=DRAWN_WIDE, tall=DRAWN_TALL):
    """Canvas, sizes and tags of junctions in every wall."""
    found = []
    for key, wall, level in product(keys, WALLS, levels):
        junction = next(one for one in JUNCTIONS if one.key == key)
        try:
            section = section_of(junction, ladder_numbers(level, wall))
        except NotDrawnError:
            continue
        found.append(_tall_enough(section, width, tall, rings=True))
    return found


def leaders(canvas, tags):
    """Each leader of a ring with the layer it names and what is drawn of that."""
    layers = {str(number): layer for number, layer in numbered_parts(canvas.section)}
    for tag in tags:
        if tag.ring and tag.leader[0] != tag.leader[1]:
            layer = layers[tag.words]
            drawn = [Polygon(points).buffer(0) for one, points in canvas.pieces if one.key == layer.key]
            yield tag.leader, layer, shapely.union_all(drawn)


def water_of(canvas):
    return shapely.MultiLineString(canvas._dots_of_water)


@pytest.mark.parametrize(("width", "tall"), [(DRAWN_WIDE, DRAWN_TALL), (360, 414)])
def test_a_dot_stands_off_the_row_of_the_waters_dots_where_its_part_has_a_freer_place(width, tall):
    """Ours: 4 units off it, where 6 off it some of the part is left to stand on; one of two hundred may not."""
    dots = wet = 0
    for canvas, _, tags in laid(WET, width=width, tall=tall):
        water = water_of(canvas)
        for (_, end), _, part in leaders(canvas, tags):
            dots += 1
            wet += water.distance(ShapelyPoint(end)) < 4 and part.difference(water.buffer(6)).area > 6
    assert dots > 300
    assert wet <= dots / 200, (wet, dots)


def test_no_leader_runs_down_among_the_waters_dots_or_through_its_arrow():
    """Ours: no more than 14 units within 4 of the water's way but for one leader of fifty, and none at the arrow."""
    count = along = at_arrow = 0
    for canvas, _, tags in laid(WET):
        water = water_of(canvas)
        if water.is_empty:
            continue
        arrow = ShapelyPoint(canvas._dots_of_water[-1][-1])
        for leader, _, _ in leaders(canvas, tags):
            count += 1
            along += LineString(leader).intersection(water.buffer(4)).length > 14
            at_arrow += LineString(leader).distance(arrow) < 4
    assert count > 300
    assert along <= count / 50, (along, count)
    assert at_arrow <= 1


def test_no_dot_of_a_part_stands_on_the_line_of_a_sheet_or_film_over_it():
    """Ours: of all parts that are seen beside what lies over them, two units of area or more."""
    dots = hidden = 0
    for canvas, _, tags in laid(("sill", "threshold", "deck-door", "parapet-cap")):
        shapes = [(layer, Polygon(points).buffer(0)) for layer, points in canvas.pieces]
        for (_, end), layer, part in leaders(canvas, tags):
            last = max(place for place, (one, _) in enumerate(shapes) if one.key == layer.key)
            over = [one for other, one in shapes[last + 1 :] if other.material in LINES]
            if part.difference(shapely.union_all(over).buffer(1)).area > 2:
                dots += 1
                hidden += any(one.buffer(0.35).contains(ShapelyPoint(end)) for one in over)
    assert dots > 200
    assert not hidden


def test_few_dots_stand_at_the_end_of_a_part():
    """Ours: of the part, less than 62 in a hundred as much within 7 units of the dot as round its best place; one dot of fifty."""
    dots = at_end = 0
    for canvas, _, tags in laid((*WINDOWS, "base-soil", "wall-top-eaves", "lap-level")):
        for (_, end), _, part in leaders(canvas, tags):
            if part.geom_type == "Polygon":
                edge = shapely.points(part.boundary.segmentize(6).coords)
                around = shapely.area(part.intersection(shapely.buffer([ShapelyPoint(end), *edge], 7)))
                dots += 1
                at_end += around[0] < 0.62 * around[1:].max()
    assert dots > 300
    assert at_end <= dots / 50, (at_end, dots)


def test_the_dots_of_a_seal_and_of_the_rod_beside_it_stand_apart():
    """Ours: 4 units from middle to middle, where a dot is 2.6 wide; on a printed sheet the rod itself is 5 wide."""
    pairs = 0
    for canvas, _, tags in laid(WINDOWS):
        ends = {
            layer.material: end
            for (_, end), layer, _ in leaders(canvas, tags)
            if layer.key in ("rod", "seal")
        }
        if len(ends) == 2:
            pairs += 1
            assert dist(*ends.values()) >= 3.7, canvas.section.key
    assert pairs > 8


@pytest.mark.parametrize(("width", "tall"), [(DRAWN_WIDE, DRAWN_TALL), (360, 414), (560, 640)])
def test_the_ends_of_two_sizes_on_one_line_can_be_told_apart(width, tall):
    """Either both have one tick, or each has its own mark clear of the other's."""
    beside = 0
    for canvas, ruled, _ in laid(("head", "meter-box", "base-soil"), width=width, tall=tall):
        for one, other in combinations(ruled, 2):
            (x, a), (x1, b) = one.ends
            (u, c), (u1, d) = other.ends
            if x == x1 and u == u1 and abs(x - u) < 6:
                beside += 1
                apart = max(min(c, d) - max(a, b), min(a, b) - max(c, d))
                if min(abs(b - a), abs(d - c)) < TOGETHER:
                    assert apart >= ARROW[0] + TICK, (canvas.section.key, one.name, other.name)
                else:
                    assert abs(apart) <= 0.5 or apart >= 2 * TICK, (canvas.section.key, one.name, other.name)
    assert beside or width < 500


@pytest.mark.parametrize("key", ["threshold", "deck-door", "slats-door"])
@pytest.mark.parametrize("level", [1, 4])
def test_the_bolt_of_a_step_bracket_is_seen_in_the_floor_and_goes_through_the_middle_of_the_strip(key, level):
    """As the screw of a sill's support is drawn; it keeps 5 mm off the strip's lower edge and the bracket's upper one."""
    junction = next(one for one in JUNCTIONS if one.key == key)
    section = section_of(junction, ladder_numbers(level, "masonry veneer"))
    bolt, strip = (Polygon(section.layer(one).outline).bounds for one in ("step screw", "membrane"))
    bracket = Polygon(section.layer("step bracket").outline)
    assert section.layer("step screw").material == "tie"  # what is seen before parts that are cut
    assert bolt[2] - strip[2] >= 40
    assert bolt[1] - strip[1] >= 5
    assert bracket.buffer(-0.01).intersects(shapely.box(*bolt))
    assert bracket.intersection(shapely.box(-6, bolt[1] - 5, -3, bolt[3] + 5)).area == pytest.approx(
        3 * 15, abs=0.5
    )


@pytest.mark.parametrize(("width", "tall"), [(DRAWN_WIDE, DRAWN_TALL), (360, 414)])
def test_no_ring_stands_at_the_tip_of_a_screw(width, tall):
    """Ours: 7 units from its tip to the ring, or the screw looks like the ring's leader."""
    tips = 0
    for canvas, _, tags in laid(("sill", "threshold"), width=width, tall=tall):
        for layer, points in canvas.pieces:
            if layer.material == "tie":
                left, top, right, foot = Polygon(points).bounds
                middle = (top + foot) / 2
                beyond = LineString([(left - 7, middle), (right + 7, middle)])
                tips += 1
                near = [tag.words for tag in tags if tag.ring and shapely.box(*tag.box).intersects(beyond)]
                assert not near, (canvas.section.key, near)
    assert tips > 5


MANY = (*WINDOWS, "threshold", "opening")


def test_hardly_a_leader_runs_through_the_dot_of_another():
    """Ours: a dot is 1.3 units in radius; of eighty leaders one may, as to rod and seal side by side."""
    count = through = 0
    for canvas, _, tags in laid(MANY):
        found = [leader for leader, *_ in leaders(canvas, tags)]
        count += len(found)
        through += sum(
            LineString(mine).distance(ShapelyPoint(other[1])) < 1.6 < dist(mine[1], other[1])
            for mine, other in permutations(found, 2)
        )
    assert count > 400
    assert through <= count / 80, (through, count)


def test_few_leaders_lie_along_the_side_of_another_part():
    """Ours: within 1.5 units of it for 14 units, 2.7 mm on paper, or a leader seems to point along it; of a hundred leaders one may."""
    count = along = 0
    for canvas, _, tags in laid(MANY):
        sides = [
            (layer.key, LineString(side).buffer(1.5, cap_style="flat"))
            for layer, points in canvas.pieces
            for side in pairwise([*points, points[0]])
            if dist(*side) > 14
        ]
        for leader, named, _ in leaders(canvas, tags):
            count += 1
            line = LineString(leader)
            along += any(key != named.key and side.intersection(line).length > 14 for key, side in sides)
    assert count > 400
    assert along <= count / 100, (along, count)


def test_few_leaders_pass_the_tick_or_arrow_of_a_size():
    """Ours: within a unit of one no more than one leader of eighteen, whose ring would seem to name that end."""
    count = through = 0
    for canvas, sizes, tags in laid(MANY):
        marks = []
        for one in sizes:
            (ax, ay), (bx, by) = one.ends
            far = dist(*one.ends)
            for (x, y), way in (((ax, ay), -1), ((bx, by), 1)) if far else ():
                tip = (x + way * ARROW[0] * (bx - ax) / far, y + way * ARROW[0] * (by - ay) / far)
                tick = [(x - TICK, y + TICK), (x + TICK, y - TICK)]
                marks.append(LineString([(x, y), tip] if far < TOGETHER else tick))
        for leader, *_ in leaders(canvas, tags):
            count += 1
            through += bool(marks) and shapely.MultiLineString(marks).distance(LineString(leader)) < 1
    assert count > 400
    assert through <= count / 18, (through, count)


@pytest.mark.parametrize(("width", "tall"), [(DRAWN_WIDE, DRAWN_TALL), (360, 414)])
@pytest.mark.parametrize("key", ["jamb", "head"])
def test_a_reveal_board_is_seen_as_a_part_and_its_dot_stands_in_its_middle(key, width, tall):
    """By eye: 4 units thick and darker than its neighbours; a third of it lies to each side of the dot, which else names frame or lintel."""
    found = 0
    for canvas, _, tags in laid((key,), width=width, tall=tall):
        for (ring, end), layer, part in leaders(canvas, tags):
            if layer.key != "reveal board":
                continue
            found += ring != end
            left, _, right, _ = part.bounds
            seen = Polygon(as_seen(list(part.exterior.coords)[:-1], layer.material)).bounds
            assert min(seen[2] - seen[0], seen[3] - seen[1]) >= 4 - 1e-6
            assert left + (right - left) / 3 < end[0] < right - (right - left) / 3
            assert seen[1] < end[1] < seen[3]
            beside = [luminance(FILLS[one]) for one in ("frame", "barrier", "masonry", "concrete")]
            assert luminance(FILLS[layer.material]) < min(beside) - 0.1
    assert found


def test_a_thin_board_is_edged_finely():
    """Its own edge would hide it at 4 units."""
    points = [(0.0, 0.0), (30.0, 0.0), (30.0, 3.0), (0.0, 3.0)]
    thin, trim = (shape(points, one, (-9.0, -9.0, 99.0, 99.0)) for one in ("thin board", "trim"))
    assert ('stroke-width="0.6"' in thin, 'stroke-width="0.6"' in trim) == (True, False)
