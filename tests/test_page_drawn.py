"""Junctions drawn beside the schedule's lines, short cells, and one list of work for the phone page and the file."""

import re
from html import unescape
from itertools import pairwise
from urllib.parse import unquote

import pytest

from exposure.invented import invented_place
from exposure.junction.catalogue import drawings_of
from exposure.junction.numbers import numbers_of
from exposure.page.choices.answer import find_answer, find_details
from exposure.page.choices.state import PageState
from exposure.page.parts.build_part import _place, drawings_at
from tests.test_page import html, page, words


@pytest.fixture(scope="module", autouse=True)
def made_place():
    return invented_place(progress=False)


@pytest.fixture(scope="module")
def worst():
    answer = find_answer(PageState())
    return find_details(answer).elevations[0]


@pytest.fixture(scope="module")
def places(worst) -> dict[str, str]:
    """What the schedule shows of each place, when it is chosen."""
    where: dict[str, list] = {}
    for line in worst.schedule.lines:
        where.setdefault(line.where, []).append(line)
    return {name: _place(worst, name, lines) for name, lines in where.items()}


def test_each_junction_is_drawn_under_the_place_of_its_row(worst):
    where = {line.key: line.where for line in worst.schedule.lines}
    found = {place: drawings_at(worst, place) for place in where.values()}
    keys = {place: [one.section.key for one in drawings] for place, (drawings, _) in found.items()}
    # by the rows of the ladder, read by eye: what each section sizes
    assert "sill" in keys["Sill tray"]
    assert "head" in keys["Head flashing"]
    assert "jamb" in keys["Window opening"]
    assert "base-soil" in keys["Base of wall"]
    assert "lap-level" in keys["Membrane laps"]
    assert "pipe" in keys["Pipes and cables"]
    assert not any(left_out for _, left_out in found.values())
    # each of the elevation's drawings stands in one place
    whole, _ = drawings_of([(worst.name, numbers_of(worst.schedule, worst.circumstances, worst.pressure))])
    assert sorted(key for mine in keys.values() for key in mine) == sorted(one.section.key for one in whole)


def test_the_drawings_are_escaped_images_with_their_words_and_the_schedules_millimetres(worst, places):
    assert max(map(len, places.values())) < 200_000  # each goes out as a message of its own
    tray = places["Sill tray"]
    assert "<svg" not in tray
    images = re.findall(r'<img alt="([^"]*)" src="data:image/svg\+xml,([^"]*)"', tray)
    dam = next(line for line in worst.schedule.lines if line.key == "back_dam")
    told, drawn = next((unescape(alt), unquote(svg)) for alt, svg in images if "Window sill" in unquote(svg))
    assert told.startswith("From outside to inside:")
    assert f"back dam {float(dam.value):.0f}\u00a0mm" in told
    assert f"{float(dam.value):.0f}" in drawn
    assert sum(part.count("<figure") for part in places.values()) >= 10


def test_a_reason_and_a_level_are_said_once_and_not_row_after_row(places):
    for name, part in places.items():
        text = unescape(re.sub(r"<[^>]*>", " ", part))
        assert "One level lower (" not in text, name  # the head of the column says it
        assert not re.search(r"L/m² in the worst spell|wetness [\d,]+\s*L/m²", text), name
        for column in ("Why this elevation", "One level lower"):
            cells = re.findall(rf'<td[^>]*data-label="{column}">(.*?)</td>', part)
            assert not [one for one, other in pairwise(cells) if one == other and len(one) > 12], (
                name,
                column,
            )


def test_each_place_of_the_schedule_is_offered_once_and_shown_alone():
    app = page(part="build")
    offered = next(one for one in app.get("button_group") if one.key.startswith("row"))
    names = [one.content for one in offered.proto.options]
    assert len(names) == len(set(names)) > 15
    assert names.count("Membrane") == names.count("Cavity") == 1
    assert "Give the tray a fall" in words(app)
    offered.set_value("Pipes and cables").run()
    assert "Let every pipe fall" in words(app)
    assert "Give the tray a fall" not in words(app)
    assert app.query_params["row"] == "Pipes and cables"
    assert "<details" not in html(app)
