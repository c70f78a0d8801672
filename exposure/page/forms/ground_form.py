"""The ground round the house as the reader knows it: the same all round, or by the direction the wind comes from.

Derived from the designer's question what shelters a wall: what is set here is said on the sheet.
"""

import streamlit as st

from exposure.page.choices.address import choose
from exposure.page.choices.answer import Answer
from exposure.page.choices.house_inputs import GROUND_CODES
from exposure.page.choices.state import PageState
from exposure.page.held import Held
from exposure.tables import load_table
from exposure.wall.building import compass_name

_ROUND: Held[str | None] = Held("ground-round", None)


def _sector(sector: int, tail: str) -> Held[str]:
    return Held(f"ground-{sector}-{tail}", "")


def show_ground_form(answer: Answer, state: PageState) -> None:
    """One field for all round, twelve for the directions, in words beside the category."""
    meanings = {row["category"]: row["meaning"] for row in load_table("terrain")["row"]}
    codes = {category: code for code, category in GROUND_CODES.items()}

    def words(category: str) -> str:
        return f"{category}: {meanings[category]}"

    with st.form("ground-all", border=False):
        st.selectbox(
            "The same ground all round",
            list(codes),
            index=None,
            format_func=words,
            key=_ROUND.key,
            placeholder="Choose one, or set each direction below",
        )
        st.form_submit_button("Use it all round", on_click=_use_round, args=(codes,))
    tail = f"{answer.spot.line}-{state.ground}"
    with st.form("ground", border=False):
        st.markdown("Or by the direction the wind comes from")
        rows = [st.columns(4) for _ in range(3)]
        for sector in range(12):
            bearing = 30 * sector
            with rows[sector // 4][sector % 4]:
                st.selectbox(
                    f"{compass_name(bearing)}, {bearing}°",
                    list(codes),
                    list(codes).index(answer.site.categories[sector]),
                    format_func=words,
                    key=_sector(sector, tail).key,
                )
        st.form_submit_button("Use this ground", on_click=_use_ground, args=(tail, codes))
    if state.ground:
        st.button(
            "Ground as mapped" if answer.spot.invented else "Ground not told",
            on_click=choose,
            kwargs={"ground": ""},
        )


def _use_round(codes: dict[str, str]) -> None:
    chosen = _ROUND.value
    if chosen is not None:
        choose(ground=12 * codes[chosen])


def _use_ground(tail: str, codes: dict[str, str]) -> None:
    choose(ground="".join(codes[_sector(sector, tail).value] for sector in range(12)))
