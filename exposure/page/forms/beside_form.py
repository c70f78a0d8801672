"""Tell the buildings beside the house: typed here by size, height and where they stand; drawn on the map as well.

Derived from the designer's question which elevation is worst: a neighbour as tall as the wall shelters it, and none that
nobody told does.
"""

import streamlit as st

from exposure.checks import RefusalError
from exposure.page.choices.address import choices, choose
from exposure.page.choices.beside import beside_of_sizes, beside_words, with_another
from exposure.page.choices.inputs import spot_in_use
from exposure.page.choices.state import PageState
from exposure.page.held import Held
from exposure.page.markup import say
from exposure.page.refuse import Refused, show_refused

_REFUSED: Refused = Held("refused-beside", None)
FIELDS = {  # name -> label, least, most, at first, step
    "away": ("From the house's middle to its middle, m", 1.0, 500.0, None, 1.0),
    "towards": ("Towards, degrees from north", 0.0, 360.0, None, 5.0),
    "length": ("Length, m", 1.0, 500.0, None, 0.5),
    "width": ("Width, m", 1.0, 500.0, None, 0.5),
    "bearing": ("Bearing of its long side, degrees", 0.0, 360.0, None, 5.0),
    "height": ("Height to its top, m", 2.0, 200.0, None, 0.5),
}


def _field(name: str) -> Held[float | None]:
    return Held(f"beside-{name}-told", None)


def show_beside_form(state: PageState) -> None:
    """Those that are told, each with a button that takes it away, and the form for another."""
    spot = spot_in_use(state)
    at = (spot.latitude, spot.longitude)
    st.html("<h3>Buildings beside, drawn or typed</h3>")
    for number, one in enumerate(state.beside, start=1):
        with st.container(horizontal=True, vertical_alignment="center", key=f"beside-{number}"):
            st.html(f"<p>{number}: {say(beside_words(one, at))}</p>")
            st.button(f"Take away {number}", on_click=_take_away, args=(one,), key=f"drop-beside-{number}")
    show_refused(_REFUSED, "The building beside")
    with st.form("beside", border=False, clear_on_submit=False):
        rows = [st.columns(2) for _ in range(3)]  # a row each, so that a narrow screen keeps their order
        for place, (name, (label, least, most, first, step)) in enumerate(FIELDS.items()):
            with rows[place // 2][place % 2]:
                st.number_input(label, least, most, first, step, format="%g", key=_field(name).key)
        st.form_submit_button("Add this building", on_click=_add)
    st.html('<p class="note">To draw it instead: The place, The building, Draw on the map.</p>')


def _add() -> None:
    given = {name: _field(name).value for name in FIELDS}
    told = {name: float(value) for name, value in given.items() if value is not None}
    state = choices()
    spot = spot_in_use(state)
    try:
        missing = [label for name, (label, *_) in FIELDS.items() if name not in told]
        if missing:
            raise RefusalError(
                f"nothing under: {'; '.join(missing)}", "a number in each field", "Fill them in."
            )
        new = beside_of_sizes((spot.latitude, spot.longitude), **told)
        choose(beside=with_another(state.beside, new))
    except RefusalError as refused:
        _REFUSED.put(refused)


def _take_away(one: object) -> None:
    choose(beside=tuple(other for other in choices().beside if other != one))
