"""The views of the same choices: desk, compare, a town, on site, print.

Derived from who asks the three questions, and where: the designer at a desk, the planner with a list of places, the
builder on site; paper carries the answers to each.
"""

import streamlit as st

from exposure.checks import RefusalError
from exposure.page.choices.address import choose
from exposure.page.choices.answer import Answer, find_answer, find_details
from exposure.page.choices.inputs import INVENTED_RECORD, on_island
from exposure.page.choices.state import PageState
from exposure.page.forms.building_form import show_house_work
from exposure.page.forms.inputs_form import show_form, show_inputs
from exposure.page.forms.record_form import show_kind_question, show_record_work
from exposure.page.markup import refusal
from exposure.page.parts.compare_page import show_compare_page
from exposure.page.parts.desk import show_desk
from exposure.page.parts.print_view import show_print_view
from exposure.page.parts.take_along import show_site_file
from exposure.page.parts.town_page import show_town_page


def show_view(state: PageState) -> None:
    """Draw the asked view below the title line; the form above the answer is filled after it, so that nobody waits for it.

    What comes and goes (a queue before the answer, a record being read) has a place of its own that is always there: what
    stands below keeps its own place, and with it whatever the reader is typing.
    """
    answer: Answer | None = None
    refused: RefusalError | None = None
    with st.container(key="waiting"):
        try:
            answer = find_answer(state)
        except RefusalError as why:
            refused = why
        show_record_work()
        show_house_work()
        st.html("<style></style>" if answer is None else answer.seal.rule())
    _show_asked(state, answer, refused)
    form = show_inputs(state, answer)
    try:
        _show_below(state, answer)
    except Exception:
        show_form(form, state, answer)  # what is wrong is mended there
        raise
    show_form(form, state, answer)


def _show_asked(state: PageState, answer: Answer | None, refused: RefusalError | None) -> None:
    """What the inputs still ask, or why they give no answer: above their form, which may be long."""
    with st.container(key="asked"):
        if answer is not None:
            show_kind_question(answer.record)
        elif refused is not None and state.view != "town":  # a town needs no house
            st.html(refusal(refused, what="these inputs"))
            if state.at is not None and state.record == INVENTED_RECORD and not on_island(state.at):
                st.button(
                    "Back to the invented island", on_click=choose, kwargs={"at": None, "place_name": ""}
                )


def _show_below(state: PageState, answer: Answer | None) -> None:
    """All below the inputs."""
    if state.view == "town":
        show_town_page(state)
        return
    if answer is None:
        return
    if state.view == "compare":
        show_compare_page(state)
        return
    if state.view == "desk":
        show_desk(answer)
        return
    {"site": show_site_file, "print": show_print_view}[state.view](answer, find_details(answer))
