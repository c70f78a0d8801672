"""A building's file: what our TOML says, what is refused, and that results read back as input."""

import dataclasses
import json
from pathlib import Path

import numpy as np
import pytest
import shapely
from site_world import PLANE as TANGENT
from site_world import block, neighbours, weather
from test_site_footprint import geojson, in_degrees

from exposure.assess.from_files import assess_file, survey_building
from exposure.checks import RefusalError
from exposure.doubts import has_doubt
from exposure.export.building_files import assessment_json, write_building_geopackage
from exposure.site.plane import DEGREES
from exposure.wall.building import OUTSIDE_TABLE, Building, Wall, box_building
from exposure.wall.building_file import read_building, read_words, words_of
from exposure.wall.building_words import building_from_words
from exposure.wall.eaves import with_overhang
from exposure.wall.roof_words import roof_told

EXAMPLE = Path(__file__).parents[1] / "exposure" / "invented" / "example"
PLACE = {"name": "Field", "latitude": 50.0, "longitude": 8.0}
BOX = {"length": 12.0, "width": 8.0, "bearing": 45.0}


def words(**more):
    return {"name": "House", "height": 6.0, "storeys": 2, "place": PLACE, "footprint": BOX, **more}


def test_the_example_file_reads_as_its_comments_say():
    building, place, _ = read_building(EXAMPLE / "house.toml")
    assert {wall.name: round(wall.orientation) for wall in building.walls} == {
        "south-west": 232, "north-west": 322, "north-east": 52, "south-east": 142,
    }  # fmt: skip
    assert place.terrain == {str(30 * k): "I" if k == 8 else "II" for k in range(12)}
    assert place.topography == {"240": 1.1}
    assert building.details["wall_type"] == "timber frame with cladding"
    assert {wall.shape for wall in building.walls} == {"two-storey eaves wall", "two-storey gable"}


def test_the_example_houses_read_by_name():
    building, place, _ = read_building(EXAMPLE / "houses.geojson", name="Long Barn")
    assert building.name == "Long Barn"
    assert place.name == "Quern Bay"
    assert sorted(wall.length for wall in building.walls)[-1] == pytest.approx(30, abs=0.5)


def test_box_by_hand():
    building, _, _ = building_from_words(words(roof="gable", eaves=350))
    assert {(wall.name, wall.orientation, wall.length, wall.shape) for wall in building.walls} == {
        ("south-east", 135.0, 12.0, "two-storey eaves wall"),
        ("south-west", 225.0, 8.0, "two-storey gable"),
        ("north-west", 315.0, 12.0, "two-storey eaves wall"),
        ("north-east", 45.0, 8.0, "two-storey gable"),
    }


@pytest.mark.parametrize(
    ("change", "message"),
    [
        ({"heigth": 6}, "'heigth'"),
        ({"height": None, "storeys": None}, "no height"),
        ({"height": "tall"}, "height is 'tall'"),
        ({"height": 20}, "write '20 ft'"),
        ({"height": -3}, "height is -3"),
        ({"storeys": 0}, "storeys"),
        ({"place": {"name": "Field"}}, "no latitude"),
        ({"place": {**PLACE, "latitude": 95}}, "latitude"),
        ({"place": {**PLACE, "terrain": {"45": "I"}}}, "45"),
        ({"footprint": {}}, "no footprint"),
        ({"footprint": {"corners": [[8, 50], [8.0001, 50]]}}, "too few"),
        ({"footprint": {"corners": [[0, 0], [12, 0], [12, 8], [0, 8]]}}, "Where these are metres"),
        ({"roof": {"type": "gable"}}, "no table"),
        ({"roof": "gable", "gables": ["north-eest"]}, "north-eest"),
        ({"roof": "hip", "gables": ["north-east"]}, "gables under a hip roof"),
        ({"roof": "gable", "ridge_height": 5.0}, "ridge height"),
        ({"roof": "gable", "pitch": 90}, "pitch is 90"),
        ({"eaves": 100, "details": {"eaves": 400}}, "as 100 and as 400 mm"),
        ({"details": {"colour": "red"}}, "'colour'"),
        ({"details": {"wall_type": "straw"}}, "wall type is 'straw'"),
        ({"details": {"elevations": {"north": {"parapet": True}}}}, "'north'"),
        ({"footprint": {"corners": [["a", "b"], [1, 2], [3, 4]]}}, "no pairs of numbers"),
        ({"footprint": {"corners": [[9, 50], [9.0001, 50], [9.0001, 50.0001]]}}, "km from its latitude"),
        ({"wall": {"south": {"shape": "two-storey gable"}}}, "'south'"),
        ({"wall": {"south-west": {"colour": "red"}}}, "'colour'"),
        ({"wall": {"south-west": {"shape": "igloo"}}}, "igloo"),
        ({"wall": {"south-west": {"wall_factor": 1.4}}}, "wall factor"),
        ({"details": 7}, "details"),
        ({"storeys": 2.5}, "a whole number"),
        ({"wall": 7}, "wall. is 7; expected a table"),
        ({"wall": {"south-west": 7}}, "is 7; expected a table"),
        ({"elevation": 7}, "a list of elevations"),
        (
            {"elevation": [{"name": "a", "orientation": 0, "length": 4, "start": "ab", "end": [1]}]},
            "start of a is 'ab'",
        ),
        ({"place": {**PLACE, "sector": 5}}, "sector. is 5; expected a table"),
        ({"place": {**PLACE, "sector": {"0": 5}}}, "is 5; expected a table"),
        ({"place": {**PLACE, "sector": {"0": {"terain": "I"}}}}, "'terain'"),
        ({"place": {**PLACE, "topography": "high"}}, "topography coefficient is 'high'"),
        ({"place": {**PLACE, "terrain": ["I", "II"]}}, "twelve values"),
        ({"elevation": [{"name": "a", "length": 4}]}, "no orientation"),
    ],
)
def test_words_that_cannot_be_are_refused(change, message):
    table = {key: value for key, value in words(**change).items() if value is not None}
    with pytest.raises(RefusalError, match=message):
        survey_building(table)


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"storeys": 61}, "storeys is 61; expected a number from 1 to 60. Correct storeys."),
        ({"storeys": 2.5}, "storeys is 2.5; expected a whole number. Give the number of full storeys"),
        (
            {"height": "tall"},
            "height is 'tall'; expected metres, or a text such as '20 ft'. Correct the height.",
        ),
        (
            {"place": {**PLACE, "latitude": 90.5}},
            "latitude is 90.5; expected a number from -90 to 90 degrees. Correct latitude.",
        ),
        (
            {"place": {**PLACE, "longitude": 361}},
            "longitude is 361; expected a number from -180 to 360 degrees. Correct longitude.",
        ),
        (
            {"place": {**PLACE, "longitude": -181}},
            "longitude is -181; expected a number from -180 to 360 degrees. Correct longitude.",
        ),
        (
            {"place": {**PLACE, "sea_distance": -0.5}},
            "sea_distance is -0.5; expected a number from 0 to 1e+07 m. Correct sea_distance.",
        ),
        (
            {"place": {**PLACE, "sea_distance": 1.1e7}},
            "sea_distance is 11000000.0; expected a number from 0 to 1e+07 m. Correct sea_distance.",
        ),
        (
            {"footprint": {**BOX, "bearing": 361}},
            "bearing is 361; expected a number from -360 to 360 degrees. Correct bearing.",
        ),
        (
            {"footprint": {**BOX, "length": 501}},
            "length is 501; expected a number from 1 to 500 m. Correct length.",
        ),
        (
            {"footprint": {**BOX, "width": 0.9}},
            "width is 0.9; expected a number from 1 to 500 m. Correct width.",
        ),
        (
            {"roof": "gable", "pitch": 4.9},
            "pitch is 4.9; expected a number from 5 to 75 degrees. Correct pitch.",
        ),
        (
            {"roof": "gable", "pitch": 76},
            "pitch is 76; expected a number from 5 to 75 degrees. Correct pitch.",
        ),
        (
            {"roof": "hip", "eaves": 5001},
            "eaves is 5001; expected a number from 0 to 5000 mm. Correct eaves.",
        ),
        (
            {"wall": {"south-west": {"wall_factor": 1.1}}},
            "wall factor of south-west is 1.1; expected a number from 0 to 1. Correct wall factor of south-west.",
        ),
        (
            {"wall": {"south-west": {"obstacle_distance": 1.1e5}}},
            "obstacle_distance of south-west is 110000.0; expected a number from 0 to 100000 m.",
        ),
        (
            {"elevation": [{"name": "a", "orientation": 721, "length": 4}]},
            "orientation of a is 721; expected a number from -360 to 720 degrees.",
        ),
        (
            {"elevation": [{"name": "a", "orientation": 0, "length": 2001}]},
            "length of a is 2001; expected a number from 0.1 to 2000 m.",
        ),
        (
            {"elevation": [{"name": "a", "orientation": 0, "length": 4, "start": [0, 0], "end": [2e5, 0]}]},
            "end of a is 200000.0; expected a number from -100000 to 100000 m.",
        ),
        (
            {"footprint": {"corners": [[0, 0], [12, 0], [12, 8], [0, 8]]}},
            "the corners span 12 by 8 degrees; expected corners as [longitude, latitude] in degrees. Where these",
        ),
        (
            {"details": {"elevations": 7}, "wall": {"south-west": {"overhang": 400}}},
            "[details.elevations] is 7; expected a table.",
        ),
        (
            {"elevation": [{"name": "a", "length": 4}]},
            "an elevation has no orientation; expected name, orientation and length. Write its orientation.",
        ),
        (
            {"footprint": {**BOX, "colour": "red"}},
            "[footprint] holds 'colour'; expected only bearing, corners, courtyards, length, width.",
        ),
    ],
)
def test_a_number_outside_its_limits_is_refused_with_both_of_them(change, sentence):
    # the limits are ours, wide enough for any house; a reader must see what came, what may come, what to do
    with pytest.raises(RefusalError) as refused:
        building_from_words(words(**change))
    assert str(refused.value).startswith(sentence)


@pytest.mark.parametrize(
    "change",
    [
        {"storeys": 1, "height": 3},
        {"place": {**PLACE, "longitude": -180}},
        {"place": {**PLACE, "longitude": 360}},
        {"place": {**PLACE, "sea_distance": 0}},
        {"footprint": {**BOX, "bearing": -360}},
        {"footprint": {**BOX, "length": 500, "width": 1}},
        {"roof": "gable", "pitch": 5},
        {"roof": "gable", "pitch": 75},
        {"roof": "hip", "eaves": 0},
        {"wall": {"south-west": {"wall_factor": 1}}},
        {"wall": {"south-west": {"obstacle_distance": 0}}},
    ],
)
def test_a_number_on_its_limit_is_taken(change):
    assert building_from_words(words(**change)).building.walls


def test_broken_files_are_refused(tmp_path):
    for name, content in (("a.toml", "name = "), ("a.json", "{"), ("b.toml", "\xff")):
        (tmp_path / name).write_bytes(content.encode("latin-1"))
        with pytest.raises(RefusalError):
            read_building(tmp_path / name)
    with pytest.raises(RefusalError, match="not there"):
        read_building(tmp_path / "none.toml")
    with pytest.raises(RefusalError, match="is a folder"):
        read_building(tmp_path)
    ring = "[[8, NaN], [8.001, 50], [8.001, 50.001], [8, 50]]"  # a corner that is no number opens the ring
    (tmp_path / "c.geojson").write_text(
        '{"type": "FeatureCollection", "features": [{"type": "Feature", "properties": {"height": 6}, '
        f'"geometry": {{"type": "Polygon", "coordinates": [{ring}]}}}}]}}'
    )
    with pytest.raises(RefusalError, match="cannot be read as footprints"):
        read_building(tmp_path / "c.geojson")


def test_another_building_than_the_one_asked_for_is_refused(tmp_path):
    assert read_building(EXAMPLE / "house.toml", name="Wrack House").building.name == "Wrack House"
    with pytest.raises(RefusalError, match="describes 'Wrack House'; expected the building 'Fold Farm'"):
        read_building(EXAMPLE / "house.toml", name="Fold Farm")
    (tmp_path / "house.json").write_text(json.dumps(words()))
    assert read_building(tmp_path / "house.json", name="House").building.name == "House"
    with pytest.raises(RefusalError, match="describes 'House'; expected the building 'Fold Farm'"):
        read_building(tmp_path / "house.json", name="Fold Farm")


def test_a_wall_told_twice_or_chosen_has_nothing_untold():
    shape = {"shape": "two-storey eaves wall"}
    told = building_from_words(words(roof="gable", pitch=40, wall={"south-east": shape, "north-west": shape}))
    assert not any(wall.untold for wall in told.building.walls)


def test_height_in_feet_and_from_storeys():
    feet = building_from_words(words(height="20 ft", roof="hip", eaves=350)).building
    assert feet.walls[0].height == pytest.approx(6.096)
    without = words(roof="hip", eaves=350)
    del without["height"]
    file = building_from_words(without)
    assert file.building.walls[0].height == 6.0
    assert any("3 m a storey" in note for note in file.place.notes)


def test_a_pitched_roof_on_four_storeys_is_outside_the_table():
    # the table's pitched roofs end at three storeys; outside it the hardest value stands, and it is told
    building = building_from_words(words(storeys=4, height=12.0, roof="gable", eaves=350, pitch=30)).building
    for wall in building.walls:
        assert (wall.shape, wall.wall_factor) == (OUTSIDE_TABLE, 0.5)
        assert wall.factor_reason == "a pitched roof on 4 storeys is outside the table"
        assert has_doubt(wall.flags, "wall.outside_table")
    low = building_from_words(words(storeys=3, height=9.0, roof="gable", eaves=350, pitch=30)).building
    assert {wall.shape for wall in low.walls} == {"three-storey eaves wall", "three-storey gable"}
    assert not any(has_doubt(wall.flags, "wall.outside_table") for wall in low.walls)


def test_a_told_height_of_a_gable_settles_its_ridge():
    def untold(**more):
        walls = building_from_words(words(roof="gable", eaves=350, **more)).building.walls
        return {wall.name: {one.what for one in wall.untold} for wall in walls}

    asked = untold()
    assert "ridge height" in asked["south-west"]
    assert "ridge height" in asked["north-east"]
    told = untold(wall={"south-west": {"height": 9}})
    assert told == {**asked, "south-west": asked["south-west"] - {"ridge height"}}


def test_overhang_outside_the_table():
    wall = Wall(name="south", orientation=180, length=9, height=6, shape="two-storey eaves wall")
    assert with_overhang(wall, 100).shape == OUTSIDE_TABLE
    assert with_overhang(wall, 100).wall_factor == 0.5
    assert with_overhang(wall, 900).shape == wall.shape  # wider eaves buy nothing
    assert any("no more is credited" in flag for flag in with_overhang(wall, 900).flags)
    gable = Wall(name="south", orientation=180, length=9, height=6, shape="two-storey gable")
    assert with_overhang(gable, 100) == gable


def same_elevations(one, other):
    assert len(one.elevations) == len(other.elevations)
    others = {x.wall.name: x for x in other.elevations}
    for a in one.elevations:
        b = others[a.wall.name]
        assert (a.wall.orientation, a.wall.length, a.wall.height, a.wall.shape) == (
            b.wall.orientation, b.wall.length, b.wall.height, b.wall.shape,
        )  # fmt: skip
        assert [f.value for f in a.factors] == pytest.approx([f.value for f in b.factors])
        assert a.wall_spell_index == pytest.approx(b.wall_spell_index)


def test_what_is_written_reads_back_the_same(tmp_path):
    around = geojson(
        tmp_path / "n.geojson", in_degrees(block(-40, -30, 40, -22)), properties=[{"height": 9.0}]
    )
    climate = weather(3)
    first, surveyed = assess_file(
        words(roof="gable", details={"wall_type": "masonry veneer"}), climate, neighbours=around
    )
    assert any(one.factors[2].value < 1 for one in first.elevations)
    (tmp_path / "result.json").write_text(assessment_json(first, surveyed))
    write_building_geopackage(tmp_path / "result.gpkg", first, surveyed)
    for name in ("result.json", "result.gpkg"):
        again, _ = assess_file(tmp_path / name, climate)
        same_elevations(first, again)
        assert again.building.details["wall_type"] == "masonry veneer"
    assert [path.name for path in tmp_path.iterdir() if path.name.startswith(".")] == []


def test_a_terrace_house_reads_back_with_its_outline_and_neighbours(tmp_path):
    row = [block(-18, -4, -6, 4), block(-6, -4, 6, 4), block(6, -4, 18, 4)]
    rows = [{"name": f"{n}", "height": 6.0, "storeys": 2} for n in (1, 2, 3)]
    path = geojson(tmp_path / "t.geojson", *map(in_degrees, row), properties=rows)
    first, surveyed = assess_file(path, weather(2), name="2", neighbours=path)
    assert len(first.elevations) == 2
    (tmp_path / "t.json").write_text(assessment_json(first, surveyed))
    again, resurveyed = assess_file(tmp_path / "t.json", weather(2), neighbours=path)
    same_elevations(first, again)
    assert resurveyed.place.footprint.area == pytest.approx(surveyed.place.footprint.area, rel=1e-6)


def test_neighbours_need_an_outline(tmp_path):
    path = geojson(tmp_path / "n.geojson", in_degrees(block(-40, -30, 40, -22)), properties=[{"height": 9.0}])
    lone = {**words(), "elevation": [{"name": "south", "orientation": 180, "length": 9}]}
    del lone["footprint"]
    assert assess_file(lone, weather(2))[0].worst.wall.name == "south"
    with pytest.raises(RefusalError, match="no outline"):
        assess_file(lone, weather(2), neighbours=path)


def test_json_holds_what_a_reader_needs():
    assessment, surveyed = assess_file(words(), weather(12))
    told = json.loads(assessment_json(assessment, surveyed))
    for row in told["elevations"]:
        product = 1.0
        for name in (
            "terrain_roughness_coefficient",
            "topography_coefficient",
            "obstruction_factor",
            "wall_factor",
        ):
            product *= row[name]
        assert row["wall_annual_index"] == pytest.approx(row["airfield_annual_index"] * product)
        assert {"name", "orientation", "length", "height", "class", "annual_band", "spell_band"} <= set(row)
        assert all(factor["source"] and factor["reason"] for factor in row["factors"])
    spells = [row["wall_spell_index"] for row in told["elevations"]]
    assert spells == sorted(spells, reverse=True)


def test_hostile_names_stay_data(tmp_path):
    from exposure.draw.site_pictures import site_pictures

    evil = '</text><script>alert(1)</script>"\x00\u202e'
    assessment, surveyed = assess_file(words(name=evil), weather(2))
    for svg in site_pictures(assessment, surveyed).values():
        assert "<script" not in svg
    write_building_geopackage(tmp_path / "x.gpkg", assessment, surveyed)
    assert read_building(tmp_path / "x.gpkg").building.name == evil


@pytest.mark.parametrize(
    "terrain",
    ["III", ["III"] * 12, {str(30 * k): "III" for k in range(12)}],
    ids=["one", "list", "by sector"],
)
def test_single_sectors_lie_over_the_value_for_all(terrain):
    place = {**PLACE, "terrain": terrain, "sector": {"240": {"terrain": "I", "topography": 1.2}}}
    site = survey_building(words(place=place)).site
    assert site.categories == ("III",) * 8 + ("I",) + ("III",) * 3
    assert site.hill_coefficients == (1.0,) * 8 + (1.2,) + (1.0,) * 3


def test_details_and_roof_in_geojson_are_passed_on(tmp_path):
    rows = [
        {
            "name": "House",
            "height": 5.6,
            "storeys": 2,
            "roof": "hip",
            "eaves": 350,
            "details": {"wall_type": "cavity masonry"},
        }
    ]
    path = geojson(tmp_path / "h.geojson", in_degrees(block(-6, -4, 6, 4)), properties=rows)
    building = read_building(path).building
    assert building.details == {"wall_type": "cavity masonry", "eaves": 350}  # said once, known to both
    assert {wall.shape for wall in building.walls} == {"two-storey eaves wall"}


@pytest.mark.parametrize(
    ("name", "content"),
    [
        ("deep.json", "[" * 100_000),
        ("digits.json", '{"name": "x", "height": ' + "9" * 5000 + "}"),
        ("deep.toml", "a=" + "[" * 100_000),
        ("digits.toml", "height = " + "9" * 5000),
    ],
)
def test_files_without_end_are_refused(tmp_path, name, content):
    (tmp_path / name).write_text(content)
    with pytest.raises(RefusalError, match=r"is not sound (JSON|TOML)"):
        read_building(tmp_path / name)


def test_yes_is_no_number(tmp_path):
    (tmp_path / "house.toml").write_text(
        'name = "House"\nstoreys = true\nheight = 6\n[place]\nlatitude = 52\nlongitude = 4\n[[elevation]]\norientation = 180\nlength = 9\n'
    )
    with pytest.raises(RefusalError, match="storeys is True; expected a number"):
        read_building(tmp_path / "house.toml")


@pytest.mark.parametrize(
    ("size", "doubted"),
    [((92.0, 73.0), True), ((12.0, 8.0), False), ((30.0, 12.0), False), ((3.0, 2.0), True)],
)
def test_an_outline_of_unlikely_size_is_doubted(size, doubted):
    outline = {"length": size[0], "width": size[1], "bearing": 45.0}
    notes = building_from_words(words(footprint=outline)).place.notes
    found = [note for note in notes if getattr(note, "key", "") == "wall.unlikely_size"]
    assert bool(found) == doubted
    if found:
        assert (found[0].numbers["length"], found[0].numbers["width"]) == (f"{size[0]:.0f}", f"{size[1]:.0f}")


def test_storeys_that_nobody_told_are_the_most_the_height_holds():
    # 7.4 m are two storeys of 3.7 m (0.3 under eaves) or three of 2.47 m (0.4): the harder row is taken
    table = {
        key: value for key, value in words(roof="hip", eaves=350, height=7.4).items() if key != "storeys"
    }
    file = building_from_words(table)
    assert file.building.storeys == 3
    assert {wall.shape for wall in file.building.walls} == {"three-storey eaves wall"}
    (told,) = [note for note in file.place.notes if getattr(note, "key", "") == "wall.storeys_taken"]
    assert "as many are taken as 7.4 m hold at 2.4 m each, 3;" in told


def test_details_of_a_footprint_that_are_no_table_are_refused(tmp_path):
    rows = [{"name": "House", "height": 5.6, "storeys": 2, "details": "brick"}]
    path = geojson(tmp_path / "h.geojson", in_degrees(block(-6, -4, 6, 4)), properties=rows)
    with pytest.raises(RefusalError, match="'brick'; expected a table"):
        read_building(path)


def said(call, *given, **more):
    """What a refusal says in full."""
    with pytest.raises(RefusalError) as refused:
        call(*given, **more)
    return str(refused.value)


BARE = {"name": "a", "orientation": 90, "length": 4}
CORNERS = [[8.0, 50.0], [8.0002, 50.0], [8.0002, 50.0001], [8.0, 50.0001]]
TABLE = "; expected a table. Correct the file."
TWELVE = "twelve values, from north round by east. Write twelve, or one for all."
ELEVATION = "eaves_height, end, factor_reason, height, length, name, not_told, obstacle_distance, orientation, shape, start, wall_factor"  # fmt: skip
SIDES = "north-west, south-west, south-east, north-east"


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"heigth": 6, "a": 1, "b": 1, "c": 1, "d": 1, "e": 1}, "the file holds 'a', 'b', 'c', 'd', 'e'; expected only details, doubts, eaves, elevation, footprint, gables, height, name, not_used, openings, pitch, place, ridge_height, roof, storeys, wall. Correct the spelling."),
        ({"place": 7}, f"[place] is 7{TABLE}"),
        ({"place": {"latitude": 50}}, "House has no longitude; expected its place. Write longitude under [place]."),
        ({"place": {**PLACE, "colour": 1}}, "[place] holds 'colour'; expected only latitude, longitude, name, sea_distance, sector, terrain, topography. Correct the spelling."),
        ({"height": None, "storeys": None, "name": None}, "Building has no height; expected height in metres, or storeys. Write one of them."),
        ({"storeys": 2.5}, "storeys is 2.5; expected a whole number. Give the number of full storeys, rounded up."),
        ({"footprint": {}}, "House has no footprint; expected corners, or length, width and bearing, under [footprint], or a list [[elevation]]. Write one of them."),
        ({"footprint": {"length": 5, "width": 5}}, "House has no footprint; expected corners, or length, width and bearing, under [footprint], or a list [[elevation]]. Write one of them."),
        ({"footprint": {**BOX, "length": 501}}, "length is 501; expected a number from 1 to 500 m. Correct length."),
        ({"footprint": {**BOX, "width": 0.9}}, "width is 0.9; expected a number from 1 to 500 m. Correct width."),
        ({"footprint": {"length": 1, "width": 3.9, "bearing": 0}}, "the footprint covers 3.9 m2; expected a building of 4 to 200,000 m2. Check its coordinates: are they degrees given as metres, or the reverse?"),
        ({"footprint": {"corners": [["a", "b"], [1, 2], [3, 4]]}}, "corners are no pairs of numbers; expected [longitude, latitude] pairs. Correct them."),
        ({"footprint": {"corners": CORNERS, "courtyards": [["x"]]}}, "corners are no pairs of numbers; expected [longitude, latitude] pairs. Correct them."),
        ({"footprint": {"corners": CORNERS[:2]}}, "corners are too few or no pairs; expected three or more [longitude, latitude]. Correct them."),
        ({"footprint": {"corners": CORNERS, "courtyards": [CORNERS[:2]]}}, "corners are too few or no pairs; expected three or more [longitude, latitude]. Correct them."),
        ({"footprint": {"corners": [[1], [2], [3]]}}, "corners are too few or no pairs; expected three or more [longitude, latitude]. Correct them."),
        ({"footprint": {"corners": [8, 50, 9]}}, "corners are too few or no pairs; expected three or more [longitude, latitude]. Correct them."),
        ({"footprint": {"corners": [[0, 0], [12, 0], [12, 8], [0, 8]]}}, "the corners span 12 by 8 degrees; expected corners as [longitude, latitude] in degrees. Where these are metres, turn them to degrees, or give length, width and bearing in metres instead."),
        ({"footprint": {"corners": [[0, 50], [0, 50.2], [0.01, 50]]}}, "the corners span 0.01 by 0.2 degrees; expected corners as [longitude, latitude] in degrees. Where these are metres, turn them to degrees, or give length, width and bearing in metres instead."),
        ({"footprint": {"corners": [[348, 0], [360, 0], [360, 8]]}}, "the corners span 12 by 8 degrees; expected corners as [longitude, latitude] in degrees. Where these are metres, turn them to degrees, or give length, width and bearing in metres instead."),
        ({"footprint": {"corners": [[361, 0], [373, 0], [373, 8], [361, 8]]}}, "the footprint says degrees, but a corner lies at 361, 0; expected longitudes from -180 to 180 and latitudes from -90 to 90. These look like metres: name their grid as the file's CRS."),
        ({"footprint": {"corners": [[8, 50.0181], [8.0002, 50.0181], [8.0002, 50.0182]]}}, "the footprint lies 2.0 km from its latitude and longitude; expected one place. Correct one of them."),
        ({"elevation": 7}, "elevation is 7; expected a list of elevations. Write each under [[elevation]]."),
        ({"elevation": [BARE], "roof": "gable", "pitch": 30, "wall": {"a": {"ridge_height": 9}}}, "a, pitch, roof beside a list of elevations; expected height and shape under each [[elevation]]. Say it there: a gable's height is that of its ridge."),
        ({"elevation": [{**BARE, "colour": 1}]}, f"an elevation holds 'colour'; expected only {ELEVATION}. Correct the spelling."),
        ({"elevation": [{"name": "a", "orientation": 4}]}, "an elevation has no length; expected name, orientation and length. Write its length."),
        ({"elevation": [{**BARE, "start": "ab"}]}, "start of a is 'ab'; expected two numbers, metres east and north of the place. Correct them."),
        ({"elevation": [{**BARE, "end": [1, 2, 3]}]}, "end of a is [1, 2, 3]; expected two numbers, metres east and north of the place. Correct them."),
        ({"elevation": [{**BARE, "end": [100_001, 2]}]}, "end of a is 100001.0; expected a number from -100000 to 100000 m. Correct end of a."),
        ({"elevation": [{**BARE, "start": [1, -100_001]}]}, "start of a is -100001.0; expected a number from -100000 to 100000 m. Correct start of a."),
        ({"elevation": [{**BARE, "factor_reason": 7}]}, "factor_reason of a is 7; expected one line of words. Correct it, or leave it out."),
        ({"elevation": [{**BARE, "factor_reason": "z" * 201}]}, f"factor_reason of a is '{'z' * 39}; expected one line of words. Correct it, or leave it out."),
        ({"elevation": [{**BARE, "factor_reason": "a\nb"}]}, "factor_reason of a is 'a\\nb'; expected one line of words. Correct it, or leave it out."),
        ({"elevation": [{**BARE, "not_told": "roof"}]}, "not_told of a is 'roof'; expected a list of words. Correct it."),
        ({"elevation": [{**BARE, "not_told": [7]}]}, "not_told of a is [7]; expected a list of words. Correct it."),
        ({"wall": {"south": {}, "attic": {}}}, f"walls 'attic', 'south' are described; expected elevations {SIDES}. Use these names under [wall]."),
        ({"wall": {"south-west": {"colour": 1}}}, "[wall.'south-west'] holds 'colour'; expected only height, obstacle_distance, overhang, ridge_height, shape, wall_factor. Correct the spelling."),
        ({"wall": {"south-west": {"obstacle_distance": -1}}}, "obstacle_distance of south-west is -1; expected a number from 0 to 100000 m. Correct obstacle_distance of south-west."),
        ({"wall": {"south-west": {"obstacle_distance": 100_001}}}, "obstacle_distance of south-west is 100001; expected a number from 0 to 100000 m. Correct obstacle_distance of south-west."),
        ({"wall": {"south-west": {"height": "tall"}}}, "height of south-west is 'tall'; expected metres, or a text such as '20 ft'. Correct it."),
        ({"wall": {"south-west": {"overhang": 5001}}}, "overhang of south-west is 5001; expected a number from 0 to 5000 mm. Correct overhang of south-west."),
        ({"wall": {"south-west": {"overhang": 300}}, "details": {"elevations": {"south-west": {"eaves": 301}}}}, "eaves of south-west are told as 300 and as 301 mm; expected one width. Leave one out."),
        ({"wall": {"south-west": {"ridge_height": "x"}}}, "ridge_height of south-west is 'x'; expected metres, or a text such as '28 ft'. Correct it."),
        ({"details": {"elevations": {"south-west": {"eaves": -1}}}}, "eaves of south-west is -1; expected a number from 0 to 5000 mm. Correct eaves of south-west."),
        ({"details": {"eaves": 5001}}, "eaves of the details is 5001; expected a number from 0 to 5000 mm. Correct eaves of the details."),
        ({"eaves": 5001}, "eaves is 5001; expected a number from 0 to 5000 mm. Correct eaves."),
        ({"eaves": 300, "details": {"eaves": 301}}, "eaves are told as 300 and as 301 mm; expected one width. Leave one out."),
        ({"details": 7}, "details is no table; expected a table. Write [details] and its entries."),
        ({"pitch": 4.9}, "pitch is 4.9; expected a number from 5 to 75 degrees. Correct pitch."),
        ({"pitch": 75.1}, "pitch is 75.1; expected a number from 5 to 75 degrees. Correct pitch."),
        ({"ridge_height": "high"}, "ridge_height is 'high'; expected metres, or a text such as '28 ft'. Correct it."),
        ({"ridge_height": 0.9}, "ridge_height is 0.9; expected a number from 1 to 220 m. Correct ridge_height."),
        ({"ridge_height": 221}, "ridge_height is 221.0; expected a number from 1 to 220 m. Correct ridge_height."),
        ({"roof": "gable", "ridge_height": 5.9}, "ridge height of north-west is 5.9; expected a number from 6 to 220 m. Correct ridge height of north-west."),
        ({"roof": 7}, 'roof is 7; expected one word, e.g. roof = "gable". Write gable, hip or flat; no table.'),
        ({"roof": "onion"}, "roof 'onion'; expected one of gable, hip, flat. Correct the roof."),
        ({"roof": "flat", "gables": ["south-west"]}, "gables under a flat roof; expected roof = 'gable' with gables. Correct roof or gables."),
        ({"gables": 7}, 'gables is 7; expected a list of elevations, e.g. gables = ["north-east"]. Correct it.'),
        ({"gables": [7]}, 'gables is [7]; expected a list of elevations, e.g. gables = ["north-east"]. Correct it.'),
        ({"roof": "gable", "gables": list("abcdef")}, f"gables on 'a', 'b', 'c', 'd', 'e'; expected elevations {SIDES}. Name the elevations that are gables so."),
        ({"wall": {"attic": {"ridge_height": 9}}}, f"gables on 'attic'; expected elevations {SIDES}. Name the elevations that are gables so."),
        ({"place": {**PLACE, "terrain": ["I"] * 13}}, f"terrain is a list of 13; expected {TWELVE}"),
        ({"place": {**PLACE, "sector": 5}}, f"[place.sector] is 5{TABLE}"),
        ({"place": {**PLACE, "sector": {"0": {"terain": 1}}}}, "[place.sector.0] holds 'terain'; expected only terrain, topography. Correct the spelling."),
    ],
)  # fmt: skip
def test_why_words_are_refused_is_said_in_full(change, sentence):
    table = {key: value for key, value in words(**change).items() if value is not None}
    assert said(building_from_words, table) == sentence


@pytest.mark.parametrize(
    ("change", "sentence"),
    [
        ({"orientation": 721}, "orientation of w is 721; expected a number from -360 to 720 degrees. Correct orientation of w."),
        ({"orientation": -361}, "orientation of w is -361; expected a number from -360 to 720 degrees. Correct orientation of w."),
        ({"length": 0.09}, "length of w is 0.09; expected a number from 0.1 to 2000 m. Correct length of w."),
        ({"length": 2001}, "length of w is 2001; expected a number from 0.1 to 2000 m. Correct length of w."),
        ({"height": 0.4}, "height of w is 0.4; expected a number from 0.5 to 220 m. Correct height of w."),
        ({"height": 221}, "height of w is 221; expected a number from 0.5 to 220 m. Correct height of w."),
        ({"wall_factor": -0.1}, "wall factor of w is -0.1; expected a number from 0 to 1. Correct wall factor of w."),
        ({"wall_factor": 1.1}, "wall factor of w is 1.1; expected a number from 0 to 1. Correct wall factor of w."),
        ({"eaves_height": 0.29}, "eaves height of w is 0.29; expected a number from 0.3 to 6 m. Correct eaves height of w."),
        ({"eaves_height": 6.1}, "eaves height of w is 6.1; expected a number from 0.3 to 6 m. Correct eaves height of w."),
        ({"shape": "igloo"}, "wall shape 'igloo'; expected one of two-storey gable, three-storey gable, multi-storey, flat roof, two-storey eaves wall, three-storey eaves wall, two-storey, flat roof, or outside the table. Correct the shape of the wall."),
    ],
)  # fmt: skip
def test_a_wall_says_what_is_wrong_with_it(change, sentence):
    assert said(Wall, **{"name": "w", "orientation": 0, "length": 5, "height": 6, **change}) == sentence


def test_a_wall_on_its_limits_is_taken():
    low = Wall(name="w", orientation=-360, length=0.1, height=0.5, wall_factor=0, eaves_height=0.3)
    high = Wall(name="w", orientation=720, length=2000, height=220, wall_factor=1, eaves_height=220)
    assert (low.orientation, high.orientation) == (0.0, 0.0)
    assert (low.wall_factor, high.wall_factor) == (0, 1)
    assert Wall(name="w", orientation=-90, length=5, height=6).orientation == 270.0
    assert Wall(name="w", orientation=0, length="5", height=6).length == 5.0
    assert Wall(name="w", orientation=0, length=5, height=6, shape=OUTSIDE_TABLE).wall_factor == 0.5
    assert Wall(name="w", orientation=0, length=5, height=6, shape=OUTSIDE_TABLE, wall_factor=0.2).wall_factor == 0.2  # fmt: skip
    assert Wall(name="w", orientation=0, length=5, height=6).area == 30.0
    assert (
        Wall(name="w", orientation=0, length=10, height=9, eaves_height=4).area == 65.0
    )  # 40 and half of 50
    assert Building("B", (low,)).storeys == 2
    assert said(Building, "B", (low, high)) == (
        "elevations named ['w', 'w']; expected one or more elevations, each with its own name. Rename them."
    )
    assert said(Building, "B", ()).startswith("elevations named []")


def test_the_corners_of_a_box_house_by_hand():
    # 12 m long to the east, 8 m wide, three storeys: counter-clockwise from outside, left corner first
    house = box_building(name="B", length=12, width=8, bearing=90, height=9, storeys=3)
    assert (house.name, house.storeys) == ("B", 3)
    found = [(w.name, w.orientation, w.length, w.height, w.shape, w.start, w.end) for w in house.walls]
    expected = [
        ("south", 180.0, 12, 9, "three-storey eaves wall", (-6, -4), (6, -4)),
        ("west", 270.0, 8, 9, "three-storey gable", (-6, 4), (-6, -4)),
        ("north", 0.0, 12, 9, "three-storey eaves wall", (6, 4), (-6, 4)),
        ("east", 90.0, 8, 9, "three-storey gable", (6, -4), (6, 4)),
    ]
    for one, other in zip(found, expected, strict=True):
        assert one[:5] == other[:5]
        assert (*one[5], *one[6]) == pytest.approx((*other[5], *other[6]), abs=1e-9)
    assert (
        box_building(name="B", length=12, width=8, bearing=90, height=9).walls[1].shape == "two-storey gable"
    )
    assert [round(w.orientation) for w in box_building(name="B", length=9, width=8, bearing=300, height=9).walls] == [30, 120, 210, 300]  # fmt: skip


def test_a_list_of_elevations_is_read_as_it_says():
    ring = [(0, -4), (0, 4), (-9, 4), (-9, -4)]  # counter-clockwise from the south-east corner
    listed = [
        {"orientation": 90, "length": 8, "shape": "two-storey eaves wall", "start": ring[0], "end": ring[1]},
        {"name": "b", "orientation": 0, "length": 9, "height": 8.5, "wall_factor": 0.25, "factor_reason": "z" * 200, "start": ring[1], "end": ring[2]},
        {"name": "c", "orientation": 270, "length": 8, "not_told": ["roof"], "obstacle_distance": 40, "start": ring[2], "end": ring[3]},
        {"name": "d", "orientation": 180, "length": 9, "eaves_height": 5, "shape": "two-storey eaves wall", "start": ring[3], "end": ring[0]},
    ]  # fmt: skip
    file = building_from_words(words(elevation=listed, eaves=300, wall={"d": {"overhang": 500}}))
    a, b, c, d = file.building.walls
    assert (a.name, a.height, a.shape, a.untold, a.wall_factor) == ("facing 90", 6.0, "two-storey eaves wall", (), None)  # fmt: skip
    assert (b.height, b.wall_factor, b.factor_reason, b.untold) == (8.5, 0.25, "z" * 200, ())
    assert (c.height, c.obstacle_distance, c.shape) == (6.0, 40, "two-storey gable")
    assert [(one.what, one.taken) for one in c.untold] == [("roof", "the harder side"), ("shape", "a gable")]
    answers = dict(c.untold[1].answers)
    assert {told: wall.shape for told, wall in answers.items()} == {
        "an eaves wall, 350 mm of eaves": "two-storey eaves wall", "a flat roof": "two-storey, flat roof",
    }  # fmt: skip
    assert all(
        (wall.height, wall.obstacle_distance, wall.start) == (6.0, 40, (-9.0, 4.0))
        for wall in answers.values()
    )
    assert (d.eaves_height, [one.key for one in d.flags]) == (5, ["wall.wide_eaves"])
    assert file.place.footprint.equals(shapely.Polygon(ring))
    narrow = building_from_words(words(elevation=listed[:1], eaves=100)).building.walls[0]
    assert (narrow.shape, narrow.factor_reason) == (
        OUTSIDE_TABLE,
        "eaves of 100 mm, narrower than the table's 350 mm",
    )
    moved = c.otherwise(lambda wall: dataclasses.replace(wall, height=7.5))
    assert [[wall.height for _, wall in one.answers] for one in moved.untold] == [[], [7.5, 7.5]]
    assert dataclasses.replace(moved, untold=()) == dataclasses.replace(c, untold=())
    high = building_from_words(words(storeys=3, height=9, elevation=[{**BARE}])).building.walls[0]
    assert [wall.shape for _, wall in high.untold[0].answers] == [
        "three-storey eaves wall",
        "multi-storey, flat roof",
    ]
    for gone in (
        {**listed[3], "end": (0.02, -4)},
        {key: value for key, value in listed[3].items() if key != "end"},
    ):
        assert building_from_words(words(elevation=[*listed[:3], gone])).place.footprint is None
    two = building_from_words(words(elevation=listed[:2])).place.footprint
    assert two is None  # two sides make no outline
    near = [*listed[:3], {**listed[3], "end": (0.009, -4)}]
    assert building_from_words(words(elevation=near)).place.footprint is not None  # a centimetre closes it
    drawn = building_from_words(words(elevation=listed, footprint={"corners": CORNERS})).place.footprint
    assert drawn.area == pytest.approx(159.5, rel=0.01)  # 14.34 by 11.12 m


def test_what_a_file_says_of_a_wall_settles_what_was_open():
    plain = {"south-west": {}}

    def walls(own, **more):
        return {
            w.name: w for w in building_from_words(words(wall={"south-west": own}, **more)).building.walls
        }

    def open_(wall):
        return [one.what for one in wall.untold]

    assert open_(walls({})["south-west"]) == ["roof", "ridge height"]
    shaped = walls({"shape": "two-storey eaves wall"})
    assert open_(shaped["south-west"]) == ["ridge height"]
    assert open_(shaped["north-east"]) == ["roof", "ridge height"]
    (_, lower) = shaped["south-west"].untold[0].answers[0]
    assert (lower.shape, lower.wall_factor) == ("two-storey eaves wall", None)
    assert lower.height < shaped["south-west"].height
    chosen = walls({"wall_factor": 0.35})["south-west"]
    assert (chosen.wall_factor, open_(chosen)) == (0.35, ["ridge height"])
    assert chosen.untold[0].answers[0][1].wall_factor == 0.35
    high = walls({"height": "30 ft"})["south-west"]
    assert (high.height, high.eaves_height, open_(high)) == (pytest.approx(9.144), None, ["roof"])
    assert [(w.height, w.eaves_height) for _, w in high.untold[0].answers] == [(high.height, None)] * 2
    assert [w.shape for _, w in high.untold[0].answers] == ["two-storey eaves wall", "two-storey, flat roof"]
    near = walls({"obstacle_distance": 30})["south-west"]
    assert near.obstacle_distance == 30
    assert all(w.obstacle_distance == 30 for one in near.untold for _, w in one.answers)
    assert [w.height for _, w in near.untold[0].answers] == [
        6.0,
        6.0,
    ]  # an eaves wall stays as tall as the eaves
    assert open_(walls({"shape": "two-storey eaves wall", "height": 9})["south-west"]) == []
    bare = walls({"shape": "two-storey eaves wall"}, roof="hip")["south-west"]
    assert (bare.wall_factor, bare.factor_reason, bare.untold) == (None, "", ())
    assert plain == {"south-west": {}}


def test_eaves_told_anywhere_are_known_to_the_details_too():
    file = building_from_words(
        words(roof="hip", eaves=300, wall={"south-west": {"overhang": 400}}, details={"wall_type": "x", "elevations": {"north-east": {"eaves": 280, "balcony": True}, "south-west": {"balcony": False}}})
    )  # fmt: skip
    assert file.building.details == {
        "wall_type": "x",
        "eaves": 300.0,
        "elevations": {"north-east": {"eaves": 280.0, "balcony": True}, "south-west": {"eaves": 400.0, "balcony": False}},
    }  # fmt: skip
    assert "elevations" not in building_from_words(words(roof="hip", eaves=300)).building.details
    assert building_from_words(words()).building.details == {}


def test_what_was_assumed_on_the_way_is_noted_with_its_figures():
    def notes(**more):
        table = {key: value for key, value in words(**more).items() if value is not None}
        return {one.key: (one.subject, one.numbers) for one in building_from_words(table).place.notes}

    assert notes() == {}
    assert notes(height=None) == {"wall.storey_height_taken": ("", {"storey": "3"})}
    assert notes(storeys=None, height=7.2) == {"wall.storeys_taken": ("House", {"storeys": 3, "height": 7.2, "storey": 2.4})}  # fmt: skip
    assert notes(storeys=None, height=7.1)["wall.storeys_taken"][1]["storeys"] == 2
    assert notes(storeys=None, height=2.3)["wall.storeys_taken"][1]["storeys"] == 1
    unused = [f"p{i}" for i in range(9)] + ["q" * 50]
    first = "p0, p1, p2, p3, p4, p5, p6, p7"
    assert notes(not_used=unused) == {"wall.properties_not_used": ("House", {"names": f"{first} and 2 more"})}
    assert notes(not_used=unused[:8])["wall.properties_not_used"][1] == {"names": first}
    assert notes(not_used=["q" * 50])["wall.properties_not_used"][1] == {"names": "q" * 40}
    for size in ({"length": 60, "width": 25}, {"length": 10, "width": 2.5}):
        assert notes(footprint={**BOX, **size}) == {}
    for size, told in (
        ({"length": 60.1, "width": 20}, {"length": "60", "width": "20", "area": "1,202"}),
        ({"length": 20, "width": 2.4}, {"length": "20", "width": "2", "area": "48"}),
        ({"length": 59, "width": 25.5}, {"length": "59", "width": "26", "area": "1,504"}),
    ):
        assert notes(footprint={**BOX, **size}) == {"wall.unlikely_size": ("House", told)}


def test_a_file_without_names_is_called_by_what_it_has():
    table = words(
        place={"latitude": 50, "longitude": 8, "sea_distance": 40, "terrain": "II", "topography": 1.1}
    )
    file = building_from_words(table)
    assert (file.place.name, file.building.name, file.building.storeys) == ("House", "House", 2)
    assert (file.place.terrain, file.place.topography, file.place.sea_distance) == ("II", 1.1, 40.0)
    assert (file.place.plane.latitude, file.place.plane.longitude) == (50.0, 8.0)
    assert file.words is table
    assert building_from_words(words()).place.sea_distance is None
    del table["name"]
    assert building_from_words(table).building.name == "Building"


@pytest.mark.parametrize(
    ("whole", "sectors", "expected"),
    [
        (None, {}, None),
        ("I", {}, "I"),
        (None, {"30": {"terrain": "II"}}, {"30": "II"}),
        ({"0": "I", "30": "I"}, {"30": {"terrain": "II"}, "60": {"topography": 1.1}}, {"0": "I", "30": "II"}),
        ("IV", {"330": {"terrain": "II"}}, {**{str(30 * k): "IV" for k in range(11)}, "330": "II"}),
        (list("ABCDEFGHIJKL"), {"330": {"terrain": "II"}}, {**{str(30 * k): "ABCDEFGHIJKL"[k] for k in range(11)}, "330": "II"}),
    ],
)  # fmt: skip
def test_sectors_are_merged_with_what_is_said_for_all(whole, sectors, expected):
    place = {**PLACE, "sector": sectors} | ({} if whole is None else {"terrain": whole})
    assert building_from_words(words(place=place)).place.terrain == expected


def test_neighbours_that_touch_take_walls_from_a_file_too():
    # the house is 12 m long to the east; one neighbour touches its east end, one stands 1.1 m off and stays out
    around = neighbours((6.0, -20, 20, 20), (-20, -20, -7.1, 20), heights=6)
    file = building_from_words(words(footprint={**BOX, "bearing": 90}), neighbours=around)
    assert {wall.name for wall in file.building.walls} == {"south", "north", "west"}
    (note,) = file.place.notes
    assert (note.key, note.numbers) == (
        "wall.touching_neighbour",
        {"hidden": pytest.approx(8.6)},
    )  # 8 m, and 0.3 m of each side


@pytest.mark.parametrize(
    ("name", "content", "sentence"),
    [
        ("none.toml", None, "none.toml is not there; expected a building's file. Check the name."),
        ("a.toml", "name = ", "a.toml is not sound TOML (Invalid value (at end of document)); expected TOML in UTF-8. Mend that line."),
        ("a.TOML", "name = ", "a.TOML is not sound TOML (Invalid value (at end of document)); expected TOML in UTF-8. Mend that line."),
        ("a.json", "{", "a.json is not sound JSON (Expecting property name enclosed in double quotes: line 1 column 2 (char 1)); expected JSON. Mend it."),
        ("a.JSON", '{"name": "Barn"}', "a.JSON describes 'Barn'; expected the building 'House'. Correct the name, or leave it out."),
        ("a.json", '{"input": {"name": "Barn"}, "name": "House"}', "a.json describes 'Barn'; expected the building 'House'. Correct the name, or leave it out."),
        ("a.toml", "height = 6", "a.toml describes 'a building without a name'; expected the building 'House'. Correct the name, or leave it out."),
    ],
)  # fmt: skip
def test_why_a_buildings_file_is_refused_is_said_in_full(tmp_path, name, content, sentence):
    if content is not None:
        (tmp_path / name).write_text(content)
    assert said(read_building, tmp_path / name, name="House") == sentence


@pytest.mark.parametrize(("name", "text"), [("a.toml", 'name = "Barn"'), ("a.json", '{"name": "Barn"}')])
def test_the_mark_some_editors_begin_a_file_with_is_no_part_of_it(tmp_path, name, text):
    (tmp_path / name).write_bytes(b"\xef\xbb\xbf" + text.encode())
    assert read_words(tmp_path / name) == {"name": "Barn"}


def test_a_folder_and_a_long_name_are_refused_in_full(tmp_path):
    assert said(read_building, tmp_path) == f"{tmp_path} is a folder; expected a building's file. Name the file in it."  # fmt: skip
    (tmp_path / "a.toml").write_text(f'name = "{"b" * 70}"')
    assert said(read_building, tmp_path / "a.toml", name="h" * 70) == (
        f"a.toml describes {'b' * 60!r}; expected the building {'h' * 60!r}. Correct the name, or leave it out."
    )


def test_properties_of_a_footprint_become_words(tmp_path):
    told = {
        "name": "Barn", "place": "Bay", "height": "20 ft", "levels": 2, "roof": "gable", "gables": '["east"]', "eaves": 300,
        "terrain": '{"0": "I"}', "topography": 1.2, "sea_distance": 90, "details": '{"wall_type": "x"}', "fid": 3, "owner": "x", "year": None,
    }  # fmt: skip
    path = geojson(tmp_path / "barn.geojson", in_degrees(block(-6, -4, 6, 4)), properties=[told])
    found = read_words(path)
    corners = np.array(found.pop("footprint")["corners"])
    east, north = TANGENT.to_metres(*corners.T, crs=DEGREES)
    assert sorted(zip(east.round(3).tolist(), north.round(3).tolist(), strict=True)) == [(-6, -4), (-6, 4), (6, -4), (6, 4)]  # fmt: skip
    place = found.pop("place")
    assert (place.pop("latitude"), place.pop("longitude")) == (pytest.approx(50), pytest.approx(8))
    assert place == {"name": "Bay", "terrain": {"0": "I"}, "topography": 1.2, "sea_distance": 90}
    assert found == {
        "name": "Barn", "height": pytest.approx(6.096), "storeys": 2, "roof": "gable", "gables": '["east"]', "eaves": 300,
        "details": {"wall_type": "x"}, "not_used": ["owner"],
    }  # fmt: skip
    bare = read_words(geojson(tmp_path / "shed.geojson", in_degrees(block(-6, -4, 6, 4)), properties=[{"details": " "}]))  # fmt: skip
    assert (bare["name"], bare["place"]["name"], bare["details"]) == ("shed", "shed", {})
    assert set(bare) == {"name", "place", "footprint", "details"}
    kept = geojson(tmp_path / "r.geojson", in_degrees(block(-6, -4, 6, 4)), properties=[{"input": '{"name": "Kept"}', "name": "x"}])  # fmt: skip
    assert read_words(kept) == {"name": "Kept"}
    for useless in ("{", "[1]", "7"):
        path = geojson(tmp_path / "s.geojson", in_degrees(block(-6, -4, 6, 4)), properties=[{"input": useless, "name": "x"}])  # fmt: skip
        assert read_words(path)["name"] == "x"
    wrong = geojson(
        tmp_path / "w.geojson", in_degrees(block(-6, -4, 6, 4)), properties=[{"details": "[1, 2"}]
    )
    assert said(read_words, wrong) == "the details of a building in w.geojson are '[1, 2'; expected a table. Correct the property."  # fmt: skip


def test_the_words_of_a_building_are_all_it_needs_to_be_read_again():
    court = {"corners": [[8.0, 50.0], [8.0006, 50.0], [8.0006, 50.0004], [8.0, 50.0004]], "courtyards": [[[8.0002, 50.0001], [8.0004, 50.0001], [8.0004, 50.0003], [8.0002, 50.0003]]]}  # fmt: skip
    place = {**PLACE, "terrain": {"0": "I"}, "topography": 1.1, "sea_distance": 70.0}
    file = building_from_words(words(footprint=court, place=place, roof="hip", wall={"south": {"obstacle_distance": 50.0}}, details={"wall_type": "x"}))  # fmt: skip
    told = words_of(file.building, file.place)
    assert (told["name"], told["height"], told["storeys"], told["details"]) == (
        "House",
        6.0,
        2,
        {"wall_type": "x"},
    )
    assert told["place"] == {**place, "terrain": {"0": "I"}}
    assert words_of(file.building, file.place, sector=False)["place"] == PLACE
    south = next(one for one in told["elevation"] if one["name"] == "south")
    assert south["obstacle_distance"] == 50.0
    assert (south["wall_factor"], south["not_told"], south["shape"]) == (0.5, ["eaves"], OUTSIDE_TABLE)
    assert south["factor_reason"] == "eaves not told: no credit is taken for them"
    assert set(south) == {"name", "orientation", "length", "height", "shape", "wall_factor", "obstacle_distance", "start", "end", "factor_reason", "not_told"}  # fmt: skip
    assert len(told["footprint"]["courtyards"]) == 1
    assert len(told["footprint"]["corners"]) == len(told["footprint"]["courtyards"][0]) == 4
    again = building_from_words(told)
    keys = ("name", "orientation", "length", "height", "shape", "wall_factor", "obstacle_distance", "start", "end", "eaves_height", "factor_reason")  # fmt: skip
    for one, other in zip(file.building.walls, again.building.walls, strict=True):
        assert [getattr(one, key) for key in keys] == [getattr(other, key) for key in keys]
        assert [x.what for x in one.untold] == [x.what for x in other.untold]
    assert again.place.footprint.symmetric_difference(file.place.footprint).area < 0.01
    gabled = building_from_words(words(roof="gable", ridge_height=8.0, eaves=350))
    east = [one for one in words_of(gabled.building, gabled.place)["elevation"] if "eaves_height" in one]
    assert [(one["name"], one["height"], one["eaves_height"]) for one in east] == [("south-west", 8.0, 6.0), ("north-east", 8.0, 6.0)]  # fmt: skip
    assert words_of(gabled.building, gabled.place)["height"] == 8.0


@pytest.mark.parametrize(
    ("given", "names"),
    [("east; south ; west", ("east", "south", "west")), ('["east"; "west"]', ("east", "west")), ("", ()), ([], ()), (["a b"], ("a b",)), (None, None)],
)  # fmt: skip
def test_gables_as_a_list_or_as_one_text(given, names):
    assert roof_told({"gables": given}).gables == names


def test_a_roof_takes_the_nearest_word_on_eaves_and_ridges():
    roof = roof_told(
        {
            "roof": "gable", "ridge_height": "30 ft", "pitch": 40, "details": {"eaves": 300, "elevations": {"a": {"eaves": 250}, "b": 7, "c": {}}},
            "wall": {"a": {"ridge_height": 9}, "d": {"overhang": 100}, "e": {"overhang": 200}, "f": 8},
        }
    )  # fmt: skip
    assert (roof.form, roof.ridge_height, roof.pitch, roof.eaves) == (
        "gable",
        pytest.approx(9.144),
        40.0,
        300.0,
    )
    assert (roof.own_eaves, roof.own_ridges) == ({"a": 250.0, "d": 100.0, "e": 200.0}, {"a": 9.0})
    assert roof_told({"eaves": 300, "details": {"eaves": 300.0}}).eaves == 300.0
    assert roof_told({"eaves": 320, "details": 5, "wall": 5}).eaves == 320.0
    nothing = roof_told({})
    assert (nothing.form, nothing.gables, nothing.ridge_height, nothing.pitch, nothing.eaves) == (None,) * 5
    assert (nothing.own_eaves, nothing.own_ridges) == ({}, {})
