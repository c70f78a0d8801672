"""Building and site end to end: surveys, what-ifs, pictures, the command, and how long it all takes."""

import json
import time
import xml.etree.ElementTree as ET
from pathlib import Path

import numpy as np
import pytest
import rasterio
import shapely
from builders import surveyed_place
from rasterio.transform import from_origin
from site_world import PLANE, cover, neighbours, raster, weather
from test_site_footprint import geojson, in_degrees

from exposure.assess import assess_building
from exposure.assess.from_files import assess_file, resurvey, survey_building
from exposure.assess.what_if import changes, eaves_changed, estate_half_built, storey_added, what_ifs
from exposure.checks import RefusalError
from exposure.cli import main
from exposure.doubts import has_doubt
from exposure.draw.site_pictures import site_pictures
from exposure.site.plane import DEGREES
from exposure.site.survey import by_sector, town_sectors
from exposure.tables import load_table
from exposure.wall.building_words import building_from_words

EXAMPLE = Path(__file__).parents[1] / "exposure" / "invented" / "example"
WORDS = {
    "name": "House",
    "height": 6.0,
    "storeys": 2,
    "roof": "gable",
    "ridge_height": 8.0,
    "eaves": 350,
    "place": {"name": "Field", "latitude": 50.0, "longitude": 8.0},
    "footprint": {"length": 12.0, "width": 8.0, "bearing": 90.0},
}
GRASS, TREES, WATER = 30, 10, 80


def surveyed(**more):
    """House on a cliff above the sea to the west, a wood to the east, a long barn to the south."""
    return resurvey(
        building_from_words(WORDS),
        ground=raster(lambda x, y: np.where(x > -60, 60.0, 0.0), pixel=10.0),
        cover=cover(lambda x, y: np.where(x < -60, WATER, np.where(x > 150, TREES, GRASS))),
        neighbours=neighbours((-100, -40, 100, -24), heights=6.5),
        **more,
    )


def test_survey_finds_sea_wood_cliff_and_barn():
    found = surveyed()
    site = found.site
    assert site.categories[9] == "I"
    assert site.categories[3] == "III"  # the grass before the wood is (150 / 1000)^2, 2 % of the sector
    assert site.sea_distance == pytest.approx(60, abs=50)
    assert site.ground_height == pytest.approx(60.0)
    assert max(site.hill_coefficients) == site.hill_coefficients[9]
    assert site.hill_coefficients[9] > 1.3
    assert site.hill_coefficients[3] < 1.05
    south = next(wall for wall in found.building.walls if wall.name == "south")
    assert south.obstacle_distance == pytest.approx(20.0, abs=0.2)
    assert [wall.obstacle_distance for wall in found.building.walls if wall.name == "north"] == [None]


def test_the_users_own_sectors_win():
    site = surveyed_place(
        name="P",
        plane=PLANE,
        height=6,
        cover=cover(lambda x, y: np.full(x.shape, GRASS)),
        terrain={"270": "I"},
        topography={"270": 1.3},
        sea_distance=900.0,
    )
    assert site.categories == ("II",) * 9 + ("I",) + ("II",) * 2
    assert site.hill_coefficients[9] == 1.3
    assert site.grounds[9].reason == "set by the user"
    assert site.sea_distance == 900.0
    assert by_sector("III", "terrain") == dict.fromkeys(range(12), "III")
    with pytest.raises(RefusalError, match="sectors 0, 30"):
        by_sector({"north": "I"}, "terrain")


def test_a_cover_raster_that_ends_early_is_doubted():
    near = cover(lambda x, y: np.full(x.shape, GRASS), reach=1300.0)
    flags = surveyed_place(name="P", plane=PLANE, height=6, cover=near).flags
    assert any("ends 1.3 km from the site" in flag for flag in flags)
    whole = cover(lambda x, y: np.full(x.shape, GRASS))
    assert not any(
        "ends" in flag for flag in surveyed_place(name="P", plane=PLANE, height=6, cover=whole).flags
    )


def test_what_was_not_given_is_said():
    flags = resurvey(building_from_words(WORDS), ground=None, cover=None, neighbours=None).flags
    for key in ("site.ground_not_told", "site.hills_not_told", "site.neighbours_not_told"):
        assert has_doubt(flags, key)


@pytest.mark.parametrize(("share", "height", "town"), [(0.2, 20, True), (0.1, 20, False), (0.2, 12, False)])
def test_a_town_needs_heights_and_a_share_of_the_ground(share, height, town):
    # blocks on a 100 m raster whose size gives the share of ground built over
    side = 100 * np.sqrt(share)
    boxes = [
        (x - side / 2, y - side / 2, x + side / 2, y + side / 2)
        for x in np.arange(-950, 1000, 100.0)
        for y in np.arange(-950, 1000, 100.0)
    ]
    around = neighbours(*boxes, heights=height)
    assert all(town_sectors(around).values()) == town
    untold = type(around)(around.polygons, around.heights, np.full(around.polygons.size, "default"), "n")
    assert not any(town_sectors(untold).values())


def test_what_ifs_move_the_figures_the_right_way():
    climate, found = weather(10), surveyed()
    before = assess_building(climate, found.building, found.site)
    choices = what_ifs(found)
    assert set(choices) == {
        "the neighbours pulled down", "half the neighbours not built yet", "the trees felled",
        "eaves cut back to 100 mm", "one storey more",
    }  # fmt: skip
    south = {one.name: one for one in changes(climate, before, choices["the neighbours pulled down"])}[
        "south"
    ]
    assert south.after == pytest.approx(south.before / 0.4)  # O was 0.4 at 20 m
    eaves = {one.name: one for one in changes(climate, before, choices["eaves cut back to 100 mm"])}
    assert eaves["north"].after == pytest.approx(eaves["north"].before * 0.5 / 0.3)
    assert eaves["west"].after == pytest.approx(eaves["west"].before)  # a gable has no eaves
    taller = storey_added(found)
    assert (taller.building.name, taller.building.details) == (found.building.name, found.building.details)
    assert {wall.height for wall in taller.building.walls} == {
        9.0,
        11.0,
    }  # eaves walls, and gables to the ridge
    assert {wall.name: wall.shape for wall in taller.building.walls} == {
        **dict.fromkeys(("north", "south"), "three-storey eaves wall"),
        **dict.fromkeys(("east", "west"), "three-storey gable"),
    }
    assert (
        next(w for w in taller.building.walls if w.name == "south").obstacle_distance is None
    )  # barn too low now
    assert estate_half_built(found).neighbours.polygons.size == 1  # the one there is stays, by the draw
    assert estate_half_built(found, share=1.0).neighbours.polygons.size == 0
    wider = eaves_changed(found, overhang=900)
    assert all(one.after == pytest.approx(one.before) for one in changes(climate, before, wider))
    felled = changes(climate, before, choices["the trees felled"])
    assert all(one.after >= one.before - 1e-9 for one in felled)


@pytest.mark.parametrize(("lower", "seen"), [(0.0, 20), (10.0, None)])
def test_a_barn_on_lower_ground_counts_by_its_top(lower, seen):
    # 6.5 m tall and 20 m off a wall of 6 m: on ground 10 m lower its top stands below the house's foot
    found = resurvey(
        building_from_words(WORDS),
        ground=raster(lambda x, y: np.where(y < -22, 60.0 - lower, 60.0), pixel=10.0),
        cover=None,
        neighbours=neighbours((-100, -40, 100, -24), heights=6.5),
    )
    south = next(wall for wall in found.building.walls if wall.name == "south")
    assert south.obstacle_distance == (seen if seen is None else pytest.approx(seen, abs=0.1))


def test_without_maps_no_what_if_is_offered_that_needs_them():
    bare = resurvey(building_from_words(WORDS), ground=None, cover=None, neighbours=None)
    assert set(what_ifs(bare)) == {"eaves cut back to 100 mm", "one storey more"}
    assert estate_half_built(bare) is bare


def test_pictures_are_whole_and_say_what_they_show():
    found = surveyed()
    assessment = assess_building(weather(12), found.building, found.site)
    pictures = site_pictures(assessment, found)
    assert set(pictures) == {
        "elevation_bars",
        "doubts_worst",
        "view_worst",
        "ground_by_sector",
        "profile_worst",
    }
    for svg in pictures.values():
        root = ET.fromstring(svg)
        width, height = (float(root.get(side)) for side in ("width", "height"))
        for text in root.iter("{http://www.w3.org/2000/svg}text"):
            assert float(text.get("font-size")) >= 12
            assert 0 <= float(text.get("x")) <= width
            assert 0 <= float(text.get("y")) <= height
    bars = pictures["elevation_bars"]
    for one in assessment.elevations:
        assert bars.count(f">{one.wall.name}</text>") == 1
    assert "escarpment" in pictures["profile_worst"]


def test_eight_elevations_thirty_years_in_two_seconds():
    octagon = shapely.Point(0, 0).buffer(9, quad_segs=2)
    ring = np.asarray(in_degrees(octagon).exterior.coords)[:-1].tolist()
    file = building_from_words({**WORDS, "footprint": {"corners": ring}})
    chance = np.random.default_rng(3)
    boxes = [
        (x - 5, y - 4, x + 5, y + 4)
        for x, y in chance.uniform(-500, 500, (1000, 2))
        if max(abs(x), abs(y)) > 20
    ]
    around = neighbours(*boxes, heights=chance.uniform(4, 9, len(boxes)))
    ground = raster(lambda x, y: 40 * np.sin(x / 700) * np.cos(y / 500), pixel=25.0)
    land = cover(
        lambda x, y: np.where(x < -1200, WATER, np.where((x // 400 + y // 300) % 2 == 0, TREES, GRASS))
    )
    climate = weather(30)
    best = np.inf
    for _ in range(3):
        start = time.process_time()
        found = resurvey(file, ground=ground, cover=land, neighbours=around)
        assessment = assess_building(climate, found.building, found.site)
        best = min(best, time.process_time() - start)
    assert len(assessment.elevations) == 8
    assert len(set(found.site.categories)) > 1
    assert best < 2.0, f"{best:.2f} s"


def tiff(path, raster_of, *, dtype):
    """The made-up raster as a GeoTIFF in its own plane."""
    a, _, c, _, e, f = raster_of.transform
    with rasterio.open(
        path, "w", driver="GTiff", height=raster_of.values.shape[0], width=raster_of.values.shape[1], count=1,
        dtype=dtype, crs=PLANE.definition, transform=from_origin(c, f, a, -e),
    ) as out:  # fmt: skip
        out.write(raster_of.values.astype(dtype), 1)
    return path


@pytest.fixture(scope="module")
def files(tmp_path_factory):
    """House, ground, cover, neighbours and a station record as files."""
    folder = tmp_path_factory.mktemp("site")
    tiff(
        folder / "ground.tif", raster(lambda x, y: np.where(x > -60, 60.0, 0.0), pixel=20.0), dtype="float32"
    )
    tiff(folder / "cover.tif", cover(lambda x, y: np.where(x < -60, WATER, GRASS)), dtype="uint8")
    house = shapely.box(-6, -4, 6, 4)
    geojson(
        folder / "houses.geojson",
        in_degrees(house),
        in_degrees(shapely.box(-100, -40, 100, -24)),
        properties=[
            {"name": "House", "height": 6.0, "storeys": 2, "roof": "hip", "eaves": 350},
            {"name": "Barn", "height": 7.0, "storeys": 2},
        ],
    )
    frame = weather(3).to_dataframe().reset_index()
    lines = ["time,wind_speed [m/s],wind_from_direction [degree],rain [mm]"]
    lines += [
        f"{row.time:%Y-%m-%dT%H:%MZ},{row.wind_speed:.2f},{row.wind_from_direction:.0f},{row.rain:.1f}"
        for row in frame.itertuples()
    ]
    (folder / "weather.csv").write_text("\n".join(lines) + "\n")
    return folder


def test_files_end_to_end(files):
    climate = weather(3)
    assessment, found = assess_file(
        files / "houses.geojson", climate, name="House", ground=files / "ground.tif", cover=files / "cover.tif",
        neighbours=files / "houses.geojson",
    )  # fmt: skip
    assert found.neighbours.polygons.size == 1  # itself left out
    assert found.site.categories[9] == "I"
    assert {one.wall.name: one.factors[2].value for one in assessment.elevations}["south"] == 0.4
    reasons = [factor.reason for factor in assessment.worst.factors]
    assert all(reasons)
    again = survey_building(
        EXAMPLE / "houses.geojson", name="Gull Cottage", neighbours=EXAMPLE / "houses.geojson"
    )
    assert len(again.building.walls) == 4


def test_pictures_go_into_a_folder_made_before_the_work_and_hold_a_plan(files, tmp_path, capsys):
    building = ["building", str(files / "houses.geojson"), "--building", "House"]
    folder = tmp_path / "new" / "pictures"
    assert main([*building, "--climate", str(files / "weather.csv"), "--pictures", str(folder)]) == 0
    capsys.readouterr()
    for wall in ("north", "south", "east", "west"):
        assert wall in (folder / "plan.svg").read_text("utf-8")
    (tmp_path / "taken").write_text("")
    missing = ["--climate", str(tmp_path / "none.csv"), "--pictures", str(tmp_path / "taken")]
    assert main([*building, *missing]) == 2
    assert "taken" in capsys.readouterr().err  # told before the record, which is not there either, is read


def test_command_end_to_end(files, capsys):
    arguments = [
        "building", str(files / "houses.geojson"), "--building", "House", "--climate", str(files / "weather.csv"),
        "--ground", str(files / "ground.tif"), "--cover", str(files / "cover.tif"),
        "--neighbours", str(files / "houses.geojson"),
    ]  # fmt: skip
    assert (
        main([*arguments, "--what-if", "--pictures", str(files), "--geopackage", str(files / "out.gpkg")])
        == 0
    )
    text = capsys.readouterr().out
    assert "worst is the" in text
    assert "neighbours pulled down" in text
    assert "licensed practice decide" in text
    assert (files / "view_worst.svg").is_file()
    assert main([*arguments, "--json", "-", "--against", str(files / "weather.csv")]) == 0
    told = json.loads(capsys.readouterr().out)
    assert told["elevations"][0]["name"] == told["worst"]
    assert told["against"]["annual_ratio"] == pytest.approx([1.0] * len(told["against"]["annual_ratio"]))
    (files / "again.json").write_text(json.dumps(told))
    assert (
        main(["building", str(files / "again.json"), "--climate", str(files / "weather.csv"), "--json", "-"])
        == 0
    )
    again = json.loads(capsys.readouterr().out)
    first = {row["name"]: row["wall_spell_index"] for row in told["elevations"]}
    assert {row["name"]: row["wall_spell_index"] for row in again["elevations"]} == pytest.approx(first)


@pytest.mark.parametrize(
    ("change", "words"),
    [
        (["--ground", "none.tif"], "cannot be opened"),
        (["--building", "Castle"], "'House', 'Barn'"),
        (["--geopackage", "/nowhere/out.gpkg"], "cannot be written"),
        (["--pictures", "/dev/null/new"], "cannot be written"),
        (["--wet-hour", "-1"], "wet-hour"),
    ],
)
def test_command_refuses_with_a_cure(files, capsys, change, words):
    arguments = [
        "building",
        str(files / "houses.geojson"),
        "--building",
        "House",
        "--climate",
        str(files / "weather.csv"),
    ]
    assert main([*arguments, *change]) == 2
    assert words in capsys.readouterr().err


def test_class_limits_stand_in_the_table_only():
    assert [row["from"] for row in load_table("exposure_class")["row"]] == [0.0, 33.0, 56.5, 100.0]
    assert DEGREES == "EPSG:4326"


@pytest.mark.slow
@pytest.mark.timeout(600)
def test_invented_houses_end_to_end(tmp_path):
    from exposure.invented import climate_at, invented_place

    place = invented_place(progress=False)
    names = [one["properties"]["name"] for one in json.loads(place.houses.read_text())["features"]]
    assert len(names) > 50
    for name in (*names[:3], "Ness Light Cottage", "3 Quay Terrace", "15 Salt Row", "Fold Farm"):
        assessment, found = assess_file(
            place.houses, lambda site: climate_at(place, site.latitude, site.longitude), name=name,
            ground=place.height, cover=place.cover, neighbours=place.houses,
        )  # fmt: skip
        assert any("nvented" in flag for flag in assessment.flags)
        assert assessment.worst.wall_spell_index > 0
        assert all(1 <= value <= 1.6 for value in found.site.hill_coefficients)
        assert len(site_pictures(assessment, found)) == 5
    terrace, _ = assess_file(
        place.houses,
        lambda site: climate_at(place, site.latitude, site.longitude),
        name="3 Quay Terrace",
        neighbours=place.houses,
    )
    assert len(terrace.elevations) == 2  # wall to wall with two others


def told(flags):
    """Key, subject and numbers of each doubt."""
    return [(one.key, one.subject, one.numbers) for one in flags]


def test_what_nobody_told_of_a_site_is_taken_as_the_hardest_and_kept():
    bare = surveyed_place(name="P", plane=PLANE, height=6)
    assert (bare.name, bare.latitude, bare.longitude) == ("P", 50.0, 8.0)
    assert (bare.categories, bare.hill_coefficients) == (("I",) * 12, (1.0,) * 12)
    assert bare.untold == {"terrain": tuple(range(12)), "hills": tuple(range(12))}
    assert told(bare.flags) == [("site.ground_not_told", "", {}), ("site.hills_not_told", "", {})]
    assert (bare.ground_height, bare.sea_distance, bare.grounds, bare.hills) == (None, None, (), ())
    some = surveyed_place(name="P", plane=PLANE, height=6, terrain={"30": "III"}, topography={"60": 1.2})
    assert some.untold == {"terrain": (0, *range(2, 12)), "hills": (0, 1, *range(3, 12))}
    assert some.categories == ("I", "III") + ("I",) * 10
    assert some.hill_coefficients == (1.0, 1.0, 1.2) + (1.0,) * 9
    whole = surveyed_place(name="P", plane=PLANE, height=6, terrain="IV", topography=1.6)
    assert (whole.untold, whole.flags) == ({}, ())
    assert (whole.categories, whole.hill_coefficients) == (("IV",) * 12, (1.6,) * 12)
    with pytest.raises(RefusalError) as refused:
        surveyed_place(name="P", plane=PLANE, height=6, topography={"30": 1.7})
    assert str(refused.value) == (
        "topography coefficient is 1.7; expected a number from 1 to 1.6. Correct topography coefficient."
    )
    with pytest.raises(RefusalError) as refused:
        by_sector(dict.fromkeys("abcde", "I"), "terrain")
    assert str(refused.value) == (
        "terrain is given for a, b, c, d; expected sectors 0, 30, 60, 90, 120, 150, 180, 210, 240, 270, 300, 330. "
        "Name the sector the wind comes from, in degrees."
    )
    land = cover(lambda x, y: np.full(x.shape, GRASS), pixel=500.0)
    for more, what in (
        ({"cover": land, "terrain": {"west": "I"}}, "terrain"),
        ({"ground": land, "topography": {"west": 1.1}}, "topography"),
    ):
        with pytest.raises(RefusalError, match=f"^{what} is given for west; expected sectors 0, 30"):
            surveyed_place(name="P", plane=PLANE, height=6, **more)
    assert by_sector(None, "terrain") == {}
    assert by_sector({330: 1.5}, "topography") == {11: 1.5}


def test_doubts_of_the_land_cover_name_the_sectors_they_are_about():
    # nothing is told beyond 550 m east: straight east 31 % of the ground within 1 km are told, at 60 and 120 degrees
    # 0.3025 (cot 45 - cot 75) / (pi / 6) = 42 %; to the west the raster ends at 1.5 km
    land = cover(lambda x, y: np.where((x > 550) | (x < -1500), np.nan, GRASS))
    site = surveyed_place(name="P", plane=PLANE, height=6, cover=land)
    assert site.untold == {"hills": tuple(range(12))}
    (half,) = [one for one in told(site.flags) if one[0] == "site.cover_half_known"]
    assert half == ("site.cover_half_known", "", {"bearings": "60, 90, 120"})
    (ends,) = [one for one in told(site.flags) if one[0] == "site.cover_ends"]
    assert ends[2]["bearings"] == "30, 150, 240, 270, 300"
    assert ends[2]["away"] == pytest.approx(1.1, abs=0.05)  # 550 m over sin 30
    only = surveyed_place(
        name="P", plane=PLANE, height=6, cover=cover(lambda x, y: np.where(x < -1500, np.nan, GRASS))
    )
    assert [one[0] for one in told(only.flags)] == ["site.cover_ends", "site.hills_not_told"]
    wet = cover(lambda x, y: np.where(x < -600, WATER, GRASS), reach=1500.0)
    shore = surveyed_place(name="P", plane=PLANE, height=6, cover=wet)
    (ends,) = [one for one in told(shore.flags) if one[0] == "site.cover_ends"]
    assert "270" not in ends[2]["bearings"]  # open water is seen there already
    assert shore.sea_distance == pytest.approx(600, abs=50)
    assert surveyed_place(name="P", plane=PLANE, height=6, cover=wet, sea_distance=0.0).sea_distance == 0.0


def test_a_town_a_clearing_and_what_the_user_says_reach_the_sectors():
    side = 60.0
    boxes = [(x, y, x + side, y + side) for x in range(-950, 950, 100) for y in range(-950, 950, 100)]
    town = neighbours(*boxes, heights=20)
    built = cover(lambda x, y: np.where(x > 0, 50, TREES))
    site = surveyed_place(name="P", plane=PLANE, height=6, cover=built, towns=town_sectors(town), instead={TREES: GRASS}, terrain={"90": "I"})  # fmt: skip
    assert site.categories[1:6] == ("IV", "IV", "I", "IV", "IV")
    assert site.categories[8:11] == ("II",) * 3
    assert (site.grounds[3].category, site.grounds[3].reason) == ("I", "set by the user")
    assert site.grounds[3].shares == pytest.approx({"town": 1.0})
    assert [one.bearing for one in site.grounds] == [30.0 * k for k in range(12)]


def test_the_ground_of_a_survey_gives_height_hills_and_doubts():
    hole = raster(lambda x, y: np.where(np.hypot(x, y) < 40, np.nan, 5.0), pixel=20.0, source="ground.tif")
    gap = surveyed_place(name="P", plane=PLANE, height=6, ground=hole, terrain="II")
    assert gap.ground_height is None
    assert ("site.gap_at_building", "ground.tif", {}) in told(gap.flags)
    assert has_doubt(gap.flags, "site.bridged_heights")  # said before it, and kept
    high = raster(lambda x, y: 1234.5 + 0 * x, pixel=50.0)
    site = surveyed_place(name="P", plane=PLANE, height=6, ground=high, terrain="II", topography={"0": 1.1})
    assert site.ground_height == pytest.approx(1234.5)
    assert told(site.flags) == [("site.high_ground", "", {"height": "1,234"})]
    assert (site.untold, len(site.hills)) == ({}, 12)
    assert site.hill_coefficients == (1.1,) + (1.0,) * 11


def test_a_town_is_proven_by_area_and_mean_height_sector_by_sector():
    # the twelfth of a circle of 1 km is 261,799 m2: 15 % of it are 39,270 m2; square blocks in the sector of the east
    def east(area, height, x=500.0, y=0.0):
        half = np.sqrt(area) / 2
        return (x - half, y - half, x + half, y + half), height

    for blocks, proven in (
        ([east(39_300, 15.1)], True),
        ([east(39_200, 15.1)], False),
        ([east(39_300, 15.0)], False),
        ([east(20_000, 5.0), east(20_000, 25.2)], True),  # mean by area
        ([east(39_300, 20, x=990.0)], True),
        ([east(39_300, 20, x=1001.0)], False),
    ):
        found = town_sectors(
            neighbours(*(box for box, _ in blocks), heights=[height for _, height in blocks])
        )
        assert found == {k: proven and k == 3 for k in range(12)}
    for bearing, sector in ((14.9, 0), (15.1, 1), (345.1, 0), (344.9, 11)):
        a = np.deg2rad(bearing)
        found = town_sectors(
            neighbours(east(40_000, 20, x=800 * np.sin(a), y=800 * np.cos(a))[0], heights=20)
        )
        assert [k for k in range(12) if found[k]] == [sector]
