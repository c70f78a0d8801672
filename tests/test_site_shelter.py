"""Shelter by neighbours: rooms and rows laid out by hand, distances against shapely, and the time it takes."""

import dataclasses
import time

import numpy as np
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from site_world import PLANE, block, neighbours, raster

from exposure.site import sight
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


def second_view(boxes, heights, *, height=6.0):
    """The south wall's view a second way: each ray against each box by its slabs, and counted by sorting.

    Returns
    -------
    nearest, filled, half, behind
        As :class:`exposure.site.sector.View`, and the share of stopped rays that meet a second building.
    """
    angles = np.deg2rad(np.arange(-60, 61, 5))
    depth, met = np.full((3, 25), np.inf), np.zeros((3, 25), int)
    for o, x in enumerate((-4.8, 0.0, 4.8)):  # a tenth, the middle, nine tenths of 12 m
        for r, angle in enumerate(angles):
            for (west, south_edge, east, north), top in zip(boxes, heights, strict=True):
                if top < height - 0.05:
                    continue
                # the ray lies at (x - t tan a, -4.05 - t) after t metres in front of the wall
                lean = -np.tan(angle)
                spans = [(-4.05 - north, -4.05 - south_edge)]
                if abs(lean) > 1e-12:
                    spans.append(tuple(sorted(((west - x) / lean, (east - x) / lean))))
                elif not west <= x <= east:
                    continue
                first, last = max(a for a, _ in spans), min(b for _, b in spans)
                if max(first, 0.0) <= min(last, 120.0):
                    depth[o, r], met[o, r] = min(depth[o, r], max(first, 0.0)), met[o, r] + 1
    half = np.sort(depth, axis=1)[:, 12].max()  # the thirteenth of 25 fills half the view
    stopped = np.isfinite(depth)
    return depth, stopped.mean(axis=1).min(), half, (met > 1).sum() / max(stopped.sum(), 1)


@pytest.mark.parametrize("seed", range(12))
def test_views_of_scattered_buildings_by_a_second_way(seed):
    chance = np.random.default_rng(seed)
    count = (3, 8, 20)[seed % 3]
    boxes = [(x, y - d, x + w, y) for x, y, w, d in zip(chance.uniform(-120, 90, count), chance.uniform(-110, -6, count), chance.uniform(3, 60, count), chance.uniform(3, 15, count), strict=True)]  # fmt: skip
    tops = chance.choice([4.0, 5.94, 5.96, 7.0, 11.0], count)
    view = south(neighbours(*boxes, heights=1.0), tops=tops)
    depth, filled, half, behind = second_view(boxes, tops)
    if not np.isfinite(depth).any():
        assert (view.nearest, view.filled, view.distance) == (None, 0.0, None)
        return
    assert view.nearest == pytest.approx(depth.min(), abs=1e-6)
    assert view.filled == pytest.approx(filled)
    rows = filled >= 0.5 and behind >= 0.5  # all lowered to one height before, so all alike
    assert view.rows == rows
    if filled >= 0.5 and not (view.street or rows):
        assert view.distance == pytest.approx(half, abs=1e-6)
    else:
        assert view.distance is None
    for (x0, y0, x1, y1, stopped), reach, angle in zip(
        view.rays, depth[1], np.arange(-60, 61, 5), strict=True
    ):
        far = reach if np.isfinite(reach) else 120.0
        assert (x0, y0) == pytest.approx((0.0, -4.05), abs=0.0051)
        assert (x1, y1) == pytest.approx((-far * np.tan(np.deg2rad(angle)), -4.05 - far), abs=0.0051)
        assert stopped == np.isfinite(reach)
        assert [round(part, 2) for part in (x0, y0, x1, y1)] == [x0, y0, x1, y1]


@pytest.mark.parametrize(
    ("boxes", "street", "rows", "words"),
    [
        ([(-100, -40, 100, -24)], False, False, ""),
        ([(-150, -130, -7, -14), (7, -130, 150, -14)], True, False, ", but wind may be led along a street: no shelter is counted"),
        ([(-150, -40, 150, -24), (-150, -90, 150, -60)], False, True, ", but rows of similar buildings: no shelter is counted"),
    ],
)  # fmt: skip
def test_every_kind_of_view_is_told_whole(boxes, street, rows, words):
    view = south(neighbours(*boxes, heights=6.0))
    depth, filled, half, _ = second_view(boxes, [6.0] * len(boxes))
    assert (view.street, view.rows) == (street, rows)
    assert view.reason == f"buildings as tall as the wall fill half the view within {half:.0f} m{words}"
    assert view.nearest == pytest.approx(depth.min(), abs=1e-6)
    assert view.filled == pytest.approx(filled)
    assert view.distance == (None if words else pytest.approx(half, abs=1e-6))
    bare = south(neighbours((-100, -140, 100, -126), heights=6.0))
    assert (bare.nearest, bare.filled, bare.distance, bare.street, bare.rows) == (
        None,
        0.0,
        None,
        False,
        False,
    )
    assert bare.reason == "no building as tall as the wall within 120 m in view"
    assert len(view.rays) == len(bare.rays) == 25


@pytest.mark.parametrize(
    "boxes",
    [
        [(-100, -40, 100, 0)],  # the whole wall stands in it
        [(-7, -12, -3, -1), (-100, -60, 100, -44)],  # one of its three points does
        [(-1, -5, 1, 30), (3, -9, 30, -2)],
    ],
)
def test_a_ray_that_begins_in_a_building_runs_nowhere(boxes):
    view = south(neighbours(*boxes, heights=6.0))
    depth, filled, half, behind = second_view(boxes, [6.0] * len(boxes))
    assert view.nearest == depth.min() == 0.0
    assert view.filled == pytest.approx(filled)
    assert view.rows == (filled >= 0.5 and behind >= 0.5)
    if view.distance is not None:
        assert view.distance == pytest.approx(half, abs=1e-6)
    stopped = [ray[4] for ray in view.rays]
    assert stopped == np.isfinite(depth[1]).tolist()
    reach = [np.hypot(ray[2] - ray[0], ray[3] - ray[1]) for ray in view.rays]
    angles = np.deg2rad(np.arange(-60, 61, 5))
    np.testing.assert_allclose(reach, np.where(stopped, depth[1], 120) / np.cos(angles), atol=0.02)


def test_a_view_half_open_says_how_much_is_filled():
    view = south(neighbours((-4, -40, 4, -24), heights=6))
    depth, filled, _, _ = second_view([(-4, -40, 4, -24)], [6])
    assert view.reason == f"buildings as tall as the wall fill {filled:.0%} of the view, half is needed"
    assert (view.distance, view.street, view.rows) == (None, False, False)
    assert view.nearest == pytest.approx(depth.min(), abs=1e-6)


@pytest.mark.parametrize(
    ("depth", "street"),
    [
        ([40, 50, 50, 50, 40], True),  # three rays are 15 degrees
        ([40, 50, 50, 40, 50], False),
        ([40.1, 50, 50, 50, 40], False),
        ([50, 50, 50, 40, 20], False),  # a gap at the side lies between no two
        ([50, 50, 50, 50, 40], False),
        ([9, 9, np.inf, np.inf, np.inf, np.inf, 9], True),
    ],
)
def test_a_street_is_a_gap_of_fifteen_degrees_between_two_near_buildings(depth, street):
    rays = np.full(25, np.inf)
    rays[9 : 9 + len(depth)] = depth
    assert bool(sight._streets(rays)) is street
    assert sight._streets(np.stack([np.full(25, 9.0), rays])).tolist() == [False, street]
    assert bool(sight._streets(np.concatenate([depth, np.full(25 - len(depth), np.inf)]))) is street


@pytest.mark.parametrize(
    ("heights", "alike"),
    [([7.5, 10, 12.5], True), ([7.4, 10, 12.6], False), ([10, 10, 20, 20], False), ([8, 10, 12.5, 30], True)],
)
def test_alike_are_heights_within_a_quarter_of_their_median_for_half_of_them(heights, alike):
    assert sight.are_alike(np.array(heights, dtype=float)) is alike
    assert sight.are_alike(np.zeros(0)) is False
