"""The process that works out every wall of a town for the page: started for one file, ended when it is stopped.

Derived from the planner's question which walls of a town are hit hardest: footprints come from anywhere, and a town takes
minutes. Run as ``python -m exposure.page.work.town_work FOLDER``; the folder holds ``request.json``, the files that were
opened in ``given`` and perhaps ``record.nc``, and gets the files to take away in ``out`` and what the page shows in
``shown.json``. Finished tiles are kept in the folder ``keep`` of the request, so that a town stopped half-way goes on there.
"""

import json
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from exposure.in_place import filled_in_place
from exposure.page.work.own_process import answer_request, live_with_parent
from exposure.page.work.reading import RECORD, read_written

if TYPE_CHECKING:  # what makes them is loaded once there is a town to work out
    from exposure.district import District
    from exposure.district.shares import Shares

GIVEN, OUT, SHOWN = "given", "out", "shown.json"
MAP, MAP_ALONE, PRINT = "map.html", "district.html", "shares.html"
INVENTED_TOWN, INVENTED_BUILDINGS = "invented_town.geojson", 200
MOST = 10_000  # buildings of one file on the page; the terminal takes more
MOST_LEFT_OUT = 50  # told on the page; the table has all


def main(folder: Path) -> None:
    """Work out the town that the folder's request asks for."""
    answer_request(folder, _do, expected=f"outlines of at most {MOST:,} buildings")


def _do(request: dict[str, Any], folder: Path, tell: Callable[[float, str], None]) -> None:
    from exposure.assess.site_weather import GridWeather, OneRecord
    from exposure.district import assess_district
    from exposure.district.shares import read_areas, shares_of, squares_over
    from exposure.export.district_files import write_district
    from exposure.invented.place import invented_place
    from exposure.invented.place_files import INVENTED_FLAG
    from exposure.invented.town import town_footprints

    tell(0.0, "Reading the footprints.")
    given = folder / GIVEN
    if not request["footprints"]:
        given.mkdir(exist_ok=True)
        (given / INVENTED_TOWN).write_text(json.dumps(town_footprints(INVENTED_BUILDINGS)), "utf-8")
    areas = read_areas(given / request["areas"]) if request["areas"] else None  # refused before the work
    maps = None if (folder / RECORD).is_file() else invented_place(progress=False)
    weather = (
        OneRecord(read_written(folder / RECORD)[0])
        if maps is None
        else GridWeather(maps.climate, flags=(INVENTED_FLAG,))
    )
    told = request["terrain"] or None
    district = assess_district(
        given / (request["footprints"] or INVENTED_TOWN),
        weather,
        height_column=request["height_column"] or None,
        default_height=request["default_height"],
        weight_column=request["weight_column"] or None,
        terrain=told,
        ground=None if maps is None else maps.height,
        cover=None if maps is None or told else maps.cover,
        tell=lambda share, words: tell(0.9 * share, words),
        keep=request["keep"],
        most=MOST,
    )
    tell(0.9, "Drawing and writing.")
    if request["squares"]:
        areas = squares_over(district.walls, request["squares"])
    shares = shares_of(district, areas)
    out = folder / OUT
    write_district(out, district, shares)
    _show(folder, out, district, shares)


def _show(folder: Path, out: Path, district: "District", shares: "Shares") -> None:
    """The map and the print as pages, and all that the screen says as text."""
    from exposure.draw.share_bars import share_bars
    from exposure.export.ranked_files import DECIDE
    from exposure.map.district_map import draw_district_map
    from exposure.map.region_map import write_region_map
    from exposure.paper.district_page import (
        HOW,
        NARROW_BARS,
        SHARE_CAPTION,
        SHARE_HEADS,
        WEIGHT_HEADS,
        answer,
        share_parts,
        share_rows,
        shares_html,
        sources,
        weight_caption,
        weight_rows,
    )
    from exposure.paper.provenance import INVENTED

    title = f"Driving rain on the walls of {Path(district.source).stem}"
    write_region_map(folder / MAP, draw_district_map(district, shares, title=title, bare=True))
    write_region_map(out / MAP_ALONE, draw_district_map(district, shares, title=title))
    write_region_map(out / PRINT, shares_html(district, shares, title=title))
    shown = {
        "lead": answer(shares),
        "source": district.source,
        "buildings": len(district.buildings),
        "walls": len(district.walls),
        "invented": any(one["kind"] == INVENTED for one in district.records),
        "bars": share_bars(share_parts(shares)),
        "narrow_bars": share_bars(share_parts(shares, most=NARROW_BARS), narrow=True, prefix="shares-narrow"),
        "share_caption": SHARE_CAPTION,
        "share_heads": list(SHARE_HEADS),
        "shares": share_rows(shares),
        "weight_caption": weight_caption(shares),
        "weight_heads": list(WEIGHT_HEADS),
        "weights": weight_rows(shares) if shares.weight_column else [],
        "how": HOW,
        "caution": DECIDE,
        "left_out_count": len(district.left_out),
        "left_out": [
            f"Building {one.row}, {one.name}: {one.reason.came}; expected {one.reason.expected}. {one.reason.cure}"
            for one in district.left_out[:MOST_LEFT_OUT]
        ],
        "doubts": [str(one) for one in dict.fromkeys([*shares.flags, *district.flags])],
        "sources": sources(district, shares),
    }
    with filled_in_place(folder / SHOWN) as part:
        part.write_text(json.dumps(shown), "utf-8")


if __name__ == "__main__":
    live_with_parent(main)
