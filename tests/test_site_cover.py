"""Terrain categories of made-up land cover whose shares are known by hand."""

import numpy as np
import pytest
from site_world import PLANE, cover

from exposure.checks import RefusalError
from exposure.site.cover import terrain_by_sector

GRASS, TREES, BUILT, WATER, BARE = 30, 10, 50, 80, 60
EAST, WEST = 3, 9


def categories(function, **more):
    return [one.category for one in terrain_by_sector(cover(function), PLANE, **more)]


def test_open_farmland_is_two_all_round():
    assert categories(lambda x, y: GRASS) == ["II"] * 12


def test_sea_to_the_west_and_wood_to_the_east_by_hand():
    found = terrain_by_sector(cover(lambda x, y: np.where(x < -800, WATER, TREES)), PLANE)
    assert found[WEST].category == "I"
    assert "within 1 km; the smoothest that makes up a tenth wins" in found[EAST].reason
    assert found[EAST].category == "III"
    assert found[WEST].sea_distance == pytest.approx(800, abs=50)
    # straight shore at 800 m: share of the 30 degree sector within 2 km beyond it, by integrating the circle
    angle = np.deg2rad(np.linspace(-15, 15, 2001))
    share = np.mean(1 - (800 / np.cos(angle) / 2000) ** 2)
    assert found[WEST].open_water == pytest.approx(share, abs=0.02)
    assert "open water" in found[WEST].reason


@pytest.mark.parametrize(("shore", "category"), [(1700, "I"), (1950, "II"), (2300, "II")])
def test_sea_counts_within_two_kilometres_when_a_tenth_is_water(shore, category):
    # the share beyond a straight shore falls from 0.25 at 1,700 m to 0.03 at 1,950 m
    assert (
        terrain_by_sector(cover(lambda x, y: np.where(x < -shore, WATER, GRASS)), PLANE)[WEST].category
        == category
    )


def test_a_pond_is_not_open_water_but_a_lake_of_five_kilometres_is():
    pond = terrain_by_sector(cover(lambda x, y: np.where((x < -400) & (x > -1400), WATER, GRASS)), PLANE)[
        WEST
    ]
    assert pond.category == "II"
    assert pond.open_water == 0.0
    assert pond.sea_distance is None
    assert pond.shares["pond or river"] > 0.5
    lake = terrain_by_sector(cover(lambda x, y: np.where((x < -400) & (x > -5900), WATER, GRASS)), PLANE)[
        WEST
    ]
    assert lake.category == "I"


def test_water_that_runs_off_the_raster_counts_as_open():
    edge = cover(lambda x, y: np.where(x < -1000, WATER, GRASS), reach=3000.0)
    assert terrain_by_sector(edge, PLANE)[WEST].category == "I"


@pytest.mark.parametrize(("width", "category"), [(40, "III"), (400, "II")])
def test_patches_under_a_tenth_are_ignored(width, category):
    # a clearing at 900 m in a wood: a strip of 40 m is about 7 % of the sector's area, of 400 m over half
    found = categories(
        lambda x, y: np.where((x < -900 + width) & (x > -900), GRASS, TREES),
    )
    assert found[WEST] == category


def test_built_up_ground_is_three_unless_heights_prove_a_town():
    assert categories(lambda x, y: BUILT)[WEST] == "III"
    proven = categories(lambda x, y: BUILT, towns={WEST: True})
    assert proven[WEST] == "IV"
    assert proven[EAST] == "III"


def test_felling_the_trees_opens_the_ground():
    assert categories(lambda x, y: TREES) == ["III"] * 12
    assert categories(lambda x, y: TREES, instead={TREES: GRASS}) == ["II"] * 12


def test_bare_flat_ground_is_the_hardest():
    assert categories(lambda x, y: BARE) == ["I"] * 12


def test_unknown_ground_is_taken_as_the_hardest_and_said_so():
    half = terrain_by_sector(cover(lambda x, y: np.where(x < -30, np.nan, GRASS)), PLANE)
    assert half[WEST].known < 0.1
    assert half[EAST].known == 1.0
    nothing = terrain_by_sector(cover(lambda x, y: np.where(x < 30, np.nan, GRASS)), PLANE)[WEST]
    assert nothing.category == "I"
    assert "says nothing" in nothing.reason


def test_shares_add_up():
    found = terrain_by_sector(cover(lambda x, y: np.where((x + y) % 700 < 300, TREES, GRASS)), PLANE)
    for one in found:
        assert sum(one.shares.values()) == pytest.approx(1.0)


def test_foreign_codes_are_refused():
    with pytest.raises(RefusalError, match="ESA WorldCover classes"):
        categories(lambda x, y: np.where(x > 0, 30, 7))


def test_turning_the_map_turns_the_categories():
    west = categories(lambda x, y: np.where(x < -800, WATER, TREES))
    south = categories(lambda x, y: np.where(y < -800, WATER, TREES))
    assert [south[(k - 3) % 12] for k in range(12)] == west
