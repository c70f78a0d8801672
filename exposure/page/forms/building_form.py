"""Change the building: an invented house, a rectangle, an outline side by side, or a file.

Derived from the designer's question: which elevation is worst needs no more than an outline, a height and where it
stands; everything else has a usual value that is shown.
"""

from dataclasses import replace

import streamlit as st

from exposure.checks import RefusalError
from exposure.page.choices.address import asks, choices, choose, fill, writes
from exposure.page.choices.house_file import ENDINGS, check_upload, place_in, words_in, words_of_upload
from exposure.page.choices.inputs import houses
from exposure.page.choices.own_files import BUILDING, keep, kept, read_own
from exposure.page.choices.state import (
    ROOFS,
    Box,
    House,
    HouseFile,
    Outline,
    PageState,
    short_name,
)
from exposure.page.choices.told import told_without_walls
from exposure.page.forms.outline_form import REFUSED, ROOF_WORDS, show_outline_form
from exposure.page.markup import say
from exposure.page.refuse import plain_words

KINDS = {
    "house": "An invented house",
    "box": "A rectangle",
    "outline": "Side by side",
    "file": "From a file",
}
FILE_HINT = (
    "A building's file of ours (TOML or JSON; `exposure example` writes one to start from), or a footprint as GeoJSON or "
    "GeoPackage with height, storeys, roof, gables, ridge_height, pitch, eaves and terrain as its properties."
)
BOX_FIELDS = ("length", "width", "bearing", "height", "storeys", "roof")


def show_building_form(state: PageState) -> None:
    """Choose the kind, then say its sizes."""
    kind = kind_of(state)
    st.segmented_control(
        "Building", list(KINDS), format_func=KINDS.__getitem__, key=fill("building-kind", _asked_kind(kind))
    )
    asked = st.session_state.get("building-kind") or kind
    with plain_words("The building"):
        refused = st.session_state.pop(REFUSED, None)
        if refused is not None:
            raise refused
    {"house": _house_form, "box": _box_form, "outline": show_outline_form, "file": _file_form}[asked](state)
    st.text_input(
        "Name of the building",
        **asks("building-name", state.name, writes("name", short_name)),
        max_chars=80,
    )


def kind_of(state: PageState) -> str:
    """Which kind of building is in force."""
    if isinstance(state.building, Box):
        return "box"
    if isinstance(state.building, HouseFile):
        return "file"
    return "outline" if isinstance(state.building, Outline) else "house"


def _asked_kind(kind: str) -> str:
    """What the switch shows: the reader's last press, until the building in force changes its kind."""
    if st.session_state.get("building-kind-in-force") != kind:
        st.session_state["building-kind-in-force"] = kind
        return kind
    return st.session_state.get("building-kind") or kind


def _house_form(state: PageState) -> None:
    known = {one["key"]: one for one in houses()}
    inside = state.building.key if isinstance(state.building, House) and state.building.key in known else None
    st.selectbox(
        "House",
        list(known),
        format_func=lambda key: f"{known[key]['name']}, {known[key]['place']}",
        index=None,
        **asks("house", inside, _use_house),
        placeholder="Type or choose a name",
    )


def _use_house(key: str) -> None:
    found = next((one for one in houses() if one["key"] == key), None)
    if found is not None:
        at = (round(found["latitude"], 5), round(found["longitude"], 5))
        choose(building=House(found["key"]), at=at, place_name="", elevation="", name="")


def _box_form(state: PageState) -> None:
    now = state.building if isinstance(state.building, Box) else Box()
    for name in BOX_FIELDS:
        fill(f"box-{name}", getattr(now, name))
    with st.form("box", border=False):
        left, right = st.columns(2)
        with left:
            st.number_input("Length, m", 1.0, 500.0, step=0.5, format="%g", key="box-length")
            st.number_input("Height of the walls, m", 1.0, 200.0, step=0.1, format="%g", key="box-height")
        with right:
            st.number_input("Width, m", 1.0, 500.0, step=0.5, format="%g", key="box-width")
            st.number_input("Storeys", 1, 60, key="box-storeys")
        st.number_input(
            "Bearing of the long side, degrees from north",
            0.0,
            360.0,
            step=1.0,
            format="%g",
            key="box-bearing",
        )
        st.selectbox("Roof", list(ROOFS), format_func=ROOF_WORDS.__getitem__, key="box-roof")
        st.form_submit_button("Use these sizes", on_click=_use_box)


def _use_box() -> None:
    told = {name: st.session_state[f"box-{name}"] for name in BOX_FIELDS}
    choose(building=replace(Box(), **told), elevation="")


def _file_form(state: PageState) -> None:
    if isinstance(state.building, HouseFile):
        own = kept(state.building.mark)
        words = f"In force: {own.name}." if own else "The file in force is not in this window; open it again."
        st.html(f'<p class="note">{say(words)}</p>')
    st.file_uploader(
        "Open a building's file (TOML, JSON, GeoJSON or GeoPackage, up to 1 MB)",
        type=[ending.removeprefix(".") for ending in ENDINGS],
        key="house-file",
        max_upload_size=1,
        help=FILE_HINT,
        on_change=_use_file,
    )
    st.text_input(
        "Which building, where the file holds several", key="house-which", max_chars=80, on_change=_use_file
    )


def _use_file() -> None:
    given = st.session_state.get("house-file")
    if given is None:
        return
    try:
        check_upload(given.size)
        which = st.session_state.get("house-which", "").strip()
        text = words_of_upload(given.getvalue(), given.name, which=which)
        own = read_own(BUILDING, text.encode(), given.name)
    except RefusalError as refused:
        st.session_state[REFUSED] = refused
        return
    words = words_in(text)
    choose(
        building=HouseFile(keep(own)),
        at=place_in(words),
        place_name=short_name(str(words["place"].get("name") or "")),
        name="",
        elevation="",
        ground="",
        details=told_without_walls(choices()),
    )
