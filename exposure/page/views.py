"""The four views of the same choices: desk, on site, compare, print.

Derived from who asks the three questions, and where: the designer at a desk all of them, the builder on site which
elevation is worst and what it needs, the planner how places compare; paper carries the answers to each.
"""

from collections.abc import Callable

import streamlit as st

from exposure.checks import RefusalError
from exposure.figures import metres
from exposure.page.choices.address import choose
from exposure.page.choices.answer import Answer, find_answer, find_details
from exposure.page.choices.inputs import INVENTED_RECORD, SpotInUse, on_island
from exposure.page.choices.state import PageState
from exposure.page.forms.building_form import show_building_form
from exposure.page.forms.office_rule_form import rules_line, show_rules
from exposure.page.forms.place_form import show_place_form
from exposure.page.forms.record_form import show_kind_question, show_record_form, show_record_work
from exposure.page.markup import refusal
from exposure.page.parts.compare_question import (
    compared_words,
    comparison_of,
    show_compare_question,
    show_compare_view,
)
from exposure.page.parts.limits import show_limits
from exposure.page.parts.place_question import show_place_question
from exposure.page.parts.print_view import show_print_view
from exposure.page.parts.schedule_panel import needs_words
from exposure.page.parts.site_view import show_site_view
from exposure.page.parts.three_answers import show_answers
from exposure.page.parts.title_block import show_title_block
from exposure.page.parts.wall_question import show_wall_question

NOT_USED = ("not usable", "see below")


def show_view(state: PageState, view: str) -> None:
    """Draw the asked view below the title line."""
    answer: Answer | None = None
    refused: RefusalError | None = None
    try:
        answer = find_answer(state)
    except RefusalError as why:
        refused = why
    show_record_work()
    if answer is not None:
        st.html(answer.seal.rule())
    if view != "site":
        _title_block(state, answer)
    if answer is not None and view != "site":
        show_kind_question(answer.record)
    if answer is None:
        if refused is not None:
            st.html(refusal(refused, what="these inputs"))
            if state.at is not None and state.record == INVENTED_RECORD and not on_island(state.at):
                st.button(
                    "Back to the invented island", on_click=choose, kwargs={"at": None, "place_name": ""}
                )
        return
    if view == "compare":
        show_compare_view(state)
        return
    details = find_details(answer)
    if view == "site":
        show_site_view(answer, details)
        return
    if view == "print":
        show_print_view(answer, details)
        return
    compared = comparison_of(state)
    show_answers(answer, needs=needs_words(details.elevations[0]), compared=compared_words(compared))
    show_place_question()
    show_wall_question()
    show_compare_question(compared)
    show_limits(answer)


def _title_block(state: PageState, answer: Answer | None) -> None:
    cells: list[tuple[str, str, str, Callable[[], None]]] = []
    spot = answer.spot if answer else None
    ground = ""
    if answer and answer.site.ground_height is not None:
        ground = f", ground height {metres(answer.site.ground_height, decimals=0)}"
    cells.append(
        (
            "Place",
            spot.name if spot else NOT_USED[0],
            _place_line(spot, ground) if spot else NOT_USED[1],
            lambda: show_place_form(state),
        )
    )
    record = answer.record if answer else None
    cells.append(
        (
            "Weather record",
            record.title if record else NOT_USED[0],
            record.line if record else NOT_USED[1],
            lambda: show_record_form(state),
        )
    )
    building = answer.building if answer else None
    cells.append(
        (
            "Building",
            building.name if building else NOT_USED[0],
            building_line(answer) if answer else NOT_USED[1],
            lambda: show_building_form(state),
        )
    )
    cells.append(("Local rules", *rules_line(state), lambda: show_rules(state)))
    show_title_block(cells)


def _place_line(spot: SpotInUse, ground: str) -> str:
    """Position and ground height; the position not twice where it is the name."""
    if not spot.told:
        return f"{spot.line}: type it under Change place"
    if spot.line != spot.name:
        return f"{spot.line}{ground}"
    return ground.removeprefix(", ") or "its ground is as you say"


def building_line(answer: Answer) -> str:
    """The building in one line: elevations, storeys, height."""
    walls, storeys = answer.building.walls, answer.building.storeys
    elevations = "one elevation" if len(walls) == 1 else f"{len(walls)} elevations"
    floors = "one storey" if storeys == 1 else f"{storeys} storeys"
    return f"{elevations}, {floors}, walls up to {metres(max(wall.height for wall in walls))}"
