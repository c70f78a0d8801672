"""``exposure inspect``: look at a record before trusting it."""

import argparse
import json
import math
from pathlib import Path
from typing import Any

from exposure.checks import RefusalError
from exposure.cli.output import tell, write_text
from exposure.cli.source_arguments import add_json, add_source_arguments, open_from_arguments
from exposure.climate.opening import open_climate
from exposure.climate.quality.checks import suspicions
from exposure.climate.quality.clock import direction_offset
from exposure.climate.quality.suspicion import Suspicion
from exposure.climate.quality.validity import convective_share, snow_share
from exposure.climate.request import pairs_of
from exposure.climate.summary import WET, RecordSummary, summary_of
from exposure.climate.typical_year import TYPICAL_YEAR

INVENTED = "INVENTED DATA: do not build from it."
READS = ("source", "against", "scale_with")
WRITES = {"json": (), "out": ("coverage.svg", "roses.svg", "monthly-rain.svg")}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare what the command takes."""
    add_source_arguments(parser)
    parser.add_argument(
        "--against", metavar="FILE", help="reference record of the same hours, to compare wind directions"
    )
    parser.add_argument(
        "--against-columns", metavar="TERM=NAME [unit],...", help="columns of the reference record"
    )
    parser.add_argument("--against-where", metavar="COLUMN=TEXT", help="rows of the reference record to keep")
    parser.add_argument(
        "--out", metavar="FOLDER", help="draw coverage.svg, roses.svg and monthly-rain.svg there"
    )
    add_json(parser)


def run(options: argparse.Namespace) -> None:
    """Read the record, tell and draw."""
    climate = open_from_arguments(options)
    reference = None
    if options.against:
        reference = open_climate(
            options.against,
            at=_place(climate.attrs),
            columns=pairs_of(options.against_columns, "--against-columns"),
            where=pairs_of(options.against_where, "--against-where"),
        )
    summary = summary_of(climate)
    doubts = suspicions(climate, against=reference)
    compared = direction_offset(climate, reference) if reference is not None else None
    if options.out:
        _draw(Path(options.out), summary)
    if options.json:
        told = record_as_json(summary, doubts, climate.attrs, compared)
        told |= {"convective_share": convective_share(climate), "snow_share": snow_share(climate)}
        write_text(options.json, json.dumps(_no_nan(told), indent=1, allow_nan=False) + "\n")
    if options.json != "-":
        tell(record_report(summary, doubts, climate.attrs, compared))


def record_report(
    summary: RecordSummary,
    doubts: list[Suspicion],
    attrs: dict[str, Any],
    compared: tuple[float, float, int] | None = None,
) -> str:
    """The record as lines for a reader, grave doubts first."""
    place = ""
    if "latitude" in attrs and "longitude" in attrs:
        place = f"{float(attrs['latitude']):g}, {float(attrs['longitude']):g}"
        if "ground_height" in attrs:
            place += f", {float(attrs['ground_height']):g} m above the sea"
    clock = "local standard time" if summary.kind == TYPICAL_YEAR else "UTC"
    many = len(summary.rain_coverage) > 1
    lines = [INVENTED] if summary.kind == "invented" else []
    lines += [
        f"Record    {summary.source}",
        f"Format    {attrs.get('format', 'not told')}",
        f"Licence   {attrs.get('licence', 'not named')}",
        f"Kind      {summary.kind}",
        *([f"Place     {place}"] if place else []),
        f"Span      {summary.first} to {summary.last} ({clock}), {summary.hours:,} hours",
        f"Known     rain in {summary.rain_known:.1%} of the hours, wind in {summary.wind_known:.1%}",
        f"Rain      {_yearly(summary.rain_year)}; {summary.any_rain_share:.1%} of the hours have some, "
        f"{summary.wet_share:.1%} have {WET:g} mm or more",
        f"Wind      {summary.mean_speed:.1f} m/s in the mean",
        f"Together  rain comes with wind from {summary.rain_direction:.0f}\N{DEGREE SIGN} in the mean, "
        f"gathered {summary.rain_concentration:.2f} (0 evenly from all round, 1 all from there)",
        "",
        "Rain by month, mm (mean, least to most)" if many else "Rain by month, mm",
        *(
            f"  {month:<10}{mean:6.0f}" + (f"   {least:.0f} to {most:.0f}" if many else "")
            if math.isfinite(mean)
            else f"  {month:<10}     ?"
            for month, (mean, least, most) in zip(_MONTHS, summary.monthly_rain, strict=True)
        ),
    ]
    if compared is not None:
        offset, concentration, hours = compared
        lines += [
            "",
            f"Against the reference: direction {offset:.0f}\N{DEGREE SIGN} off, steady to {concentration:.2f} (1: in every hour), "
            f"{hours:,} hours with wind in both."
            if hours
            else "Against the reference: no hour with wind in both.",
        ]
    lines.append("")
    for doubt in doubts:
        lines.append(f"{'Doubt' if doubt.grave else 'Note'} ({doubt.hours:,} h): {doubt.sentence}")
    told = {doubt.sentence for doubt in doubts}
    lines += [f"Flag: {flag}" for flag in attrs.get("flags", []) if flag not in told]
    return "\n".join(lines)


def _yearly(rain_year: float) -> str:
    return f"{rain_year:,.0f} mm a year" if math.isfinite(rain_year) else "no yearly sum (not hourly)"


def record_as_json(
    summary: RecordSummary,
    doubts: list[Suspicion],
    attrs: dict[str, Any],
    compared: tuple[float, float, int] | None,
) -> dict[str, Any]:
    """The same as plain data."""
    told = summary._asdict()
    told["rain_coverage"] = {str(year): row for year, row in summary.rain_coverage.items()}
    told["wind_coverage"] = {str(year): row for year, row in summary.wind_coverage.items()}
    told["monthly_rain"] = [
        {"mean": mean, "least": least, "most": most} for mean, least, most in summary.monthly_rain
    ]
    told["suspicions"] = [
        {"name": doubt.name, "hours": doubt.hours, "grave": doubt.grave, "sentence": doubt.sentence}
        for doubt in doubts
    ]
    for name in ("format", "licence", "latitude", "longitude", "ground_height", "time_zone", "distance"):
        told[name] = attrs.get(name)
    told["flags"] = list(attrs.get("flags", []))
    if compared is not None:
        told["against"] = dict(zip(("offset", "concentration", "hours"), compared, strict=True))
    told["units"] = {
        "rain": "mm",
        "wind_speed": "m/s",
        "direction": "degree the wind comes from",
        "coverage": "share",
    }
    return told


def _draw(folder: Path, summary: RecordSummary) -> None:
    from exposure.draw.record_pictures import coverage_strip, monthly_rain, wind_and_rain_roses

    try:
        folder.mkdir(parents=True, exist_ok=True)
    except OSError as error:
        raise RefusalError(
            f"the folder {folder.name} cannot be made ({error.strerror})",
            "a folder to write to",
            "Choose another.",
        ) from error
    typical = summary.kind == TYPICAL_YEAR
    prefix = f"{INVENTED} " if summary.kind == "invented" else ""
    write_text(
        folder / "coverage.svg",
        coverage_strip(
            summary.rain_coverage,
            summary.wind_coverage,
            typical=typical,
            title=f"{prefix}What is known, month by month",
        ),
    )
    write_text(
        folder / "roses.svg",
        wind_and_rain_roses(
            summary.rose_all,
            summary.rose_wet,
            rain_direction=summary.rain_direction,
            rain_concentration=summary.rain_concentration,
            title=f"{prefix}Where the wind comes from, and where the rain comes from",
        ),
    )
    write_text(
        folder / "monthly-rain.svg",
        monthly_rain(
            summary.monthly_rain, years=len(summary.rain_coverage), title=f"{prefix}Rain by month, mm"
        ),
    )


def _place(attrs: dict[str, Any]) -> tuple[float, float] | None:
    if "latitude" in attrs and "longitude" in attrs:
        return float(attrs["latitude"]), float(attrs["longitude"])
    return None


def _no_nan(value: Any) -> Any:
    """``value`` with None for every number that is none."""
    if isinstance(value, float):
        return value if math.isfinite(value) else None
    if isinstance(value, dict):
        return {key: _no_nan(item) for key, item in value.items()}
    if isinstance(value, list | tuple):
        return [_no_nan(item) for item in value]
    return value


_MONTHS = (
    "January", "February", "March", "April", "May", "June",
    "July", "August", "September", "October", "November", "December",
)  # fmt: skip
