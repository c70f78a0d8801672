"""``exposure site``: the airfield index of one place, for walls facing each way."""

import argparse
import json
import math
from typing import TYPE_CHECKING

from exposure.checks import RefusalError, check_between
from exposure.cli.output import far_words, tell, write_text
from exposure.cli.source_arguments import add_json, add_source_arguments, add_wet_hour, open_from_arguments
from exposure.doubts import flags_of

if TYPE_CHECKING:  # read only when the command runs, so that its words of help come at once
    import xarray as xr

MOST_COUNTED = 36  # walls round the compass; one each 10 degrees, as winds are reported
MOST_ORIENTATIONS = 720  # in a list
READS = ("source", "scale_with")
WRITES: dict[str, tuple[str, ...]] = {"json": ()}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare what the command takes."""
    add_source_arguments(parser)
    parser.add_argument(
        "--orientations",
        default="12",
        metavar="N|LIST",
        help="how many walls round the compass, up to 36 (12, the default, means 0, 30, ... 330); or the ways walls "
        "face, in degrees, such as 45,135.5,225 (one alone with a comma: 90,)",
    )
    add_wet_hour(parser)
    add_json(parser)


def run(options: argparse.Namespace) -> None:
    """Compute and tell."""
    from exposure.rain.index import airfield_index

    facing = read_orientations(options.orientations)
    if options.wet_hour is not None:
        check_between(options.wet_hour, "the wet-hour threshold", 0, 10, "mm")
    climate = open_from_arguments(options)
    index = airfield_index(climate, orientation=facing, wet_hour=options.wet_hour)
    if options.json:
        write_text(options.json, json.dumps(index_summary(index), indent=1, allow_nan=False) + "\n")
    if options.json != "-":
        tell(index_report(index, away=climate.attrs.get("distance")))


def read_orientations(text: str) -> list[float]:
    """Directions from a number of walls or a list of angles.

    A number alone is how many walls; above :data:`MOST_COUNTED` it may as well be the way one wall faces, and is
    refused.

    Examples
    --------
    >>> read_orientations("4"), read_orientations("45,225.5"), read_orientations("90,"), read_orientations("0,360")
    ([0.0, 90.0, 180.0, 270.0], [45.0, 225.5], [90.0], [0.0])
    """
    from exposure.rain.orientation import compass_orientations

    parts = [part for part in text.replace(" ", "").split(",") if part]
    if len(parts) == 1 and parts[0].isdecimal() and "," not in text:
        alone = parts[0][:20]
        if int(alone) > MOST_COUNTED:
            raise RefusalError(
                f"orientations are {alone}, which may be a number of walls or the way one wall faces",
                f"a number of walls up to {MOST_COUNTED}, or angles with a comma",
                f"Write {alone}, (with the comma) for the wall that faces that way, or list the angles.",
            )
        number = check_between(alone, "the number of orientations", 1, MOST_COUNTED, "")
        return [float(angle) for angle in compass_orientations(int(number))]
    if not parts or len(parts) > MOST_ORIENTATIONS:
        raise RefusalError(
            f"orientations are {text[:80]!r}",
            "a number such as 12, or angles such as 45,225",
            "Correct --orientations.",
        )
    angles = [check_between(part, f"orientation {part[:20]!r}", -360, 720, "degrees") % 360 for part in parts]
    return list(dict.fromkeys(angles))  # 0 and 360 are one wall


def index_summary(index: "xr.Dataset") -> dict:
    """The index as plain numbers for JSON; missing is None."""
    years = [int(year) for year in index["year"].values]
    largest = index["yearly_spell_maximum"].values
    return {
        "orientation": _numbers(index["orientation"]),
        "airfield_annual_index": _numbers(index["airfield_annual_index"]),
        "airfield_spell_index": _numbers(index["airfield_spell_index"]),
        "airfield_spell_index_percentile": _numbers(index["airfield_spell_index_percentile"]),
        "airfield_spell_index_gumbel": _numbers(index["airfield_spell_index_gumbel"]),
        "airfield_spell_index_any_rain": _numbers(index["airfield_spell_index_any_rain"]),
        "yearly_spell_maximum": {str(year): _numbers(row) for year, row in zip(years, largest, strict=True)},
        "years": years,
        "coverage": {
            str(int(year)): float(share)
            for year, share in zip(index["record_year"].values, index["coverage"].values, strict=True)
        },
        "wet_hour_mm": index.attrs["wet_hour_mm"],
        "unassigned_rain_mm": index.attrs["unassigned_rain_mm"],
        "scaling": {
            str(year): {"hours": float(hours), "rain": float(rain)}
            for year, hours, rain in zip(
                years, index["hours_scaling"].values, index["rain_scaling"].values, strict=True
            )
        },
        "worst_orientation_annual": _worst(index, "airfield_annual_index"),
        "worst_orientation_spell": _worst(index, "airfield_spell_index"),
        "kind": index.attrs["kind"],
        "flags": flags_of(index.attrs),
        "source": index.attrs["source"],
        "licence": index.attrs["licence"],
        "units": {
            "annual": "L/m2 per year",
            "spell": "L/m2",
            "orientation": "degrees from north, the way a wall faces",
        },
    }


def index_report(index: "xr.Dataset", *, away: float | None = None) -> str:
    """The index as lines for a reader, the worst-facing orientation first.

    Parameters
    ----------
    away
        How far the weather is from the point asked for; told first where it is far. [km]
    """
    from exposure.clock import TYPICAL_YEAR
    from exposure.rain.extremes import spell_label
    from exposure.wall.building import compass_name

    worst = _worst(index, "airfield_spell_index")
    mine = index.sel(orientation=worst)
    years = index.sizes["year"]
    first, last = int(index["year"][0]), int(index["year"][-1])
    if index.attrs["kind"] == TYPICAL_YEAR:
        record_span = "one stitched year"
    else:
        record_span = (
            f"{years} years that count ({first} to {last})" if years > 1 else f"1 year that counts ({first})"
        )
    lines = [
        f"Worst-facing: {worst:g}\N{DEGREE SIGN} ({compass_name(worst)}): "
        f"{_litres(mine['airfield_spell_index'])} L/m2 {spell_label(years, kind=index.attrs['kind'])}, in a year {_litres(mine['airfield_annual_index'])} L/m2.",
        *far_words(away),
        "Open airfield, 10 m up: not yet a wall. Ground, hills, neighbours and wall shape change it.",
        "",
        f"Record   {index.attrs['source']}",
        f"Kind     {index.attrs['kind']}, {record_span}, hours from {index.attrs['wet_hour_mm']:g} mm count",
        f"Licence  {index.attrs['licence']}",
        "",
        "facing               a year   worst spell   67 %   Gumbel   any rain",
        "                      L/m2          L/m2   L/m2     L/m2       L/m2",
    ]
    for angle in index["orientation"].values:
        row = index.sel(orientation=angle)
        lines.append(
            f"{angle:6.4g} {compass_name(angle):<12} {_litres(row['airfield_annual_index']):>7} "
            f"{_litres(row['airfield_spell_index']):>13} {_litres(row['airfield_spell_index_percentile']):>6} "
            f"{_litres(row['airfield_spell_index_gumbel']):>8} "
            f"{_litres(row['airfield_spell_index_any_rain']):>10}"
            f"{'   worst' if angle == worst else ''}"
        )
    lines += [
        "",
        "The worst spell is the larger of two estimates: the 67 % percentile of the yearly largest spells, and a curve",
        "for yearly largest values (Gumbel) laid through them and read at three years. Any rain: counting every trace.",
    ]
    lines += ["", *(f"Doubt: {flag}" for flag in flags_of(index.attrs))]
    lines.append(
        "Caution: local codes and licensed practice decide; these figures inform, they do not prove."
    )
    return "\n".join(lines)


def _worst(index: "xr.Dataset", quantity: str) -> float:
    return float(index["orientation"].values[int(index[quantity].values.argmax())])


def _numbers(values: "xr.DataArray") -> list[float | None]:
    return [float(value) if math.isfinite(value) else None for value in values]


def _litres(value: "xr.DataArray") -> str:
    number = float(value)
    if not math.isfinite(number):
        return "none"
    if 0 < number < 1:
        return "under 1"
    return f"{number:,.0f}" if number < 1000 else f"{round(number, -1):,.0f}"
