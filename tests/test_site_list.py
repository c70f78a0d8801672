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
        ("+12.5", "latitude", 12.5),
        ("s 12 30", "latitude", -12.5),
        ("e12.5", "longitude", 12.5),
        ("12.5w", "longitude", -12.5),
        ("12deg. 30min. 36sec. S", "latitude", -12.51),
        ("12d30m36s N", "latitude", 12.51),
        ("12º 30’ 36,9” N", "latitude", 12.51025),
        ("12° 30' 36'' E", "longitude", 12.51),
        ("\u20138.25", "longitude", -8.25),
        ("12." + "0" * 57, "latitude", 12.0),  # 60 characters, the most
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


@pytest.mark.parametrize(
    ("text", "which", "words"),
    [
        ("north", "latitude", "the latitude 'north'; expected degrees such as 48.44, or 48° 26′ 24″ N. Correct the latitude."),
        ("1e1", "longitude", "the longitude '1e1'; expected degrees such as -29.68, or 48° 26′ 24″ E. Correct the longitude."),
        ("1" + "0" * 60, "latitude", f"the latitude '1{'0' * 39}'; expected degrees such as 48.44, or 48° 26′ 24″ N. Correct the latitude."),
        ("N 48 N", "latitude", "the latitude 'N 48 N'; expected one sign or one letter. Correct the latitude."),
        ("-48 S", "latitude", "the latitude '-48 S'; expected one sign or one letter. Correct the latitude."),
        ("+48 N", "latitude", "the latitude '+48 N'; expected one sign or one letter. Correct the latitude."),
        ("48 w", "latitude", "the latitude '48 w' carries the letter W; expected N or S, latitude before longitude. Swap the two."),
        (f"48.{'0' * 40} w", "latitude", f"the latitude '48.{'0' * 37}' carries the letter W; expected N or S, latitude before longitude. Swap the two."),
        ("8 S", "longitude", "the longitude '8 S' carries the letter S; expected E or W, latitude before longitude. Swap the two."),
        ("48 60", "latitude", "the latitude '48 60'; expected whole degrees, then minutes and seconds below 60. Correct the latitude."),
        ("8 30.5 10", "longitude", "the longitude '8 30.5 10'; expected whole degrees, then minutes and seconds below 60. Correct the longitude."),
        ("360", "latitude", "the latitude '360'; expected degrees from -90 to 90. Swap the two, if latitude and longitude are mixed up."),
        ("361", "latitude", "the latitude '361'; expected degrees from -90 to 90. Correct the latitude."),
        ("1000", "latitude", "the latitude '1000'; expected degrees from -90 to 90. Correct the latitude."),
        ("-200", "longitude", "the longitude '-200'; expected degrees from -180 to 360. Correct the longitude."),
        ("-1001", "longitude", "the longitude '-1001'; expected degrees from -180 to 360. Convert metres of a national grid to latitude and longitude (EPSG:4326) first."),
    ],
)  # fmt: skip
def test_what_is_wrong_with_an_angle_is_said_in_full(text, which, words):
    with pytest.raises(RefusalError) as refused:
        read_angle(text, which)
    assert str(refused.value) == words


def test_a_place_without_a_name_is_called_by_its_position_in_every_quarter():
    found = read("name,lat,lon\n,48,29\n,48,-29\n,-48,29\n,-48,-29\n")
    assert [one.name for one in found.sites] == [
        "48.0000° N, 29.0000° E", "48.0000° N, 29.0000° W", "48.0000° S, 29.0000° E", "48.0000° S, 29.0000° W",
    ]  # fmt: skip


def test_positions_typed_together():
    for text in (
        "48.44, -29.68", "48,44; -29,68", "48,44, -29,68", "48.44,-29.68", "48.44 -29.68", "48 26 24 -29 40 48",
        "48° 26′ 24″ N 29° 40′ 48″ W", "48.44n29.68w", "N48.44 W29.68", "n 48 26 24   w 29 40 48",
    ):  # fmt: skip
        assert read_position(text) == pytest.approx((48.44, -29.68)), text
    for text in ("48.44", "here", "", "1,2,3", "1 2 3", "170, 48", "48.44, ", " ; 8"):
        with pytest.raises(RefusalError):
            read_position(text)


def test_a_position_too_long_is_refused_and_never_cut_short():
    assert read_position("48.44," + " " * 110 + "29.6") == (48.44, 29.6)  # 120 characters
    with pytest.raises(RefusalError) as refused:
        read_position("48.44," + " " * 110 + "29.68")  # cut after 120 it would read 29.6
    assert refused.value.came == f"the position {'48.44,' + ' ' * 74!r}"
    assert refused.value.expected == "latitude and longitude, such as 48.44, -29.68"
    assert refused.value.cure == "Type two numbers."


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


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("\n \n", "the upload holds no site; expected one row a site. Write them below the header name,latitude,longitude,terrain,ground_height [m],wall."),
        ("lat,lon\n" + "1,2\n" * 5001, "the upload holds 5,001 sites; expected at most 5,000. Cut the list."),
        (b"\x00\x01\x02\x03" * 50, "the upload holds binary data; expected a CSV or GeoJSON list of sites. Save the spreadsheet as CSV (UTF-8)."),
        ("lat,Lat [deg],lon\n1,1,2\n", "the upload has two columns 'lat'; expected one. Remove or rename one."),
        ("lat,lon,Altitude (ft)\n1,2,3\n", "the column 'Altitude (ft)' is in 'ft'; expected ground height in m. Convert it, and write [m]."),
        ("name,  place\nA,B\n", "the header of the upload is 'name, place', without latitude and longitude; expected a first row such as name,latitude,longitude,terrain,ground_height [m],wall. Name the columns so; further ones are left out."),
        ("lat,place\nA,B\n", "the header of the upload is 'lat, place', without longitude; expected a first row such as name,latitude,longitude,terrain,ground_height [m],wall. Name the columns so; further ones are left out."),
        ('{"type": "Point"}', "the upload is JSON without features; expected a GeoJSON FeatureCollection of points. Export it so."),
        ('{"type": "Topology", "features": []}', "the upload is JSON without features; expected a GeoJSON FeatureCollection of points. Export it so."),
        ('{"type": "FeatureCollection", "features": {}}', "the upload is JSON without features; expected a GeoJSON FeatureCollection of points. Export it so."),
        ('{"type": "FeatureCollection", "features": [], "crs": "EPSG:27700"}', 'the upload is in the coordinate system "EPSG:27700"; expected longitude and latitude (EPSG:4326). Export it so.'),
        ('{"type": "FeatureCollection", "features": []}', "the upload holds no site; expected one row a site. Write them below the header name,latitude,longitude,terrain,ground_height [m],wall."),
        ("lat,lon,record\n1,2,a.csv\n", "row 2 of the upload names the record 'a.csv'; expected a list that names no files of this machine. Take the column out; a list with a record a site is compared in the terminal."),
    ],
)  # fmt: skip
def test_why_a_list_is_refused_is_said_in_full(text, words):
    with pytest.raises(RefusalError) as refused:
        read(text)
    assert str(refused.value) == words


def test_a_list_cut_in_the_middle_of_a_letter_is_no_text():
    for coding in ("utf-16-le", "utf-16-be"):
        with pytest.raises(RefusalError, match="holds binary data"):
            read("name,lat,lon\nA,1,2\n".encode(coding)[:-1])


def test_broken_json_and_endless_quotes_are_named():
    with pytest.raises(RefusalError) as refused:
        read("{")  # the reason is cut after 60 letters
    assert refused.value.came == (
        "the upload is no whole JSON (Expecting property name enclosed in double quotes: line 1 co)"
    )
    with pytest.raises(
        RefusalError, match=r"is no whole JSON \(Expecting value.*\); expected GeoJSON\. Mend it\."
    ):
        read('{"features": ')
    with pytest.raises(RefusalError, match=r"cannot be read as a table near line \d+ \(.*\); expected one row a line\. Mend it\."):  # fmt: skip
        read('lat,lon\n1,"' + "9" * 140_000 + '"\n')


ROWS = [  # cells below name, lat, lon, terrain, ground_height, wall, record; and what is said of row 2
    ("A,1,2,,,,,9", "row 2 has 8 cells; expected 7, as the header. Put a text that holds the separator in quotes."),
    ("A,,2,,,,", "row 2 has no latitude; expected degrees. Write its latitude."),
    ("A,1,,,,,", "row 2 has no longitude; expected degrees. Write its longitude."),
    ("A,0,0.0,,,,", "row 2 lies at 0, 0, where an empty cell ends up; expected a position on land. Write its position."),
    ("A,1,2,V,,,", "row 2 has the terrain 'V'; expected one of I, II, III, IV, or twelve of them from north clockwise. Correct it, or leave it empty."),
    ("A,1,2,I II,,,", "row 2 has the terrain 'I II'; expected one of I, II, III, IV, or twelve of them from north clockwise. Correct it, or leave it empty."),
    ("A,1,2,11112222333,,,", "row 2 has the terrain '11112222333'; expected one of I, II, III, IV, or twelve of them from north clockwise. Correct it, or leave it empty."),
    ("A,1,2,,tall,,", "row 2 has the ground height 'tall'; expected metres above the sea. Correct it."),
    ("A,1,2,,-501,,", "the ground height of row 2 is -501.0; expected a number from -500 to 9000 m. Correct the ground height of row 2."),
    ("A,1,2,,9001,,", "the ground height of row 2 is 9001.0; expected a number from -500 to 9000 m. Correct the ground height of row 2."),
    ("A,1,2,,,tent,", f"row 2 has the wall 'tent'; expected one of {', '.join(wall_shapes())}. Correct it, or leave it empty."),
    (f"A,1,2,,,,http://{'x' * 60}", f"row 2 has the record 'http://{'x' * 53}'; expected the path of a file. Name the file."),
    ("A,1,2,,,,http://x", "row 2 has the record 'http://x'; expected the path of a file. Name the file."),
]  # fmt: skip


@pytest.mark.parametrize(("cells", "words"), ROWS)
def test_why_a_row_is_left_out_is_said_in_full(cells, words, tmp_path):
    found = read(f"name,lat,lon,terrain,ground_height,wall,record\n{cells}\nB,1,2,,,,\n", beside=tmp_path)
    assert [(one.row, one.name, str(one.reason)) for one in found.left_out] == [(2, "A", words)]
    assert [one.name for one in found.sites] == ["B"]


def test_a_row_takes_every_column_under_any_of_its_names(tmp_path):
    text = (
        "Label|Y|LNG [deg]|Terrain_category|Elevation above sea (metres)|Reference wall|Climate record|Owner|\n"
        "Quay |48.5|-29.5|2.0|\u221212|  Two-storey   GABLE|rec/a.csv|x|\n"
    )
    found = read(text, beside=tmp_path)
    (one,) = found.sites
    assert (one.name, one.latitude, one.longitude, one.terrain) == ("Quay", 48.5, -29.5, ("II",) * 12)
    assert (one.ground_height, one.wall) == (-12.0, "two-storey gable")
    assert one.record == str(tmp_path / "rec" / "a.csv")
    assert [str(note) for note in found.notes] == ["Columns not used: Owner."]
    bare = read("lat,lon,x,y\n1,2,3,4\n").sites[0]  # the plainest name wins, and what is not told is None
    assert (bare.latitude, bare.longitude, bare.terrain, bare.ground_height, bare.wall, bare.record) == (
        1.0, 2.0, None, None, None, None,
    )  # fmt: skip


@pytest.mark.parametrize(
    ("terrain", "twelve"),
    [("iv", ("IV",) * 12), ("1 2 3 4 " * 3, ("I", "II", "III", "IV") * 3), ("I/II|III;" * 4, ("I", "II", "III") * 4)],
)  # fmt: skip
def test_terrain_is_read_as_people_write_it(terrain, twelve):
    assert read(f'lat,lon,terrain\n1,2,"{terrain}"\n').sites[0].terrain == twelve


def test_longitudes_come_back_from_minus_180_and_twelve_names_are_cut_at_200():
    found = read("name,lat,lon\n" + "".join(f"{'n' * 201},1,{one}\n" for one in (180, 179.5, 190, 360, -180)))
    assert [one.longitude for one in found.sites] == [-180.0, 179.5, -170.0, 0.0, -180.0]
    assert found.sites[4].name == "n" * 200 + " (row 6)"


def test_what_geojson_points_tell_and_what_they_do_not():
    def point(number, corner, **properties):
        return {"type": "Feature", "properties": {"NAME": f"P{number}", "latitude": 7, **properties}, "geometry": {"type": "Point", "coordinates": corner}}  # fmt: skip

    features = [
        point(1, [-29.1234567891, 48.25], Ground_height=7, wall="two-storey gable", terrain=None),
        point(2, [True, 48]),
        point(3, [8]),
        point(4, [8, "48"]),
        {"properties": {"name": "P5"}, "geometry": {"type": "MultiPoint", "coordinates": [[8, 48]]}},
        {"properties": {"name": "P6"}, "geometry": None},
    ]
    found = read(
        json.dumps({"type": "FeatureCollection", "features": features, "crs": {"name": "EPSG::4326"}})
    )
    (one,) = found.sites
    assert (one.row, one.name, one.latitude, one.longitude) == (1, "P1", 48.25, -29.123456789)
    assert (one.terrain, one.ground_height, one.wall) == (None, 7.0, "two-storey gable")
    kinds = ["Point", "Point", "Point", "MultiPoint", "nothing"]
    assert [str(left.reason) for left in found.left_out] == [
        f"feature {row} is of the shape {kind!r}; expected a point. Give one point a site."
        for row, kind in enumerate(kinds, start=2)
    ]
    assert [left.name for left in found.left_out] == ["P2", "P3", "P4", "P5", "P6"]


def test_a_list_longer_than_asked_for_is_refused():
    with pytest.raises(RefusalError, match="at most 3"):
        read("lat,lon\n" + "1,2\n" * 4, most=3)


def test_listed_heights_are_heights_and_high_ground_is_doubted():
    from exposure.assess.reference_wall import reference_wall
    from exposure.assess.site_group import SiteGroup, _site_of

    listed = read_site_list(b"name,lat,lon,ground_height [m]\nHut,46,8,2500\nQuay,46,8,4\n", shapes=[]).sites
    wall = reference_wall("two-storey gable")
    job = SiteGroup(listed, None, None, None, wall, None, None, None, None, ("", ""))
    hut, quay = (_site_of(one, wall, job)[0] for one in listed)
    assert (hut.ground_height, quay.ground_height) == (2500.0, 4.0)
    assert not any("No ground heights" in flag for flag in (*hut.flags, *quay.flags))
    assert has_doubt(hut.flags, "site.high_ground")
    assert "2,500 m" in next(flag for flag in hut.flags if has_doubt([flag], "site.high_ground"))
    assert not has_doubt(quay.flags, "site.high_ground")
