"""Shelter by neighbours: rooms and rows laid out by hand, distances against shapely, and the time it takes."""

import dataclasses
import time

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from site_world import PLANE, block, neighbours, raster

from exposure.site.shelter import views
from exposure.wall.building import Untold, Wall
from exposure.wall.elevations import elevations_of
from exposure.wall.sheltered import sheltered_walls

HOUSE = block(-6, -4, 6, 4)  # 12 by 8 m round the origin


def south(around, *, height=6.0, **more):
    """View of the south wall of the house."""
    return views(
        np.array([[-6.0, -4.0]]),
        np.array([[6.0, -4.0]]),
        np.array([180.0]),
        np.array([height]),
        around,
        **more,
    )[0]


def test_a_long_facade_opposite_shelters_at_its_distance_by_hand():
    # a wall of buildings 200 m long whose face stands 20 m in front of the south wall
    view = south(neighbours((-100, -40, 100, -24), heights=6))
    assert view.filled == 1.0
    assert view.distance == pytest.approx(20.0, abs=0.1)
    assert view.nearest == pytest.approx(20.0, abs=0.1)


def test_nearest_distance_agrees_with_shapely():
    around = neighbours((-8, -40, 30, -27), heights=7)
    view = south(around)
    assert view.nearest == pytest.approx(shapely.distance(HOUSE, around.polygons[0]), abs=0.1)


def test_lower_buildings_do_not_count():
    assert south(neighbours((-100, -40, 100, -24), heights=5.9)).distance is None
    assert south(neighbours((-100, -40, 100, -24), heights=5.96)).distance is not None


def test_half_the_view_is_needed():
    # seen from the middle of the wall a facade from x = 0 eastward fills 60 of 120 degrees; from its east end less
    small = south(neighbours((-4, -40, 4, -24), heights=6))
    assert small.distance is None
    assert 0 < small.filled < 0.5
    assert small.nearest == pytest.approx(20.0, abs=0.1)
    assert "half is needed" in small.reason


def test_the_farther_of_two_counts_when_the_nearer_fills_too_little():
    # a shed tower at 6 m fills little; the long row at 30 m fills the rest
    view = south(neighbours((-2, -14, 2, -10), (-200, -50, 200, -34), heights=8))
    assert view.nearest == pytest.approx(6.0, abs=0.1)
    assert view.distance == pytest.approx(30.0, abs=0.1)


def test_the_barest_part_of_the_wall_decides():
    # near on the west at 10 m, far on the east at 40 m: the east end sees mostly the far one
    view = south(neighbours((-200, -20, 0, -14), (0, -60, 200, -44), heights=8))
    assert view.distance == pytest.approx(40.0, abs=0.1)


def test_beyond_120_metres_nothing_shelters():
    assert south(neighbours((-900, -150, 900, -123), heights=9)).distance == pytest.approx(119.0, abs=0.1)
    assert south(neighbours((-900, -150, 900, -125), heights=9)).nearest is None


def test_behind_the_wall_nothing_counts():
    assert south(neighbours((-100, 5, 100, 30), heights=30)).nearest is None


def test_a_street_that_leads_to_the_wall_takes_the_shelter_away():
    # long blocks left and right of a street 14 m wide that runs straight at the south wall
    view = south(neighbours((-150, -130, -7, -14), (7, -130, 150, -14), heights=9))
    assert view.street
    assert view.distance is None
    assert "street" in view.reason


def test_rows_of_similar_buildings_take_the_shelter_away():
    row = [(-100 + 20 * i, -30, -82 + 20 * i, -22) for i in range(10)]
    behind = [(x0, y0 - 26, x1, y1 - 26) for x0, y0, x1, y1 in row]
    view = south(neighbours(*row, *behind, heights=6))
    assert view.rows
    assert view.distance is None
    one_row = south(neighbours((-100, -30, 100, -22), heights=6))
    assert not one_row.rows
    assert one_row.distance is not None


def test_a_neighbour_on_lower_ground_counts_with_its_own_top():
    around = neighbours((-100, -40, 100, -24), heights=6)
    wall = Wall(name="south", orientation=180, length=12, height=6, start=(-6.0, -4.0), end=(6.0, -4.0))
    slope = raster(lambda x, y: 0.1 * y, pixel=10.0, reach=400.0)  # 3.2 m lower at the neighbour
    level = raster(lambda x, y: 5.0 + 0 * y, pixel=10.0, reach=400.0)
    assert sheltered_walls([wall], around, plane=PLANE, ground=level)[0].obstacle_distance == pytest.approx(
        20, abs=0.1
    )
    assert sheltered_walls([wall], around, plane=PLANE, ground=slope)[0].obstacle_distance is None


def test_the_users_distance_stays():
    wall = Wall(
        name="south",
        orientation=180,
        length=12,
        height=6,
        start=(-6.0, -4.0),
        end=(6.0, -4.0),
        obstacle_distance=50,
    )
    assert sheltered_walls([wall], neighbours((-100, -40, 100, -24), heights=6))[0].obstacle_distance == 50


def test_each_answer_to_what_was_not_told_looks_at_the_neighbours_itself():
    # neighbours 6 m high, 20 m off: they shelter the wall of 6 m, and not the same wall if it is 12 m to a ridge
    corners = {"start": (-6.0, -4.0), "end": (6.0, -4.0)}
    low, high = (
        Wall(name="south", orientation=180, length=12, height=height, **corners) for height in (6.0, 12.0)
    )
    asked = dataclasses.replace(low, untold=(Untold("ridge height", "6 m", (("6 m", low), ("12 m", high))),))
    (found,) = sheltered_walls([asked], neighbours((-100, -40, 100, -24), heights=6))
    assert found.obstacle_distance == pytest.approx(20, abs=0.1)
    (same, taller) = (wall for _, wall in found.untold[0].answers)
    assert same.obstacle_distance == pytest.approx(20, abs=0.1)
    assert taller.obstacle_distance is None
    assert (same.height, taller.height) == (6.0, 12.0)


@given(turn=st.floats(0, 360))
@settings(max_examples=25, deadline=None)
def test_turning_everything_changes_nothing(turn):
    around = neighbours((-100, -60, 100, -34), (-4, -20, 2, -14), heights=7)
    a = np.deg2rad(turn)
    matrix = np.array([[np.cos(a), np.sin(a)], [-np.sin(a), np.cos(a)]])  # clockwise

    def turned(xy):
        return xy @ matrix.T

    around_turned = type(around)(
        shapely.transform(around.polygons, turned), around.heights, around.told_by, "turned"
    )
    found = views(
        turned(np.array([[-6.0, -4.0]])),
        turned(np.array([[6.0, -4.0]])),
        np.array([180 + turn]),
        np.array([6.0]),
        around_turned,
    )[0]
    plain = south(around)
    assert found.nearest == pytest.approx(plain.nearest, abs=1e-6)
    assert found.distance == pytest.approx(plain.distance, abs=1e-6)


def test_a_thousand_buildings_and_eight_elevations_are_quick():
    chance = np.random.default_rng(3)
    centres = chance.uniform(-500, 500, (1000, 2))
    boxes = [(x - 5, y - 4, x + 5, y + 4) for x, y in centres if max(abs(x), abs(y)) > 20]
    around = neighbours(*boxes, heights=chance.uniform(4, 9, len(boxes)))
    octagon = shapely.Point(0, 0).buffer(9, quad_segs=2)
    walls, _ = elevations_of(octagon, height=6)
    assert len(walls) == 8
    best = np.inf
    for _ in range(3):
        start = time.process_time()
        found = sheltered_walls(walls, around)
        best = min(best, time.process_time() - start)
    assert all(wall.view is not None for wall in found)
    assert best < 0.2, f"{best:.3f} s"
