"""Change the place: a named one, or a position.

Derived from the planner's question. It stands before the map in the order of the keyboard, and does all that a
click on the map does.
"""

import re

import streamlit as st

from exposure.checks import RefusalError, check_between
from exposure.invented.geography import places
from exposure.page.address import choose
from exposure.page.inputs import INVENTED_RECORD, home_of
from exposure.page.refuse import plain_words
from exposure.page.state import PageState

EXAMPLE = "48.44, -29.68"


def show_place_form(state: PageState) -> None:
    """A list of named places and a position to type."""
    names = [place.name for place in places()]
    at_place = next((name for name in names if state.at == home_of(name)), None)
    if st.session_state.get("named-place") != at_place:
        st.session_state["named-place"] = at_place
    st.selectbox(
        "Invented places",
        names,
        index=None,
        key="named-place",
        placeholder="Type or choose a name",
        on_change=_go_to_named,
    )
    with st.form("position", border=False):
        st.text_input(
            "Latitude, longitude (degrees; south and west negative)", key="position", placeholder=EXAMPLE
        )
        st.form_submit_button("Go there", on_click=_go_to_position)
    with plain_words("The position"):
        refused = st.session_state.pop("refused-position", None)
        if refused is not None:
            raise refused


def _go_to_named() -> None:
    name = st.session_state.get("named-place")
    if name is not None:
        choose(at=home_of(name), elevation="", building=None, name="", record=INVENTED_RECORD)


def _go_to_position() -> None:
    try:
        choose(at=read_position(st.session_state.get("position", "")), elevation="")
    except RefusalError as refused:
        st.session_state["refused-position"] = refused


def read_position(text: str) -> tuple[float, float]:
    """Latitude and longitude as typed.

    Raises
    ------
    RefusalError
        When there are not two numbers, or latitude and longitude seem swapped.

    Examples
    --------
    >>> read_position("48.44; -29.68"), read_position("48.44 N 29.68 W")
    ((48.44, -29.68), (48.44, -29.68))
    """
    found = re.findall(r"([+-]?\d+(?:\.\d+)?)\s*°?\s*([NSEWnsew]?)", text[:80].replace("−", "-"))
    if len(found) != 2:
        raise RefusalError(
            f"the position {text[:80]!r}", f"latitude and longitude, such as {EXAMPLE}", "Type two numbers."
        )
    values = []
    for (figure, letter), positive, negative in zip(found, "NE", "SW", strict=True):
        if letter and letter.upper() not in (positive, negative):
            raise RefusalError(
                f"the position {text[:80]!r}", "latitude first, then longitude", "Swap the two."
            )
        values.append(-float(figure) if letter.upper() == negative else float(figure))
    if abs(values[0]) > 90 and abs(values[1]) <= 90:
        raise RefusalError(
            f"latitude {values[0]:g}", "a latitude from -90 to 90 first, then the longitude", "Swap the two."
        )
    return (
        check_between(values[0], "latitude", -90, 90, "degrees"),
        check_between(values[1], "longitude", -180, 360, "degrees"),
    )
