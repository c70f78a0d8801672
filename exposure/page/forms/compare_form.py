"""Which places are laid side by side: named ones, positions typed, the place in force; up to six.

Derived from the planner's question: the candidates are the planner's own, and the list travels in the address.
"""

import streamlit as st

from exposure.checks import RefusalError
from exposure.invented.geography import places
from exposure.page.choices.address import asks, choices, choose
from exposure.page.choices.inputs import INVENTED_RECORD, SpotInUse, home_of, spot_in_use
from exposure.page.choices.places_compared import SAME, chosen_spots, label_of
from exposure.page.choices.query import read_spot, spot_name, write_spot
from exposure.page.choices.state import MOST_PLACES, NamedSpot, PageState
from exposure.page.forms.place_form import POSITION_LABEL
from exposure.page.markup import plain_label
from exposure.page.refuse import plain_words
from exposure.site.position_text import EXAMPLE, read_position

CHOSEN = "compare-places"
REFUSED = "refused-spot"


def show_places_form(state: PageState, spot: SpotInUse) -> None:
    """The list in force, with ways to add and to remove."""
    chosen = chosen_spots(state, spot)
    here = NamedSpot(round(spot.latitude, 5), round(spot.longitude, 5))
    offered = [*chosen, here]
    if state.record == INVENTED_RECORD:
        offered += [NamedSpot(*home_of(place.name)) for place in places()]
    keys = list(dict.fromkeys(write_spot(one) for one in offered))
    st.multiselect(
        "Places side by side, up to six",
        keys,
        **asks(CHOSEN, [write_spot(one) for one in chosen], _keep_chosen),
        format_func=lambda key: label_of(state, read_spot(key)),
        max_selections=MOST_PLACES,
        help="Take one off with its cross; type to find a named place. The list stands in the address.",
    )
    with st.expander("Add a place", key="add-a-place"):
        if not any(_same(one, here) for one in chosen):
            st.button(
                f"Add the place in force: {plain_label(spot.name)}",
                on_click=_add,
                args=(here,),
                key="add-here",
            )
        with st.form("add-place", border=False):
            st.text_input(
                POSITION_LABEL,
                key="add-position",
                placeholder=EXAMPLE,
            )
            st.text_input("Its name, if you like", key="add-name", max_chars=40)
            st.form_submit_button("Add it", on_click=_add_typed)
    with plain_words("The place to add"):
        refused = st.session_state.pop(REFUSED, None)
        if refused is not None:
            raise refused


def _same(one: NamedSpot, other: NamedSpot) -> bool:
    return abs(one.latitude - other.latitude) < SAME and abs(one.longitude - other.longitude) < SAME


def _keep_chosen(keys: list[str]) -> None:
    choose(places=tuple(read_spot(key) for key in keys))


def _add_typed() -> None:
    try:
        at = read_position(st.session_state.get("add-position", ""))
        name = spot_name(st.session_state.get("add-name", ""))
        _add(NamedSpot(round(at[0], 5), round(at[1], 5), name))
    except RefusalError as refused:
        st.session_state[REFUSED] = refused


def _add(new: NamedSpot) -> None:
    state = choices()
    chosen = chosen_spots(state, spot_in_use(state))
    if any(_same(one, new) for one in chosen):
        st.session_state[REFUSED] = RefusalError(
            "a place that is in the list already", "another place", "Type another position."
        )
    elif len(chosen) >= MOST_PLACES:
        st.session_state[REFUSED] = RefusalError(
            f"a place more than {MOST_PLACES}",
            f"at most {MOST_PLACES} side by side",
            "Take one off first, or open a list of sites.",
        )
    else:
        choose(places=(*chosen, new))
