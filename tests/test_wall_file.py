"""A building's file: what our TOML says, what is refused, and that results read back as input."""

import json
from pathlib import Path

import pytest
from site_world import block, weather
from test_site_footprint import geojson, in_degrees

from exposure.assess.from_files import assess_file, survey_building
from exposure.checks import RefusalError
from exposure.doubts import has_doubt
from exposure.export.building_files import assessment_json, write_building_geopackage
from exposure.wall.building import OUTSIDE_TABLE, Wall
from exposure.wall.building_file import read_building
from exposure.wall.building_words import building_from_words
from exposure.wall.eaves import with_overhang

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
