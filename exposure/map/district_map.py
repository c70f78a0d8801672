"""A town as one HTML file: every wall in the colour of its class, drawn on a canvas; a building's walls by a click."""

from collections.abc import Sequence
from typing import Any

import numpy as np
import pandas as pd
import shapely

from exposure import __version__
from exposure.district import District
from exposure.district.shares import Shares
from exposure.draw.lettering import clean
from exposure.draw.palette import CLASS_LOOKS
from exposure.figures import NO_BREAK, litres, litres_with_band
from exposure.map.base_map import asset
from exposure.map.folium_map import CREDIT, as_json, as_text
from exposure.map.region_map import listed_sentences, page_head
from exposure.wall.building import compass_name
from exposure.wall.classes import class_names

GRAIN = 1e-6  # degrees; how finely corners are told, a tenth of a metre
MOST_NAME, MOST_DOUBT = 80, 400  # letters
MOST_LISTED = 100  # buildings in the list beside the map, hardest hit first
CAUTIONS = (
    "The class of a wall is that of its hardest part. Shelter by neighbours holds while they stand.",
    "Local codes and licensed practice decide what is built; these figures inform, they do not prove.",
)


def draw_district_map(
    district: District, shares: Shares | None = None, *, title: str, bare: bool = False
) -> str:
    """The town as a page of HTML that stands alone: it opens from a disk and asks no server for anything.

    Parameters
    ----------
    shares
        Walls by class of areas, to be drawn and told beside the map.
    title
        Heading of the page; text, whatever it holds.
    bare
        The map and what a click on it tells alone, to stand in a page that has the rest.
    """
    invented = any(one["kind"] == "invented" for one in district.records)
    told, after = f"<p>{as_text(_answer(district))}</p>", _below(district, shares)
    style = _STYLE
    if bare:
        told, after, style = "", "", _STYLE + _BARE
    return f"""{page_head(title, invented=invented, style=style)}
<main>
{told}
<form id="choices"><label>Find a building <input id="find" type="search" autocomplete="off"></label>
<label>Classes <select id="least"></select></label></form>
<div id="town"><div id="map" tabindex="0" role="application" aria-label="Map of the walls by class"></div>
<section id="house" aria-live="polite"><h2>Buildings hit hardest, by their worst wall</h2><ol id="worst"></ol><div id="told"></div></section></div>
{after}
</main>
<script type="application/json" id="data">{as_json(map_data(district, shares))}</script>
<script>{asset("leaflet.js")}</script>
<script>{asset("district_page.js")}</script>
</body>
</html>
"""


def _below(district: District, shares: Shares | None) -> str:
    care = listed_sentences([*CAUTIONS, *map(str, district.flags), *_left_out(district)])
    return f"""{_share_table(shares)}
<section><h2>Read it with care</h2><ul>{care}</ul></section>
<footer>{as_text(_sources(district))} {CREDIT.split(" Land")[0]} Version {as_text(__version__)}.</footer>"""


def _answer(district: District) -> str:
    walls = district.walls
    hard = walls["class"].isin(class_names()[2:])
    share = walls.loc[hard, "length"].sum() / walls["length"].sum()
    return (
        f"{len(district.buildings):,} buildings with {len(walls):,} walls, {walls['length'].sum():,.0f} m. "
        f"{share:.0%} of that length is severe or very severe."
    )


def _left_out(district: District) -> list[str]:
    if not district.left_out:
        return []
    first = district.left_out[0]
    return [
        f"{len(district.left_out):,} buildings are left out; the first: {first.name[:MOST_NAME]}, {first.reason.came}."
    ]


def _sources(district: District) -> str:
    record = district.records[0]
    more = f" and {len(district.records) - 1:,} more records" if len(district.records) > 1 else ""
    years = record["years"]
    return (
        f"Footprints: {district.source}. Weather: {record['source']}{more}, {years[0]} to {years[-1]}. Licence: "
        f"{record['licence']}. Method: ISO 15927-3:2009 (constants from memory, not checked); wet hours from "
        f"{record['wet_hour_mm']:g} mm. Classes: BS 8104:1992, PD 6697 (from memory)."
    )


def map_data(district: District, shares: Shares | None = None) -> dict[str, Any]:
    """What the page's script draws, as columns: corners in millionths of a degree from the town's middle."""
    walls, houses = district.walls, district.buildings
    names = class_names()
    middle = houses[["longitude", "latitude"]].median().to_numpy()
    ends = walls[["start_longitude", "start_latitude", "end_longitude", "end_latitude"]].to_numpy()
    place, words = _told_once(walls["wall"])
    could, could_words = _told_once(walls["class_in_words"])
    of_doubts: dict[str, int] = {}
    own = [
        [of_doubts.setdefault(clean(one, most=MOST_DOUBT), len(of_doubts)) for one in each]
        for each in district.doubts
    ]
    order = np.argsort(-houses["wall_spell_index"].to_numpy(), kind="stable")[:MOST_LISTED]
    return {
        "middle": middle.tolist(),
        "grain": GRAIN,
        "classes": [{"name": name, "colour": CLASS_LOOKS[name].fill} for name in names],
        "wall_names": [clean(word, most=MOST_NAME) for word in words],
        "class_words": could_words,
        "doubts": list(of_doubts),
        "walls": {
            "at": _grains(ends.reshape(-1, 2), middle).ravel().tolist(),
            "class": [names.index(one) for one in walls["class"]],
            "alone": [names.index(one) for one in walls["class_in_the_open"]],
            "words": could.tolist(),
            "name": place.tolist(),
            "facing": walls["facing"].round().astype(int).tolist(),
            "length": walls["length"].round(1).tolist(),
            "height": walls["height"].round(1).tolist(),
            "level": walls["level"].tolist(),
            "pressure_level": walls["pressure_level"].tolist(),
            "annual": [litres(one) for one in walls["wall_annual_index"]],
            "spell": _spells(walls),
        },
        "houses": {
            "name": [clean(one, most=MOST_NAME) for one in houses["name"]],
            "number": houses["building"].tolist(),
            "walls": houses["walls"].tolist(),
            "storeys": houses["storeys"].tolist(),
            "worst": [names.index(one) for one in houses["class"]],
            "facing": [compass_name(one) for one in houses["worst_facing"]],
            "words": houses["class_in_words"].tolist(),
            "spell": _spells(houses),
            "rings": [_grains(shapely.get_coordinates(one.exterior), middle).ravel().tolist() for one in map(_single, district.outlines)],
            "doubts": own,
        },
        "hardest": order.tolist(),
        "areas": _areas(shares, middle),
    }  # fmt: skip


def _spells(table: pd.DataFrame) -> list[str]:
    """The worst spell of each row with its band, where it has one."""
    bands = table["spell_low"].notna()
    return [
        litres_with_band(one, (low, high) if band else None, unit=False).replace(NO_BREAK, " ")
        for one, low, high, band in zip(
            table["wall_spell_index"], table["spell_low"], table["spell_high"], bands, strict=True
        )
    ]


def _areas(shares: Shares | None, middle: np.ndarray) -> list[dict[str, Any]]:
    """Outlines of areas and what is told at each."""
    if shares is None or shares.areas is None:
        return []
    return [
        {
            "name": clean(row["area"], most=MOST_NAME),
            "words": _hard_words(row) if row["length"] else "no walls",
            "rings": [
                _grains(shapely.get_coordinates(part.exterior), middle).ravel().tolist()
                for part in shapely.get_parts(shape)
            ],
        }
        for (_, row), shape in zip(shares.table.iloc[1:].iterrows(), shares.areas.shapes, strict=True)
    ]


def _hard_words(row: pd.Series) -> str:
    return f"{row['hard']:.0%} severe or harder"


def _share_table(shares: Shares | None) -> str:
    if shares is None:
        return ""
    heads = ["Area", "Buildings", "Walls", "Length, m", *class_names(), "Severe or harder", "Between"]
    lines = []
    for _, row in shares.table.iterrows():
        by_class = [f"{row['share_' + one.replace(' ', '_')]:.0%}" for one in class_names()]
        between = f"{row['hard_low']:.0%} to {row['hard_high']:.0%}"
        told = [f"{row['buildings']:,}", f"{row['walls']:,}", f"{row['length']:,.0f}"]
        told += (
            [*by_class, f"{row['hard']:.0%}", between] if row["length"] else ["none"] * (len(by_class) + 2)
        )
        cells = "".join(f"<td>{as_text(words)}</td>" for words in told)
        lines.append(f'<tr><th scope="row">{as_text(row["area"])}</th>{cells}</tr>')
    columns = "".join(f'<th scope="col">{as_text(one)}</th>' for one in heads)
    return (
        f'<div class="shares" tabindex="0" role="group" aria-label="Shares by class">'
        f"<table><caption>Share of the walls' length by class; between: every wall at the milder and at the harder end of "
        f"its band</caption><thead><tr>{columns}</tr></thead><tbody>{''.join(lines)}</tbody></table></div>"
    )


def _single(outline: Any) -> Any:
    return shapely.get_parts(outline)[0]


def _grains(degrees: np.ndarray, middle: np.ndarray) -> np.ndarray:
    return np.round((degrees - middle) / GRAIN).astype(int)


def _told_once(column: Sequence[object]) -> tuple[np.ndarray, list[str]]:
    words, place = np.unique(np.asarray(column, dtype=str), return_inverse=True)
    return place, words.tolist()


_STYLE = """
#town { display: grid; grid-template-columns: minmax(0, 1fr) 420px; gap: 16px; align-items: start; }
#map { position: relative; background: #F4F6F0; }
#house { max-height: min(74vh, 640px); overflow: auto; }
#house h2 { margin-top: 0; overflow-wrap: anywhere; }
#house ol { padding-left: 28px; margin: 0; }
#house button { display: block; font: inherit; text-align: left; background: none; border: 0; padding: 8px 4px; min-height: 44px; color: #1B5C69;
  text-decoration: underline; cursor: pointer; overflow-wrap: anywhere; }
#house button:focus-visible, #find:focus-visible, #map:focus-visible { outline: 3px solid #1B5C69; outline-offset: 2px; }
#house table { font-size: 14px; }
#house td, #house th { padding: 4px 5px; white-space: normal; overflow-wrap: normal; vertical-align: top; }
#choices { margin-bottom: 10px; }
#find { font: inherit; min-height: 44px; margin-left: 6px; padding: 0 8px; border: 1px solid #7A858C; border-radius: 4px; }
.shares { overflow-x: auto; }
.shares:focus-visible { outline: 3px solid #1B5C69; outline-offset: 2px; }
.shares th, .shares td { overflow-wrap: normal; }
.swatch { display: inline-block; width: 16px; height: 12px; border: 1.5px solid #1B2228; margin-right: 5px; forced-color-adjust: none; }
#town > .exposure-legend { display: flex; flex-wrap: wrap; gap: 2px 14px; margin-top: -8px; max-width: none; }
#town > .exposure-legend b { width: 100%; margin: 0; }
@media (max-width: 900px) { #town { grid-template-columns: minmax(0, 1fr); } #house { max-height: none; } }
@media print { #choices { display: none; } #town { display: block; } #house { max-height: none; } }
"""
_BARE = """
body { background: #fff; }
header { display: none; }
main { max-width: none; padding: 10px 12px; }
#town { grid-template-columns: minmax(0, 1fr) 400px; }
#map { height: calc(100vh - 84px); min-height: 300px; }
#house { max-height: calc(100vh - 84px); }
@media (max-width: 900px) { #town { grid-template-columns: minmax(0, 1fr); } #map { height: 340px; } #house { max-height: none; } }
"""
