"""What the reader knows better than the maps: the ground by direction, and whether the neighbours count.

Derived from the designer's question what shelters a wall, and whether it still would if a neighbour went. What is
set here is said on the sheet; what is left alone stays as mapped.
"""

import streamlit as st

from exposure.page.address import asks, choose, writes
from exposure.page.answer import Answer
from exposure.page.building_answers import show_construction_form
from exposure.page.inputs import GROUND_CODES
from exposure.page.state import NEIGHBOURS, PageState
from exposure.tables import load_table
from exposure.wall.building import compass_name

MAPPED = "as mapped"


def show_what_differs(answer: Answer, state: PageState) -> None:
    """The forms, drawn only once they are asked for: thirty questions would slow every other choice."""
    if not st.toggle("What you know better: how it is built, ground, neighbours", key="what-differs"):
        return
    with st.container(border=True):
        built, around = st.tabs(["How it is built", "Ground and neighbours"])
        with built:
            show_construction_form(state)
        with around:
            st.segmented_control(
                "Neighbours",
                list(NEIGHBOURS),
                format_func=NEIGHBOURS.__getitem__,
                **asks("neighbours", state.neighbours, writes("neighbours")),
                required=True,
                help="A neighbour can be pulled down: the answer without them always stands beside.",
            )
            _ground_form(answer, state)


def _ground_form(answer: Answer, state: PageState) -> None:
    meanings = {row["category"]: row["meaning"] for row in load_table("terrain")["row"]}
    codes = {category: code for code, category in GROUND_CODES.items()}
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
        st.button("Ground as mapped", on_click=choose, kwargs={"ground": ""})


def _use_ground(tail: str, codes: dict[str, str]) -> None:
    choose(ground="".join(codes[st.session_state[f"ground-{sector}-{tail}"]] for sector in range(12)))
