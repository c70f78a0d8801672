"""``exposure example``: files to start one's own from, with what may stand in them said beside each line."""

import argparse
from importlib.resources import files
from pathlib import Path

from exposure.checks import RefusalError
from exposure.cli.output import make_folder, tell, write_text

EXAMPLES = {
    "house.toml": "a house: footprint, height, roof, eaves, ground, wall type",
    "openings.csv": "its windows and doors, sizes in millimetres",
    "prices.csv": "invented prices of membrane, tape, trays and battens, to replace with your own",
    "office_rule.toml": "a rule of your own office, which can ask for more",
    "houses.geojson": "several houses as footprints, as a map or a model gives them",
}
READS = ()
WRITES = {"out": tuple(EXAMPLES)}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare what the command takes."""
    parser.add_argument("--out", metavar="FOLDER", required=True, help="where the files go")


def run(options: argparse.Namespace) -> None:
    """Write the files, never over others of the same name."""
    folder = make_folder(options.out)
    there = [name for name in EXAMPLES if (folder / name).exists()]
    if there:
        raise RefusalError(
            f"{folder} holds {', '.join(there)} already",
            "a folder without files of these names",
            "Name another folder: what you wrote is not replaced.",
        )
    for name in EXAMPLES:
        write_text(folder / name, example_text(name))
    tell("\n".join(f"{Path(name).name:<18} {what}" for name, what in EXAMPLES.items()))
    tell(
        f"\nWritten to {folder}. All of it is invented: change it to your own house, then run\n"
        f"exposure sheets {folder / 'house.toml'} --openings {folder / 'openings.csv'} --climate SOURCE --out FOLDER"
    )


def example_text(name: str) -> str:
    """Text of one of the example files.

    Examples
    --------
    >>> example_text("openings.csv").splitlines()[0]
    'elevation,width,height,count,door'
    """
    return files("exposure.invented.example").joinpath(name).read_text("utf-8")
