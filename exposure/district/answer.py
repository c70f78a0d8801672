"""The answer for a town: every wall's figures under each weather put together with the doubts of each building."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from typing import Any

import numpy as np
import pandas as pd
import shapely
import xarray as xr

from exposure.assess.building import sea_doubt
from exposure.assess.doubts import place_sentences
from exposure.district.facings import Facings
from exposure.district.kept_arrays import Arrays
from exposure.district.members import Members, walls_of_members
from exposure.district.town import Town
from exposure.district.walls import wall_figures
from exposure.doubts import doubt, flags_of
from exposure.site.plane import to_degrees
from exposure.site.site_list import LeftOut
from exposure.wall import Site


@dataclass(frozen=True, eq=False)
class District:
    """Every wall of a town.

    Parameters
    ----------
    walls
        One row a wall, in the order of the buildings; units in :data:`exposure.district.walls.UNITS`.
    buildings
        One row a building, with its worst wall; ``weight``, where ``weight_column`` is told: NaN where none is usable.
    outlines
        Of the buildings, in degrees of longitude and latitude.
    doubts
        Of each building, those of the town as a whole left out.
    left_out
        Buildings without an answer, with the reason; ``row`` counts from 1.
    flags
        Doubts that hold for every building, and notes on the file.
    records
        Source, licence, kind, years and wet-hour threshold of each weather record in use.
    source
        File of the footprints.
    weight_column
        Property that holds the weight of each building; empty for none.
    members
        Figures under each member, where the weather is an ensemble; ``walls`` then hold
        :func:`exposure.district.members.walls_of_members`.
    """

    walls: pd.DataFrame
    buildings: pd.DataFrame
    outlines: np.ndarray
    doubts: tuple[tuple[str, ...], ...]
    left_out: tuple[LeftOut, ...]
    flags: tuple[str, ...]
    records: tuple[dict[str, Any], ...] = field(repr=False)
    source: str = ""
    weight_column: str = ""
    members: Members | None = field(default=None, repr=False)


def houses_of(tile: Arrays) -> int:
    """How many buildings a tile holds."""
    return int(tile["house_row"].size)


def put_together(
    town: Town,
    tile: Arrays,
    weathers: Mapping[str, list[Facings]],
    cell_of_house: np.ndarray,
    left_out: list[LeftOut],
) -> District:
    """The district; ``weathers`` are of each member by its name, or of the one record or grid under no name."""
    told = [wall_figures(tile, cells, cell_of_house) for cells in weathers.values()]
    walls, members = told[0][0], None
    if len(told) > 1:
        walls, members = walls_of_members([frame for frame, _ in told], tuple(weathers))
    doubts = [
        list(dict.fromkeys(flag for one in each for flag in one))
        for each in zip(
            *(
                _doubts(tile, cells, cell_of_house, sector)
                for cells, (_, sector) in zip(weathers.values(), told, strict=True)
            ),
            strict=True,
        )
    ]
    common = [flag for flag in doubts[0] if all(flag in other for other in map(set, doubts))]
    own = tuple(tuple(flag for flag in one if flag not in set(common)) for one in doubts)
    notes = [*town.notes, *([] if members is None else [doubt("district.members", count=len(weathers))])]
    shapes = town.shapes[tile["house_row"]]
    outlines = shapely.transform(
        shapes, lambda xy: np.column_stack(to_degrees(xy[:, 0], xy[:, 1], crs=town.crs))
    )
    return District(
        walls=walls,
        buildings=_buildings(tile, walls),
        outlines=outlines,
        doubts=own,
        left_out=tuple(sorted(left_out, key=lambda one: one.row)),
        flags=tuple(dict.fromkeys([*notes, *common])),
        records=tuple(
            {**one.attrs, **({"member": name} if name else {})}
            for name, cells in weathers.items()
            for one in cells
        ),
        source=town.source,
        members=members,
    )


def _buildings(tile: Arrays, walls: pd.DataFrame) -> pd.DataFrame:
    """One row a building, its worst wall's figures beside it."""
    house = tile["wall_house"]
    order = np.lexsort((np.arange(house.size), -walls["wall_spell_index"].to_numpy(), house))
    first = np.searchsorted(house[order], np.arange(houses_of(tile)))
    worst = walls.iloc[order[first]].reset_index(drop=True)
    frame = pd.DataFrame(
        {
            "building": tile["house_row"] + 1,
            "name": tile["house_name"],
            "latitude": tile["house_middle"][:, 1],
            "longitude": tile["house_middle"][:, 0],
            "storeys": tile["house_storeys"],
            "ground_height": tile["house_ground"],
            "walls": np.bincount(house, minlength=houses_of(tile)),
            "length": np.bincount(house, walls["length"], minlength=houses_of(tile)),
        }
    )
    shown = worst.drop(columns=["building", "length", *(name for name in worst if name.endswith("itude"))])
    return frame.assign(**{f"worst_{name}" if name in ("facing", "height", "area", "shape") else
                           ("worst" if name == "wall" else name): shown[name] for name in shown})  # fmt: skip


def _doubts(
    tile: Arrays, cells: list[Facings], cell_of_house: np.ndarray, sector: np.ndarray
) -> list[list[str]]:
    """Everything in doubt about each building, its weather among it."""
    house = tile["wall_house"]
    sea = (tile["house_terrain"][house, sector] == "I") & ~tile["house_guessed"][house, sector]
    over_sea = np.bincount(house, sea, minlength=houses_of(tile)) > 0
    records = [xr.Dataset(attrs=one.record) for one in cells]
    found = []
    for k, (longitude, latitude) in enumerate(tile["house_middle"].tolist()):
        cell = int(cell_of_house[k])
        height = float(tile["house_ground"][k])
        site = Site(
            name="",
            latitude=latitude,
            longitude=longitude,
            ground_height=height if np.isfinite(height) else None,
        )
        told = [
            *cells[cell].attrs["flags"],
            *flags_of({"flags": str(tile["house_doubts"][k])}),
            *place_sentences(records[cell], site),
            *sea_doubt(cells[cell].record, over_sea=bool(over_sea[k])),
        ]
        found.append(list(dict.fromkeys(told)))
    return found
