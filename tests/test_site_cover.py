"""Terrain categories of made-up land cover whose shares are known by hand."""

import numpy as np
import pytest
from site_world import PLANE, cover

from exposure.checks import RefusalError
from exposure.site import cover as cover_module
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


def brute_open_water(water, known, least):
    """Whether each step's run of water is long enough or ends where nothing is told, walked step by step."""
    found = np.zeros(water.size, dtype=bool)
    for k in range(water.size):
        if water[k]:
            first = last = k
            while first > 0 and water[first - 1]:
                first -= 1
            while last + 1 < water.size and water[last + 1]:
                last += 1
            off = last + 1 == water.size or not known[last + 1]
            found[k] = last + 1 - first >= least or off
    return found


def test_water_is_open_by_the_length_of_its_run_walked_step_by_step(monkeypatch):
    monkeypatch.setattr(cover_module, "OPEN_WATER", 5 * cover_module.STEP)
    chance = np.random.default_rng(5)
    code = chance.choice([WATER, WATER, WATER, WATER, GRASS, np.nan], p=[0.2, 0.2, 0.2, 0.2, 0.15, 0.05], size=(4, 15, 60))  # fmt: skip
    water, known = code == WATER, np.isfinite(code)
    found = cover_module._open_water(water, known)
    expected = [[brute_open_water(w, k, 5) for w, k in zip(*one, strict=True)] for one in zip(water, known, strict=True)]  # fmt: skip
    np.testing.assert_array_equal(found, expected)
    assert 0.2 < np.mean(found) < 0.8


RADIUS = np.arange(12.5, 15_000, 25.0)


def one_sector(code, *, open_from=np.inf, town=False, bearing=60.0):
    """The judgement on a sector whose 15 rays are alike: steps of 25 m, so the share within r is r squared, exactly."""
    rays = np.broadcast_to(code, (15, RADIUS.size)).copy()
    return cover_module._sector(bearing, rays, (rays == WATER) & (open_from <= RADIUS), RADIUS, town=town)


def test_shares_of_a_sector_are_shares_of_its_area_by_hand():
    rings = np.select([RADIUS < 500, RADIUS < 800, RADIUS < 900], [TREES, GRASS, WATER], BUILT)
    found = one_sector(rings)
    assert found.shares == pytest.approx(
        {"trees": 0.25, "grassland": 0.39, "pond or river": 0.17, "built-up": 0.19}
    )
    assert (found.bearing, found.category, found.known, found.open_water) == (60.0, "II", 1.0, 0.0)
    assert (found.sea_distance, found.reach) == (None, np.inf)
    assert (
        found.reason
        == "grassland 39%, trees 25%, built-up 19% within 1 km; the smoothest that makes up a tenth wins"
    )
    assert one_sector(rings, town=True).shares["town"] == pytest.approx(0.19)


def test_open_water_is_counted_within_two_kilometres_and_looked_for_within_ten():
    sea = one_sector(np.where(RADIUS < 1500, TREES, WATER), open_from=1500)
    assert sea.open_water == pytest.approx(1 - 0.75**2)
    assert (sea.category, sea.sea_distance) == ("I", 1500.0)
    assert sea.reason == "open water makes up 44% of the ground within 2 km"
    near = one_sector(np.where(RADIUS < 600, TREES, WATER), open_from=600)
    assert near.shares == pytest.approx({"trees": 0.36, "open water": 0.64})
    for shore, told in ((9975, 9975.0), (10_000, None)):
        far = one_sector(np.where(shore > RADIUS, TREES, WATER), open_from=shore)
        assert (far.sea_distance, far.category) == (told, "III")
    bay = np.full((15, RADIUS.size), float(TREES))
    bay[2, RADIUS > 700] = WATER  # one ray alone sees it
    found = cover_module._sector(0.0, bay, bay == WATER, RADIUS, town=False)
    assert found.sea_distance == 700.0
    assert found.open_water == pytest.approx((1 - 0.35**2) / 15)


def test_what_the_raster_does_not_tell_is_left_out_of_every_share():
    gap = one_sector(np.where((RADIUS > 500) & (RADIUS < 1500), np.nan, TREES))
    assert (gap.known, gap.reach, gap.shares) == (pytest.approx(0.25), 500.0, {"trees": 1.0})
    aside = np.full((15, RADIUS.size), float(GRASS))
    aside[:7], aside[8:] = np.nan, np.nan  # the middle ray alone is told
    found = cover_module._sector(0.0, aside, aside == WATER, RADIUS, town=False)
    assert (found.reach, found.known) == (np.inf, pytest.approx(1 / 15))
    beyond = one_sector(np.where(RADIUS < 1900, np.nan, WATER), open_from=1900)
    assert (beyond.open_water, beyond.known, beyond.category) == (1.0, 0.0, "I")
    nothing = one_sector(np.full(RADIUS.size, np.nan))
    assert (nothing.open_water, nothing.known, nothing.reach, nothing.shares) == (0.0, 0.0, 0.0, {})
    assert nothing.reason == "the land-cover raster says nothing here, so the hardest ground is taken"


@pytest.mark.parametrize(
    ("by_category", "water", "category"),
    [
        ((0.1, 0, 0, 0.9), 0.0, "I"),
        ((0.099, 0.1, 0, 0.8), 0.0, "II"),
        ((0.05, 0.09, 0.1, 0.7), 0.0, "III"),
        ((0.09, 0.09, 0.09, 0.73), 0.099, "IV"),
        ((0, 0, 0, 1), 0.1, "I"),
        ((0.01, 0.09, 0.02, 0.03), 0.0, "II"),  # none makes up a tenth: the largest
    ],
)
def test_the_smoothest_that_makes_up_a_tenth_wins(by_category, water, category):
    shares = dict(zip("abcd", by_category, strict=True))
    found, reason = cover_module._judge(dict(zip(("I", "II", "III", "IV"), by_category, strict=True)), shares, water, 1.0)  # fmt: skip
    assert found == category
    if sum(by_category) < 0.2:
        assert reason == "b 9%, d 3%, c 2% within 1 km"


def test_strange_codes_are_named_in_order_and_no_more_than_five():
    known = "10, 20, 30, 40, 50, 60, 70, 80, 90, 95, 100"
    with pytest.raises(RefusalError) as refused:
        categories(lambda x, y: np.select([x < -5000, x < 0, x < 200, x < 400, x < 600, x < 800], [7.5, 6, 5, 4, 3, 2], np.nan))  # fmt: skip
    assert str(refused.value) == (
        f"made-up cover holds land-cover codes 2, 3, 4, 5, 6; expected ESA WorldCover classes {known}. "
        "Reclassify the raster to these codes, and mark gaps as nodata."
    )


def test_rays_are_read_in_the_middles_of_steps_of_25_metres():
    # told to 1,000 m: the step from 975 to 1,000 m is read at 987.5 m, the next at 1,012.5 m
    found = terrain_by_sector(cover(lambda x, y: np.where(np.hypot(x, y) > 1000, np.nan, GRASS), pixel=5.0, reach=1300.0), PLANE)  # fmt: skip
    assert {one.reach for one in found} == {1000.0}
    assert {one.known for one in found} == {1.0}
