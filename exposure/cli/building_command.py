"""``exposure building``: the wall index of every elevation of a building on its site, and how sure it is."""

import argparse
import json
from pathlib import Path
from typing import TYPE_CHECKING

import xarray as xr

from exposure.assess import Assessment
from exposure.checks import RefusalError, check_between
from exposure.cli.output import far_words, make_folder, tell, write_text
from exposure.cli.source_arguments import add_json, add_source_arguments, add_wet_hour, open_from_arguments
from exposure.draw.lettering import clean
from exposure.figures import NO_BREAK, listed, litres, litres_with_band, share_words
from exposure.rain.coverage import FEW_YEARS
from exposure.wall import WallExposure

if TYPE_CHECKING:  # shapely and its like are loaded only when the command runs
    from exposure.assess.from_files import Surveyed
BUILDING_READS = ("file", "climate", "ground", "cover", "neighbours", "beside", "scale_with")
READS = (*BUILDING_READS, "against")
WRITES = {
    "json": (),
    "geopackage": (),
    "pictures": (
        "plan.svg", "elevation_bars.svg", "doubts_worst.svg", "view_worst.svg", "ground_by_sector.svg", "profile_worst.svg"
    ),
}  # fmt: skip


def add_building_arguments(parser: argparse.ArgumentParser) -> None:
    """What names a building, its surroundings and its weather; read back with :func:`assess_from_arguments`."""
    parser.add_argument(
        "file",
        metavar="FILE",
        help="the building: TOML or JSON of ours, a model (IFC), GeoJSON or GeoPackage",
    )
    parser.add_argument(
        "--climate",
        metavar="SOURCE",
        required=True,
        help="hourly wind and rain (a grid gives its nearest cell; 'invented' the weather of the demo)",
    )
    parser.add_argument("--building", metavar="NAME", help="which building, where FILE holds several")
    parser.add_argument("--ground", metavar="RASTER", help="ground height in metres")
    parser.add_argument("--cover", metavar="RASTER", help="land cover, ESA WorldCover classes")
    parser.add_argument("--neighbours", metavar="FILE", help="footprints around, with heights or storeys")
    parser.add_argument(
        "--beside",
        metavar="SOURCE",
        action="append",
        default=[],
        help="another record of the same ground, for the spread",
    )
    parser.add_argument(
        "--around",
        type=float,
        metavar="DEGREES",
        help="also read the grid cells this far north, east, south and west, for the spread",
    )
    add_wet_hour(parser)
    add_source_arguments(parser, positional=False)


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare what the command takes."""
    add_building_arguments(parser)
    parser.add_argument(
        "--what-if",
        action="store_true",
        help="also tell what neighbours, trees, eaves and a storey more would change",
    )
    parser.add_argument(
        "--against",
        metavar="SOURCE",
        help="another record to set beside the first: an earlier or a future period, another grid",
    )
    add_json(parser)
    parser.add_argument(
        "--geopackage", metavar="FILE", help="write the outline and the elevations with all figures"
    )
    parser.add_argument(
        "--pictures",
        metavar="FOLDER",
        help="write plan, profiles and bars as SVG; the folder is made where it is missing",
    )


def assess_from_arguments(options: argparse.Namespace) -> "tuple[Assessment, Surveyed, xr.Dataset]":
    """Assessment, survey and climate that ``options`` name.

    Raises
    ------
    RefusalError
        For any input that would make the answer wrong.
    """
    from exposure.assess import assess_building
    from exposure.assess.from_files import survey_building

    if options.wet_hour is not None:
        check_between(options.wet_hour, "the wet-hour threshold", 0, 10, "mm")
    surveyed = survey_building(
        options.file,
        name=options.building,
        ground=options.ground,
        cover=options.cover,
        neighbours=options.neighbours,
    )
    site = surveyed.site
    if options.at is None:
        options.at = f"{site.latitude},{site.longitude}"
    climate = open_from_arguments(options, options.climate)
    nearby = [open_from_arguments(options, source) for source in options.beside]
    if options.around is not None:
        nearby += _cells_around(options, climate)
    assessment = assess_building(climate, surveyed.building, site, wet_hour=options.wet_hour, nearby=nearby)
    return assessment, surveyed, climate


def _cells_around(options: argparse.Namespace, climate: xr.Dataset) -> list[xr.Dataset]:
    """Records of the grid cells to the four sides, without the cell in use and those that hold nothing."""
    from math import cos, radians

    step = check_between(options.around, "--around", 0.001, 10, "degrees")
    latitude, longitude = climate.attrs.get("latitude"), climate.attrs.get("longitude")
    if latitude is None or longitude is None:
        raise RefusalError(
            "the record is not from a grid", "a grid for --around", "Leave --around out, or use --beside."
        )
    wide = step / max(cos(radians(latitude)), 0.05)
    spots = {(latitude, longitude)}
    found = []
    for north, east in ((step, 0.0), (0.0, wide), (-step, 0.0), (0.0, -wide)):
        near = argparse.Namespace(**{**vars(options), "at": f"{latitude + north},{longitude + east}"})
        try:
            record = open_from_arguments(near, options.climate)
        except RefusalError:
            continue  # beyond the grid, or a cell without data
        spot = (record.attrs.get("latitude"), record.attrs.get("longitude"))
        if spot not in spots:
            spots.add(spot)
            found.append(record)
    if not found:
        raise RefusalError(
            f"no other cell lies {step:g} degrees around",
            "a step of the grid or more",
            "Give a wider --around.",
        )
    return found


def run(options: argparse.Namespace) -> None:
    """Compute and tell."""
    from exposure.assess.doubts import place_of_record
    from exposure.assess.table_text import plain
    from exposure.export.building_files import assessment_summary, write_building_geopackage
    from exposure.rain.seasons import compare_records

    if options.pictures:
        make_folder(options.pictures)
    assessment, surveyed, climate = assess_from_arguments(options)
    against = None
    if options.against:
        facing = assessment.index["orientation"].values
        against = compare_records(
            climate,
            open_from_arguments(options, options.against),
            orientation=facing,
            wet_hour=options.wet_hour,
            names=("the record", "the other"),
        )
    if options.geopackage:
        write_building_geopackage(options.geopackage, assessment, surveyed)
    if options.pictures:
        _write_pictures(Path(options.pictures), assessment, surveyed)
    if options.json:
        summary = assessment_summary(assessment, surveyed)
        if against is not None:
            summary["against"] = plain(against._asdict())
        write_text(options.json, json.dumps(summary, indent=1, allow_nan=False) + "\n")
    if options.json == "-":
        return
    tell(building_report(assessment, away=place_of_record(climate, surveyed.site)[0]))
    if against is not None:
        tell(f"\nBeside the other record: {against.sentence}")
        tell("\n".join(f"Doubt: {flag}" for flag in against.flags if flag not in assessment.flags))
    if options.what_if:
        tell("\n" + "\n".join(_what_if_lines(climate, assessment, surveyed, options.wet_hour)))


def _what_if_lines(
    climate: xr.Dataset, assessment: Assessment, surveyed: "Surveyed", wet_hour: float | None
) -> list[str]:
    """What each what-if would change, elevation by elevation; only what changes."""
    from exposure.assess.what_if import HEDGE, changes, what_ifs

    lines = []
    for words, then in what_ifs(surveyed).items():
        lines.append(f"With {words}:")
        moved = [
            f"  {clean(one.name):<24} {litres(one.before):>6} to {litres(one.after):>6} L/m2, "
            + (
                one.class_after
                if one.class_before == one.class_after
                else f"{one.class_before} to {one.class_after}"
            )
            for one in changes(climate, assessment, then, wet_hour=wet_hour)
            if round(one.before) != round(one.after) or one.class_before != one.class_after
        ]
        lines += moved or ["  nothing changes"]
    return [*lines, HEDGE]


def _write_pictures(folder: Path, assessment: Assessment, surveyed: "Surveyed") -> None:
    from exposure.draw.assessment_pictures import plan_of
    from exposure.draw.site_pictures import site_pictures

    for name, svg in {"plan": plan_of(assessment), **site_pictures(assessment, surveyed)}.items():
        write_text(folder / f"{name}.svg", svg)


def _worst_names(assessment: Assessment) -> str:
    names = listed([clean(one.wall.name) for one in assessment.alike(assessment.worst)])
    return (
        f"is the {names} elevation"
        if len(assessment.alike(assessment.worst)) == 1
        else f"are {names}, hit alike"
    )


def building_report(assessment: Assessment, *, away: float | None = None) -> str:
    """The assessment as lines for a reader, the worst elevation first; ``away`` [km] is how far its weather is."""
    worst, index, site = assessment.worst, assessment.index, assessment.site
    years = index.sizes["year"]
    lines = [
        f"{clean(assessment.building.name)}, {clean(site.name)}: worst {_worst_names(assessment)}, {worst.in_words}, "
        f"{_with_band(worst.wall_spell_index, worst.spell_band)} {worst.spell_label}"
        + ("" if worst.worst_share is None else f"; the worst in {share_words(worst.worst_share)} resamples")
        + ".",
        *far_words(away),
        f"Record   {index.attrs['source']}; {'1 year counts' if years == 1 else f'{years} years count'}"
        + (", indicative" if worst.indicative or years < FEW_YEARS else "")
        + f"; hours from {index.attrs['wet_hour_mm']:g} mm",
        f"Licence  {index.attrs['licence']}",
        "",
        f"{'elevation':<24}{'faces':>6}{'long':>7}{'high':>6} | {'ground':>6} x {'hill':>5} x {'neighb.':>7} x {'wall':>4} | "
        f"{'a year L/m2':>20} {'worst spell L/m2':>20}  class",
    ]
    lines += [_row(one) for one in assessment.elevations]
    lines += ["", f"Factors of the {worst.wall.name} elevation:"]
    lines += [
        f"  {factor.name.replace('_', ' '):<31} {factor.value:.3g}  {clean(factor.reason)}\n  {'':<31} {'':<5}({factor.source})"
        for factor in worst.factors
    ]
    lines += ["", f"Doubts about the {worst.wall.name} elevation, the widest first:"]
    lines += [f"  {doubt.sentence}" for doubt in worst.doubts]
    notes = [one.sector_note for one in assessment.elevations if one.sector_note]
    lines += ["", *notes, assessment.band_statement]
    if assessment.trend is not None:
        lines.append(f"Over the years: {assessment.trend.sentence}")
    lines += ["", *(f"Doubt: {flag}" for flag in assessment.flags)]
    lines.append(
        "Caution: local codes and licensed practice decide; these figures inform, they do not prove."
    )
    return "\n".join(lines)


def _row(one: WallExposure) -> str:
    ground, hill, view, shape = (factor.value for factor in one.factors)
    return (
        f"{clean(one.wall.name, most=23):<24}{one.wall.orientation:>5.0f}\N{DEGREE SIGN}{one.wall.length:>7.1f}{one.wall.height:>6.1f} | "
        f"{ground:>6.3f} x {hill:>5.2f} x {view:>7.1f} x {shape:>4.2f} | "
        f"{_with_band(one.wall_annual_index, one.annual_band, unit=False):>20} {_with_band(one.wall_spell_index, one.spell_band, unit=False):>20}  {one.in_words}"
    )


def _with_band(value: float, band: tuple[float, float] | None, *, unit: bool = True) -> str:
    return litres_with_band(value, band, unit=unit).replace(NO_BREAK, " ").replace("²", "2")
