"""Ask what no outline shows: eaves, pitch, gables; and how near a neighbour as tall stands, elevation by elevation.

Derived from the designer's question which elevation is worst. An empty field stays empty: what is not told is never
shown as if someone had typed it.
"""

from collections.abc import Sequence

import streamlit as st

from exposure.page.choices.address import asks, choices, choose, fill, writes
from exposure.page.choices.house_inputs import roof_of
from exposure.page.choices.state import NEIGHBOURS, PageState, key_of
from exposure.page.choices.told import (
    APART,
    EAVES,
    FARTHEST,
    GABLES,
    NEAR,
    PITCH,
    PITCHES,
    WIDEST_EAVES,
    gables_told,
    near_told,
    number_told,
    told_with,
)
from exposure.page.held import Held, HeldEach

_EAVES: Held[float | None] = Held("roof-eaves", None)
_PITCH: Held[float | None] = Held("roof-pitch", None)
_GABLES: Held[list[str]] = Held("roof-gables", [])
_NEAR: HeldEach[float | None] = HeldEach("near-", None)  # by elevation


def show_roof_form(state: PageState, elevations: Sequence[str]) -> None:
    """How far the roof reaches, its pitch and its gables, where it has any."""
    kind = roof_of(state)
    if kind == "flat":
        st.html(
            "<p>A flat roof has no eaves, no pitch and no gables. Its form is chosen with the house, under Change.</p>"
        )
        return
    gabled = kind == "gable"
    fill(_EAVES, number_told(state, EAVES, 0, WIDEST_EAVES))
    if gabled:
        fill(_PITCH, number_told(state, PITCH, *PITCHES))
        fill(_GABLES, gables_told(state, elevations))
    with st.form("roof", border=False):
        st.number_input(
            "How far the roof reaches over the walls, mm", 0.0, WIDEST_EAVES, None, 50.0, format="%g",
            key=_EAVES.key, placeholder="not told: none credited",
        )  # fmt: skip
        if gabled:
            st.number_input(
                "Pitch of the roof, degrees", *PITCHES, None, 1.0, format="%g",
                key=_PITCH.key, placeholder="not told: 45 taken",
            )  # fmt: skip
            st.multiselect(
                "Elevations that are gables, where the plan has wings",
                list(elevations),
                key=_GABLES.key,
                placeholder="not told: one ridge, or the harder side",
            )
        st.form_submit_button("Use this roof", on_click=_use_roof, args=(tuple(elevations),))


def _use_roof(elevations: tuple[str, ...]) -> None:
    eaves, pitch, gables = _EAVES.value, _PITCH.value, _GABLES.value
    choose(
        details=told_with(
            choices(),
            {
                EAVES: "" if eaves is None else f"{eaves:g}",
                PITCH: "" if pitch is None else f"{pitch:g}",
                GABLES: APART.join(key_of(name) for name in elevations if name in gables),
            },
        )
    )


def show_near_form(state: PageState, elevations: Sequence[str]) -> None:
    """How near a building at least as tall stands, where no map of neighbours tells it."""
    told = near_told(state, elevations)
    for name in elevations:
        fill(_NEAR[key_of(name)], told.get(name))
    with st.form("near", border=False):
        st.markdown(
            "Nearest building at least as tall as the wall, in the line of sight, m. Hedges and trees do not count."
        )
        columns = st.columns(2)
        for place, name in enumerate(elevations):
            with columns[place % 2]:
                st.number_input(
                    f"From the {name} elevation", 0.0, FARTHEST, None, 1.0, format="%g",
                    key=_NEAR[key_of(name)].key, placeholder="not told: none counts",
                )  # fmt: skip
        st.form_submit_button("Use these neighbours", on_click=_use_near, args=(tuple(elevations),))


def _use_near(elevations: tuple[str, ...]) -> None:
    values = {name: _NEAR[key_of(name)].value for name in elevations}
    choose(
        details=told_with(
            choices(),
            {NEAR + key_of(name): "" if value is None else f"{value:g}" for name, value in values.items()},
        )
    )


def show_neighbours_switch(state: PageState) -> None:
    """Whether the mapped neighbours count."""
    st.segmented_control(
        "Neighbours",
        list(NEIGHBOURS),
        format_func=NEIGHBOURS.__getitem__,
        **asks("neighbours", state.neighbours, writes("neighbours")),
        required=True,
        help="A neighbour can be pulled down: the answer without them always stands beside.",
    )
