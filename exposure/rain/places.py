"""The index of many places at once: each place of the Dataset worked out as one alone, chunk by chunk where it is lazy."""

from collections.abc import Iterator
from dataclasses import replace

import numpy as np
import xarray as xr

from exposure.checks import RefusalError
from exposure.clock import TYPICAL_YEAR, check_whole_time
from exposure.doubts import Doubt, doubt, flags_of, has_doubt, with_flags
from exposure.rain.coverage import LEAST_COVERAGE
from exposure.rain.doubts import IndexFigures, doubts_of_index, years_left_out
from exposure.rain.hour import TERRAIN_SECTORS
from exposure.rain.record import WANTED, Record
from exposure.rain.sums import figures_of
from exposure.rain.variables import described

MOST_TOLD = 20  # places of whom the same doubt is told one by one; our choice
_SHAPES: dict[str, tuple[str, ...]] = {
    "airfield_annual_index": ("orientation",),
    "airfield_spell_index": ("orientation",),
    "airfield_spell_index_percentile": ("orientation",),
    "airfield_spell_index_gumbel": ("orientation",),
    "airfield_spell_index_any_rain": ("orientation",),
    "airfield_annual_index_by_sector": ("terrain_sector", "orientation"),
    "yearly_annual_index": ("year", "orientation"),
    "yearly_spell_maximum": ("year", "orientation"),
    "hours_scaling": ("year",),
    "rain_scaling": ("year",),
    "coverage": ("record_year",),
    "counted_rain": (),
    "unassigned_rain": (),
    "gap_beside_spell": ("year",),
}


def index_of_places(
    weather: xr.Dataset, clock: Record, walls: np.ndarray, *, threshold: float, weight: xr.DataArray
) -> xr.Dataset:
    """Airfield indices of every place of ``weather``; see :func:`exposure.rain.index.airfield_index`.

    Parameters
    ----------
    weather
        Rain and wind in our units, along ``time`` and the places.
    clock
        Its hours, as :func:`exposure.rain.record.clock_of` gives them.
    walls
        [degree]
    threshold
        Wet-hour threshold. [mm]
    weight
        Along ``terrain_sector``, and along places where they differ.
    """
    lazy = any(weather[term].chunks is not None for term in WANTED)
    for term in WANTED:
        check_whole_time(weather[term], term)
    years = np.unique(clock.years)
    sizes = {
        "orientation": walls.size,
        "terrain_sector": TERRAIN_SECTORS,
        "year": years.size,
        "record_year": years.size,
    }
    found = xr.apply_ufunc(
        _figures_of_block,
        *(weather[term] for term in WANTED),
        weight,
        kwargs={
            "clock": replace(clock, time=clock.time[:0], attrs={}),
            "walls": walls,
            "threshold": threshold,
        },
        input_core_dims=[["time"]] * len(WANTED) + [["terrain_sector"]],
        output_core_dims=[list(dims) for dims in _SHAPES.values()],
        dask="parallelized",
        dask_gufunc_kwargs={"output_sizes": sizes},
        output_dtypes=[bool if name == "gap_beside_spell" else float for name in _SHAPES],
    )
    index = described(
        dict(zip(_SHAPES, found, strict=True)), orientation=walls, year=years, record_year=years
    )
    index["record_hours"] = (
        "record_year",
        clock.hours_of_years,
        {"units": "h", "long_name": "stamps in the year"},
    )
    index["year"].attrs["long_name"] = "years of the record; missing where one does not count for a place"
    index.attrs |= {
        "kind": clock.kind,
        "source": clock.attrs.get("source", "not named"),
        "licence": clock.attrs.get("licence", "not named"),
        "wet_hour_mm": threshold,
    }
    flags = flags_of(clock.attrs)
    if clock.calendar == "360_day":
        flags.append(doubt("rain.calendar_360"))
    if lazy:
        return with_flags(index, [*flags, doubt("rain.places_not_judged")])
    return with_place_doubts(with_flags(index, flags))


def with_place_doubts(index: xr.Dataset) -> xr.Dataset:
    """An index of many places, loaded, with what its records leave open told of each place.

    Parameters
    ----------
    index
        What :func:`exposure.rain.index.airfield_index` made of many places.

    Returns
    -------
    xarray.Dataset
        In memory. Each flag's ``subject`` is its place, such as ``latitude 48.25, longitude -29.5``. What holds of more
        than twenty places is told of twenty, and how many more there are; the figures behind it stand in the Dataset.

    Raises
    ------
    RefusalError
        When no place has a year that counts.
    """
    index = index.compute()
    if not bool(index["hours_scaling"].notnull().any()):
        raise RefusalError(
            "no place has a year that counts",
            f"at least one with rain known in {LEAST_COVERAGE:.0%} of a year's hours and wind in as much of its rain",
            "Use a longer or more complete record.",
        )
    by_key: dict[str, list[Doubt]] = {}
    number = 0
    for name, place in _places(index):
        number += 1
        for one in _doubts_of_place(place):
            by_key.setdefault(one.key, []).append(Doubt(f"{name}: {one}", one.key, name, one.numbers))
    flags = [one for one in flags_of(index.attrs) if not has_doubt([one], "rain.places_not_judged")]
    for told in by_key.values():
        flags += told[:MOST_TOLD]
        if len(told) > MOST_TOLD:
            flags.append(
                doubt(
                    "rain.more_places",
                    more=len(told) - MOST_TOLD,
                    of=number,
                    example=str(told[0]),
                )
            )
    return with_flags(index, flags)


def _figures_of_block(
    rain: np.ndarray,
    wind_speed: np.ndarray,
    wind_from_direction: np.ndarray,
    weight: np.ndarray,
    *,
    clock: Record,
    walls: np.ndarray,
    threshold: float,
) -> tuple[np.ndarray, ...]:
    """The figures of every place of a block, whose arrays end in time; missing where no year of a place counts."""
    places = np.broadcast_shapes(*(one.shape[:-1] for one in (rain, wind_speed, wind_from_direction, weight)))
    weather = [
        np.broadcast_to(one, (*places, one.shape[-1]))
        for one in (rain, wind_speed, wind_from_direction, weight)
    ]
    years = np.unique(clock.years).size
    size = {"orientation": walls.size, "terrain_sector": TERRAIN_SECTORS, "year": years, "record_year": years}
    out = {name: np.full((*places, *(size[dim] for dim in dims)), np.nan) for name, dims in _SHAPES.items()}
    out["gap_beside_spell"] = np.zeros((*places, years), dtype=bool)
    for at in np.ndindex(places):
        fell, speed, direction, factors = (np.asarray(one[at], dtype=float) for one in weather)
        found = figures_of(
            replace(clock, rain=fell, wind_speed=speed, wind_from_direction=direction),
            walls,
            threshold=threshold,
            weight=factors,
        )
        out["coverage"][at] = found.account.coverage
        rows = found.counted
        if not rows.size:
            continue
        spell, percentile, gumbel = found.spell_estimates
        out["airfield_annual_index"][at] = found.annual.mean(0)
        out["airfield_spell_index"][at] = spell
        out["airfield_spell_index_percentile"][at] = percentile
        out["airfield_spell_index_gumbel"][at] = gumbel
        out["airfield_spell_index_any_rain"][at] = found.any_rain
        out["airfield_annual_index_by_sector"][at] = found.by_sector
        out["yearly_annual_index"][at][rows] = found.annual
        out["yearly_spell_maximum"][at][rows] = found.spell
        out["hours_scaling"][at][rows] = found.account.hours_scaling[rows]
        out["rain_scaling"][at][rows] = found.account.rain_scaling[rows]
        out["counted_rain"][at] = sum(found.rain[rows].tolist())
        out["unassigned_rain"][at] = sum(found.unassigned[rows].tolist())
        out["gap_beside_spell"][at][rows] = found.near_gap
    return tuple(out.values())


def _places(index: xr.Dataset) -> Iterator[tuple[str, xr.Dataset]]:
    """Name and index of each place."""
    dims = list(index["counted_rain"].dims)
    for at in np.ndindex(*(index.sizes[dim] for dim in dims)):
        place = index.isel(dict(zip(dims, at, strict=True)))
        yield ", ".join(_name(place, str(dim), row) for dim, row in zip(dims, at, strict=True)), place


def _name(place: xr.Dataset, dim: str, row: int) -> str:
    if dim not in place.coords:
        return f"{dim} {row}"
    value = place[dim].values[()]
    return (
        value
        if isinstance(value, str)
        else f"{dim} {value:g}"
        if np.issubdtype(type(value), np.number)
        else f"{dim} {value}"
    )


def _doubts_of_place(place: xr.Dataset) -> list[Doubt]:
    counts = place["hours_scaling"].notnull().values
    if not counts.any():
        return [doubt("rain.no_year", least=LEAST_COVERAGE, best=float(place["coverage"].max()))]
    years = place["year"].values
    rain = float(place["counted_rain"])
    dry = [doubt("rain.never_rains")] if rain == 0 and place.attrs["kind"] != TYPICAL_YEAR else []
    return dry + doubts_of_index(
        IndexFigures(
            kind=place.attrs["kind"],
            calendar="",  # the same for all places, told once
            counted=years[counts].tolist(),
            left_out=years_left_out(years, counts, place["record_hours"].values),
            rain=rain,
            unassigned=float(place["unassigned_rain"]),
            near_gap=years[place["gap_beside_spell"].values].tolist(),
            orientation=place["orientation"].values,
            spell=place["airfield_spell_index"].values,
            any_rain=place["airfield_spell_index_any_rain"].values,
            threshold=place.attrs["wet_hour_mm"],
        )
    )
