"""``exposure record``: the records phones bring back from the site, checked, merged and printed as a handover sheet."""

import argparse
from pathlib import Path
from typing import TYPE_CHECKING

from exposure.checks import RefusalError
from exposure.cli.output import make_folder, tell

if TYPE_CHECKING:
    from exposure.assess.record_merge import MergedRecord

READS = ("files", "house", "folder")
WRITES = {"out": ("handover.html", "handover.pdf")}
REGISTER_FILE = "register.json"


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare what the command takes."""
    parser.add_argument("files", metavar="FILE", nargs="+", help="what the phones exported, one file a phone")
    of = parser.add_mutually_exclusive_group(required=True)
    of.add_argument(
        "--folder",
        metavar="FOLDER",
        help="the house's folder from exposure sheets: its register says what is missing",
    )
    of.add_argument("--house", metavar="HOUSE", help="the house's file, where its folder is not at hand")
    parser.add_argument("--building", metavar="NAME", help="which building, where HOUSE holds several")
    parser.add_argument("--out", metavar="FOLDER", required=True, help="where the handover sheet goes")


def run(options: argparse.Namespace) -> None:
    """Read, merge, write and tell."""
    from exposure.assess.record_merge import merge_records
    from exposure.assess.site_record import read_record, read_register
    from exposure.paper.handover import write_handover

    register = None
    if options.folder is not None:
        path = Path(options.folder) / REGISTER_FILE
        if not path.is_file():
            raise RefusalError(
                f"{options.folder} holds no {REGISTER_FILE}",
                "a folder that exposure sheets wrote",
                "Write it anew, or name the house's file instead.",
            )
        register = read_register(path)
        key = register["key"]
    else:
        key = _key_of(options.house, options.building)
    merged = merge_records([read_record(one, key=key) for one in options.files], register=register)
    written = write_handover(merged, make_folder(options.out))
    tell(record_report(merged))
    tell(f"\nWritten: {', '.join(str(path) for path in written)}.")


def _key_of(house: str, building: str | None) -> str:
    from exposure.assess.site_record import house_key
    from exposure.wall.building_file import read_building

    file = read_building(house, name=building)
    plane = file.place.plane
    return house_key(
        house=file.building.name, place=file.place.name, latitude=plane.latitude, longitude=plane.longitude
    )


def record_report(merged: "MergedRecord") -> str:
    """What the record holds and lacks, as lines for a reader."""
    photos = sum(len(step.photos) for one in merged.openings for step in one.steps)
    lines = [
        f"{merged.house}: {len(merged.openings)} openings, {photos} photos, from {len(merged.records)} "
        f"phone{'' if len(merged.records) == 1 else 's'}.",
        *merged.notes,
    ]
    for one in merged.openings:
        if one.missing:
            lines.append(
                f"{one.mark}: {'; '.join(one.missing) if one.begun or not one.steps else 'nothing recorded'}."
            )
    if all(not one.missing for one in merged.openings):
        lines.append("Nothing is missing.")
    lines.append("Caution: this is what was recorded on site; it does not show that it is right.")
    return "\n".join(lines)
