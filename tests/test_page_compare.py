"""Places compared on the page by files of the reader's own: opened beside the page, said before they are gone.

The comparison is made in this process; the browser's tests start the process of its own that the page starts.
"""

import json

import pytest
from builders import done_here

from exposure.assess.compare_sites import compare_sites
from exposure.assess.site_weather import GridWeather, OneRecord
from exposure.checks import RefusalError
from exposure.climate.request import Request
from exposure.page.choices import places_asked
from exposure.page.choices.compare_files import GRID, keep_files, leave_out_missing
from exposure.page.choices.compare_files import LIST as SITES
from exposure.page.choices.inputs import SpotInUse
from exposure.page.choices.session import RecordInUse
from exposure.page.choices.state import PageState
from exposure.page.field_names import cure_on_page
from exposure.page.forms.places_form import EXAMPLE_LIST
from exposure.page.work import compare_work
from tests.test_many_sites import LIST, WALL, grid, listed, weather
from tests.test_page import html, page

MINE = "file-0123456789ab"
SPOT = SpotInUse("Here", 48.0, -29.0, invented=False, line="")
STATE = PageState(at=(48.0, -29.0), record=MINE, reference=WALL.shape)


@pytest.fixture
def session(monkeypatch):
    """A session that holds a record, outside the page, and whose comparisons are made here."""
    held = {"own-records": {MINE: RecordInUse(MINE, "mine", "", weather(), invented=False)}}
    held["choice in force"] = STATE
    monkeypatch.setattr("streamlit.session_state", held)
    monkeypatch.setattr("streamlit.query_params", type("Address", (), {"from_dict": lambda *_: None})())
    monkeypatch.setattr(places_asked, "do_beside", done_here(compare_work))
    return held


def made(session, tell=lambda *_: None):
    asked = places_asked.asked_places(session["choice in force"], SPOT)
    found = places_asked.COMPARISONS.make(asked, tell)
    assert places_asked.COMPARISONS.kept.get(asked.key) is found
    return found


def figures(found) -> dict[str, float]:
    return {one["place"]: one["spell"] for one in json.loads(found.file("comparison.json"))["places"]}


def test_a_list_is_ranked_on_a_record_of_ones_own_and_has_its_limits(session):
    told = []
    keep_files(SITES, [("list.csv", LIST.encode())])
    found = made(session, lambda *one: told.append(one))
    same = compare_sites(listed(LIST), OneRecord(weather()), wall=WALL)  # without the page
    assert [name for name, *_ in found.shown["rows"]] == [one.name for one in same.ranked]
    assert figures(found) == {one.name: round(one.value, 1) for one in same.sites}
    shares = [share for share, _ in told]
    assert shares == sorted(shares)
    assert len(listed(EXAMPLE_LIST).sites) == 3
    with pytest.raises(RefusalError, match="at most 1 MB") as refused:
        keep_files(SITES, [("list.csv", b"x" * (2**20 + 1))])
    assert "1,048,577 bytes" in refused.value.came
    keep_files(SITES, [("list.csv", b"lat,lon\n" + b"1,2\n" * 501)])
    with pytest.raises(RefusalError, match="at most 500"):
        made(session)


def test_what_a_grid_does_not_say_is_told_on_the_page(session, tmp_path):
    path = grid(tmp_path / "grid.nc", [weather(seed, years=1) for seed in (1, 2, 3, 4)])
    keep_files(SITES, [("list.csv", LIST.encode())])
    keep_files(GRID, [("grid.nc", path.read_bytes())])
    session["choice in force"] = session["choice in force"].with_(grid_kind="gauge")
    as_gauge = figures(made(session))
    session["choice in force"] = session["choice in force"].with_(grid_kind="model")
    as_model = figures(made(session))
    for kind, said in (("gauge", as_gauge), ("model", as_model)):
        same = compare_sites(listed(LIST), GridWeather(path, Request(kind=kind)), wall=WALL)
        assert said == {one.name: round(one.value, 1) for one in same.sites}
    assert as_gauge != as_model  # traces below 0.1 mm count of a gauge alone
    session["choice in force"] = session["choice in force"].with_(grid_rain="since 00 UTC")
    with pytest.raises(RefusalError) as refused:  # its rain falls again within the day
        made(session)
    assert "How its rain adds up" in cure_on_page(refused.value)
    session["choice in force"] = session["choice in force"].with_(grid_rain="", grid_rows="number=3")
    with pytest.raises(RefusalError) as refused:
        made(session)
    assert "number" in refused.value.came


def test_files_that_are_gone_are_said_and_can_be_left_out(session):
    keep_files(SITES, [("list.csv", LIST.encode())])
    (mark,) = session["choice in force"].compare_files
    session["choice in force"] = session["choice in force"].with_(compare_files=(mark, "ground-0123456789ab"))
    with pytest.raises(RefusalError, match="does not hold: ground height"):
        places_asked.asked_places(session["choice in force"], SPOT)
    leave_out_missing()
    assert session["choice in force"].compare_files == (mark,)
    assert places_asked.asked_places(session["choice in force"], SPOT).title == "list.csv"
    keep_files(SITES, [])
    assert session["choice in force"].compare_files == ()


def test_after_a_reload_the_page_says_that_the_list_is_gone():
    app = page(view="compare", cf="list-0123456789ab")
    assert "does not hold: list of sites" in html(app)
    assert not [
        one for one in app.get("html") if 'class="lead"' in one.proto.body
    ]  # no ranking of other places
    assert [one.label for one in app.button if one.label == "Leave them out"]
