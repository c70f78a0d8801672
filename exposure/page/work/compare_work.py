"""The process that compares places by files of the reader's own: started for one comparison, ended when it is stopped.

Derived from the planner's question: grids, rasters and footprints come from anywhere, and are opened where they can do the
page no harm. Run as ``python -m exposure.page.work.compare_work FOLDER``; the folder holds ``request.json`` and
perhaps ``record.nc``, and gets the files to take away in ``out`` and what the page shows in ``shown.json``.
"""

import json
from collections.abc import Callable
from pathlib import Path
from typing import TYPE_CHECKING, Any

from exposure.in_place import filled_in_place
from exposure.page.work.own_process import answer_request, live_with_parent
from exposure.page.work.reading import RECORD, read_written

if TYPE_CHECKING:  # what reads grids and rasters is loaded only when a process runs
    from exposure.assess.site_weather import GridWeather, OneRecord
    from exposure.site.site_list import SiteList

OUT, SHOWN = "out", "shown.json"
MOST_ROWS = 500
FILES = LIST, GRID, GROUND, COVER, NEIGHBOURS = (
    "list",
    "grid",
    "ground",
    "cover",
    "neighbours",
)  # kinds a reader may open
MAPS = FILES[2:]


def main(folder: Path) -> None:
    """Compare what the folder's request asks."""
    answer_request(folder, _do, expected="files of the places' own region and years alone")


def _do(request: dict[str, Any], folder: Path, tell: Callable[[float, str], None]) -> None:
    from exposure.assess.compare_sites import compare_sites
    from exposure.assess.reference_wall import reference_wall
    from exposure.page.work.compared import shown_of
    from exposure.paper.ranked_folder import write_ranked_folder

    tell(0.0, "Opening the files.")
    weather, maps = _weather(request, folder)
    maps |= {kind: path for kind, path in request["files"].items() if kind in MAPS}
    found = compare_sites(
        _sites(request),
        weather,
        wall=reference_wall(request["reference"]),
        **maps,
        tell=lambda share, words: tell(0.9 * share, words),
        keep=request["keep"],
    )
    tell(0.9, "Drawing and writing.")
    write_ranked_folder(folder / OUT, found)
    with filled_in_place(folder / SHOWN) as part:
        part.write_text(json.dumps(shown_of(found, home=request["home"])), "utf-8")


def _sites(request: dict[str, Any]) -> "SiteList":
    from exposure.site.site_list import ListedSite, SiteList

    given = request["files"].get(LIST)
    if given:
        return read_list(Path(given).read_bytes())
    return SiteList(tuple(ListedSite(**one) for one in request["sites"]), (), ())


def read_list(content: bytes) -> "SiteList":
    """The sites of a list that was opened on the page; it names no files of this machine.

    Raises
    ------
    RefusalError
        As :func:`exposure.site.site_list.read_site_list`.
    """
    from exposure.site.site_list import read_site_list
    from exposure.wall.building import wall_shapes

    return read_site_list(content, shapes=wall_shapes(), most=MOST_ROWS)


def _weather(
    request: dict[str, Any], folder: Path
) -> "tuple[GridWeather | OneRecord | None, dict[str, Any]]":
    """The reader's grid, the reader's record, each site's own, or the invented grid with its maps."""
    from exposure.assess.site_weather import GridWeather, OneRecord
    from exposure.climate.request import Request, pairs_of
    from exposure.invented.place import invented_place
    from exposure.invented.place_files import INVENTED_FLAG

    grid = request["files"].get(GRID)
    if grid:
        told = Request(
            kind=request["kind"] or None,
            rain_rule=request["rain_rule"] or None,
            where=pairs_of(request["where"] or None, "where"),
        )
        return GridWeather(grid, told), {}
    if (folder / RECORD).is_file():
        return OneRecord(read_written(folder / RECORD)[0]), {}
    if any(one["record"] for one in request["sites"]):
        return None, {}
    maps = invented_place(progress=False)
    return GridWeather(maps.climate, flags=(INVENTED_FLAG,)), {"ground": maps.height, "cover": maps.cover}


if __name__ == "__main__":
    live_with_parent(main)
