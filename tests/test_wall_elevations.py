"""Elevations from footprints: azimuths against a geodesic, lengths against shapely, corners and party walls by hand."""

import itertools

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from pyproj import Geod
from site_world import PLANE, block
from test_site_footprint import geojson, in_degrees

from exposure.checks import RefusalError
from exposure.site.footprint import read_footprint
from exposure.wall import elevations
from exposure.wall.building import OUTSIDE_TABLE, Wall
from exposure.wall.eaves import with_overhang
from exposure.wall.elevations import elevations_of
from exposure.wall.roof import Roof, Span, roofed, wall_shape

ELL = shapely.Polygon([(0, 0), (15, 0), (15, 7), (7.5, 7), (7.5, 12.5), (0, 12.5)])


def apart(one, other):
    return abs((one - other + 180) % 360 - 180)


@pytest.mark.parametrize("turn", [0.0, 37.0, 52.0, 211.0])
def test_orientations_agree_with_the_geodesic(tmp_path, turn):
    house = shapely.affinity.rotate(block(-9, -4, 9, 4), -turn, origin=(0, 0))
    found = read_footprint(geojson(tmp_path / "h.geojson", in_degrees(house)))
    walls, _ = elevations_of(found.polygon, height=6)
    earth = Geod(ellps="WGS84")
    ring = np.asarray(in_degrees(shapely.geometry.polygon.orient(house, 1.0)).exterior.coords)
    expected = []
    for (x0, y0), (x1, y1) in itertools.pairwise(ring):
        azimuth, _, distance = earth.inv(x0, y0, x1, y1)
        expected.append(((azimuth + 90) % 360, distance))  # counter-clockwise: outside is to the right
    assert len(walls) == 4
    for wall in walls:
        near = min(expected, key=lambda pair: apart(pair[0], wall.orientation))
        assert apart(near[0], wall.orientation) < 0.02
        assert wall.length == pytest.approx(near[1], abs=0.01)


def test_inner_corner_by_hand():
    walls, _ = elevations_of(ELL, height=6)
    assert [(wall.name, wall.orientation, wall.length) for wall in walls] == [
        ("south", 180.0, 15.0),
        ("east", 90.0, 7.0),
        ("north, inner", 0.0, 7.5),
        ("east, inner", 90.0, 5.5),
        ("north", 0.0, 7.5),
        ("west", 270.0, 12.5),
    ]


def test_courtyard_walls_face_into_it():
    court = shapely.Polygon(block(0, 0, 20, 20).exterior.coords, [block(5, 5, 15, 15).exterior.coords])
    walls, _ = elevations_of(court, height=6)
    inside = [wall for wall in walls if "courtyard" in wall.name]
    assert len(walls) == 8
    assert len(inside) == 4
    for wall in inside:
        middle = (np.array(wall.start) + np.array(wall.end)) / 2
        normal = np.array([np.sin(np.deg2rad(wall.orientation)), np.cos(np.deg2rad(wall.orientation))])
        assert not court.contains(shapely.Point(middle + normal))
        assert any("courtyard" in flag for flag in wall.flags)


def test_small_jogs_are_part_of_the_wall():
    jog = shapely.Polygon([(0, 0), (5, 0), (5, 0.15), (10, 0.15), (10, 6), (0, 6)])
    walls, _ = elevations_of(jog, height=6)
    assert len(walls) == 4
    assert sum(wall.length for wall in walls) == pytest.approx(32.0, abs=0.4)


@pytest.mark.parametrize("bent", range(4))
def test_a_side_bent_a_little_is_one_elevation_whichever_it_is(bent):
    # 60 m long and 0.8 m out in the middle: 3 degrees of turn and less than a metre, so four elevations
    corners = np.array([(0, 0), (60, 0), (60, 60), (0, 60)], dtype=float)
    here, there = corners[bent], corners[(bent + 1) % 4]
    run = (there - here) / 60
    middle = (here + there) / 2 + 0.8 * np.array([run[1], -run[0]])
    walls, _ = elevations_of(shapely.Polygon(np.insert(corners, bent + 1, middle, axis=0)), height=6)
    assert [round(wall.length) for wall in walls] == [60] * 4
    assert {wall.name for wall in walls} == {"south", "east", "north", "west"}


def test_elevations_run_from_corner_to_corner_of_the_outline_to_the_millimetre():
    corners = [(0.254, 0.412), (12.701, 0.412), (12.701, 8.853), (0.254, 8.853)]
    walls, _ = elevations_of(shapely.Polygon(corners), height=6)
    assert {wall.start for wall in walls} == {wall.end for wall in walls} == set(corners)
    assert {wall.length for wall in walls} == {12.45, 8.44}  # to the centimetre, by hand


def test_party_walls_are_left_out_and_said_so():
    terrace = np.array([block(10, 0, 20, 8), block(-10, 0, 0, 4)], dtype=object)  # one full wall, one half
    walls, notes = elevations_of(block(0, 0, 10, 8), height=6, touching=terrace)
    lengths = {wall.name: wall.length for wall in walls}
    assert set(lengths) == {"south", "north", "west"}
    assert lengths["west"] == pytest.approx(8 - 4 - 0.3, abs=0.05)  # the touching band reaches 0.3 m
    assert any("touch a neighbour" in note for note in notes)
    with pytest.raises(RefusalError, match="every wall touches"):
        elevations_of(block(0, 0, 10, 8), height=6, touching=np.array([block(-1, -1, 11, 9)], dtype=object))


@given(
    turn=st.floats(0, 360),
    size=st.tuples(st.floats(3, 60), st.floats(3, 60)),
    corners=st.integers(3, 9),
)
@settings(max_examples=60, deadline=None)
def test_walls_close_the_ring_and_look_outward(turn, size, corners):
    angles = np.linspace(0, 2 * np.pi, corners, endpoint=False)
    ring = np.column_stack([size[0] * np.cos(angles), size[1] * np.sin(angles)])
    shape = shapely.affinity.rotate(shapely.Polygon(ring), turn)
    walls, _ = elevations_of(shape, height=6)
    outline = shapely.Polygon([wall.start for wall in walls]) if len(walls) > 2 else shape
    assert (
        outline.exterior.hausdorff_distance(shape.exterior) <= 1.0 + 0.3 + 0.6
    )  # bulge, jog, shortest piece
    normals = np.array(
        [[np.sin(np.deg2rad(w.orientation)), np.cos(np.deg2rad(w.orientation))] for w in walls]
    )
    lengths = np.array([wall.length for wall in walls])
    np.testing.assert_allclose(
        lengths @ normals, 0, atol=0.05 * lengths.sum()
    )  # a closed ring has no net normal
    for wall, normal in zip(walls, normals, strict=True):
        middle = (np.array(wall.start) + np.array(wall.end)) / 2
        assert not shape.buffer(-0.35).contains(shapely.Point(middle + normal))
    assert len({wall.name for wall in walls}) == len(walls)


def test_gables_stand_at_the_ends_of_the_longer_side():
    walls, _ = elevations_of(shapely.affinity.rotate(block(-9, -4, 9, 4), 30), height=6, roof="gable")
    for wall in walls:
        assert ("gable" in wall.shape) == (wall.length < 10)


@pytest.mark.parametrize(
    ("storeys", "roof", "gable_end", "shape"),
    [
        (1, "gable", True, "two-storey gable"),
        (2, "gable", False, "two-storey eaves wall"),
        (3, "hip", False, "three-storey eaves wall"),
        (2, "flat", False, "two-storey, flat roof"),
        (3, "flat", False, "multi-storey, flat roof"),
        (4, "gable", True, OUTSIDE_TABLE),
        (2, None, False, "two-storey gable"),
    ],
)
def test_shapes_by_the_rule(storeys, roof, gable_end, shape):
    assert wall_shape(storeys=storeys, roof=roof, gable_end=gable_end) == shape


def test_unknown_roof_takes_the_hardest_and_an_impossible_one_is_refused():
    walls, _ = elevations_of(ELL, height=6)
    assert {wall.shape for wall in walls} == {"two-storey gable"}
    assert all("roof" in {one.what for one in wall.untold} for wall in walls)
    with pytest.raises(RefusalError, match="one of gable, hip, flat"):
        elevations_of(ELL, height=6, roof="onion")


def test_plane_is_true_at_its_middle():
    # geodesic azimuth of a point 30 m away in a bearing of 77 degrees
    longitude, latitude = PLANE.to_crs(
        30 * np.sin(np.deg2rad(77)), 30 * np.cos(np.deg2rad(77)), crs="EPSG:4326"
    )
    azimuth, _, distance = Geod(ellps="WGS84").inv(8.0, 50.0, longitude, latitude)
    assert azimuth == pytest.approx(77.0, abs=1e-4)
    assert distance == pytest.approx(30.0, abs=1e-4)


def outline(*corners):
    return shapely.Polygon(corners)


def lengths(walls):
    return {wall.name: wall.length for wall in walls}


def test_edges_turn_outward_and_keep_their_size():
    edge = elevations._Edge(np.array([0.0, 0.0]), np.array([3.0, 4.0]), "inner")
    assert (edge.length, edge.whole, edge.place) == (5.0, 5.0, "inner")
    assert edge.orientation == pytest.approx(
        np.rad2deg(np.arctan2(4, -3))
    )  # to the right of the way: east 4, north -3
    assert elevations._Edge(np.zeros(2), np.array([3.0, 4.0]), "", 9.0).whole == 9.0
    assert elevations._Edge(np.zeros(2), np.array([3.0, 4.0]), "", 4.0).whole == 5.0


@pytest.mark.parametrize(
    ("chain", "bulge"),
    [
        ([(0, 0), (10, 0)], 0.0),
        ([(0, 0), (5, 2), (10, 0)], 2.0),
        ([(0, 0), (5, -2), (7, 1), (10, 0)], 2.0),
        ([(3, 1), (6, 7), (3, 11)], 3.0),
        ([(0, 0), (4, 3), (8, 0), (0, 0.0)], 0.0),
    ],
)
def test_the_bulge_of_a_chain_is_its_farthest_corner_from_the_line(chain, bulge):
    found = elevations._bulge(np.array(chain, dtype=float))
    assert found == pytest.approx(bulge) or chain[0] == chain[-1]


@pytest.mark.parametrize(("turn", "signed"), [(10, 10), (350, -10), (-350, 10), (180, -180), (-10, -10)])
def test_turns_are_counted_the_short_way(turn, signed):
    assert elevations._signed(turn) == signed


def test_a_side_is_broken_by_six_degrees_or_a_metre():
    # a side of 60 m with one corner that lies out by some metres in its middle: turn is 2 atan(out / 30)
    for out, count in ((0.8, 4), (0.99, 4), (1.01, 5)):  # 3.8 and 3.9 degrees
        walls, _ = elevations_of(outline((0, 0), (30, -out), (60, 0), (60, 50), (0, 50)), height=6)
        assert len(walls) == count
    # a side of 16 m: 0.42 m out are 6.01 degrees, 0.41 m are 5.87
    for out, count in ((0.41, 4), (0.43, 5)):
        walls, _ = elevations_of(outline((0, 0), (8, -out), (16, 0), (16, 50), (0, 50)), height=6)
        assert len(walls) == count


def test_a_round_house_keeps_the_corners_it_has():
    # eighty corners, each turning 4.5 degrees: no chain has a corner to begin at, and none may bulge a metre
    ring = shapely.Point(0, 0).buffer(30, quad_segs=20)
    walls, _ = elevations_of(ring, height=6, tolerance=0.0)
    assert sum(wall.length for wall in walls) == pytest.approx(ring.length, rel=0.02)
    assert all(wall.length < 2 * np.sqrt(2 * 30 * 1.01) for wall in walls)  # a chord 1 m off an arc of 30 m


def test_names_count_alike_and_say_where_a_wall_looks():
    tee = outline((0, 0), (4, 0), (4, -5), (10, -5), (10, 0), (14, 0), (14, 6), (0, 6))
    walls, notes = elevations_of(tee, height=6)
    assert lengths(walls) == {
        "south, inner 1": 4.0, "west, inner": 5.0, "south": 6.0, "east, inner": 5.0, "south, inner 2": 4.0,
        "east": 6.0, "north": 14.0, "west": 6.0,
    }  # fmt: skip
    assert notes == ()
    assert all(wall.flags == () and wall.eaves_height == 6 for wall in walls)


def test_courtyards_of_some_width_have_elevations():
    # rings of 8 by 0.5 m hold 4 m2, less than 0.3 m times their 17 m; of 8 by 0.8 m 6.4 m2, more than 5.28
    ring = block(0, 0, 20, 20).exterior.coords
    for width, count in ((0.5, 4), (0.8, 8)):
        court = shapely.Polygon(ring, [block(5, 5, 13, 5 + width).exterior.coords])
        walls, _ = elevations_of(court, height=6)
        assert len(walls) == count
    told = {
        wall.name: [(one.key, one.subject) for one in wall.flags] for wall in walls if "court" in wall.name
    }
    assert told["north, courtyard"] == [("wall.courtyard", "north, courtyard")]
    assert {name for name in told} == {f"{way}, courtyard" for way in ("north", "east", "south", "west")}
    assert all(wall.flags == () for wall in walls if "court" not in wall.name)


def test_pieces_shorter_than_sixty_centimetres_are_no_elevation():
    for notch, count in ((0.61, 6), (0.59, 5)):  # an L whose one short arm is the notch
        ell = outline((0, 0), (10, 0), (10, 8), (9, 8), (9, 8 + notch), (0, 8 + notch))
        for touching in (None, np.array([block(50, 0, 60, 9)], dtype=object)):  # none near
            walls, notes = elevations_of(ell, height=6, tolerance=0.01, touching=touching)
            assert (len(walls), notes) == (count, ())


def test_what_a_neighbour_hides_is_measured():
    def seen(*boxes):
        walls, notes = elevations_of(block(0, 0, 10, 8), height=6, touching=np.array([block(*box) for box in boxes], dtype=object))  # fmt: skip
        return lengths(walls), [(one.key, one.subject, one.numbers) for one in notes]

    def hidden(metres):
        return [("wall.touching_neighbour", "", {"hidden": pytest.approx(metres)})]

    # a neighbour on the middle of the east side, 3 m wide: it takes 3.6 m, and two pieces of 2.2 m are left
    assert seen((10, 2.5, 20, 5.5)) == ({"south": 10, "east 1": 2.2, "east 2": 2.2, "north": 10, "west": 8}, hidden(3.6))  # fmt: skip
    assert seen((10.29, 2.5, 20, 5.5))[1] == hidden(3.6)
    assert seen((10.31, 2.5, 20, 5.5)) == ({"south": 10, "east": 8, "north": 10, "west": 8}, [])
    # it reaches within 0.5 m of the corner: that piece is no elevation and counts as hidden
    assert seen((10, 0.8, 20, 5.0)) == ({"south": 10, "east": 2.7, "north": 10, "west": 8}, hidden(5.3))
    assert seen((9.95, -9, 20, -0.15))[1] == []  # 0.35 m of one side and 0.15 m of the other are no matter
    walls, _ = elevations_of(block(0, 0, 10, 8), height=6, roof=Roof("gable", gables=("east 1", "east 2"), pitch=45), touching=np.array([block(10, 2.5, 20, 5.5)], dtype=object))  # fmt: skip
    assert [wall.height for wall in walls if "gable" in wall.shape] == [
        10.0,
        10.0,
    ]  # half of the whole side of 8 m


def test_an_outline_all_hidden_is_refused_in_full():
    with pytest.raises(RefusalError) as refused:
        elevations_of(block(0, 0, 10, 8), height=6, touching=np.array([block(-1, -1, 11, 9)], dtype=object))
    assert str(refused.value) == (
        "every wall touches a neighbour; expected one free wall or more. Check the neighbours' footprints."
    )


def test_a_clockwise_outline_gives_the_same_elevations():
    corners = [(0.0, 0.0), (12.0, 0.0), (12.0, 8.0), (0.0, 8.0)]
    walls, _ = elevations_of(outline(*corners), height=6.5, storeys=3, roof="hip")
    assert {(w.name, w.orientation, w.length, w.height, w.start, w.end) for w in walls} == {
        ("south", 180.0, 12.0, 6.5, (0, 0), (12, 0)), ("east", 90.0, 8.0, 6.5, (12, 0), (12, 8)),
        ("north", 0.0, 12.0, 6.5, (12, 8), (0, 8)), ("west", 270.0, 8.0, 6.5, (0, 8), (0, 0)),
    }  # fmt: skip
    back, _ = elevations_of(outline(*corners[::-1]), height=6.5, storeys=3, roof="hip")
    assert set(lengths(back).items()) == set(lengths(walls).items())
    assert {wall.untold[0].answers[0][1].shape for wall in walls} == {"three-storey eaves wall"}
    tiny = outline((0, 0), (0.2, 0), (0.2, 0.2), (0, 0.2))  # smaller than the tolerance: kept as it is
    with pytest.raises(RefusalError, match="every wall"):
        elevations_of(tiny, height=6)


@pytest.mark.parametrize(
    ("plan", "along", "short", "plain"),
    [
        (block(0, 0, 12, 10), 90.0, 10.0, True),  # 1.2 times as long
        (block(0, 0, 11.9, 10), 90.0, 10.0, False),
        (block(0, 0, 8, 20), 0.0, 8.0, True),
        (outline((0, 0), (20, 0), (20, 8), (10, 8), (10, 10), (0, 10)), 90.0, 10.0, True),  # fills 0.9 of it
        (outline((0, 0), (20, 0), (20, 7.9), (10, 7.9), (10, 10), (0, 10)), 90.0, 10.0, False),
        (shapely.affinity.rotate(block(0, 0, 20, 8), 30), 60.0, 8.0, True),
        (shapely.affinity.rotate(block(0, 0, 20, 8), -30), 120.0, 8.0, True),
    ],
)
def test_what_a_plan_tells_of_its_ridge(plan, along, short, plain):
    span = Span.of(plan, [1.0, 2.0])
    assert (span.along, span.short) == (pytest.approx(along, abs=1e-6), pytest.approx(short))
    assert (span.plain, span.widths) == (plain, (1.0, 2.0))


def box_under(storeys=2, **roof):
    walls, _ = elevations_of(block(0, 0, 12, 8), height=6, storeys=storeys, roof=Roof(**roof))
    return {wall.name: wall for wall in walls}


def answers(wall):
    return {one.what: (one.taken, [(told, other.shape, other.height) for told, other in one.answers]) for one in wall.untold}  # fmt: skip


def test_every_roof_over_a_box_by_hand():
    # 12 by 8 m, eaves at 6 m, the ridge along the long side: the gables are 8 m wide, so they rise by 4 m times the tangent
    ridge = ("10 m, a pitch of 45 degrees", [("a pitch of 30 degrees, 8.31 m", "two-storey gable", 8.31)])
    unknown = box_under()
    for wall in unknown.values():
        assert (wall.shape, wall.height, wall.eaves_height) == ("two-storey gable", 10.0, 6.0)
        assert list(answers(wall)) == ["roof", "ridge height"]
        assert answers(wall)["ridge height"] == ridge
        assert answers(wall)["roof"] == ("a gable", [("a roof with eaves all round, 350 mm of eaves", "two-storey eaves wall", 6.0), ("a flat roof", "two-storey, flat roof", 6.0)])  # fmt: skip
    wide = box_under(eaves=300.0, ridge_height=9.0)["south"]
    assert (wide.height, answers(wide)["roof"][1][0][0]) == (
        9.0,
        "a roof with eaves all round, 300 mm of eaves",
    )
    assert list(answers(wide)) == ["roof"]
    flat = box_under(form="flat")["south"]
    assert (flat.shape, flat.height, flat.untold) == ("two-storey, flat roof", 6.0, ())
    hip = box_under(form="hip")["south"]
    assert (hip.shape, hip.wall_factor, hip.height) == (OUTSIDE_TABLE, 0.5, 6.0)
    assert answers(hip) == {"eaves": ("no eaves", [("350 mm of eaves", "two-storey eaves wall", 6.0)])}
    told = box_under(form="hip", eaves=350.0)["south"]
    assert (told.shape, told.untold, told.flags) == ("two-storey eaves wall", (), ())
    gable = box_under(form="gable", eaves=350.0, pitch=30.0)
    assert [(gable[name].shape, gable[name].height) for name in ("south", "east")] == [("two-storey eaves wall", 6.0), ("two-storey gable", 8.31)]  # fmt: skip
    assert answers(box_under(form="gable", eaves=350.0)["east"]) == {"ridge height": ridge}
    named = box_under(gables=("south",), eaves=350.0, own_ridges={"south": 9.5})
    assert [(named[name].shape, named[name].height) for name in ("south", "east")] == [("two-storey gable", 9.5), ("two-storey eaves wall", 6.0)]  # fmt: skip
    assert [wall.shape for wall in box_under(gables=(), eaves=350.0).values()] == [
        "two-storey eaves wall"
    ] * 4


def test_shallow_roofs_tall_houses_and_eaves_of_single_walls():
    for pitch, shape in (
        (19.9, "two-storey, flat roof"),
        (20.0, "two-storey eaves wall"),
    ):  # below 20 degrees flat
        assert box_under(form="hip", eaves=350.0, pitch=pitch)["south"].shape == shape
    low = box_under(form="hip", pitch=15.0)["south"]
    assert (low.shape, low.untold) == ("two-storey, flat roof", ())
    low = box_under(pitch=15.0)["south"]  # an unknown form: 4 tan 15 degrees are 1.07 m
    assert (low.height, low.shape) == (7.07, "two-storey gable")
    assert [shape for _, shape, _ in answers(low)["roof"][1]] == ["two-storey, flat roof"] * 2
    tall = box_under(storeys=4, form="hip", eaves=350.0)["south"]
    assert (tall.shape, tall.factor_reason) == (
        OUTSIDE_TABLE,
        "a pitched roof on 4 storeys is outside the table",
    )
    assert [(one.key, one.subject, one.numbers) for one in tall.flags] == [("wall.outside_table", "south", {"storeys": 4})]  # fmt: skip
    own = box_under(
        form="hip", eaves=350.0, own_eaves={"south": 100.0, "north": 500.0, "west": 250.0, "east": 450.0}
    )
    assert [own[name].shape for name in ("south", "north", "west", "east")] == [OUTSIDE_TABLE, *["two-storey eaves wall"] * 3]  # fmt: skip
    assert own["south"].factor_reason == "eaves of 100 mm, narrower than the table's 350 mm"
    told = {name: [(one.key, one.subject, one.numbers) for one in wall.flags] for name, wall in own.items()}
    assert told == {
        "south": [("wall.narrow_eaves", "south", {"overhang": "100"})], "north": [("wall.wide_eaves", "north", {"overhang": "500"})],
        "west": [], "east": [],
    }  # fmt: skip
    for wide in (-1, 5001):
        with pytest.raises(
            RefusalError, match=r"overhang of south is -?\d+; expected a number from 0 to 5000 mm"
        ):
            with_overhang(told_eaves(), wide)
    assert with_overhang(told_eaves(), 249).shape == OUTSIDE_TABLE
    assert with_overhang(told_eaves(), 250) == with_overhang(told_eaves(), 450) == told_eaves()


def told_eaves():
    return Wall(name="south", orientation=180, length=9, height=6, shape="two-storey eaves wall")


def test_on_a_plan_with_a_wing_each_gable_may_be_an_eaves_wall():
    walls, _ = elevations_of(ELL, height=6, roof=Roof("gable", eaves=300.0))
    for wall in walls:
        told = answers(wall)
        assert told["ridges"] == (
            "a gable",
            [("an eaves wall, 300 mm of eaves", "two-storey eaves wall", 6.0)],
        )
        assert list(told) == ["ridges", "ridge height"]
        # no ridge spans more than the wall's side, nor more than the plan's 12.5 m
        assert wall.height == pytest.approx(6 + min(wall.length, 12.5) / 2, abs=0.006)
    # a box as long as wide has no longer side either
    square, _ = elevations_of(block(0, 0, 10, 10), height=6, roof="gable")
    assert all("ridges" in answers(wall) for wall in square)


@pytest.mark.parametrize(("facing", "gable"), [(0, True), (44, True), (46, False), (90, False), (134, False), (136, True), (180, True), (316, True), (270, False)])  # fmt: skip
def test_a_gable_looks_along_the_ridge(facing, gable):
    span = Span(0.0, 8.0, True, (8.0,))
    wall = Wall(name="w", orientation=facing, length=8, height=6)
    (found,) = roofed([wall], span, Roof("gable", eaves=350.0, pitch=30.0), storeys=2)
    assert ("gable" in found.shape) == gable
    turned = Span(70.0, 8.0, True, (8.0,))
    (found,) = roofed([Wall(name="w", orientation=facing + 70, length=8, height=6)], turned, Roof("gable", eaves=350.0, pitch=30.0), storeys=2)  # fmt: skip
    assert ("gable" in found.shape) == gable
