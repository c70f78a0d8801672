"""The map drawn with folium: panes, raster, coast, places, building, neighbours, lines of sight, ground, legend.

Words reach the browser only through :func:`as_text` or :func:`as_json`. folium reads what it has written as a
template a second time and sets tips as markup, so a name with braces or brackets must never arrive as it came.
"""

import json
from collections.abc import Iterable, Mapping, Sequence
from typing import Any

import folium
from branca.element import Element, MacroElement
from folium.template import Template

from exposure.draw.lettering import clean
from exposure.draw.palette import INK, PAPER

SOFT, SEA, LAND, ACCENT = "#4E5A63", "#DCE6E6", "#F4F6F0", "#1B5C69"
PANES = {"land": 150, "raster": 300, "sea": 350, "coast": 450, "ground": 480, "ray": 490, "building": 500}
UNTOUCHED = ("land", "raster", "sea", "coast")
CREDIT = "Map script: Leaflet. Land: Natural Earth."
PARTS = (
    "leaflet.css",
    "map.css",
    "leaflet.js",
    "land.js",
    "sketch.js",
    "hand.js",
)  # of ``base_map``, in order
WALL_DEPTH = 1.2  # ground a wall's line stands for [m]
AROUND = [[-85, -540], [-85, 540], [85, 540], [85, -540]]
EMPTY_PICTURE = "data:image/gif;base64,R0lGODlhAQABAAAAACH5BAEKAAEALAAAAAABAAEAAAICTAEAOw=="


def as_text(words: object) -> str:
    """``words`` as text of one line that is neither markup, nor script, nor template wherever it is put.

    Examples
    --------
    >>> as_text("St. Ives & {{x}}")
    'St. Ives &#38; &#123;&#123;x&#125;&#125;'
    """
    return "".join(one if one.isalnum() or one in " ,.;:()/°²" else f"&#{ord(one)};" for one in clean(words))


def as_json(value: object) -> str:
    r"""JSON that cannot end the script it stands in.

    Examples
    --------
    >>> as_json("</script>")
    '"\\u003c/script\\u003e"'
    """
    words = json.dumps(value, ensure_ascii=False, separators=(",", ":"), allow_nan=False)
    for letter in "<>&\u2028\u2029":
        words = words.replace(letter, f"\\u{ord(letter):04x}")
    return words


class Plain(Element):
    """Text of a page taken as it is, not as a template."""

    def __init__(self, words: str) -> None:
        super().__init__()
        self.words = words

    def render(self, **_kwargs: object) -> str:
        """The text."""
        return self.words


class _Map(folium.Map):
    """A map whose page may be zoomed by the reader, and whose style lies in ``map.css``."""

    def render(self, **kwargs: Any) -> Any:
        super().render(**kwargs)
        size = '<meta name="viewport" content="width=device-width, initial-scale=1">'
        page: Any = self.get_root()
        page.header.add_child(Plain(size), name=self.get_name())


def blank_map(folder: str | None = None) -> folium.Map:
    """The map before anything is on it; ``folder`` is the address of ``base_map``, if it is not inside the page."""
    made = _Map(tiles=None, zoom_snap=0.25, attribution_control=False)
    made.options |= {"min_zoom": 1, "max_zoom": 22}
    addresses = [(name, f"{folder}/{name}") for name in PARTS] if folder else []
    made.default_css = [pair for pair in addresses if pair[0].endswith(".css")]
    made.default_js = [pair for pair in addresses if pair[0].endswith(".js")]
    for name, height in PANES.items():
        folium.map.CustomPane(name, z_index=height, pointer_events=name not in UNTOUCHED).add_to(made)
    for control in (folium.Control("Attribution", prefix=CREDIT), folium.Control("Scale", imperial=False)):
        control.options["position"] = "bottomright"  # given as an argument, it would drive out the others
        control.add_to(made)
    return made


class _Told(MacroElement):
    """Tells the script of the map what its layers do not say; goes last into a group of layers."""

    _template = Template(
        "{% macro script(this, kwargs) %}exposureTold({{ this._parent._parent.get_name() }}, "
        "{{ this._parent.get_name() }}, JSON.parse({{ this.words }}));{% endmacro %}"
    )

    def __init__(self, told: Mapping) -> None:
        super().__init__()
        self.words = as_json(as_json(told)).replace("{", "\\u007b").replace("}", "\\u007d")


def told_of(state: Mapping) -> dict:
    """What the layers of a state do not say."""
    return {
        "label": state["label"],
        "view": state["view"],
        "legend": legend_markup(state["legend"]),
        "notice": as_text(state["notice"] or ""),
        "figures": state["figures"],
        "ground": LAND if (state["coast"] or {}).get("hide_sea") else SEA,
        "online": bool(state["tiles"]),
        "drawing": state["drawing"],
        "clickable": state["clickable"],
    }


def drawn(state: Mapping) -> folium.FeatureGroup:
    """The layers of a state from :class:`exposure.map.place_map.MapState`, as one group."""
    group = folium.FeatureGroup(control=False)
    for part in (
        *_tiles(state["tiles"]),
        *_raster(state["raster"]),
        *_coast(state["coast"]),
        *_ring(state["ring"]),
        *(_neighbour(one) for one in state["neighbours"] or ()),
        *_rays(state["rays"] or ()),
        *_building(state["building"]),
        *_point(state["point"]),
        *(_place(one, clickable=state["clickable"]) for one in state["places"] or ()),
        _Told(told_of(state)),
    ):
        part.add_to(group)
    return group


def _hint(words: str) -> folium.Tooltip | None:
    return folium.Tooltip(as_text(words), class_name="exposure-hint") if words else None


def _shape(
    kind: type,
    points: Sequence,
    pane: str,
    *,
    words: str = "",
    options: Mapping | None = None,
    **look: Any,
) -> MacroElement:
    """A line, area or spot; folium passes on only the options it knows, so the others are put in by hand."""
    made = kind(points, tooltip=_hint(words), **look)
    made.options |= {"pane": pane, "interactive": bool(words), **(options or {})}
    return made


def _area(points: Sequence, pane: str, colour: str, *, words: str = "", **look: Any) -> MacroElement:
    look = {"fill_opacity": 1, "stroke": "color" in look, **look}
    return _shape(folium.Polygon, points, pane, words=words, fill_color=colour, **look)


def _tiles(tiles: Mapping | None) -> Iterable[MacroElement]:
    if tiles:
        yield folium.TileLayer(
            tiles["address"], attr=tiles["credit"], max_zoom=19, error_tile_url=EMPTY_PICTURE
        )


def _raster(raster: Mapping | None) -> Iterable[MacroElement]:
    if raster:
        yield folium.raster_layers.ImageOverlay(
            raster["uri"],
            raster["bounds"],
            pane="raster",
            class_name="exposure-raster",
            alt="",
            pixelated=False,
        )


def _coast(coast: Mapping | None) -> Iterable[MacroElement]:
    if not coast:
        return
    line: dict[str, Any] = {"color": INK, "weight": 1, "smooth_factor": 0.6}
    if coast["hide_sea"]:  # the ground under it is land
        yield _area([AROUND, *coast["rings"]], "sea", SEA, **line)
    else:
        yield from (_area(ring, "land", LAND) for ring in coast["rings"])
        yield from (_shape(folium.PolyLine, [*ring, ring[0]], "coast", **line) for ring in coast["rings"])


def _ring(ring: Mapping | None) -> Iterable[MacroElement]:
    for sector in ring["sectors"] if ring else ():
        look: dict[str, Any] = {"color": INK, "weight": 0.75, "fill_opacity": 0.55}
        yield _area(sector["outline"], "ground", sector["colour"], words=sector["words"], **look)
        icon = folium.DivIcon(f"<b>{as_text(sector['label'])}</b>", icon_size=(24, 18))
        yield folium.Marker(sector["middle"], icon=icon, interactive=False, keyboard=False)


def _neighbour(one: Mapping) -> MacroElement:
    look: dict[str, Any] = {"color": INK, "weight": 1.5} if one["counts"] else {"color": SOFT, "weight": 0.75}
    return _area(one["ring"], "ground", one["colour"], words=one["words"], **look)


def _rays(rays: Sequence[Mapping]) -> Iterable[MacroElement]:
    stopped, free = ([[ray["from"], ray["to"]] for ray in rays if ray["hit"] == hit] for hit in (True, False))
    if stopped:
        yield _shape(folium.PolyLine, stopped, "ray", color=INK, weight=1.75)
    if free:
        yield _shape(folium.PolyLine, free, "ray", color=ACCENT, weight=1, dash_array="3 5")


def _building(building: Mapping | None) -> Iterable[MacroElement]:
    if not building:
        return
    yield _area(building["ring"], "building", PAPER, words=building["name"], color=INK, weight=1)
    for wall in building["walls"]:  # ink below, colour above: an outline in every tone
        ends = [wall["from"], wall["to"]]
        size = {"metres": WALL_DEPTH, "times": 1.4 if wall["worst"] else 1}
        for more, colour, words in ((1.8, INK, ""), (0, wall["colour"], wall["words"])):
            yield _shape(
                folium.PolyLine,
                ends,
                "building",
                words=words,
                options={**size, "more": more},
                color=colour,
                line_cap="butt",
            )


def _point(point: Mapping | None) -> Iterable[MacroElement]:
    if point:
        at = (point["latitude"], point["longitude"])
        for radius, colour, weight in ((9, PAPER, 5), (9, INK, 2.5), (2, INK, 4)):
            yield _shape(folium.CircleMarker, at, "building", radius=radius, color=colour, weight=weight)


def _place(place: Mapping, *, clickable: bool) -> MacroElement:
    """A numbered disc, the chosen one inverted, with its name beside it."""
    ground, ink = (INK, PAPER) if place["chosen"] else (PAPER, INK)
    classes = "".join(f" {kind}" for kind in ("chosen", "west") if place.get(kind))
    after = "".join(f", {part}" for part in (place["note"], "chosen" if place["chosen"] else "") if part)
    disc = (
        f'<svg width="26" height="26" viewBox="0 0 26 26" aria-hidden="true"><circle cx="13" cy="13" r="12.25" fill="{ground}" '
        f'stroke="{INK}" stroke-width="1.5"/><text x="13" y="17.5" text-anchor="middle" font-size="13" '
        f'font-weight="bold" fill="{ink}">{as_text(place["label"])}</text></svg>'
    )
    unseen = '<i class="exposure-unseen">{}</i>'  # told to those who do not see the disc
    words = (
        f"{unseen.format(place['label'] + ' ')}<b>{as_text(place['name'])}</b>{unseen.format(as_text(after))}"
    )
    icon = folium.DivIcon(
        f'<span class="exposure-place{classes}">{disc}{words}</span>',
        icon_size=(44, 44),
        icon_anchor=(22, 22),
        class_name="exposure-pin",
    )
    return folium.Marker(
        (place["latitude"], place["longitude"]),
        icon=icon,
        tooltip=_hint(place["note"]),
        place=True,
        keyboard=clickable,
        rise_on_hover=True,
        z_index_offset=1000 if place["chosen"] else 0,
    )


def legend_markup(legend: Mapping | None) -> str:
    """The legend's HTML; empty when there is none."""
    if not legend:
        return ""
    parts = [f"<b>{as_text(legend['title'])}</b>"]
    if "colours" in legend:
        colours = ",".join(legend["colours"])
        parts.append(f'<div class="exposure-bar" style="background:linear-gradient(90deg,{colours})"></div>')
        ticks = "".join(
            f'<span style="left:{100 * tick["place"]:g}%">{as_text(tick["words"])}</span>'
            for tick in legend["ticks"]
        )
        parts.append(f'<div class="exposure-ticks">{ticks}</div>')
    for key in legend.get("keys", ()):
        swatch = (
            f'<svg width="18" height="12"><rect width="18" height="12" fill="{key["colour"]}" stroke="{INK}" '
            f'stroke-width="2"/></svg>'
        )
        parts.append(f'<div class="exposure-key">{swatch}<span>{as_text(key["words"])}</span></div>')
    return "".join(parts) + f"<small>{as_text(legend['note'])}</small>"
