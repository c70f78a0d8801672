"""The map on the page: its parts, its messages, and what it would load."""

import html.parser
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
from exposure.draw.palette import CLASS_LOOKS
from exposure.map.base_map import FOLDER, asset
from exposure.map.folium_map import PARTS, as_text
from exposure.map.map_layers import (
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
from exposure.map.place_map import (
    INVENTED_NOTICE,
    MapState,
    box_view,
    map_arguments,
    read_click,
    spot_view,
)
from exposure.site.place import Site
from exposure.wall import Wall

EARTH = Geod(ellps="WGS84")
HOSTILE = [
    "</script><b>",
    '" onclick="x',
    "\u202eabc",
    "x" * 10_000,
    "\x00\x07",
    "🏚️" * 200,
    "<img src=x onerror=alert(1)>",
    "{{ 7 * 7 }}{% raise %}{# gone #}",
    "{{ this.__class__ }}",
    "`); alert(1); (`${alert(1)}",
    "\\\\u003cb\\\\u003e' + alert(1) + '",
    "&lt;b&gt;",
]


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
        site = Site(
            "A",
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
        state = MapState(
            label=words,
            view=spot_view(0, 0, zoom=3),
            places=place_marks([spot]),
            building=building_layer(house(name=words), Spot(0, 0)),
            neighbours=neighbours_layer([([(0, 0), (1, 0), (1, 1)], 6.0, words)], Spot(0, 0), wall_height=6),
            notice=words,
        ).data()
        text = json.dumps(state, ensure_ascii=False, allow_nan=False)
        assert "\u202e" not in text
        assert "\x00" not in text
        assert len(state["places"][0]["name"]) <= 60
        assert len(text) < 12_000

    def test_a_message_to_the_browser_stays_small(self):
        state = MapState(
            label="x",
            view=box_view(south=0, west=0, north=1, east=1),
            building=building_layer(house(), Spot(0, 0)),
        ).data()
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


@pytest.fixture
def sent(monkeypatch):
    """What the browser is sent for a state, the whole of it."""
    pytest.importorskip("streamlit_folium")
    import streamlit_folium

    monkeypatch.setattr(streamlit_folium, "_component_func", lambda **arguments: arguments)
    return lambda state: streamlit_folium.st_folium(**map_arguments(state), key="map")


class Markup(html.parser.HTMLParser):
    """Tags, attributes and words of a piece of HTML."""

    def __init__(self, given):
        super().__init__()
        self.tags, self.attributes, self.words = set(), set(), ""
        self.feed(given)
        self.close()

    def handle_starttag(self, tag, attributes):
        self.tags.add(tag)
        self.attributes |= {name for name, _ in attributes}

    def handle_data(self, data):
        self.words += data


def pieces_of_markup(script):
    """Every string a script hands over as markup: tips, icons, legend and notice."""
    found = re.findall(r"bindTooltip\(\s*`(.*?)`,", script, flags=re.S)
    found += [json.loads(words) for words in re.findall(r'"html": (".*?"),\n', script)]
    told = json.loads(json.loads(re.search(r"JSON\.parse\((\".*\")\)\);", script)[1]))
    return [*found, told["legend"], told["notice"]], told


class TestWhatIsDrawn:
    @pytest.mark.parametrize("words", HOSTILE)
    def test_names_arrive_as_the_text_they_are(self, sent, words):
        spot = SimpleNamespace(name=words, latitude=1.0, longitude=2.0, note=words)
        state = MapState(
            label=words,
            view=spot_view(0, 0, zoom=3),
            places=place_marks([spot], chosen=words),
            building=building_layer(house(name=words), Spot(0, 0)),
            neighbours=neighbours_layer([([(0, 0), (1, 0), (1, 1)], 6.0, words)], Spot(0, 0), wall_height=6),
            notice=words,
        ).data()
        script = sent(state)["feature_group"]
        pieces, told = pieces_of_markup(script)
        read = [Markup(piece) for piece in pieces]
        assert set().union(*(one.tags for one in read)) <= {
            "div", "span", "b", "i", "small", "svg", "circle", "text", "rect"
        }  # fmt: skip
        assert not {name for one in read for name in one.attributes if name.startswith(("on", "src", "href"))}
        texts = [one.words.strip() for one in read]
        name = state["places"][0]["name"]
        for shown in (
            f"11 {name}, {name}, chosen" if name else "11 , chosen",  # disc, and what is told besides
            state["building"]["name"],
            state["neighbours"][0]["words"],
            state["notice"] or "",
        ):
            assert shown in texts
        assert told["label"] == state["label"]
        assert "</script" not in script

    def test_each_part_is_drawn_where_it_is(self, sent):
        spot = SimpleNamespace(name="A", latitude=1.5, longitude=2.5, note="")
        site = Site("A", latitude=1.0, longitude=2.0, terrain="II")
        state = MapState(
            label="x",
            view=spot_view(1, 2, zoom=3),
            layer={"raster": {"uri": "data:image/png;base64,AAAA", "bounds": [[0, 1], [2, 3]]}},
            coast={"rings": [[[0.0, 1.0], [0.0, 2.0], [1.0, 1.0]]], "hide_sea": True},
            places=place_marks([spot]),
            point=(1.25, 2.25),
            building=building_layer(house(), Spot(1, 2)),
            rays=rays_layer([(0, 0, 9, 9, True), (0, 0, 9, -9, False), (0, 0, -9, 9, False)], Spot(1, 2)),
            ring=ground_ring(site),
        ).data()
        script = sent(state)["feature_group"]
        assert re.search(
            r'L\.imageOverlay\(\s*"data:image/png;base64,AAAA",\s*\[\[0, 1\], \[2, 3\]\]', script
        )
        assert re.search(r"L\.marker\(\s*\[1\.5, 2\.5\]", script)
        assert script.count("[1.25, 2.25]") == 3
        for wall in state["building"]["walls"]:
            assert script.count(json.dumps([wall["from"], wall["to"]])) == 2
            assert f'"color": "{wall["colour"]}"' in script
        for sector in state["ring"]["sectors"]:
            assert json.dumps(sector["outline"]) in script
        full, dashed = re.findall(r"L\.polyline\(\s*(\[\[\[.*\]\]\]),\s*(\{.*\})", script)
        assert [len(json.loads(lines)) for lines, _ in (full, dashed)] == [1, 2]
        assert json.loads(full[1])["dashArray"] is None
        assert json.loads(dashed[1])["dashArray"] == "3 5"
        # every pane a layer names is made by the map itself
        named = set(re.findall(r'"pane": "(\w+)"', script))
        made = set(re.findall(r'createPane\(\s*"(\w+)"', sent(state)["script"]))
        assert named == {"raster", "sea", "building", "ray", "ground"}
        assert named <= made

    def test_the_map_itself_stays_while_layers_change(self, sent):
        one = sent(MapState(label="x", view=spot_view(0, 0, zoom=3)).data())
        other = sent(MapState(label="y", view=spot_view(9, 9, zoom=5), point=(1, 2), drawing=True).data())
        assert one["key"] == other["key"]
        assert one["script"] == other["script"]
        assert one["feature_group"] != other["feature_group"]
        again = sent(MapState(label="x", view=spot_view(0, 0, zoom=3)).data())
        assert one["feature_group"] == again["feature_group"]

    @given(st.text(max_size=40))
    @settings(max_examples=60, deadline=None)
    def test_text_reads_back_as_it_was_cleaned(self, words):
        written = as_text(words)
        assert not set(written) & set("<>{}`'\"\\\\$%")
        from exposure.draw.lettering import clean

        assert Markup(written).words == clean(words)


class TestWhatItLoads:
    def test_the_page_of_the_map_loads_only_files_beside_it(self, sent):
        given = sent(MapState(label="x", view=spot_view(0, 0, zoom=3), notice=INVENTED_NOTICE).data())
        loaded = given["js_links"] + given["css_links"]
        assert len(loaded) == len(PARTS) == 6
        for address in loaded:
            up, served, name = address.split("/")
            assert (up, served) == ("..", "exposure.map.place_map.base_map")  # relative: under any base path
            assert (FOLDER / name).is_file(), name
        text = "".join(str(given[part]) for part in ("script", "header", "html", "feature_group"))
        assert not re.findall(r"(?:https?:)?//[a-z0-9]", text)

    def test_no_script_or_style_of_ours_names_a_server(self):
        for name in ("hand.js", "sketch.js", "region_page.js", "map.css", "land.js"):
            found = re.findall(r"(?:https?:)?//[a-z0-9][a-z0-9.-]+\.[a-z]{2,}", asset(name))
            assert found == [], name

    def test_online_background_is_the_only_address_and_off_by_default(self):
        common = {"label": "x", "view": spot_view(0, 0, zoom=3), "notice": INVENTED_NOTICE}
        assert "http" not in json.dumps(MapState(**common).data())
        assert MapState(**common).data()["tiles"] is None
        online = MapState(**common, online=True).data()
        assert re.findall(r"https?://[^/\"]+", json.dumps(online)) == ["https://tile.openstreetmap.org"]
        assert "OpenStreetMap contributors" in online["tiles"]["credit"]

    def test_markup_is_never_made_from_names(self):
        # the scripts build no code from words, and the only markup they set is legend and notice, escaped before
        for name in ("hand.js", "sketch.js", "region_page.js"):
            words = asset(name)
            for risk in ("insertAdjacentHTML", "outerHTML", "document.write", "eval(", "new Function"):
                assert risk not in words, (name, risk)
            assert set(re.findall(r"(\S+)\.innerHTML\s*=", words)) <= {"hand.legend", "hand.notice"}, name

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
