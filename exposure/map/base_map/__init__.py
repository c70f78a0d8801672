"""What every map needs without a network: the map script (Leaflet, BSD-2, see leaflet_licence.md), land, own parts.

``leaflet.js`` and ``leaflet.css`` are the published files of Leaflet 1.9.4 without the line that points to a source
map; ``land.js`` is Natural Earth land (public domain), see ``data_open/natural_earth_land_110m.md``; ``hand.js`` and
``map.css`` are what a map does under the hand and how it looks, ``sketch.js`` how an outline is drawn on it; ``region_page.js`` and ``district_page.js`` are for the files that stand alone.
"""

from functools import cache
from pathlib import Path

FOLDER = Path(__file__).parent


@cache
def asset(name: str) -> str:
    """Text of one of the files beside this one.

    Examples
    --------
    >>> asset("leaflet.js").splitlines()[1]
    ' * Leaflet 1.9.4, a JS library for interactive maps. https://leafletjs.com'
    """
    return (FOLDER / name).read_text("utf-8")
