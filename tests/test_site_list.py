"""Lists of sites as spreadsheets write them; each expected position is converted by hand."""

import csv
import io
import json

import pytest

from exposure.checks import RefusalError
from exposure.doubts import has_doubt
from exposure.site.position_text import read_angle, read_position
from exposure.site.site_list import read_site_list
from exposure.wall.building import wall_shapes

HEAD = "name,latitude,longitude,terrain,ground_height [m],wall\n"


def read(text, **kind):
    return read_site_list(text if isinstance(text, bytes) else text.encode(), shapes=wall_shapes(), **kind)


@pytest.mark.parametrize(
    ("text", "which", "value"),
    [  # by hand: 48 + 26/60 + 24/3600 = 48.44; 29 + 40/60 + 48/3600 = 29.68
        ("48.44", "latitude", 48.44),
        ("48,44", "latitude", 48.44),
        ("48° 26′ 24″ N", "latitude", 48.44),
        ("48°26'24\"S", "latitude", -48.44),
        ("48 26.4", "latitude", 48.44),
        ("29:40:48 W", "longitude", -29.68),
        ("\u221229.68", "longitude", -29.68),
        ("W 29 40 48", "longitude", -29.68),
        ("330.32", "longitude", 330.32),
    ],
)
def test_angles_as_people_type_them(text, which, value):
    assert read_angle(text, which) == pytest.approx(value, abs=1e-9)


@pytest.mark.parametrize(
    ("text", "which", "cure"),
    [
        ("95", "latitude", "Swap"),
        ("29.68 W", "latitude", "Swap"),
        ("4844000", "latitude", "national grid"),
        ("48 61", "latitude", "Correct"),
        ("-48 S", "latitude", "Correct"),
        ("nan", "latitude", "Correct"),
        ("1e1", "longitude", "Correct"),
        ("", "longitude", "Correct"),
        ("9" * 1000, "longitude", "Correct"),
    ],
)
def test_angles_that_would_be_guesses_are_refused(text, which, cure):
    with pytest.raises(RefusalError, match=cure):
        read_angle(text, which)


@pytest.mark.parametrize(
    ("text", "which", "expected"),
    [
        ("-90.5", "latitude", "degrees from -90 to 90"),
        ("90.5", "latitude", "degrees from -90 to 90"),
        ("-180.5", "longitude", "degrees from -180 to 360"),
        ("360.5", "longitude", "degrees from -180 to 360"),
        ("48 26 60", "latitude", "whole degrees, then minutes and seconds below 60"),
        ("48.5 26", "latitude", "whole degrees, then minutes and seconds below 60"),
    ],
)
def test_an_angle_just_outside_is_refused_and_one_on_the_limit_is_taken(text, which, expected):
    with pytest.raises(RefusalError) as refused:
        read_angle(text, which)
    assert refused.value.expected == expected
    assert [read_angle(limit, "latitude") for limit in ("-90", "90")] == [-90, 90]
    assert [read_angle(limit, "longitude") for limit in ("-180", "360")] == [-180, 360]


def test_a_place_without_a_name_is_called_by_its_position_in_every_quarter():
    found = read("name,lat,lon\n,48,29\n,48,-29\n,-48,29\n,-48,-29\n")
    assert [one.name for one in found.sites] == [
        "48.0000° N, 29.0000° E", "48.0000° N, 29.0000° W", "48.0000° S, 29.0000° E", "48.0000° S, 29.0000° W",
    ]  # fmt: skip


def test_positions_typed_together():
    for text in ("48.44, -29.68", "48,44; -29,68", "48.44 -29.68", "48° 26′ 24″ N 29° 40′ 48″ W"):
        assert read_position(text) == pytest.approx((48.44, -29.68))
    for text in ("48.44", "here", "", "1,2,3", "170, 48"):
        with pytest.raises(RefusalError):
            read_position(text)


@pytest.mark.parametrize("coding", ["utf-8", "utf-8-sig", "utf-16", "utf-16-le", "utf-16-be", "cp1252"])
@pytest.mark.parametrize("mark", [";", "\t"])
def test_semicolons_decimal_commas_and_every_coding(coding, mark):
    text = mark.join(["Name", "Lat", "Lon"]) + "\r\n" + mark.join(["Häfen", "48,44", "-29,68"]) + "\r\n"
    found = read(text.encode(coding))
    (one,) = found.sites
    assert (one.name, one.latitude, one.longitude, one.row) == ("Häfen", 48.44, -29.68, 2)
    assert bool(found.notes) == (coding == "cp1252")


def test_a_spreadsheets_own_first_line_and_row_numbers():
    found = read("sep=;\nname;lat;lon\n\nA;1;2\nB;bad;2\n")
    assert [one.row for one in found.sites] == [
        4
    ]  # as the spreadsheet counts, its first line and blank one too
    assert [one.row for one in found.left_out] == [5]


def test_one_bad_row_does_not_lose_the_others():
    found = read(
        HEAD
        + "Good,48.44,-29.68,II,23,two-storey gable\nSwapped,-129.68,48.44,,,\nNo place,,,,,\nZero,0,0,,,\n"
        + "Terrain,48.4,-29.6,VII,,\nHeight,48.4,-29.6,,tall,\nWall,48.4,-29.6,,,tent\nWide,48.4,-29.6,,,,extra\n"
    )
    assert [one.name for one in found.sites] == ["Good"]
    assert found.sites[0].terrain == ("II",) * 12
    assert [one.row for one in found.left_out] == [3, 4, 5, 6, 7, 8, 9]
    for one in found.left_out:
        assert one.reason.came
        assert one.reason.cure


def test_terrain_by_sector_heights_in_feet_and_the_date_line():
    found = read(
        HEAD
        + 'A,48,190,"I,I,II,II,II,III,III,III,II,II,I,I",20 ft,\nB,-48,-179.5,112223332211,-3,\nC,1,180,3,,\n'
    )
    a, b, c = found.sites
    assert a.longitude == -170.0
    assert c.longitude == -180.0
    assert a.terrain == b.terrain == ("I", "I", "II", "II", "II", "III", "III", "III", "II", "II", "I", "I")
    assert a.ground_height == pytest.approx(6.096)
    assert b.ground_height == -3.0
    assert c.terrain == ("III",) * 12


def test_names_are_data_and_told_apart():
    hostile = ['=HYPERLINK("x")', "<script>alert(1)</script>", "a\u202eb\x07c", "Same", "same", "", "x" * 500]
    text = io.StringIO()
    csv.writer(text).writerows([["name", "lat", "lon"], *([name, 48, -29] for name in hostile)])
    names = [one.name for one in read(text.getvalue()).sites]
    assert names[:2] == hostile[:2]  # kept as they are; whoever shows them escapes them
    assert names[2] == "abc"
    assert names[3:5] == ["Same (row 5)", "same (row 6)"]
    assert names[5] == "48.0000° N, 29.0000° W"
    assert len(names[6]) == 200
    assert len(set(names)) == len(names)


def test_geojson_points_and_other_shapes():
    table = {
        "type": "FeatureCollection",
        "features": [
            {
                "type": "Feature",
                "properties": {"name": "A", "terrain": "I"},
                "geometry": {"type": "Point", "coordinates": [-29.68, 48.44, 7]},
            },
            {
                "type": "Feature",
                "properties": None,
                "geometry": {"type": "Polygon", "coordinates": [[[0, 0], [1, 0], [1, 1], [0, 0]]]},
            },
            {"type": "Feature", "properties": {}, "geometry": {"type": "Point", "coordinates": ["x", None]}},
            "nonsense",
        ],
    }
    found = read(json.dumps(table))
    assert [(one.name, one.latitude, one.longitude) for one in found.sites] == [("A", 48.44, -29.68)]
    assert [one.row for one in found.left_out] == [2, 3, 4]
    sectors = [
        *("I",) * 2,
        *("II",) * 3,
        *("III",) * 3,
        *("II",) * 2,
        *("I",) * 2,
    ]  # a list, as JSON has them
    table["features"][0]["properties"]["terrain"] = sectors
    assert read(json.dumps(table)).sites[0].terrain == tuple(sectors)
    table["crs"] = {"type": "name", "properties": {"name": "urn:ogc:def:crs:EPSG::27700"}}
    with pytest.raises(RefusalError, match="EPSG:4326"):
        read(json.dumps(table))


@pytest.mark.parametrize(
    "text",
    [
        "",
        "\n\n",
        "name,place\nA,B\n",
        "lat,lat,lon\n1,2,3\n",
        "name,lat,lon\n",
        '{"type": "Point"}',
        '{"features": ',
        "lat,lon,ground_height [ft]\n1,2,3\n",
        b"\x00\x01\x02\x03" * 50,
        b"PK\x03\x04 no archive",
    ],
)
def test_lists_that_are_none_are_refused_in_three_parts(text):
    with pytest.raises(RefusalError) as refused:
        read(text)
    assert refused.value.cure


def test_a_list_longer_than_asked_for_is_refused():
    with pytest.raises(RefusalError, match="at most 3"):
        read("lat,lon\n" + "1,2\n" * 4, most=3)


def test_listed_heights_are_heights_and_high_ground_is_doubted():
    from exposure.assess.reference_wall import reference_wall
    from exposure.assess.site_group import SiteGroup, _site_of

    listed = read_site_list(b"name,lat,lon,ground_height [m]\nHut,46,8,2500\nQuay,46,8,4\n", shapes=[]).sites
    wall = reference_wall("two-storey gable")
    job = SiteGroup(listed, None, None, None, wall, None, None, None, None, ("", ""))
    hut, quay = (_site_of(one, wall, job) for one in listed)
    assert (hut.ground_height, quay.ground_height) == (2500.0, 4.0)
    assert not any("No ground heights" in flag for flag in (*hut.flags, *quay.flags))
    assert has_doubt(hut.flags, "site.high_ground")
    assert "2,500 m" in next(flag for flag in hut.flags if has_doubt([flag], "site.high_ground"))
    assert not has_doubt(quay.flags, "site.high_ground")
