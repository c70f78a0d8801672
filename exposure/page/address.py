"""The address bar as the one home of the choices: widgets are set from it, and write their change back to it.

Derived from all three questions: whoever opens the same address sees the same answers, the back button goes
back, and two tabs do not disturb each other.
"""

from collections.abc import Callable
from typing import Any

import streamlit as st

from exposure.page.query import from_query, to_query
from exposure.page.state import PageState

SET = " as the address has it"  # behind a widget's key: the value last put there, which is no choice of the reader's


def choices() -> PageState:
    """What the address says now."""
    return from_query(st.query_params.to_dict())


def choose(**changes: Any) -> None:
    """Change the choices, in the address."""
    query = to_query(choices().with_(**changes))
    if query != st.query_params.to_dict():
        st.query_params.from_dict(query)


def follow(key: str, value: Any) -> str:
    """Set the widget ``key`` to what the address says, before it is drawn; gives the key back."""
    if st.session_state.get(key) != value:
        st.session_state[key] = value
    st.session_state[f"{key}{SET}"] = value
    return key


def writes(key: str, name: str, told: Callable[[Any], Any] = lambda value: value) -> Callable[[], None]:
    """What a widget does on change: write its value, as ``told``, to the choice ``name``."""

    def write() -> None:
        value = st.session_state.get(key)
        if value is not None and value != st.session_state.get(f"{key}{SET}"):
            choose(**{name: told(value)})

    return write


def view_button(words: str, view: str) -> None:
    """A button that leads to another view; the whole page is drawn again, also from within a part of it."""
    if st.button(words, on_click=choose, kwargs={"view": view}, width="stretch"):
        st.rerun(scope="app")
