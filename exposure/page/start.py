"""The page from top to bottom: title line, inputs in one line, then the view asked for.

Derived from the three users' questions. A designer's desk, a builder's phone, a planner's comparison and paper are four views of
the same choices; the address holds them.
"""

from pathlib import Path

import streamlit as st

from exposure.page.choices.address import asks, open_choice, writes
from exposure.page.choices.compare_files import GRID, held_files
from exposure.page.choices.session import session
from exposure.page.choices.state import VIEWS, House, PageState
from exposure.page.markup import doubts, say
from exposure.page.refuse import plain_words

TITLE = "Driving rain on walls"
INVENTED = "Invented place, building and weather: do not build from it"
INVENTED_HOUSE = "Invented house on a weather record of your own: do not build from it"
STYLE = Path(__file__).with_name("style.css")


def show_page() -> None:
    """Draw the page for the choices in the address."""
    st.set_page_config(page_title=TITLE, layout="wide", initial_sidebar_state="collapsed")
    st.html(STYLE)
    state = open_choice()
    # what is made up is told beside the ranking then
    own_grid = state.view == "compare" and GRID in held_files(state)
    _title_line(
        state.view, "" if own_grid else invented_words(state, invented_record=_invented_record(state))
    )
    with st.container(key="notes"):  # one place, filled or not: what comes after it keeps its own
        if state.notes:
            st.html(doubts(state.notes, word="Note"))
    with plain_words("The page"):
        from exposure.page.work.first_time import is_made, show_making  # late: the title line stands first

        if not is_made():
            show_making()
            return
        from exposure.page.views import show_view
        from exposure.page.work.closed_tabs import watch_closed_tabs

        watch_closed_tabs()

        show_view(state)


def invented_words(state: PageState, *, invented_record: bool = False) -> str:
    """What of the page is made up; empty when nothing is.

    Examples
    --------
    >>> from exposure.page.choices.state import Box
    >>> invented_words(PageState(record="file-0123456789ab", building=Box()))
    ''
    """
    if state.record == "invented" or invented_record:
        return INVENTED
    return INVENTED_HOUSE if isinstance(state.building or House(""), House) else ""


def _invented_record(state: PageState) -> bool:
    own = session.records.get(state.record)
    return own is not None and own.invented


def _title_line(view: str, invented: str) -> None:
    label = f'<span class="invented">{say(invented)}</span>' if invented else ""
    with st.container(key="title-line"):
        left, right = st.columns([1.45, 1], vertical_alignment="center")
    with left:
        st.html(f'<div class="top"><h1>{TITLE}</h1>{label}</div>')
    with right:
        st.segmented_control(
            "View",
            list(VIEWS),
            format_func=VIEWS.__getitem__,
            **asks("view", view, writes("view")),
            required=True,
            label_visibility="collapsed",
        )


if __name__ == "__main__":
    show_page()
