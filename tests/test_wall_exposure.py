"""Wall index and class by page, and the identity that ties the sector-resolved form to the product."""

import dataclasses

import numpy as np
import pandas as pd
import pytest
import xarray as xr
from builders import climate_of, elevation_of
from outside import agrees, checks_about, inputs_of
from site_world import PLANE, neighbours, raster, weather

from exposure.assess import assess_building
from exposure.assess.building import sea_twice
from exposure.assess.by_sector import BySector, difference_in_words
from exposure.assess.doubts import doubts_of, great_circle, place_of_record, place_sentences
from exposure.checks import RefusalError
from exposure.doubts import doubt, has_doubt
from exposure.paper.sheet_words import figures_words, rank_words
from exposure.rain.hour import TERRAIN_SECTORS
from exposure.rain.index import airfield_index
from exposure.site.roughness import terrain_roughness_coefficient
from exposure.site.sector import SectorGround, SectorHill, View
from exposure.tables import load_table
from exposure.wall import Building, Site, Wall
from exposure.wall.classes import (
    class_for_details,
    class_in_words,
    class_label,
    class_names,
    class_numbers,
    exposure_class,
    harder_class,
    other_classes,
    with_way,
)
from exposure.wall.doubts import Doubt as WallDoubt
from exposure.wall.index import (
    Factor,
    factor_products,
    governing_sector,
    governing_sectors,
    ground_by_sector,
    site_factors,
    wall_exposure,
    wall_factor,
)
from exposure.wall.positions import by_position
from exposure.wall.sheltered import sheltered_walls


@pytest.mark.parametrize("name", checks_about("site", "class-"))
def test_class_by_page(name):
    agrees(exposure_class(inputs_of(name)["spell_index"]), name)


def steady(hours):
    """A year with ``hours`` hours of 5 m/s and 1 mm from 240 degrees: 10/9 L/m2 each, square on."""
    time = xr.date_range("2010-01-01", "2010-12-31T23:00", freq="h", use_cftime=False)
    rain = np.zeros(time.size)
    rain[:hours] = 1.0
    return climate_of(time, rain=rain, wind_speed=5.0, wind_from_direction=240.0, kind="gauge")


@pytest.mark.parametrize("name", ["wall-suburb", "wall-coast"])
def test_wall_index_by_page(name):
    given = dict(inputs_of(name))
    hours = round(given.pop("annual") / (10 / 9))  # of a steady hour
    site = Site(name="Place", latitude=50, longitude=0, terrain=given.pop("category"))
    wall = Wall(name="w", orientation=240, length=9, **given)
    index = airfield_index(steady(hours), orientation=[240.0])
    agrees(wall_exposure(index, site, wall).wall_annual_index, name)


def test_wall_factor_table_by_page():
    # METHOD's table of six shapes (ISO 15927-3, from memory), typed here a second time
    assert {(row["shape"], row["position"]): row["wall_factor"] for row in load_table("wall_factor")["row"]} == {
        ("two-storey gable", "top"): 0.5, ("two-storey gable", "middle"): 0.4, ("two-storey gable", "bottom"): 0.3,
        ("three-storey gable", "top"): 0.5, ("three-storey gable", "middle"): 0.4, ("three-storey gable", "bottom"): 0.3,
        ("multi-storey, flat roof", "top"): 0.5, ("multi-storey, flat roof", "below"): 0.2,
        ("two-storey eaves wall", "all"): 0.3, ("three-storey eaves wall", "all"): 0.4,
        ("two-storey, flat roof", "all"): 0.4,
    }  # fmt: skip
    assert wall_factor(shape="two-storey gable", position="bottom") == 0.3
    with pytest.raises(LookupError, match="the table lists"):
        wall_factor(shape="two-storey gable", position="below")


def test_parts_of_a_gable_by_hand():
    wall = Wall(name="w", orientation=240, length=9, height=6, shape="two-storey gable")
    one = wall_exposure(
        airfield_index(steady(180), orientation=[240.0]), Site(name="P", latitude=50, longitude=0), wall
    )
    parts = by_position(one)
    assert [part.position for part in parts] == ["top", "middle", "bottom"]
    np.testing.assert_allclose(
        [part.wall_annual_index for part in parts], one.wall_annual_index * np.array([1, 0.8, 0.6])
    )
    own = dataclasses.replace(wall, wall_factor=0.25)
    chosen = wall_exposure(
        airfield_index(steady(180), orientation=[240.0]), Site(name="P", latitude=50, longitude=0), own
    )
    assert [part.position for part in by_position(chosen)] == ["all"]
    assert any("chosen by the user" in flag for flag in chosen.flags)


def test_shelter_buys_one_class_and_a_short_record_never_the_lowest():
    names = class_names()
    for found in names:
        for bare in names[names.index(found) :]:
            for never_lowest in (False, True):
                got = names.index(class_for_details(found=found, in_the_open=bare, never_lowest=never_lowest))
                assert got >= names.index(found)
                assert got >= names.index(bare) - 1
                assert got >= int(never_lowest)


def test_a_neighbour_buys_one_class_of_the_details_and_the_sheet_says_so():
    # by hand: 125 hours of 10/9 L/m2, W 0.5, ground about 1, make 70 L/m2 in the open, severe; a neighbour 20 m
    # off, O 0.4, leaves 28, sheltered; the details follow the class between
    wall = Wall(name="w", orientation=240, length=9, height=10, obstacle_distance=20.0)
    site = Site(name="P", latitude=50, longitude=0, terrain="II")
    one = wall_exposure(airfield_index(steady(125), orientation=[240.0]), site, wall)
    assert one.wall_spell_index_in_the_open == pytest.approx(70, abs=1)
    assert one.wall_spell_index == pytest.approx(28, abs=0.4)
    assert (one.exposure_class, one.class_in_the_open, one.class_for_details) == (
        "sheltered", "severe", "moderate",
    )  # fmt: skip
    (told,) = [flag for flag in one.flags if getattr(flag, "key", "") == "wall.without_neighbours"]
    assert told.subject == "w"
    assert "severe" in told


WALLS = Building(
    "House", tuple(Wall(name=f"w{i}", orientation=i * 45 + 3, length=8, height=6) for i in range(8))
)


@pytest.mark.parametrize("hills", [1.0, 1.23])
def test_equal_sectors_give_the_product_exactly(hills):
    site = Site(name="P", latitude=50, longitude=8, terrain="III", topography=hills)
    for one in assess_building(weather(10), WALLS, site).elevations:
        assert one.sector_annual_index == pytest.approx(one.wall_annual_index, rel=1e-12)
        assert one.sector_spell_index == pytest.approx(one.wall_spell_index, rel=1e-12)
        assert one.sector_note is None


def test_nearly_equal_sectors_go_the_long_way_to_the_same_result():
    # one sector differs by a hair, so every hour is weighted by its own sector: the identity then tests the sum
    site = Site(name="P", latitude=50, longitude=8, terrain="III", topography=(1.0,) * 11 + (1.0 + 1e-12,))
    for one in assess_building(weather(10), WALLS, site).elevations:
        assert one.sector_annual_index == pytest.approx(one.wall_annual_index, rel=1e-9)
        assert one.sector_spell_index == pytest.approx(one.wall_spell_index, rel=1e-9)


@pytest.mark.parametrize("wet_hour", [None, 1.0])
def test_sector_resolved_index_by_a_second_method(wet_hour):
    terrain = ("I", "II", "III", "IV") * 3
    climate = weather(10)
    site = Site(name="P", latitude=50, longitude=8, terrain=terrain)
    walls = tuple(
        dataclasses.replace(wall, height=height)
        for wall, height in zip(WALLS.walls, (6.0, 9.0, 6.0, 12.0) * 2, strict=True)
    )
    frame = climate.to_dataframe()
    amount = 2 / 9 * frame.wind_speed * frame.rain ** (8 / 9)
    amount = amount.where(amount >= 0.001, 0).where(frame.rain >= (wet_hour or 0), 0)
    sector = np.round(frame.wind_from_direction / 30).astype(int) % TERRAIN_SECTORS
    for one in assess_building(climate, Building("House", walls), site, wet_hour=wet_hour).elevations:
        height = one.wall.height
        ground = np.array([terrain_roughness_coefficient(category=c, height=height) for c in terrain])[sector]
        facing = np.cos(np.deg2rad(frame.wind_from_direction - one.wall.orientation)).clip(lower=0)
        assert one.sector_annual_index == pytest.approx(
            float((amount * ground * facing).sum()) / 10 * 0.5, rel=1e-4
        )


def test_the_difference_is_told_in_words():
    terrain = ["III"] * 12
    terrain[8] = "I"  # open sea to the west-south-west only
    site = Site(name="P", latitude=50, longitude=8, terrain=tuple(terrain))
    notes = [
        one.sector_note for one in assess_building(weather(10), WALLS, site).elevations if one.sector_note
    ]
    assert notes
    assert any("suburb or forest" in note and "slows it more" in note for note in notes)


def test_governing_sector_by_hand():
    rain = np.zeros(12)
    rain[[6, 7, 8]] = [5, 50, 45]
    ground = np.array([1.0] * 12)
    ground[6] = 1.5  # carries 5 % only
    ground[8] = 1.1
    ground[2] = 2.0  # behind the wall
    assert governing_sector(225.0, rain, ground) == 8
    assert governing_sector(45.0, np.zeros(12), ground) in (1, 2)
    aside = np.zeros(12)
    aside[[7, 10]] = [70, 30]
    ground[10] = 1.9  # wet and smooth, but 75 degrees off the wall
    assert governing_sector(225.0, aside, ground) == 7


@pytest.mark.parametrize(
    ("facing", "share", "governs"),
    # sector 8 is 240 degrees: 60 off a wall that faces 180 still counts, 61 does not; a tenth of the rain does not
    [
        (180.0, 0.4, 8),
        (179.0, 0.4, 6),
        (190.0, 0.15, 8),
        (190.0, 0.11, 8),
        (190.0, 0.10, 6),
        (190.0, 0.05, 6),
    ],
)
def test_ground_governs_within_sixty_degrees_and_above_a_tenth_of_the_rain(facing, share, governs):
    rain, ground = np.zeros(12), np.ones(12)
    rain[6], rain[8] = 1 - share, share
    ground[8] = 1.3
    assert governing_sector(facing, rain, ground) == governs


def test_shelter_stands_in_the_sums_by_sector_too():
    # neighbours at 20 m: O 0.4 by the table, with equal ground and with ground that differs by sector
    for ground in (("II",) * 12, ("II", "III") * 6):
        site = Site(name="P", latitude=50, longitude=8, terrain=ground)
        climate = weather(5)
        alone, sheltered = (
            assess_building(
                climate,
                Building(
                    "H", (Wall(name="w", orientation=225, length=8, height=6, obstacle_distance=distance),)
                ),
                site,
            ).worst
            for distance in (None, 20)
        )
        assert sheltered.sector_spell_index == pytest.approx(0.4 * alone.sector_spell_index)
        assert sheltered.sector_annual_index == pytest.approx(0.4 * alone.sector_annual_index)
        if ground[1] == "II":
            assert sheltered.sector_spell_index == pytest.approx(sheltered.wall_spell_index)


def test_two_equal_walls_are_worst_together():
    twins = Building(
        "H",
        tuple(
            Wall(name=name, orientation=angle, length=8, height=6)
            for name, angle in (("left", 225.0), ("right", 225.0), ("back", 45.0))
        ),
    )
    found = assess_building(weather(10), twins, Site(name="P", latitude=50, longitude=8))
    assert [one.wall.name for one in found.alike(found.worst)] == ["left", "right"]
    left, right, back = found.elevations
    assert left.worst_share == right.worst_share
    assert left.worst_share + back.worst_share == pytest.approx(1.0)
    words = rank_words(found, right)
    assert words.startswith("Both left and right are hit alike, the hardest of three elevations")


def test_light_rain_stands_in_the_words_of_a_wall_and_says_which_way():
    # by hand: 100 hours of 1 mm and 9 m/s square on give 200 L/m2; drizzle below 0.1 mm joins two such spells
    time = pd.date_range("2001-01-01", "2010-12-31T23:00", freq="h")
    hour = (time.day_of_year.values - 1) * 24 + time.hour.values
    rain = np.where((hour < 40) | ((hour >= 300) & (hour < 340)), 1.0, 0.0)
    rain[(hour >= 40) & (hour < 300)] = 0.02
    climate = climate_of(
        time,
        rain=rain,
        wind_speed=9.0,
        wind_from_direction=240.0,
        kind="reanalysis",
        source="made in a test",
        licence="none",
        flags=[],
    )
    wall = Wall(name="w", orientation=240, length=9, height=6, shape="two-storey gable")
    one = wall_exposure(
        airfield_index(climate, orientation=[240.0]), Site(name="P", latitude=50, longitude=0), wall
    )
    # C_R of II at 6 m 0.9096, W 0.5: 80 L/m2 become 36 (moderate); 160 and 16 of drizzle 80 (severe)
    assert one.exposure_class == "moderate"
    assert one.could_be == ("severe",)
    assert one.in_words == "moderate, could be severe (harder) counting light rain"


@pytest.mark.parametrize(
    ("years", "kind", "label"),
    [
        (1, "gauge", "in the worst spell of the one year of this record"),
        (1, "typical year", "in the worst spell of the one stitched year of this record"),
        (2, "gauge", "in the worst spell judged from the 2 years of this record"),
        (4, "gauge", "in the worst spell in three years, judged from 4 years"),
        (10, "gauge", "in the worst spell in three years"),
    ],
)
def test_a_spell_is_called_what_the_record_can_carry(years, kind, label):
    climate = weather(years).assign_attrs(kind=kind)
    one = assess_building(climate, WALLS, Site(name="P", latitude=50, longitude=8)).worst
    assert one.spell_label == label
    assert label in figures_words(one)


def test_sea_counted_twice_is_doubted():
    site = Site(name="P", latitude=50, longitude=8, terrain="I")
    for kind, share, known in (
        ("reanalysis", None, "may be sea"), ("model", 0.1, "is mostly sea"), ("model", 0.9, None), ("gauge", None, None),
    ):  # fmt: skip
        climate = weather(2, kind=kind)
        if share is not None:
            climate.attrs["land_share"] = share
        flags = [flag for flag in assess_building(climate, WALLS, site).flags if "counts it twice" in flag]
        assert bool(flags) == (known is not None)
        assert known is None or known in flags[0]
    walls = assess_building(weather(2), WALLS, site).elevations
    inland = Site(name="P", latitude=50, longitude=8)
    guessed = dataclasses.replace(site, untold={"terrain": tuple(range(12))})
    for place, share, known in (
        (inland, 0.0, None), (guessed, 0.0, None), (site, 0.5, None), (site, 0.49, "is mostly sea"), (site, 0.0, "is mostly sea"),
    ):  # fmt: skip
        found = sea_twice(xr.Dataset(attrs={"kind": "model", "land_share": share}), place, walls)
        assert [one.numbers["known"] for one in found] == [known] * (known is not None)
    seen = {"kind": "model", "land_share": 0.9, "flags": [doubt("climate.mostly_sea")]}
    assert has_doubt(sea_twice(xr.Dataset(attrs=seen), site, walls), "assess.sea_twice")
    assert sea_twice(xr.Dataset(), site, walls) == []  # a kind that nobody told is a gauge


def test_distance_and_height_of_the_record_are_doubted():
    climate = weather(2)
    climate.attrs |= {"latitude": 50.5, "ground_height": 400.0}
    site = Site(name="P", latitude=50, longitude=8, ground_height=20.0)
    flags = assess_building(climate, WALLS, site).flags
    assert any("56 km from the site" in flag for flag in flags)  # half a degree of latitude: 55.6 km
    assert any("380 m above the site" in flag for flag in flags)
    assert great_circle(latitude=0, longitude=179.5, to_latitude=0, to_longitude=-179.5) == pytest.approx(
        111.19, abs=0.02
    )


@pytest.mark.parametrize(
    ("north", "above", "keys"),
    # a degree of latitude is 6371 km x pi / 180 = 111.195 km, so 25 km are 0.22483 degrees; heights by hand
    [
        (0.2248, 100, []),
        (0.2249, -100, ["assess.record_far"]),
        (-0.2249, 101, ["assess.record_far", "assess.record_height"]),
        (0, -101, ["assess.record_height"]),
        (0, None, []),
        (None, 101, ["assess.record_place_unknown", "assess.record_height"]),
    ],
)
def test_a_record_is_doubted_beyond_25_km_and_100_m(north, above, keys):
    told = {} if north is None else {"latitude": north, "longitude": 0.0}
    told |= {} if above is None else {"ground_height": above}
    climate, site = xr.Dataset(attrs=told), Site("P", 0.0, 0.0, ground_height=0.0)
    found = place_sentences(climate, site)
    assert [one.key for one in found] == keys
    if "assess.record_height" in keys:
        assert (found[-1].numbers["rise"], found[-1].numbers["way"]) == (
            101,
            "above" if above > 0 else "below",
        )
    if north is not None:
        assert place_of_record(climate, site)[0] == pytest.approx(abs(north) * 111.195, abs=0.01)


@pytest.mark.parametrize("told", [{"latitude": 1.0}, {"longitude": 1.0}])
def test_half_a_position_is_none(told):
    assert place_of_record(xr.Dataset(attrs=told), Site("P", 0.0, 0.0)) == (None, None)


def test_distance_over_the_earth_by_the_cosine_rule():
    # cos c = sin a sin b + cos a cos b cos t, another formula of the same triangle
    for a, x, b, y in ((50, 8, 48, -29), (-33, 151, 40, 10), (89, 0, 89, 180), (12, 5, -12, -170)):
        north, other, turn = np.deg2rad([a, b, y - x])
        side = np.arccos(np.sin(north) * np.sin(other) + np.cos(north) * np.cos(other) * np.cos(turn))
        found = great_circle(latitude=a, longitude=x, to_latitude=b, to_longitude=y)
        assert found == pytest.approx(6371 * side, rel=1e-9)


@pytest.mark.parametrize(
    ("more", "told", "name", "low", "high"),
    # by hand from 50 L/m2 a spell and 200 a year; a doubt of 2 %, 1 L/m2, is left out
    [
        ({}, {"any_rain": 51.0}, "threshold", None, None),
        ({}, {"any_rain": 51.01}, "threshold", 50, 51.01),
        ({}, {"any_rain": 40.0}, "threshold", 40, 50),
        ({}, {"any_rain": np.nan}, "threshold", None, None),
        ({"wall_spell_index_in_the_open": 51.0}, {}, "neighbours", None, None),
        ({"wall_spell_index_in_the_open": 125.0}, {}, "neighbours", 50, 125),
        ({"sector_spell_index": 49.0}, {}, "sectors", None, None),
        ({"sector_spell_index": 40.0}, {}, "sectors", 40, 50),
        ({"sector_spell_index": 60.0}, {}, "sectors", 50, 60),
        ({"other_models": {"a": 100.0, "b": 500.0}}, {}, "models", 25, 125),
        ({"other_models": {"a": 300.0, "b": 500.0}}, {}, "models", 50, 125),
        ({"other_models": {"a": 100.0}}, {}, "models", 25, 50),
        ({"other_models": {"a": 0.0}, "wall_annual_index": 0.0}, {}, "models", None, None),
        ({}, {"nearby": (0.8, 1.1)}, "place", 40, 55),
        ({}, {"nearby": (1.1, 1.2)}, "place", 50, 60),
        ({}, {"nearby": (0.8, 0.9)}, "place", 40, 50),
        ({"spell_band": (40.0, 70.0), "class_band": ("moderate", "severe")}, {}, "record", 40, 70),
    ],
)
def test_each_doubt_by_hand(more, told, name, low, high):
    found = doubts_of(
        elevation_of(**more), **{"years": 12, "any_rain": 50.0, "place": [], "nearby": None, **told}
    )
    assert {one.name for one in found} == {"record", *([name] if low is not None else [])}
    if low is not None:
        (one,) = [one for one in found if one.name == name]
        assert (one.low, one.high) == (pytest.approx(low), pytest.approx(high))


@pytest.mark.parametrize(
    ("more", "told", "key", "numbers"),
    # what each doubt says, by hand from the same figures; classes begin at 33, 56.5 and 100 L/m2
    [
        ({"spell_band": (32.9, 70.1), "class_band": ("sheltered", "severe")}, {"years": 12}, "record_band",
         {"years": 12, "span": "32 to 71", "words": "sheltered to severe"}),
        ({"spell_band": (40.0, 70.0)}, {"years": 9}, "record_band_short", {"years": 9, "span": "40 to 70", "words": ""}),
        ({}, {"years": 1}, "no_band", {"years": "1 year"}),
        ({}, {"years": 4}, "no_band", {"years": "4 years"}),
        ({}, {"any_rain": 60.0}, "light_rain", {"figure": "60", "words": "severe"}),
        ({"wall_spell_index_in_the_open": 125.0, "class_in_the_open": "very severe"}, {}, "neighbours_gone",
         {"figure": "125", "words": "very severe"}),
        ({"sector_spell_index": 40.0}, {}, "ground_by_sector", {"figure": "40"}),
        ({"other_models": {"a": 100.0, "b": 500.0}}, {}, "other_models", {"span": "25 to 125"}),
        ({}, {"nearby": (0.8, 1.1)}, "records_around", {"span": "40 to 55"}),
    ],
)  # fmt: skip
def test_what_each_doubt_says_by_hand(more, told, key, numbers):
    found = doubts_of(
        elevation_of(**more), **{"years": 12, "any_rain": 50.0, "place": [], "nearby": None, **told}
    )
    (said,) = [one.sentence for one in found if one.sentence.key == f"assess.{key}"]
    assert said.numbers == numbers


def test_the_record_is_gone_through_once_and_its_traces_are_counted(monkeypatch):
    def again(*_):
        raise AssertionError("gone through again")

    for room in ("seasons", "models"):
        monkeypatch.setattr(f"exposure.rain.{room}.counted_hours", again)
    climate = weather(6, kind="model")
    dry = climate["rain"].values == 0
    climate["rain"].values[dry & (np.arange(dry.size) % 40 == 0)] = 0.02  # drizzle that joins the spells
    found = assess_building(climate, WALLS, Site("P", 50, 8))
    told = 0
    for one in found.elevations:
        traces = float(found.index["airfield_spell_index_any_rain"].sel(orientation=one.wall.orientation))
        for light in (mine for mine in one.doubts if mine.name == "threshold"):
            assert light.high == pytest.approx(traces * one.factor_product)
            told += 1
        assert set(one.flags) <= set(found.flags)
    assert told > 2
    assert len(found.flags) == len(set(found.flags))


def test_a_wall_without_rain_has_no_spread_of_records_around():
    # all rain comes from 240 degrees; around it also from the east, which a dry wall cannot be scaled by
    climate, around = steady(180), steady(180)
    around["wind_from_direction"].values[:90] = 60.0
    wall = Wall(name="dry", orientation=60.0, length=8, height=6)
    one = assess_building(climate, Building("H", (wall,)), Site("P", 50, 0), nearby=[around]).worst
    (place,) = [mine for mine in one.doubts if mine.sentence.key == "assess.records_around"]
    assert (one.wall_spell_index, place.low, place.high) == (0, 0, 0)


def test_doubts_without_figures_and_of_short_records():
    asked = {"any_rain": 50.0, "place": ["Far."], "nearby": (0.9, 1.0)}
    near, record, far = doubts_of(elevation_of(), years=1, **asked)  # the widest first: 5, then the unknown
    (first, *_) = doubts_of(elevation_of(), years=1, **(asked | {"nearby": (0.99, 1.0)}))
    assert first.low == 49.5  # half a litre is wider than what is not known
    assert (near.low, record.low, far.low) == (45, None, None)
    assert (record.sentence.key, far.sentence) == ("assess.no_band", "Far.")
    assert record.sentence.startswith("1 year of record")
    band = elevation_of(spell_band=(40.0, 70.0), class_band=("moderate", "severe"))
    for years, key in ((9, "assess.record_band_short"), (10, "assess.record_band")):
        wide = doubts_of(band, years=years, **asked)[0]
        assert wide.sentence.key == key
        assert wide.sentence.numbers["span"] == "40 to 70"


def test_records_around_scale_the_spell_by_their_wind():
    # the same rain in a wind of 0.8 and of 1.2: the index goes with the wind
    climate = weather(12)
    around = [climate.assign(wind_speed=climate["wind_speed"] * share) for share in (0.8, 1.0, 1.2)]
    for one in around:
        one["wind_speed"].attrs = climate["wind_speed"].attrs
    for one in assess_building(climate, WALLS, Site("P", 50, 8), nearby=around).elevations:
        place = next(doubt for doubt in one.doubts if doubt.name == "place")
        assert place.low == pytest.approx(0.8 * one.wall_spell_index, rel=1e-6)
        assert place.high == pytest.approx(1.2 * one.wall_spell_index, rel=1e-6)


def test_rain_of_one_month_is_that_months_and_a_dry_wall_has_none():
    found = assess_building(steady(180), WALLS, Site("P", 50, 0, terrain="II"))  # January, from 240 degrees
    for one in found.elevations:
        hit = abs((one.wall.orientation - 240 + 180) % 360 - 180) < 90
        assert one.monthly_share == ((1.0, *[0.0] * 11) if hit else None)
    assert found.rose.sizes["orientation"] == 36
    months = found.to_dataset()["monthly_share"]
    assert months.isnull().all("month").values.tolist() == [
        one.monthly_share is None for one in found.elevations
    ]


def test_the_trend_is_that_of_the_worst_wall_with_its_factors():
    # rain and wind alike each year, the wind 1 m/s more each year; by hand the index then rises by
    # 180 hours x 2/9 x 1 m/s = 40 L/m2 a year in the open, times the wall's own product
    time = pd.date_range("2001-01-01", "2010-12-31T23:00", freq="h")
    wet = (time.day_of_year.values <= 8) & (time.hour.values < 22)  # 176 hours
    climate = climate_of(
        time,
        rain=np.where(wet, 1.0, 0.0),
        wind_speed=time.year.values - 1998.0,
        wind_from_direction=240.0,
        kind="gauge",
    )
    wall = Wall(name="w", orientation=240, length=9, height=6)
    other = Wall(name="other", orientation=300, length=9, height=6)
    found = assess_building(climate, Building("H", (other, wall)), Site("P", 50, 0))
    assert found.worst.wall.name == "w"
    assert found.trend.per_decade == pytest.approx(10 * 176 * 2 / 9 * found.worst.factor_product, rel=0.01)


def test_a_difference_by_sector_is_told_of_a_little_rain_too_and_of_none_not():
    site, factors = (
        Site("P", 50, 8, terrain="III"),
        tuple(Factor(name, 1.0, "", "", "ours") for name in "abcd"),
    )
    rain = (("sector", "orientation"), np.ones((12, 1)))
    index = xr.Dataset({"airfield_annual_index_by_sector": rain}, {"orientation": [240.0]})
    for annual, told in ((0.5, True), (0.0, False)):
        one = elevation_of("w", orientation=240, factors=factors, wall_annual_index=annual)
        words = difference_in_words(one, BySector(2 * annual, 1.0, np.arange(12) / 4), index, site)
        assert (words is not None) is told
        assert words is None or "from the north-north-west" in words or "from the north-west" in words


@pytest.mark.parametrize("share", [1.0999, 1.1001, 0.9001, 0.8999])
def test_a_difference_by_sector_is_told_from_a_tenth_on(share):
    terrain = ["III"] * 12
    terrain[7], terrain[9] = "I", "IV"
    site = Site("P", 50, 8, terrain=tuple(terrain), topography=(1.0,) * 7 + (1.2,) + (1.0,) * 4)
    factors = tuple(
        Factor(name, 1.0, "", "", "ours") for name in ("roughness", "topography", "obstruction", "wall")
    )
    one = elevation_of("w", orientation=240, factors=factors)
    rain = np.zeros((12, 1))
    rain[[7, 8, 9], 0] = 10.0, 50.0, 10.0
    index = xr.Dataset(
        {"airfield_annual_index_by_sector": (("sector", "orientation"), rain)}, {"orientation": [240.0]}
    )
    weight = np.ones(12)
    weight[[7, 9]] = (
        1.5,
        0.4,
    )  # sector 7, 210 degrees, blows harder; sector 9, west, is slowed; 8 makes nothing
    weight[0], weight[6] = 3.0, 0.1  # no rain comes from there
    words = difference_in_words(one, BySector(200 * share, 50.0, weight), index, site)
    if 0.9 < share < 1.1:
        assert words is None
        return
    way, crosses, does = (
        ("south-west", "and a hill, where it blows harder", "220")
        if share > 1
        else ("west", "which slows it more", "180")
    )
    assert f"comes from the {way} crosses" in words
    assert crosses in words
    assert ("a hill" in words) == (share > 1)
    assert f"gets {does} L/m2 a year instead of 200" in words


@pytest.mark.parametrize(
    ("west", "hills", "weight", "crosses"),
    [
        # the product takes the hill of 1.3 over open water; to the west the same water, and by hand less for want of the hill alone
        ("I", 1.0, 1.0, "crosses no hill, so it blows less hard."),
        ("I", 1.1, 1.1, "crosses a lower hill, so it blows less hard."),
        ("IV", 1.0, 0.5, " and no hill, so it blows less hard."),
        ("IV", 1.3, 0.7, ", which slows it more."),
        ("I", 1.5, 1.5, "crosses a higher hill, where it blows harder."),
    ],
)
def test_a_difference_by_sector_names_what_the_sector_has_otherwise(west, hills, weight, crosses):
    terrain, hill = ["I"] * 12, [1.3] * 12
    terrain[9], hill[9] = west, hills
    site = Site("P", 50, 8, terrain=tuple(terrain), topography=tuple(hill))
    water = terrain_roughness_coefficient(category="I", height=6)
    one = elevation_of(
        "w",
        orientation=240,
        factors=tuple(Factor(name, value, "", "", "ours") for name, value in
                      zip(("ground", "hill", "neighbours", "wall"), (water, 1.3, 1.0, 1.0), strict=True)),
    )  # fmt: skip
    rain = np.zeros((12, 1))
    rain[[8, 9], 0] = 50.0
    index = xr.Dataset(
        {"airfield_annual_index_by_sector": (("sector", "orientation"), rain)}, {"orientation": [240.0]}
    )
    weights = np.full(12, water * 1.3)
    weights[9] = water * weight
    share = 1.5 if hills > 1.3 else 0.5
    words = difference_in_words(one, BySector(one.wall_annual_index * share, 50.0, weights), index, site)
    assert "comes from the west " in words
    assert words.endswith(crosses)
    assert ("open water" in words) == (west == "I" and hills == 1.3)


def test_doubts_hold_what_they_say():
    climate = weather(12, kind="model", wet=0.09)
    traces = climate["rain"].values
    dry = traces == 0
    traces[dry & (np.arange(traces.size) % 40 == 0)] = 0.02  # drizzle joins the spells
    site = Site(name="P", latitude=50, longitude=8, terrain=("I", "II", "III", "III") * 3)
    wet = climate.copy(deep=True)
    wet["rain"] = (wet["rain"] * 1.5).assign_attrs(units="mm")
    sheltered = Building(
        "House", (Wall(name="w", orientation=225, length=8, height=6, obstacle_distance=20),)
    )
    one = assess_building(climate, sheltered, site, nearby=[wet]).worst
    doubts = {doubt.name: doubt for doubt in one.doubts}
    assert set(doubts) == {"record", "threshold", "neighbours", "sectors", "models", "place"}
    assert (doubts["record"].low, doubts["record"].high) == one.spell_band
    assert doubts["neighbours"].high == pytest.approx(one.wall_spell_index / 0.4)
    assert doubts["threshold"].high > 1.1 * one.wall_spell_index
    assert doubts["place"].high == pytest.approx(one.wall_spell_index * 1.5 ** (8 / 9), rel=0.1)
    said = {name: mine.sentence.key for name, mine in doubts.items()}
    assert said == {
        "record": "assess.record_band", "threshold": "assess.light_rain", "neighbours": "assess.neighbours_gone",
        "sectors": "assess.ground_by_sector", "models": "assess.other_models", "place": "assess.records_around",
    }  # fmt: skip
    for mine in one.doubts:
        assert mine.low <= mine.high
        assert mine.classes is not None
    widths = [mine.high - mine.low for mine in one.doubts]
    assert widths == sorted(widths, reverse=True)


def test_bands_ranks_and_months_are_consistent():
    found = assess_building(weather(20), WALLS, Site(name="P", latitude=50, longitude=8))
    assert sum(one.worst_share for one in found.elevations) == pytest.approx(1.0)
    for one in found.elevations:
        assert one.annual_band[0] <= one.wall_annual_index <= one.annual_band[1]
        assert one.spell_band[0] <= one.wall_spell_index <= one.spell_band[1]
        assert one.class_band == tuple(exposure_class(end) for end in one.spell_band)
        assert sum(one.monthly_share) == pytest.approx(1.0)
        assert one.exposure_class in one.in_words
    assert found.worst.worst_share == max(one.worst_share for one in found.elevations)
    assert "20 years" in found.band_statement
    assert found.trend.years == 20


def test_one_year_has_no_band_and_says_so():
    one = assess_building(weather(1), WALLS, Site(name="P", latitude=50, longitude=8)).worst
    assert one.annual_band is None
    assert one.worst_share is None
    assert one.indicative
    assert one.doubts[-1].name in ("record", "place", "models")
    assert any("not known" in doubt.sentence for doubt in one.doubts)


def test_two_elevations_of_one_name_are_refused():
    with pytest.raises(RefusalError, match="each with its own name"):
        Building("House", (WALLS.walls[0], WALLS.walls[0]))


@pytest.mark.parametrize(
    ("site", "more", "exposure", "roof"),
    [
        ({}, {}, 1.0, 0.35),  # medium, below a steep roof
        ({"terrain": "I"}, {}, 1.3, 0.35),  # severe: open water
        ({"topography": 1.2}, {}, 1.3, 0.35),  # severe: hill
        ({"terrain": "IV"}, {}, 0.7, 0.35),  # sheltered: town
        ({}, {"obstacle_distance": 30.0}, 0.7, 0.35),  # sheltered: neighbour
        ({}, {"shape": "two-storey, flat roof"}, 1.0, 0.5),
    ],
)
def test_other_models_on_the_wall_by_hand(site, more, exposure, roof):
    # 180 hours of 5 m/s and 1 mm square on: 900 mm m/s; 0.2348 s/m through a plane at 1 mm/h
    wall = Wall(**{"name": "w", "orientation": 240, "length": 9, "height": 6, **more})
    place = Site(**{"name": "P", "latitude": 50, "longitude": 0, **site})
    one = assess_building(steady(180), Building("House", (wall,)), place).worst
    product = np.prod([factor.value for factor in one.factors])
    assert one.other_models["free field"] == pytest.approx(900 * 0.2348 * product, rel=1e-3)
    assert one.other_models["ASHRAE 160"] == pytest.approx(900 * 0.2 * exposure * roof, rel=1e-9)


def test_a_doubt_near_a_limit_does_not_stand_on_the_other_side_of_it():
    from exposure.assess.doubts import _span

    assert _span(32.6, 56.4) == "32 to 56.4"  # 56.5 parts moderate from severe: 57 would be severe
    assert _span(100.0, 140.2) == "100 to 141"


def slow_sector(orientation, rain, product):
    """The governing sector as its docstring words it, walked sector by sector."""
    away = [min(abs(30 * k - orientation + turn) for turn in (-720, -360, 0, 360, 720)) for k in range(12)]
    able = [k for k in range(12) if away[k] <= 60 and sum(rain) > 0 and rain[k] / sum(rain) > 0.1]
    return max(able, key=lambda k: product[k]) if able else min(range(12), key=lambda k: away[k])


def test_governing_sectors_of_many_walls_walked_one_by_one():
    chance = np.random.default_rng(8)
    facing = chance.uniform(0, 360, 200)
    facing[:12] = np.arange(12) * 30
    rain = chance.gamma(0.4, 1, (200, 12))
    rain[::9] = 0
    product = chance.uniform(0.6, 1.8, (200, 12))
    found = governing_sectors(facing, rain, product)
    assert found.tolist() == [slow_sector(*one) for one in zip(facing, rain, product, strict=True)]


def factors_of(site_more=None, sector=8, **wall_more):
    site = Site(**{"name": "P", "latitude": 50, "longitude": 0, "terrain": "II", **(site_more or {})})
    wall = Wall(**{"name": "w", "orientation": 240, "length": 9, "height": 6.5, **wall_more})
    return site_factors(site, wall, sector)


def test_each_factor_says_its_value_reason_source_and_standing():
    rough, hill, obstacle, shape = factors_of()
    assert [one.name for one in (rough, hill, obstacle, shape)] == [
        "terrain_roughness_coefficient", "topography_coefficient", "obstruction_factor", "wall_factor",
    ]  # fmt: skip
    # II: 0.19 ln(6.5 / 0.05), by hand
    assert [one.value for one in (rough, hill, obstacle, shape)] == pytest.approx(
        [0.19 * np.log(130), 1, 1, 0.5]
    )
    assert [one.reason for one in (rough, hill, obstacle, shape)] == [
        "ground II to the south-west, wall top at 6.5 m", "flat ground", "no neighbour counts as shelter", "two-storey gable, worst part",
    ]  # fmt: skip
    assert [one.source for one in (rough, hill, obstacle, shape)] == [
        "ISO 15927-3:2009, terrain table (second hand, confirm)",
        "ISO 15927-3:2009 and EN 1991-1-4:2005, Annex A.3 (from memory, confirm)",
        "ISO 15927-3:2009, obstruction table (from memory, confirm)",
        "ISO 15927-3:2009, wall factor table (from memory, confirm)",
    ]
    assert [one.standing for one in (rough, hill, obstacle, shape)] == ["second hand", *["from memory"] * 3]
    assert not any(one.verified for one in (rough, hill, obstacle, shape))
    assert Factor("f", 1.0, "", "", "read").verified


def test_reasons_of_factors_on_other_sites():
    hilly = {"topography": (1.0,) * 8 + (1.2,) + (1.0,) * 3, "terrain": ("II",) * 8 + ("IV",) + ("II",) * 3}
    rough, hill, _, _ = factors_of(hilly)
    # IV: 0.24 ln(z / 1) not below 16 m
    assert (rough.reason, hill.reason, hill.value) == (
        "ground IV to the south-west, wall top at 6.5 m",
        "hill to the south-west",
        1.2,
    )
    assert rough.value == pytest.approx(terrain_roughness_coefficient(category="IV", height=16.0))
    assert factors_of(hilly, sector=0)[0].reason == "ground II to the north, wall top at 6.5 m"
    hills = tuple(SectorHill(30.0 * k, shape="ridge", rise=40, slope=0.1, position=0) for k in range(12))
    grounds = tuple(SectorGround(30.0 * k, "II", {}, 0, None, 1, f"seen {k}") for k in range(12))
    seen = factors_of({**hilly, "hills": hills, "grounds": grounds})
    assert [one.reason for one in seen[:2]] == [
        "ground IV to the south-west, wall top at 6.5 m: seen 8",
        "hill to the south-west: ridge, 40 m rise, slope 1 in 10, at the crest",
    ]
    assert factors_of({"hills": hills})[1].reason == "flat ground"
    near = factors_of(obstacle_distance=30.4)[2]
    assert (near.value, near.reason) == (0.5, "neighbour as tall as the wall at 30 m")
    view = View(30.0, 0.8, None, True, False, "a street")
    assert factors_of(obstacle_distance=30.0, view=view)[2].reason == "a street"


@pytest.mark.parametrize(
    ("wall", "value", "reason", "source", "standing"),
    [
        ({"wall_factor": 0.25}, 0.25, "chosen by the user", "chosen by the user", "ours"),
        ({"wall_factor": 0.0}, 0.0, "chosen by the user", "chosen by the user", "ours"),
        ({"shape": "outside the table", "factor_reason": "narrow"}, 0.5, "narrow", "the hardest value of the table, taken where it has no row; our choice", "ours"),
        ({"shape": "two-storey eaves wall"}, 0.3, "two-storey eaves wall, worst part", "ISO 15927-3:2009, wall factor table (from memory, confirm)", "from memory"),
    ],
)  # fmt: skip
def test_a_wall_factor_says_who_chose_it(wall, value, reason, source, standing):
    factor = factors_of(**wall)[3]
    assert (factor.value, factor.reason, factor.source, factor.standing) == (value, reason, source, standing)


def indexed(years=30, *, kind="gauge", annual=100.0, spell=100.0, any_rain=100.0):
    """An index of the shape that a wall reads, its figures set by hand."""
    sectors = np.zeros(12)
    sectors[8] = annual
    values = {
        "airfield_annual_index": annual, "airfield_spell_index": spell, "airfield_spell_index_any_rain": any_rain,
        "airfield_spell_index_percentile": spell - 1, "airfield_spell_index_gumbel": spell - 2,
    }  # fmt: skip
    return xr.Dataset(
        {name: ("orientation", [0.0, value]) for name, value in values.items()}
        | {"airfield_annual_index_by_sector": (("orientation", "sector"), np.stack([0 * sectors, sectors]))},
        {"orientation": [60.0, 240.0], "year": np.arange(years)},
        {"kind": kind},
    )


def exposed(index=None, **wall):
    # II at 10 m: 0.19 ln 200 = 1.00669
    wall = Wall(**{"name": "w", "orientation": 240, "length": 9, "height": 10, **wall})
    return wall_exposure(index or indexed(), Site(name="P", latitude=50, longitude=0, terrain="II"), wall)


def test_every_figure_of_a_wall_by_hand():
    ground = 0.19 * np.log(200)
    one = exposed(indexed(annual=80.0, spell=100.0), obstacle_distance=20.0)  # W 0.5, O 0.4
    assert (one.airfield_annual_index, one.airfield_spell_index) == (80.0, 100.0)
    assert (one.airfield_spell_index_percentile, one.airfield_spell_index_gumbel) == (99.0, 98.0)
    assert one.wall_annual_index == pytest.approx(80 * ground * 0.5 * 0.4)
    assert one.wall_spell_index == pytest.approx(100 * ground * 0.5 * 0.4)
    assert one.wall_spell_index_in_the_open == pytest.approx(100 * ground * 0.5)
    assert one.factor_product == pytest.approx(ground * 0.2)
    assert (one.ground_sector, one.indicative, one.spell_label) == (
        8,
        False,
        "in the worst spell in three years",
    )
    # 20 L/m2 are sheltered (below 33), 50 in the open moderate (33 to 56.5)
    assert (one.exposure_class, one.class_in_the_open, one.class_for_details) == (
        "sheltered",
        "moderate",
        "sheltered",
    )
    assert [(flag.key, flag.subject, flag.numbers) for flag in one.flags] == [("wall.without_neighbours", "w", {"words": "moderate"})]  # fmt: skip
    assert exposed().flags == ()
    assert (exposed().annual_band, exposed().doubts, exposed().other_models) == (None, (), {})


@pytest.mark.parametrize(
    ("years", "kind", "indicative"),
    [(30, "gauge", False), (10, "gauge", False), (9, "gauge", True), (30, "typical year", True)],
)
def test_a_short_record_or_a_typical_year_is_indicative(years, kind, indicative):
    # 60 L/m2 over the airfield are 30 on the wall, sheltered; twice that is severe, so a short record may not say sheltered
    one = exposed(indexed(years, kind=kind, spell=60.0))
    assert (one.exposure_class, one.indicative) == ("sheltered", indicative)
    assert one.class_for_details == ("moderate" if indicative else "sheltered")
    # 32 over the airfield are 16.1, twice that 32.2 is sheltered still: a short record carries it
    assert exposed(indexed(years, kind=kind, spell=32.0)).class_for_details == "sheltered"
    assert exposed(indexed(years, kind=kind, spell=33.0)).class_for_details == ("moderate" if indicative else "sheltered")  # fmt: skip


def test_light_rain_can_only_make_a_class_harder():
    harder = exposed(indexed(spell=60.0, any_rain=120.0))
    assert (harder.exposure_class, harder.class_any_rain, harder.light_rain_class) == (
        "sheltered",
        "severe",
        "severe",
    )
    milder = exposed(indexed(spell=120.0, any_rain=60.0))
    assert (milder.class_any_rain, milder.light_rain_class) == ("severe", None)
    banded = dataclasses.replace(harder, class_band=("sheltered", "moderate"))
    assert banded.could_be == ("moderate", "severe")
    assert banded.in_words == "sheltered, could be moderate (harder) or severe (harder) counting light rain"
    assert (milder.could_be, milder.in_words) == ((), "severe")
    assert dataclasses.replace(milder, class_band=("moderate", "severe")).could_be == ("moderate",)


@pytest.mark.parametrize(
    ("wall", "keys"),
    [
        ({"obstacle_distance": 3.9}, ["wall.neighbour_near", "wall.without_neighbours"]),
        ({"obstacle_distance": 4.0}, ["wall.without_neighbours"]),
        ({"obstacle_distance": 500.0}, []),
        ({"wall_factor": 0.5}, ["wall.own_factor"]),
        ({"shape": "outside the table"}, ["wall.own_factor"]),
        ({"shape": "outside the table", "factor_reason": "narrow"}, []),
        (
            {"flags": (doubt("wall.courtyard", "w"),), "wall_factor": 0.5},
            ["wall.courtyard", "wall.own_factor"],
        ),
    ],
)
def test_doubts_of_a_wall(wall, keys):
    flags = exposed(**wall).flags
    assert [flag.key for flag in flags] == keys
    assert all(flag.subject == "w" for flag in flags)


def test_the_parts_of_a_wall_by_hand():
    flat = exposed(shape="multi-storey, flat roof")
    product = 0.19 * np.log(200)
    top, below = by_position(flat)
    assert (top.position, top.wall_factor, top.note) == (
        "top",
        0.5,
        "roof pitch below 20 degrees; the top 2.5 m",
    )
    assert (below.position, below.wall_factor, below.note) == ("below", 0.2, "")
    assert [part.wall_annual_index for part in (top, below)] == pytest.approx([50 * product, 20 * product])
    assert [part.wall_spell_index for part in (top, below)] == pytest.approx([50 * product, 20 * product])
    assert [part.exposure_class for part in (top, below)] == ["moderate", "sheltered"]
    (own,) = by_position(exposed(wall_factor=0.25))
    assert (own.position, own.wall_factor, own.note) == ("all", 0.25, "chosen, the same for the whole wall")
    assert own.wall_spell_index == pytest.approx(25 * product)
    (none,) = by_position(exposed(wall_factor=0.0))
    assert (none.wall_factor, none.wall_annual_index, none.wall_spell_index, none.exposure_class) == (0, 0, 0, "sheltered")  # fmt: skip
    (bare,) = by_position(exposed(shape="outside the table", factor_reason="narrow eaves"))
    assert (bare.position, bare.note) == ("all", "narrow eaves")


def test_classes_reached_and_how_they_lie():
    assert class_names() == ["sheltered", "moderate", "severe", "very severe"]
    # limits 33, 56.5 and 100 L/m2 (BS 8104, from memory); each belongs to the harder class
    assert class_numbers(np.array([0, 32.99, 33, 56.49, 56.5, 99.99, 100])).tolist() == [0, 0, 1, 1, 2, 2, 3]
    for wrong in (-0.1, np.nan):
        with pytest.raises(
            ValueError, match=f"a wall spell index of {wrong} has no class; expected zero or more"
        ):
            exposure_class(wrong)
    assert exposure_class(0) == "sheltered"
    assert [harder_class(*pair) for pair in (("severe", "moderate"), ("moderate", "severe"), ("severe", "severe"))] == ["severe"] * 3  # fmt: skip
    assert other_classes("severe", ()) == ()
    assert other_classes("severe", ("sheltered",)) == ("sheltered", "moderate")
    assert class_in_words("severe", band=("severe", "severe"), light_rain="severe") == "severe"
    assert class_in_words("moderate", band=("moderate", "severe"), light_rain="severe") == "moderate, could be severe (harder)"  # fmt: skip
    assert [with_way("severe", other) for other in ("moderate", "very severe")] == ["moderate (milder)", "very severe (harder)"]  # fmt: skip
    labels = {(): "severe", ("moderate", "sheltered"): "severe or milder", ("very severe",): "severe or harder", ("sheltered", "very severe"): "severe, either way"}  # fmt: skip
    assert {others: class_label("severe", others) for others in labels} == labels
    for low, high, classes in ((None, 3.0, None), (3.0, None, None), (0.0, 60.0, ("sheltered", "severe"))):
        assert WallDoubt("n", low, high, "").classes == classes


@pytest.mark.parametrize(
    ("found", "bare", "never_lowest", "details"),
    [("sheltered", "sheltered", False, "sheltered"), ("sheltered", "sheltered", True, "moderate"), ("sheltered", "moderate", False, "sheltered"), ("sheltered", "very severe", False, "severe"), ("severe", "very severe", True, "severe"), ("very severe", "very severe", False, "very severe")],
)  # fmt: skip
def test_details_follow_the_class_and_shelter_buys_one(found, bare, never_lowest, details):
    assert class_for_details(found=found, in_the_open=bare, never_lowest=never_lowest) == details


def test_factors_of_many_walls_are_those_of_each():
    chance = np.random.default_rng(2)
    categories = chance.choice(["I", "II", "III", "IV"], (30, 12))
    hills, rain = chance.choice([1.0, 1.1, 1.4], (30, 12)), chance.gamma(1.0, 1, (30, 12))
    facing, heights = chance.uniform(0, 360, 30), chance.uniform(2, 30, 30)
    distance = np.where(chance.random(30) < 0.4, np.nan, chance.uniform(2, 150, 30))
    shape = chance.choice([0.3, 0.5], 30)
    many = factor_products(orientations=facing, heights=heights, obstacle_distances=distance, wall_factors=shape, categories=categories, hills=hills, annual_by_sector=rain)  # fmt: skip
    for i in range(30):
        site = Site(
            name="P", latitude=50, longitude=0, terrain=tuple(categories[i]), topography=tuple(hills[i])
        )
        product = [terrain_roughness_coefficient(category=c, height=heights[i]) * h for c, h in zip(categories[i], hills[i], strict=True)]  # fmt: skip
        np.testing.assert_allclose(ground_by_sector(site, heights[i]), product)
        k = slow_sector(facing[i], rain[i], product)
        wall = Wall(name="w", orientation=facing[i], length=9, height=heights[i], wall_factor=shape[i], obstacle_distance=None if np.isnan(distance[i]) else distance[i])  # fmt: skip
        values = [one.value for one in site_factors(site, wall, k)]
        found = [many.terrain_roughness_coefficient[i], many.topography_coefficient[i], many.obstruction_factor[i], many.wall_factor[i]]  # fmt: skip
        assert many.sector[i] == k
        assert found == pytest.approx(values)
        assert many.in_the_open[i] == pytest.approx(values[0] * values[1] * values[3])


def test_the_table_of_wall_factors_names_what_it_holds():
    assert wall_factor(shape="two-storey eaves wall", position="bottom") == 0.3
    with pytest.raises(LookupError) as missing:
        wall_factor(shape="igloo")
    assert str(missing.value) == (
        "no wall factor for 'igloo', 'top'; the table lists two-storey gable (top), two-storey gable (middle), "
        "two-storey gable (bottom), three-storey gable (top), three-storey gable (middle), three-storey gable (bottom), "
        "multi-storey, flat roof (top), multi-storey, flat roof (below), two-storey eaves wall (all), "
        "three-storey eaves wall (all), two-storey, flat roof (all)."
    )


def test_shelter_of_a_wall_without_corners_and_over_a_gap_in_the_ground():
    corners = {"start": (-6.0, -4.0), "end": (6.0, -4.0)}
    for gone in ("start", "end"):
        with pytest.raises(RefusalError) as refused:
            sheltered_walls([Wall(name="south", orientation=180, length=12, height=6, **{**corners, gone: None})], neighbours((0, 9, 9, 19), heights=6))  # fmt: skip
        assert str(refused.value) == (
            "the south elevation has no corners; expected corners in metres. Give the building's footprint."
        )
    wall = Wall(name="south", orientation=180, length=12, height=6, **corners)
    around = neighbours((-100, -40, 100, -24), heights=6)
    # where the ground under a neighbour is not told it counts as level; 0.1 m lower ground hides its top, 0.04 m does not
    for low, seen in ((np.nan, True), (-0.1, False), (-0.04, True), (0.3, True)):
        ground = raster(lambda x, y, low=low: np.where(y < -15, 7.0 + low, 7.0), pixel=10.0, reach=400.0)
        (found,) = sheltered_walls([wall], around, plane=PLANE, ground=ground)
        assert (found.obstacle_distance is not None) == seen
        assert found.view is not None
    (bare,) = sheltered_walls([wall], neighbours(heights=[]), plane=PLANE, ground=ground)
    assert bare.obstacle_distance is None
