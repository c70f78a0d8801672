"""The airfield index of one weather record for every way that walls of a town face, with its bands."""

from collections.abc import Callable
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, NamedTuple

import numpy as np
import xarray as xr

from exposure.checks import RefusalError
from exposure.climate.grid.marks import code_mark, mark
from exposure.district.kept_arrays import Arrays, keep_arrays, kept_arrays
from exposure.district.spread_work import spread_work
from exposure.doubts import doubt, flags_of, has_doubt
from exposure.rain.index import airfield_index, compass_orientations
from exposure.rain.pressure import wall_pressures
from exposure.rain.record import Record, record_of
from exposure.rain.uncertainty import band_of, resample_years
from exposure.region.run_settings import digest
from exposure.wall.index import rainy_sectors

STEP = 0.01  # degrees that walls are told apart by, as :mod:`exposure.wall.elevations` rounds them
AT_ONCE = 64  # ways worked out together; our choice
ROSE = 36
CODE = ("rain", "clock.py", "tables", "climate/units.py", "district/facings.py")
WANTED = (
    "airfield_annual_index", "airfield_spell_index", "airfield_spell_index_percentile",
    "airfield_spell_index_gumbel", "airfield_spell_index_any_rain",
)  # fmt: skip


class _Part(NamedTuple):
    record: Record
    ways: np.ndarray
    wet_hour: float | None


@dataclass(frozen=True, eq=False)
class Facings:
    """Figures of one record by the way a wall faces.

    Parameters
    ----------
    ways
        In hundredths of a degree, ascending.
    figures
        Of each: the airfield indices by their names, ``by_sector`` (way, 12), and both ends of the bands of one over
        an airfield, ``annual_low``, ``annual_high``, ``spell_low``, ``spell_high``; and the pressures at an airfield,
        ``pressure_any``, its upper end ``pressure_high``, ``pressure_facing`` [Pa], ``pressure_short`` where they are of a
        short record. Without a pressure they are missing.
    rainy
        :func:`exposure.wall.index.rainy_sectors`.
    attrs
        Of the index: source, licence, kind, wet-hour threshold, years that count, flags.
    record
        Attributes of the weather record.
    """

    ways: np.ndarray
    figures: Arrays
    rainy: np.ndarray
    attrs: dict[str, Any]
    record: dict[str, Any] = field(repr=False)

    def at(self, orientations: np.ndarray) -> Arrays:
        """Figures of walls facing ``orientations``, which were asked for. [degree]"""
        asked = hundredths(orientations)
        place = np.searchsorted(self.ways, asked).clip(max=self.ways.size - 1)
        if not np.array_equal(self.ways[place], asked):
            message = "a wall faces a way that was not worked out for its weather"
            raise LookupError(message)
        return {name: values[place] for name, values in self.figures.items()}


def hundredths(orientations: np.ndarray) -> np.ndarray:
    """Whole hundredths of a degree.

    Examples
    --------
    >>> hundredths(np.array([240.0, 0.29])).tolist()
    [24000, 29]
    """
    return np.round(np.asarray(orientations) / STEP).astype(int)


def facings_of(
    climate: xr.Dataset,
    orientations: np.ndarray,
    *,
    wet_hour: float | None,
    keep: Path | None = None,
    workers: int = 0,
    client: Any = None,
    tell: Callable[[float], None] = lambda _share: None,
) -> Facings:
    """Airfield figures of ``climate`` for every one of ``orientations``; what is kept is not worked out again.

    ``client`` is that of a cluster to work on, else ``workers`` are processes beside this one.

    Raises
    ------
    RefusalError
        As :func:`exposure.rain.index.airfield_index`.
    """
    record = record_of(climate)
    rose = airfield_index(record, orientation=compass_orientations(ROSE), wet_hour=wet_hour)
    told = digest(record.hours, record.rain, record.wind_speed, record.wind_from_direction)
    name = f"facings-{mark(repr((code_mark(*CODE), told, record.kind, record.calendar, wet_hour)))}"
    found = kept_arrays(keep, name)
    ways = np.unique(hundredths(orientations))
    missing = ways if found is None else np.setdiff1d(ways, found["ways"])
    parts = [] if found is None else [found]
    jobs = [
        _Part(record, missing[first : first + AT_ONCE], wet_hour) for first in range(0, missing.size, AT_ONCE)
    ]
    made: list[Arrays] = []

    def look() -> None:
        tell(len(made) / max(len(jobs), 1))

    for part in spread_work(
        _figures, jobs, workers=workers if len(jobs) > 2 else 0, client=client, look=look
    ):
        made.append(part)
    parts += made
    whole = {key: np.concatenate([part[key] for part in parts]) for key in parts[0]}
    order = np.argsort(whole["ways"])
    whole = {key: values[order] for key, values in whole.items()}
    if missing.size:
        keep_arrays(keep, name, whole)
    attrs = {
        **{key: rose.attrs[key] for key in ("source", "licence", "kind", "wet_hour_mm")},
        "years": [int(year) for year in rose["year"].values],
        "flags": [*flags_of(rose.attrs), *_pressure_doubts(record)],
    }
    return Facings(whole.pop("ways"), whole, rainy_sectors(rose), attrs, dict(record.attrs))


def _figures(part: _Part) -> Arrays:
    """Figures of some ways, bands among them."""
    ways = part.ways * STEP
    index = airfield_index(part.record, orientation=np.round(ways, 2), wet_hour=part.wet_hour)
    drawn = resample_years(
        index["yearly_annual_index"].transpose("year", "orientation").values,
        index["yearly_spell_maximum"].transpose("year", "orientation").values,
    )
    figures = {name: index[name].values for name in WANTED}
    annual = band_of(drawn.annual, figures["airfield_annual_index"], drawn.years)
    spell = band_of(drawn.spell, figures["airfield_spell_index"], drawn.years)
    return {
        "ways": part.ways,
        **figures,
        "by_sector": index["airfield_annual_index_by_sector"].transpose("orientation", "terrain_sector").values,
        "annual_low": annual[0],
        "annual_high": annual[1],
        "spell_low": spell[0],
        "spell_high": spell[1],
        **_pressures(part.record, np.round(ways, 2)),
    }  # fmt: skip


def _pressures(record: Record, ways: np.ndarray) -> Arrays:
    """Driving-rain wind pressures at an airfield."""
    try:
        found = wall_pressures(record, orientation=ways)
    except RefusalError:
        return {f"pressure_{name}": np.full(ways.size, np.nan) for name in ("any", "high", "facing", "short")}
    return {
        "pressure_any": np.array([one.airfield_any_direction for one in found]),
        "pressure_high": np.array([one.airfield_range[1] for one in found]),
        "pressure_facing": np.array([one.airfield_facing for one in found]),
        "pressure_short": np.array([float(one.short) for one in found]),
    }


def _pressure_doubts(record: Record) -> list[str]:
    """What is doubtful about the pressures of a record, whatever way a wall faces."""
    try:
        found = wall_pressures(record, orientation=[0.0])
    except RefusalError as reason:
        return [doubt("district.no_pressure", why=reason.came)]
    return [flag for flag in found[0].flags if not has_doubt([flag], "rain.pressure_seldom_facing")]
