"""A town's walls and buildings for other programs: GeoPackage, GeoParquet, CSV and JSON, with units and sources."""

import json
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from importlib.util import find_spec
from pathlib import Path
from typing import TYPE_CHECKING, Any

import numpy as np
import pandas as pd
import shapely

from exposure import __version__
from exposure.assess.table_text import safe_cell
from exposure.checks import RefusalError
from exposure.district import District
from exposure.district.change import Change
from exposure.district.pieces import ENDS
from exposure.district.shares import WEIGHT_HOW, Areas, Shares
from exposure.district.walls import UNITS
from exposure.draw.lettering import clean
from exposure.export.geopackage import layers_in_place
from exposure.export.ranked_files import DECIDE
from exposure.in_place import filled_in_place
from exposure.site.plane import DEGREES
from exposure.site.site_list import LeftOut
from exposure.tables import source_line

if TYPE_CHECKING:
    import geopandas

MEMBERS = "members.csv"
MOST_DOUBTS = 2000  # characters of a building's doubts in a cell


def district_frames(district: District) -> "tuple[geopandas.GeoDataFrame, geopandas.GeoDataFrame]":
    """Walls as lines and buildings as polygons with their worst wall, in degrees (EPSG:4326); units in ``attrs``."""
    import geopandas  # large and optional

    ends = district.walls[list(ENDS)].to_numpy()
    lines = shapely.linestrings(ends.reshape(-1, 2, 2))
    figures = district.walls.drop(columns=[name for name in district.walls if name.endswith("itude")])
    names = district.buildings.set_index("building")["name"]
    figures = figures.assign(name=_clean(names.reindex(figures["building"])))
    walls = geopandas.GeoDataFrame(figures.reset_index(drop=True), geometry=lines, crs=DEGREES)
    buildings = geopandas.GeoDataFrame(_buildings(district), geometry=district.outlines, crs=DEGREES)
    for frame in (walls, buildings):
        frame.attrs = {"units": UNITS, "flags": list(map(str, district.flags)), "caution": DECIDE}
    return walls, buildings


def _buildings(district: District) -> pd.DataFrame:
    doubts = [clean(" ".join(one), most=MOST_DOUBTS) for one in district.doubts]
    return district.buildings.assign(name=_clean(district.buildings["name"]), doubts=doubts)


def _clean(names: Sequence[object] | pd.Series) -> list[str]:
    return [clean(one, most=200) for one in names]


def district_summary(district: District, shares: Shares | None = None) -> dict[str, Any]:
    """What holds for the whole: sources, doubts, units, buildings left out, and the shares by area."""
    classes = district.walls.groupby("class")["length"].agg(["size", "sum"])
    return {
        "made_by": f"driving-rain-exposure {__version__}",
        "footprints": district.source,
        "buildings": len(district.buildings),
        "walls": len(district.walls),
        "walls_by_class": {
            str(name): {"number": int(row["size"]), "length_m": round(float(row["sum"]), 1)}
            for name, row in classes.iterrows()
        },
        "records": [
            {**one, "flags": list(map(str, one["flags"]))} if "flags" in one else one
            for one in district.records
        ],
        "doubts_of_all": list(map(str, district.flags)),
        "class_limits": source_line("exposure_class"),
        "units": UNITS,
        "caution": DECIDE,
        "left_out": [_reason(one) for one in district.left_out],
        **({} if district.members is None else {"members": _clean(district.members.names)}),
        **({} if shares is None else {"shares": _told_shares(shares)}),
    }


def _told_shares(shares: Shares) -> dict[str, Any]:
    table = shares.table.assign(area=_clean(shares.table["area"]))
    weight = (
        {"weight": clean(shares.weight_column, most=200), "how_weighed": WEIGHT_HOW}
        if shares.weight_column
        else {}
    )
    return {
        **weight,
        "doubts": list(map(str, shares.flags)),
        "areas": json.loads(table.to_json(orient="records", double_precision=10)),
    }


def _reason(one: LeftOut) -> dict[str, Any]:
    reason = one.reason
    return {
        "building": one.row,
        "name": clean(one.name, most=200),
        "came": clean(reason.came, most=500),
        "expected": clean(reason.expected, most=500),
        "do": clean(reason.cure, most=500),
    }


def write_district(folder: str | Path, district: District, shares: Shares | None = None) -> list[Path]:
    """All files of a town into ``folder``, each moved into place when whole; GeoParquet where pyarrow is installed.

    Raises
    ------
    RefusalError
        When the folder cannot be written, or something else stands where the GeoPackage goes.
    """
    target = Path(folder)
    walls, buildings = district_frames(district)
    left_out = pd.DataFrame(
        [_reason(one) for one in district.left_out], columns=["building", "name", "came", "expected", "do"]
    )
    summary = (
        json.dumps(district_summary(district, shares), indent=1, allow_nan=False, ensure_ascii=False) + "\n"
    )
    makers: dict[str, Callable[[Path], Any]] = {
        "walls.csv": lambda part: _csv(district.walls, part),
        "buildings.csv": lambda part: _csv(_buildings(district), part),
        "left_out.csv": lambda part: _csv(left_out, part),
        "district.json": lambda part: part.write_text(summary, "utf-8", errors="replace"),
    }
    if district.members is not None:
        members = district.members.table(district.walls)
        makers[MEMBERS] = lambda part: _csv(members, part)
    if shares is not None:
        makers["shares.csv"] = lambda part: _csv(shares.table, part)
    if find_spec("pyarrow") is not None:
        makers |= {
            "walls.parquet": lambda part: walls.to_parquet(part),
            "buildings.parquet": lambda part: buildings.to_parquet(part),
        }
    with _told_of(target):
        target.mkdir(parents=True, exist_ok=True)
        for name, make in makers.items():
            with filled_in_place(target / name, ending=Path(name).suffix) as part:
                make(part)
        with layers_in_place(target / "district.gpkg") as part:
            walls.to_file(part, layer="walls", driver="GPKG")
            buildings.to_file(part, layer="buildings", driver="GPKG")
            if shares is not None and shares.areas is not None:
                _areas_frame(shares.table, shares.areas).to_file(part, layer="areas", driver="GPKG")
    return [target / name for name in (*makers, "district.gpkg")]


def write_change(
    folder: str | Path, change: Change, by_area: pd.DataFrame, areas: Areas | None = None
) -> list[Path]:
    """Changed walls and areas as tables, and as layers ``change`` and ``areas``.

    Parameters
    ----------
    by_area
        As :func:`exposure.district.change.change_by_area` of ``areas``.

    Raises
    ------
    RefusalError
        When the folder cannot be written, or something else stands where the GeoPackage goes.
    """
    import geopandas

    target = Path(folder)
    lines = shapely.linestrings(change.walls[list(ENDS)].to_numpy().reshape(-1, 2, 2))
    figures = change.walls.drop(columns=list(ENDS))
    layer = geopandas.GeoDataFrame(figures, geometry=lines, crs=DEGREES)
    with _told_of(target):
        for name, table in (("change.csv", figures), ("change_by_area.csv", by_area)):
            with filled_in_place(target / name) as part:
                _csv(table, part)
        with layers_in_place(target / "change.gpkg") as part:
            layer.to_file(part, layer="change", driver="GPKG")
            if areas is not None:
                _areas_frame(by_area, areas).to_file(part, layer="areas", driver="GPKG")
    return [target / name for name in ("change.csv", "change_by_area.csv", "change.gpkg")]


@contextmanager
def _told_of(target: Path) -> Iterator[None]:
    """Turn what keeps a folder from being written into a refusal."""
    from pyogrio.errors import DataSourceError

    try:
        yield
    except (OSError, DataSourceError) as error:
        raise RefusalError(
            f"{target} cannot be written ({getattr(error, 'strerror', None) or error})"[:300],
            "a folder you may write to",
            "Choose another.",
            parameter="out",
        ) from error


def _areas_frame(table: pd.DataFrame, areas: Areas) -> "geopandas.GeoDataFrame":
    """The areas with their rows of ``table``, whose first is the whole, as polygons."""
    import geopandas

    rows = table.iloc[1:].reset_index(drop=True)
    rows = rows.assign(area=_clean(rows["area"]))
    return geopandas.GeoDataFrame(rows, geometry=areas.shapes, crs=DEGREES)


def _csv(frame: pd.DataFrame, part: Path) -> None:
    """A table whose cells start no formula; missing is empty."""
    told = frame.copy()
    for name in told.columns[[not np.issubdtype(kind, np.number) for kind in map(_kind, told.dtypes)]]:
        told[name] = [safe_cell(one) for one in told[name]]
    told.to_csv(part, index=False, float_format="%.10g", lineterminator="\n")


def _kind(kind: Any) -> Any:
    return kind if isinstance(kind, np.dtype) else np.dtype(object)
