"""A project file: every choice comes back, and a file that is none of ours is refused."""

import tomllib
from datetime import date

import pytest
from hypothesis import given, settings
from test_page_state import states

from exposure.checks import RefusalError
from exposure.page.project_file import LARGEST, read_project, write_project

TODAY = date(2026, 11, 25)


@settings(max_examples=100, deadline=None)
@given(state=states)
def test_every_choice_survives_the_trip_through_a_file(state):
    assert read_project(write_project(state, record_title='a "record"', made=TODAY).encode()) == state


def test_the_file_is_plain_toml_with_its_date(tmp_path):
    text = write_project(
        next(iter([read_project(b'format="driving-rain-project"\nedition=1\n[choices]\n')])),
        record_title="x\ny",
        made=TODAY,
    )
    read = tomllib.loads(text)
    assert read["made"] == TODAY
    assert read["weather_record"] == "x\ny"


@pytest.mark.parametrize(
    "content",
    [
        b"",
        b"\xff\xfe\x00",
        b"PK\x03\x04",
        b"format = 'something else'\n[choices]\n",
        b"format = 'driving-rain-project'\nchoices = 3\n",
        b"format = 'driving-rain-project'\nedition = 99\n[choices]\n",
        b"format = 'driving-rain-project'\nedition = 'x'\n[choices]\n",
        b"a = " + b"[" * 5000 + b"]" * 5000,
        b"#" * (LARGEST + 1),
    ],
)
def test_a_foreign_file_is_refused_in_three_parts(content):
    with pytest.raises(RefusalError) as refused:
        read_project(content)
    assert refused.value.came
    assert refused.value.expected
    assert refused.value.cure


def test_values_that_are_no_text_are_left_out():
    state = read_project(b"format = 'driving-rain-project'\nedition = 1\n[choices]\nat = 3\nview = 'site'\n")
    assert (state.at, state.view) == (None, "site")
