"""Files of the planner's own for a comparison: a climate grid, ground height, land cover, buildings around.

Derived from the planner's question: places compare by their own weather and ground, or not at all. The files are too
large for an address; they lie in a folder of this session until it ends or they are left out.
"""

import hashlib
import tempfile
from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import streamlit as st

from exposure.checks import RefusalError
from exposure.page.choices.state import short_name

GRID, GROUND, COVER, NEIGHBOURS = "grid", "ground", "cover", "neighbours"
TITLES = {
    GRID: "Weather grid",
    GROUND: "Ground height",
    COVER: "Land cover",
    NEIGHBOURS: "Buildings around",
}
ENDINGS = {
    GRID: ("nc", "nc4", "zip"),
    GROUND: ("tif", "tiff"),
    COVER: ("tif", "tiff"),
    NEIGHBOURS: ("geojson", "json", "gpkg"),
}
MEGABYTES = {GRID: 1000, GROUND: 300, COVER: 300, NEIGHBOURS: 100}  # of each file; our choice
SESSION, FOLDER = "compare-files", "compare-folder"


@dataclass(frozen=True)
class CompareFile:
    """What was opened of a kind: called so, marked by content, lying there (a folder, where it is several files)."""

    name: str
    mark: str
    path: str


def compare_files() -> dict[str, CompareFile]:
    """The files in force, by kind."""
    return st.session_state.get(SESSION, {})


def keep_files(kind: str, given: Sequence[tuple[str, bytes]]) -> None:
    """Put uploads (name and content) in force as a file of ``kind``; none of them takes it out of force.

    Raises
    ------
    RefusalError
        For an ending of another kind.
    """
    files = dict(compare_files())
    files.pop(kind, None)
    if given:
        folder = _folder() / kind
        folder.mkdir(exist_ok=True)
        mark = hashlib.sha256()
        for _, content in given:
            mark.update(hashlib.sha256(content).digest())
        own = folder / mark.hexdigest()[:16]
        own.mkdir(exist_ok=True)
        paths = [_write(own, kind, number, *one) for number, one in enumerate(given)]
        many = f", {len(given)} files" if len(given) > 1 else ""
        path = own if len(given) > 1 else paths[0]
        files[kind] = CompareFile(f"{short_name(given[0][0])}{many}", mark.hexdigest(), str(path))
    st.session_state[SESSION] = files


def _write(folder: Path, kind: str, number: int, name: str, content: bytes) -> Path:
    ending = Path(name).suffix.lower().removeprefix(".")
    if ending not in ENDINGS[kind]:
        raise RefusalError(
            f"a file ending in {short_name(ending, 20)!r}", ", ".join(ENDINGS[kind]), "Choose another file."
        )
    path = folder / f"{number:04}-{_plain(name)}.{ending}"
    if not path.exists():
        path.write_bytes(content)
    return path


def _plain(name: str) -> str:
    stem = "".join(letter if letter.isalnum() else "-" for letter in short_name(Path(name).stem, 60))
    return stem or "file"


def _folder() -> Path:
    """A folder that goes with the session."""
    if FOLDER not in st.session_state:
        st.session_state[FOLDER] = tempfile.TemporaryDirectory(prefix="exposure-compare-")
    return Path(st.session_state[FOLDER].name)
