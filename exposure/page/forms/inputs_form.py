"""The inputs in one line above the answer, and one form in the flow of the page that changes them.

Derived from all three questions: an answer hangs on a place, a record, a house and the rules compared; whoever reads
it sees them first, and changes them where they stand.
"""

from collections.abc import Callable

import streamlit as st
from streamlit.delta_generator import DeltaGenerator

from exposure.figures import metres
from exposure.page.choices.answer import Answer
from exposure.page.choices.compare_files import GRID, held_files
from exposure.page.choices.state import PageState
from exposure.page.forms.building_form import show_building_form
from exposure.page.forms.office_rule_form import NONE, rules_line, show_rules
from exposure.page.forms.place_form import show_place_form
from exposure.page.forms.record_form import show_record_form
from exposure.page.markup import Marked, say
from exposure.page.refuse import plain_words

WEATHER_ALONE = ("compare", "town")  # views whose other choices stand below


def show_inputs(state: PageState, answer: Answer | None) -> DeltaGenerator:
    """The line, and the place of the form behind it, to be filled by :func:`show_form` once the answer is out."""
    with st.container(key="inputs"):
        st.html(inputs_line(state, answer))
        return st.expander("Change", key="change")


def show_form(place: DeltaGenerator, state: PageState, answer: Answer | None) -> None:
    """The form: it is there before it is opened, so that the next key is in its first field."""
    with place:
        _form(state, answer)


def inputs_line(state: PageState, answer: Answer | None) -> Marked:
    """Place, record, house and rules in force, as far as the view asked for takes them."""
    rules, _ = rules_line(state)
    if answer is None:
        return '<p class="inputs">These inputs give no answer yet.</p>'
    if state.view in WEATHER_ALONE:
        own_grid = state.view == "compare" and GRID in held_files(state)
        words: tuple[str, ...] = (
            f"Weather: {'a grid of your own, below' if own_grid else answer.record.title}",
        )
    else:
        words = (
            answer.spot.name,
            answer.record.title,
            answer.building.name,
            "no local rules" if rules == NONE else rules,
        )
    return f'<p class="inputs">{"".join(f"<span>{say(one)}</span>" for one in words)}</p>'


def _form(state: PageState, answer: Answer | None) -> None:
    """Place, house and rules on the left, the record on the right, each with its proof in a line."""
    proof = _proof(answer, state)
    left, right = st.columns(2, gap="large")
    sides: tuple[tuple[DeltaGenerator, tuple[tuple[str, Callable[[PageState], None]], ...]], ...] = (
        (left, (("Place", show_place_form), ("House", show_building_form), ("Local rules", show_rules))),
        (right, (("Weather record", show_record_form),)),
    )
    for side, parts in sides:
        with side:
            for title, show in parts:
                with st.container(key=f"form-{title.lower().replace(' ', '-')}"):
                    st.html(f'<h2 class="form">{title}</h2><p class="note">{say(proof[title])}</p>')
                    with plain_words(title):
                        show(state)


def _proof(answer: Answer | None, state: PageState) -> dict[str, str]:
    """What each input is taken for, in a line."""
    if answer is None:
        none = "what stands here gives no answer yet"
        return {"Place": none, "Weather record": none, "House": none, "Local rules": rules_line(state)[1]}
    spot, ground = answer.spot, answer.site.ground_height
    height = "" if ground is None else f", ground height {metres(ground, decimals=0)}"
    return {
        "Place": f"{spot.name}: {spot.line}{height}" if spot.told else f"{spot.line}: type it here",
        "Weather record": f"{answer.record.title}: {answer.record.line}",
        "House": f"{answer.building.name}: {building_line(answer)}",
        "Local rules": rules_line(state)[1],
    }


def building_line(answer: Answer) -> str:
    """The building in one line: elevations, storeys, height."""
    walls, storeys = answer.building.walls, answer.building.storeys
    elevations = "one elevation" if len(walls) == 1 else f"{len(walls)} elevations"
    floors = "one storey" if storeys == 1 else f"{storeys} storeys"
    return f"{elevations}, {floors}, walls up to {metres(max(wall.height for wall in walls))}"
