"""One building's assessment as JSON and GeoPackage, every intermediate in it, and readable again as input."""

import json
from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import shapely
from shapely import LineString

from exposure import __version__
from exposure.assess import Assessment
from exposure.assess.from_files import Surveyed
from exposure.assess.table_text import plain
from exposure.checks import RefusalError
from exposure.site.plane import DEGREES
from exposure.tables import source_line
from exposure.tables.standing import standing_words
from exposure.wall import WallExposure
from exposure.wall.building_file import words_of
from exposure.wall.positions import by_position

if TYPE_CHECKING:
    import geopandas

CAUTION = "Local codes and licensed practice decide; these figures inform, they do not prove."
UNITS = {
    "annual": "L/m2 per year",
    "orientation": "degrees clockwise from true north, the way the wall faces",
    "length": "m",
    "height": "m above the ground at the wall",
    "start, end": "m east and north of latitude and longitude",
}


def assessment_summary(assessment: Assessment, surveyed: Surveyed | None = None) -> dict[str, Any]:
    """The assessment as plain numbers, words and lists; missing is None.

    ``input`` holds the building spelled out, so that the result is itself a building's file.
    """
    index = assessment.index
    summary: dict[str, Any] = {
        "program": f"driving-rain-exposure {__version__}",
        "building": assessment.building.name,
        "storeys": assessment.building.storeys,
        "worst": assessment.worst.wall.name,
        "elevations": [elevation_summary(one) for one in assessment.elevations],
        "site": site_summary(assessment),
        "record": {
            "source": index.attrs["source"],
            "licence": index.attrs["licence"],
            "kind": index.attrs["kind"],
            "years": [int(year) for year in index["year"].values],
            "wet_hour_mm": index.attrs["wet_hour_mm"],
            "unassigned_rain_mm": index.attrs["unassigned_rain_mm"],
        },
        "bands": assessment.band_statement,
        "trend": None if assessment.trend is None else assessment.trend._asdict(),
        "not_told": [asdict(one) for one in assessment.assumptions],
        "flags": list(assessment.flags),
        "caution": CAUTION,
        "units": _units(assessment),
        "class_limits": source_line("exposure_class"),
    }
    if surveyed is not None:
        words = words_of(assessment.building, surveyed.place)
        site = assessment.site
        for key, values in (("terrain", site.categories), ("topography", site.hill_coefficients)):
            left = site.untold.get("hills" if key == "topography" else key, ())
            words["place"][key] = {str(30 * k): one for k, one in enumerate(values) if k not in left}
        if assessment.site.sea_distance is not None:
            words["place"]["sea_distance"] = assessment.site.sea_distance
        summary["input"] = words
    return plain(summary)


def _units(assessment: Assessment) -> dict[str, str]:
    """Units of the figures; the spell is called what the record can carry."""
    return {**UNITS, "spell": f"L/m2 {assessment.worst.spell_label}"}


def elevation_summary(one: WallExposure) -> dict[str, Any]:
    """One elevation's figures, factors, bands and doubts."""
    wall = one.wall
    return {
        "name": wall.name,
        "orientation": wall.orientation,
        "length": wall.length,
        "height": wall.height,
        "shape": wall.shape,
        "start": wall.start,
        "end": wall.end,
        "airfield_annual_index": one.airfield_annual_index,
        "airfield_spell_index": one.airfield_spell_index,
        "airfield_spell_index_percentile": one.airfield_spell_index_percentile,
        "airfield_spell_index_gumbel": one.airfield_spell_index_gumbel,
        **{factor.name: factor.value for factor in one.factors},
        "factors": [
            {
                "name": factor.name,
                "value": factor.value,
                "reason": factor.reason,
                "source": factor.source,
                "standing": standing_words(factor.standing),
                "verified": factor.verified,
            }
            for factor in one.factors
        ],
        "wall_annual_index": one.wall_annual_index,
        "wall_spell_index": one.wall_spell_index,
        "wall_spell_index_in_the_open": one.wall_spell_index_in_the_open,
        "annual_band": one.annual_band,
        "spell_band": one.spell_band,
        "class": one.exposure_class,
        "class_band": one.class_band,
        "class_in_words": one.in_words,
        "class_in_the_open": one.class_in_the_open,
        "class_any_rain": one.class_any_rain,
        "class_for_details": one.class_for_details,
        "indicative": one.indicative,
        "worst_share": one.worst_share,
        "monthly_share": one.monthly_share,
        "sector_annual_index": one.sector_annual_index,
        "sector_spell_index": one.sector_spell_index,
        "sector_note": one.sector_note,
        "other_models": dict(one.other_models),
        "by_position": [part._asdict() for part in by_position(one)],
        "view": None
        if wall.view is None
        else {
            "nearest": wall.view.nearest,
            "filled": wall.view.filled,
            "distance": wall.view.distance,
            "street": wall.view.street,
            "rows": wall.view.rows,
            "reason": wall.view.reason,
        },
        "doubts": [
            {
                "name": doubt.name,
                "low": doubt.low,
                "high": doubt.high,
                "classes": doubt.classes,
                "sentence": doubt.sentence,
            }
            for doubt in one.doubts
        ],
        "flags": list(one.flags),
    }


def site_summary(assessment: Assessment) -> dict[str, Any]:
    """The site by sector, with what each value was taken from."""
    site = assessment.site
    sectors = []
    for k, (category, coefficient) in enumerate(zip(site.categories, site.hill_coefficients, strict=True)):
        sector: dict[str, Any] = {
            "bearing": k * 30,
            "terrain": category,
            "topography": coefficient,
            "terrain_reason": site.grounds[k].reason if site.grounds else "given",
        }
        if site.grounds:
            sector["cover_shares"] = dict(site.grounds[k].shares)
            sector["open_water"] = site.grounds[k].open_water
        if site.hills:
            hill = site.hills[k]
            sector["hill"] = {
                "shape": hill.shape,
                "in_words": hill.in_words,
                "profile_bearing": hill.bearing,
                "slope": hill.slope,
                "rise": hill.rise,
                "upwind_length": hill.upwind_length,
                "downwind_length": hill.downwind_length,
                "position": hill.position,
                "shape_factor": hill.shape_factor,
            }
        sectors.append(sector)
    return {
        "name": site.name,
        "latitude": site.latitude,
        "longitude": site.longitude,
        "ground_height": site.ground_height,
        "sea_distance": site.sea_distance,
        "sectors": sectors,
    }


def assessment_json(assessment: Assessment, surveyed: Surveyed | None = None) -> str:
    """The summary as JSON text."""
    return json.dumps(assessment_summary(assessment, surveyed), indent=1, allow_nan=False) + "\n"


def elevations_frame(assessment: Assessment, surveyed: Surveyed) -> "geopandas.GeoDataFrame":
    """The elevations as a GeoDataFrame: a line each on the map, with every figure of :func:`elevation_summary`.

    Parameters
    ----------
    assessment
        From :func:`exposure.assess_building`.
    surveyed
        The building it was made of, from :func:`exposure.survey_building`; it says where the outline lies.

    Returns
    -------
    geopandas.GeoDataFrame
        In degrees of longitude and latitude (EPSG:4326), the worst elevation first. Lists are JSON text; the units
        stand in ``attrs``.

    Raises
    ------
    RefusalError
        When the building has no outline.
    """
    import geopandas  # large and optional

    _outline_of(assessment, surveyed)
    rows, lines = [], []
    for one in assessment.elevations:
        row = plain(elevation_summary(one))
        rows.append({key: _cell(value) for key, value in row.items() if key not in ("start", "end")})
        assert one.wall.start is not None
        assert one.wall.end is not None
        lines.append(_on_the_map(LineString([one.wall.start, one.wall.end]), surveyed))
    frame = geopandas.GeoDataFrame(rows, geometry=lines, crs=DEGREES)
    frame.attrs = {"units": _units(assessment), "flags": list(map(str, assessment.flags)), "caution": CAUTION}
    return frame


def write_building_geopackage(path: str | Path, assessment: Assessment, surveyed: Surveyed) -> None:
    """A GeoPackage with the layers ``building`` (its outline) and ``elevations`` (a line each, all figures).

    It is written beside the target and moved into place; other layers of a GeoPackage that stands there stay; :func:`exposure.wall.building_file.read_building`
    reads it back to the same elevations.

    Raises
    ------
    RefusalError
        When the building has no outline, when something else than a GeoPackage stands there, or the folder cannot
        be written.
    """
    import geopandas
    from pyogrio.errors import DataSourceError

    from exposure.export.geopackage import layers_in_place

    target = Path(path)
    outline = _outline_of(assessment, surveyed)
    summary = assessment_summary(assessment, surveyed)
    words = {
        key: _cell(value) for key, value in summary.items() if key not in ("elevations", "input", "storeys")
    }
    house = {
        "name": assessment.building.name,
        "height": max(wall.height for wall in assessment.building.walls),
        "storeys": assessment.building.storeys,
        **words,
        "input": json.dumps(summary["input"], allow_nan=False),
    }
    try:
        with layers_in_place(target) as part:
            geopandas.GeoDataFrame([house], geometry=[_on_the_map(outline, surveyed)], crs=DEGREES).to_file(
                part, layer="building", driver="GPKG"
            )
            elevations_frame(assessment, surveyed).to_file(part, layer="elevations", driver="GPKG")
    except (OSError, DataSourceError) as error:
        raise RefusalError(
            f"{target} cannot be written ({getattr(error, 'strerror', None) or 'is there such a folder?'})",
            "a file name in a folder you may write to",
            "Choose another.",
        ) from error


def _outline_of(assessment: Assessment, surveyed: Surveyed) -> shapely.Polygon:
    """The building's outline, on the plane of its place."""
    outline = surveyed.place.footprint
    if outline is None or any(
        one.wall.start is None or one.wall.end is None for one in assessment.elevations
    ):
        raise RefusalError(
            "the building has no outline",
            "corners of its elevations",
            "Give a footprint, or write JSON instead.",
        )
    return outline


def _on_the_map(shape: shapely.Geometry, surveyed: Surveyed) -> shapely.Geometry:
    plane = surveyed.place.plane
    return shapely.transform(shape, lambda xy: np.column_stack(plane.to_crs(xy[:, 0], xy[:, 1], crs=DEGREES)))


def _cell(value: Any) -> Any:
    """A table's cell: numbers and text as they are, the rest as JSON text."""
    return json.dumps(value, allow_nan=False) if isinstance(value, list | dict) else value
