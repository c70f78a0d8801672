"""A project file: every choice comes back, and a file that is none of ours is refused."""

import tomllib
from datetime import date
from pathlib import Path

import hypothesis.strategies
import pytest
from hypothesis import given, settings
from test_page_state import states

from exposure.checks import RefusalError
from exposure.page.choices.own_files import OPENINGS, RULE, read_own
from exposure.page.choices.project_file import LARGEST, open_project, read_project, write_project
from exposure.page.choices.session import OwnFile
from exposure.page.choices.state import PageState

TODAY = date(2026, 11, 25)
EXAMPLE = Path(__file__).parents[1] / "exposure" / "invented" / "example"
LIST = OwnFile(OPENINGS, "windows.csv", "elevation,width,height,count\nnorth,900,1200,2\n")


def office_rule() -> OwnFile:
    return read_own(RULE, (EXAMPLE / "office_rule.toml").read_bytes(), "office_rule.toml")


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


def test_openings_and_office_rules_travel_whole():
    rule = office_rule()
    state = PageState(openings=LIST.mark, office=(rule.mark,), rating=300.0)
    text = write_project(state, record_title="x", made=TODAY, files=(LIST, rule))
    again = open_project(text.encode())
    assert again.state == state
    assert again.state.notes == ()
    assert again.files == (LIST, rule)
    assert tomllib.loads(text)["openings"][0]["text"] == LIST.text


@settings(max_examples=60, deadline=None)
@given(
    comment=hypothesis.strategies.text(max_size=80).filter(lambda text: "\n" not in text and "\r" not in text)
)
def test_any_text_in_a_list_comes_back_to_the_letter(comment):
    cell = comment.replace('"', '""')
    own = OwnFile(OPENINGS, "x", f'elevation,width,height,note\nnorth,900,1200,"{cell}"\n')
    state = PageState(openings=own.mark)
    content = write_project(state, record_title="x", made=TODAY, files=(own,)).encode()
    again = open_project(content)
    assert again.files in ((own,), ())
    if again.files == ():  # a text no list may hold is told, never dropped in silence
        assert again.state.notes


@pytest.mark.parametrize(
    "rows",
    [
        '[[openings]]\nname = "x"\ntext = "not a list"\n',
        '[[openings]]\nname = "x"\ntext = 3\n',
        'openings_are = 1\n[[rule]]\ntext = "[[input]]"\n',
        '[[openings]]\nname = "x"\ntext = "elevation,width,height\\nnorth,900,1200\\n"\n',  # sound, but not the one named
        '[[openings]]\ntext = "' + "x" * 150_000 + '"\n',
    ],
)
def test_a_text_that_cannot_be_used_is_left_out_and_told(rows):
    head = f"format = 'driving-rain-project'\nedition = 2\n[choices]\no = '{LIST.mark}'\n"
    project = open_project((head + rows).encode())
    assert project.files == ()
    assert any("left out" in note for note in project.state.notes)
    assert project.state.openings == LIST.mark  # the page says that it is missing


def test_a_project_of_the_first_edition_opens():
    state = read_project(b"format = 'driving-rain-project'\nedition = 1\n[choices]\nrated = '300'\n")
    assert state.rating == 300.0
