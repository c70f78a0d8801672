"""Change the place: a named one, or a position.

Derived from the planner's question. It stands before the map in the order of the keyboard, and does all that a
click on the map does.
"""

import streamlit as st

from exposure.checks import RefusalError
from exposure.invented.geography import places
from exposure.page.choices.address import asks, choose, writes
from exposure.page.choices.inputs import INVENTED_RECORD, home_of
from exposure.page.choices.state import PageState, short_name
from exposure.page.held import Held
from exposure.page.refuse import Refused, show_refused
from exposure.site.position_text import EXAMPLE, read_position

_POSITION: Held[str] = Held("position", "")
_REFUSED: Refused = Held("refused-position", None)
POSITION_LABEL = "Latitude, longitude (degrees, minutes too; south and west negative)"


def show_place_form(state: PageState) -> None:
    """A list of named places and a position to type; one that cannot be read is refused in plain words."""
    names = [place.name for place in places()]
    at_place = next((name for name in names if state.at == home_of(name)), None)
    st.selectbox(
        "Invented places",
        names,
        index=None,
        **asks("named-place", at_place, _go_to_named),
        placeholder="Type or choose a name",
    )
    with st.form("position", border=False):
        st.text_input(POSITION_LABEL, key=_POSITION.key, placeholder=EXAMPLE)
        st.form_submit_button("Go there", on_click=_go_to_position)
    st.text_input(
        "Name of the place",
        **asks("place-name", state.place_name, writes("place_name", short_name)),
        max_chars=80,
        help="As it shall stand on the sheets.",
    )
    show_refused(_REFUSED, "The position")


def _go_to_named(name: str) -> None:
    choose(at=home_of(name), place_name="", elevation="", building=None, name="", record=INVENTED_RECORD)


def _go_to_position() -> None:
    try:
        choose(at=read_position(_POSITION.value), place_name="", elevation="")
    except RefusalError as refused:
        _REFUSED.put(refused)
