"""A town on the page: what it says is what the same call says outside the page, and what it refuses or stops.

The town is worked out in this process; one test starts the process of its own that the page starts.
"""

import json
import re
import tempfile
from pathlib import Path

import pytest
import shapely
from builders import done_here
from site_world import weather
from streamlit.testing.v1 import AppTest

from exposure.checks import RefusalError
from exposure.district import assess_district
from exposure.district.shares import shares_of
from exposure.page.choices import town_asked
from exposure.page.choices.session import RecordInUse
from exposure.page.choices.state import PageState
from exposure.page.work import town_work
from exposure.page.work.long_work import Stopped
from exposure.page.work.town_work import MAP
from exposure.paper.district_page import answer, hardest_hit, share_rows
from exposure.site.plane import LocalPlane

ROOT = Path(__file__).parents[1]
HOSTILE = '"><script>alert(1)</script>'
MARK = "file-0123456789ab"


@pytest.fixture(scope="module")
def record():
    return RecordInUse(MARK, "made.csv", "gauge", weather(years=5), invented=False)


@pytest.fixture(scope="module")
def footprints():
    """Two houses and an outline that crosses itself, one of them called by a script."""
    plane = LocalPlane(latitude=50.0, longitude=8.0)

    def feature(name, ring, **told):
        east, north = zip(*ring, strict=True)
        longitude, latitude = plane.to_crs(list(east), list(north), crs="EPSG:4326")
        corners = [list(one) for one in zip(longitude, latitude, strict=True)]
        shape = {"type": "Polygon", "coordinates": [[*corners, corners[0]]]}
        return {"type": "Feature", "geometry": shape, "properties": {"name": name, **told}}

    box = [(0, 0), (12, 0), (12, 9), (0, 9)]
    features = [
        feature("Mill", box, height=6, storeys=2, roof="hip", eaves=350),
        feature(HOSTILE, [(x + 40, y + 60) for x, y in box], roof="flat"),
        feature("Knot", [(100, 0), (112, 9), (112, 0), (100, 9)], height=6),
    ]
    return json.dumps({"type": "FeatureCollection", "features": features}).encode()


@pytest.fixture
def session(monkeypatch, record):
    """A session that holds the record, outside the page, and whose town is worked out here."""
    held = {"own-records": {MARK: record}}
    monkeypatch.setattr("streamlit.session_state", held)
    monkeypatch.setattr("streamlit.session_state", held)
    monkeypatch.setattr(town_asked, "do_beside", done_here(town_work))
    return held


def ask(content, name="town.geojson", **choices):
    mark = town_asked.keep_file(town_asked.TOWNS, name, content)
    return town_asked.asked_town(PageState(record=MARK, town=mark, **choices))


def test_the_page_says_what_the_same_call_says_outside_it(session, footprints, record, tmp_path):
    told = []
    asked = ask(footprints, town_height=7.5, town_ground="III")
    found = town_asked.TOWNS_MADE.make(asked, lambda *one: told.append(one))
    (tmp_path / "town.geojson").write_bytes(footprints)
    district = assess_district(tmp_path / "town.geojson", record.climate, default_height=7.5, terrain="III")
    shares = shares_of(district)
    assert found.shown["lead"] == answer(shares)
    assert found.shown["shares"] == share_rows(shares)
    data = re.search(r'<script type="application/json" id="data">(.*?)</script>', found.words_of(MAP), re.S)
    houses = json.loads(data[1])["houses"]
    listed = zip(houses["name"], houses["facing"], houses["spell"], houses["words"], strict=True)
    plain = [[word.replace("\u00a0", " ") for word in row] for row in hardest_hit(district)]
    assert sorted(map(list, listed)) == sorted(plain)
    assert set(houses["name"]) == {"Mill", HOSTILE}
    assert found.shown["left_out_count"] == 1
    assert "Knot" in found.shown["left_out"][0]
    assert not found.shown["invented"]
    assert town_asked.TOWNS_MADE.kept.get(asked.key) is found
    shares_told = [share for share, _ in told]
    assert shares_told == pytest.approx(sorted(shares_told))
    assert len(shares_told) > 4


def test_its_files_open_and_keep_names_as_text(session, footprints):
    import geopandas

    found = ask(footprints, town_height=7.5).make(lambda *_: None)
    with tempfile.NamedTemporaryFile(suffix=".gpkg") as file:
        file.write(found.bytes_of("district.gpkg"))
        file.flush()
        buildings = geopandas.read_file(file.name, layer="buildings")
    assert set(buildings["name"]) == {"Mill", HOSTILE}
    assert found.bytes_of("walls.csv").count(b"\n") == 1 + 8  # four walls each
    assert b"Knot" in found.bytes_of("left_out.csv")
    for page in (found.bytes_of(town_work.PRINT).decode(), found.words_of(town_work.MAP)):
        assert "<script>alert" not in page
    assert "src=" not in found.words_of(town_work.MAP).partition("<script")[0]


def test_areas_and_squares_sum_the_walls(session, footprints):
    around = shapely.box(7.9999, 49.9999, 8.0003, 50.0002)  # the Mill alone
    areas = json.dumps(
        {
            "type": "Feature",
            "properties": {"name": "Riverside"},
            "geometry": json.loads(shapely.to_geojson(around)),
        }
    ).encode()
    mark = town_asked.keep_file(town_asked.AREAS, "areas.geojson", areas)
    found = ask(footprints, town_height=7.5, town_areas=mark, town_squares=250.0).make(lambda *_: None)
    assert [row[:2] for row in found.shown["shares"]] == [["all walls", "2"], ["Riverside", "1"]]
    found = ask(footprints, town_height=7.5, town_squares=100.0).make(lambda *_: None)
    assert sum(int(row[2]) for row in found.shown["shares"][1:]) == 8


@pytest.mark.parametrize(
    ("content", "came"),
    [
        (b"PK\x03\x04 not a map", "cannot be read as footprints"),
        (b'{"type": "FeatureCollection", "features": []}', "holds no footprint"),
        (b'{"type": "Point", "coordinates": [8, 50]}', "can be used|no sound polygon"),
    ],
)
def test_a_file_that_is_no_town_is_refused(session, content, came):
    with pytest.raises(RefusalError, match=came):
        ask(content).make(lambda *_: None)


def test_too_large_and_empty_files_are_refused_before_they_are_read(session, monkeypatch):
    monkeypatch.setattr(town_asked, "LARGEST", 0.00001)
    with pytest.raises(RefusalError, match="a file of 11 bytes"):
        town_asked.keep_file(town_asked.TOWNS, "x.gpkg", b"x" * 11)
    with pytest.raises(RefusalError, match="a file of 0 bytes"):
        town_asked.keep_file(town_asked.TOWNS, "x.gpkg", b"")


def test_more_buildings_than_the_page_takes_are_refused(session, footprints, monkeypatch):
    monkeypatch.setattr(town_work, "MOST", 2)
    with pytest.raises(RefusalError, match="holds 3 buildings") as refused:
        ask(footprints).make(lambda *_: None)
    assert refused.value.expected == "at most 2"


def test_a_stopped_town_leaves_nothing_but_its_tiles(session, footprints, tmp_path, monkeypatch):
    monkeypatch.setattr(tempfile, "tempdir", str(tmp_path))
    asked = ask(footprints, town_height=7.25)

    def tell(share, _words):
        if share > 0.55:  # the tile is done, the weather is not
            raise Stopped

    with pytest.raises(Stopped):
        town_asked.TOWNS_MADE.make(asked, tell)
    assert not list(tmp_path.glob("exposure-town-*"))
    assert town_asked.TOWNS_MADE.kept.get(asked.key) is None
    assert list(Path(town_asked._tiles().name).glob("tile-*"))


def test_an_address_names_a_file_that_is_not_here(session):
    with pytest.raises(RefusalError, match="this session does not hold"):
        town_asked.asked_town(PageState(record=MARK, town="town-0123456789ab"))
    with pytest.raises(RefusalError, match="does not hold"):
        town_asked.asked_town(PageState(record="file-ba9876543210", town="invented"))
    assert town_asked.asked_town(PageState()) is None


@pytest.mark.slow
def test_the_view_shows_the_answer_of_a_process_beside_the_page(record, footprints):
    """Through the page itself: a file held by the session, its process, then answer, tables and files."""
    import time

    app = AppTest.from_file(str(ROOT / "app.py"), default_timeout=120)
    app.query_params["view"] = "town"
    app.query_params["w"] = MARK
    app.session_state["own-records"] = {MARK: record}
    app.run()
    assert not app.exception
    assert "Which walls of this town are hit hardest?" in html(app)
    app.session_state[town_asked.FILES.key] = {"town-0123456789ab": town_asked.TownFile("t.json", footprints)}
    app.session_state["choice in force"] = PageState(
        view="town", record=MARK, town="town-0123456789ab", town_height=7.5
    )
    for _ in range(120):
        app.run()
        assert not app.exception
        if 'class="lead"' in html(app):
            break
        time.sleep(0.5)
    said = html(app)
    assert "is severe or very severe" in said
    assert "<script>" not in said
    drawn = "".join(one.proto.srcdoc for one in app.get("iframe"))
    assert "\\u003cscript\\u003ealert(1)" in drawn  # a name in the list beside the map, as data
    assert "<script>alert" not in drawn
    assert "Knot" in said
    assert any(one.proto.label == "Save as GeoPackage" for one in app.get("download_button"))


def html(app):
    return "\n".join(part.proto.body for part in app.get("html"))


def test_buildings_are_summed_by_a_property_that_is_named(session, footprints):
    table = json.loads(footprints)
    for one, homes in zip(table["features"], (4, 6, 90), strict=True):
        one["properties"][HOSTILE] = homes
    found = ask(json.dumps(table).encode(), town_height=7.5, town_weight=HOSTILE).make(lambda *_: None)
    assert (
        found.shown["weights"][0][1] == "10"
    )  # by hand: 4 and 6; the knot's 90 have no answer, which is told
    assert any("hold 90" in one for one in found.shown["doubts"])
    assert "<script>alert" not in found.bytes_of(town_work.PRINT).decode()


def test_a_town_that_is_gone_is_refused_above_the_line_that_changes_it():
    app = AppTest.from_file(str(ROOT / "app.py"), default_timeout=120)
    app.query_params["view"] = "town"
    app.query_params["t"] = "town-0123456789ab"
    said = html(app.run())
    assert "this session does not hold" in said
    assert said.index("this session does not hold") < said.index("This town gives no answer yet.")
    assert "No town is chosen" not in said
