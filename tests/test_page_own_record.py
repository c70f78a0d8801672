"""A record of the reader's own on the page: no invented figure, map or ground stands beside it; its kind is asked."""

import gzip
import re

import numpy as np
import pandas as pd
import pytest

from exposure.checks import RefusalError
from exposure.draw.assessment_pictures import rose_curves
from exposure.figures import litres
from exposure.page.choices.answer import find_answer
from exposure.page.choices.house_inputs import surveyed_building
from exposure.page.choices.inputs import on_island, region_figure, spot_in_use
from exposure.page.choices.session import RecordInUse
from exposure.page.choices.state import Box, House, PageState
from exposure.page.forms.record_form import ToldOfFile, missing_codes, read_record
from exposure.page.parts.map_panel import region_map
from exposure.page.work.beside import record_beside
from exposure.page.work.first_time import make_region
from exposure.page.work.reading import READ
from tests.test_page import page, words

QUERN_BAY = (48.44, -29.68)  # a place of the invented island


def table(rain: np.ndarray) -> bytes:
    """Two years of a table that does not say what kind of record it is."""
    stamps = pd.date_range("2015-01-01", periods=rain.size, freq="h").strftime("%Y-%m-%dT%H:%MZ")
    hours = np.arange(rain.size)
    lines = ["time,wind_speed [m/s],wind_from_direction [degree],rain [mm]"]
    lines += [
        f"{stamp},{4 + hour % 7},{200 + hour * 13 % 90},{fallen:.3f}"
        for stamp, hour, fallen in zip(stamps, hours, rain, strict=True)
    ]
    return "\n".join(lines).encode()


def drizzle() -> np.ndarray:
    """Rain in two hours of five, most of it under 0.1 mm: a model's, by what a gauge can read at all."""
    return np.tile([0.0, 0.02, 0.0, 0.6, 0.0, 0.04, 0.03, 0.0, 0.0, 0.0], 2 * 876)


@pytest.fixture(scope="module")
def own() -> RecordInUse:
    return read_record(table(drizzle()), "mine.csv", ToldOfFile(), None, lambda *_: None)


@pytest.fixture
def state(own, monkeypatch) -> PageState:
    """The record in force at a place of the invented island."""
    monkeypatch.setattr("streamlit.session_state", {"own-records": {own.mark: own}})
    assert on_island(QUERN_BAY)
    return PageState(at=QUERN_BAY, record=own.mark, building=House("wrack-house"))


def test_the_invented_regions_figure_is_not_said_of_a_record_of_ones_own(state):
    assert region_figure(state, spot_in_use(state)) is None
    invented = PageState(at=QUERN_BAY, measure="spell")
    make_region()
    value, way = region_figure(invented, spot_in_use(invented))
    curve, _, _ = rose_curves(find_answer(invented).assessment, spell=True)
    assert value == pytest.approx(max(curve), rel=1e-3)  # a second way: the record itself, all ways at once
    assert way == 10.0 * int(np.argmax(curve))


def test_no_invented_ground_or_neighbour_stands_round_a_building_under_a_record_of_ones_own(state):
    spot = spot_in_use(state)
    assert not spot.invented
    assert "Quern" not in spot.name
    found = surveyed_building(state, spot)
    assert (found.ground, found.cover, found.neighbours) == (None, None, None)
    assert found.site.ground_height is None


def test_no_invented_raster_lies_under_a_record_of_ones_own(own):
    app = page(own_records={own.mark: own}, w=own.mark, at="48.44,-29.68", part="place")
    said = words(app)
    assert "mine.csv" in said
    assert 'id="spot"' not in "".join(part.proto.body for part in app.get("html"))
    assert not re.search(r"ground height\W+\d", said)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("streamlit.session_state", {"own-records": {own.mark: own}})
        choice = PageState(at=QUERN_BAY, record=own.mark)
        shown = region_map(find_answer(choice), choice)
    assert "layer" not in shown
    assert "places" not in shown


def test_a_record_that_does_not_say_where_asks_for_the_place(own):
    said = words(page(own_records={own.mark: own}, w=own.mark))
    assert "Type them under Change" in said


def test_the_kind_is_asked_where_the_file_does_not_say_and_the_reason_is_given(own):
    said = words(page(own_records={own.mark: own}, w=own.mark, at="51.5,-3.2"))
    assert "Is this record from a gauge, or from a model or reanalysis grid?" in said
    assert re.search(
        r"40% of the hours carry rain and 75% of those less than 0.1 mm", said
    )  # by hand, drizzle()
    assert "it counts as a gauge: that gives the higher class" in said


def test_the_kind_told_is_used_and_not_asked_again():
    told = read_record(table(drizzle()), "mine.csv", ToldOfFile(kind="reanalysis"), None, lambda *_: None)
    assert told.climate.attrs["kind"] == "reanalysis"
    said = words(page(own_records={told.mark: told}, w=told.mark, at="51.5,-3.2"))
    assert "Is this record from a gauge" not in said


def test_stamp_zone_and_missing_numbers_reach_the_reader():
    hours = np.arange(17520)
    rain = np.where(hours % 997 == 5, 999.0, np.where(hours * 37 % 101 < 8, 0.4, 0.0))
    found = read_record(
        table(rain), "x.csv", ToldOfFile(missing=(999.0,), stamp="start", kind="gauge"), None, lambda *_: None
    )
    assert float(found.climate["rain"].max()) == pytest.approx(0.4)
    # by hand: the first row begins at midnight, so its rain belongs to the hour ending at one
    assert str(found.climate["time"].values[0])[:13] == "2015-01-01T01"


def test_numbers_for_missing_that_are_none_are_refused():
    with pytest.raises(RefusalError):
        missing_codes("-999, many")


def test_a_small_file_that_unpacks_to_more_than_the_memory_allowed_is_refused_in_plain_words():
    rows = "".join(f"{hour:08d},{hour * 7919 % 104729}\n" for hour in range(2_500_000))  # 37 MB
    content = gzip.compress(f"time,rain [mm]\n{rows}".encode(), 1)
    with pytest.raises(RefusalError) as refused:
        record_beside(
            {"do": READ, "columns": None, "at": None, "memory": 500 * 2**20}, content, lambda *_: None
        )
    assert "more memory" in refused.value.came or "GB of memory" in refused.value.came


def test_the_place_can_be_named(own):
    said = words(page(own_records={own.mark: own}, w=own.mark, at="51.5,-3.2", pn="Mill Lane"))
    assert "Mill Lane" in said


def test_no_switch_is_shown_that_moves_nothing(own):
    """The way the map's walls face: only where a raster of the region is drawn."""
    make_region()
    asked = "Map for walls facing"
    assert asked in [one.label for one in page(part="place").selectbox]
    away = page({own.mark: own}, w=own.mark, at="51.5,-3.2", b="box.12_8_45_6_2_gable", part="place")
    assert not away.exception
    assert "is worst" in words(away)
    assert asked not in [one.label for one in away.selectbox]


def test_a_record_whose_kind_is_guessed_says_what_the_other_kind_would_make(own):
    """The other kind is told when the same file is read again."""
    where = {"w": own.mark, "at": "51.5,-3.2", "b": "box.12_8_45_6_2_gable"}
    app = page(own_records={own.mark: own}, **where)
    chips = next(one for one in app.get("button_group") if one.key.startswith("chip"))
    said = next(one.content for one in chips.proto.options if one.content.startswith("Record")).replace(
        "\u00a0", " "
    )
    model = read_record(table(drizzle()), "mine.csv", ToldOfFile(kind="model"), None, lambda *_: None)
    with pytest.MonkeyPatch.context() as patch:
        patch.setattr("streamlit.session_state", {"own-records": {own.mark: own, model.mark: model}})
        state = PageState(at=(51.5, -3.2), record=own.mark, building=Box(12, 8, 45, 6, 2, "gable"))
        worst = find_answer(state).worst.wall.name
        then = find_answer(state.with_(record=model.mark)).assessment
        wanted = next(one.wall_spell_index for one in then.elevations if one.wall.name == worst)
    assert said == f"Record: counted as a gauge; {litres(wanted)} L/m² were it a model"
