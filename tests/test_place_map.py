"""The map on the page: its parts, its messages, and what it would load."""

import json
import re
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from pyproj import Geod

from exposure.checks import RefusalError
from exposure.show.base_map import FOLDER, asset
from exposure.show.map_layers import (
    CATEGORY_COLOURS,
    Spot,
    building_layer,
    close_up_legend,
    coast_layer,
    ground_ring,
    neighbours_layer,
    place_marks,
    rays_layer,
)
from exposure.show.palette import CLASS_LOOKS
from exposure.show.place_map import (
    INVENTED_NOTICE,
    box_view,
    map_state,
    read_click,
    spot_view,
)
from exposure.wall import Wall

EARTH = Geod(ellps="WGS84")
HOSTILE = ["</script><b>", '" onclick="x', "\u202eabc", "x" * 10_000, "\x00\x07", "🏚️" * 200]


def elevation(name, facing, start, end, class_name="severe", litres=70.0):
    return SimpleNamespace(
        wall=Wall(name=name, orientation=facing, length=9, height=6, start=start, end=end),
        exposure_class=class_name,
        wall_spell_index=litres,
    )


def house(**changes):
    sides = [
        elevation("south", 180, (-5, -4), (5, -4), "very severe", 120.0),
        elevation("east", 90, (5, -4), (5, 4)),
        elevation("north", 0, (5, 4), (-5, 4), "sheltered", 8.0),
        elevation("west", 270, (-5, 4), (-5, -4), "moderate", 40.0),
    ]
    building = SimpleNamespace(name=changes.get("name", "House"), walls=[one.wall for one in sides])
    return SimpleNamespace(elevations=sides, building=building)


class TestSpots:
    @settings(max_examples=60, deadline=None)
    @given(st.floats(-65, 65), st.floats(-175, 175), st.floats(-2000, 2000), st.floats(-2000, 2000))
    def test_metres_agree_with_the_ellipsoid_to_a_metre(self, latitude, longitude, east, north):
        found = Spot(latitude, longitude).at(east, north)
        _, _, away = EARTH.inv(longitude, latitude, found[1], found[0])
        assert away == pytest.approx(np.hypot(east, north), abs=1.0)

    def test_bearings_are_true(self):
        spot = Spot(48.6, -29.4)
        for east, north, bearing in [(0, 500, 0), (500, 0, 90), (-300, -300, -135)]:
            latitude, longitude = spot.at(east, north)
            found, _, _ = EARTH.inv(-29.4, 48.6, longitude, latitude)
            assert found == pytest.approx(bearing, abs=0.3)


class TestLayers:
    def test_each_elevation_has_the_colour_of_its_class_and_words_besides(self):
        layer = building_layer(house(), Spot(48.6, -29.4))
        assert [wall["colour"] for wall in layer["walls"]] == [
            CLASS_LOOKS[name].fill for name in ("very severe", "severe", "sheltered", "moderate")
        ]
        assert [wall["worst"] for wall in layer["walls"]] == [True, False, False, False]
        assert layer["walls"][0]["words"] == "south: very severe, 120 L/m² in the worst spell"
        assert len(layer["ring"]) == 4

    def test_without_corners_there_is_no_footprint(self):
        made = house()
        made.elevations[2] = elevation("north", 0, None, None)
        assert building_layer(made, Spot(0, 0)) is None

    def test_only_neighbours_as_tall_as_the_wall_stand_out(self):
        shape = [(0, 0), (1, 0), (1, 1)]
        layer = neighbours_layer([(shape, 6.0, "A"), (shape, 5.9, "")], Spot(0, 0), wall_height=6.0)
        assert [one["counts"] for one in layer] == [True, False]
        assert layer[0]["colour"] != layer[1]["colour"]
        assert "no shelter" in layer[1]["words"]

    def test_rays_keep_their_ends_and_whether_they_were_stopped(self):
        (ray,) = rays_layer([(0.0, 0.0, 0.0, 110.574, True)], Spot(0.0, 0.0))
        assert ray == {"from": [0.0, 0.0], "to": [0.001, 0.0], "hit": True}

    def test_the_ground_ring_names_the_sector_the_wind_comes_from(self):
        site = SimpleNamespace(
            latitude=48.6,
            longitude=-29.4,
            terrain=["II"] * 8 + ["I"] + ["III"] * 3,
            topography=[1.0] * 8 + [1.2] * 4,
        )
        sectors = ground_ring(site)["sectors"]
        assert len(sectors) == 12
        assert sectors[8]["label"] == "I"
        assert sectors[8]["colour"] == CATEGORY_COLOURS["I"]
        assert sectors[8]["words"] == "wind from 240°: ground I, hill factor 1.20"
        bearing, _, away = EARTH.inv(-29.4, 48.6, sectors[8]["middle"][1], sectors[8]["middle"][0])
        assert bearing % 360 == pytest.approx(240, abs=0.5)
        assert 700 < away < 1000

    def test_the_close_up_key_names_the_classes_that_are_there(self):
        keys = close_up_legend(building_layer(house(), Spot(0, 0)))["keys"]
        assert [key["words"] for key in keys[:4]] == [f"{name} elevation" for name in CLASS_LOOKS]
        assert len(close_up_legend(None)["keys"]) == 2

    def test_a_coast_is_turned_and_multipolygons_taken(self):
        ring = [[10.0, 50.0], [11.0, 50.0], [11.0, 51.0], [10.0, 50.0]]
        outline = {
            "features": [
                {"geometry": {"type": "Polygon", "coordinates": [ring]}},
                {"geometry": {"type": "MultiPolygon", "coordinates": [[ring], [ring]]}},
            ]
        }
        layer = coast_layer(outline, hide_sea=False)
        assert len(layer["rings"]) == 3
        assert layer["rings"][0][0] == [50.0, 10.0]

    @pytest.mark.parametrize("words", HOSTILE)
    def test_hostile_names_are_short_plain_text(self, words):
        spot = SimpleNamespace(name=words, latitude=0.0, longitude=0.0, note=words)
        state = map_state(
            label=words,
            view=spot_view(0, 0, zoom=3),
            places=place_marks([spot]),
            building=building_layer(house(name=words), Spot(0, 0)),
            neighbours=neighbours_layer([([(0, 0), (1, 0), (1, 1)], 6.0, words)], Spot(0, 0), wall_height=6),
            notice=words,
        )
        text = json.dumps(state, ensure_ascii=False, allow_nan=False)
        assert "\u202e" not in text
        assert "\x00" not in text
        assert len(state["places"][0]["name"]) <= 60
        assert len(text) < 12_000

    def test_a_message_to_the_browser_stays_small(self):
        state = map_state(
            label="x",
            view=box_view(south=0, west=0, north=1, east=1),
            building=building_layer(house(), Spot(0, 0)),
        )
        assert len(json.dumps(state)) < 3000


class TestClicks:
    def test_each_kind_is_read(self):
        assert read_click(None) is None
        point = read_click({"kind": "point", "latitude": 48.5, "longitude": -29.5, "stamp": 7})
        assert (point.kind, point.latitude, point.longitude, point.stamp) == ("point", 48.5, -29.5, 7)
        place = read_click({"kind": "place", "name": "Quern Bay", "latitude": 48.4, "longitude": -29.7})
        assert place.name == "Quern Bay"
        drawn = read_click({"kind": "footprint", "ring": [[0, 0], [0, 1], [1, 1]]})
        assert drawn.ring == ((0.0, 0.0), (0.0, 1.0), (1.0, 1.0))

    @pytest.mark.parametrize(
        "message",
        [
            "point",
            [],
            {"kind": "point"},
            {"kind": "point", "latitude": "north", "longitude": 1},
            {"kind": "point", "latitude": 91, "longitude": 1},
            {"kind": "point", "latitude": float("nan"), "longitude": 1},
            {"kind": "point", "latitude": None, "longitude": 1},
            {"kind": "footprint", "ring": [[0, 0], [0, 1]]},
            {"kind": "footprint", "ring": [[0, 0], [0, 1], [1]]},
            {"kind": "footprint", "ring": [[0, 0]] * 10_000},
            {"kind": "footprint", "ring": "abc"},
            {"kind": "run", "latitude": 1, "longitude": 1},
        ],
    )
    def test_anything_else_is_refused(self, message):
        with pytest.raises(RefusalError):
            read_click(message)

    def test_a_foreign_stamp_does_not_matter(self):
        for stamp in (None, "x", float("inf"), [1]):
            found = read_click({"kind": "point", "latitude": 1, "longitude": 1, "stamp": stamp})
            assert found.stamp == 0


class TestWhatItLoads:
    def test_the_page_of_the_map_loads_only_files_beside_it(self):
        words = (FOLDER / "index.html").read_text("utf-8")
        loaded = re.findall(r"""(?:src|href)\s*=\s*["'](?!data:)([^"']+)["']""", words)
        assert len(loaded) == 6
        for name in loaded:
            assert (FOLDER / name).is_file(), name

    def test_no_script_or_style_of_ours_names_a_server(self):
        for name in ("map.js", "page_link.js", "region_page.js", "map.css", "index.html", "land.js"):
            found = re.findall(r"(?:https?:)?//[a-z0-9][a-z0-9.-]+\.[a-z]{2,}", asset(name))
            assert found == [], name

    def test_online_background_is_the_only_address_and_off_by_default(self):
        common = {"label": "x", "view": spot_view(0, 0, zoom=3), "notice": INVENTED_NOTICE}
        assert "http" not in json.dumps(map_state(**common))
        assert map_state(**common)["tiles"] is None
        online = map_state(**common, online=True)
        assert re.findall(r"https?://[^/\"]+", json.dumps(online)) == ["https://tile.openstreetmap.org"]
        assert "OpenStreetMap contributors" in online["tiles"]["credit"]

    def test_markup_is_never_made_from_names(self):
        # names become text nodes: the script sets no markup and builds no code from words
        for name in ("map.js", "page_link.js", "region_page.js"):
            words = asset(name)
            for risk in ("insertAdjacentHTML", "outerHTML", "document.write", "eval(", "new Function"):
                assert risk not in words, (name, risk)
            assert not re.findall(r"\.innerHTML\s*=", words), name

    def test_the_licence_of_the_map_script_travels_with_it(self):
        assert "BSD 2-Clause" in asset("leaflet_licence.md")
        assert "Leaflet 1.9.4" in asset("leaflet.js")[:120]

    def test_land_is_the_open_data_file_and_nothing_else(self):
        data = Path(__file__).parents[1] / "data_open" / "natural_earth_land_110m.json"
        topology = json.loads(data.read_text("utf-8"))
        words = asset("land.js")
        packed = json.loads(words[words.rindex("})({") + 3 : words.rindex(");")])
        assert packed["arcs"] == topology["arcs"]
        assert packed["scale"] == topology["transform"]["scale"]
        assert "public domain" in words.splitlines()[0]
