"""``exposure sources``: open climate sources, and the formats that can be read."""

import argparse
import json
from dataclasses import asdict

from exposure.cli.output import tell, write_text
from exposure.climate.formats.register import FORMATS
from exposure.climate.services.catalogue import OpenSource, find_source, open_sources

SHOWN = (
    "what", "period", "resolution", "variables", "units", "accumulation", "licence", "attribution", "how", "bias",
    "suits", "format",
)  # fmt: skip
READS = ()
WRITES: dict[str, tuple[str, ...]] = {"json": ()}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare what the command takes."""
    parser.add_argument("name", nargs="?", metavar="NAME", help="tell all about one source")
    parser.add_argument("--json", metavar="FILE|-", help="write the catalogue as JSON")


def run(options: argparse.Namespace) -> None:
    """List the catalogue or tell about one source."""
    chosen = [find_source(options.name)] if options.name else list(open_sources())
    if options.json:
        told = {
            "sources": [asdict(source) for source in chosen],
            "formats": [entry._asdict() for entry in FORMATS],
        }
        write_text(options.json, json.dumps(told, indent=1) + "\n")
        if options.json == "-":
            return
    if options.name:
        tell(_all_about(chosen[0]))
        return
    for source in chosen:
        tell(f"{source.name:<14} {source.title}; {source.period}; {source.resolution}")
        tell(f"{'':<14} suits: {source.suits}")
    tell("\nFormats that can be read (--format NAME overrides what the content says):")
    for entry in FORMATS:
        tell(f"{entry.name:<14} {entry.title} - tried on {entry.tried_on}")
    tell("\nexposure sources NAME tells all about one. Respect each licence and its attribution.")


def _all_about(source: OpenSource) -> str:
    lines = [source.title, *(f"  {name:<13} {getattr(source, name)}" for name in SHOWN)]
    if source.address or source.dataset:
        lines.append(
            f"  {'fetch':<13} exposure fetch {source.name} --at LAT,LON --years {max(source.first_year, 1991)}-2020"
        )
    if source.address:
        lines.append(f"  {'address':<13} {source.address}")
    if not source.verified:
        lines.append("  Not checked against the live service: it could not be reached when this was written.")
    return "\n".join(lines)
