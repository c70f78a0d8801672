"""A click on an elevation: what was put together for it once is not put together again.

Counted in Python calls inside the part that is redrawn, which no other load of the machine moves. The limits are our
own: a click took 3,300 calls when they were set, some 250 of them ours, the first on an elevation as any other; it went two
to eight times between the page's code and that of the pictures, and 86 times where the pictures were still to be drawn.
"""

import threading
import time
from typing import NamedTuple

import pytest

from exposure.invented import invented_place
from exposure.junction import catalogue
from exposure.page.parts import desk, take_along
from exposure.page.parts.folding import AHEAD, Words, make_ahead, words_of
from tests.test_page import page, seen

OURS, ALL = 800, 4_000
CROSSINGS, DRAWN = 20, 100  # between page/ and draw/, either way; and where the pictures are drawn
UNMADE = 12_000  # of ours, where a reader is quicker than what is made ahead; how many calls a library makes of one of ours
# is its own affair: an old geometry library looks its signatures up at every call, 10,000 calls more on a click


class Click(NamedTuple):
    """Calls while the answer about an elevation is redrawn."""

    ours: int
    whole: int
    crossings: int  # from one of ours in page/ to the next in draw/, or back


def calls_of_a_click(app, name: str) -> Click:
    """Choose an elevation and count."""
    counted = {"ours": 0, "all": 0, "crossings": 0}
    inside, last = False, ""

    def watch(frame, event, _arg):
        nonlocal inside, last
        code = frame.f_code
        if code.co_name == "_answered" and code.co_filename.endswith("desk.py"):
            inside = event == "call"
        if event == "call" and inside:
            counted["all"] += 1
            _, ours, within = code.co_filename.rpartition("/exposure/")
            if ours:
                room = within.partition("/")[0]
                counted["ours"] += 1
                counted["crossings"] += {room, last} == {"page", "draw"}
                last = room

    next(one for one in app.get("button_group") if one.key.startswith("elevation")).set_value(name)
    threading.setprofile(watch)
    try:
        app.run()
    finally:
        threading.setprofile(None)
    return Click(counted["ours"], counted["all"], counted["crossings"])


def made_ahead() -> None:
    """Wait for what is made beside the page, as a reader's first look does."""
    for thread in threading.enumerate():
        if thread.name == AHEAD:
            thread.join(60)


@pytest.fixture(scope="module")
def app():
    invented_place(progress=False)
    words_of.clear()  # of tests before
    app = page()
    made_ahead()
    return app


def test_a_click_on_an_elevation_not_shown_before_finds_its_words_made(app):
    click = calls_of_a_click(app, "north-west")
    assert seen(app, "north-west")
    assert 100 < click.ours < OURS  # the count counts
    assert 1_000 < click.whole < ALL
    assert click.crossings < CROSSINGS


def test_a_click_on_an_elevation_seen_before_puts_nothing_together_again(app):
    for name in ("south-west", "north-west", "south-west"):
        click = calls_of_a_click(app, name)
    assert seen(app, "south-west")
    assert click.ours < OURS
    assert click.whole < ALL
    assert click.crossings < CROSSINGS


def test_a_click_before_the_words_are_made_draws_only_what_it_shows(app, monkeypatch):
    monkeypatch.setattr(desk, "make_ahead", lambda _makers: None)
    words_of.clear()
    drawn = []
    section_of = catalogue.section_of
    monkeypatch.setattr(
        catalogue, "section_of", lambda one, numbers: drawn.append(one.key) or section_of(one, numbers)
    )
    click = calls_of_a_click(app, "south-east")
    assert seen(app, "south-east")
    assert drawn == ["sill"]
    assert 1_000 < click.ours < UNMADE
    assert CROSSINGS < click.crossings < DRAWN


def test_the_file_for_the_site_is_made_once_however_often_it_is_looked_at(monkeypatch):
    """Counted alone: that the file shown is the one the program makes is asked in `test_page.py`."""
    made = []

    def site_file_html(details, **_told):
        made.append(details.assessment.building.name)
        return f"<p>{made[-1]}</p>"

    monkeypatch.setattr(take_along, "site_file_html", site_file_html)
    take_along._site_file.clear()  # of tests before
    for _ in range(2):
        app = page(view="site")
        app.run()
        assert app.get("iframe")[0].proto.srcdoc == "<p>Wrack House</p>"
    assert made == ["Wrack House"]
    page(view="site", name="Fell House")
    assert made == ["Wrack House", "Fell House"]
    take_along._site_file.clear()


def test_a_piece_is_made_once_however_many_ask():
    words, made = Words(), []

    def make() -> str:
        made.append(threading.get_ident())
        time.sleep(0.05)
        return "piece"

    threads = [threading.Thread(target=words.of, args=("one", make)) for _ in range(4)]
    for thread in threads:
        thread.start()
    for thread in threads:
        thread.join()
    assert len(made) == 1
    assert words.has("one")
    assert not words.has("other")


def test_what_fails_ahead_is_told_to_who_asks():
    words = Words()

    def fails() -> str:
        message = "no figure"
        raise ValueError(message)

    make_ahead([lambda: words.of("bad", fails), lambda: words.of("good", lambda: "words")])
    made_ahead()
    assert words.has("good")
    with pytest.raises(ValueError, match="no figure"):
        words.of("bad", fails)
