"""Ranked places for other programs: CSV, GeoPackage and JSON, each row with class, band, rank and how sure it is."""

import json
import tempfile
from collections.abc import Sequence
from math import isfinite
from pathlib import Path
from typing import Any

from exposure import __version__
from exposure.assess.compare_sites import Comparison
from exposure.assess.ranking import RankedSite
from exposure.assess.table_text import csv_text
from exposure.checks import RefusalError
from exposure.draw.comparison_words import list_sentence
from exposure.draw.lettering import clean

MOST_CLOSE = 10  # names of places close by in a cell; more are counted
UNITS_NOTE = (
    "annual: L/m2 per year; facing: degrees from north; "
    "ground, hill, wall_shape: factors; keeps_rank: share of the resamples, 0 to 1"
)
CAUTION = "A place's class is the class of this one wall there, not of the buildings that stand there."
DECIDE = "Local codes and licensed practice decide; these figures inform, they do not prove."
RANK_NOTE = (
    "Rank: 1 + the number of places hit harder; places that get the same share it. A resample is the record with its "
    "whole years drawn again at random; the range of a rank holds nine of ten resamples, and every rank that bands "
    "which meet leave open. "
    "Keeps its rank: in how many of 100 resamples the place comes out at the same rank."
)


def close_words(names: Sequence[str], *, most: int = MOST_CLOSE) -> str:
    """Names of places close by, the rest counted.

    Examples
    --------
    >>> close_words(["A", "B", "C"], most=2)
    'A; B; and 1 more'
    """
    short = [clean(name, most=80) for name in names]
    return "; ".join(short if len(short) <= most else [*short[:most], f"and {len(short) - most} more"])


def ranked_row(one: RankedSite) -> dict[str, Any]:
    """One place as plain figures and words; missing is None."""
    site, worst = one.site, one.site.worst
    spell, annual = worst.spell_band or (None, None), worst.annual_band or (None, None)
    ground, hill, _, shape = (factor.value for factor in worst.factors)
    return {
        "rank": one.rank,
        "rank_low": one.ranks[0],
        "rank_high": one.ranks[1],
        "place": clean(one.name, most=200),
        "class": worst.exposure_class,
        "class_in_words": worst.in_words,
        "spell": _number(site.value),
        "spell_low": _number(spell[0]),
        "spell_high": _number(spell[1]),
        "annual": _number(worst.wall_annual_index),
        "annual_low": _number(annual[0]),
        "annual_high": _number(annual[1]),
        "facing": _number(worst.wall.orientation),
        "open_field_annual": _number(worst.airfield_annual_index),
        "open_field_spell": _number(worst.airfield_spell_index),
        "ground": _number(ground, 4),
        "hill": _number(hill, 4),
        "wall_shape": _number(shape, 4),
        "keeps_rank": _number(one.kept, 3),
        "lies_close_to": len(one.close_to),
        "close_names": close_words(one.close_to),
        "decides": one.decides,
        "wall": site.wall.in_words,
        "latitude": round(site.site.latitude, 6),
        "longitude": round(site.site.longitude, 6),
        "ground_height": _number(site.site.ground_height),
        "list_row": site.row,
        "weather": clean(site.weather, most=300),
        "years": len(site.years),
        "first_year": site.years[0] if site.years else None,
        "last_year": site.years[-1] if site.years else None,
        "wet_hour_mm": site.wet_hour,
        "licence": clean(site.licence, most=200),
        "doubts": clean(" ".join(site.flags), most=3000),
    }


def ranked_rows(comparison: Comparison) -> list[dict[str, Any]]:
    """Every place, hardest hit first."""
    return [ranked_row(one) for one in comparison.ranked]


def ranked_csv(comparison: Comparison) -> str:
    """The ranking as CSV; no cell starts a formula, missing is empty."""
    rows = ranked_rows(comparison)
    return csv_text(
        [
            [*rows[0], "units"],
            *([*row.values(), _units([one])] for row, one in zip(rows, comparison.ranked, strict=True)),
        ]
    )


def _units(ranked: Sequence[RankedSite]) -> str:
    """Units of the figures; each spell is called what its record can carry."""
    labels = dict.fromkeys(one.site.worst.spell_label for one in ranked)
    return f"spell: L/m2 {' or '.join(labels)}; {UNITS_NOTE}"


def left_out_csv(comparison: Comparison) -> str:
    """The rows left out, each with what came, what was expected and what to do."""
    rows: list[list[object]] = [["row", "place", "came", "expected", "do"]]
    for one in comparison.left_out:
        reason = one.reason
        words = (one.name, reason.came, reason.expected, reason.cure)
        rows.append([one.row, *(clean(text, most=500) for text in words)])
    return csv_text(rows)


def ranked_json(comparison: Comparison) -> str:
    """The ranking with its wall, notes and rows left out, as JSON."""
    told = {
        "made_by": f"driving-rain-exposure {__version__}",
        "answer": list_sentence(comparison.ranked),
        "reference_wall": comparison.wall.in_words,
        "caution": f"{CAUTION} {DECIDE}",
        "rank": RANK_NOTE,
        "units": _units(comparison.ranked),
        "notes": list(comparison.notes),
        "doubts_of_all": list(comparison.flags),
        "places": ranked_rows(comparison),
        "left_out": [
            {
                "row": one.row,
                "place": one.name,
                "came": one.reason.came,
                "expected": one.reason.expected,
                "do": one.reason.cure,
            }
            for one in comparison.left_out
        ],
    }
    return json.dumps(told, indent=1, allow_nan=False, ensure_ascii=False) + "\n"


def write_ranked_geopackage(path: str | Path, comparison: Comparison) -> Path:
    """The ranking as points of a GeoPackage, written beside ``path`` and moved into place; other layers there stay.

    Raises
    ------
    RefusalError
        When something else than a GeoPackage stands there, or the folder cannot be written.
    """
    import geopandas  # large and optional
    from pyogrio.errors import DataSourceError

    from exposure.export.geopackage import layers_in_place

    rows = ranked_rows(comparison)
    target = Path(path)
    points = geopandas.points_from_xy([row["longitude"] for row in rows], [row["latitude"] for row in rows])
    try:
        with layers_in_place(target) as part:
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


def ranked_geopackage(comparison: Comparison) -> bytes:
    """The same as bytes, for a download."""
    with tempfile.TemporaryDirectory() as folder:
        return write_ranked_geopackage(Path(folder) / "comparison.gpkg", comparison).read_bytes()


def _number(value: float | None, decimals: int = 1) -> float | None:
    return round(float(value), decimals) if value is not None and isfinite(value) else None
