"""The folder a result goes into: none of what is read, nobody else's, cleared of what a killed run left."""

import os
import shutil
from pathlib import Path

import zarr

from exposure.checks import RefusalError
from exposure.region.chunk_reading import file_of
from exposure.region.grid import Grid

PROGRAM = "driving-rain-exposure"


def refuse_own_input(grid: Grid, target: Path, *, netcdf: bool) -> None:
    """Stop before the result would take the place of the grid it is made of, or of a store that is none of ours.

    Raises
    ------
    RefusalError
        Says which.
    """
    store, named = (target / "index.zarr").resolve(), (target / "index.nc").resolve()
    inputs = {
        path.resolve()
        for part in grid.parts
        for path in (part.path, *(file_of(part.dataset[name]) for name in grid.names.needed))
        if path is not None
    }
    beside = netcdf and any(path.is_file() and path.parent == target.resolve() for path in inputs)
    inside = any(
        path == store or path in target.resolve().parents or path == target.resolve() for path in inputs
    )
    if named in inputs or beside or inside:
        raise RefusalError(
            f"the result would be written among the files it is made of ({target})",
            "a folder of its own",
            "Choose another folder.",
            parameter="out",
        )
    if store.exists() and not _is_ours(store):
        raise RefusalError(
            f"{store.name} in {target} is not a result of this program",
            "a folder of its own",
            "Choose another folder, or move that file away.",
            parameter="out",
        )


def _is_ours(store: Path) -> bool:
    try:
        return str(zarr.open_group(str(store), mode="r").attrs.get("program", "")).startswith(PROGRAM)
    except Exception:  # a file, a torn store, another format: whatever it is, it is not ours
        return False


def clear(folder: Path, *patterns: str) -> None:
    """Remove what a run that was killed left under its own temporary names."""
    for left in [path for pattern in patterns for path in folder.glob(pattern)]:
        if left.is_dir():
            shutil.rmtree(left, ignore_errors=True)
        else:
            left.unlink(missing_ok=True)


def swap(part: Path, final: Path) -> None:
    """Put ``part`` in the place of ``final``."""
    old = final.with_name(f".{final.name}.{os.getpid()}.old")
    if final.exists():
        final.rename(old)
    part.rename(final)
    shutil.rmtree(old, ignore_errors=True)
