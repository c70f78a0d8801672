"""Hills found in rasters: analytic shapes whose answer is known by hand, and a real coast with mountains."""

from pathlib import Path

import numpy as np
import pytest
from builders import surveyed_place
from hypothesis import given, settings
from hypothesis import strategies as st
from site_world import PLANE, raster

from exposure.doubts import has_doubt
from exposure.site import relief, rough_country
from exposure.site import scatter as scatter_module
from exposure.site.plane import LocalPlane
from exposure.site.raster import Raster, grid_raster, read_ground
from exposure.site.relief import Profile, ground_profile, hardest_hill, hills_by_sector, hills_on_profile
from exposure.site.rough_country import rough_country_flags
from exposure.site.topography import shape_factor, topography_coefficient

WEST = 9  # sector of the wind from 270 degrees
COAST = Path(__file__).parents[1] / "data_open" / "coast_and_mountains.npz"
STATED = 0.10  # error of the coefficient less one, on pixels up to 50 m: a tenth of its hill, or 0.03


def hill_on_profile(profile, *, height, least_rise=0.0):
    return hardest_hill(hills_on_profile(profile, height=height), least_rise=least_rise)


def exact(*, slope, rise, length, position, height=8.0, behind=None):
    s = shape_factor(
        position=position,
        height=height,
        rise=rise,
        upwind_length=length,
        downwind_length=behind or length,
        cliff=behind is None,
    )
    return topography_coefficient(slope=slope, shape_factor=s)


def found(function, pixel):
    return hills_by_sector(raster(function, pixel=pixel), PLANE, height=8.0)[0][WEST]


def close(hill, expected):
    assert abs(hill.coefficient - expected) <= max(STATED * (expected - 1), 0.03)


@pytest.mark.parametrize("pixel", [10.0, 25.0, 50.0])
def test_gaussian_hill_against_its_formula(pixel):
    # a hill's length is twice the distance to half its height (the usual reading of a smooth hill)
    spread, rise = 250.0, 80.0
    length = 2 * spread * np.sqrt(2 * np.log(2))
    hill = found(lambda x, y: rise * np.exp(-(x**2 + y**2) / 2 / spread**2), pixel)
    close(hill, exact(slope=rise / length, rise=rise, length=length, position=0, behind=length))
    assert hill.shape == "hill"


@pytest.mark.parametrize("pixel", [10.0, 25.0, 50.0])
@pytest.mark.parametrize("behind", [0.0, 60.0, 200.0])
def test_straight_escarpment_by_hand(pixel, behind):
    hill = found(lambda x, y: np.clip((x + behind + 300) / 300, 0, 1) * 60, pixel)
    close(hill, exact(slope=0.2, rise=60, length=300, position=behind))
    assert hill.shape == "escarpment"
    assert 45 < hill.rise <= 60.01  # a raster rounds off both ends of a slope and adds none


@pytest.mark.parametrize("pixel", [10.0, 25.0, 50.0])
@pytest.mark.parametrize("behind", [0.0, 60.0, 200.0])
def test_straight_ridge_by_hand(pixel, behind):
    hill = found(lambda x, y: 60 * np.clip(1 - np.abs(x + behind) / 400, 0, 1), pixel)
    close(hill, exact(slope=0.15, rise=60, length=400, position=behind, behind=400))
    assert hill.shape == "ridge"


@pytest.mark.parametrize("behind", [0.0, 60.0, 200.0])
def test_cliff_by_hand(behind):
    hill = found(lambda x, y: np.where(x > -behind, 60.0, 0.0), 10.0)
    close(hill, exact(slope=3.0, rise=60, length=1.0, position=behind))
    assert hill.shape == "escarpment"
    assert abs(hill.position - behind) <= 10.0  # a pixel


@pytest.mark.parametrize("pixel", [25.0, 50.0])
def test_a_coarse_cliff_errs_to_the_hard_side(pixel):
    for behind in (0.0, 60.0, 200.0):
        hill = found(lambda x, y, behind=behind: np.where(x > -behind, 60.0, 0.0), pixel)
        expected = exact(slope=3.0, rise=60, length=1.0, position=behind)
        assert expected - 0.03 <= hill.coefficient <= 1.6
        assert abs(hill.position - behind) <= 1.2 * pixel + 10


def test_turning_the_ground_turns_the_answer():
    def ground(turn):
        a = np.deg2rad(turn)
        return raster(
            lambda x, y: np.clip((x * np.cos(a) - y * np.sin(a) + 360) / 300, 0, 1) * 60, pixel=10.0
        )

    west = hills_by_sector(ground(0), PLANE, height=8.0)[0]
    north = hills_by_sector(ground(90), PLANE, height=8.0)[0]  # the slope now faces north
    np.testing.assert_allclose(
        [north[(k + 3) % 12].coefficient for k in range(12)], [hill.coefficient for hill in west], atol=0.01
    )


def test_flat_ground_and_gentle_slopes_give_one():
    for ground in (lambda x, y: 7.0 + 0 * x, lambda x, y: 300 + 0.04 * x, lambda x, y: 2.0 * np.sin(x / 90)):
        hills, _ = hills_by_sector(raster(ground, pixel=25.0), PLANE, height=8.0)
        assert all(hill.coefficient == 1.0 for hill in hills)


def test_higher_ground_between_shelters_the_building_from_the_first_crest():
    # a small step far upwind, then a hill three times as high before the building
    def ground(x, y):
        return np.clip((x + 2600) / 150, 0, 1) * 20 + 60 * np.clip(1 - np.abs(x + 900) / 300, 0, 1)

    hill = found(ground, 25.0)
    assert hill.crest is None or hill.crest > -1500


def test_a_valley_behind_the_crest_is_no_plateau():
    def ground(x, y):
        return np.where(
            x < -600, np.clip((x + 1600) / 1000, 0, 1) * 100, 100 - np.clip((x + 600) / 500, 0, 1.1) * 100
        )

    assert found(ground, 25.0).coefficient < 1.02


def test_sea_floor_is_no_slope_and_gaps_end_the_profile():
    deep = raster(lambda x, y: np.where(x < -500, -400.0, 12.0), pixel=25.0)
    cliff_above_water = hills_by_sector(deep, PLANE, height=8.0)[0][WEST]
    assert cliff_above_water.rise <= 12.5
    gap = raster(lambda x, y: np.where((x < -1000) & (x > -1500), np.nan, 5.0), pixel=25.0)
    profile = ground_profile(gap, PLANE, 270.0)
    assert profile.cut
    assert profile.along[0] >= -1025.0
    _, flags = hills_by_sector(gap, PLANE, height=8.0)
    assert any("hills beyond are not seen" in flag for flag in flags)
    small = raster(lambda x, y: np.where((x < -1000) & (x > -1040), np.nan, 5.0), pixel=25.0)
    assert ground_profile(small, PLANE, 270.0).bridged in (
        2,
        3,
    )  # two pixels, and what lies between them and their neighbours


def test_a_whole_profile_is_not_cut_and_a_bridge_lies_straight_between_its_ends():
    whole = ground_profile(raster(lambda x, y: 0.1 * x, pixel=25.0), PLANE, 270.0)
    assert (whole.cut, whole.bridged) == (False, 0)
    assert (whole.along[0], whole.along[-1]) == (-5000.0, 5000.0)  # 5 km either way
    holed = raster(lambda x, y: np.where((x > 990) & (x < 1040), np.nan, 600 + 0.1 * x), pixel=25.0)
    bridged = ground_profile(holed, PLANE, 270.0)
    assert not bridged.cut
    assert bridged.bridged > 0
    made = 600 + 0.1 * bridged.along  # the slope it was made with
    np.testing.assert_allclose(bridged.ground, made, atol=1e-6)


def test_site_at_a_gap_gets_no_profile_instead_of_a_wrong_one():
    hole = raster(lambda x, y: np.where(np.hypot(x, y) < 200, np.nan, 0.2 * x), pixel=25.0)
    nothing = ground_profile(hole, PLANE, 270.0)
    assert (nothing.along.size, nothing.ground.size, nothing.bridged, nothing.cut) == (0, 0, 0, True)
    assert hill_on_profile(nothing, height=8.0).coefficient == 1.0


def test_rough_country_is_flagged():
    assert rough_country_flags(raster(lambda x, y: 0.01 * x, pixel=50.0), PLANE) == ()
    mountain = raster(lambda x, y: 900 * np.exp(-((x - 2500) ** 2 + y**2) / 2 / 900**2), pixel=50.0)
    assert any("not meant for mountains" in flag for flag in rough_country_flags(mountain, PLANE))
    sheer = raster(lambda x, y: np.where(x > 300, 90.0, 0.0), pixel=25.0)
    assert any("sheer cliffs" in flag for flag in rough_country_flags(sheer, PLANE))
    valley = raster(lambda x, y: np.minimum(np.abs(x) * 0.3, 200), pixel=50.0)
    assert any("valley whose sides rise" in flag for flag in rough_country_flags(valley, PLANE))


def coast():
    with np.load(COAST) as grid:
        return grid_raster(
            grid["ground_height"], latitude=grid["latitude"], longitude=grid["longitude"], source="real coast"
        )


@pytest.mark.parametrize(
    ("latitude", "longitude"), [(49.3, -123.1), (49.0, -125.6), (49.4, -122.5), (48.8, -124.0)]
)
def test_real_coast_gives_sensible_factors(latitude, longitude):
    plane = LocalPlane(latitude=latitude, longitude=longitude)
    hills, flags = hills_by_sector(coast(), plane, height=8.0)
    values = [hill.coefficient for hill in hills]
    assert np.all(np.isfinite(values))
    assert min(values) >= 1.0
    assert max(values) <= 1.6
    assert any("pixels of" in flag for flag in flags)  # far too coarse, and said so
    for hill in hills:
        assert min(hill.ground) >= -10.0  # no sea floor left


def test_a_building_on_the_sea_floor_is_doubted():
    _, flags = hills_by_sector(coast(), LocalPlane(latitude=48.3, longitude=-124.0), height=8.0)
    assert any("below the sea" in flag for flag in flags)


def test_real_mountains_are_flagged(shared_data):
    plane = LocalPlane(latitude=40.35, longitude=-105.7)
    ground = read_ground(shared_data / "rmnp-dem.tif", plane=plane, reach=5500)
    assert any("not meant for mountains" in flag for flag in rough_country_flags(ground, plane))
    hills, _ = hills_by_sector(ground, plane, height=8.0)
    assert max(hill.coefficient for hill in hills) > 1.05


def test_bilinear_sampling_of_a_plane_is_exact():
    tilted = raster(lambda x, y: 3 + 0.1 * x - 0.2 * y, pixel=30.0)
    east, north = np.array([0.0, 101.0, -333.0]), np.array([7.0, -50.0, 444.0])
    np.testing.assert_allclose(tilted.sample(PLANE, east, north), 3 + 0.1 * east - 0.2 * north, atol=1e-6)
    assert np.isnan(tilted.sample(PLANE, np.array([9000.0]), np.array([0.0]))[0])
    assert tilted.pixel(PLANE) == pytest.approx(30.0, rel=1e-6)


def test_a_raster_owns_its_upper_and_left_edge_and_nothing_beyond_any():
    # two by two pixels of 10 m, the site in the middle; rows run south, so the first row lies north
    four = Raster(
        np.array([[1.0, 2.0], [3.0, 4.0]]), (10.0, 0.0, -10.0, 0.0, -10.0, 10.0), PLANE.definition, "4"
    )
    corners = np.array([-10.0, 9.9, -10.0, 9.9]), np.array([10.0, 10.0, -9.9, -9.9])
    for nearest in (False, True):
        np.testing.assert_allclose(four.sample(PLANE, *corners, nearest=nearest), [1, 2, 3, 4], atol=1e-6)
        beyond = np.array([-10.1, 10.1, 0.0, 0.0, 10.0, 0.0]), np.array([0.0, 0.0, 10.1, -10.1, 0.0, -10.0])
        assert np.isnan(four.sample(PLANE, *beyond, nearest=nearest)).all()
    assert four.sample(PLANE, np.zeros(1), np.zeros(1))[0] == pytest.approx(2.5)  # the mean of the four


def test_ground_in_a_rotated_grid_is_read_right():
    turned = Raster(
        raster(lambda x, y: 0.1 * x, pixel=50.0).values.T[::-1, :],
        (0.0, 50.0, -6000.0, 50.0, 0.0, -6000.0),
        PLANE.definition,
        "turned",
    )
    # rows now run east: row r lies at east -6000 + 50 r, column c at north -6000 + 50 c
    values = np.broadcast_to(np.arange(240)[:, None] * 50.0, (240, 240)) * 0.1
    turned = Raster(values.copy(), turned.transform, turned.crs, "turned")
    at = turned.sample(PLANE, np.array([0.0, 500.0]), np.array([0.0, 0.0]))
    assert at[1] - at[0] == pytest.approx(50.0)


@pytest.mark.parametrize("pixel", [10.0, 30.0])
def test_a_small_rise_is_seen_on_a_coarse_raster_too(pixel):
    # 10 m over 150 m before the building: 1 + 2 s / 15, s = 0.93 to 0.94 at a height of 6 m, so 1.12
    hills, _ = hills_by_sector(
        raster(lambda x, y: np.clip((x + 150) / 15, 0, 10), pixel=pixel), PLANE, height=6.0
    )
    middle = hill_on_profile(
        ground_profile(raster(lambda x, y: np.clip((x + 150) / 15, 0, 10), pixel=pixel), PLANE, 270.0),
        height=6.0,
    )
    assert middle.coefficient == pytest.approx(1.12, abs=0.015)
    assert hills[WEST].coefficient == pytest.approx(1.12, abs=0.015)


def test_hills_that_may_be_errors_of_the_raster_are_doubted():
    chance = np.random.default_rng(1)
    noise = raster(lambda x, y: 50 + chance.normal(0, 2, x.shape), pixel=10.0)
    assert noise.scatter == pytest.approx(2.0, rel=0.05)  # what it was made with
    site = surveyed_place(name="Field", plane=PLANE, height=6.0, ground=noise)
    (one,) = [flag for flag in site.flags if getattr(flag, "key", "") == "site.scattered_heights"]
    assert float(one.numbers["assumed"]) == pytest.approx(max(site.hill_coefficients), abs=0.01)
    assert float(one.numbers["would_be"]) == 1.0  # the ground is flat
    smooth = raster(lambda x, y: 80 * np.exp(-(x**2 + y**2) / 2 / 250**2), pixel=10.0)
    assert smooth.scatter < 0.01
    plain = surveyed_place(name="Field", plane=PLANE, height=6.0, ground=smooth)
    assert not has_doubt(plain.flags, "site.scattered_heights")


def test_a_steep_foot_and_a_long_shoulder_are_no_one_slope():
    # 30 m up in 50 m, then 30 m in 550 m: two fifths of the rise above a straight line, so not 60 m in 600 m
    hill = found(lambda x, y: np.interp(x, [-600, -550, 0], [0, 30, 60]), 10.0)
    assert hill.coefficient < exact(slope=0.1, rise=60, length=600, position=0) - 0.04
    assert hill.slope < 0.07


def line(points, *, step=10.0, reach=5000.0):
    """A profile of wind from the west along straight lines between ``points`` of (metres along, height)."""
    along = np.arange(-reach, reach + step, step)
    return Profile(270.0, along, np.interp(along, *np.transpose(points)), 0, False)


STRAIGHT_HILLS = [  # points; then shape, slope, rise, length up, length down, position, foot, crest; by hand
    ([(-300, 0), (0, 60)], "escarpment", 0.2, 60, 300, 0, 0, -300, 0),
    ([(-500, 0), (-200, 60)], "escarpment", 0.2, 60, 300, 0, 200, -500, -200),
    ([(-400, 0), (0, 60), (400, 0)], "ridge", 0.15, 60, 400, 400, 0, -400, 0),
    ([(-500, 0), (-100, 60), (500, 0)], "ridge", 0.15, 60, 400, 600, 100, -500, -100),
    ([(-350, 0), (-50, 60), (0, 50), (250, 0)], "ridge", 0.2, 60, 300, 300, 50, -350, -50),
    ([(-300, 0), (0, 60), (2000, -30)], "escarpment", 0.2, 60, 300, 0, 0, -300, 0),  # falls by 0.045
    ([(-300, 0), (0, 60), (600, -60)], "ridge", 0.2, 60, 300, 300, 0, -300, 0),  # only as far as it rose
    ([(-250, 0), (50, 60)], "escarpment", 0.2, 60, 300, 0, -50, -250, 50),  # the crest lies ahead
    ([(-290, 0), (10, 60)], "escarpment", 0.2, 60, 300, 0, 0, -290, 10),  # a step ahead counts as here
    ([(-600, 0), (0, 30)], "escarpment", 0.05, 30, 600, 0, 0, -600, 0),  # 1 in 20 is enough
    ([(-30, 0), (0, 60)], "escarpment", 2.0, 60, 30, 0, 0, -30, 0),
]


@pytest.mark.parametrize(
    ("points", "shape", "slope", "rise", "up", "down", "position", "foot", "crest"), STRAIGHT_HILLS
)
def test_hills_drawn_by_straight_lines_are_found_to_the_metre(points, shape, slope, rise, up, down, position, foot, crest):  # fmt: skip
    hill = hill_on_profile(line(points), height=8.0)
    assert hill.shape == shape
    found = (
        hill.slope,
        hill.rise,
        hill.upwind_length,
        hill.downwind_length,
        hill.position,
        hill.foot,
        hill.crest,
    )
    assert found == pytest.approx((slope, rise, up, down, position, foot, crest), abs=1e-6)
    expected = exact(slope=slope, rise=rise, length=up, position=position, behind=down or None)
    assert hill.coefficient == pytest.approx(expected)
    assert hill.coefficient == pytest.approx(1 + 2 * hill.shape_factor * min(slope, 0.3))
    assert hill.bearing == 270.0
    assert (hill.along[0], hill.along[-1], len(hill.ground)) == (-5000.0, 5000.0, len(hill.along))


@pytest.mark.parametrize(
    ("points", "why"),
    [
        ([(-600, 0), (0, 29.9)], "gentler than 1 in 20, and long"),
        ([(-300, 0), (0, 0)], "flat"),
        ([(0, 60), (300, 0)], "a fall away from the wind"),
        ([(-20, 0), (0, 3.9)], "the wall is more than twice the hill's length high"),
        ([(500, 0), (800, 60)], "farther ahead than one and a half lengths"),
        ([(-1500, 0), (-1200, 60), (-900, 0)], "behind the hill altogether: more than two lengths"),
        ([(-1500, 0), (-1200, 60), (-700, -40)], "the building stands lower than the foot"),
        ([(-1680, 0), (-1080, 30), (-480, 0)], "1.8 lengths behind it adds 0.987 exp(-3.15) / 10, less than 0.005"),
        ([(-1000, 0), (-900, 20), (-600, 20), (-500, 26), (-300, 26), (-200, 20)], "ground higher by more than a fifth lies between"),
    ],
)  # fmt: skip
def test_ground_that_is_no_hill_here(points, why):
    height = 41.0 if "high" in why and "wall" in why else 8.0
    hill = hill_on_profile(line(points), height=height)
    if "between" in why:
        assert hill.rise != pytest.approx(20)
    else:
        assert (hill.shape, hill.coefficient, hill.foot, hill.crest) == ("flat", 1.0, None, None), why


def test_the_hardest_of_several_hills_governs_and_small_rises_may_be_left_out():
    # 20 m on 200 m far upwind, then 60 m on 300 m up to the building
    two = line([(-2600, 0), (-2400, 20), (-300, 20), (0, 80)])
    hill = hill_on_profile(two, height=8.0)
    assert (hill.rise, hill.slope) == pytest.approx((60, 0.2))
    assert hill_on_profile(two, height=8.0, least_rise=60.0).rise == pytest.approx(60)
    assert hill_on_profile(two, height=8.0, least_rise=60.5).rise == 0.0
    assert hill_on_profile(Profile(90.0, np.zeros(0), np.zeros(0), 0, True), height=8.0).coefficient == 1.0
    three = Profile(90.0, np.array([-10.0, 0.0, 10.0]), np.array([0.0, 5.0, 5.0]), 0, True)
    assert hill_on_profile(three, height=2.0).rise == 5.0
    few = Profile(90.0, three.along[:2], three.ground[:2], 0, True)
    assert hill_on_profile(few, height=2.0).rise == 0.0


@given(told=st.lists(st.booleans(), min_size=3, max_size=40), share=st.floats(0, 1))
@settings(max_examples=80, deadline=None)
def test_a_profile_ends_at_the_first_gap_of_more_than_three_points_walked_outward(told, share):
    middle = int(share * (len(told) - 1))
    ends = []
    for way in (-1, 1):
        at = last = middle
        missing = 0
        while 0 <= at < len(told):
            missing = 0 if told[at] else missing + 1
            if missing > 3:
                break
            last = at if told[at] else last
            at += way
        ends.append(last)
    assert relief._told_around(np.array(told), middle) == tuple(ends)


@pytest.mark.parametrize(("pixel", "step"), [(4.0, 10.0), (25.0, 25.0), (400.0, 100.0)])
def test_profiles_run_downwind_in_steps_of_a_pixel_within_limits(pixel, step):
    tilted = raster(
        lambda x, y: 100 + 0.01 * x + 0.02 * y, pixel=pixel, reach=6000.0 if pixel > 4 else 1200.0
    )
    for bearing, east, north in ((270.0, 1, 0), (0.0, 0, -1), (135.0, -(0.5**0.5), 0.5**0.5)):
        found = ground_profile(tilted, PLANE, bearing)
        assert found.bearing == bearing
        assert np.diff(found.along) == pytest.approx(step)
        inner = slice(1, -1)  # the last point may lie in the outer half of the last pixel
        made = 100 + (0.01 * east + 0.02 * north) * found.along
        np.testing.assert_allclose(found.ground[inner], made[inner], atol=1e-6)
        assert found.cut == (pixel < 5)
        assert found.along[-1] == (
            5000.0 if pixel > 5 else pytest.approx(1200 / max(abs(east), abs(north)), abs=10)
        )


@pytest.mark.parametrize(("floor", "here", "expected"), [(-10.0, 5.0, -10.0), (-10.1, 5.0, 0.0), (-50.0, -10.0, -50.0), (-50.0, -9.9, 0.0)])  # fmt: skip
def test_sea_floor_begins_ten_metres_down_beside_higher_land(floor, here, expected):
    ground = ground_profile(raster(lambda x, y: np.where(x < -500, floor, here), pixel=50.0), PLANE, 270.0)
    assert ground.ground[0] == pytest.approx(expected)
    assert ground.ground[-1] == pytest.approx(here)


@pytest.mark.parametrize(
    ("points", "slope", "goes_on"),
    [
        ([(0, 0)], 0.2, False),
        ([(0, 0), (100, 10)], 0.2, True),  # half the slope before it
        ([(0, 0), (100, 9.9)], 0.2, False),
        ([(0, 0), (100, 5)], 0.06, True),  # 1 in 20 at least
        ([(0, 0), (100, 4.9)], 0.06, False),
        ([(50, 20), (150, 40), (250, 0)], 0.4, True),
        ([(50, 20), (150, 0)], 0.1, False),
    ],
)
def test_ground_that_keeps_rising_has_no_crest_yet(points, slope, goes_on):
    assert relief._goes_on(np.array(points, dtype=float), slope) is goes_on


@pytest.mark.parametrize(
    ("points", "foot", "rise", "reaches"),
    [
        ([(10, 60), (50, 0)], 0, 60, True),  # the crest lies ahead: nothing between
        ([(0, 60), (50, 0)], 0, 60, True),
        ([(-300, 60), (-200, 72), (100, 72)], 0, 60, True),  # higher by a fifth of the rise
        ([(-300, 60), (-200, 72.1), (100, 60)], 0, 60, False),
        ([(-300, 60), (100, 76.2)], 0, 60, False),  # 72.15 at the building itself
        ([(-300, 60), (100, 76)], 0, 60, True),
        ([(-300, 3), (-200, 4), (100, 3)], 0, 3, True),  # a metre at least
        ([(-300, 3), (-200, 4.1), (100, 3)], 0, 3, False),
        ([(-300, 60), (-100, 20), (100, 20)], 20, 40, True),
        ([(-300, 60), (-100, 20), (100, 19.8)], 20, 40, False),  # 19.9 here, below the foot
    ],
)
def test_a_crest_reaches_the_building_past_ground_that_is_hardly_higher(points, foot, rise, reaches):
    assert relief._reaches(np.array(points, dtype=float), foot, rise) is reaches


@pytest.mark.parametrize(
    ("points", "straight"),
    [
        ([(0, 0), (100, 50)], True),
        ([(0, 0), (50, 35), (100, 50)], True),  # 10 m above the middle of 50 m: a fifth
        ([(0, 0), (50, 35.1), (100, 50)], False),
        ([(0, 0), (50, 14.9), (100, 50)], False),
        ([(100, 70), (150, 55), (200, 20)], True),  # 10 m above 45 on the way down
        ([(100, 70), (150, 55.1), (200, 20)], False),
    ],
)
def test_a_slope_may_bulge_by_a_fifth_of_its_rise(points, straight):
    assert relief._straight(points) is straight


@pytest.mark.parametrize(
    ("points", "rise", "length"),
    [
        ([(0, 60), (400, 0)], 60, 400),
        ([(100, 60), (500, 0)], 60, 400),
        ([(0, 60), (400, 40)], 60, 400),  # 1 in 20
        ([(0, 60), (400, 40.1)], 60, None),
        ([(0, 60), (400, 60)], 60, None),
        ([(0, 60), (400, -60)], 60, 200),  # where it has fallen as far as it rose
        ([(50, 60), (150, 20), (250, -20), (350, -60)], 60, 150),
        ([(0, 60), (100, 50), (200, 40), (1000, 39)], 60, 200),
        (
            [(0, 60), (200, 34), (300, 38), (400, 20)],
            60,
            400,
        ),  # a bump that lies 8 m, a fifth of the fall, too high
        ([(0, 60), (20, 66), (500, 0)], 60, 500),
        (
            [(0, 60), (20, 62), (500, 0)],
            10,
            20 + 12 / 62 * 480,
        ),  # a rise behind it by a fifth does not end it
        ([(0, 60), (20, 62.1), (500, 0)], 10, None),
        ([(0, 60), (20, 61), (500, 0)], 3, 20 + 4 / 61 * 480),  # nor does a metre
        ([(0, 60), (20, 61.1), (500, 0)], 3, None),
        ([(0, 60)], 60, None),
    ],
)
def test_the_fall_behind_a_crest_by_hand(points, rise, length):
    found = relief._fall_behind(np.array(points, dtype=float), rise)
    assert found == (None if length is None else pytest.approx(length))


def test_a_slope_blurred_by_pixels_is_measured_by_its_middle():
    # 10 m up over 150 m drawn from -200 to 50, its ends rounded off as a raster of 50 m does: 0, 1, 5, 9, 10 at 62.5 m
    along = np.array([-300.0, -200, -137.5, -75, -12.5, 50, 150])
    profile = Profile(270.0, along, np.array([0.0, 0, 1, 5, 9, 10, 10]), 0, False)
    # a tenth of the rise is reached at -137.5, nine tenths at -12.5: 125 m, over 0.8 are 156.25; no shorter than 0.7 of 250
    assert relief._unblurred(profile, -200.0, 50.0, 50.0) == pytest.approx(175.0)
    assert relief._unblurred(profile, -200.0, 50.0, 20.0) == pytest.approx(210.0)  # two pixels at most
    even = Profile(270.0, along, np.interp(along, [-200, 50], [0, 10]), 0, False)
    assert relief._unblurred(even, -200.0, 50.0, 50.0) == pytest.approx(250.0)
    raised = Profile(270.0, along, 40 + np.array([0.0, 0, 1, 5, 6.5, 10, 10]), 0, False)
    # nine tenths, 49, lie 2.5 / 3.5 of the way from -12.5 to 50: 32.142857 + 137.5 = 169.642857, over 0.8
    assert relief._unblurred(raised, -200.0, 50.0, 50.0) == pytest.approx(169.642857 / 0.8)
    # only a slope that seems too gentle, of less than eight pixels, is measured so
    assert relief._length(profile, -200.0, 50.0, 10.0, 50.0) == pytest.approx(175.0)  # 1 in 25, five pixels
    assert relief._length(profile, -200.0, 50.0, 12.5, 50.0) == 250.0  # 1 in 20
    assert relief._length(profile, -200.0, 50.0, 10.0, 31.25) == 250.0  # eight pixels


def test_doubts_about_the_ground_are_told_with_their_figures():
    coarse = raster(lambda x, y: np.where(x < -2000, np.nan, -12.5), pixel=125.0, source="deep.tif")
    hills, flags = hills_by_sector(coarse, PLANE, height=8.0)
    told = {one.key: (one.subject, one.numbers) for one in flags}
    assert told["site.coarse_ground"] == ("deep.tif", {"pixel": pytest.approx(125.0)})
    assert told["site.below_the_sea"] == ("deep.tif", {"depth": pytest.approx(12.5)})
    # 2 km west end the five lines from 210 to 330 degrees (2 km over the sine is below 5 km), and behind the building
    # the five of the winds opposite
    assert told["site.ground_ends"] == ("deep.tif", {"away": pytest.approx(2.0, abs=0.13), "sectors": 10})
    assert [hill.bearing for hill in hills] == [30.0 * k for k in range(12)]
    fine = raster(lambda x, y: np.where((x > 980) & (x < 1020), np.nan, -9.9), pixel=20.0, source="f.tif")
    _, flags = hills_by_sector(fine, PLANE, height=8.0)
    told = {one.key: one for one in flags}  # 9.9 m down is not below the sea yet, and pixels of 20 m are fine
    assert set(told) == {
        "site.bridged_heights",
        "site.ground_ends",
    }  # a slanting line misses more than three points
    bridged = told["site.bridged_heights"]
    assert bridged.subject == "f.tif"
    counts = [ground_profile(fine, PLANE, 30.0 * k).bridged for k in range(12)]
    assert bridged.numbers == {"count": sum(counts)}
    assert sum(counts) > 5
    nowhere = raster(lambda x, y: np.where(np.hypot(x, y) < 300, np.nan, 5.0), pixel=50.0)
    (_, flags) = hills_by_sector(nowhere, PLANE, height=8.0)
    assert [(one.key, one.numbers) for one in flags] == [("site.ground_ends", {"away": 0.0, "sectors": 12})]


def test_the_hardest_of_three_profiles_stands_for_its_sector():
    # a ridge whose steep end lies ten degrees off the middle of the sector of the west
    def ground(x, y):
        bearing = np.rad2deg(np.arctan2(x, y)) % 360
        return np.where((bearing > 255) & (bearing < 265), np.interp(x, [-400, -100, -20], [0, 60, 0]), 0.0)

    hills, _ = hills_by_sector(raster(ground, pixel=5.0, reach=1500.0), PLANE, height=8.0)
    assert hills[WEST].bearing == 260.0
    assert hills[WEST].coefficient > 1.05
    north, _ = hills_by_sector(raster(lambda x, y: ground(-y, x), pixel=5.0, reach=1500.0), PLANE, height=8.0)
    assert north[0].bearing == 350.0  # counted from 0 to 360


@pytest.mark.parametrize(("side", "shape"), [(0.0, "hill"), (29.0, "hill"), (31.0, "ridge"), (60.0, "ridge")])
def test_a_hill_falls_away_to_both_sides_by_half_its_rise(side, shape):
    # 60 m on 300 m; one upwind length aside of the crest the ground lies at ``side``
    def ground(x, y):
        along = 60 * np.clip(1 - np.abs(x + 100) / 300, 0, 1)
        return np.where(np.abs(y) < 150, along, np.minimum(along, side))

    assert found(ground, 10.0).shape == shape
    one_sided = found(lambda x, y: np.where(y < 150, ground(x, 0 * y), 0.0), 10.0)
    assert one_sided.shape == "ridge"


def doubts(function, pixel=25.0, reach=6000.0):
    flags = rough_country_flags(raster(function, pixel=pixel, reach=reach, source="g.tif"), PLANE)
    assert all(one.subject == "g.tif" for one in flags)
    return {one.key: one.numbers for one in flags}


def test_rough_country_by_its_figures():
    # within 5 km either way a slope of s differs by 10,000 s
    assert doubts(lambda x, y: 0.0505 * x + 400) == {"site.mountains": {"relief": pytest.approx(505.0)}}
    assert doubts(lambda x, y: 0.0495 * y + 400) == {}
    assert doubts(lambda x, y: np.where(np.hypot(x, y) > 5100, 900.0, 0.0)) == {}
    assert set(doubts(lambda x, y: np.where(x > 4900, 600.0, 0.0))) == {"site.mountains"}
    # sheer is more than one to one between points within 1 km
    sheer = doubts(lambda x, y: np.clip(x - 300, 0, 100) * 1.1)
    assert sheer == {"site.sheer_cliffs": {"steepest": pytest.approx(np.degrees(np.arctan(1.1)), abs=0.1)}}
    assert doubts(lambda x, y: np.clip(x - 300, 0, 100) * 0.98) == {}
    assert doubts(lambda x, y: np.clip(x - 1050, 0, 100) * 3) == {}
    # the sea floor is no relief, unless the site itself lies that low
    assert doubts(lambda x, y: np.where(x > 500, -2000.0, 20.0)) == {}
    assert "site.mountains" in doubts(lambda x, y: np.where(x > 500, -2000.0, -11.0))
    assert set(doubts(lambda x, y: np.where(x > 500, -9.0, 491.0))) == {
        "site.sheer_cliffs"
    }  # 500 m are no mountain
    assert doubts(lambda x, y: x * np.nan) == {}


def test_the_step_of_the_search_is_a_pixel_between_ten_and_250_metres():
    # a wall one pixel wide: 9 m up within the step that is measured
    assert "site.sheer_cliffs" in doubts(lambda x, y: np.where(x > 302, 12.0, 0.0), pixel=4.0, reach=1200.0)
    assert doubts(lambda x, y: np.where(x > 302, 9.0, 0.0), pixel=4.0, reach=1200.0) == {}
    assert "site.sheer_cliffs" in doubts(lambda x, y: np.where(x > 300, 300.0, 0.0), pixel=200.0)


@pytest.mark.parametrize(
    ("across", "valley"),
    [
        (lambda d: np.minimum(0.2 * d, 100), True),
        (lambda d: np.minimum(0.2 * d, 53.5), True),  # the pixels beside the site lie 2.5 m up
        (lambda d: np.minimum(0.2 * d, 49), False),
        (lambda d: 0.103 * d, True),  # 103 m at 1 km, less 1.3
        (lambda d: 0.099 * d, False),
        (lambda d: np.where(d > 1030, 200, 0), False),
        (lambda d: 900 + np.minimum(0.2 * d, 100), True),  # above the site, not above the sea
    ],
)
def test_a_valley_rises_by_a_tenth_and_fifty_metres_on_two_opposite_sides(across, valley):
    found = doubts(lambda x, y: across(np.abs(x)))
    assert ("site.steep_valley" in found) == valley
    assert "site.steep_valley" not in doubts(lambda x, y: across(np.maximum(x, 0)))
    bent = doubts(lambda x, y: across(np.where(x > np.abs(y), x, np.where(y > np.abs(x), y, 0))))
    assert "site.steep_valley" not in bent  # two sides, but not opposite


@pytest.mark.parametrize(
    ("bearing", "sides"),
    [(90, "east and west"), (45, "north-east and south-west"), (0, "north and south"), (135, "south-east and north-west")],
)  # fmt: skip
def test_the_sides_of_a_valley_are_named(bearing, sides):
    a = np.deg2rad(bearing)

    def gorge(x, y):  # walls only within 7 degrees of the bearing and its opposite
        off = np.abs(x * np.cos(a) - y * np.sin(a))
        return np.where(off < 0.12 * np.hypot(x, y), np.minimum(0.3 * np.hypot(x, y), 90), 0.0)

    assert doubts(gorge)["site.steep_valley"] == {"sides": sides}
    assert rough_country._pair(330.0) == "north-west and south-east"
    assert rough_country._pair(340.0) == "north and south"


def test_high_ground_begins_at_a_thousand_metres():
    assert rough_country.high_ground_doubts(999.9) == []
    (one,) = rough_country.high_ground_doubts(1000.0)
    assert (one.key, one.numbers) == ("site.high_ground", {"height": "1,000"})


def test_scatter_is_the_smaller_of_both_ways_and_nothing_where_nothing_is_known():
    chance = np.random.default_rng(4)
    rough = chance.normal(0, 2, (300, 300))
    assert raster_of(rough).scatter == pytest.approx(2.0, rel=0.05)
    assert (
        raster_of(np.cumsum(np.repeat(rough[:, :1], 300, 1), 0)).scatter == 0.0
    )  # rows differ, along a row nothing
    assert raster_of(np.repeat(rough[:1], 300, 0)).scatter == 0.0
    assert raster_of(np.where(chance.random((300, 300)) < 0.05, np.nan, rough)).scatter == pytest.approx(2.0, rel=0.1)  # fmt: skip
    assert raster_of(np.full((9, 9), np.nan)).scatter == 0.0
    assert raster_of(np.zeros((3, 3))).scatter == 0.0


def raster_of(values):
    return Raster(values, (25.0, 0.0, 0.0, 0.0, -25.0, 0.0), PLANE.definition, "v")


def test_the_doubt_of_scattered_heights_names_the_sector_it_changes_most(monkeypatch):
    # a step of 6 m to the west, before a scatter told to be 2 m: four times that is 8 m, so it may be an error
    ground = raster(lambda x, y: np.clip((x + 60) / 60, 0, 1) * 6, pixel=10.0, source="g.tif")
    hills, _ = hills_by_sector(ground, PLANE, height=6.0)
    monkeypatch.setattr(Raster, "scatter", 2.0)
    (one,) = scatter_module.scatter_doubt(ground, PLANE, hills, height=6.0)
    most = max(hill.coefficient for hill in hills)
    assert (one.key, one.subject) == ("site.scattered_heights", "g.tif")
    assert one.numbers == {"scatter": "2.0", "least": "8", "bearing": one.numbers["bearing"], "assumed": f"{most:.2f}", "would_be": "1.00"}  # fmt: skip
    assert hills[int(one.numbers["bearing"]) // 30].coefficient == most
    monkeypatch.setattr(Raster, "scatter", 1.4)  # 5.6 m: the hill is surely there
    assert scatter_module.scatter_doubt(ground, PLANE, hills, height=6.0) == []
    monkeypatch.setattr(Raster, "scatter", 0.29)
    monkeypatch.setattr(scatter_module, "SURE", 100.0)
    assert scatter_module.scatter_doubt(ground, PLANE, hills, height=6.0) == []  # less scatter is no matter
