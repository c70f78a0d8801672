"""Change the building: an outline told side by side or corner by corner, to be checked on a picture to scale.

Derived from the designer's question which elevation is worst. What is drawn on the map stands here as its sides, to
be put right to the decimetre; it does all that drawing does, from the keyboard and on the narrowest screen.
"""

from typing import Any

import streamlit as st

from exposure.checks import RefusalError
from exposure.draw.outline_sides import outline_picture, sides_of
from exposure.figures import metres
from exposure.page.choices.address import choose, fill
from exposure.page.choices.outline_text import corners_text, read_corners, read_sides, sides_text
from exposure.page.choices.state import ROOFS, Outline, PageState
from exposure.page.held import Held, HeldEach
from exposure.page.markup import plate, table
from exposure.page.refuse import Refused
from exposure.wall.building import compass_name

REFUSED: Refused = Held("refused-building", None)
_SIZES: HeldEach[Any] = HeldEach("outline-", None)  # each has its own type
ROOF_WORDS = {
    "gable": "pitched, with gables at the short ends",
    "hip": "pitched, eaves all round",
    "flat": "flat",
}
SIDES, CORNERS = "Length and bearing of each side", "Metres east and north of each corner"
SHOWN, TEXT = "outline-by", {SIDES: "outline-sides", CORNERS: "outline-corners"}
HINTS = {
    SIDES: "Sides in order round the building, one a line: metres, and the bearing it runs (degrees from north), or right or "
    "left for a square turn. The last side may be left out.",
    CORNERS: "Corners in order round the building, one a line: metres east, metres north of the place.",
}
EXAMPLES = {SIDES: "12, 45\n8, right\n12, right", CORNERS: "0, 0\n12, 0\n12, 8\n0, 8"}
WRITTEN = {SIDES: sides_text, CORNERS: corners_text}
READ = {SIDES: read_sides, CORNERS: read_corners}


def show_outline_form(state: PageState) -> None:
    """The text that tells the outline, its height, storeys and roof; below it the outline in force to scale."""
    now = state.building if isinstance(state.building, Outline) else None
    usual = now or Outline(())
    for name in ("height", "storeys", "roof"):
        fill(_SIZES[name], getattr(usual, name))
    told_by = st.radio("Told by", list(TEXT), key=SHOWN)
    _fill_text(TEXT[told_by], WRITTEN[told_by](now.corners) if now else "")
    with st.form("outline", border=False):
        st.text_area(
            HINTS[told_by], placeholder=EXAMPLES[told_by], key=TEXT[told_by], height=150, max_chars=2000
        )
        left, right = st.columns(2)
        with left:
            st.number_input(
                "Height of the walls, m", 1.0, 200.0, step=0.1, format="%g", key=_SIZES["height"].key
            )
        with right:
            st.number_input("Storeys", 1, 60, key=_SIZES["storeys"].key)
        st.selectbox("Roof", list(ROOFS), format_func=ROOF_WORDS.__getitem__, key=_SIZES["roof"].key)
        st.form_submit_button("Use this outline", on_click=_use_outline, args=(told_by,))
    st.html('<p class="note">To draw it instead: The place, The building, Draw on the map.</p>')
    if now is not None:
        st.html(_as_told(now))


def _fill_text(key: str, typed: str) -> None:
    """The outline in force as text; what was typed and refused stays to be mended."""
    field, in_force = Held(key, ""), Held(f"{key}-in-force", "")
    if not field.told or not in_force.told or in_force.value != typed:
        in_force.put(typed)
        field.put(typed)


def _as_told(now: Outline) -> str:
    sides = sides_of(now.corners)
    rows = [
        (str(number), metres(side.length), f"{round(side.bearing) % 360}°", compass_name(side.faces))
        for number, side in enumerate(sides, start=1)
    ]
    sides_told = table("Sides of the outline", ["Side", "Length", "Bearing", "Faces"], rows)
    return plate(outline_picture(now.corners)) + sides_told


def _use_outline(told_by: str) -> None:
    try:
        corners = READ[told_by](Held(TEXT[told_by], "").value)
    except RefusalError as refused:
        REFUSED.put(refused)
        return
    told = {name: _SIZES[name].value for name in ("height", "storeys", "roof")}
    choose(building=Outline(corners, **told), elevation="")
