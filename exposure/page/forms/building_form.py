"""Change the building: an invented house, a rectangle, an outline side by side, or a file.

Derived from the designer's question: which elevation is worst needs no more than an outline, a height and where it
stands; everything else has a usual value that is shown.
"""

from collections import Counter
from dataclasses import replace
from functools import partial
from typing import Any

import streamlit as st
from streamlit.runtime.uploaded_file_manager import UploadedFile

from exposure.assess.from_files import survey_building
from exposure.assess.openings import openings_of_model
from exposure.checks import RefusalError
from exposure.page.choices.address import asks, choices, choose, fill, writes
from exposure.page.choices.house_file import (
    ENDINGS,
    check_upload,
    is_model,
    place_in,
    words_in,
    words_of_upload,
)
from exposure.page.choices.inputs import houses
from exposure.page.choices.own_files import BUILDING, OPENINGS, keep, kept, read_own
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
from exposure.page.forms.openings_form import openings_text
from exposure.page.forms.outline_form import REFUSED, ROOF_WORDS, show_outline_form
from exposure.page.held import Held, HeldEach
from exposure.page.markup import say
from exposure.page.refuse import show_refused
from exposure.page.work.long_work import REFUSED_WORK, Tell, begin, forget_refusal, running, show_work

WORK = "house"

KINDS = {
    "house": "An invented house",
    "box": "A rectangle",
    "outline": "Side by side",
    "file": "From a file",
}
FILE_HINT = (
    "A building's file of ours (TOML or JSON; `exposure example` writes one to start from), a footprint as GeoJSON or "
    "GeoPackage with height, storeys, roof, gables, ridge_height, pitch, eaves and terrain as its properties, or a building "
    "model (IFC), of which the outer walls, windows and doors are taken."
)
BOX_FIELDS = ("length", "width", "bearing", "height", "storeys", "roof")
_KIND: Held[str | None] = Held("building-kind", None)
_KIND_IN_FORCE: Held[str | None] = Held("building-kind-in-force", None)
_BOX: HeldEach[Any] = HeldEach("box-", None)  # each field of a box has its own type
_FILE: Held[UploadedFile | None] = Held("house-file", None)
_NAME: Held[str] = Held("house-name", "the model")  # of what is read
_WHICH: Held[str] = Held("house-which", "")


def show_building_form(state: PageState) -> None:
    """Choose the kind, then say its sizes."""
    kind = kind_of(state)
    st.segmented_control(
        "Building", list(KINDS), format_func=KINDS.__getitem__, key=fill(_KIND, _asked_kind(kind))
    )
    asked = _KIND.value or kind
    show_refused(REFUSED, "The building")
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
    if _KIND_IN_FORCE.value != kind:
        _KIND_IN_FORCE.put(kind)
        return kind
    return _KIND.value or kind


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
        fill(_BOX[name], getattr(now, name))
    with st.form("box", border=False):
        left, right = st.columns(2)
        with left:
            st.number_input("Length, m", 1.0, 500.0, step=0.5, format="%g", key=_BOX["length"].key)
            st.number_input(
                "Height of the walls, m", 1.0, 200.0, step=0.1, format="%g", key=_BOX["height"].key
            )
        with right:
            st.number_input("Width, m", 1.0, 500.0, step=0.5, format="%g", key=_BOX["width"].key)
            st.number_input("Storeys", 1, 60, key=_BOX["storeys"].key)
        st.number_input(
            "Bearing of the long side, degrees from north",
            0.0,
            360.0,
            step=1.0,
            format="%g",
            key=_BOX["bearing"].key,
        )
        st.selectbox("Roof", list(ROOFS), format_func=ROOF_WORDS.__getitem__, key=_BOX["roof"].key)
        st.form_submit_button("Use these sizes", on_click=_use_box)


def _use_box() -> None:
    told = {name: _BOX[name].value for name in BOX_FIELDS}
    choose(building=replace(Box(), **told), elevation="")


def _file_form(state: PageState) -> None:
    if isinstance(state.building, HouseFile):
        own = kept(state.building.mark)
        words = f"In force: {own.name}." if own else "The file in force is not in this window; open it again."
        st.html(f'<p class="note">{say(words)}</p>')
    st.file_uploader(
        "Open a building's file (TOML, JSON, GeoJSON or GeoPackage up to 1 MB, a model as IFC up to 50 MB)",
        type=[ending.removeprefix(".") for ending in ENDINGS],
        key=_FILE.key,
        max_upload_size=50,
        help=FILE_HINT,
        on_change=_use_file,
    )
    st.text_input(
        "Which building, where the file holds several", key=_WHICH.key, max_chars=80, on_change=_use_file
    )
    if running(WORK) is not None:
        st.html('<p class="note">It is being read: how far it is stands on top of the page, with Stop.</p>')


def show_house_work() -> None:
    """How far a model is read, and what is wrong with it: on top of the page, not in a closed form."""
    show_work(
        WORK,
        _take,
        what=_NAME.value,
        meanwhile="What the page shows is still the house before.",
        again=_use_file if _FILE.value is not None else None,
    )
    if REFUSED_WORK[WORK].value is not None:
        st.button("Keep the house before", on_click=forget_refusal, args=(WORK,))


def _use_file() -> None:
    given = _FILE.value
    if given is None:
        return
    which = _WHICH.value.strip()
    try:
        check_upload(given.size, given.name)
        if is_model(given.name):
            name = short_name(given.name)
            _NAME.put(name)
            forget_refusal(WORK)
            begin(WORK, f"Reading {name}.", partial(_read_model, given.getvalue(), given.name, which))
            return
        _take((given.name, words_of_upload(given.getvalue(), given.name, which=which)))
    except RefusalError as refused:
        REFUSED.put(refused)


def _read_model(content: bytes, name: str, which: str, tell: Tell) -> tuple[str, str]:
    return name, words_of_upload(content, name, which=which, tell=tell)


def _take(read: tuple[str, str]) -> None:
    """Put a house that was read in force, with the openings its model tells."""
    name, text = read
    own = read_own(BUILDING, text.encode(), name)
    words = words_in(text)
    openings: dict[str, str] = {}
    try:
        told = openings_told(words)
        openings = {"openings": keep(read_own(OPENINGS, told.encode(), name))} if told else {}
    except RefusalError as refused:  # the house stands without them
        REFUSED.put(refused)
    choose(
        building=HouseFile(keep(own)),
        at=place_in(words),
        place_name=short_name(str(words["place"].get("name") or "")),
        name="",
        elevation="",
        ground="",
        details=told_without_walls(choices()),
        **openings,
    )


def openings_told(words: dict[str, Any]) -> str:
    """The windows and doors that a model tells as a list, those of one size on one elevation together; empty for none.

    Raises
    ------
    RefusalError
        As :func:`exposure.assess.openings.openings_of_model`.
    """
    if not words.get("openings"):
        return ""
    house = survey_building(words)
    found = openings_of_model(words, house.building.walls, house.place.plane)
    alike = Counter(replace(one, name="") for one in found)
    return openings_text([replace(one, count=count) for one, count in alike.items()])
