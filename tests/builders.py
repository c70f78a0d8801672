"""What many tests build: a climate record from plain arrays, an elevation, a place of a ranking."""

from dataclasses import fields
from typing import Any

import numpy as np
import xarray as xr

from exposure.assess.reference_wall import SiteOnWall, reference_wall
from exposure.site.survey import PlaceInputs, survey_site
from exposure.wall import Site, Wall, WallExposure
from exposure.wall.classes import exposure_class
from exposure.wall.index import Factor

UNITS = {
    "rain": "mm",
    "wind_speed": "m s-1",
    "wind_from_direction": "degree",
    "air_temperature": "degC",
    "relative_humidity": "%",
}


def climate_of(time: Any, *, rain: Any, wind_speed: Any, wind_from_direction: Any, **more: Any) -> xr.Dataset:
    """A climate Dataset along ``time``; a single number stands for every hour, and what is no term is an attribute."""
    values = {"rain": rain, "wind_speed": wind_speed, "wind_from_direction": wind_from_direction}
    values |= {term: more.pop(term) for term in UNITS if term in more}
    data = {
        term: ("time", np.broadcast_to(value, len(time)).astype(float), {"units": UNITS[term]})
        for term, value in values.items()
    }
    return xr.Dataset(data, {"time": time}, more)


def elevation_of(name: str = "south-west", spell: float = 50.0, **more: Any) -> WallExposure:
    """An elevation with a worst spell of ``spell`` and four times that a year, its class as the limits have it.

    ``more`` are fields of the elevation or of its wall. The factors are none, so the airfield's figures are the wall's.
    """
    parts = {field.name for field in fields(Wall)}
    told = {"orientation": 225.0, "length": 9.0, "height": 6.0}
    wall = Wall(name, **told | {key: more.pop(key) for key in parts & more.keys()})
    found = more.get("exposure_class") or exposure_class(spell)
    figures: dict[str, Any] = {
        "airfield_annual_index": 4 * spell, "airfield_spell_index": spell, "airfield_spell_index_percentile": spell,
        "airfield_spell_index_gumbel": spell, "factors": (), "wall_annual_index": 4 * spell, "wall_spell_index": spell,
        "wall_spell_index_in_the_open": spell, "exposure_class": found, "class_in_the_open": found,
        "class_any_rain": found, "class_for_details": found, "indicative": False,
    }  # fmt: skip
    return WallExposure(wall, **figures | more)


def factors_of(*values: float, reason: str = "") -> tuple[Factor, ...]:
    """The four factors of an elevation in their order, with one reason."""
    names = ("terrain_roughness_coefficient", "topography_coefficient", "obstruction_factor", "wall_factor")
    return tuple(
        Factor(name, value, reason, "made up", "ours") for name, value in zip(names, values, strict=False)
    )


def place_of(name: str, spell: float, band: tuple[float, float] | None = None, **more: Any) -> SiteOnWall:
    """A place whose reference wall has this worst spell, of a record of one year, which tells nothing of ranks."""
    nothing = np.zeros((1, 12))
    return SiteOnWall(
        name=name,
        site=Site(name, 48.0, -29.0),
        wall=reference_wall("two-storey gable"),
        worst=elevation_of("facing 225", spell, spell_band=band, factors=factors_of(1, 1, 1, 1), **more),
        years=(2001,),
        yearly_spell=nothing,
        product=nothing[0],
        drawn=nothing[0],
    )


def surveyed_place(*, height: float = 6.0, **told: Any) -> Site:
    """The survey of a place from what is told of it and what it is surveyed with, all by name."""
    of_place = {field.name for field in fields(PlaceInputs)} & told.keys()
    place = PlaceInputs(**{name: told.pop(name) for name in of_place})
    return survey_site(place, height=height, **told)


def done_here(work: Any) -> Any:
    """In place of the process beside the page: what ``work`` does in it is done in this one."""
    import json

    from exposure.page.work.own_process import REQUEST

    def do(module: str, folder: Any, request: Any, tell: Any, *, result: str) -> None:
        assert module == work.__name__
        (folder / REQUEST).write_text(json.dumps(dict(request)))
        work._do(json.loads((folder / REQUEST).read_text()), folder, tell)
        assert (folder / result).is_file()

    return do
