"""What a picture does with the room that films drawn thick take: water beside them, and roofs over them."""

import re
from itertools import pairwise, product

import pytest
from shapely import LineString, Point, Polygon, box, union_all
from test_junction import WALLS, ladder_numbers, numbers_without

from exposure.draw.junction_canvas import Canvas
from exposure.draw.junction_materials import LINES, hatching
from exposure.draw.palette import PAPER
from exposure.junction.catalogue import JUNCTIONS, section_of
from exposure.junction.proofs import failures
from exposure.paper.sheet_columns import DRAWN_TALL, DRAWN_WIDE, SHARED_TALL

CLAD = [one for one in WALLS if "masonry" not in one]
FRAMES = ("nailing flange", "box frame with straps")
SIZES = ((DRAWN_WIDE, SHARED_TALL), (DRAWN_WIDE, DRAWN_TALL), (310, 356.5), (360, 414), (720, 640))


def drawing(key, wall, level=1, **told):
    numbers = ladder_numbers(level, wall, **told)
    return section_of(next(one for one in JUNCTIONS if one.key == key), numbers)


@pytest.mark.parametrize("depth", [0.0, 20.0])
@pytest.mark.parametrize("frame", FRAMES)
@pytest.mark.parametrize("key", ["sill", "head", "block", "roof-at-wall"])
@pytest.mark.parametrize("wall", CLAD)
def test_water_is_shown_running_inside_no_part(wall, key, frame, depth):
    """Where films drawn thick shut the gap it runs in, it is left out; on the tray or flashing it is shown."""
    told = {"frame": frame, "cav_depth": depth, "cav_render": depth, "reveal": "as drawn"}
    made = drawing(key, wall, **told)
    for width, tall in SIZES:
        canvas = Canvas(made, width, tallest=tall)
        ways = [LineString(way) for way in canvas._seen_drop]
        assert bool(ways) is (made.drop is not None)
        solid = [(one, ring) for one, ring in canvas.pieces if one.cut and one.material not in LINES]
        for layer, ring in solid:
            inside = sum(Polygon(ring).buffer(-1).intersection(way).length for way in ways)
            assert inside < 25, (layer.key, width, tall)


def dots_of(canvas):
    """Each dot of a drawing's water as a disc, with its colour."""
    for data, colour, wide, apart in re.findall(
        r'<path d="([^"]+)" fill="none" stroke="(#\w+)" stroke-width="([\d.]+)" stroke-dasharray="0.1 ([\d.]+)"',
        canvas.water(),
    ):
        ends = re.findall(r"([-\d.]+)[ ,]([-\d.]+)", data)
        run = LineString([(float(x), float(y)) for x, y in ends])
        for place in range(int(run.length / (float(apart) + 0.1)) + 1):
            yield run.interpolate(place * (float(apart) + 0.1)).buffer(float(wide) / 2), colour


def drawn_of(canvas, wanted):
    return union_all([Polygon(ring).buffer(0) for layer, ring in canvas.pieces if wanted(layer)])


@pytest.mark.parametrize("key", ["sill", "threshold"])
def test_water_under_a_window_lies_on_its_tray_and_not_on_the_foot_of_the_frame(key):
    """Ours: one dot of thirty, where the gap is lowest, may touch the frame; a dot on its line looks like a hole in it."""
    dots = touching = 0
    for wall, level in product(WALLS, (1, 2, 3, 4)):
        canvas = Canvas(drawing(key, wall, level), DRAWN_WIDE, tallest=DRAWN_TALL)
        frame = drawn_of(canvas, lambda layer: layer.key == "frame")
        for dot, _ in dots_of(canvas):
            dots += 1
            touching += dot.intersects(frame)
    assert dots > 200
    assert touching <= dots / 30, (touching, dots)


def supported(key, width, tall):
    """Drawings of windows and doors over the cavity, each with its support as drawn; not where cladding drawn over the gap hides the water's end."""
    junction = next(one for one in JUNCTIONS if one.key == key)
    for wall, level in product(CLAD, (1, 2, 3, 4)):
        numbers = ladder_numbers(level, wall, position="over the cavity", frame="box frame with straps")
        made = section_of(junction, numbers_without("door_level", numbers))
        canvas = Canvas(made, width, tallest=tall)
        support = drawn_of(canvas, lambda layer: layer.key == "support")
        if not support.is_empty and canvas._seen_drop[-1][-1] == canvas._drop[-1]:
            yield canvas, support


@pytest.mark.parametrize(("width", "tall"), SIZES)
@pytest.mark.parametrize("key", ["sill", "threshold"])
def test_dots_of_water_are_told_from_the_support_they_fall_before(key, width, tall):
    """Grey on its grey edge they look like its teeth: those beside it are clear of it, those on it white; where it is wider or narrower, one in six may not be."""
    dots = misread = 0
    for canvas, support in supported(key, width, tall):
        for dot, colour in dots_of(canvas):
            dots += 1
            misread += dot.boundary.intersects(support.boundary) or (colour == PAPER) != support.covers(dot)
    assert dots > 20
    assert misread <= dots / 6, (misread, dots)


@pytest.mark.parametrize(("width", "tall"), SIZES)
@pytest.mark.parametrize("key", ["sill", "threshold"])
def test_the_arrow_of_water_ends_below_the_foot_of_a_support(key, width, tall):
    """On its foot it would say that water stops there; the head of an arrow is 9 units long and broad."""
    seen = 0
    for canvas, support in supported(key, width, tall):
        seen += 1
        x, y = canvas._dots_of_water[-1][-1]
        assert y > support.bounds[3]
        assert support.intersection(box(x - 4.5, y - 9, x + 4.5, y)).area < 1
    assert seen > 3


@pytest.mark.parametrize("depth", [20.0, 50.0])
@pytest.mark.parametrize("wall", CLAD)
def test_water_off_a_block_runs_over_the_light_and_off_its_nose(wall, depth):
    made = drawing("block", wall, cav_depth=depth, cav_render=depth)
    assert failures(made) == ()
    canvas = Canvas(made, 720)
    nose = min(x for x, _ in made.layer("lamp").outline)
    end = canvas.way[-1]
    assert end[0] == pytest.approx(nose, abs=1)
    assert end[1] == pytest.approx(made.box[1], abs=1)
    assert "its joint as its maker says" in made.layer("lamp").name


@pytest.mark.parametrize(
    ("key", "part", "row"), [("roof-at-wall", "flashing", "step_on"), ("kick-out", "kick-out", "kick_proj")]
)
@pytest.mark.parametrize("wall", [one for one in WALLS if "masonry" in one])
def test_the_slanting_leg_of_metal_is_seen_as_thick_as_its_upright_one(wall, key, part, row):
    """Its end can be seen over the roof: the size on it, or of it, is measured there."""
    made = drawing(key, wall, 4)
    canvas = Canvas(made, DRAWN_WIDE, tallest=SHARED_TALL)
    layer = made.layer(part)
    [ring] = [Polygon(ring) for one, ring in canvas.pieces if one.key == part]
    runs = [LineString(map(canvas.at, line)) for line in canvas._slants.of(layer)]
    leg = max(runs, key=lambda run: run.centroid.y)
    [size] = [one for one in made.dimensions if one.key == row]
    for end, drawn in zip(
        sorted(canvas.at(one)[0] for one in (size.start, size.end)),
        sorted(x for x, _ in leg.coords),
        strict=True,
    ):
        assert drawn == pytest.approx(end, abs=3)
    [width] = [float(one) for one in re.findall(r'stroke-width="([\d.]+)"', canvas._thicker(layer))]
    upright = ring.intersection(box(0, ring.bounds[1] + 8, 999, ring.bounds[1] + 12))
    assert width == pytest.approx(upright.bounds[2] - upright.bounds[0], abs=0.05)
    middle = leg.interpolate(0.5, normalized=True)
    bare = ring.intersection(LineString([(middle.x, 0), (middle.x, 999)]))
    assert bare.length < width / 2  # as thin as it would be


@pytest.mark.parametrize(
    ("key", "part"), [("roof-at-wall", "flashing"), ("kick-out", "kick-out"), ("deck", "deck membrane")]
)
@pytest.mark.parametrize("wall", [one for one in WALLS if "masonry" in one])
def test_what_is_let_into_a_joint_is_seen_under_the_tray_that_lies_on_it(wall, key, part):
    """Its return is as thick as its upright part, and so far below the tray that this leaves it in sight."""
    made = drawing(key, wall, 1)
    for width, tall in SIZES[:4]:
        canvas = Canvas(made, width, tallest=tall)
        layer = made.layer(part)
        face = made.layer("leaf").outline[0][0]
        [turned] = [line for line in canvas._slants.of(layer) if max(x for x, _ in line) > face]
        band = LineString(map(canvas.at, turned)).buffer(1.35, cap_style="flat")
        trays = [Polygon(ring) for one, ring in canvas.pieces if one.key == "tray"]
        hidden = sum(band.intersection(one.buffer(0.95)).area for one in trays)  # with its white edge
        inside = box(canvas.at((face, 0))[0], 0, 999, 999)
        assert band.intersection(inside).area > 4
        assert hidden < band.area * 0.45


@pytest.mark.parametrize("wall", CLAD)
@pytest.mark.parametrize("level", [1, 4])
def test_a_roof_over_the_wall_has_one_pitch(wall, level):
    """No corner where it passes the films of the wall below."""
    made = drawing("wall-top-eaves", wall, level)
    for width, tall in SIZES:
        canvas = Canvas(made, width, tallest=tall)
        for layer, ring in canvas.pieces:
            if layer.key in ("roof", "rafter"):
                window = Polygon(layer.outline).intersection(box(*canvas.box))
                assert len(ring) == len(window.exterior.coords) - 1, (layer.key, width)


@pytest.mark.parametrize("level", [1, 4])
def test_the_top_of_a_stone_sill_is_one_slope(level):
    """No step where it passes the films of the opening."""
    made = drawing("sill", WALLS[1], level)
    stone = made.layer("outer sill").outline
    for width, tall in SIZES:
        canvas = Canvas(made, width, tallest=tall)
        [ring] = [ring for layer, ring in canvas.pieces if layer.key == "outer sill"]
        assert len(ring) == len(stone), (width, tall)


@pytest.mark.parametrize("frame", FRAMES)
@pytest.mark.parametrize("key", ["head", "sill"])
@pytest.mark.parametrize("wall", CLAD)
def test_a_sheet_that_slopes_is_drawn_straight(wall, key, frame):
    """A flashing or tray of one fall has no step where it passes the films of the opening, and stands at its own ends."""
    made = drawing(key, wall, 4, frame=frame)
    slanting = [
        (a, b)
        for layer in made.layers
        if layer.material in ("metal", "tray")
        for a, b in pairwise([*layer.outline, layer.outline[0]])
        if abs(a[0] - b[0]) > 20 and a[1] != b[1]
    ]
    assert slanting
    for width, tall in SIZES:
        canvas = Canvas(made, width, tallest=tall)
        for a, b in slanting:
            shown = LineString([canvas.at(a), canvas.at(b)])
            for share in range(1, 20):
                x, y = (low + share / 20 * (high - low) for low, high in zip(a, b, strict=True))
                assert shown.distance(Point(canvas.at((x, y)))) < 0.3, (width, tall)


def ways_of(drawn, steps=12):
    """Points along every line and loop of path data, and its points as they stand."""
    spots, last = [], (0.0, 0.0)
    for data in re.findall(r'd="([^"]*)"', drawn):
        for kind, numbers in re.findall(r"([MLQ])([^MLQ]*)", data):
            values = [float(one) for one in re.findall(r"-?[\d.]+", numbers)]
            points = list(zip(values[::2], values[1::2], strict=True))
            if kind == "Q":
                (bend, end), start = points, last
                spots += [
                    tuple((1 - t) ** 2 * a + 2 * t * (1 - t) * b + t * t * c for a, b, c in zip(start, bend, end, strict=True))
                    for t in (step / steps for step in range(steps))
                ]  # fmt: skip
            spots += points[-1:]
            last = points[-1]
    return spots


@pytest.mark.parametrize("wall", WALLS)
@pytest.mark.parametrize("key", ["pipe", "kick-out", "roof-at-wall", "head"])
def test_loops_of_insulation_end_at_its_edge(wall, key):
    """A pipe falls outward, a tray rises through the insulation: loops of the box round what is left would run into them."""
    made = drawing(key, wall)
    seen = 0
    for width, tall in SIZES:
        for layer, ring in Canvas(made, width, tallest=tall).pieces:
            if layer.material in ("insulation", "slab") and (drawn := hatching(ring, layer.material)):
                reach = Polygon(ring).buffer(0.2)
                assert all(reach.covers(Point(spot)) for spot in ways_of(drawn)), layer.key
                seen += 1
    assert seen


@pytest.mark.parametrize("sheathing", ["sheathed", "open studs"])
@pytest.mark.parametrize("wall", [WALLS[0], WALLS[1], WALLS[3]])
def test_timber_that_is_cut_round_an_opening_is_crossed_also_where_it_is_let_in_for_what_lies_on_it(
    wall, sheathing
):
    """From corner to corner of its box, within its own outline; an angle of two equal legs of 1 in 4 has none."""
    let_in = 0
    numbers = ladder_numbers(3, wall, sheathing=sheathing)
    for one in JUNCTIONS:
        if one.key not in ("sill", "head", "jamb"):
            continue
        for layer in section_of(one, numbers).layers:
            if layer.material != "timber":
                continue
            drawn = hatching(layer.outline, "timber")
            spots = [
                tuple(map(float, spot))
                for spot in re.findall(r"(-?[\d.]+)[ ,](-?[\d.]+)", drawn.split('d="')[1].split('"')[0])
            ]
            assert len(spots) >= 4, layer.key
            within = Polygon(layer.outline).buffer(0.2)
            assert all(within.covers(Point(spot)) for spot in spots)
            let_in += len(layer.outline) > 4
    assert let_in
    assert not hatching([(0, 0), (40, 0), (40, 10), (10, 10), (10, 40), (0, 40)], "timber")
