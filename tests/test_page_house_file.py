"""A building's file opened on the page counts as it counts in the terminal, and travels in the project file.

Expected figures come from the terminal's own calls on the same file, outside the page.
"""

import json
import sys
from datetime import date
from pathlib import Path

import pytest
import streamlit as st
from streamlit.testing.v1 import AppTest

from exposure.assess.from_files import assess_file
from exposure.checks import RefusalError
from exposure.page.choices.answer import find_answer
from exposure.page.choices.house_file import check_upload, place_in, words_in, words_of_upload
from exposure.page.choices.house_inputs import building_words
from exposure.page.choices.inputs import spot_in_use
from exposure.page.choices.own_files import BUILDING, read_own
from exposure.page.choices.project_file import open_project, write_project
from exposure.page.choices.query import from_query, to_query
from exposure.page.choices.session import OwnFile, RecordInUse
from exposure.page.choices.state import HouseFile, PageState
from exposure.page.forms.building_form import openings_told
from exposure.page.forms.record_form import ToldOfFile, read_record
from exposure.page.work import model_work
from exposure.wall.building_file import read_building, read_words
from tests.test_page import ROOT, words
from tests.test_page_own_record import drizzle, table

EXAMPLE = ROOT / "exposure" / "invented" / "example"
AWAY = (51.5, -3.2)  # far from the invented island
TOML = (
    (EXAMPLE / "house.toml")
    .read_text("utf-8")
    .replace("latitude = 48.435", "latitude = 51.5")
    .replace("longitude = -29.680", "longitude = -3.2")
)
RING = [[-3.2, 51.5], [-3.1998, 51.5], [-3.1998, 51.5001], [-3.2, 51.5001], [-3.2, 51.5]]
TOLD = {
    "name": "Long Barn", "height": 5.2, "storeys": 2, "roof": "gable", "ridge_height": 8.4, "eaves": 600,
    "gables": ["east"], "terrain": "III", "owner": "nobody",
}  # fmt: skip
FOOTPRINT = json.dumps(
    {"type": "Feature", "properties": TOLD, "geometry": {"type": "Polygon", "coordinates": [RING]}}
)
FILES = {"house.toml": TOML, "barn.geojson": FOOTPRINT}


@pytest.fixture(scope="module")
def own() -> RecordInUse:
    return read_record(table(drizzle()), "mine.csv", ToldOfFile(kind="reanalysis"), None, lambda *_: None)


def opened(name: str, own: RecordInUse, monkeypatch) -> PageState:
    """The choice after the file was opened on the page."""
    text = words_of_upload(FILES[name].encode(), name)
    file = read_own(BUILDING, text.encode(), name)
    session = {"own-records": {own.mark: own}, "own-files": {file.mark: file}}
    monkeypatch.setattr("streamlit.session_state", session)
    return PageState(at=place_in(words_in(text)), record=own.mark, building=HouseFile(file.mark))


@pytest.mark.parametrize("name", FILES)
def test_a_file_gives_on_the_page_what_it_gives_in_the_terminal(name, own, monkeypatch, tmp_path):
    path = tmp_path / name
    path.write_text(FILES[name])
    expected, surveyed = assess_file(path, own.climate)
    found = find_answer(opened(name, own, monkeypatch))
    assert found.surveyed.words["roof"] == surveyed.words["roof"]
    assert found.site.categories == surveyed.site.categories
    assert len(expected.elevations) == len(found.assessment.elevations) >= 4
    for one, other in zip(expected.elevations, found.assessment.elevations, strict=True):
        assert (one.wall.name, one.wall.shape, one.wall.height) == (
            other.wall.name, other.wall.shape, other.wall.height,
        )  # fmt: skip
        assert other.wall_spell_index == pytest.approx(one.wall_spell_index, rel=1e-6)
    for flag in expected.flags:
        assert flag in found.assessment.flags


def test_what_a_footprint_tells_of_roof_and_ground_counts_and_the_rest_is_told(own, monkeypatch):
    found = find_answer(opened("barn.geojson", own, monkeypatch))
    walls = {wall.name: wall for wall in found.building.walls}
    assert "gable" in walls["east"].shape
    assert walls["east"].height == 8.4
    assert "gable" not in walls["west"].shape
    assert not [one for wall in walls.values() for one in wall.untold if one.what == "eaves"]
    assert set(found.site.categories) == {"III"}
    assert any("owner" in flag for flag in found.assessment.flags)
    assert found.building.name == "Long Barn"
    assert not found.invented or found.record.invented


def test_the_readers_words_on_the_page_count_before_the_files(own, monkeypatch):
    state = opened("house.toml", own, monkeypatch).with_(
        ground="4" * 12, details=(("near.south-west", "25"), ("parapet", "yes"))
    )
    told = building_words(state, spot_in_use(state))
    assert set(told["place"]["terrain"].values()) == {"IV"}
    assert told["place"]["sector"] == {"240": {"topography": 1.1}}
    assert told["wall"]["south-west"] == {"overhang": 350, "obstacle_distance": 25.0}
    assert told["details"]["parapet"] is True
    assert told["details"]["window_position"] == "at the sheathing"  # of the file


def test_moved_the_house_keeps_its_shape_and_leaves_its_ground(own, monkeypatch, tmp_path):
    path = tmp_path / "barn.geojson"
    path.write_text(FOOTPRINT)
    at_home = {wall.name: wall.length for wall in read_building(path).building.walls}
    state = opened("barn.geojson", own, monkeypatch).with_(at=(58.0, -3.2))
    found = find_answer(state)
    for wall in found.building.walls:
        assert wall.length == pytest.approx(at_home[wall.name], abs=0.05)
    assert set(found.site.categories) == {"I"}  # not told: the harder side


def test_a_mark_this_session_does_not_hold_is_refused_though_another_had_it(own, monkeypatch):
    state = opened("house.toml", own, monkeypatch)
    find_answer(state)
    st.session_state["own-files"] = {}
    with pytest.raises(RefusalError, match="does not hold"):
        find_answer(state)


def test_the_address_and_the_project_carry_it():
    text = words_of_upload(TOML.encode(), "house.toml")
    file = read_own(BUILDING, text.encode(), "house.toml")
    state = PageState(building=HouseFile(file.mark), at=AWAY)
    assert from_query(to_query(state)) == state
    saved = write_project(state, record_title="x", made=date(2026, 11, 25), files=(file,))
    again = open_project(saved.encode())
    assert (again.state, again.files) == (state, (file,))


@pytest.mark.parametrize(
    ("name", "content", "came"),
    [
        ("house.toml", b"a = 1", "a"),
        ("house.toml", b"[[[", "not sound TOML"),
        ("house.json", b"[" * 60_000, "not sound JSON"),
        ("house.gpkg", b"SQLite format 3\0" + bytes(200), "house"),
        ("house.vrt", b"<OGRVRTDataSource/>", "vrt"),
        ("house.toml", b"#" * 1_000_001, "1,000,001 bytes"),
        ("house.toml", TOML.replace("height = 5.6", "height = 18").encode(), "18 m"),
    ],
)
def test_a_file_that_is_no_building_is_refused_in_three_parts(name, content, came):
    with pytest.raises(RefusalError) as refused:
        words_of_upload(content, name)
    assert came in refused.value.came
    assert refused.value.expected
    assert refused.value.cure


@pytest.fixture(scope="module")
def model(tmp_path_factory):
    """A model of a box of 12 by 8 m with two windows alike and a door."""
    pytest.importorskip("ifcopenshell")
    from test_model_file import House

    house = House(name="<b>Mill").north(0, 1)
    for at in (2, 5):
        house.opening("IfcWindow", "Kitchen", house.walls[0, 0], (at, 0), (12, 0), (1.2, 1.05))
    house.opening("IfcDoor", "Back door", house.walls[0, 1], (12, 3), (12, 8), (0.9, 2.1))
    return house.saved(tmp_path_factory.mktemp("model"))


def test_a_model_is_read_beside_the_page_as_the_terminal_reads_it(model):
    told = []
    text = words_of_upload(model.read_bytes(), "Mill.IFC", tell=lambda *how: told.append(how))
    expected = json.loads(json.dumps(read_words(model), default=str))
    assert words_in(text) == expected
    assert told
    # by hand: two windows of one size in the south wall, one door in the east wall
    assert openings_told(words_in(text)).splitlines()[1:] == [
        "south,1200,1050,2,no,",
        "east,900,2100,1,yes,",
    ]
    assert openings_told({**expected, "openings": []}) == ""


def test_a_reading_that_is_stopped_ends(model):
    class Stop(Exception):
        pass

    def stop(*_):
        raise Stop

    with pytest.raises(Stop):
        words_of_upload(model.read_bytes(), "mill.ifc", tell=stop)


@pytest.mark.parametrize(
    ("content", "which", "words"),
    [(b"hello", "", "no IFC text"), (None, "Barn", "0 of them 'Barn'")],
)
def test_a_model_that_is_none_is_refused_by_its_process(model, tmp_path, content, which, words):
    (tmp_path / "house.ifc").write_bytes(content or model.read_bytes())
    with pytest.raises(RefusalError, match=words):
        model_work.read_model({"model": "house.ifc", "which": which}, tmp_path, lambda *_: None)
    assert not (tmp_path / model_work.WORDS).exists()


def test_a_model_too_large_or_without_the_packages_is_told_in_plain_words(model, tmp_path, monkeypatch):
    check_upload(50_000_000, "house.ifc")
    with pytest.raises(RefusalError, match="50,000,001 bytes"):
        check_upload(50_000_001, "house.ifc")
    (tmp_path / "house.ifc").write_bytes(model.read_bytes())
    monkeypatch.setitem(sys.modules, "ifcopenshell", None)
    with pytest.raises(RefusalError, match="not installed") as refused:
        model_work.read_model({"model": "house.ifc", "which": ""}, tmp_path, lambda *_: None)
    assert "write a house file" in refused.value.cure


def test_a_markup_in_a_file_is_only_text(own):
    hostile = '<img src=x onerror=\\"1\\">'
    text = words_of_upload(TOML.replace('"Wrack House"', f'"{hostile}"').encode(), "house.toml")
    file = OwnFile(BUILDING, "<b>house.toml", text)
    app = AppTest.from_file(str(Path(ROOT) / "app.py"), default_timeout=120)
    app.query_params["b"] = f"file.{file.mark}"
    app.query_params["at"] = "51.5,-3.2"
    app.query_params["w"] = own.mark
    app.session_state["own-records"] = {own.mark: own}
    app.session_state["own-files"] = {file.mark: file}
    app.run()
    assert not app.exception
    raw = "\n".join(part.proto.body for part in app.get("html"))
    assert "<img src=x" not in raw
    assert "<b>house" not in raw
    assert "In force: <b>house.toml." in words(app).replace("&lt;", "<") or "&lt;b&gt;house.toml" in raw
    assert "is worst" in words(app)
