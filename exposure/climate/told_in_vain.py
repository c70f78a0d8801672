"""What was told about a source and has no use for its format: refused where the answer would be wrong, else said."""

import xarray as xr

from exposure.checks import RefusalError
from exposure.climate.formats.register import Format
from exposure.climate.grid.nearest_cell import great_circle_distance
from exposure.climate.request import Request
from exposure.doubts import Doubt, doubt, has_doubt

NAMES = {
    "at": "the point asked for",
    "columns": "the names of columns",
    "where": "the choice of rows",
    "missing": "the numbers that stand for missing",
    "stamp": "what a stamp is of its hour",
    "time_zone": "the time zone",
    "spread_rain": "the rule that shares rain",
    "rain_rule": "the rule how rain adds up",
    "mast_height": "the height of the mast",
    "mast_roughness": "the ground around the mast",
}
NEAR = 50.0  # km between the point asked for and the record, within which nothing is said; our choice


def refuse_rules_of_grids(request: Request, entry: Format) -> None:
    """Stop at a rule that would take a running total apart, when the format is a record and no grid.

    Raises
    ------
    RefusalError
        For any rain rule but ``"hour"``, which says that the rain already is of each hour.
    """
    if request.rain_rule not in (None, "hour"):
        raise RefusalError(
            f"the rain rule {request.rain_rule!r} is told for {entry.title}",
            "a climate grid, to which alone it applies",
            "Take the differences of consecutive hours first, then read the record without the rule.",
        )


def told_in_vain(request: Request, entry: Format, climate: xr.Dataset) -> list[Doubt]:
    """Doubts that name what was told and did nothing to ``climate``, read by ``entry``."""
    flags = climate.attrs["flags"]
    idle = [name for name in NAMES if getattr(request, name) and name not in entry.uses and name != "at"]
    if request.spread_rain and "spread_rain" in entry.uses and not has_doubt(flags, "climate.rain_shared"):
        idle.append("spread_rain")
    if request.time_zone and "time_zone" in entry.uses and not has_doubt(flags, "climate.stamps_local"):
        idle.append("time_zone")
    told = []
    if idle:
        what = ", ".join(NAMES[name] for name in idle)
        told.append(
            doubt("climate.told_in_vain", what=what[:1].upper() + what[1:], format=entry.title, names=idle)
        )
    if request.at is not None and "at" not in entry.uses:
        told += _about_the_point(request.at, climate)
    return told


def _about_the_point(at: tuple[float, float], climate: xr.Dataset) -> list[Doubt]:
    """That a record of one place is not of the point asked for, or does not say where it is from."""
    if "latitude" not in climate.attrs or "longitude" not in climate.attrs:
        return [doubt("climate.place_not_told")]
    away = great_circle_distance(at, (float(climate.attrs["latitude"]), float(climate.attrs["longitude"])))
    return [doubt("climate.far_from_point", distance=away)] if away > NEAR else []
