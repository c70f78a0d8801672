"""Results kept on disk by the content they were made of, so that the same work is not done twice."""

import json
import os
from collections.abc import Callable
from pathlib import Path
from typing import Any

from exposure.climate.grid.marks import code_mark, content_mark, mark
from exposure.in_place import filled_in_place

RECIPE = (  # what makes what is kept: other code, other name
    "climate", "rain", "site", "wall", "tables", "doubts", "terms.toml", "clock.py", "assess/site_group.py",
    "assess/site_weather.py",
)  # fmt: skip
MOST_KEPT = 6000  # files; the oldest go


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
    path = _path_of(folder, key)
    try:
        return _sealed(json.loads(path.read_text("utf-8")))
    except (OSError, ValueError, KeyError, TypeError):
        made = json.loads(json.dumps(make(), default=float))
    try:
        path.parent.mkdir(parents=True, exist_ok=True)
        with filled_in_place(path) as part:
            part.write_text(json.dumps({"made": made, "seal": _seal(made)}), "utf-8")
    except OSError:
        pass  # a full disk or a folder one may not write costs time only
    return made


def _seal(made: dict[str, Any]) -> str:
    return mark(json.dumps(made, sort_keys=True))


def _sealed(kept: Any) -> dict[str, Any]:
    """What was kept, where it is as it was written; ValueError otherwise."""
    if kept["seal"] != _seal(kept["made"]):
        message = "not as it was written"
        raise ValueError(message)
    return kept["made"]


def is_kept(folder: str | None, key: tuple[object, ...]) -> bool:
    """Whether something was kept for ``key``."""
    return folder is not None and _path_of(folder, key).is_file()


def _path_of(folder: str, key: tuple[object, ...]) -> Path:
    return Path(folder) / f"{mark(repr((code_mark(*RECIPE), key)))}.json"


def prune(folder: Path) -> None:
    """Remove the oldest files beyond :data:`MOST_KEPT`."""
    try:
        files = sorted(folder.glob("*.json"), key=lambda path: path.stat().st_mtime)
        for path in files[:-MOST_KEPT]:
            path.unlink(missing_ok=True)
    except OSError:
        return


def content_of(source: str | Path | None) -> str:
    """A file or folder by what it holds (:func:`exposure.climate.grid.marks.content_mark`); an address never twice.

    Examples
    --------
    >>> content_of(None), content_of("https://example.org/a") == content_of("https://example.org/a")
    ('', False)
    """
    if source is None:
        return ""
    path = Path(source)
    if path.exists():
        return content_mark(path)
    return f"{source} {os.urandom(8).hex()}"  # an address: who knows what it holds next time
