"""What the reader knows better than the maps: the ground by direction, and whether the neighbours count.

Derived from the designer's question what shelters a wall, and whether it still would if a neighbour went. What is
set here is said on the sheet; what is left alone stays as mapped.
"""

import streamlit as st

from exposure.page.choices.address import asks, choose, writes
from exposure.page.choices.answer import Answer
from exposure.page.choices.inputs import GROUND_CODES
from exposure.page.choices.state import NEIGHBOURS, PageState
from exposure.page.forms.building_answers import show_construction_form
from exposure.page.forms.told_form import show_near_form
from exposure.tables import load_table
from exposure.wall.building import compass_name


def show_what_differs(answer: Answer, state: PageState) -> None:
    """The forms, drawn only once they are asked for: thirty questions would slow every other choice."""
    if not st.toggle("What you know better: how it is built, ground, neighbours", key="what-differs"):
        return
    with st.container(border=True):
        built, around = st.tabs(["How it is built", "Ground and neighbours"])
        with built:
            show_construction_form(state)
        with around:
            if answer.surveyed.neighbours is None and state.neighbours == "mapped":
                show_near_form(state, [wall.name for wall in answer.building.walls])
            else:
                _neighbours_switch(state)
            _ground_form(answer, state)


def _neighbours_switch(state: PageState) -> None:
    st.segmented_control(
        "Neighbours",
        list(NEIGHBOURS),
        format_func=NEIGHBOURS.__getitem__,
        **asks("neighbours", state.neighbours, writes("neighbours")),
        required=True,
        help="A neighbour can be pulled down: the answer without them always stands beside.",
    )


def _ground_form(answer: Answer, state: PageState) -> None:
    meanings = {row["category"]: row["meaning"] for row in load_table("terrain")["row"]}
    codes = {category: code for code, category in GROUND_CODES.items()}
    with st.form("ground-all", border=False):
        left, right = st.columns([3, 1], vertical_alignment="bottom")
        with left:
            st.selectbox(
                "The same ground all round",
                list(codes),
                index=None,
                format_func=lambda category: f"{category}: {meanings[category]}",
                key="ground-round",
                placeholder="Choose one, or set each direction below",
            )
        with right:
            st.form_submit_button("Use it all round", on_click=_use_round, args=(codes,))
    with st.form("ground", border=False):
        st.markdown("Ground upwind, by the direction the wind comes from")
        rows = [st.columns(4) for _ in range(3)]
        for sector in range(12):
            bearing = 30 * sector
            with rows[sector // 4][sector % 4]:
                st.selectbox(
                    f"{compass_name(bearing)}, {bearing}°",
                    list(codes),
                    list(codes).index(answer.site.categories[sector]),
                    format_func=lambda category: f"{category}: {meanings[category]}",
                    key=f"ground-{sector}-{answer.spot.line}-{state.ground}",
                )
        st.form_submit_button(
            "Use this ground", on_click=_use_ground, args=(f"{answer.spot.line}-{state.ground}", codes)
        )
    if state.ground:
        st.button(
            "Ground as mapped" if answer.spot.invented else "Ground not told",
            on_click=choose,
            kwargs={"ground": ""},
        )


def _use_round(codes: dict[str, str]) -> None:
    chosen = st.session_state.get("ground-round")
    if chosen is not None:
        choose(ground=12 * codes[chosen])


def _use_ground(tail: str, codes: dict[str, str]) -> None:
    choose(ground="".join(codes[st.session_state[f"ground-{sector}-{tail}"]] for sector in range(12)))
