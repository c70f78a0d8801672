"""Roughness, topography and obstruction against numbers worked out from the printed tables and formulas."""

import dataclasses
import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from outside import agrees, checks_about, inputs_of
from pyproj import Transformer

from exposure.checks import RefusalError
from exposure.site.obstruction import nearer_than_table, obstruction_factor
from exposure.site.place import Site
from exposure.site.plane import DEGREES, LocalPlane, offset, readable_crs
from exposure.site.roughness import terrain_roughness_coefficient
from exposure.site.sector import SectorHill
from exposure.site.topography import effective_length, shape_factor, topography_coefficient
from exposure.tables import load_table


@pytest.mark.parametrize("name", checks_about("site", "roughness-"))
def test_roughness_by_page(name):
    agrees(terrain_roughness_coefficient(**inputs_of(name)), name)


@pytest.mark.parametrize("name", checks_about("site", "topography-"))
def test_topography_by_page(name):
    agrees(topography_coefficient(**inputs_of(name)), name)


@pytest.mark.parametrize("name", checks_about("site", "obstruction-"))
def test_obstruction_by_page(name):
    agrees(obstruction_factor(inputs_of(name)["distance"]), name)


@pytest.mark.parametrize("name", checks_about("site", "shape-"))
def test_shape_factor_by_page(name):
    """A hill of 20 m on 100 m; a cliff of 30 m on 50 m, whose effective length is 100 m."""
    agrees(shape_factor(**inputs_of(name)), name)


@pytest.mark.parametrize(
    ("position", "height", "cliff_edge"),
    [(-151, 10, False), (201, 10, False), (351, 10, True), (0, 201, False), (50, 201, True)],
)
def test_beyond_the_formulas_there_is_no_hill_by_page(position, height, cliff_edge):
    # X/L_u < -1.5, X/L_d > 2, X/L_e > 3.5, z/L_e > 2 (EN 1991-1-4:2005 Annex A.3, from memory)
    s = shape_factor(
        position=position, height=height, rise=20, upwind_length=100, downwind_length=100, cliff=cliff_edge
    )
    assert s == 0.0


def second_shape(x, z, kind):
    """The same formulas typed a second time, as tables of coefficients evaluated by numpy.polyval."""
    a = np.polyval([0.1552, -0.8575, 1.8133, -1.9115, 1.0124], z)
    if x <= 0:
        return a * math.exp(np.polyval([0.3542, -1.0577, 2.6456], z) * x)
    if kind == "hill":
        return a * math.exp(np.polyval([-0.3056, 1.0212, -1.7637], z) * x)
    low = math.log10(max(z, 0.1))
    rows = (
        [-1.3420, -0.8222, 0.4609, -0.0791],
        [-1.0196, -0.8910, 0.5343, -0.1156],
        [0.8030, 0.4236, -0.5738, 0.1606],
    )
    return np.polyval([np.polyval(row, low) for row in rows], math.log10(x))


@given(x=st.floats(-1.5, 3.4), z=st.floats(0.0, 1.99), kind=st.sampled_from(["hill", "cliff"]))
@settings(max_examples=150, deadline=None)
def test_shape_factor_by_a_second_typing(x, z, kind):
    if 0 < x < 0.1 and kind == "cliff":
        return  # joined by a straight line, tested by page
    if x > 2 and kind == "hill":
        return
    found = shape_factor(
        position=100 * x,
        height=100 * z,
        rise=20,
        upwind_length=100,
        downwind_length=100,
        cliff=kind == "cliff",
    )
    assert found == pytest.approx(min(max(second_shape(x, z, kind), 0), 1), abs=1e-9)


@given(rise=st.floats(1, 500), length=st.floats(10, 3000), height=st.floats(2, 60))
@settings(max_examples=100, deadline=None)
def test_coefficient_stays_within_its_bounds(rise, length, height):
    s = shape_factor(
        position=0, height=height, rise=rise, upwind_length=length, downwind_length=length, cliff=True
    )
    assert 1.0 <= topography_coefficient(slope=rise / length, shape_factor=s) <= 1.6


@given(low=st.floats(2, 100), more=st.floats(0, 100), category=st.sampled_from(["I", "II", "III", "IV"]))
@settings(max_examples=60, deadline=None)
def test_higher_walls_and_smoother_ground_get_more_wind(low, more, category):
    at = terrain_roughness_coefficient(category=category, height=low)
    assert terrain_roughness_coefficient(category=category, height=low + more) >= at
    if category != "I":
        smoother = {"II": "I", "III": "II", "IV": "III"}[category]
        assert terrain_roughness_coefficient(category=smoother, height=low) >= at


def test_obstruction_bands_meet_and_rise():
    rows = load_table("obstruction")["row"]
    assert all(one["to"] == other["from"] for one, other in itertools.pairwise(rows))
    assert [row["obstruction_factor"] for row in rows] == sorted(row["obstruction_factor"] for row in rows)
    assert rows[-1]["to"] == math.inf
    assert obstruction_factor(1.0) == 0.2
    assert obstruction_factor(None) == 1.0


def test_every_table_of_the_site_names_source_and_units():
    for name in ("terrain", "obstruction", "wall_factor", "exposure_class", "land_cover", "deposition", "ashrae_exposure", "band_coverage"):  # fmt: skip
        table = load_table(name)
        assert table["source"]["document"], name
        assert all(row["standing"] for row in table["row"]), name
        columns = [set(row) - {"meaning"} for row in table["row"]]
        assert all(column == columns[0] for column in columns), name
        for key in columns[0]:
            if isinstance(table["row"][0][key], float):
                assert key in table["units"], (name, key)


@pytest.mark.parametrize(
    "wrong",
    [{"terrain": "V"}, {"terrain": ("II",) * 11}, {"topography": 1.7}, {"topography": 0.9}, {"latitude": 91}],
)
def test_impossible_sites_are_refused(wrong):
    with pytest.raises(RefusalError):
        Site(**{"name": "Field", "latitude": 50, "longitude": 0, **wrong})


@pytest.mark.parametrize("height", [-1, 201])
def test_a_wall_too_high_or_below_its_ground_is_refused(height):
    with pytest.raises(RefusalError) as refused:
        terrain_roughness_coefficient(category="II", height=height)
    assert str(refused.value) == (
        f"height of the wall is {height}; expected a number from 0 to 200 m. Correct height of the wall."
    )


@pytest.mark.parametrize(
    ("x", "z", "kind"),
    [(-1.5, 0.1, "hill"), (2.0, 0.1, "hill"), (3.5, 0.1, "cliff"), (0.0, 2.0, "cliff"), (0.1, 0.5, "cliff"), (0.3, 2.0, "hill")],
)  # fmt: skip
def test_the_formulas_hold_up_to_their_own_limits(x, z, kind):
    # each limit belongs to the formula (EN 1991-1-4:2005 Annex A.3, from memory: "beyond"); 20 m on 100 m, so L_e = 100
    sizes = {"rise": 20, "upwind_length": 100, "downwind_length": 100, "cliff": kind == "cliff"}
    expected = min(max(second_shape(x, z, kind), 0), 1)
    assert shape_factor(position=100 * x, height=100 * z, **sizes) == pytest.approx(expected, abs=1e-9)
    assert expected > 0


def test_each_side_of_a_hill_is_measured_by_its_own_length():
    # 60 m on 400 m (1 in 6.7, so L_e = 400), falling over 100 m: x is -0.5 upwind of the crest, +0.5 behind it
    sizes = {"height": 40, "rise": 60, "upwind_length": 400, "downwind_length": 100}
    for position, cliff_edge, x, kind in (
        (-200, False, -0.5, "hill"),
        (50, False, 0.5, "hill"),
        (200, True, 0.5, "cliff"),
    ):
        found = shape_factor(position=position, cliff=cliff_edge, **sizes)
        assert found == pytest.approx(second_shape(x, 0.1, kind), abs=1e-9)
    # 60 m on 100 m is steep: L_e = 60 / 0.3 = 200, for heights and behind a cliff, not for the way up
    steep = {"height": 20, "rise": 60, "upwind_length": 100, "downwind_length": 100}
    for position, cliff_edge, x, kind in ((-50, False, -0.5, "hill"), (100, True, 0.5, "cliff")):
        found = shape_factor(position=position, cliff=cliff_edge, **steep)
        assert found == pytest.approx(second_shape(x, 0.1, kind), abs=1e-9)


def test_slopes_from_a_twentieth_count_and_from_three_tenths_count_no_more():
    found = [topography_coefficient(slope=slope, shape_factor=0.5) for slope in (0.0499, 0.05, 0.3, 0.9)]
    assert found == pytest.approx([1.0, 1.05, 1.3, 1.3])  # 1 + 2 s slope, by hand
    assert [effective_length(rise=rise, upwind_length=100) for rise in (20, 30, 45)] == pytest.approx(
        [100, 100, 150]
    )


def test_an_obstacle_nearer_than_the_table_takes_its_first_row():
    # the first band starts at 4 m
    assert [nearer_than_table(distance) for distance in (None, 3.99, 4.0, 7.0)] == [False, True, False, False]
    assert [obstruction_factor(distance) for distance in (0.0, 3.99, 7.99, 8.0)] == [0.2, 0.2, 0.2, 0.3]
    with pytest.raises(RefusalError) as refused:
        obstruction_factor(-0.1)
    assert str(refused.value) == (
        "distance to the obstacle is -0.1; expected a number from 0 to inf m. Correct distance to the obstacle."
    )


@pytest.mark.parametrize(
    ("wrong", "words"),
    [
        ({"latitude": -90.1}, "latitude is -90.1; expected a number from -90 to 90 degrees. Correct latitude."),
        ({"latitude": 90.1}, "latitude is 90.1; expected a number from -90 to 90 degrees. Correct latitude."),
        ({"longitude": -180.1}, "longitude is -180.1; expected a number from -180 to 360 degrees. Correct longitude."),
        ({"longitude": 360.1}, "longitude is 360.1; expected a number from -180 to 360 degrees. Correct longitude."),
        ({"topography": 0.99}, "topography coefficient is 0.99; expected a number from 1 to 1.6. Correct topography coefficient."),
        ({"topography": (1.0,) * 11 + (1.61,)}, "topography coefficient is 1.61; expected a number from 1 to 1.6. Correct topography coefficient."),
        ({"terrain": "V"}, "terrain category 'V'; expected one of I, II, III, IV. Correct the site."),
        ({"terrain": ("I",) * 11}, "11 terrain categories and 12 topography coefficients; expected twelve of each, for sectors centred on 0, 30, ... 330. Give twelve, or one for all."),
        ({"topography": (1.0,) * 13}, "12 terrain categories and 13 topography coefficients; expected twelve of each, for sectors centred on 0, 30, ... 330. Give twelve, or one for all."),
    ],
)  # fmt: skip
def test_a_site_says_what_is_wrong_with_it(wrong, words):
    with pytest.raises(RefusalError) as refused:
        Site(**{"name": "Field", "latitude": 50, "longitude": 0, **wrong})
    assert str(refused.value) == words


def test_a_site_on_every_limit_is_taken_and_one_value_stands_for_twelve():
    for latitude, longitude in ((-90, -180), (90, 360)):
        plain = Site(name="Edge", latitude=latitude, longitude=longitude)
        assert (plain.categories, plain.hill_coefficients) == (("II",) * 12, (1.0,) * 12)
        assert LocalPlane(latitude=latitude, longitude=longitude).definition == (
            f"+proj=aeqd +lat_0={latitude}.000000000 +lon_0={longitude}.000000000 +datum=WGS84 +units=m +no_defs"
        )
    told = Site(name="Hill", latitude=0, longitude=0, terrain=["I", "IV"] * 6, topography=[1, 1.6] * 6)
    assert (told.categories, told.hill_coefficients) == (("I", "IV") * 6, (1.0, 1.6) * 6)
    assert Site(name="Hill", latitude=0, longitude=0, topography=1.6).hill_coefficients == (1.6,) * 12
    assert (plain.flags, plain.grounds, plain.hills, plain.untold) == ((), (), (), {})


@pytest.mark.parametrize(
    ("call", "words"),
    [
        (lambda: LocalPlane(latitude=91, longitude=0), "latitude is 91; expected a number from -90 to 90 degrees. Correct latitude."),
        (lambda: LocalPlane(latitude=-91, longitude=0), "latitude is -91; expected a number from -90 to 90 degrees. Correct latitude."),
        (lambda: LocalPlane(latitude=0, longitude=361), "longitude is 361; expected a number from -180 to 360 degrees. Correct longitude."),
        (lambda: LocalPlane(latitude=0, longitude=-181), "longitude is -181; expected a number from -180 to 360 degrees. Correct longitude."),
        (lambda: readable_crs(None), "the file says nothing of its coordinate system; expected a CRS, such as EPSG:4326 for degrees or a national grid. Write it into the file with the program it came from."),
        (lambda: readable_crs(""), "the file says nothing of its coordinate system; expected a CRS, such as EPSG:4326 for degrees or a national grid. Write it into the file with the program it came from."),
        (lambda: readable_crs("z" * 99), f"the coordinate system {'z' * 60!r}; expected one that PROJ knows. Correct the file's CRS."),
    ],
)  # fmt: skip
def test_planes_and_grids_that_cannot_be_are_refused(call, words):
    with pytest.raises(RefusalError) as refused:
        call()
    assert str(refused.value) == words


def test_the_plane_measures_by_the_ellipsoid():
    # at 50 degrees a degree of latitude is 111,229 m and one of longitude 71,696 m (WGS 84, by its radii of curvature)
    plane = LocalPlane(latitude=50.0, longitude=8.0)
    east, north = plane.to_metres(np.array([8.001, 8.0]), np.array([50.0, 50.001]), crs=DEGREES)
    np.testing.assert_allclose(east, [71.696, 0.0], atol=0.01)
    np.testing.assert_allclose(north, [0.0, 111.229], atol=0.01)
    x, y = plane.to_crs(east, north, crs=DEGREES)
    np.testing.assert_allclose([*x, *y], [8.001, 8.0, 50.0, 50.001], atol=1e-9)
    # bearings run clockwise from north: south-west by 100 m is 70.71 m west and south
    np.testing.assert_allclose(offset(bearing=np.array([0, 90, 225]), distance=100), [[0, 100, -70.7107], [100, 0, -70.7107]], atol=1e-3)  # fmt: skip


@pytest.mark.parametrize(
    ("position", "words"),
    [
        (0.0, "at the crest"),
        (-0.99, "at the crest"),
        (1.0, "1 m behind the crest"),
        (-1.0, "1 m before the crest"),
        (60.4, "60 m behind the crest"),
    ],
)
def test_a_hill_in_words(position, words):
    hill = SectorHill(240.0, shape="ridge", rise=59.6, slope=0.125, position=position)
    assert hill.in_words == f"ridge, 60 m rise, slope 1 in 8, {words}"
    flat = (1.0, "flat", 0.0, 0.0, 0.0, 0.0, 0.0, 0.0, (), (), None, None)
    assert dataclasses.astuple(SectorHill(240.0)) == (240.0, *flat)


@pytest.mark.parametrize("latitude", [0.0, 50.0, -64.0, 79.0, -89.0])
@pytest.mark.parametrize("reach", [50.0, 5000.0, 15_000.0, 60_000.0])
def test_many_points_at_once_are_where_proj_puts_them(latitude, reach):
    # PROJ's own azimuthal equidistant plane, point by point; few points and many come another way here
    plane = LocalPlane(latitude=latitude, longitude=179.99)
    to_degrees = Transformer.from_crs(plane.definition, DEGREES, always_xy=True)
    chance = np.random.default_rng(1)
    for count in (40, 4000):
        east, north = chance.uniform(-reach, reach, (2, count))
        x, y = plane.to_crs(east, north, crs=DEGREES)
        longitude, latitudes = to_degrees.transform(east, north)
        turn = (x - longitude + 180) % 360 - 180
        assert np.abs(y - latitudes).max() * 111_000 < 2e-6
        assert np.abs(turn * np.cos(np.deg2rad(latitudes))).max() * 111_000 < 2e-6
        back = plane.to_metres(x, y, crs=DEGREES)
        np.testing.assert_allclose(back, [east, north], atol=4e-6)
