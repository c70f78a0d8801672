"""Hills found in rasters: analytic shapes whose answer is known by hand, and a real coast with mountains."""

from pathlib import Path

import numpy as np
import pytest
from site_world import PLANE, raster

from exposure.doubts import has_doubt
from exposure.site.plane import LocalPlane
from exposure.site.raster import Raster, grid_raster, read_ground
from exposure.site.relief import ground_profile, hill_on_profile, hills_by_sector
from exposure.site.rough_country import rough_country_flags
from exposure.site.scatter import scatter
from exposure.site.survey import survey_site
from exposure.site.topography import shape_factor, topography_coefficient

WEST = 9  # sector of the wind from 270 degrees
COAST = Path(__file__).parents[1] / "data_open" / "coast_and_mountains.npz"
STATED = 0.10  # error of the coefficient less one, on pixels up to 50 m: a tenth of its hill, or 0.03


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
    assert hill_on_profile(ground_profile(hole, PLANE, 270.0), height=8.0).coefficient == 1.0


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
    assert scatter(noise) == pytest.approx(2.0, rel=0.05)  # what it was made with
    site = survey_site(name="Field", plane=PLANE, height=6.0, ground=noise)
    (one,) = [flag for flag in site.flags if getattr(flag, "key", "") == "site.scattered_heights"]
    assert float(one.numbers["assumed"]) == pytest.approx(max(site.hill_coefficients), abs=0.01)
    assert float(one.numbers["would_be"]) == 1.0  # the ground is flat
    smooth = raster(lambda x, y: 80 * np.exp(-(x**2 + y**2) / 2 / 250**2), pixel=10.0)
    assert scatter(smooth) < 0.01
    plain = survey_site(name="Field", plane=PLANE, height=6.0, ground=smooth)
    assert not has_doubt(plain.flags, "site.scattered_heights")


def test_a_steep_foot_and_a_long_shoulder_are_no_one_slope():
    # 30 m up in 50 m, then 30 m in 550 m: two fifths of the rise above a straight line, so not 60 m in 600 m
    hill = found(lambda x, y: np.interp(x, [-600, -550, 0], [0, 30, 60]), 10.0)
    assert hill.coefficient < exact(slope=0.1, rise=60, length=600, position=0) - 0.04
    assert hill.slope < 0.07
