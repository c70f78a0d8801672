"""A region's index as one HTML file: map, choice of index and facing, figures of the named places. No request."""

import re
from collections.abc import Sequence
from pathlib import Path
from typing import Any

import numpy as np
import xarray as xr

from exposure import __version__
from exposure.checks import RefusalError
from exposure.doubts import flags_of
from exposure.draw.lettering import clean
from exposure.draw.raster_picture import Scale, round_scale
from exposure.figures import litres
from exposure.in_place import filled_in_place
from exposure.map.base_map import asset
from exposure.map.folium_map import as_json, as_text, blank_map, drawn, legend_markup
from exposure.map.map_layers import (
    QUANTITIES,
    WORST,
    coast_layer,
    field_of,
    place_marks,
    raster_layer,
    unit_of,
)
from exposure.map.place_map import INVENTED_NOTICE, MapState, box_view
from exposure.wall.building import compass_name

MOST_PICTURED = 2_500_000  # cells times pictures that one file carries; more, and fewer facings can be chosen
MOST_READ = (
    500_000  # cells times pictures whose figures the pointer reads; those the page opens with come first
)
FEWER_FACINGS = 4
MOST_FACINGS = 12  # to choose from
CAUTIONS = (
    "Rain on a wall standing in an open field. What a real wall gets depends on the ground, hills and neighbours "
    "round it and on its own shape: classes are not read from this map.",
    "Local codes and licensed practice decide what is built.",
)


def draw_region_map(
    index: xr.Dataset,
    *,
    title: str,
    quantity: str = "airfield_annual_index",
    orientation: float | str = WORST,
    places: Sequence = (),
    coast: dict | None = None,
) -> str:
    """The region as a page of HTML that stands alone: it opens from a disk and asks no server for anything.

    Parameters
    ----------
    index
        ``airfield_annual_index`` and ``airfield_spell_index`` (one of them is enough) along ``orientation``,
        ``latitude``, ``longitude``; attributes ``kind``, ``source``, ``licence``, ``flags`` are shown.
    title
        Heading of the page; text, whatever it holds.
    quantity, orientation
        What is shown first: an index and a facing [degree] or ``"worst"``. Every index can be chosen, and twelve
        facings, on a large grid four or the worst alone. The pointer reads figures where the file stays small enough.
    places
        Things with ``name``, ``latitude``, ``longitude`` and perhaps ``note``, marked and listed.
    coast
        GeoJSON of the coast, where the land of the backdrop is too coarse; the sea is then covered.

    Raises
    ------
    RefusalError
        For a quantity or orientation the index does not hold, or a grid that is not evenly spaced.
    """
    field_of(index, quantity, orientation)
    asked = (quantity, _key(orientation))
    held = [name for name in QUANTITIES if name in index]
    angles = [float(angle) for angle in index["orientation"].values]
    cells = index.sizes["latitude"] * index.sizes["longitude"]
    facings: list[float | str] = [WORST, *angles[:: -(-len(angles) // MOST_FACINGS)]]
    if cells * len(held) * len(facings) > MOST_PICTURED:
        facings = [WORST, *angles[:: -(-len(angles) // FEWER_FACINGS)]]
    if cells * len(held) * len(facings) > MOST_PICTURED:
        facings = [WORST]
    if asked[1] not in map(_key, facings):
        facings.append(orientation)
    order = [(name, facing) for facing in facings for name in held]
    order.sort(key=lambda one: ((one[0], _key(one[1])) != asked, one[1] != WORST))
    readable = {(name, _key(facing)) for name, facing in order[: max(MOST_READ // cells, 1)]}
    scales = {name: _shared_scale(index, name) for name in held}
    layers = {
        f"{name}/{_key(facing)}": _layer(
            index, name, facing, scales[name], places, figures=(name, _key(facing)) in readable
        )
        for name in held
        for facing in facings
    }
    invented = index.attrs.get("kind") == "invented"
    state = MapState(
        label=f"Map: {clean(title)}",
        view=_view(index, coast),
        layer=raster_layer(index, quantity=quantity, orientation=orientation, scale=scales[quantity]),
        coast=coast_layer(coast) if coast else None,
        places=place_marks(places),
        notice=INVENTED_NOTICE if invented else "",
        clickable=False,
    ).data()
    data = {
        "layers": layers,
        "quantities": [{"key": name, "words": QUANTITIES[name]} for name in held],
        "facings": [{"key": _key(facing), "words": _facing_words(facing)} for facing in facings],
        "shown": {"quantity": asked[0], "facing": asked[1]},
    }
    return _page(index, title, state, data, places, invented=invented)


def write_region_map(path: str | Path, page: str) -> Path:
    """Write ``page`` to ``path`` by way of a temporary name."""
    target = Path(path)
    try:
        target.parent.mkdir(parents=True, exist_ok=True)
        with filled_in_place(target) as part:
            part.write_text(page, encoding="utf-8")
    except OSError as error:
        raise RefusalError(
            f"{target} cannot be written ({error.strerror})", "a folder with room", "Name another."
        ) from error
    return target


def _key(orientation: float | str) -> str:
    return orientation if isinstance(orientation, str) else f"{orientation % 360:g}"


def _facing_words(orientation: float | str) -> str:
    if isinstance(orientation, str):
        return "the worst way, cell by cell"
    return f"{compass_name(orientation % 360)}, {orientation % 360:g}°"


def _shared_scale(index: xr.Dataset, quantity: str) -> Scale:
    """One scale for every facing, so that switching shows which way is worse."""
    return round_scale(np.append(index[quantity].values.ravel(), 0.0))


def _layer(
    index: xr.Dataset,
    quantity: str,
    facing: float | str,
    scale: Scale,
    places: Sequence,
    *,
    figures: bool,
) -> dict:
    given = raster_layer(index, quantity=quantity, orientation=facing, scale=scale)
    layer = {
        "uri": given["raster"]["uri"],
        "legend": legend_markup(given["legend"]),
        "figures": given.get("figures") if figures else None,
    }
    field, words = field_of(index, quantity, facing)
    unit = unit_of(index, quantity)
    known = np.isfinite(field)
    if known.any():
        low, high = litres(float(field[known].min())), litres(float(field[known].max()))
        layer["sentence"] = f"{words[0].upper()}{words[1:]}: from {low} to {high} {unit}, in an open field."
    else:
        layer["sentence"] = "No cell of this grid has a figure."
    if not layer["figures"]:
        layer["sentence"] += " The pointer reads no figures in this picture: the file would grow too large."
    layer["at_places"] = [litres(_at(index, field, place)) for place in places]
    return layer


def _at(index: xr.Dataset, field: np.ndarray, place: object) -> float:
    """Figure of the cell nearest to ``place``; NaN outside the grid."""
    nearest = []
    for name, turn in (("latitude", 0.0), ("longitude", 360.0)):
        axis = index[name].values
        off = np.abs(axis - getattr(place, name))
        if turn:
            off = np.minimum(off, np.abs(turn - off))
        cell = int(np.argmin(off))
        step = abs(float(np.mean(np.diff(axis)))) if axis.size > 1 else 0.5
        if off[cell] > step:
            return float("nan")
        nearest.append(cell)
    return float(field[nearest[0], nearest[1]])


def _view(index: xr.Dataset, coast: dict | None) -> dict:
    if coast:
        ring = np.vstack([point for ring in coast_layer(coast)["rings"] for point in ring])
        south, west = ring.min(0).tolist()
        north, east = ring.max(0).tolist()
    else:
        south, north = float(index["latitude"].min()), float(index["latitude"].max())
        field = raster_layer(index, quantity=next(name for name in QUANTITIES if name in index))
        (_, west), (_, east) = field["raster"]["bounds"]
    return box_view(south=south, west=west, north=north, east=east)


def map_styles() -> str:
    """Styles of the map script and of what is ours on a map, without the pictures they would ask for."""
    return re.sub(r"[^{}]*\{[^{}]*url\([^{}]*\}", "", asset("leaflet.css")) + asset("map.css")


def page_head(title: str, *, invented: bool, style: str = "") -> str:
    """Beginning of a page that stands alone and asks no server for anything, up to its main part."""
    label = f'<p class="invented">{as_text(INVENTED_NOTICE)}: do not build from it.</p>' if invented else ""
    return f"""<!DOCTYPE html>
<html lang="en">
<head>
<meta charset="utf-8">
<meta name="viewport" content="width=device-width, initial-scale=1">
<meta http-equiv="Content-Security-Policy" content="default-src 'none'; script-src 'unsafe-inline'; style-src 'unsafe-inline'; img-src data:">
<link rel="icon" href="data:,">
<title>{as_text(title)}</title>
<style>{map_styles()}{PAGE_STYLE}{style}</style>
</head>
<body>
<header><h1>{as_text(title)}</h1>{label}</header>"""


def listed_sentences(sentences: Sequence[str]) -> str:
    """Sentences as items of a list, whatever they hold."""
    return "".join(f"<li>{as_text(sentence)}</li>" for sentence in sentences)


def _place_table(places: Sequence) -> str:
    if not places:
        return ""
    rows = "".join(
        f'<tr><td>{number}</td><th scope="row">{as_text(place.name)}</th>'
        f"<td>{as_text(getattr(place, 'note', ''))}</td><td></td></tr>"
        for number, place in enumerate(places, 1)
    )
    return (
        '<table id="places"><caption>The named places, nearest cell</caption><thead><tr><th scope="col">No</th>'
        '<th scope="col">Place</th><th scope="col">What it is</th><th scope="col">L/m²</th></tr></thead>'
        f"<tbody>{rows}</tbody></table>"
    )


def _map_parts(state: dict) -> tuple[str, str]:
    """What folium writes for the body and for the script of a page; the same state always gives the same words."""
    made = blank_map()
    drawn(state).add_to(made)
    made.render()
    figure: Any = made.get_root()
    numbers: dict[str, int] = {}

    def numbered(found: re.Match) -> str:
        return f"_{numbers.setdefault(found[1], len(numbers))}"

    holder, drawing = (
        re.sub("_([0-9a-f]{32})", numbered, part.render()) for part in (figure.html, figure.script)
    )
    return holder, drawing


def _page(index: xr.Dataset, title: str, state: dict, data: dict, places: Sequence, *, invented: bool) -> str:
    doubts = [str(flag) for flag in flags_of(index.attrs)]
    source = f"""Weather: {index.attrs.get("source", "not named")}. Licence: {index.attrs.get("licence", "not named")}.
Method: ISO 15927-3:2009, clause 3 (constants from memory, not checked); wet hours from
{index.attrs.get("wet_hour_mm", "an unnamed number of")} mm."""
    return map_page(
        title,
        state,
        data,
        below=_place_table(places),
        care=[*CAUTIONS, *doubts],
        source=source,
        invented=invented,
    )


def map_page(
    title: str, state: dict, data: dict, *, below: str, care: Sequence[str], source: str, invented: bool
) -> str:
    """A map with choices above it as a page that stands alone; ``below`` is HTML, all else text."""
    scripts = "".join(f"<script>{asset(name)}</script>" for name in ("leaflet.js", "land.js", "hand.js"))
    holder, drawing = _map_parts(state)
    return f"""{page_head(title, invented=invented)}
<main>
<form id="choices"><label>Index <select id="quantity"></select></label>
<label>Wall faces <select id="facing"></select></label></form>
<p id="said" aria-live="polite"></p>
<div id="map">{holder}</div>
{below}
<section><h2>Read it with care</h2><ul>{listed_sentences(care)}</ul></section>
<footer>{as_text(source)} Map script: Leaflet 1.9.4 (BSD-2-Clause). Land: Natural Earth (public domain).
Version {as_text(__version__)}.</footer>
</main>
<script type="application/json" id="data">{as_json(data)}</script>
{scripts}
<script>{drawing}</script>
<script>{asset("region_page.js")}</script>
</body>
</html>
"""


PAGE_STYLE = """
body { margin: 0; background: #F4F6F5; color: #1B2228; font: 16px/1.5 Arial, 'Liberation Sans', Roboto, sans-serif; }
header, main { max-width: 1180px; margin: 0 auto; padding: 0 16px; }
h1 { font-size: 26px; line-height: 1.2; margin: 20px 0 8px; overflow-wrap: anywhere; }
h2 { font-size: 18px; margin: 20px 0 4px; }
.invented { display: inline-block; border: 1.5px solid; padding: 2px 10px; margin: 0 0 8px; font-weight: bold; }
form { display: flex; flex-wrap: wrap; gap: 8px 20px; }
form[hidden] { display: none; }
select { font: inherit; min-height: 44px; margin-left: 6px; padding: 0 8px; border: 1px solid #7A858C; border-radius: 4px;
  background: #fff; color: inherit; max-width: 100%; }
select:focus-visible { outline: 3px solid #1B5C69; outline-offset: 2px; }
#said { font-size: 18px; margin: 10px 0; }
#map { height: min(74vh, 640px, 118vw); border: 1px solid #7A858C; }
table { border-collapse: collapse; background: #fff; margin: 16px 0; width: 100%; }
caption { text-align: left; font-weight: bold; padding: 6px 0; }
th, td { text-align: left; padding: 6px 10px; border-bottom: 1px solid #C9CFD2; overflow-wrap: anywhere; }
th[scope=row] { font-weight: bold; }
td:first-child, td:last-child, thead th { white-space: nowrap; }
td:last-child, th:last-child { text-align: right; font-variant-numeric: tabular-nums; }
li, footer, #said, caption { overflow-wrap: anywhere; }
ul { margin: 4px 0 12px; padding-left: 22px; max-width: 84ch; }
footer { color: #4E5A63; font-size: 14px; border-top: 1px solid #C9CFD2; padding: 10px 0 24px; }
@media print { #choices, .leaflet-control-zoom { display: none; } #map { height: 150mm; } }
"""
