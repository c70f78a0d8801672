"""The address bar: what is written is read again, and what is not ours is left out and told."""

from urllib.parse import parse_qsl, urlencode

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from exposure.page.choices.address import asks
from exposure.page.choices.query import from_query, spot_name, to_query
from exposure.page.choices.state import (
    CHIPS,
    LONGEST_NAME,
    PARTS,
    VIEWS,
    Box,
    House,
    NamedSpot,
    Outline,
    PageState,
    short_name,
)
from exposure.wall.building import wall_shapes

degrees = st.integers(-9_000_000, 9_000_000).map(lambda n: n / 100_000)
points = st.tuples(degrees, st.integers(-18_000_000, 35_999_999).map(lambda n: n / 100_000))
sizes = st.integers(100, 50_000).map(lambda n: n / 100)
heights = st.integers(100, 20_000).map(lambda n: n / 100)
storeys = st.integers(1, 60)
roofs = st.sampled_from(["gable", "hip", "flat"])
corners = st.lists(
    st.tuples(*[st.integers(-500_000, 500_000).map(lambda n: n / 100)] * 2), min_size=3, max_size=40
).map(tuple)
names = st.text(max_size=200).map(short_name)
buildings = st.one_of(
    st.none(),
    st.from_regex(r"[a-z0-9-]{1,30}", fullmatch=True).map(House),
    st.builds(
        Box,
        length=sizes,
        width=sizes,
        bearing=st.integers(0, 3600).map(lambda n: n / 10),
        height=heights,
        storeys=storeys,
        roof=roofs,
    ),
    st.builds(Outline, corners=corners, height=heights, storeys=storeys, roof=roofs),
)
answers = st.dictionaries(
    st.from_regex(r"[a-z0-9_.-]{1,20}", fullmatch=True),
    st.text(max_size=60).map(lambda text: short_name(text).replace("~", "")),
    max_size=10,
).map(lambda found: tuple(sorted((name, short_name(value)) for name, value in found.items())))
states = st.builds(
    PageState,
    view=st.sampled_from(list(VIEWS)),
    open=st.sampled_from(["", *PARTS, *CHIPS]),
    row=names,
    prices=st.just("") | st.from_regex(r"prices-[0-9a-f]{12}", fullmatch=True),
    at=st.none() | points,
    record=st.just("invented") | st.from_regex(r"(file|power)-[0-9a-f]{12}", fullmatch=True),
    building=buildings,
    name=names,
    elevation=names,
    measure=st.sampled_from(["year", "spell"]),
    facing=st.just("worst") | st.integers(0, 359).map(str),
    ground=st.just("") | st.from_regex(r"[1-4]{12}", fullmatch=True),
    neighbours=st.sampled_from(["mapped", "none"]),
    details=answers,
    openings=st.just("") | st.from_regex(r"openings-[0-9a-f]{12}", fullmatch=True),
    office=st.lists(st.from_regex(r"rule-[0-9a-f]{12}", fullmatch=True), max_size=3, unique=True).map(tuple),
    rating=st.none() | st.integers(0, 50_000).map(lambda n: n / 10),
    bare_from=st.just("") | st.dates().map(lambda day: f"{day:%m-%d}"),
    bare_weeks=st.integers(1, 52),
    reference=st.sampled_from(wall_shapes()),
    compare_files=st.sets(st.sampled_from(["list", "grid", "ground", "cover", "neighbours"])).map(
        lambda kinds: tuple(f"{kind}-0123456789ab" for kind in kinds)
    ),
    grid_kind=st.sampled_from(["", "gauge", "typical year"]),
    grid_rain=st.sampled_from(["", "since 00 UTC", "rate"]),
    grid_rows=names,
    places=st.lists(
        st.builds(
            lambda point, name: NamedSpot(*point, name),
            points,
            st.text(max_size=60).map(spot_name),
        ),
        max_size=6,
    ).map(tuple),
)


@settings(max_examples=150, deadline=None)
@given(state=states)
def test_every_choice_survives_the_trip_through_an_address(state):
    query = urlencode(to_query(state))  # as a browser would send it
    again = from_query(dict(parse_qsl(query, keep_blank_values=True)))
    assert again == state
    assert again.notes == ()


@settings(max_examples=300, deadline=None)
@given(
    query=st.dictionaries(
        st.sampled_from(
            [
                "view",
                "at",
                "w",
                "b",
                "name",
                "e",
                "i",
                "f",
                "g",
                "n",
                "d",
                "bare",
                "weeks",
                "c",
                "rw",
                "o",
                "r",
                "rated",
                "zz",
            ]
        ),
        st.text(max_size=300),
    )
)
def test_no_address_can_break_the_page(query):
    state = from_query(query)
    assert from_query(to_query(state)) == state
    assert len(state.name) <= LONGEST_NAME


@pytest.mark.parametrize(
    "query",
    [
        {"at": "91,0"},
        {"at": "nan,0"},
        {"at": "1e3,0"},
        {"at": "1,2,3"},
        {"view": "../etc"},
        {"b": "box.1e9_8_45_6_2_gable"},
        {"b": "box.12_8_45_6_2_dome"},
        {"b": "plan.0,0~1,1_6_2_gable"},
        {"b": "plan." + "~".join(["0,0"] * 41) + "_6_2_gable"},
        {"b": "house.<script>"},
        {"w": "file-../../x"},
        {"g": "123"},
        {"bare": "13-45"},
        {"weeks": "0"},
        {"o": "openings-../../etc"},
        {"o": "rule-0123456789ab"},
        {"r": "rule-0123456789ab~x"},
        {"r": "~".join(f"rule-{n:012x}" for n in range(4))},
        {"rated": "-1"},
        {"rated": "1e4"},
        {"c": "~".join(["1,1"] * 7)},
        {"d": "no colon"},
        {"f": "360"},
        {"cf": "grid-0123456789ab~grid-ba9876543210"},
        {"cf": "grid-../../etc"},
        {"gr": "sometimes"},
    ],
)
def test_what_cannot_be_read_is_left_out_and_told(query):
    state = from_query(query)
    assert state == PageState()
    assert len(state.notes) == 1
    assert "left out" in state.notes[0]


def test_the_usual_choices_need_no_address():
    assert to_query(PageState()) == {}


def test_a_name_cannot_turn_the_line_around_or_fill_the_screen():
    turned = "\u202eevil\u202c\u2066"
    assert short_name(turned) == "evil"
    assert short_name("a\nb\tc\x00") == "a b c"
    assert len(short_name("x" * 10_000)) == LONGEST_NAME


def test_a_widget_that_is_gone_is_not_listened_to(monkeypatch):
    """A place is taken off, one is added by a form; then the browser sends once more what the widget before held."""
    held: dict = {}
    monkeypatch.setattr("streamlit.session_state", held)
    told: list = []
    old = asks("places", ["a", "b"], told.append)
    held[old["key"]] = ["a"]
    old["on_change"]()
    assert told == [["a"]]
    assert (
        asks("places", ["a"], told.append)["key"] == old["key"]
    )  # the widget's own change leaves it in its place
    new = asks("places", ["a", "c"], told.append)
    assert new["key"] != old["key"]
    held[old["key"]] = ["a"]
    old["on_change"]()
    assert told == [["a"]]
    held[new["key"]] = ["c"]
    new["on_change"]()
    assert told == [["a"], ["c"]]
