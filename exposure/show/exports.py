"""A comparison of places for other programs: CSV and GeoPackage, each row with class, band and what decides it.

One building's own files are written by :mod:`exposure.show.building_files` and :mod:`exposure.assess.details_export`.
"""

import csv
import io
from collections.abc import Mapping, Sequence
from math import isfinite
from pathlib import Path
from typing import Any

from exposure.assess import Assessment
from exposure.assess.details_export import safe_cell
from exposure.checks import RefusalError
from exposure.in_place import filled_in_place
from exposure.show.assessment_pictures import FACTOR_NAMES
from exposure.show.comparison import bands_meet
from exposure.show.lettering import clean

UNITS_NOTE = "spell: L/m2 in the worst spell likely once in three years; annual: L/m2 per year; facing: degrees from north"


def comparison_rows(places: Mapping[str, Assessment]) -> list[dict[str, Any]]:
    """One row a place, hardest hit first, of the worst-facing wall put on each; missing is None.

    Parameters
    ----------
    places
        Assessment of the same wall on each place, by the place's name.
    """
    order = sorted(places.items(), key=lambda item: -item[1].worst.wall_spell_index)
    rows = []
    for rank, (name, assessment) in enumerate(order, start=1):
        worst, site = assessment.worst, assessment.site
        meeting = [
            other
            for other, one in order
            if other != name and bands_meet(worst.spell_band, one.worst.spell_band)
        ]
        annual, spell = worst.annual_band or (None, None), worst.spell_band or (None, None)
        rows.append(
            {
                "rank": rank,
                "place": clean(name, most=200),
                "class": worst.exposure_class,
                "class_in_words": worst.in_words,
                "spell": _number(worst.wall_spell_index),
                "spell_low": _number(spell[0]),
                "spell_high": _number(spell[1]),
                "annual": _number(worst.wall_annual_index),
                "annual_low": _number(annual[0]),
                "annual_high": _number(annual[1]),
                "facing": _number(worst.wall.orientation),
                "airfield_annual": _number(worst.airfield_annual_index),
                **{FACTOR_NAMES.get(step.name, step.name): _number(step.value, 4) for step in worst.factors},
                "may_change_places_with": "; ".join(clean(other, most=200) for other in meeting),
                "latitude": site.latitude,
                "longitude": site.longitude,
                "weather": clean(assessment.index.attrs.get("source", "not named"), most=200),
                "doubts": clean(" ".join(assessment.flags), most=2000),
            }
        )
    return rows


def comparison_csv(places: Mapping[str, Assessment]) -> str:
    """The comparison as CSV; no cell starts a formula, missing is empty.

    Raises
    ------
    RefusalError
        When there is no place.
    """
    rows = _some(comparison_rows(places))
    text = io.StringIO()
    writer = csv.writer(text, lineterminator="\n")
    writer.writerow([*rows[0], "units"])
    for row in rows:
        writer.writerow([*(_cell(cell) for cell in row.values()), UNITS_NOTE])
    return text.getvalue()


def write_comparison_geopackage(path: str | Path, places: Mapping[str, Assessment]) -> Path:
    """The comparison as points of a GeoPackage, written beside ``path`` and moved into place.

    Raises
    ------
    RefusalError
        When there is no place, or the folder cannot be written.
    """
    import geopandas  # large and optional
    from pyogrio.errors import DataSourceError

    rows = _some(comparison_rows(places))
    target = Path(path)
    points = geopandas.points_from_xy([row["longitude"] for row in rows], [row["latitude"] for row in rows])
    try:
        with filled_in_place(target, ending=".gpkg") as part:
            geopandas.GeoDataFrame(rows, geometry=points, crs="EPSG:4326").to_file(
                part, layer="comparison", driver="GPKG"
            )
    except (OSError, DataSourceError) as error:
        raise RefusalError(
            f"{target} cannot be written ({getattr(error, 'strerror', None) or 'is there such a folder?'})",
            "a file name in a folder you may write to",
            "Choose another.",
        ) from error
    return target


def _some(rows: list[dict[str, Any]]) -> Sequence[dict[str, Any]]:
    if not rows:
        raise RefusalError("no place to compare", "one or more places", "Choose places first.")
    return rows


def _cell(value: Any) -> Any:
    if value is None or isinstance(value, int | float):
        return "" if value is None else value
    return safe_cell(value)


def _number(value: float | None, decimals: int = 1) -> float | None:
    return round(float(value), decimals) if value is not None and isfinite(value) else None
