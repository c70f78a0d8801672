"""Named arrays kept on disk by what they were made of, so that finished parts are not done twice."""

import zipfile
import zlib
from collections.abc import Callable, Mapping
from contextlib import suppress
from pathlib import Path

import numpy as np

from exposure.in_place import filled_in_place

Arrays = dict[str, np.ndarray]


def kept_arrays(folder: Path | None, name: str) -> Arrays | None:
    """What :func:`keep_arrays` kept under ``name``; None where there is nothing, or nothing sound."""
    if folder is None:
        return None
    try:
        with np.load(folder / f"{name}.npz", allow_pickle=False) as kept:
            return {key: kept[key] for key in kept.files}
    except (OSError, ValueError, KeyError, EOFError, zipfile.BadZipFile, zlib.error):
        return None


def keep_arrays(folder: Path | None, name: str, arrays: Mapping[str, np.ndarray]) -> None:
    """Keep ``arrays`` under ``name``; a full disk costs time only.

    Examples
    --------
    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as home:
    ...     keep_arrays(Path(home), "one", {"a": np.arange(3)})
    ...     kept_arrays(Path(home), "one")["a"].tolist(), kept_arrays(Path(home), "other")
    ([0, 1, 2], None)
    """
    if folder is None:
        return
    with suppress(OSError):
        folder.mkdir(parents=True, exist_ok=True)
        with filled_in_place(folder / f"{name}.npz", ending=".npz") as part:
            np.savez_compressed(part, **arrays)  # type: ignore[arg-type]  # no array is called as an option


def joined(parts: list[Arrays], *, counted: Mapping[str, Callable[[Arrays], int]]) -> Arrays:
    """Arrays of several parts one after the other; those of ``counted`` point into others and are moved on."""
    moved = []
    before = dict.fromkeys(counted, 0)
    for part in parts:
        moved.append({**part, **{name: part[name] + before[name] for name in counted}})
        before = {name: before[name] + size(part) for name, size in counted.items()}
    return {name: np.concatenate([part[name] for part in moved]) for name in parts[0]}
