"""Both maps in a real browser: the file that stands alone, and the part of the page that sends clicks."""

import http.server
import json
import re
import threading
from pathlib import Path

import numpy as np
import pytest
import shapely
import streamlit_folium
import xarray as xr

from exposure.draw.outline_sides import sides_of
from exposure.invented.geography import island
from exposure.map.base_map import FOLDER
from exposure.map.map_layers import place_marks, raster_layer
from exposure.map.place_map import INVENTED_NOTICE, MapState, box_view, map_arguments, read_click
from exposure.map.region_map import draw_region_map
from exposure.page.choices.outline_text import outline_of_ring

pytestmark = [
    pytest.mark.browser,
]
PARENT = b"""<!DOCTYPE html><html lang="en"><title>Parent</title><link rel="icon" href="data:,"><body style="margin:0">
<iframe id="f" title="Map" style="border:0;width:100%;height:480px" src="component/streamlit_folium.st_folium/index.html"></iframe><script>
window.got = []; window.ready = false; window.height = 0;
addEventListener("message", function (event) {
  if (event.data.type === "streamlit:componentReady") window.ready = true;
  if (event.data.type === "streamlit:setFrameHeight") window.height = event.data.height;
  if (event.data.type === "streamlit:setComponentValue") window.got.push(event.data.value);
});
function send(args) {
  document.getElementById("f").contentWindow.postMessage({ type: "streamlit:render", args: args, dfs: [] }, "*");
}
</script></body></html>"""
HOSTILE = '<img src=x onerror="window.parent.broken=1;window.broken=1">"\u202e'


class Spot:
    def __init__(self, name, latitude, longitude, note=""):
        self.name, self.latitude, self.longitude, self.note = name, latitude, longitude, note


def region():
    values = np.arange(2 * 5 * 5, dtype=float).reshape(2, 5, 5) * 10 + 100
    return xr.Dataset(
        {"airfield_annual_index": (("orientation", "latitude", "longitude"), values)},
        {
            "orientation": [0.0, 180.0],
            "latitude": 50 + 0.1 * np.arange(5),
            "longitude": -20 + 0.1 * np.arange(5),
        },
        {"kind": "invented", "source": HOSTILE, "flags": [HOSTILE]},
    )


class Watched:
    """A browser page that keeps every request that leaves the machine and every error."""

    def __init__(self, browser, allowed, width=1100):
        self.page = browser.new_page(viewport={"width": width, "height": 800})
        self.outside, self.errors = [], []
        self.page.on(
            "request",
            lambda request: None if request.url.startswith(allowed) else self.outside.append(request.url),
        )
        self.page.on("pageerror", lambda error: self.errors.append(str(error)))
        self.page.on(
            "console", lambda message: self.errors.append(message.text) if message.type == "error" else None
        )

    def clean(self):
        assert self.outside == []
        assert self.errors == []
        assert self.page.evaluate("window.broken === undefined")


FOLDERS = {  # as the page's own server lays them out
    "streamlit_folium.st_folium": Path(streamlit_folium.__file__).parent / "frontend" / "build",
    "exposure.map.place_map.base_map": FOLDER,
}


@pytest.fixture
def served():
    class Handler(http.server.SimpleHTTPRequestHandler):
        def do_GET(self):
            if self.path != "/under/a/path/parent.html":
                super().do_GET()
                return
            self.send_response(200)
            self.send_header("Content-Type", "text/html")
            self.end_headers()
            self.wfile.write(PARENT)

        def translate_path(self, path):
            component, _, file = (
                path.partition("?")[0].removeprefix("/under/a/path/component/").partition("/")
            )
            return str(FOLDERS.get(component, FOLDER / "none") / file)

        def log_message(self, *words):
            pass

    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield f"http://127.0.0.1:{server.server_port}/under/a/path"
    server.shutdown()


@pytest.fixture
def send(monkeypatch):
    """Sends a page the arguments a state gives, as Streamlit sends them."""
    monkeypatch.setattr(streamlit_folium, "_component_func", lambda **arguments: arguments)

    def sent(page, state):
        given = streamlit_folium.st_folium(**map_arguments(state), key="map")
        given = {name: value for name, value in given.items() if name not in ("key", "on_change")}
        page.evaluate("args => send(args)", json.loads(json.dumps(given)))

    return sent


@pytest.mark.parametrize("width", [1100, 390])
def test_the_file_that_stands_alone(browser, tmp_path, width):
    target = tmp_path / "map.html"
    places = [Spot(HOSTILE, 50.1, -19.9, HOSTILE), Spot("Two", 50.3, -19.7)]
    target.write_text(draw_region_map(region(), title=f"Rain {HOSTILE}", places=places), encoding="utf-8")
    watched = Watched(browser, ("file:", "data:"), width)
    page = watched.page
    page.goto(target.as_uri())
    page.wait_for_selector("img.exposure-raster")
    assert page.locator(".exposure-place").count() == 2
    assert page.locator(".exposure-place b").first.text_content().startswith("<img src=x")
    assert "Invented" in page.locator(".exposure-notice").text_content()
    # the place's pin lies on its cell: screen position asked of the map itself
    corner = page.evaluate("exposureShown.map.latLngToContainerPoint([50.3, -19.7])")
    box, holder = page.locator(".exposure-pin").nth(1).bounding_box(), page.locator("#map").bounding_box()
    circle = page.locator(".exposure-pin circle").nth(1).bounding_box()
    assert box
    assert circle["x"] + circle["width"] / 2 == pytest.approx(holder["x"] + corner["x"], abs=3)
    assert circle["y"] + circle["height"] / 2 == pytest.approx(holder["y"] + corner["y"], abs=3)
    before = page.locator("#said").text_content()
    page.select_option("#facing", "180")
    assert page.locator("#said").text_content() != before
    # by hand: facing 180 the field starts at 350; 50.1 N is row 1, 19.9 W column 1, so 350 + 10 * 6
    assert page.locator("#places tbody tr").first.locator("td").last.text_content() == "410"
    assert page.evaluate("document.documentElement.scrollWidth <= window.innerWidth")
    watched.clean()
    page.close()


def test_land_is_where_the_world_has_it(browser, served):
    # spots known from any atlas; 10 degrees east of 180 is Chukotka, which the file cuts in two
    watched = Watched(browser, (served, "data:"))
    watched.page.goto(f"{served}/parent.html")
    watched.page.add_script_tag(url=f"{served}/component/exposure.map.place_map.base_map/land.js")
    rings = watched.page.evaluate("window.exposureLand")
    land = shapely.union_all([shapely.make_valid(shapely.Polygon(one[0], one[1:])) for one in rings])
    for name, longitude, latitude, is_land in [
        ("Moscow", 37.6, 55.8, True),
        ("Chukotka, counted east", 185.0, 66.8, True),
        ("Chukotka, counted west", -175.0, 66.8, True),
        ("South Island", 170.5, -44.0, True),
        ("South Island, counted west", -189.5, -44.0, True),
        ("the pole", 0.0, -89.0, True),
        ("Caspian Sea", 51.0, 42.0, False),
        ("Arctic Ocean", 100.0, 84.0, False),
        ("South Pacific", 190.0, -50.0, False),
        ("Kara Sea", 65.0, 75.5, False),
    ]:
        assert land.contains(shapely.Point(longitude, latitude)) == is_land, name
    invented = shapely.Point(island()["longitude"], island()["latitude"])
    assert land.distance(invented) > 5  # degrees: an empty stretch of ocean
    watched.clean()
    watched.page.close()


def test_a_click_is_told_at_once_and_names_stay_text(browser, served, send):
    watched = Watched(browser, (served, "data:"))
    page = watched.page
    page.goto(f"{served}/parent.html")
    page.wait_for_function("window.ready")
    state = MapState(
        label=HOSTILE,
        view=box_view(south=50, west=-20, north=50.4, east=-19.6),
        layer=raster_layer(region(), quantity="airfield_annual_index"),
        places=place_marks([Spot(HOSTILE, 50.1, -19.9, HOSTILE)]),
        notice=INVENTED_NOTICE,
    ).data()
    send(page, state)
    frame = page.frame_locator("#f")
    frame.locator("img.exposure-raster").wait_for()
    assert page.evaluate("window.height") == 480
    inner = page.frames[1]
    spot = inner.evaluate("exposureShown.map.latLngToContainerPoint([50.25, -19.65])")
    page.mouse.click(spot["x"], spot["y"])
    page.wait_for_function("window.got.length === 1", timeout=2000)
    click = read_click(page.evaluate("window.got[0]"))
    assert click.kind == "point"
    assert click.latitude == pytest.approx(50.25, abs=0.005)
    assert click.longitude == pytest.approx(-19.65, abs=0.005)

    pin = frame.locator(".exposure-pin").first
    pin.focus()  # the keyboard reaches a place too
    page.keyboard.press("Enter")
    page.wait_for_function("window.got.length === 2", timeout=2000)
    place = read_click(page.evaluate("window.got[1]"))
    assert (place.kind, place.latitude) == ("place", 50.1)
    assert place.name.startswith("<img src=x")
    assert pin.get_attribute("role") == "button"

    # a view the user moved stays when the state changes but its view does not
    inner.evaluate("exposureShown.map.setZoom(12, { animate: false })")
    send(page, {**state, "point": {"latitude": 50.2, "longitude": -19.8}})
    page.wait_for_timeout(150)
    assert inner.evaluate("exposureShown.map.getZoom()") == 12
    watched.clean()
    page.close()


STILL = """() => {  // the same ground under the same pixels for half a second: its height was told and taken
    const now = JSON.stringify([exposureShown.map.getSize(), exposureShown.map.getBounds().toBBoxString()]);
    if (window.seen !== now) { window.seen = now; window.since = performance.now(); }
    return performance.now() - window.since > 500;
}"""


@pytest.fixture
def drawing(browser, served, send):
    """A map of 14 px a metre on which an outline is drawn, and what it sends."""
    watched = Watched(browser, (served, "data:"))
    page = watched.page
    page.goto(f"{served}/parent.html")
    page.wait_for_function("window.ready")
    send(
        page,
        MapState(label="x", view={"latitude": 50.0, "longitude": -20.0, "zoom": 20}, drawing=True).data(),
    )
    page.frame_locator("#f").get_by_role("button", name="Close outline").wait_for()
    page.frames[1].wait_for_function(STILL)
    yield page
    watched.clean()
    page.close()


def clicked(page, corners):
    for x, y in corners:
        page.mouse.move(x, y)
        page.mouse.click(x, y)
        page.wait_for_timeout(320)  # two quick clicks would be a double click, which closes


def test_a_drawn_footprint_arrives_with_its_corners(drawing):
    frame = drawing.frame_locator("#f")
    close = frame.get_by_role("button", name="Close outline")
    assert close.is_disabled()
    frame.get_by_role("button", name="Right angles").click()  # not held: corners stand where the hand was
    clicked(drawing, [(400, 200), (500, 210), (480, 300), (600, 300)])
    frame.get_by_role("button", name="Undo corner").click()
    close.click()
    drawing.wait_for_function("window.got.length === 1", timeout=2000)
    drawn = read_click(drawing.evaluate("window.got[0]"))
    assert drawn.kind == "footprint"
    assert len(drawn.ring) == 3
    inner = drawing.frames[1]
    for (latitude, longitude), (x, y) in zip(drawn.ring, [(400, 200), (500, 210), (480, 300)], strict=True):
        spot = inner.evaluate(f"exposureShown.map.latLngToContainerPoint([{latitude}, {longitude}])")
        assert (spot["x"], spot["y"]) == (pytest.approx(x, abs=1), pytest.approx(y, abs=1))


def test_a_drawn_outline_keeps_to_right_angles_and_tenths_of_a_metre(drawing):
    # zoom 20 at 50 degrees north: 40075 km x cos 50 / 2^28 = 0.096 m a pixel, so 120 px are 11.5 m
    frame = drawing.frame_locator("#f")
    clicked(drawing, [(400, 200), (520, 203)])
    sizes = frame.locator(".exposure-size")
    length, bearing = sizes.first.inner_text().removesuffix("°").split(" m, ")
    assert float(length) == pytest.approx(0.0960 * 120.04, abs=0.06)
    assert int(bearing) == 91  # by hand: 90 + atan(3 / 120)
    drawing.mouse.move(515, 290)
    assert frame.locator(".exposure-size").last.inner_text().endswith(" m, 181°")  # shown while drawing, held
    clicked(drawing, [(515, 290), (402, 280)])  # crooked: a hand's width off the square
    clicked(drawing, [(404, 204)])  # near the first corner: it closes
    drawing.wait_for_function("window.got.length === 1", timeout=2000)
    drawn = read_click(drawing.evaluate("window.got[0]"))
    (latitude, longitude), outline = outline_of_ring(np.array(drawn.ring))
    sides = sides_of(outline.corners)
    assert len(sides) == 4
    assert (latitude, longitude) == (pytest.approx(50.0, abs=1e-3), pytest.approx(-20.0, abs=1e-3))
    for one, other in zip(sides, [*sides[1:], sides[0]], strict=True):
        assert (other.bearing - one.bearing) % 360 == pytest.approx(90, abs=0.2)  # every corner square
        assert one.length * 10 == pytest.approx(round(one.length * 10), abs=0.25)  # corners are kept to 1 cm


def test_background_tiles_are_asked_for_only_when_switched_on_and_fail_unseen(browser, served, send):
    watched = Watched(browser, (served, "data:"))
    page = watched.page
    page.route("https://**", lambda route: route.abort())
    page.goto(f"{served}/parent.html")
    page.wait_for_function("window.ready")
    view = {"latitude": 50.0, "longitude": -20.0, "zoom": 8}
    send(page, MapState(label="x", view=view).data())
    page.frame_locator("#f").locator(".leaflet-control-zoom").wait_for()
    page.wait_for_timeout(300)
    watched.clean()
    send(page, MapState(label="x", view=view, online=True).data())
    page.wait_for_timeout(800)
    assert watched.outside
    assert {address.split("/")[2] for address in watched.outside} == {"tile.openstreetmap.org"}
    assert "OpenStreetMap" in page.frame_locator("#f").locator(".leaflet-control-attribution").text_content()
    page.close()


def test_hostile_names_of_every_kind_stay_text_and_nothing_runs(browser, served, send):
    watched = Watched(browser, (served, "data:"))
    page = watched.page
    page.goto(f"{served}/parent.html")
    page.wait_for_function("window.ready")
    evil = "`${window.broken=1}`{{ 7*7 }}" + HOSTILE
    side = {"from": [50.0, -20.0], "to": [50.0, -19.9], "colour": "#93507F", "worst": True, "words": evil}
    state = MapState(
        label=evil,
        view=box_view(south=49.9, west=-20.1, north=50.1, east=-19.8),
        building={"name": evil, "ring": [[50.0, -20.0], [50.0, -19.9], [49.95, -19.9]], "walls": [side]},
        neighbours=[{"ring": [[50.05, -20.0], [50.05, -19.9], [50.08, -19.9]], "counts": True,
                     "colour": "#9AA5A8", "words": evil}],
        places=place_marks([Spot(evil, 50.02, -20.05, evil)]),
        notice=evil,
    ).data()  # fmt: skip
    send(page, state)
    frame = page.frame_locator("#f")
    notice = frame.locator(".exposure-notice")
    notice.wait_for()
    assert notice.text_content() == state["notice"]
    assert "{{ 7*7 }}" in notice.text_content()
    assert frame.locator(".leaflet-container").get_attribute("aria-label") == state["label"]
    assert frame.locator(".exposure-place b").text_content() == state["places"][0]["name"]
    for at in ([50.065, -19.92], [50.02, -20.05]):  # tips are made when the pointer comes
        spot = page.frames[1].evaluate(f"exposureShown.map.latLngToContainerPoint({at})")
        page.mouse.move(spot["x"], spot["y"])
        page.wait_for_timeout(150)
        assert "<img src=x" in frame.locator(".exposure-hint").first.text_content()
        page.mouse.move(5, 300)
        page.wait_for_timeout(300)
    assert page.frames[1].evaluate(
        "window.broken === undefined && document.querySelector('img[src=x]') === null"
    )
    watched.clean()
    page.close()


@pytest.mark.parametrize("width", [1100, 390])
def test_the_map_can_be_told_by_ear_and_hit_by_a_thumb(browser, served, send, axe, width):
    watched = Watched(browser, (served, "data:"), width)
    page = watched.page
    page.goto(f"{served}/parent.html")
    page.wait_for_function("window.ready")
    state = MapState(
        label="Map of two places; chosen: Two.",
        view=box_view(south=50, west=-20, north=50.4, east=-19.6),
        layer=raster_layer(region(), quantity="airfield_annual_index"),
        places=place_marks([Spot("One", 50.1, -19.9, "a bay"), Spot("Two", 50.3, -19.7)], chosen="Two"),
        notice=INVENTED_NOTICE,
    ).data()
    send(page, state)
    frame = page.frame_locator("#f")
    frame.locator("img.exposure-raster").wait_for()
    frame.get_by_role(
        "button", name=re.compile(r"^1 One\W+a bay$")
    ).wait_for()  # heard on a phone too, where the eye sees the disc
    frame.get_by_role("button", name=re.compile(r"^2 Two\W+chosen$")).wait_for()
    for target in frame.locator(".leaflet-control-zoom a, .exposure-pin").all():
        box = target.bounding_box()
        assert box["height"] >= 44
        assert box["width"] >= 44
    assert frame.locator(".exposure-pin circle").first.bounding_box()["width"] >= 24
    page.frames[1].evaluate(axe)
    found = page.frames[1].evaluate("() => axe.run(document, {resultTypes: ['violations']})")
    assert len(found["passes"]) > 10
    faults = [(one["id"], one["impact"], one["nodes"][0]["html"][:160]) for one in found["violations"]]
    assert [fault for fault in faults if fault[1] in ("serious", "critical")] == []
    # hover: the figure of the cell; by hand: worst is facing 180, from 350; row 2, column 2 is 350 + 10 * 12
    spot = page.frames[1].evaluate("exposureShown.map.latLngToContainerPoint([50.2, -19.8])")
    page.mouse.move(spot["x"], spot["y"])
    assert frame.locator(".exposure-figure").text_content() == "470 L/m² a year, facing south"
    watched.clean()
    page.close()
