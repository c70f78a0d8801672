"""Change the building: an invented house, a box by its sizes, an outline by its corners, or a file.

Derived from the designer's question: which elevation is worst needs no more than an outline, a height and where it
stands; everything else has a usual value that is shown.
"""

from dataclasses import replace

import numpy as np
import streamlit as st

from exposure.checks import RefusalError, check_between
from exposure.page.choices.address import asks, choices, choose, fill, writes
from exposure.page.choices.house_file import ENDINGS, check_upload, place_in, words_in, words_of_upload
from exposure.page.choices.inputs import houses
from exposure.page.choices.own_files import BUILDING, keep, kept, read_own
from exposure.page.choices.state import (
    MOST_CORNERS,
    ROOFS,
    Box,
    House,
    HouseFile,
    Outline,
    PageState,
    short_name,
)
from exposure.page.choices.told import told_without_walls
from exposure.page.markup import say
from exposure.page.refuse import plain_words
from exposure.site.plane import DEGREES, LocalPlane

KINDS = {
    "house": "An invented house",
    "box": "By its sizes",
    "outline": "By its corners",
    "file": "From a file",
}
FILE_HINT = (
    "A building's file of ours (TOML or JSON; `exposure example` writes one to start from), or a footprint as GeoJSON or "
    "GeoPackage with height, storeys, roof, gables, ridge_height, pitch, eaves and terrain as its properties."
)
ROOF_WORDS = {
    "gable": "pitched, with gables at the short ends",
    "hip": "pitched, eaves all round",
    "flat": "flat",
}
BOX_FIELDS = ("length", "width", "bearing", "height", "storeys", "roof")
EXAMPLE = "0, 0\n12, 0\n12, 8\n0, 8"


def show_building_form(state: PageState) -> None:
    """Choose the kind, then say its sizes."""
    kind = kind_of(state)
    st.segmented_control(
        "Building", list(KINDS), format_func=KINDS.__getitem__, key=fill("building-kind", _asked_kind(kind))
    )
    asked = st.session_state.get("building-kind") or kind
    with plain_words("The building"):
        refused = st.session_state.pop("refused-building", None)
        if refused is not None:
            raise refused
    {"house": _house_form, "box": _box_form, "outline": _outline_form, "file": _file_form}[asked](state)
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


def _outline_form(state: PageState) -> None:
    now = state.building if isinstance(state.building, Outline) else None
    usual = now or Outline(())
    fill("outline-height", usual.height)
    fill("outline-storeys", usual.storeys)
    fill("outline-roof", usual.roof)
    typed = "\n".join(f"{east:g}, {north:g}" for east, north in now.corners) if now else ""
    fresh = "outline-corners" not in st.session_state
    if (
        fresh or st.session_state.get("outline-in-force") != typed
    ):  # what was typed and refused stays to be mended
        st.session_state["outline-in-force"] = st.session_state["outline-corners"] = typed
    with st.form("outline", border=False):
        st.text_area(
            "Corners in order round the building: metres east, metres north; one corner a line",
            placeholder=EXAMPLE,
            key="outline-corners",
            height=150,
            max_chars=2000,
        )
        left, right = st.columns(2)
        with left:
            st.number_input("Height of the walls, m", 1.0, 200.0, step=0.1, format="%g", key="outline-height")
        with right:
            st.number_input("Storeys", 1, 60, key="outline-storeys")
        st.selectbox("Roof", list(ROOFS), format_func=ROOF_WORDS.__getitem__, key="outline-roof")
        st.form_submit_button("Use this outline", on_click=_use_outline)


def _use_outline() -> None:
    try:
        corners = read_corners(st.session_state.get("outline-corners", ""))
    except RefusalError as refused:
        st.session_state["refused-building"] = refused
        return
    told = {name: st.session_state[f"outline-{name}"] for name in ("height", "storeys", "roof")}
    choose(building=Outline(corners, **told), elevation="")


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
        st.session_state["refused-building"] = refused
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


def read_corners(text: str) -> tuple[tuple[float, float], ...]:
    """Corners as typed, metres east and north.

    Raises
    ------
    RefusalError
        When a line is not two numbers, or there are too few or too many.

    Examples
    --------
    >>> read_corners("0, 0" + chr(10) + "12 0" + chr(10) + "12; 8")
    ((0.0, 0.0), (12.0, 0.0), (12.0, 8.0))
    """
    corners = []
    for number, line in enumerate((one for one in text.splitlines() if one.strip()), start=1):
        parts = line.replace(";", " ").replace(",", " ").split()
        if len(parts) != 2:
            raise RefusalError(
                f"corner {number} reads {line[:40]!r}",
                "two numbers, metres east and metres north",
                "Correct it.",
            )
        east, north = (_metres(part, number) for part in parts)
        corners.append((round(east, 2), round(north, 2)))
    if not 3 <= len(corners) <= MOST_CORNERS:
        raise RefusalError(
            f"{len(corners)} corners", f"3 to {MOST_CORNERS} corners", "Add or leave out corners."
        )
    return tuple(corners)


def _metres(text: str, corner: int) -> float:
    try:
        return check_between(float(text), f"corner {corner}", -5000, 5000, "m")
    except ValueError as error:
        if isinstance(error, RefusalError):
            raise
        raise RefusalError(
            f"corner {corner} holds {text[:20]!r}", "a number of metres", "Correct it."
        ) from error


def outline_of_ring(ring: np.ndarray) -> tuple[tuple[float, float], Outline]:
    """A place and an outline round it from corners drawn on the map, latitude and longitude of each. [degree]"""
    if len(ring) > MOST_CORNERS:
        raise RefusalError(
            f"an outline of {len(ring)} corners", f"at most {MOST_CORNERS}", "Draw it with fewer."
        )
    latitude, longitude = (round(float(value), 5) for value in ring.mean(axis=0))
    longitude = round((longitude + 180) % 360 - 180, 5)
    plane = LocalPlane(latitude=latitude, longitude=longitude)
    east, north = plane.come(ring[:, 1], ring[:, 0], crs=DEGREES)
    corners = tuple((round(float(x), 2), round(float(y), 2)) for x, y in zip(east, north, strict=True))
    return (latitude, longitude), Outline(corners)
