"""The page without a browser: what it says, what an address or a form changes, and what it refuses.

Expected figures come from the calls the terminal makes, on the same files, outside the page.
"""

import re
import subprocess
import sys
import tomllib
from collections.abc import Iterator
from html import unescape
from pathlib import Path

import pytest
from streamlit.testing.v1 import AppTest

from exposure.assess.from_files import assess_file
from exposure.checks import RefusalError
from exposure.cli.page_command import check_free, page_flags
from exposure.figures import litres_with_band
from exposure.invented import climate_at, invented_place
from exposure.page.choices.answer import find_answer, find_details
from exposure.page.choices.house_inputs import building_words
from exposure.page.choices.inputs import home_of, spot_in_use
from exposure.page.choices.outline_text import outline_of_ring, read_corners, read_sides, sides_text
from exposure.page.choices.state import House, PageState
from exposure.page.forms import place_form
from exposure.page.forms.record_form import ToldOfFile, read_record
from exposure.page.parts import take_along
from exposure.page.parts.folding import words_of
from exposure.paper.site_file import site_file_html
from exposure.site.position_text import read_position
from exposure.wall.building_file import read_building
from exposure.wall.building_words import building_from_words

ROOT = Path(__file__).parents[1]
HOSTILE = '"><script>alert(1)</script><img src=x onerror=alert(2)>'


@pytest.fixture(scope="module", autouse=True)
def made_place():
    """The invented place, made once; later runs find it in the cache."""
    return invented_place(progress=False)


def page(own_records: dict | None = None, **query: str) -> AppTest:
    """The page opened at an address, in a session that holds these records."""
    app = AppTest.from_file(str(ROOT / "app.py"), default_timeout=120)
    for name, value in query.items():
        app.query_params[name] = value
    if own_records:
        app.session_state["own-records"] = own_records
    return app.run()


def html(app: AppTest) -> str:
    """All HTML of the page's own."""
    return "\n".join(part.proto.body for part in app.get("html"))


def words(app: AppTest) -> str:
    """The words of that HTML, one space between."""
    plain = re.sub(r"<[^>]*>", " ", html(app))
    return re.sub(r"\s+", " ", unescape(plain).replace("\u00a0", " "))


def seen(app: AppTest, name: str) -> bool:
    """Whether the figures shown are of the elevation called ``name``."""
    return f'<h2 class="part">{name.capitalize()} ' in html(app)


@pytest.fixture(scope="module")
def desk() -> AppTest:
    return page()


@pytest.mark.parametrize("at", [None, home_of("Quern Bay")])
def test_the_invented_house_has_the_figures_of_its_file_to_the_last_digit(at):
    place = invented_place(progress=False)
    maps = {"ground": place.height, "cover": place.cover, "neighbours": place.houses}
    expected, _ = assess_file(
        place.houses,
        lambda site: climate_at(place, site.latitude, site.longitude),
        name="Wrack House",
        **maps,
    )
    found = find_answer(PageState(at=at)).assessment
    assert [one.wall.name for one in found.elevations] == [one.wall.name for one in expected.elevations]
    for mine, its in zip(found.elevations, expected.elevations, strict=True):
        assert mine.wall_spell_index == pytest.approx(its.wall_spell_index, rel=1e-9)
        assert mine.wall_annual_index == pytest.approx(its.wall_annual_index, rel=1e-9)
        assert mine.spell_band == pytest.approx(its.spell_band, rel=1e-9)
        assert mine.in_words == its.in_words


def test_desk_answers_first(desk):
    assert not desk.exception
    said = words(desk)
    assert said.index("South-west is worst: very severe.") < said.index("What to doubt")
    assert "Not used" not in said
    assert "Invented place, building and weather: do not build from it" in said
    assert "Local codes, the makers' instructions and licensed practice decide" in said
    for closed in ("Factors of the", "In this order", "Order of work at a window"):
        assert closed not in said


def test_one_part_is_open_at_a_time():
    said = words(page(part="why"))
    assert "Factors of the south-west elevation" in said
    assert "Order of work at a window" not in said
    app = page(part="work")
    assert "Order of work at a window" in words(app)
    chips = next(one for one in app.get("button_group") if one.key.startswith("chip"))
    chips.set_value("eaves").run()
    assert app.query_params["part"] == "eaves"
    assert "Order of work at a window" not in words(app)
    assert any(one.key == "roof-eaves" for one in app.number_input)
    chips = next(one for one in app.get("button_group") if one.key.startswith("chip"))
    chips.set_value(None).run()  # pressed again it closes
    assert "part" not in app.query_params
    assert not any(one.key == "roof-eaves" for one in app.number_input)


def test_desk_says_what_the_same_calls_say_outside_the_page(desk, made_place):
    assessment, _ = assess_file(
        made_place.houses,
        lambda site: climate_at(made_place, site.latitude, site.longitude),
        name="Wrack House",
        ground=made_place.height,
        cover=made_place.cover,
        neighbours=made_place.houses,
    )
    said = words(desk)
    for one in assessment.elevations:
        figure = litres_with_band(one.wall_spell_index, one.spell_band).replace("\u00a0", " ")
        if one.wall.name == assessment.worst.wall.name:
            name = one.wall.name.capitalize()
            assert f"{name} is worst: {one.exposure_class}" in said
            figure, _, band = figure.partition(" L/m² ")
            assert f"{figure} L/m² {band.strip('()')}" in said


def test_desk_names_its_limits_and_its_sources(desk):
    assert "Hourly means miss gusts" in words(desk)
    said = words(page(part="why"))
    assert "ISO 15927-3:2009" in said
    assert "second hand" in said  # the terrain table
    assert "from memory" in said  # the obstruction table


def test_each_picture_is_told_in_words(desk):
    marked = html(desk) + "".join(html(page(part=part)) for part in ("build", "place", "why", "work"))
    images = re.findall(r"<img ([^>]*)>", marked)
    assert len(images) >= 7
    told = [re.search(r'alt="([^"]*)"', image).group(1) for image in images]
    assert sum(len(words_) > 20 for words_ in told) >= 7
    assert all(re.search(r'src="data:image/svg\+xml,', image) for image in images)
    assert any("Worst: south-west" in words_ for words_ in told)


def test_headings_tables_and_lists_are_marked_up_as_such():
    marked = html(page(part="why"))
    assert marked.count("<h1") == 1
    assert marked.count("<table") == marked.count("<caption")
    assert '<th scope="row"' in marked


def test_choosing_an_elevation_writes_the_address_and_shows_it():
    app = page()
    pills = app.get("button_group")
    chosen = next(one for one in pills if one.key.startswith("elevation"))
    assert chosen.value == "south-west"
    chosen.set_value("north-west").run()
    assert app.query_params["e"] == "north-west"
    assert seen(app, "north-west")
    assert "South-west is worst" in words(app)


def test_an_address_of_a_moment_ago_changes_nothing():
    """A click may carry the address before the one just told: the choice stays, and the address is told again."""
    app = page(part="place")
    pills = next(one for one in app.get("button_group") if one.key.startswith("elevation"))
    pills.set_value("north-west").run()
    del app.query_params["e"]  # the browser has not heard of it yet
    reference = next(one for one in app.get("button_group") if one.key == "measure")
    reference.set_value("spell").run()
    assert seen(app, "north-west")
    assert (app.query_params["e"], app.query_params["i"]) == ("north-west", "spell")


def test_every_panel_names_the_wall_and_the_answer_it_belongs_to():
    app = page(e="north-west")
    marked = html(app)
    assert set(re.findall(r'data-wall-name="([^"]*)"', marked)) == {"north-west"}
    assert len(set(re.findall(r'data-answer="([^"]*)"', marked))) == 1
    figures = next(part.proto.body for part in app.get("html") if 'class="figures"' in part.proto.body)
    assert figures.startswith("<div data-answer=")


@pytest.fixture
def nothing_kept() -> Iterator[None]:
    """What the page keeps for the next reader is of one test alone."""

    def clear() -> None:
        take_along._site_file.clear()
        words_of.clear()

    clear()
    yield
    clear()


@pytest.mark.usefixtures("quick_rings", "nothing_kept")
def test_on_site_is_the_file_that_take_to_site_saves():
    app = page(view="site", e="north-west")
    shown = next(one.proto.srcdoc for one in app.get("iframe"))
    assert shown == site_file_html(find_details(find_answer(PageState())), invented=True)


def test_print_view_offers_every_file():
    app = page(view="print")
    labels = {button.proto.label for button in app.get("download_button")}
    assert {
        "Sheets to print (HTML)",
        "Take to site",
        "Schedule (CSV)",
        "Take-off (CSV)",
        "Everything (JSON)",
        "Building (GeoPackage)",
        "Save this project",
    } <= labels


def test_what_the_address_holds_wrongly_is_told_and_left_out():
    app = page(at="91,0", view="<b>", e="no such wall")
    assert not app.exception
    assert words(app).count("that cannot be read; it was left out") == 2
    assert "South-west is worst" in words(app)


def test_a_hostile_name_stays_text_on_every_view():
    for view in ("desk", "compare", "print"):
        app = page(name=HOSTILE, view=view)
        assert not app.exception
        assert HOSTILE[:20] in unescape(html(app))
        assert "<script" not in html(app)
        assert "<img src=x" not in html(app)


def test_a_record_that_is_not_here_is_refused_and_can_be_put_right():
    app = page(w="file-0123456789ab")
    assert not app.exception
    said = words(app)
    for word in ("Came", "Expected", "Do"):
        assert word in said
    assert "does not hold" in said
    next(button for button in app.button if button.label == "Use the invented grid").click().run()
    assert "South-west is worst" in words(app)


def test_a_place_outside_the_invented_grid_is_refused():
    app = page(at="10,10")
    assert "the invented weather" in words(app)
    assert 'role="alert"' in html(app)


def test_a_box_by_its_sizes_becomes_the_building():
    app = page(b="box.14_7_90_5_2_hip", name="Long House")
    said = words(app)
    assert "Long House" in said
    assert "4 elevations, 2 storeys, walls up to 5.0 m" in said


def test_local_rules_are_asked_in_sentences_and_their_answers_counted():
    app = page(d="local_rules:canada", part="build")
    assert "Without the moisture index a capillary break" in words(app)
    assert any("degree-days" in one.label for one in app.number_input)
    told = page(
        d="local_rules:canada~rule.canada.degree_days:3000~rule.canada.moisture_index:1.2", part="build"
    )
    assert "Without the moisture index" not in words(told)
    assert "A capillary break is needed" in words(told)


def test_answers_that_do_not_go_together_are_refused_in_three_parts():
    app = page(d="window_position:in the masonry cavity")
    assert not app.exception
    assert "a wall with a masonry leaf" in words(app)


def test_a_fault_of_the_program_is_told_without_its_lines(monkeypatch):
    import exposure.page.views as views

    def fail(_state):
        message = "secret detail"
        raise ZeroDivisionError(message)

    monkeypatch.setattr(views, "find_answer", fail)
    app = page()
    assert not app.exception
    assert "stopped with a fault of this program" in words(app)
    assert "secret detail" not in html(app)
    assert "Traceback" not in html(app)


def test_two_readers_do_not_see_each_others_records(made_place):
    climate = climate_at(made_place, 48.44, -29.68)
    text = climate[["rain", "wind_speed", "wind_from_direction"]].isel(time=slice(0, 8760)).to_dataframe()
    text.index = text.index.strftime("%Y-%m-%dT%H:%MZ")
    text.index.name = "time"
    text.columns = ["rain [mm]", "wind_speed [m/s]", "wind_from_direction [degree]"]
    record = read_record(text.to_csv().encode(), "mine.csv", ToldOfFile(), None, lambda *_: None)
    first = page(own_records={record.mark: record}, w=record.mark, at="51.5,-3.2")
    second = page(w=record.mark)
    assert "mine.csv" in words(first)
    assert "Only 1 year counts" in words(first)
    assert "Invented house on a weather record of your own" in words(first)
    assert "mine.csv" not in words(second)
    assert "does not hold" in words(second)


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"\x00" * 1000,
        b"time,rain\n",
        b"<html><script>alert(1)</script></html>",
        b"PK\x03\x04" + b"\xff" * 300,
    ],
)
def test_an_upload_that_is_no_record_is_refused(content):
    with pytest.raises(RefusalError) as refused:
        read_record(content, "x", ToldOfFile(), None, lambda *_: None)
    assert refused.value.cure


@pytest.mark.parametrize(
    "text", ["", "here", "48.4", "1 2 3", "148.44, -29.68", "48.44 E, 29.68 N", "95, 200", "9" * 100]
)
def test_a_position_that_is_none_is_refused(text):
    with pytest.raises(RefusalError):
        read_position(text)


def test_a_position_keeps_its_signs():
    assert read_position("48.44 S, 29.68 E") == (-48.44, 29.68)
    for nowhere in ("somewhere", "a, b"):  # no half of a word is a latitude
        with pytest.raises(RefusalError, match=f"the position '{nowhere}'"):
            read_position(nowhere)
    assert read_position("−48.44, −29.68") == (-48.44, -29.68)
    assert read_position("48.44; -29.68") == read_position("48.44 N 29.68 W") == (48.44, -29.68)


def test_the_place_form_goes_to_a_position_in_degrees_and_minutes(monkeypatch):
    gone = {}
    monkeypatch.setattr(place_form, "choose", lambda **chosen: gone.update(chosen))
    monkeypatch.setattr(place_form.st, "session_state", {"position": "48° 27′ N, 29° 42′ W"})
    place_form._go_to_position()
    assert gone["at"] == pytest.approx((48.45, -29.70))  # by hand: 27/60 and 42/60 of a degree


@pytest.mark.parametrize(
    "text", ["", "1,1\n2,2", "a,b\n1,1\n2,2", "1\n2\n3", "\n".join(["0,0"] * 41), "0,0\n1e9,0\n0,1"]
)
def test_corners_that_make_no_outline_are_refused(text):
    with pytest.raises(RefusalError):
        read_corners(text)


@pytest.mark.parametrize(
    "text",
    ["", "12, 90", "12, right\n8, right\n12, right", "12, 90\n8\n12, 270", "12, 90\nx, 180\n12, 270",
     "12, 90\n8, around\n12, 270", "0, 90\n8, 180\n12, 270", "nan, 90\n8, 180\n12, 270", "9, 1\n" * 41],
)  # fmt: skip
def test_sides_that_make_no_outline_are_refused(text):
    with pytest.raises(RefusalError):
        read_sides(text)


def test_sides_close_where_the_tape_does_not():
    # by hand: an L of 10 x 8 m with a 4 x 3 m corner out; the last side left out, then told 0.2 m short
    told = "10, 0\n8, right\n7, right\n4, right\n3, left"
    shape = read_sides(told)
    assert len(shape) == 6
    east, north = zip(*shape, strict=True)
    assert (max(east) - min(east), max(north) - min(north)) == (pytest.approx(8), pytest.approx(10))
    area = sum(a * d - b * c for (a, b), (c, d) in zip(shape, [*shape[1:], shape[0]], strict=True)) / 2
    assert abs(area) == pytest.approx(10 * 8 - 4 * 3)
    assert read_sides(f"{told}\n3.8, right") == shape
    assert len(read_sides(f"{told}\n3.2, right")) == 7  # too far off to be the tape: a corner of its own
    assert read_sides(sides_text(shape)) == shape


def test_a_drawn_outline_has_its_size_in_metres():
    # by hand: 0.0001 degree of latitude is 11.1 m (a degree of a 6371 km sphere is 111.2 km)
    import numpy as np

    (latitude, longitude), outline = outline_of_ring(
        np.array([[0.0, 0.0], [0.0, 0.0001], [0.0001, 0.0001], [0.0001, 0.0]])
    )
    assert (latitude, longitude) == (0.00005, 0.00005)
    east = [corner[0] for corner in outline.corners]
    assert max(east) - min(east) == pytest.approx(11.1, abs=0.1)


def test_settings_for_app_py_are_those_of_the_command():
    ours = tomllib.loads((ROOT / "exposure/page/options.toml").read_text("utf-8"))
    assert ours == tomllib.loads((ROOT / ".streamlit/config.toml").read_text("utf-8"))
    assert "--browser.gatherUsageStats=false" in page_flags(ours)


def test_no_message_to_the_browser_is_left_out_as_known():
    """What the browser held when it asked it may have let go before the answer comes; a miss ends its line for good."""
    from streamlit import config
    from streamlit.proto.ForwardMsg_pb2 import ForwardMsg
    from streamlit.runtime.forward_msg_cache import populate_hash_if_needed

    ours = tomllib.loads((ROOT / "exposure/page/options.toml").read_text("utf-8"))["global"]
    message = ForwardMsg()
    message.delta.new_element.html.body = 900_000 * "x"  # as large as any that the page sends
    before = config.get_option("global.minCachedMessageSize")
    config.set_option("global.minCachedMessageSize", ours["minCachedMessageSize"])
    try:
        populate_hash_if_needed(message)
    finally:
        config.set_option("global.minCachedMessageSize", before)
    assert message.metadata.cacheable is False


def test_a_port_in_use_is_refused():
    import socket

    with socket.socket() as taken:
        taken.bind(("localhost", 0))
        taken.listen()
        with pytest.raises(RefusalError, match="cannot be listened on"):
            check_free("localhost", taken.getsockname()[1])


@pytest.mark.slow
def test_the_page_loads_no_compiler_and_asks_no_network():
    code = (
        "import socket, sys\n"
        "def refuse(*_): raise AssertionError('the page asked the network')\n"
        "socket.socket.connect = refuse\n"
        "from exposure.page.warm_up import answer_usual\n"
        "answer_usual()\n"
        "print(*sys.modules)\n"
    )
    run = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False, cwd=ROOT)
    assert run.returncode == 0, run.stderr[-2000:]
    loaded = set(run.stdout.split())
    assert "exposure.page.views" in loaded
    assert not {"numba", "llvmlite", "matplotlib"} & loaded


def test_an_invented_house_has_the_walls_of_its_file(made_place):
    # by a second way: the command's reader of the same GeoJSON, without the page
    for key, name in (("4-quay-terrace", "4 Quay Terrace"), ("boat-store", "Boat Store")):  # hipped, flat
        state = PageState(building=House(key))
        shown = building_from_words(building_words(state, spot_in_use(state))).building
        written = read_building(made_place.houses, name=name).building
        assert [wall.shape for wall in shown.walls] == [wall.shape for wall in written.walls]
        assert shown.storeys == written.storeys
