"""The one choice in force: kept by this session, told to the address bar, and changed by what the reader does.

Derived from all three questions: whoever opens the same address sees the same answers, the back button goes back,
and two tabs do not disturb each other. Truth runs one way. The address is read when the page is opened and when the
reader goes back or forward, never otherwise: what a browser sends with a click may be the address of a moment ago.
A widget tells its value when the reader changed it, and is never set to another: where the choice was changed by
anything else, a new widget stands in its place, so that an old button cannot speak for a new choice.
"""

from collections.abc import Callable
from dataclasses import replace
from typing import Any, TypeVar

import streamlit as st
from streamlit.runtime.scriptrunner import get_script_run_ctx

from exposure.page.choices.query import from_query, to_query
from exposure.page.choices.session import session
from exposure.page.choices.state import PageState
from exposure.page.held import Held

Value = TypeVar("Value")


def open_choice() -> PageState:
    """The choice a whole run of the page is drawn for: of the address where the reader opened or went to one."""
    context = get_script_run_ctx()
    went_back = context is not None and context.is_history_navigation
    if session.choice is None or went_back:
        came = st.query_params.to_dict()
        turn = choices().turn + 1 if went_back else 0
        session.choice = replace(from_query(came), turn=turn)
        session.address = came
    return choices()


def choices() -> PageState:
    """The choice in force."""
    kept = session.choice
    return kept if kept is not None else from_query(st.query_params.to_dict())


def choose(**changes: Any) -> None:
    """Change the choice in force, and tell the address."""
    take(choices().with_(**changes))


def take(state: PageState) -> None:
    """Put ``state`` in force, and tell the address."""
    session.choice = replace(state, turn=choices().turn)
    query = to_query(state)
    if query != session.address:
        session.address = query
        st.query_params.from_dict(query)


def asks(name: str, value: Any, then: Callable[[Any], None], *, may_be_none: bool = False) -> dict[str, Any]:
    """Key and duty of a widget that shows ``value`` and does ``then`` with what the reader makes of it.

    Where something else than the widget changed the value, the key is a new one: the widget before it is gone, and
    what it still sends is not listened to. A browser sends what all its widgets hold, and Streamlit takes the word of one
    that is gone from the page for a change. Nothing chosen is told to ``then`` only where it ``may_be_none``.
    """
    turn = Held(f"{name} turn", 0)  # how often it was put in place anew
    if Held(_key(name, turn.value), value).value != value:
        turn.put(turn.value + 1)
    field = Held(_key(name, turn.value), value)
    if not field.told:
        field.put(value)

    def tell() -> None:
        now = Held(field.key, None).value
        gone = field.key != _key(name, turn.value)
        if not gone and (now is not None or may_be_none):
            then(now)

    return {"key": field.key, "on_change": tell}


def _key(name: str, turn: int) -> str:
    return f"{name}-{turn}" if turn else name


def writes(name: str, told: Callable[[Any], Any] = lambda value: value) -> Callable[[Any], None]:
    """What a widget does with its value: write it, as ``told``, to the choice ``name``."""
    return lambda value: choose(**{name: told(value)})


def fill(field: Held[Value], value: Value) -> str:
    """Put ``value`` into a form's field before it is drawn; gives its key. A form tells all its fields at once."""
    if Held(field.key, None).value != value:
        field.put(value)
    return field.key


def view_button(words: str, view: str) -> None:
    """A button that leads to another view; the whole page is drawn again, also from within a part of it."""
    if st.button(words, on_click=choose, kwargs={"view": view}):
        st.rerun(scope="app")
