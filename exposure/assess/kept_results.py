"""Results kept on disk by the content they were made of, so that the same work is not done twice."""

import hashlib
import json
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

from exposure import __version__
from exposure.in_place import filled_in_place

RECIPE = 3  # goes up when what is kept would come out otherwise
MOST_KEPT = 6000  # files; the oldest go
HASHED_WHOLE = 64_000_000  # bytes; a larger file is known by its size and time of change


def kept_or_made(
    folder: str | None, key: tuple[object, ...], make: Callable[[], dict[str, Any]]
) -> dict[str, Any]:
    """What was made before for ``key``, else made now and kept.

    Parameters
    ----------
    folder
        Where it is kept; None keeps nothing.
    key
        All that the result depends on.
    make
        Makes it, of what JSON knows. What it raises passes through, and nothing is kept.

    Examples
    --------
    >>> import tempfile
    >>> with tempfile.TemporaryDirectory() as folder:
    ...     first = kept_or_made(folder, ("a",), lambda: {"made": 1})
    ...     second = kept_or_made(folder, ("a",), lambda: {"made": 2})
    >>> first, second
    ({'made': 1}, {'made': 1})
    """
    if folder is None:
        return make()
    path = Path(folder) / f"{mark(repr((RECIPE, __version__, key)))}.json"
    try:
        return json.loads(path.read_text("utf-8"))
    except (OSError, ValueError):
        made = json.loads(json.dumps(make(), default=float))
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with filled_in_place(path) as part:
            part.write_text(json.dumps(made), "utf-8")
    except OSError:
        pass  # a full disk or a folder one may not write costs time only
    return made


def prune(folder: Path) -> None:
    """Remove the oldest files beyond :data:`MOST_KEPT`."""
    try:
        files = sorted(folder.glob("*.json"), key=lambda path: path.stat().st_mtime)
        for path in files[:-MOST_KEPT]:
            path.unlink(missing_ok=True)
    except OSError:
        return


def mark(text: str) -> str:
    """A short name for ``text``; other text, other name.

    Examples
    --------
    >>> mark("a") == mark("a"), mark("a") == mark("b"), len(mark("a"))
    (True, False, 32)
    """
    return hashlib.sha256(text.encode()).hexdigest()[:32]


def content_of(source: str | Path | None) -> str:
    """A file or folder by its content, or by sizes and times where that would take long."""
    if source is None:
        return ""
    path = Path(source)
    if path.is_file():
        told = path.stat()
        if told.st_size <= HASHED_WHOLE:
            return hashlib.sha256(path.read_bytes()).hexdigest()
        return repr((path.name, told.st_size, told.st_mtime_ns))
    if path.is_dir():
        parts = [
            (str(one.relative_to(path)), one.stat().st_size, one.stat().st_mtime_ns)
            for one in sorted(path.rglob("*"))
            if one.is_file()
        ]
        return mark(repr(parts))
    return f"{source} {os.urandom(8).hex()}"  # an address: who knows what it holds next time
