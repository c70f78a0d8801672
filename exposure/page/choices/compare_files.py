"""Files of the planner's own for a comparison: a list of sites, a climate grid, ground height, land cover, buildings around.

Derived from the planner's question: places compare by their own weather and ground, or not at all. The files are too
large or too private for an address, which carries their marks; they lie in a folder of this session until it ends.
"""

import hashlib
import shutil
import tempfile
from collections.abc import Sequence
from pathlib import Path

from exposure.checks import RefusalError
from exposure.figures import listed
from exposure.page.choices.address import choices, choose
from exposure.page.choices.session import CompareFile, session
from exposure.page.choices.state import PageState, plain_file_name, short_name
from exposure.page.held import Held
from exposure.page.work.compare_work import COVER, GRID, GROUND, LIST, NEIGHBOURS

TITLES = {
    LIST: "List of sites",
    GRID: "Weather grid",
    GROUND: "Ground height",
    COVER: "Land cover",
    NEIGHBOURS: "Buildings around",
}
ENDINGS = {
    LIST: ("csv", "txt", "tsv", "geojson", "json"),
    GRID: ("nc", "nc4", "zip"),
    GROUND: ("tif", "tiff"),
    COVER: ("tif", "tiff"),
    NEIGHBOURS: ("geojson", "json", "gpkg"),
}
MEGABYTES = {LIST: 1, GRID: 1000, GROUND: 300, COVER: 300, NEIGHBOURS: 100}  # of each file; our choice
KEPT = 8  # files of one reader's session; the oldest go
_FOLDER: Held[tempfile.TemporaryDirectory | None] = Held("compare-folder", None)


def kind_of_mark(mark: str) -> str:
    """Which kind of file a mark of the address names.

    Examples
    --------
    >>> kind_of_mark("grid-0123456789ab")
    'grid'
    """
    return mark.partition("-")[0]


def held_files(state: PageState) -> dict[str, CompareFile]:
    """The files that the choices name and this session holds, by kind."""
    held = session.compare_files
    return {kind_of_mark(mark): held[mark] for mark in state.compare_files if mark in held}


def compare_files(state: PageState) -> dict[str, CompareFile]:
    """The files in force, by kind.

    Raises
    ------
    RefusalError
        When this session does not hold one of them: places would be compared without it, and nobody would see it.
    """
    missing = missing_files(state)
    if missing:
        raise RefusalError(
            f"the address names files that this session does not hold: {listed([TITLES[kind].lower() for kind in missing])}",
            "files opened in this window since it was loaded: an address carries only their marks",
            "Open them again under Change the places, or leave them out.",
        )
    return held_files(state)


def missing_files(state: PageState) -> list[str]:
    """The kinds of file that the choices name and this session does not hold."""
    held = session.compare_files
    return [kind_of_mark(mark) for mark in state.compare_files if mark not in held]


def leave_out_missing() -> None:
    """Take the files out of force that this session does not hold."""
    held = session.compare_files
    choose(compare_files=tuple(mark for mark in choices().compare_files if mark in held))


def keep_files(kind: str, given: Sequence[tuple[str, bytes]]) -> None:
    """Put uploads (name and content) in force as a file of ``kind``; none of them takes it out of force.

    Raises
    ------
    RefusalError
        For an ending of another kind, or a file that is too large.
    """
    others = tuple(mark for mark in choices().compare_files if kind_of_mark(mark) != kind)
    if not given:
        choose(compare_files=others)
        return
    content = hashlib.sha256()
    for _, one in given:
        if len(one) > MEGABYTES[kind] * 2**20:
            raise RefusalError(
                f"a file of {len(one):,} bytes",
                f"at most {MEGABYTES[kind]} MB",
                "Cut it, or use exposure compare in the terminal.",
            )
        content.update(hashlib.sha256(one).digest())
    mark = f"{kind}-{content.hexdigest()[:12]}"
    folder = _folder() / mark
    folder.mkdir(exist_ok=True)
    paths = [_write(folder, kind, number, *one) for number, one in enumerate(given)]
    many = f", {len(given)} files" if len(given) > 1 else ""
    files = dict(session.compare_files)
    files.pop(mark, None)
    files[mark] = CompareFile(f"{short_name(given[0][0])}{many}", str(folder if len(given) > 1 else paths[0]))
    while len(files) > KEPT:
        oldest = next(iter(files))
        files.pop(oldest)
        shutil.rmtree(_folder() / oldest, ignore_errors=True)
    session.compare_files = files
    choose(compare_files=(*others, mark))


def _write(folder: Path, kind: str, number: int, name: str, content: bytes) -> Path:
    ending = Path(name).suffix.lower().removeprefix(".")
    if ending not in ENDINGS[kind]:
        raise RefusalError(
            f"a file ending in {short_name(ending, 20)!r}", ", ".join(ENDINGS[kind]), "Choose another file."
        )
    path = folder / f"{number:04}-{plain_file_name(Path(name).stem, instead=kind)}.{ending}"
    if not path.exists():
        path.write_bytes(content)
    return path


def _folder() -> Path:
    """A folder that goes with the session."""
    folder = _FOLDER.value or tempfile.TemporaryDirectory(prefix="exposure-compare-")
    _FOLDER.put(folder)
    return Path(folder.name)
