"""Junctions drawn beside the schedule's lines, short cells, and one list of work for the phone page and the file."""

import re
from html import unescape
from urllib.parse import unquote

import pytest

from exposure.invented import invented_place
from exposure.page.choices.answer import find_answer, find_details
from exposure.page.choices.state import PageState
from exposure.page.parts.junctions import drawings_by_place
from exposure.page.parts.schedule_panel import _show_whole
from exposure.paper.site_file import site_file_html
from tests.test_page import html, page, words


@pytest.fixture(scope="module", autouse=True)
def made_place():
    return invented_place(progress=False)


@pytest.fixture(scope="module")
def worst():
    answer = find_answer(PageState())
    return find_details(answer).elevations[0]


def shown_whole(one, monkeypatch) -> list[str]:
    """What the folded schedule sends when it is opened, part by part."""

    class Plain:
        def of(self, piece, make):
            return make()

    sent: list[str] = []
    monkeypatch.setattr("exposure.page.parts.schedule_panel.st.html", sent.append)
    _show_whole(one, Plain())
    monkeypatch.undo()
    return sent


def test_each_junction_is_drawn_under_the_place_of_its_row(worst):
    by_place, left_out = drawings_by_place(worst)
    where = {line.key: line.where for line in worst.schedule.lines}
    keys = {place: [one.section.key for one in drawings] for place, drawings in by_place.items()}
    # by the rows of the ladder, read by eye: what each section sizes
    assert "sill" in keys["Sill tray"]
    assert "head" in keys["Head flashing"]
    assert "jamb" in keys["Window opening"]
    assert "base-soil" in keys["Base of wall"]
    assert "lap-level" in keys["Membrane laps"]
    assert "pipe" in keys["Pipes and cables"]
    assert set(by_place) <= set(where.values())
    assert left_out == ()


def test_the_drawings_are_escaped_images_with_their_words_and_the_schedules_millimetres(worst, monkeypatch):
    sent = shown_whole(worst, monkeypatch)
    assert max(map(len, sent)) < 200_000  # each goes out as a message of its own
    tray = next(part for part in sent if "<summary>Sill tray" in part)
    assert "<svg" not in tray
    images = re.findall(r'<img alt="([^"]*)" src="data:image/svg\+xml,([^"]*)"', tray)
    dam = next(line for line in worst.schedule.lines if line.key == "back_dam")
    told, drawn = next((unescape(alt), unquote(svg)) for alt, svg in images if "Window sill" in unquote(svg))
    assert told.startswith("From outside to inside:")
    assert f"back dam {float(dam.value):.0f}\u00a0mm" in told
    assert f"{float(dam.value):.0f}" in drawn
    assert sum(part.count("<figure") for part in sent) >= 10


def test_a_reason_and_a_level_are_said_once_and_not_row_after_row(worst, monkeypatch):
    said = [unescape(re.sub(r"<[^>]*>", " ", part)) for part in shown_whole(worst, monkeypatch)]
    text = " ".join(said)
    assert "One level lower (" not in text  # the head of the column says it
    assert len(re.findall(r"L/m² in the worst spell", text)) == 0
    assert len(re.findall(r"wetness [\d,]+\s*L/m²", text)) == 1
    table = re.search(r"<table class=\"schedule.*?</table>", html(page()), re.DOTALL)[0]
    assert "One level lower (" not in table
    assert len(re.findall(r"Here [\d,]+\s*L/m²", table)) == 0


def test_the_phone_page_and_the_file_for_the_site_ask_the_same_in_the_same_order(worst):
    app = page(view="site")
    file = site_file_html(find_details(find_answer(PageState())))
    first = re.search(r'<section id="e0".*?</section>', file, re.DOTALL)[0]
    titles = [
        unescape(re.sub(r"<[^>]*>", "", one)).replace("\u00a0", " ")
        for one in re.findall(
            r'<span class="t">(.*?)</span>(?:<span class="d">|<span class="r">|</span>)', first, re.DOTALL
        )
    ]
    labels = [
        re.sub(r"^\d+\. ", "", re.sub(r"\\(.)", r"\1", box.label)).replace("\u00a0", " ")
        for box in app.checkbox
    ]
    assert labels == titles
    assert len(labels) > len(worst.schedule.steps) + 10  # steps, and every place after them
    said = words(app)
    battens = next(line for line in worst.schedule.lines if line.key == "cav_depth")
    assert f"{float(battens.value):.0f} mm" in said
    for place in ("Pipes and cables", "Base of wall", "Inside corners", "Battens"):
        assert place in labels


def test_the_phone_page_shows_the_drawings_of_the_file():
    app = page(view="site")
    pictures = re.findall(r'<img alt="([^"]*)" src="data:image/svg', html(app))
    assert (
        len([alt for alt in pictures if alt.startswith("From outside to inside:")]) == 4
    )  # sill, head, jamb, base
    assert len([alt for alt in pictures if alt.startswith("What the step adds is dark")]) >= 10
