"""``exposure demo``: the invented place from end to end, offline, with sheets, map and tables in a folder."""

import argparse
import json
import re
import sys
import time
from collections.abc import Sequence
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING

from tqdm import tqdm

from exposure.checks import RefusalError
from exposure.cli.output import make_folder, tell, write_text
from exposure.figures import NO_BREAK, litres, litres_with_band

if TYPE_CHECKING:  # loaded only when the command runs
    import xarray as xr

    from exposure.assess.details_parts import BuildingDetails
    from exposure.assess.from_files import Surveyed
    from exposure.invented import InventedPlace

FOLDER = "driving-rain-demo"
HOUSES = ("Wrack House", "Ness Light Cottage", "Fold Farm", "12 Salt Row", "4 Quay Terrace", "Mill Cottage")
NEEDED = (
    "zarr",
    "rasterio",
    "numba",
    "geopandas",
    "shapely",
    "pyproj",
    "jinja2",
    "contourpy",
    "folium",
    "ezdxf",
)
NOTICE = "Invented place, houses and weather, for trying out: do not build from it."
READS = ()
WRITES = {"folder": ("map.html", "houses.csv", "summary.txt")}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare what the command takes."""
    parser.add_argument(
        "folder", metavar="FOLDER", nargs="?", default=FOLDER, help=f"where the files go (default {FOLDER})"
    )
    parser.add_argument(
        "--house",
        metavar="NAME",
        action="append",
        help="one house of the invented place by its name, in place of the usual six; may be repeated",
    )


def run(options: argparse.Namespace) -> None:
    """Make the invented place, assess its houses, write what a user would take away, and tell."""
    _check_installed()
    from exposure.invented import invented_place
    from exposure.map.contour_map import region_field
    from exposure.paper.building_folder import write_building_folder
    from exposure.region.invented_index import index_invented_place

    began = time.monotonic()
    folder = make_folder(options.folder)
    place = invented_place()
    houses = _known(place, options.house or HOUSES)
    found: list[BuildingDetails] = []
    with tqdm(total=len(houses) + 1, desc="Assessing", unit="step") as bar:
        index = index_invented_place(place)
        _write_map(folder / "map.html", place, index)
        coast = json.loads(place.coast.read_text("utf-8"))
        land = index.where(index["land_share"] > 0)
        region = region_field(land, places=place.places, coast=coast)
        bar.update()
        for name in houses:
            details, surveyed = _assess(place, name)
            write_building_folder(folder / _plain(name), details, surveyed, region=region, invented=True)
            found.append(details)
            bar.update()
    found.sort(key=lambda one: one.assessment.worst.wall_spell_index, reverse=True)
    write_text(folder / "houses.csv", houses_csv(found))
    summary = demo_report(found)
    write_text(folder / "summary.txt", summary)
    tell(summary.rstrip("\n"))
    tell(
        f"\nWritten to {folder} in {time.monotonic() - began:.0f} s: open map.html, or a house's index.html."
    )
    sys.stdout.flush()


def _check_installed() -> None:
    """Stop with the command that installs what the demo needs beyond the core."""
    missing = [name for name in NEEDED if find_spec(name) is None]
    if missing:
        raise RefusalError(
            f"{', '.join(missing)} not installed",
            "the libraries for grids, sites and sheets",
            'Run: pip install "driving-rain-exposure[page]"',
        )


def _known(place: "InventedPlace", asked: Sequence[str]) -> list[str]:
    """The houses asked for, each once, or which there are."""
    there = [one["properties"]["name"] for one in json.loads(place.houses.read_text("utf-8"))["features"]]
    strange = [name for name in asked if name not in there]
    if strange:
        raise RefusalError(
            f"no house of the invented place is called {strange[0][:60]!r}",
            f"one of its {len(there)} houses, such as {', '.join(HOUSES)}",
            "Correct the name.",
        )
    return list(dict.fromkeys(asked))


def _plain(name: str) -> str:
    return re.sub(r"[^a-z0-9]+", "-", name.lower()).strip("-")


def _assess(place: "InventedPlace", name: str) -> "tuple[BuildingDetails, Surveyed]":
    from exposure.assess import assess_building
    from exposure.assess.details import detail_building
    from exposure.assess.from_files import survey_building
    from exposure.invented import climate_at

    surveyed = survey_building(
        place.houses, name=name, ground=place.height, cover=place.cover, neighbours=place.houses
    )
    climate = climate_at(place, surveyed.site.latitude, surveyed.site.longitude)
    assessment = assess_building(climate, surveyed.building, surveyed.site)
    return detail_building(assessment, climate), surveyed


def _write_map(path: Path, place: "InventedPlace", index: "xr.Dataset") -> None:
    from exposure.map.region_map import draw_region_map, write_region_map

    page = draw_region_map(
        index,
        title=f"Driving rain on {place.name}",
        places=place.places,
        coast=json.loads(place.coast.read_text("utf-8")),
    )
    write_region_map(path, page)


def houses_csv(found: "Sequence[BuildingDetails]") -> str:
    """Every elevation of every house, one a line, the hardest house first; litres as L/m2."""
    import csv
    import io

    from exposure.assess.table_text import safe_cell

    out = io.StringIO()
    write = csv.writer(out, lineterminator="\r\n")
    write.writerow(
        [
            "note", "house", "place", "elevation", "faces_degree", "annual_index_L_m2", "spell_index_L_m2",
            "spell_low_L_m2", "spell_high_L_m2", "class", "class_in_words", "class_with_no_neighbours",
        ]
    )  # fmt: skip
    for details in found:
        assessment = details.assessment
        for one in assessment.elevations:
            low, high = one.spell_band or (None, None)
            write.writerow(
                [
                    "invented",
                    safe_cell(assessment.building.name),
                    safe_cell(assessment.site.name),
                    safe_cell(one.wall.name),
                    f"{one.wall.orientation:.0f}",
                    f"{one.wall_annual_index:.1f}",
                    f"{one.wall_spell_index:.1f}",
                    "" if low is None else f"{low:.1f}",
                    "" if high is None else f"{high:.1f}",
                    one.exposure_class,
                    one.in_words,
                    one.class_in_the_open,
                ]
            )
    return out.getvalue()


def demo_report(found: "Sequence[BuildingDetails]") -> str:
    """The houses in a few lines, the worst elevation of all first."""
    first = found[0].assessment
    worst = first.worst
    lines = [
        f"Worst: the {worst.wall.name} elevation of {first.building.name}, {first.site.name}: {worst.in_words}, "
        f"{_band(worst.wall_spell_index, worst.spell_band)} {worst.spell_label}.",
        NOTICE,
        "",
        f"{'house':<20}{'place':<16}{'worst elevation':<20}{'a year':>10}{'worst spell (90 % band)':>28}  class",
    ]
    for details in found:
        one, here = details.assessment.worst, details.assessment
        spell = _band(one.wall_spell_index, one.spell_band)
        lines.append(
            f"{here.building.name:<20}{here.site.name:<16}{one.wall.name:<20}{litres(one.wall_annual_index):>10}"
            f"{spell:>28}  {one.in_words}"
        )
    lines += [
        "",
        f"What to do there first, in order ({len(_steps_of(found[0]))} steps in its sheets):",
        *(f"  {line}" for line in _first_steps(found[0])),
        "",
        "Doubts:",
        *(f"  {flag}" for flag in first.flags),
        "Caution: local codes and licensed practice decide; these figures inform, they do not prove.",
    ]
    return "\n".join(lines) + "\n"


def _steps_of(details: "BuildingDetails") -> Sequence[object]:
    return details.of(details.assessment.worst.wall.name).schedule.steps


def _first_steps(details: "BuildingDetails", most: int = 4) -> list[str]:
    """The first steps of work on the worst elevation, or the one order there is."""
    schedule = details.of(details.assessment.worst.wall.name).schedule
    if schedule.specific_design:
        return [schedule.specific_design]
    return [f"{step.number}  {step.text}" for step in schedule.steps[:most]]


def _band(value: float, band: tuple[float, float] | None) -> str:
    return litres_with_band(value, band).replace(NO_BREAK, " ").replace("²", "2")
