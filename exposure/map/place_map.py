"""The map on the page: its state, what a click on it says, and the part of the page that shows it.

Everything the map loads lies in ``base_map/`` and is served by the page's own server, so it works with no network.
A click is told at once; the picture of a region travels as one small image. Drawn by :mod:`exposure.map.folium_map`.
"""

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass
from math import isfinite
from typing import Any

from exposure.checks import RefusalError, check_between
from exposure.draw.lettering import clean
from exposure.map.base_map import FOLDER
from exposure.map.folium_map import blank_map, drawn
from exposure.map.map_layers import close_up_legend

INVENTED_NOTICE = "Invented place and weather"
MOST_CORNERS = 400  # of a drawn footprint
ONLINE_TILES = {
    "address": "https://tile.openstreetmap.org/{z}/{x}/{y}.png",
    "credit": "© OpenStreetMap contributors",
}


@dataclass(frozen=True, kw_only=True)
class MapState:
    """What the map shows.

    Parameters
    ----------
    label
        The map's answer in a sentence, for those who do not see it.
    view
        From :func:`box_view` or :func:`spot_view`; the map moves only when it changes.
    layer, coast, places, building, neighbours, rays, ring
        From :mod:`exposure.map.map_layers`.
    point
        Chosen spot, latitude and longitude. [degree]
    notice
        A line that never leaves the map, such as :data:`INVENTED_NOTICE`.
    online
        Ask a public server for background tiles. Off by default: the map then makes no request but to its page.
    drawing
        Clicks set the corners of a footprint instead of choosing a place.
    """

    label: str
    view: Mapping
    layer: Mapping | None = None
    coast: Mapping | None = None
    places: Sequence[Mapping] = ()
    point: tuple[float, float] | None = None
    building: Mapping | None = None
    neighbours: Sequence[Mapping] = ()
    rays: Sequence[Mapping] = ()
    ring: Mapping | None = None
    notice: str = ""
    online: bool = False
    drawing: bool = False
    clickable: bool = True

    def data(self) -> dict:
        """The same as data that becomes JSON.

        Examples
        --------
        >>> state = MapState(label="Island", view=spot_view(48.6, -29.4, zoom=9), notice=INVENTED_NOTICE).data()
        >>> state["notice"], state["tiles"]
        ('Invented place and weather', None)
        """
        given, building, point = self.layer or {}, self.building, self.point
        return {
            "label": clean(self.label),
            "view": dict(self.view),
            "raster": given.get("raster"),
            "legend": given.get("legend")
            or (close_up_legend(dict(building)) if building and not self.drawing else None),
            "figures": given.get("figures"),
            "coast": self.coast,
            "places": list(self.places) or None,
            "point": {"latitude": point[0], "longitude": point[1]} if point else None,
            "building": building,
            "neighbours": list(self.neighbours) or None,
            "rays": list(self.rays) or None,
            "ring": self.ring,
            "notice": clean(self.notice) or None,
            "tiles": dict(ONLINE_TILES) if self.online else None,
            "drawing": self.drawing,
            "clickable": self.clickable,
        }


def box_view(*, south: float, west: float, north: float, east: float) -> dict:
    """A view that holds a box. [degree]"""
    return {"bounds": [[south, west], [north, east]]}


def spot_view(latitude: float, longitude: float, *, zoom: float) -> dict:
    """A view round a spot; zoom 9 shows an island, 17 a house and its neighbours."""
    return {"latitude": latitude, "longitude": longitude, "zoom": zoom}


@dataclass(frozen=True)
class MapClick:
    """What the user did on the map: ``kind`` is point, place or footprint."""

    kind: str
    latitude: float | None = None
    longitude: float | None = None
    name: str = ""
    ring: tuple[tuple[float, float], ...] = ()  # latitude, longitude of each corner
    stamp: int = 0  # tells one click from the next


def read_click(message: object) -> MapClick | None:
    """A message of the map, checked; None when there is none yet.

    Raises
    ------
    RefusalError
        For anything a map of ours does not send.

    Examples
    --------
    >>> read_click({"kind": "point", "latitude": 48.6, "longitude": -29.4, "stamp": 1}).latitude
    48.6
    """
    if message is None:
        return None
    if not isinstance(message, Mapping):
        _refuse(message)
        return None
    kind = message.get("kind")
    stamp = message.get("stamp", 0)
    number = int(stamp) if isinstance(stamp, int | float) and isfinite(stamp) else 0
    if kind == "footprint":
        corners = message.get("ring")
        if not isinstance(corners, list | tuple) or not 3 <= len(corners) <= MOST_CORNERS:
            raise RefusalError(
                f"a footprint of {len(corners) if isinstance(corners, list | tuple) else 'no'} corners",
                f"3 to {MOST_CORNERS} corners",
                "Draw it again.",
            )
        ring = tuple(_position(*corner) if _is_pair(corner) else _refuse(corner) for corner in corners)
        return MapClick("footprint", ring=ring, stamp=number)
    if kind in ("point", "place"):
        latitude, longitude = _position(message.get("latitude"), message.get("longitude"))
        name = clean(message.get("name", ""), most=200) if kind == "place" else ""
        return MapClick(str(kind), latitude, longitude, name, stamp=number)
    _refuse(message)
    return None


def _is_pair(corner: object) -> bool:
    return isinstance(corner, list | tuple) and len(corner) == 2


def _position(latitude: object, longitude: object) -> tuple[float, float]:
    return (
        check_between(latitude, "latitude", -90, 90, "degrees"),  # type: ignore[arg-type]  # what is no number is refused
        check_between(longitude, "longitude", -720, 720, "degrees"),  # type: ignore[arg-type]  # the same
    )


def _refuse(message: object) -> tuple[float, float]:
    raise RefusalError(
        f"the map sent {str(message)[:60]!r}", "a click or a footprint", "Click the map again."
    )


def map_arguments(state: Mapping, *, height: int = 480) -> dict[str, Any]:
    """The arguments of ``st_folium`` that show a state; the map stays as it is while only layers change."""
    from streamlit.components.v1 import declare_component

    served = declare_component("base_map", path=str(FOLDER))  # anew each run: a server may have begun since
    return {
        "fig": blank_map(f"../{served.name}"),
        "feature_group_to_add": drawn(state),
        "height": height,
        "width": None,
        "returned_objects": [],
        "render": False,
    }


def show_place_map(
    state: Mapping, *, key: str, height: int = 480, on_change: Callable[[], None] | None = None
) -> MapClick | None:
    """Show the map in a Streamlit page and return the last click on it.

    ``on_change`` runs before the next run of the page; read the click there with
    ``read_click(st.session_state[key])``. Inside a fragment only the fragment runs again.
    """
    from streamlit_folium import st_folium  # late: read before the server is there, its files are not served

    return read_click(st_folium(**map_arguments(state, height=height), key=key, on_change=on_change) or None)
