"""A change between two results of a grid as one HTML file: more and less rain apart, grey where the spread hides it."""

from base64 import b64encode
from typing import Any

import numpy as np
import xarray as xr

from exposure.doubts import flags_of
from exposure.draw.lettering import clean
from exposure.draw.palette import HIDDEN, change_colours
from exposure.draw.raster_picture import Scale, raster_picture, round_scale
from exposure.figures import LITRES
from exposure.map.folium_map import legend_markup
from exposure.map.map_layers import MOST_FIGURES, NO_FIGURE
from exposure.map.place_map import INVENTED_NOTICE, MapState, box_view
from exposure.map.region_map import MOST_READ, map_page
from exposure.wall.building import compass_name

QUANTITIES = {
    "spell": ("Worst spell", f"{LITRES} in the worst spell"),
    "annual": ("A year", f"{LITRES} a year"),
}
MOST_FACINGS = 12
WORDS = ("a clear fall", "hidden by the spread", "a clear rise")  # of -1, 0 and 1
CARE = (
    "Grey: the spread of the years, or of the members, hides whether there is a change; it is no sign that there is none.",
    "Rain on a wall standing in an open field. Local codes and licensed practice decide what is built.",
)


def draw_change_map(change: xr.Dataset, *, title: str) -> str:
    """A result of :func:`exposure.region.change.index_change` as a page that stands alone.

    Raises
    ------
    RefusalError
        For a grid that is not evenly spaced.
    """
    angles = change["orientation"].values[:: -(-change.sizes["orientation"] // MOST_FACINGS)]
    layers: dict[str, Any] = {}
    cells = change.sizes["latitude"] * change.sizes["longitude"]
    figures = cells <= MOST_FIGURES and cells * len(angles) * len(QUANTITIES) <= MOST_READ
    pictures = {}
    for name in QUANTITIES:
        scale = _even_scale(change[f"{name}_change"].values)
        for angle in angles:
            one = change.sel(orientation=angle)
            picture = _picture(one, name, scale)
            pictures[f"{name}/{angle:g}"] = picture
            layers[f"{name}/{angle:g}"] = {
                "uri": picture["raster"]["uri"],
                "legend": legend_markup(picture["legend"]),
                "figures": _figures(one, name) if figures else None,
                "sentence": _sentence(one, name, float(angle)),
                "at_places": [],
            }
    first = f"spell/{angles[0]:g}"
    box = pictures[first]["raster"]["bounds"]
    (south, west), (north, east) = box
    state = MapState(
        label=f"Map: {clean(title)}",
        view=box_view(south=south, west=west, north=north, east=east),
        layer=pictures[first],
        notice=INVENTED_NOTICE if change.attrs.get("kind") == "invented" else "",
        clickable=False,
    ).data()
    data = {
        "layers": layers,
        "quantities": [{"key": name, "words": words} for name, (words, _) in QUANTITIES.items()],
        "facings": [{"key": f"{angle:g}", "words": f"{compass_name(float(angle))}, {angle:g}°"} for angle in angles],
        "shown": {"quantity": "spell", "facing": f"{angles[0]:g}"},
    }  # fmt: skip
    told = change.attrs
    source = f"First: {told.get('first')}. Second: {told.get('second')}. Licence: {told.get('licence')}."
    return map_page(
        title,
        state,
        data,
        below="",
        care=[*CARE, *map(str, flags_of(told))],
        source=source,
        invented=told.get("kind") == "invented",
    )


def _even_scale(values: np.ndarray) -> Scale:
    """Round steps as far below 0 as above."""
    known = np.abs(values[np.isfinite(values)])
    steps = round_scale(np.array([0.0, float(known.max()) if known.size else 1.0]), most=4).steps
    return Scale((*(-step for step in steps[:0:-1]), *steps))


def _picture(one: xr.Dataset, name: str, scale: Scale) -> dict[str, Any]:
    values, clear = (
        one[f"{name}_{kind}"].transpose("latitude", "longitude").values for kind in ("change", "clear")
    )
    colours = change_colours()
    least = (
        1.6 * scale.high / (len(colours) / 2)
    )  # beyond the two colours in the middle, which are those of what is hidden
    shown = np.where(
        clear == 0,
        np.where(np.isfinite(values), 0.0, np.nan),
        np.sign(values) * np.maximum(np.abs(values), least),
    )
    made = raster_picture(
        shown, latitudes=one["latitude"].values, longitudes=one["longitude"].values, scale=scale, colours=colours
    )  # fmt: skip
    legend = {
        "title": f"change, {QUANTITIES[name][1]}",
        "note": "second result less the first, open field",
        "colours": colours[::4],
        "ticks": [
            {
                "place": (step - scale.low) / (scale.high - scale.low),
                "words": f"{step:+,.10g}" if step else "0",
            }
            for step in (scale.low, scale.low / 2, 0.0, scale.high / 2, scale.high)
        ],
        "keys": [{"colour": HIDDEN, "words": WORDS[1]}],
    }
    return {"raster": {"uri": made.uri, "bounds": made.bounds}, "legend": legend, "facing": ""}


def _figures(one: xr.Dataset, name: str) -> dict[str, Any]:
    """Whole litres under the pointer, counted up from the least, and whether the change is clear."""
    values, clear = (
        one[f"{name}_{kind}"].transpose("latitude", "longitude").values for kind in ("change", "clear")
    )
    known = np.isfinite(values)
    least = int(np.floor(values[known].min())) if known.any() else 0
    packed = np.where(known, np.clip(np.round(values) - least, 0, NO_FIGURE - 1), NO_FIGURE).astype("<u2")
    return {
        "latitudes": np.round(one["latitude"].values, 5).tolist(),
        "longitudes": np.round(one["longitude"].values, 5).tolist(),
        "packed": b64encode(packed.tobytes()).decode("ascii"),
        "least": least,
        "unit": LITRES,
        "ways": b64encode((clear + 1).astype(np.uint8).tobytes()).decode("ascii"),
        "way_words": list(WORDS),
    }


def _sentence(one: xr.Dataset, name: str, angle: float) -> str:
    known = int(one[f"{name}_change"].notnull().sum())
    more, less = (int((one[f"{name}_clear"] == way).sum()) for way in (1, -1))
    if not known:
        return "No cell has a figure in both results."
    return (
        f"{QUANTITIES[name][0]}, walls facing {compass_name(angle)}: more in {more:,} of {known:,} cells, less in {less:,}, "
        f"hidden in {known - more - less:,}."
    )
