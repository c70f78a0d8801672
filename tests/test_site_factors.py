"""Roughness, topography and obstruction against numbers worked out from the printed tables and formulas."""

import itertools
import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from outside import CHECKS, agrees

from exposure.checks import RefusalError
from exposure.site.obstruction import obstruction_factor
from exposure.site.place import Site
from exposure.site.roughness import terrain_roughness_coefficient
from exposure.site.topography import shape_factor, topography_coefficient
from exposure.tables import load_table


@pytest.mark.parametrize("name", [name for name in CHECKS if name.startswith("roughness-")])
def test_roughness_by_page(name):
    _, category, height = name.split("-")
    agrees(terrain_roughness_coefficient(category=category, height=float(height.rstrip("m"))), name)


@pytest.mark.parametrize("name", [name for name in CHECKS if name.startswith("topography-")])
def test_topography_by_page(name):
    _, slope, shape = name.split("-")
    agrees(topography_coefficient(slope=float(slope), shape_factor=float(shape)), name)


@pytest.mark.parametrize("name", [name for name in CHECKS if name.startswith("obstruction-")])
def test_obstruction_by_page(name):
    agrees(obstruction_factor(float(name.split("-")[1])), name)


def cliff(position, height):
    """s behind a cliff whose effective length is 100 m (a rise of 30 m on 50 m)."""
    return shape_factor(
        position=position, height=height, rise=30, upwind_length=50, downwind_length=50, cliff=True
    )


@pytest.mark.parametrize(
    ("name", "found"),
    [
        ("shape-up", lambda: shape_factor(position=0, height=10, rise=20, upwind_length=100, downwind_length=100, cliff=False)),
        ("shape-cliff", lambda: cliff(10, 10)),
        ("shape-cliff-low", lambda: cliff(10, 1.8)),
        ("shape-cliff-edge", lambda: cliff(5, 10)),
        ("shape-hill", lambda: shape_factor(position=50, height=10, rise=20, upwind_length=100, downwind_length=100, cliff=False)),
    ],
)  # fmt: skip
def test_shape_factor_by_page(name, found):
    agrees(found(), name)


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
