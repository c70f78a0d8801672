"""``exposure evidence``: what was held against numbers from outside, and what has no such check."""

import argparse
from pathlib import Path

from exposure.cli.output import tell

READS = ()
WRITES = {"out": ("evidence.html", "evidence.md")}


def add_arguments(parser: argparse.ArgumentParser) -> None:
    """Declare what the command takes."""
    parser.add_argument("--out", metavar="FOLDER", default="evidence", help="where the page goes (evidence)")


def run(options: argparse.Namespace) -> None:
    """Write the page and say what it holds."""
    from exposure.paper.evidence.evidence_page import comparisons, gaps, write_evidence

    written = write_evidence(Path(options.out))
    tell(
        f"{len(comparisons())} results beside numbers from outside, {len(gaps())} things without such a check.\n"
        + "\n".join(str(path) for path in written)
    )
