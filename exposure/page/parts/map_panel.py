"""The map: the region's index, the named places, and close up the building with its neighbours and lines of sight.

Derived from the planner's question how exposed a place is and how places compare, and the designer's what shelters a
wall. A click does what the place form does; the form stands before it for those who use the keyboard. It makes no
outside request; background tiles of a public server are a switch, off unless asked.
"""

import json
from typing import Any

import numpy as np
import shapely
import streamlit as st

from exposure.checks import RefusalError
from exposure.invented.geography import places
from exposure.map.map_layers import (
    WORST,
    Spot,
    building_layer,
    coast_layer,
    ground_ring,
    neighbours_layer,
    place_marks,
    raster_layer,
    rays_layer,
)
from exposure.map.place_map import (
    INVENTED_NOTICE,
    MapState,
    box_view,
    read_click,
    show_place_map,
    spot_view,
)
from exposure.page.choices.address import choices, choose
from exposure.page.choices.answer import Answer
from exposure.page.choices.beside import beside_of_ring, with_another
from exposure.page.choices.house_inputs import house_in_use
from exposure.page.choices.inputs import INVENTED_RECORD, demo, home_of, region_index, region_is_made
from exposure.page.choices.outline_text import outline_of_ring
from exposure.page.choices.session import session
from exposure.page.choices.state import PageState
from exposure.page.held import Held
from exposure.page.refuse import Refused, raise_refused

QUANTITIES = {"year": "airfield_annual_index", "spell": "airfield_spell_index"}
CLICK = "map-click"  # one map for both switches, so that it is loaded once
REGION, CLOSE = "The region", "The building"
HOUSE, BESIDE = "The house", "A neighbour"
_SHOWS: Held[str | None] = Held("map-shows", None)
_DRAWS: Held[str | None] = Held("map-draws", None)
_HIGH: Held[float | None] = Held("map-draws-height", None)
_CLICK: Held[Any] = Held(CLICK, None)  # as the map sends it
_STAMP: Held[int] = Held(f"{CLICK}-stamp", -1)  # of the click last followed
_REFUSED: Refused = Held("refused-click", None)
HEIGHT = 500
CLOSE_ZOOM, LONE_ZOOM, DRAW_ZOOM = 17.5, 6.0, 20.0  # at the last a house of 12 m is over 100 px wide


def show_map(answer: Answer, state: PageState) -> None:
    """The map with its two switches; a click on the region chooses the place."""
    left, right = st.columns([1, 1.4], vertical_alignment="bottom")
    with left:
        st.segmented_control("Map shows", [REGION, CLOSE], default=REGION, key=_SHOWS.key)
    close = _SHOWS.value == CLOSE
    with right:
        online = st.toggle("Background from a public map server", key="map-online", help=ONLINE_HELP)
    drawing = _asked_drawing() if close else ""
    shown = close_map(answer, drawing=drawing) if close else region_map(answer, state)
    show_place_map(
        MapState(**shown, online=online, notice=INVENTED_NOTICE if answer.spot.invented else "").data(),
        key=CLICK,
        height=HEIGHT,
        on_change=_clicked,
    )
    raise_refused(_REFUSED)
    waits = "" if region_is_made() or "layer" not in shown else REGION_WAITS
    st.html(f'<p class="note">{waits}{DRAW_HELP if drawing else CLICK_HELP}</p>')


def _asked_drawing() -> str:
    """What a click on the map draws: a house, a neighbour of the height told, or nothing."""
    with st.container(horizontal=True, vertical_alignment="bottom", key="drawing"):
        drawing = st.segmented_control("Draw on the map", [HOUSE, BESIDE], key=_DRAWS.key)
        if drawing == BESIDE:
            st.number_input("Height of the neighbour, m", 2.0, 200.0, 6.0, 0.5, format="%g", key=_HIGH.key)
    return drawing or ""


ONLINE_HELP = (
    "Off: nothing leaves this machine. On: your browser asks a public server for pictures of the area shown."
)
DRAW_HELP = (
    "Click the corners in turn, then the first again or Close outline. Sides keep to right angles and tenths of a metre "
    "until you press Right angles. To type instead: Change, House, Side by side; a neighbour: What this rests on."
)
REGION_WAITS = (
    "The map gets its tones once the region is worked out, in about a minute; open this part again then. "
)
CLICK_HELP = "Click the map to choose a place, or press Change, above: a name, or a position to type."


def region_map(answer: Answer, state: PageState) -> dict[str, Any]:
    """The island with its raster, coast and places, or the wide world round a record of one's own."""
    spot = answer.spot
    if not spot.invented or state.record != INVENTED_RECORD:
        return {
            "label": f"World map with the place at {spot.line}.",
            "view": spot_view(spot.latitude, spot.longitude, zoom=LONE_ZOOM),
            "point": (spot.latitude, spot.longitude),
        }
    layer = _raster(state.measure, state.facing, region_is_made())
    coast = coast_of_island()
    return {
        "label": _region_words(answer, layer),
        "view": _coast_view(coast),
        "layer": layer,
        "coast": coast,
        "places": place_marks(places(), chosen=spot.name),
        "point": (spot.latitude, spot.longitude),
    }


def close_map(answer: Answer, *, drawing: str) -> dict[str, Any]:
    """The building on its ground: elevations in the colour of their class, neighbours, lines of sight, ground."""
    spot, surveyed = answer.spot, answer.surveyed
    middle = Spot(surveyed.place.plane.latitude, surveyed.place.plane.longitude)
    tallest = max(wall.height for wall in answer.building.walls)
    shapes = []
    if surveyed.neighbours is not None:
        for polygon, height in zip(surveyed.neighbours.polygons, surveyed.neighbours.heights, strict=True):
            shapes.append((shapely.get_coordinates(polygon).tolist(), float(height), ""))
    view = answer.chosen.wall.view
    return {
        "label": f"{answer.building.name} from above; worst elevation {answer.worst.wall.name}, "
        f"{answer.worst.exposure_class}. The plan below says the same.",
        "view": spot_view(spot.latitude, spot.longitude, zoom=DRAW_ZOOM if drawing else CLOSE_ZOOM),
        "coast": coast_of_island() if spot.invented else None,
        "building": None if drawing == HOUSE else building_layer(answer.assessment, middle),
        "neighbours": neighbours_layer(shapes, middle, wall_height=tallest),
        "rays": rays_layer(view.rays, middle) if view is not None and not drawing else [],
        "ring": ground_ring(answer.site),
        "drawing": bool(drawing),
        "clickable": bool(drawing),
    }


def _region_words(answer: Answer, layer: dict | None) -> str:
    facing = f" Open field, {layer['facing']}." if layer else ""
    return (
        f"Map of the invented island with {len(places())} named places; chosen: {answer.spot.name}.{facing} "
        "Names and positions can be chosen under Change."
    )


def _coast_view(coast: dict) -> dict:
    corners = [corner for ring in coast["rings"] for corner in ring]
    latitudes, longitudes = zip(*corners, strict=True)
    return box_view(south=min(latitudes), west=min(longitudes), north=max(latitudes), east=max(longitudes))


@st.cache_data(show_spinner=False)
def coast_of_island() -> dict:
    """The invented island's outline."""
    return coast_layer(json.loads(demo().coast.read_text("utf-8")))


@st.cache_data(max_entries=64, show_spinner=False)
def _raster(measure: str, facing: str, made: bool) -> dict | None:
    index = region_index() if made else None
    if index is None:
        return None
    orientation = WORST if facing == WORST else float(facing)
    return raster_layer(index, quantity=QUANTITIES[measure], orientation=orientation)


def _clicked() -> None:
    try:
        click = read_click(_CLICK.value)
        if click is None or click.stamp == _STAMP.value:
            return
        _STAMP.put(click.stamp)
        session.map_moved = True
        if click.kind == "footprint":
            _use_ring(click.ring)
        elif click.kind == "place" and click.name in {place.name for place in places()}:
            choose(at=home_of(click.name), place_name="", elevation="", building=None, name="")
        elif click.latitude is not None and click.longitude is not None:
            _go_to(click.latitude, click.longitude)
    except RefusalError as refused:
        _REFUSED.put(refused)


def _go_to(latitude: float, longitude: float) -> None:
    from exposure.page.choices.inputs import spot_in_use

    state = choices()
    kept = state.building or house_in_use(state, spot_in_use(state))
    east = (longitude + 180) % 360 - 180
    choose(at=(round(latitude, 5), round(east, 5)), place_name="", building=kept, elevation="")


def _use_ring(ring: tuple[tuple[float, float], ...]) -> None:
    if _DRAWS.value == BESIDE:
        new = beside_of_ring(np.array(ring), height=float(_HIGH.value or 6.0))
        choose(beside=with_another(choices().beside, new))
        return
    at, outline = outline_of_ring(np.array(ring))
    choose(at=at, place_name="", building=outline, elevation="", name="")
    _DRAWS.put(None)
