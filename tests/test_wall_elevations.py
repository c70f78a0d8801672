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
from exposure.wall.building import OUTSIDE_TABLE
from exposure.wall.elevations import elevations_of
from exposure.wall.roof import wall_shape

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
    longitude, latitude = PLANE.go(30 * np.sin(np.deg2rad(77)), 30 * np.cos(np.deg2rad(77)), crs="EPSG:4326")
    azimuth, _, distance = Geod(ellps="WGS84").inv(8.0, 50.0, longitude, latitude)
    assert azimuth == pytest.approx(77.0, abs=1e-4)
    assert distance == pytest.approx(30.0, abs=1e-4)
